package schedule

import (
	"regexp"
	"strings"
	"testing"

	"shedbook/rules/record"
)

func builtin(t *testing.T, name string) *Schedule {
	t.Helper()
	s, ok := Builtin(name)
	if !ok {
		t.Fatalf("no built-in %q", name)
	}
	return s
}

func TestBuiltins(t *testing.T) {
	if len(Builtins()) < 2 {
		t.Fatal("the built-in kinds are not there")
	}
	for _, s := range Builtins() {
		t.Run(s.Name, func(t *testing.T) {
			if by, ok := Builtin(s.Name); !ok || by != s {
				t.Errorf("the file of %s has another name", s.Name)
			}
			if !strings.HasPrefix(s.Rules, OperatorsManual) {
				t.Errorf("rules: %q", s.Rules)
			}
			if !strings.Contains(s.Source, "common practice, no source") {
				t.Errorf("source: %q", s.Source)
			}
			for _, r := range s.Readings {
				if r.How == "" && r.Computed == nil {
					t.Errorf("reading %s does not say how to measure it", r.Name)
				}
			}
			for _, x := range s.Settings {
				if x.How == "" {
					t.Errorf("setting %s does not say how to set it", x.Name)
				}
			}
			for _, o := range s.Options {
				if o.About == "" {
					t.Errorf("option %s says nothing to whoever chooses", o.Name)
				}
			}
			if c, ok := find(s.Counters, "hours", func(c *Counter) string { return c.Name }); !ok || c.Trip {
				t.Error("no lifetime hours")
			}
		})
	}
}

