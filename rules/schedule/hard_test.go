package schedule

import (
	"math/big"
	"testing"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// hardRules are six rules of the kinds that real schedules hold, one small schedule each, so that the grammar is whole before the engine learns them
// all. Figures are common practice, no source, unless said otherwise.
var hardRules = []struct{ name, text string }{
	{"nested and stretched oil change", header + `
[counter.hours]
unit = "h"
[part.engine-oil]
fluid = true
[setting.fuel]
type = "choice"
choices = ["diesel", "biodiesel-high"]
[setting.dust]
type = "choice"
choices = ["usual", "heavy"]
[reading.sample]
grades = ["ok", "watch", "bad"]
bad_from = "bad"
part = "engine-oil"
[job.oil-level]
when = { worked = 1 }
[job.water-drain]
when = { every = "50 h" }
[job.oil-change]
swaps = "engine-oil"
uses = { what = "engine oil", amount = "22 L" }
includes = ["oil-level", "water-drain"]
when = { first = "50 h", every = ["500 h", "12 mo"], factors = [
  { by = "1/2", while = { any = [{ setting = "fuel", is = "biodiesel-high" }, { setting = "dust", is = "heavy" }] } },
  { by = "3/2", while = { reading = "sample", is = "ok", last = 2 } },
] }
`},
	{"wheel nuts after any removal", header + `
[counter.hours]
unit = "h"
[place.wheel]
names = ["left", "right"]
[job.wheel-torque]
of = "wheel"
results = ["moved", "none-moved"]
torques = { what = "wheel nut", value = "400 N.m" }
when = { after = "loosened", series = ["1 h", "10 h"], then = "10 h", until_result = "none-moved", finally = "250 h" }
[job.hub-open]
of = "wheel"
loosens = "wheel-torque"
[job.tyre-change]
of = "wheel"
loosens = "wheel-torque"
[job.axle-move]
loosens = "wheel-torque"
`},
	{"double discs", header + `
[place.row]
count = 8
hands = ["left", "right"]
[part.disc]
of = "row"
handed = true
with = "scraper"
[part.scraper]
of = "row"
handed = true
[part.tube-guard]
of = "row"
[setting.shims]
of = "row"
type = "count"
min = 0
max = 4
[reading.size]
of = "row"
handed = true
unit = "in"
part = "disc"
new = "15 in"
[reading.smaller]
of = "row"
unit = "in"
computed = { how = "smaller", from = ["size/left", "size/right"] }
limit = { min = "14 in" }
[reading.uneven]
of = "row"
unit = "in"
computed = { how = "difference", from = ["size/left", "size/right"] }
limit = { min = "-1/4 in", max = "1/4 in" }
[reading.contact]
of = "row"
unit = "in"
limit = { min = "1.5 in" }
[reading.guard]
of = "row"
unit = "in"
part = "tube-guard"
limit = { share = "50 %", falls = true }
[job.shim]
of = "row"
sets = "shims"
next = ["contact-check", "wheel-touch"]
when = { past = "contact" }
[job.contact-check]
of = "row"
measures = "contact"
[job.wheel-touch]
of = "row"
[job.disc-swap]
of = "row"
swaps = "disc"
try = "shim"
next = ["shim", "contact-check", "wheel-touch"]
when = [{ past = "smaller" }, { past = "uneven" }, { past = "contact", while = { setting = "shims", is = "0" } }]
[job.guard-swap]
of = "row"
swaps = "tube-guard"
when = { past = "guard" }
`},
	{"nozzles", header + `
[counter.area]
unit = "ac"
[place.tip]
count = 72
[part.nozzle]
of = "tip"
set = true
[assembly.nozzle-set]
of = "tip"
parts = "nozzle"
whole = true
[reading.catch]
of = "tip"
unit = "mL/min"
part = "nozzle"
wears = "area"
condition = ["pressure", "time"]
correct = { condition = "pressure", rated = "40 psi", power = "1/2" }
new = "800 mL/min"
limit = { share = "110 %", neighbours = "5 %", k = 2 }
[job.check-again]
of = "tip"
measures = "catch"
when = { past = "catch", k = 1 }
[job.new-set]
of = "tip"
swaps = "nozzle"
when = { past = "catch" }
`},
	{"drives of combine and baler", header + `
[counter.engine]
unit = "h"
main = true
[counter.separator]
unit = "h"
[counter.bales]
unit = "bales"
[option.teeth]
type = "count"
min = 8
max = 120
default = 60
[option.centres]
type = "choice"
choices = ["fixed", "sprung"]
default = "sprung"
[place.knife]
count = 40
[pair.opposite]
of = "knife"
how = "mirror"
[part.blade]
of = "knife"
edges = 2
partner = "opposite"
[part.chain]
with = "sprocket"
[part.sprocket]
[reading.stretch]
unit = "%"
part = "chain"
wears = "separator"
limit = [
  { max = "1.5 %", only = { option = "centres", is = "fixed" } },
  { max = "3 %", one_in = "teeth", one_in_amount = "200 %" },
]
[job.daily]
when = { worked = 1 }
[job.chain-swap]
swaps = "chain"
when = { past = "stretch" }
[job.knotter]
when = [{ every = "2000 bales" }, { every = "50 h on separator" }]
[job.clutch-run-in]
when = { idle = 30 }
how = "slack the springs, slip for two seconds, springs back to length"
cautions = ["pto", "springs"]
`},
	{"dated safety items", header + `
[part.extinguisher]
make = true
[part.hose]
make = true
[job.look]
when = { every = "1 mo" }
[job.tag]
who = "licensed"
severity = "stop"
fails = "stop"
when = [{ every = "12 mo", stored = "run" }, { until = "tag", stored = "run" }]
[job.inside]
who = "licensed"
when = { made = "extinguisher", every = "6 yr", stored = "run" }
[job.pressure-test]
who = "licensed"
when = { made = "extinguisher", every = "12 yr", stored = "run" }
[job.new-hose]
swaps = "hose"
when = { made = "hose", every = "6 yr", stored = "run" }
[job.sprayer-test]
fails = "stop"
when = [{ until = "sprayer-test" }, { every = "3 mo", while = { state = "stored" }, stored = "run" }]
`},
}

func TestHardRules(t *testing.T) {
	for _, r := range hardRules {
		t.Run(r.name, func(t *testing.T) { mustFit(t, r.text) })
	}
}

func hard(t *testing.T, i int, options ...record.Option) *Fitted {
	return mustFit(t, hardRules[i].text, options...)
}

func TestHardOil(t *testing.T) {
	j, _ := hard(t, 0).Job("oil-change")
	g := j.When[0]
	if g.First[0].String() != "50 h" || g.Every[0].String() != "500 h" || !g.Every[1].Calendar() || len(g.Factors) != 2 {
		t.Fatalf("%+v", g)
	}
	if g.Factors[0].By.Cmp(big.NewRat(1, 2)) != 0 || len(g.Factors[0].While[0].Any) != 2 {
		t.Errorf("halved: %+v", g.Factors[0])
	}
	stretch := g.Factors[1].While[0]
	if stretch.Reading != "sample" || stretch.Last != 2 || g.Factors[1].By.Cmp(big.NewRat(3, 2)) != 0 {
		t.Errorf("stretched: %+v", g.Factors[1])
	}
}

func TestHardWheelNuts(t *testing.T) {
	f := hard(t, 1)
	j, _ := f.Job("wheel-torque")
	g := j.When[0]
	if g.After != "loosened:wheel-torque" || len(g.Series) != 2 || g.Then.String() != "10 h" || g.UntilResult != "none-moved" || g.Finally.String() != "250 h" {
		t.Errorf("%+v", g)
	}
}

func TestHardNozzles(t *testing.T) {
	f := hard(t, 3)
	r, _ := f.Reading("catch")
	for _, c := range []struct {
		value, median string
		past          bool
	}{{"880 mL/min", "870 mL/min", false}, {"881 mL/min", "870 mL/min", true}, {"820 mL/min", "780.9 mL/min", true}, {"820 mL/min", "781 mL/min", false}} {
		past, why := r.Past(amount(c.value), Against{Median: amount(c.median)})
		if past != c.past {
			t.Errorf("%s beside %s: %v %s", c.value, c.median, past, why)
		}
	}
	if r.Limit.K != 2 || r.Limit.Of != 0 {
		t.Errorf("limit counts %d of %d", r.Limit.K, r.Limit.Of)
	}
	again, _ := f.Job("check-again")
	if again.When[0].K != 1 {
		t.Errorf("check-again counts %d", again.When[0].K)
	}
}

// The limit of stretch is the lesser of 3 % and 200/N: 66 teeth and fewer keep 3 %; more make it less, never rounded up.
func TestHardChain(t *testing.T) {
	for _, c := range []struct{ teeth, centres, max string }{
		{"60", "sprung", "3 %"}, {"66", "sprung", "3 %"}, {"70", "sprung", "2.8571 %"}, {"100", "sprung", "2 %"}, {"60", "fixed", "1.5 %"},
	} {
		f := hard(t, 4, record.Option{Name: "teeth", Value: c.teeth}, record.Option{Name: "centres", Value: c.centres})
		r, _ := f.Reading("stretch")
		if r.Limit == nil || r.Limit.Max != quantity.MustParse(c.max) {
			t.Errorf("%s teeth, %s centres: %v", c.teeth, c.centres, r.Limit)
		}
	}
	f := hard(t, 4)
	if q, ok := f.PairOf(record.Position{Noun: "knife", Number: 3}); !ok || q.Number != 38 {
		t.Errorf("the knife opposite 3 of 40 is %v", q)
	}
	j, _ := f.Job("knotter")
	if j.When[0].Every[0].Counter != "bales" || j.When[1].Every[0].Counter != "separator" {
		t.Errorf("counted on %+v", j.When)
	}
	if d, _ := f.Job("clutch-run-in"); len(d.Cautions) != 3 || d.Cautions[0] != AnyJob {
		t.Errorf("cautions %v", d.Cautions)
	}
}

func TestHardDoubleDiscs(t *testing.T) {
	f := hard(t, 2)
	j, _ := f.Job("disc-swap")
	if len(j.Next) != 3 || j.Next[0] != "shim" || j.Try[0] != "shim" || j.When[2].While[0].Setting != "shims" {
		t.Errorf("%+v", j)
	}
	guard, _ := f.Reading("guard")
	if past, _ := guard.Past(amount("0.36 in"), Against{New: amount("0.75 in")}); !past {
		t.Error("a guard under half is not past its limit")
	}
	if past, _ := guard.Past(amount("0.375 in"), Against{New: amount("0.75 in")}); past {
		t.Error("a guard of just half is past its limit")
	}
}

func TestHardDates(t *testing.T) {
	f := hard(t, 5)
	p, _ := f.Part("extinguisher")
	inside, _ := f.Job("inside")
	g := inside.When[0]
	if !p.Make || g.Made != "extinguisher" || g.Every[0].String() != "6 yr" || g.Stored != "run" || inside.Who != "licensed" {
		t.Errorf("%+v %+v", p, inside)
	}
	tag, _ := f.Job("tag")
	if tag.Fails != "stop" || tag.When[1].Until != "tag" {
		t.Errorf("%+v", tag)
	}
	if look, _ := f.Job("look"); look.When[0].Stored != "pause" {
		t.Errorf("looking does not pause in storage: %+v", look)
	}
}
