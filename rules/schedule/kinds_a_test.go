package schedule

import (
	"slices"
	"strings"
	"testing"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// What the trade asks of a planter, a sprayer, a hoe drill and a cart: common practice, no source. Figures are the built-in kinds' own round ones.

func fitBuiltin(t *testing.T, kind string, options ...record.Option) *Fitted {
	t.Helper()
	f, err := builtin(t, kind).Fit(options, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func jobOf(t *testing.T, f *Fitted, name string) *Job {
	t.Helper()
	j, ok := f.Job(name)
	if !ok {
		t.Fatalf("%s has no job %s", f.Name, name)
	}
	return j
}

// stands checks what words of a machine mean; "" is a word it has not.
func stands(t *testing.T, f *Fitted, want map[string]string) {
	t.Helper()
	for word, what := range want {
		if n, _ := f.Lookup(word); n.What != what {
			t.Errorf("%s %v: %s is a %q, not a %q", f.Name, f.OptionValues, word, n.What, what)
		}
	}
}

func joined(words ...string) string { return strings.Join(words, " ") }

// A pair of discs goes with the inner scraper; the guard is looked at, then shims, contact, gauge wheels, in this order; too little
// contact asks for shims, and for new discs only where none is left.
func TestPlanterDiscChain(t *testing.T) {
	f := fitBuiltin(t, "planter")
	swap := jobOf(t, f, "disc-swap")
	if got, want := joined(swap.Next...), "guard-check shim contact-check wheel-touch"; got != want {
		t.Errorf("after new discs: %s, want %s", got, want)
	}
	for i := 1; i < len(swap.Next); i++ {
		if a, b := jobOf(t, f, swap.Next[i-1]), jobOf(t, f, swap.Next[i]); !a.Before(b) {
			t.Errorf("%s does not stand before %s", a.Name, b.Name)
		}
	}
	if joined(swap.Loosens...) != "disc-torque" {
		t.Errorf("loosens %v", swap.Loosens)
	}
	i := slices.IndexFunc(swap.When, func(g Trigger) bool { return g.Past == "disc-contact" })
	if i < 0 || len(swap.When[i].While) != 1 || swap.When[i].While[0].Setting != "contact-shims" || joined(swap.When[i].While[0].Is...) != "0" {
		t.Errorf("new discs by contact: %+v", swap.When)
	}
	if shim := jobOf(t, f, "shim"); len(shim.When) != 1 || shim.When[0].Past != "disc-contact" || len(shim.When[0].While) != 0 || joined(shim.Next...) != "contact-check wheel-touch" {
		t.Errorf("%+v", shim)
	}
	disc, _ := f.Part("disc")
	if !disc.Handed || joined(disc.With...) != "inner-scraper" {
		t.Errorf("%+v", disc)
	}
	guard, _ := f.Reading("guard-width") // 0.8 in when new
	for value, past := range map[string]bool{"0.4 in": false, "0.39 in": true} {
		if got, why := guard.Past(amount(value), Against{}); got != past {
			t.Errorf("a guard of %s: %v %s", value, got, why)
		}
	}
	if how := jobOf(t, f, "disc-torque").How; !strings.Contains(how, "left-hand thread") { // on some machines: so it is said, and no bolt is given one
		t.Errorf("the torque of the discs: %q", how)
	}
	unit, _ := f.Assembly("row-unit")
	if !slices.Contains(unit.Parts, "disc") || unit.Whole {
		t.Errorf("%+v", unit)
	}
}

// Of what a planter may be, each has its own parts and jobs and not the other's.
func TestPlanterOptions(t *testing.T) {
	stands(t, fitBuiltin(t, "planter"), map[string]string{
		"row": "noun", "rows": "noun", "wheel": "noun", "left-wing": "group", "wheel-track": "group", "disc": "part", "seed-tube": "part", "seed-belt": "", "row-chain": "part",
		"row-drive": "", "down-spring": "part", "air-bag": "", "down-cylinder": "", "seed-plate": "part", "finger-set": "", "coulter": "", "fertiliser-disc": "",
		"cleaner-wheel": "part", "marker-disc": "part", "singulation": "reading", "skips": "reading", "doubles": "reading", "meter-bench": "job", "grease": "job",
		"disc-size": "reading", "fine": "setup", "straw": "setup", "depth": "setting", "shaft-look": "", "row-unit": "assembly", "meter-unit": "assembly",
	})
	stands(t, fitBuiltin(t, "planter", option("metering", "finger"), option("drive", "electric"), option("delivery", "belt"), option("down-force", "air"), option("row-cleaners", "no"),
		option("coulters", "yes"), option("fertiliser", "liquid"), option("markers", "no"), option("power-shaft", "yes")), map[string]string{
		"finger-set": "part", "seed-plate": "", "meter-seal": "", "air-check": "", "row-chain": "", "chain-oil": "", "row-drive": "part", "driving-sprocket": "", "seed-tube": "",
		"tube-guard": "", "guard-check": "", "seed-belt": "part", "down-spring": "", "spring-notch": "", "air-bag": "part", "bag-pressure": "setting", "cleaner-wheel": "", "coulter": "part",
		"coulter-set": "job", "fertiliser-disc": "part", "fertiliser-test": "job", "rinse": "job", "marker-disc": "", "marker-look": "", "shaft-look": "job",
	})
}

// A tip is judged by its flow at the rated pressure, against a new one and against the others; the set is one thing; no ammonia.
func TestSprayerTipsAndPaper(t *testing.T) {
	f := fitBuiltin(t, "boom-sprayer")
	r, _ := f.Reading("catch")
	if r.Limit == nil || r.Limit.K != 2 || len(r.Correct) != 1 || r.Correct[0].Rated != quantity.MustParse("40 psi") || r.Correct[0].Power.RatString() != "1/2" {
		t.Fatalf("%+v", r)
	}
	// New 51.2 floz/min: 110 % is 56.32. 5 % of the others' 54 is 2.7.
	for _, c := range []struct {
		value, others string
		past          bool
	}{{"56.32 floz/min", "56 floz/min", false}, {"56.33 floz/min", "56 floz/min", true}, {"51.3 floz/min", "54 floz/min", false}, {"51.2 floz/min", "54 floz/min", true}} {
		if past, why := r.Past(amount(c.value), Against{Median: amount(c.others)}); past != c.past {
			t.Errorf("%s beside %s: %v %s", c.value, c.others, past, why)
		}
	}
	if again := jobOf(t, f, "catch-again"); again.When[0].K != 1 || joined(jobOf(t, f, "tip-swap").Try...) != "catch-again" {
		t.Errorf("one tip out is caught again first: %+v", again.When)
	}
	if set, _ := f.Assembly("nozzle-set"); !set.Whole {
		t.Errorf("%+v", set)
	}
	test := jobOf(t, f, "sprayer-test")
	if test.Fails != "stop" || test.Who != "licensed" || !slices.ContainsFunc(test.When, func(g Trigger) bool { return g.Until == "sprayer-test" && g.Stored == "run" }) {
		t.Errorf("%+v", test)
	}
	if hose := jobOf(t, f, "hose-change"); hose.When[0].Made != "hose" || hose.When[0].Stored != "run" {
		t.Errorf("%+v", hose)
	}
	for _, j := range f.Jobs {
		if slices.Contains(j.Cautions, "ammonia") {
			t.Errorf("job %s is about ammonia, which this sprayer must not carry", j.Name)
		}
	}
	if !slices.ContainsFunc(f.Specs, func(s Spec) bool { return s.Name == "ammonia" && strings.HasPrefix(s.Value, "never") }) || !strings.Contains(f.Rules, "Not for anhydrous ammonia") {
		t.Error("nobody is told that it is not for ammonia")
	}
}

// A sprayer that drives itself has an engine and a cab; one that is mounted has no wheels; a pump on an oil motor has no power shaft.
func TestSprayerForms(t *testing.T) {
	stands(t, fitBuiltin(t, "boom-sprayer"), map[string]string{"wheel": "noun", "hub-check": "job", "shaft-look": "job", "pump-oil": "part", "pump-seal": "", "engine-oil": "", "cab-filter": ""})
	stands(t, fitBuiltin(t, "boom-sprayer", option("official-test", "no")), map[string]string{"sprayer-test": "", "catch-test": "job"})
	stands(t, fitBuiltin(t, "boom-sprayer", option("form", "mounted"), option("pump", "centrifugal"), option("pump-drive", "hydraulic")), map[string]string{
		"wheel": "", "wheel-torque": "", "tyre": "", "shaft-look": "", "pump-oil": "", "pump-oil-level": "", "pump-seal": "part", "levels": ""})
	stands(t, fitBuiltin(t, "boom-sprayer", option("form", "self-propelled")), map[string]string{
		"wheel": "noun", "hub-check": "", "shaft-look": "", "engine-oil": "part", "levels": "job", "oil-change": "job", "cab-filter-change": "job", "extinguisher-tag": "job", "battery-test": "job"})
}

// Points wear along a curve: measured more often once the hard tip is chipped, and first behind the tractor's wheels; turned or built up before replaced.
func TestHoeDrillPoints(t *testing.T) {
	f := fitBuiltin(t, "hoe-drill", option("openers", "24"), option("point-edges", "2"))
	point, _ := f.Part("point")
	if point.Edges != 2 {
		t.Errorf("%+v", point)
	}
	if got := joined(jobOf(t, f, "point-swap").Try...); got != "point-turn point-build" {
		t.Errorf("before a new point: %s", got)
	}
	var usual, chipped string
	for _, g := range jobOf(t, f, "point-measure").When {
		switch {
		case len(g.Every) > 0 && len(g.While) == 0:
			usual = g.Every[0].String()
		case len(g.Every) > 0 && g.While[0].Reading == "point-tip" && joined(g.While[0].Is...) == "chipped gone":
			chipped = g.Every[0].String()
		}
	}
	if usual != "900 ac" || chipped != "250 ac" {
		t.Errorf("measured every %s, chipped every %s", usual, chipped)
	}
	track, _ := f.GroupPositions("wheel-track") // from 3/8 to 5/8 of 24: 10 to 15
	if j := jobOf(t, f, "track-measure"); j.Group != "wheel-track" || track.String() != "opener/10-15" {
		t.Errorf("%s at %s", j.Group, track)
	}
	plain := fitBuiltin(t, "hoe-drill", option("tip", "plain"), option("fertiliser", "none"), option("packers", "none"), option("trip", "spring"))
	stands(t, plain, map[string]string{"point-tip": "", "band": "", "band-boot": "", "packer-wheel": "", "gang": "", "packer-pressure": "", "trip-notch": "setting", "trip-spring": "part", "trip-target": ""})
	for _, g := range jobOf(t, plain, "point-measure").When {
		if len(g.While) > 0 {
			t.Errorf("a plain point is asked about its hard tip: %+v", g)
		}
	}
	stands(t, fitBuiltin(t, "hoe-drill", option("packers", "gang")), map[string]string{"gang": "noun", "gang-bearing": "part", "packer-wheel": "", "packer-torque": "", "gang-torque": "job"})
}

// Ammonia is for trained people, said with every job about it, and only where it is placed.
func TestHoeDrillAmmonia(t *testing.T) {
	stands(t, fitBuiltin(t, "hoe-drill"), map[string]string{"ammonia-look": "", "ammonia-tube": "", "ammonia-hose": ""})
	f := fitBuiltin(t, "hoe-drill", option("ammonia", "yes"))
	n := 0
	for _, j := range f.Jobs {
		if strings.Contains(j.Name, "ammonia") {
			if n++; j.Who == "anyone" || !slices.Contains(j.Cautions, "ammonia") {
				t.Errorf("%s is for %s, with the cautions %v", j.Name, j.Who, j.Cautions)
			}
		}
	}
	if n < 3 {
		t.Errorf("%d jobs about ammonia", n)
	}
}

// A grain cart goes by the harvest, a seed cart by the seeding; tyres and linings go with those across the cart; nuts after one hour and ten.
func TestCartForms(t *testing.T) {
	for load, other := range map[string]string{"grain": "seeding", "seed": "harvest"} {
		f := fitBuiltin(t, "cart", option("load", load), option("wheels", "4"), option("scale", "no"), option("metering", "no"), option("fan", "none"))
		for _, j := range f.Jobs {
			for _, g := range j.When {
				if g.Season != "" && g.Work == other {
					t.Errorf("job %s of a %s cart goes by the %s", j.Name, load, other)
				}
			}
		}
	}
	f := fitBuiltin(t, "cart", option("wheels", "4"), option("brakes", "air"))
	tyre, _ := f.Part("tyre")
	if tyre.Partner != "opposite" {
		t.Errorf("%+v", tyre)
	}
	if q, ok := f.PairOf(record.Position{Noun: "wheel", Number: 1}); !ok || q.Number != 4 {
		t.Errorf("across from wheel 1 of 4 is %v", q)
	}
	g := jobOf(t, f, "wheel-torque").When[0]
	if len(g.Series) != 2 || g.Series[0].String() != "1 h" || g.Series[1].String() != "10 h" || g.Then.String() != "10 h" || g.UntilResult != "none-moved" {
		t.Errorf("%+v", g)
	}
	for _, by := range []string{"wheel-off", "tyre-change", "hub-open", "lining-swap"} {
		if got := joined(jobOf(t, f, by).Loosens...); got != "wheel-torque" {
			t.Errorf("%s loosens %q", by, got)
		}
	}
	stands(t, fitBuiltin(t, "cart"), map[string]string{"hitch-pin": "part", "safety-chain": "part", "auger-check": "job", "shaft-look": "job", "brake-lining": "", "metering-roller": "", "run": "", "load-cell": "", "tarp": "part", "lid-seal": ""})
	stands(t, fitBuiltin(t, "cart", option("auger", "none"), option("fan", "hydraulic"), option("metering", "yes"), option("cover", "lid"), option("scale", "yes")), map[string]string{
		"auger-check": "", "flighting": "", "shaft-look": "", "shield": "", "run": "noun", "fan-check": "job", "calibrate": "job", "metering-roller": "part", "lid-seal": "part", "tarp": "", "scale-check": "job"})
}