// The drill carries the ten jobs of a row unit.
func TestDrillHasTenJobs(t *testing.T) {
	f, err := builtin(t, "disc-drill").Fit([]record.Option{option("discs", "pair"), option("coupling", "yes"), option("packer-offset", "yes")}, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	for word, what := range map[string]string{
		"depth": "setting", "depth-reset": "job", // depth in steps
		"coupling": "setting", "coupling-check": "job", // packer and gauge wheel coupled
		"packer-offset": "setting", "packer-check": "job", // offset of the packer wheel
		"gauge-shims": "setting", "gauge-hole": "setting", "gauge-drag": "reading", "drag-check": "job", // drag by shims, mounting hole
		"disc-reach": "reading", "disc-contact": "reading", "disc-wear": "job", "disc-swap": "job", "disc": "part", // wear and replacement
		"torque-check":   "job",                             // hub and spindle
		"scraper-height": "job", "scraper-notch": "setting", // height
		"scraper-face": "job", "scraper-gap": "reading", // face contact
		"preset": "job", "hub-play": "reading", "packer-play": "reading", // bearing preset, disc and packer hub
		"grease": "job", "packer-bearing": "part", "seed-boot": "part", "hub-bearing": "part", "gauge-wheel": "part", "packer-wheel": "part", "scraper": "part",
		"left-wing": "group", "middle": "group", "right-wing": "group", "front-rank": "group", "rear-rank": "group", "spring": "setup", "autumn": "setup",
		"area": "counter", "trip-area": "counter", "hours": "counter",
	} {
		if n, ok := f.Lookup(word); !ok || n.What != what {
			t.Errorf("%s is a %q, not a %s", word, n.What, what)
		}
	}
	plain, _ := builtin(t, "disc-drill").Fit(nil, nil, nil)
	for _, word := range []string{"coupling", "packer-offset", "disc-contact"} {
		if _, ok := plain.Lookup(word); ok {
			t.Errorf("a plain drill has %s", word)
		}
	}
	preset, _ := f.Job("preset")
	grease, _ := f.Job("grease")
	torque, _ := f.Job("torque-check")
	if !preset.Before(torque) || !torque.Before(grease) {
		t.Error("not preset, torque, grease in this order")
	}
	swap, _ := f.Job("disc-swap")
	if strings.Join(swap.Next, " ") != "scraper-height scraper-face" || strings.Join(swap.Loosens, " ") != "torque-check" {
		t.Errorf("a new disc asks for %v and loosens %v", swap.Next, swap.Loosens)
	}
	open, _ := f.Job("hub-open")
	if strings.Join(open.Loosens, " ") != "torque-check" || open.Swaps != "hub-bearing" {
		t.Errorf("an opened hub: %+v", open)
	}
	if f.MainCounter().Name != "area" || f.MainCounter().Trip {
		t.Errorf("the main counter is %+v", f.MainCounter())
	}
}

// The figures of the built-in drill are round ones of our own: none is one of those that the trade tests of this package hold, one by one, to common
// practice, so that no file describes one machine.
func TestDrillIsNoOneMachine(t *testing.T) {
	s := builtin(t, "disc-drill")
	text := regexp.MustCompile(`(?m)#.*$`).ReplaceAllString(s.Text, "")
	for _, figure := range []string{"1/4 in", "0.25 in", "150 lbf", "300 lbf", "120 lbf", "lbf.ft", "250 h", "1/8 in", "3/8 in", "3/4 in", "1 1/4 in", "= 16\n", "= 7\n", "\"5 in\""} {
		if strings.Contains(text, figure) {
			t.Errorf("the drill holds %q", figure)
		}
	}
}

// A nested service takes in all smaller ones; wheels are re-torqued after removal until none moved.
func TestTractor(t *testing.T) {
	f, err := builtin(t, "tractor").Fit(nil, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	in := map[string]bool{}
	var collect func(name string)
	collect = func(name string) {
		j, ok := f.Job(name)
		if !ok {
			t.Fatalf("no job %s", name)
		}
		for _, n := range j.Includes {
			in[n] = true
			collect(n)
		}
	}
	collect("service-1600")
	for _, n := range []string{"service-800", "service-400", "oil-change", "oil-filter-change", "fuel-filter-change", "hydraulic-oil-change", "hydraulic-filter-change", "oil-level", "grease"} {
		if !in[n] {
			t.Errorf("the 1600 h service does not include %s", n)
		}
	}
	wheel, _ := f.Job("wheel-torque")
	g := wheel.When[0]
	if g.After != "loosened:wheel-torque" || len(g.Series) != 2 || g.UntilResult != "none-moved" {
		t.Errorf("%+v", g)
	}
	if got := f.All("wheel").Len(); got != 4 {
		t.Errorf("%d wheels", got)
	}
	if _, ok := f.Lookup("dual"); ok {
		t.Error("a tractor without duals has duals")
	}
	with, err := builtin(t, "tractor").Fit([]record.Option{option("duals", "yes")}, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	if got := with.All("dual").Len(); got != 2 {
		t.Errorf("%d duals", got)
	}
	if len(f.Specs) < 4 {
		t.Errorf("%d lines of the spec card", len(f.Specs))
	}
}

// ParseOnce gives what Parse does: the same schedule for the same text, however many others were read in between, and a mistake each time it is made.
func TestParseOnce(t *testing.T) {
	first, err := ParseOnce("example.toml", Example())
	if err != nil {
		t.Fatal(err)
	}
	if again, err := ParseOnce("example.toml", Example()); err != nil || again != first {
		t.Errorf("read again: %p and %p, %v", first, again, err)
	}
	if _, err := ParseOnce("other.toml", Example()+"\n# another text\n"); err != nil {
		t.Fatal(err)
	}
	for i := range maxParsed {
		if _, err := ParseOnce(strings.Repeat("x", i)+".toml", Example()); err != nil {
			t.Fatal(err)
		}
	}
	if len(parsed.schedules) > maxParsed {
		t.Errorf("%d texts are kept, at most %d should be", len(parsed.schedules), maxParsed)
	}
	again, err := ParseOnce("example.toml", Example())
	if err != nil || again.Text != first.Text || again.Name != first.Name {
		t.Errorf("read after others: %q, %v", again.Name, err)
	}
	for range 2 {
		_, want := Parse("bad.toml", []byte("version = 1\n"))
		if _, err := ParseOnce("bad.toml", "version = 1\n"); err == nil || err.Error() != want.Error() {
			t.Errorf("said %v, want %v", err, want)
		}
	}
}
