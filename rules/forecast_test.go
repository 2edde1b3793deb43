package rules

import (
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"shedbook/rules/record"
	"shedbook/rules/wear"
)

// discs of four openers, one in each (the reading is of no hand), 6 in new, worn out at 5 in.
const worn = `
[part.disc]
of = "opener"
[reading.size]
of = "opener"
unit = "in"
part = "disc"
wears = ["area"]
new = "6 in"
limit = { min = "5 in" }
[job.new-disc]
of = "opener"
swaps = "disc"
minutes = 20
when = [{ past = "size" }, { forecast = "size" }]
`

// gathered is what the readings of the rig come to, before any fit.
func gathered(t *testing.T, s *shed, on string) *Wear {
	t.Helper()
	st := s.state(on)
	m := st.Machine("rig")
	def, ok := m.Fitted.Reading("size")
	if !ok {
		t.Fatal("no reading")
	}
	return ForecastWear(st, m, def, 0)
}

// spring writes a season: opened, the counter at its end, closed, and sizes on that day.
func (s *shed) spring(year int, area string, sizes ...string) {
	s.t.Helper()
	s.season("open", fmt.Sprintf("%d-04-01", year), "", "")
	s.read(fmt.Sprintf("%d-05-10", year), "area "+area)
	s.season("close", fmt.Sprintf("%d-05-10", year), "", "")
	if len(sizes) > 0 {
		s.measure(fmt.Sprintf("%d-05-10", year), "size", sizes...)
	}
}

