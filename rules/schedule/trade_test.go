package schedule

import (
	"testing"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// mustFit parses and fits a text of a test.
func mustFit(t testing.TB, text string, options ...record.Option) *Fitted {
	t.Helper()
	s, err := Parse("t.toml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	f, err := s.Fit(options, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func amount(s string) record.Value { return record.Amount(quantity.MustParse(s)) }

const header = "shedbook_schedule = 1\nname = \"t\"\nwork = [\"seeding\"]\n"

// Common practice, no source: a depth lever with sixteen positions a quarter inch apart, 1 the shallowest.
func TestTradeDepthPositions(t *testing.T) {
	f := mustFit(t, header+`
[place.opener]
count = 24
[setting.depth]
of = "opener"
type = "steps"
min = 1
max = 16
step_is = "1/4 in"
ends = ["shallowest", "deepest"]
`)
	s, _ := f.Setting("depth")
	for _, text := range []string{"0", "17", "5 1/2", "5 in", "-1"} {
		if v, err := s.ParseValue(text); err == nil {
			t.Errorf("depth %q was taken as %s", text, v)
		}
	}
	for _, c := range []struct{ from, by, want string }{{"1", "+1", "2"}, {"6", "-2", "4"}, {"15", "+1", "16"}} {
		v, err := s.Move(amount(c.from), c.by)
		if err != nil || v.String() != c.want {
			t.Errorf("%s %s: %v, %v; want %s", c.from, c.by, v, err, c.want)
		}
	}
	if _, err := s.Move(amount("16"), "+1"); err == nil || err.Error() != "+1 from 16: depth cannot be 17: it goes from 1 (shallowest) to 16 (deepest)" {
		t.Errorf("a step past the deepest: %v", err)
	}
	first, _ := s.Worth(amount("1"))
	last, _ := s.Worth(amount("16"))
	if d, err := last.Sub(first); err != nil || d != quantity.MustParse("3.75 in") {
		t.Errorf("fifteen steps are %v, %v; want 3.75 in", d, err)
	}
}

// Common practice, no source: a disc is replaced when from its edge to the edge of its hub it is about 5 in.
func TestTradeDiscLimit(t *testing.T) {
	f := mustFit(t, header+`
[place.opener]
count = 24
[part.disc]
of = "opener"
[reading.reach]
of = "opener"
unit = "in"
part = "disc"
limit = { min = "5 in" }
[job.new-disc]
of = "opener"
swaps = "disc"
when = { past = "reach" }
`)
	r, _ := f.Reading("reach")
	for _, c := range []struct {
		value string
		past  bool
		why   string
	}{
		{"5 1/16 in", false, ""}, {"5 in", false, ""}, {"127 mm", false, ""},
		{"4 15/16 in", true, "4 15/16 in is past the limit 5 in"}, {"126.99 mm", true, "126.99 mm is past the limit 5 in"},
	} {
		v, err := r.ParseValue(c.value)
		if err != nil {
			t.Fatal(err)
		}
		if past, why := r.Past(v, Against{}); past != c.past || why != c.why {
			t.Errorf("%s: %v %q, want %v %q", c.value, past, why, c.past, c.why)
		}
	}
}

// torqueKind is a kind with one torque job.
func torqueKind(torques string) string {
	return header + "[place.opener]\ncount = 24\n[job.tighten]\nof = \"opener\"\ntorques = " + torques + "\n"
}

// Common practice, no source: a spindle nut takes 150 lbf.ft at 3/4 in and 300 lbf.ft at 1 in: an option of the machine.
func TestTradeSpindleTorque(t *testing.T) {
	text := `
[option.spindle]
type = "choice"
choices = ["three-quarter", "one-inch"]
default = "three-quarter"
` + "[place.opener]\ncount = 24\n" + `
[job.tighten]
of = "opener"
only = { option = "spindle", is = "three-quarter" }
torques = { what = "spindle nut", size = "3/4 in", value = "150 lbf.ft" }
[job.tighten-big]
of = "opener"
only = { option = "spindle", is = "one-inch" }
torques = { what = "spindle nut", size = "1 in", value = "300 lbf.ft" }
`
	for _, c := range []struct{ option, job, size, value, other string }{
		{"three-quarter", "tighten", "3/4 in", "150 lbf.ft", "tighten-big"}, {"one-inch", "tighten-big", "1 in", "300 lbf.ft", "tighten"},
	} {
		f := mustFit(t, header+text, record.Option{Name: "spindle", Value: c.option})
		j, ok := f.Job(c.job)
		if !ok || len(j.Torques) != 1 || j.Torques[0].Size != c.size || j.Torques[0].Value.String() != c.value {
			t.Errorf("%s: %+v", c.option, j)
		}
		if _, ok := f.Job(c.other); ok {
			t.Errorf("%s: job %s is there as well", c.option, c.other)
		}
	}
}

// Common practice, no source: a packer wheel's spindle nut takes 150 lbf.ft.
func TestTradePackerTorque(t *testing.T) {
	j, _ := mustFit(t, torqueKind(`{ what = "packer spindle nut", value = "150 lbf.ft" }`)).Job("tighten")
	low, high := j.Torques[0].Range()
	if low != quantity.MustParse("142.5 lbf.ft") || high != quantity.MustParse("157.5 lbf.ft") {
		t.Errorf("150 lbf.ft is taken as %s to %s", low, high)
	}
}

// Common practice, no source: a scraper's nut takes 120 lbf.ft.
func TestTradeScraperTorque(t *testing.T) {
	j, _ := mustFit(t, torqueKind(`{ what = "scraper nut", value = "120 lbf.ft", min = "110 lbf.ft", max = "130 lbf.ft" }`)).Job("tighten")
	low, high := j.Torques[0].Range()
	if low != quantity.MustParse("110 lbf.ft") || high != quantity.MustParse("130 lbf.ft") {
		t.Errorf("120 lbf.ft is taken as %s to %s", low, high)
	}
}

// Common practice, no source: scraper notches are a quarter inch apart.
func TestTradeScraperNotches(t *testing.T) {
	f := mustFit(t, header+"[place.opener]\ncount = 24\n[setting.notch]\nof = \"opener\"\ntype = \"steps\"\nmin = 1\nmax = 5\nstep_is = \"1/4 in\"\n")
	s, _ := f.Setting("notch")
	worth, ok := s.Worth(amount("3"))
	if !ok || worth != quantity.MustParse("0.5 in") {
		t.Errorf("the third notch is worth %s above the first", worth)
	}
}

// scraperKind is a kind whose scraper may stand so high, by the reach of its disc: a new disc has 7 in here, a used one less. The two bands are
// common practice, no source; the sizes of disc are made up for the test.
func scraperKind(newMin, newMax, usedMin, usedMax string) string {
	return header + `
[place.opener]
count = 24
[reading.height]
of = "opener"
unit = "in"
[reading.reach]
of = "opener"
unit = "in"
[relation.height-by-disc]
thing = "height"
by = "reach"
rows = [
  { from = "6 1/2 in", to = "7 in", min = "` + newMin + `", max = "` + newMax + `" },
  { from = "4 in", to = "6 1/2 in", min = "` + usedMin + `", max = "` + usedMax + `" },
]
`
}

// Common practice, no source: a low-disturbance scraper stands 1/8 in above the bevel on a new disc, 3/4 to 1 in from the edge on a used one.
func TestTradeLowScraper(t *testing.T) { testScraper(t, "1/8 in", "1/8 in", "3/4 in", "1 in") }

// Common practice, no source: a winged scraper stands 1/8 to 3/8 in on a new disc and 1 to 1 1/4 in on a used one.
func TestTradeWingedScraper(t *testing.T) { testScraper(t, "1/8 in", "3/8 in", "1 in", "1 1/4 in") }

func testScraper(t *testing.T, newMin, newMax, usedMin, usedMax string) {
	t.Helper()
	f := mustFit(t, scraperKind(newMin, newMax, usedMin, usedMax))
	x := f.Relations[0]
	if x.Of != "opener" {
		t.Errorf("the relation is of %q", x.Of)
	}
	for _, c := range []struct{ reach, min, max string }{
		{"7 in", newMin, newMax}, {"6.75 in", newMin, newMax}, {"6.5 in", newMin, newMax}, {"6.4 in", usedMin, usedMax}, {"4 in", usedMin, usedMax},
	} {
		row, ok := x.Row(amount(c.reach))
		if !ok || row.Min != quantity.MustParse(c.min) || row.Max != quantity.MustParse(c.max) {
			t.Errorf("disc of %s: %s to %s, %v; want %s to %s", c.reach, row.Min, row.Max, ok, c.min, c.max)
		}
	}
	for _, reach := range []string{"7.1 in", "3.9 in"} {
		if _, ok := x.Row(amount(reach)); ok {
			t.Errorf("a disc of %s is outside the table and has a row", reach)
		}
	}
}

// Common practice, no source: grease every 250 h and at the start and the end of each season, seven points an opener: four on the arms, one pivot,
// the packer hub, the disc hub.
func TestTradeGrease(t *testing.T) {
	f := mustFit(t, header+`
[counter.hours]
unit = "h"
[place.opener]
count = 24
[job.grease]
of = "opener"
points = 7
when = [{ every = "250 h" }, { season = "before" }, { season = "after" }]
`)
	j, _ := f.Job("grease")
	if j.Points*f.All("opener").Len() != 168 {
		t.Errorf("%d points an opener", j.Points)
	}
	if len(j.When) != 3 || j.When[0].Every[0].String() != "250 h" || j.When[0].Every[0].Counter != "hours" || j.When[1].Season != "before" || j.When[2].Season != "after" {
		t.Errorf("triggers: %+v", j.When)
	}
}

// Common practice, no source: bearings are preset each season before greasing, for grease hides play.
func TestTradePresetBeforeGrease(t *testing.T) {
	f := mustFit(t, header+`
[place.opener]
count = 24
[job.grease]
of = "opener"
order = 2
when = { season = "before", work = "seeding" }
[job.preset]
of = "opener"
order = 1
next = "grease"
when = { season = "before", work = "seeding" }
`)
	preset, _ := f.Job("preset")
	grease, _ := f.Job("grease")
	if !preset.Before(grease) || grease.Before(preset) {
		t.Errorf("preset %d, grease %d: not in this order", preset.Order, grease.Order)
	}
	if len(preset.Next) != 1 || preset.Next[0] != "grease" {
		t.Errorf("preset asks for %v", preset.Next)
	}
}