func nearly(t *testing.T, what string, got, want float64) {
	t.Helper()
	if math.Abs(got-want) > 1e-9 {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

// Use goes to the season it was worked in, also where the counter is read at its end only; a disc put in during the second season has part of that one and of
// the third. A machine whose counter stood at 0 when it came had new discs; its replaced disc tells of wear, and nothing is forecast for it.
func TestWearGathersUseBySeason(t *testing.T) {
	s := newShed(t, kind(worn))
	s.read("2025-01-01", "area 0 ac")
	s.spring(2025, "300 ac", "opener/1-4=5.9 in")
	s.season("open", "2026-04-01", "", "")
	s.read("2026-04-20", "area 400 ac")
	s.swap("2026-04-20", "disc", "new", "opener/2")
	s.read("2026-05-10", "area 800 ac")
	s.season("close", "2026-05-10", "", "")
	s.measure("2026-05-10", "size", "opener/1=5.6 in", "opener/2=5.8 in", "opener/3-4=5.6 in")
	s.spring(2027, "1000 ac")
	w := gathered(t, s, "2027-06-01")
	if got, want := w.data.Seasons, []string{"spring 2025", "spring 2026", "spring 2027", "since spring 2027"}; !slices.Equal(got, want) {
		t.Fatalf("seasons %q, want %q", got, want)
	}
	check := func(part int, start bool, readings [][]float64, now []float64) {
		t.Helper()
		p := w.data.Parts[part]
		if p.HasStart != start || start && p.Start != 6 {
			t.Errorf("part %d: start %v %v", part, p.HasStart, p.Start)
		}
		if len(p.Readings) != len(readings) {
			t.Fatalf("part %d: %d readings, want %d", part, len(p.Readings), len(readings))
		}
		for i, want := range readings {
			for k := range want {
				nearly(t, fmt.Sprintf("part %d, reading %d, season %d", part, i, k), p.Readings[i].Use[k], want[k])
			}
		}
		for k := range now {
			nearly(t, fmt.Sprintf("part %d now, season %d", part, k), p.Use[k], now[k])
		}
	}
	check(0, true, [][]float64{{300, 0, 0, 0}, {300, 500, 0, 0}}, []float64{300, 500, 200, 0})
	check(1, true, [][]float64{{0, 400, 0, 0}}, []float64{0, 400, 200, 0}) // new at 400 ac
	if n := len(w.data.Parts); n != 5 || !w.data.Parts[4].Gone || sumOf(w.data.Parts[4].Use) != 300 {
		t.Errorf("%d parts, the replaced one %+v", n, w.data.Parts[n-1])
	}
	// the mean of 300, 500 and 200 ac
	nearly(t, "use ahead", w.Ahead.Use, 1000.0/3)
}

// What was not new within the record is measured from its first reading: a machine that came with acres on it, a disc taken as good, a turned one.
func TestWearWithoutAStart(t *testing.T) {
	s := newShed(t, kind(worn))
	s.read("2025-01-01", "area 1600 ac")
	s.spring(2025, "1900 ac", "opener/1-4=5.9 in")
	s.spring(2026, "2400 ac", "opener/1-4=5.6 in")
	s.swap("2026-06-01", "disc", "turned", "opener/3")
	s.spring(2027, "2600 ac", "opener/1-4=5.5 in")
	w := gathered(t, s, "2027-06-01")
	for i := range 4 {
		if w.data.Parts[i].HasStart {
			t.Errorf("opener %d starts at %v", i+1, w.data.Parts[i].Start)
		}
	}
	// turned between the seasons, when the drill did nothing: all 200 ac of the third season
	if p := w.data.Parts[2]; len(p.Readings) != 1 || math.Abs(p.Use[2]-200) > 0.05 || p.Use[0]+p.Use[1] != 0 {
		t.Errorf("turned: %+v", p)
	}
	s = newShed(t, kind(worn))
	s.read("2025-01-01", "area 0 ac")
	s.add(assumeGood(s))
	s.spring(2025, "300 ac", "opener/1-4=5.9 in")
	if w := gathered(t, s, "2025-06-01"); w.data.Parts[0].HasStart {
		t.Error("a part taken as good is taken as new")
	}
}

// The season under way: planned for 600 ac, 150 done, so 450 to come; then by its plan; then, without a plan, the mean of those past.
func TestWearLooksAhead(t *testing.T) {
	s := newShed(t, kind(worn))
	s.read("2025-01-01", "area 0 ac")
	s.spring(2025, "300 ac", "opener/1-4=5.9 in")
	s.add(planned("2026-04-01", "2026-05-10", amount(t, "600 ac")))
	w := gathered(t, s, "2026-03-01")
	if w.Ahead.Name != "spring 2026" || w.Ahead.Open || w.Ahead.From != "the season's plan" || w.Ahead.Ends != "2026-05-10" {
		t.Errorf("%+v", w.Ahead)
	}
	nearly(t, "planned", w.Ahead.Use, 600)
	s.season("open", "2026-04-01", "", "")
	s.read("2026-04-10", "area 450 ac")
	w = gathered(t, s, "2026-04-10")
	nearly(t, "to come", w.Ahead.Use, 450)
	if !w.Ahead.Open {
		t.Error("not open")
	}
	s.read("2026-05-10", "area 900 ac")
	s.season("close", "2026-05-10", "", "")
	w = gathered(t, s, "2026-06-01")
	nearly(t, "mean", w.Ahead.Use, 450)
	if w.Ahead.From != "the mean of 2 seasons" || w.Ahead.Ends != "2027-05-10" {
		t.Errorf("%+v", w.Ahead)
	}
}

// A season that was planned and never opened does not hold the forecast to days gone by: it looks to the next one planned, else to the mean of those past.
func TestWearLooksPastASeasonNeverOpened(t *testing.T) {
	s := newShed(t, kind(worn))
	s.read("2025-01-01", "area 0 ac")
	s.spring(2025, "300 ac", "opener/1-4=5.9 in")
	s.add(planned("2026-04-01", "2026-05-10", amount(t, "600 ac")))
	if w := gathered(t, s, "2026-05-10"); w.Ahead.Name != "spring 2026" {
		t.Errorf("on its last day: %+v", w.Ahead)
	}
	w := gathered(t, s, "2026-05-11")
	if w.Ahead.Season != nil || w.Ahead.Name != "the next season" || w.Ahead.From != "what the last season took" {
		t.Errorf("%+v", w.Ahead)
	}
	s.add(planned("2027-04-01", "", amount(t, "500 ac")))
	w = gathered(t, s, "2026-06-01")
	if w.Ahead.Name != "spring 2027" || w.Ahead.starts != "2027-04-01" {
		t.Errorf("%+v", w.Ahead)
	}
	nearly(t, "planned", w.Ahead.Use, 500)
	if w := gathered(t, s, "2027-04-02"); w.Ahead.Name != "the next season" {
		t.Errorf("a day after its first, without a last: %+v", w.Ahead)
	}
}

// A job asked for by a forecast: worked on paper. 1000 ac each spring take 0.1 in off openers 1 and 2 and 0.3 in off 3 and 4; 6 in new, limit 5 in. After three
// springs 3 and 4 stand at 5.1 in and the next spring takes them to 4.8 in; 1 and 2 carry. At 5.1 in they have 0.1 / 0.3 x 1000 = 333 ac left: at 3333 ac. Once
// past the limit the reading itself asks, not the forecast; a new disc is not asked for.
func TestForecastTrigger(t *testing.T) {
	s := newShed(t, kind(worn))
	s.read("2025-01-01", "area 0 ac")
	for i, y := range []int{2025, 2026, 2027} {
		slow, fast := 60-i-1, 60-3*(i+1)
		s.spring(y, fmt.Sprintf("%d ac", 1000*(i+1)), fmt.Sprintf("opener/1-2=%d.%d in", slow/10, slow%10), fmt.Sprintf("opener/3-4=%d.%d in", fast/10, fast%10))
	}
	it := only(t, s.due("2027-11-01"), "new-disc")
	if it.State != Coming || it.Cause != ByForecast || it.Where != "openers 3, 4" {
		t.Errorf("%s %s %s", it.State, it.Cause, it.Where)
	}
	if at, _ := it.Due.Value.Rat().Float64(); at < 3300 || at > 3370 || it.Due.Counter != "area" || !it.Due.Estimated {
		t.Errorf("due at %v", it.Due)
	}
	s.swap("2027-11-02", "disc", "new", "opener/3")
	if it := only(t, s.due("2027-11-03"), "new-disc"); it.Where != "opener 4" {
		t.Errorf("after a new disc at 3: %s", it.Where)
	}
	s.measure("2027-11-04", "size", "opener/4=4.9 in")
	if it := only(t, s.due("2027-11-05"), "new-disc"); it.Cause != ByLimit {
		t.Errorf("past its limit: %s", it.Cause)
	}
}

// Where no season was ever opened or planned, it is looked as far ahead as was worked in the last twelve months, and no season is spoken of.
func TestForecastTriggerWithoutSeasons(t *testing.T) {
	s := newShed(t, kind(worn))
	s.read("2025-01-01", "area 0 ac")
	for i, day := range []string{"2025-05-10", "2026-05-10", "2027-05-10"} {
		s.read(day, fmt.Sprintf("area %d ac", 1000*(i+1)))
		s.measure(day, "size", fmt.Sprintf("opener/1-2=5.%d in", 9-i), fmt.Sprintf("opener/3-4=5.%d in", 7-3*i))
	}
	it := only(t, s.due("2027-05-11"), "new-disc")
	if it.State != Coming || it.Cause != ByForecast || !strings.HasPrefix(it.Brief, "likely worn out within another ") || !strings.Contains(it.Why, "; looked ahead over ") || strings.Contains(it.Why, "  ") {
		t.Errorf("%s %s: %q: %s", it.State, it.Cause, it.Brief, it.Why)
	}
}

// One thing measured on a machine is judged by its own line, and a reading without limit or counter not at all.
func TestWearAlone(t *testing.T) {
	s := newShed(t, kind(`
[reading.chain]
unit = "%"
low = "0 %"
wears = ["hours"]
limit = { max = "3 %" }
[reading.loose]
unit = "in"
wears = ["hours"]
`))
	for i, v := range []string{"0.5 %", "1 %", "1.5 %", "2 %"} {
		day := fmt.Sprintf("2025-0%d-01", i+2)
		s.read(day, fmt.Sprintf("hours %d h", 100*(i+1)))
		s.measure(day, "chain", "="+v)
	}
	st := s.state("2025-06-01")
	m := st.Machine("rig")
	def, _ := m.Fitted.Reading("chain")
	w := ForecastWear(st, m, def, 150)
	if w.Err != nil || len(w.Parts) != 1 || w.Parts[0].Alone == nil {
		t.Fatalf("%v %+v", w.Err, w.Parts)
	}
	f := w.Parts[0].Forecast // 0.5 % a hundred hours: 3 % after 200 h more
	nearly(t, "left", f.Left, 200)
	// read to half a per cent, it may be worn out from 127 h on (worked out on paper in rules/wear): not within 100 h, perhaps within 150
	nearly(t, "at the least", math.Round(f.Limits.Low), 127)
	if w.Parts[0].Do != Watch {
		t.Errorf("within 150 h: %s", w.Parts[0].Do)
	}
	if w := ForecastWear(st, m, def, 100); w.Parts[0].Do != Carry {
		t.Errorf("within 100 h: %s", w.Parts[0].Do)
	}
	if w := ForecastWear(st, m, def, 250); w.Parts[0].Do != ChangeNow {
		t.Errorf("within 250 h: %s", w.Parts[0].Do)
	}
	loose, _ := m.Fitted.Reading("loose")
	if w := ForecastWear(st, m, loose, 0); !errors.Is(w.Err, ErrNoLimit) {
		t.Error(w.Err)
	}
	if got := len(WearReadings(m)); got != 1 {
		t.Errorf("%d readings wear", got)
	}
}

// A part judged alone is past its limit by its reading at the rated condition: a tip that gives 0.38 gal/min at 36.1 psi gives 0.4 at 40 psi (0.38^2 = 0.1444,
// times 40 / 36.1 is 0.16), past 0.399. Nothing more may be used for it to be changed now.
func TestWearAloneAtRated(t *testing.T) {
	s := newShed(t, kind(`
[reading.catch]
unit = "gal/min"
wears = ["hours"]
condition = ["pressure"]
correct = [{ condition = "pressure", rated = "40 psi", power = "1/2" }]
limit = { max = "0.399 gal/min" }
`))
	for i, v := range []string{"0.342 gal/min", "0.361 gal/min", "0.38 gal/min"} {
		day := fmt.Sprintf("2025-0%d-01", i+2)
		s.read(day, fmt.Sprintf("hours %d h", 100*(i+1)))
		s.add(&record.Measure{Work: s.work(day), Reading: "catch", Values: []record.Measured{{Found: record.Amount(amount(t, v))}},
			Condition: []record.Condition{{Name: "pressure", Value: amount(t, "36.1 psi")}}})
	}
	st := s.state("2025-06-01")
	m := st.Machine("rig")
	def, _ := m.Fitted.Reading("catch")
	w := ForecastWear(st, m, def, 1)
	if w.Err != nil || len(w.Parts) != 1 || w.Parts[0].Alone == nil {
		t.Fatalf("%v %+v", w.Err, w.Parts)
	}
	if !w.Parts[0].Forecast.Past {
		t.Error("0.4 gal/min at the rated pressure is not past 0.399")
	}
}

// A reading named as left out is not used where a part is judged alone: of 0.5 % a hundred hours a last one of 0.1 % cannot be, nor does it say that the chain
// is not past 3 %. By 0.5 to 3.5 % it met its limit at 600 h, and passed it.
func TestWearAloneLeavesOdd(t *testing.T) {
	s := newShed(t, kind(`
[reading.chain]
unit = "%"
low = "0 %"
wears = ["hours"]
limit = { max = "3 %" }
`))
	for i, v := range []string{"0.5 %", "1 %", "1.5 %", "2 %", "2.5 %", "3 %", "3.5 %", "0.1 %"} {
		day := fmt.Sprintf("2025-0%d-01", i+1)
		s.read(day, fmt.Sprintf("hours %d h", 100*(i+1)))
		s.measure(day, "chain", "="+v)
	}
	st := s.state("2025-09-01")
	m := st.Machine("rig")
	def, _ := m.Fitted.Reading("chain")
	w := ForecastWear(st, m, def, 150)
	if w.Err != nil || len(w.Odd) != 1 || len(w.Parts) != 1 || w.Parts[0].Alone == nil {
		t.Fatalf("%v %+v %+v", w.Err, w.Odd, w.Parts)
	}
	nearly(t, "its limit at", w.Parts[0].Alone.At.X, 600)
	if !w.Parts[0].Forecast.Past {
		t.Error("not past its limit by the reading before the one left out")
	}
}

// Where no season is known, the machine stood for a year and nothing is asked about, nobody says that a part will carry: one past its limit is to be changed, of
// the others nothing is said. It holds where parts are judged together, and alone.
func TestWearBlind(t *testing.T) {
	for _, parts := range []string{"opener/1-3", "opener/1"} {
		s := newShed(t, kind(worn))
		s.read("2024-01-01", "area 0 ac")
		for i, v := range []string{"5.8 in", "5.6 in", "5.4 in"} {
			day := fmt.Sprintf("2025-0%d-01", i+2)
			s.read(day, fmt.Sprintf("area %d ac", 1000*(i+1)))
			s.measure(day, "size", parts+"="+v, fmt.Sprintf("opener/4=%v in", 6-0.4*float64(i+1)))
		}
		w := gathered(t, s, "2026-06-01")
		if w.Err != nil || !w.Ahead.Blind || (w.Model == nil) != (parts == "opener/1") {
			t.Fatalf("%s: %v %+v", parts, w.Err, w.Ahead)
		}
		for _, p := range w.Parts {
			want := ""
			if p.Place.Number == 4 { // 4.8 in
				want = ChangeNow
			}
			if p.Do != want {
				t.Errorf("%s: %s: %q, want %q", parts, p.Place, p.Do, want)
			}
		}
		if len(w.Orders(s.state("2026-06-01"))) > 0 {
			t.Errorf("%s: orders", parts)
		}
	}
}

// Why parts are judged each by itself: three are too few to learn from one another; and of four, one that wears beside three that do not tell no common rate.
func TestWearApart(t *testing.T) {
	for _, test := range []struct {
		same, still string // openers that lose what opener 1 does, and none
		want        error
	}{{"opener/2-3", "", ErrFewParts}, {"", "opener/2-4", wear.ErrNoWear}} {
		s := newShed(t, kind(worn))
		s.read("2025-01-01", "area 0 ac")
		for i, v := range []string{"5.9 in", "5.8 in", "5.7 in"} {
			sizes := []string{"opener/1=" + v}
			if test.same != "" {
				sizes = append(sizes, test.same+"="+v)
			}
			if test.still != "" {
				sizes = append(sizes, test.still+"=6 in")
			}
			s.spring(2025+i, fmt.Sprintf("%d ac", 1000*(i+1)), sizes...)
		}
		w := gathered(t, s, "2027-06-01")
		if w.Err != nil || w.Model != nil || !errors.Is(w.Apart, test.want) {
			t.Errorf("want apart for %v: %v, %v, %v", test.want, w.Err, w.Model, w.Apart)
		}
	}
}

// Small sizes and rates keep three figures, and the limit has the digits the schedule writes it with.
func TestWearFigures(t *testing.T) {
	s := newShed(t, kind(`
[reading.size]
unit = "m"
wears = ["hours"]
limit = { min = "0.0308 m" }
[reading.band]
unit = "m"
wears = ["hours"]
limit = { max = "31.4159265 mm" }
`))
	st := s.state("2025-06-01")
	m := st.Machine("rig")
	for name, want := range map[string]string{"size": "0.0308 m", "band": "0.0314159265 m"} {
		def, _ := m.Fitted.Reading(name)
		if got := ForecastWear(st, m, def, 100).LimitAmount().String(); got != want {
			t.Errorf("limit of %s: %s, want %s", name, got, want)
		}
	}
	def, _ := m.Fitted.Reading("size")
	w := ForecastWear(st, m, def, 100)
	for _, test := range []struct {
		v        float64
		decimals int
		want     string
	}{
		{0.030849, 2, "0.0308 m"}, {-0.00012345, 3, "-0.000123 m"}, {0.1, 2, "0.1 m"}, {0.10249, 2, "0.102 m"}, {5.2549, 2, "5.25 m"}, {1e-9, 3, "0 m"}, {0, 2, "0 m"},
		{0.12344, 4, "0.1234 m"},
	} {
		if got := w.Amount(test.v, test.decimals).String(); got != test.want {
			t.Errorf("%v: %s, want %s", test.v, got, test.want)
		}
	}
}

// Law: the same entries in any order of arrival give the same forecast, to the bit.
func TestForecastInAnyOrder(t *testing.T) {
	s := newShed(t, kind(worn))
	s.read("2025-01-01", "area 0 ac")
	s.spring(2025, "900 ac", "opener/1=5.8 in", "opener/2=5.7 in", "opener/3=5.75 in", "opener/4=5.8 in")
	s.spring(2026, "1700 ac", "opener/1=5.6 in", "opener/2=5.4 in", "opener/3=5.5 in", "opener/4=5.6 in")
	one := gathered(t, s, "2026-06-01")
	if one.Err != nil {
		t.Fatal(one.Err)
	}
	slices.Reverse(s.entries)
	two := gathered(t, s, "2026-06-01")
	for i := range one.Parts {
		if !reflect.DeepEqual(one.Parts[i].Forecast, two.Parts[i].Forecast) {
			t.Errorf("opener %d: %+v, then %+v", i+1, one.Parts[i].Forecast, two.Parts[i].Forecast)
		}
	}
	if !reflect.DeepEqual(one.All, two.All) {
		t.Error("counts differ")
	}
	var w wear.Count = one.All
	if w.Low > w.Likely || w.Likely > w.High {
		t.Errorf("%+v", w)
	}
}

func assumeGood(s *shed) record.Record {
	return &record.Assume{Work: s.work("2025-01-02"), Good: true}
}

func planned(from, to string, use record.Quantity) record.Record {
	return &record.Season{Act: "plan", Name: "spring " + from[:4], Work: "seeding", From: from, To: to, Done: "2026-01-01", Use: []record.PlannedUse{{Kind: "rig", Counter: "area", Amount: use}}}
}
