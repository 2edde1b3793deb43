package rules_test

import (
	"fmt"
	"math/rand/v2"
	"strings"

	"pgregory.net/rapid"
)

// frame is what every drawn kind has: hours and acres, a trip counter, openers with a disc in each hand, a tip for two, wheels, a belt.
const frame = `shedbook_schedule = 1
name = "rig"
work = ["seeding"]
[counter.hours]
unit = "h"
main = true
%s
[counter.area]
unit = "ac"
[counter.field]
unit = "ac"
trip = true
[place.opener]
count = 4
hands = ["left", "right"]
[place.wheel]
names = ["near", "off"]
[group.left-half]
of = "opener"
to = "1/2"
[part.disc]
of = "opener"
handed = true
[part.tip]
of = "opener"
per = 2
[part.belt]
[assembly.arm]
of = "opener"
parts = ["disc", "tip"]
[setting.depth]
of = "opener"
type = "steps"
min = 1
max = 9
[setting.fan]
type = "amount"
unit = "rpm"
[setting.fuel]
type = "choice"
choices = ["plain", "bio"]
[reading.reach]
of = "opener"
handed = true
unit = "in"
part = "disc"
limit = { %s }
[reading.flow]
of = "opener"
unit = "L/min"
limit = { %s }
[reading.slack]
unit = "mm"
limit = { max = "20 mm" }
[reading.oil]
grades = ["ok", "watch", "bad"]
bad_from = "bad"
`

// jobDraw is one job of a drawn kind.
type jobDraw struct {
	name, of string
	torque   bool
	text     strings.Builder
}

// dice draws either through rapid, whose draws lean to what is first and small and can be made smaller when something fails, or evenly.
type dice struct {
	rt   *rapid.T
	even *rand.Rand // nil: through rapid
}

func newDice(rt *rapid.T) *dice {
	d := &dice{rt: rt}
	if rapid.Bool().Draw(rt, "evenly") {
		d.even = rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), rapid.Uint64().Draw(rt, "seed too")))
	}
	return d
}

func between(d *dice, label string, low, high int) int {
	if d.even != nil {
		return low + d.even.IntN(high-low+1)
	}
	return rapid.IntRange(low, high).Draw(d.rt, label)
}

func choose[T any](d *dice, label string, from ...T) T {
	if d.even != nil {
		return from[d.even.IntN(len(from))]
	}
	return rapid.SampledFrom(from).Draw(d.rt, label)
}

func chance(d *dice, label string, oneIn int) bool { return between(d, label, 1, oneIn) == 1 }

// drawKind is the text of a machine kind with up to four jobs, and those jobs.
func drawKind(d *dice) (string, []*jobDraw) {
	derive := choose(d, "derive", "", "", `derive = { from = "area", width = "40 ft", speed = "6 mph", efficiency = "70 %" }`, `derive = { carrier = "hours" }`,
		`derive = { from = "area", width = "30 ft", speed = "5 mph", efficiency = "80 %", carrier = "hours" }`)
	reach := choose(d, "reach limit", `min = "5 in"`, `min = "5 in", neighbours = "1 in"`, `share = "80 %", falls = true`, `step = "1/2 in"`, `min = "5 in", k = 2, of = 2`)
	flow := choose(d, "flow limit", `max = "2 L/min"`, `max = "2 L/min", k = 2`, `neighbours = "10 %"`, `max = "2 L/min", k = 3, of = 3`)
	var out strings.Builder
	fmt.Fprintf(&out, frame, derive, reach, flow)
	jobs := make([]*jobDraw, between(d, "jobs", 1, 4))
	for i := range jobs {
		jobs[i] = &jobDraw{name: fmt.Sprintf("job%d", i+1), of: choose(d, "of", "", "opener", "opener", "wheel"), torque: chance(d, "torque", 3)}
	}
	for i, j := range jobs {
		drawJob(d, j, jobs, i)
		out.WriteString(j.text.String())
	}
	return out.String(), jobs
}

func drawJob(d *dice, j *jobDraw, jobs []*jobDraw, i int) {
	line := func(format string, args ...any) { fmt.Fprintf(&j.text, format+"\n", args...) }
	line("[job.%s]", j.name)
	if j.of != "" {
		line("of = %q", j.of)
	}
	if j.of == "opener" && chance(d, "group", 4) {
		line(`group = "left-half"`)
	}
	line("severity = %q", choose(d, "severity", "stop", "soon", "winter"))
	if chance(d, "fails", 4) {
		line(`fails = "stop"`)
	}
	line(`results = ["moved", "none-moved"]`)
	if j.torque {
		line(`torques = [{ what = "nut", value = "200 lbf.ft" }]`)
	}
	if later := jobs[i+1:]; len(later) > 0 && chance(d, "includes", 3) {
		line("includes = [%q]", choose(d, "included", later...).name)
	}
	if other := jobs[(i+1)%len(jobs)]; other != j {
		if chance(d, "next", 4) {
			line("next = [%q]", other.name)
		}
		if other.torque && chance(d, "loosens", 2) {
			line("loosens = [%q]", other.name)
		}
	}
	switch {
	case j.of == "opener" && chance(d, "about", 2):
		line("%s", choose(d, "opener job", `swaps = "disc"`, `swaps = "arm"`, `swaps = "tip"`, `turns = "disc"`, `measures = ["reach"]`, `measures = ["reach", "flow"]`, `sets = ["depth"]`))
	case j.of == "" && chance(d, "about", 3):
		line("%s", choose(d, "machine job", `swaps = "belt"`, `turns = "belt"`, `measures = ["slack"]`, `sets = ["fan"]`, `sets = ["fan", "fuel"]`))
	}
	for range between(d, "triggers", 0, 2) {
		line("[[job.%s.when]]", j.name)
		drawTrigger(d, j, jobs, line)
	}
}

func interval(d *dice) string {
	return choose(d, "interval", "50 h", "100 h", "33 h", "250 h", "100 ac", "500 ac", "40 ha", "1 d", "14 d", "30 d", "3 wk", "1 mo", "6 mo", "12 mo", "1 yr")
}

func drawTrigger(d *dice, j *jobDraw, jobs []*jobDraw, line func(string, ...any)) {
	counted := func() string { return choose(d, "use", "50 h", "33 h", "250 h", "100 ac", "500 ac") }
	span := func() string { return choose(d, "span", "1 d", "14 d", "3 wk", "1 mo", "12 mo", "1 yr") }
	factors := true
	switch choose(d, "cause", "every", "every", "every", "worked", "idle", "before", "after", "event", "event", "past", "past", "made", "until") {
	case "every":
		switch {
		case chance(d, "grid", 4):
			line("every = %q\ngrid = true", counted())
		case chance(d, "both", 2):
			line("every = [%q, %q]", counted(), span())
			if chance(d, "first", 3) {
				line("first = [%q, %q]", counted(), span())
			}
		default:
			line("every = %q", interval(d))
			if chance(d, "first", 4) {
				line("first = %q", interval(d))
			}
		}
	case "worked":
		line("worked = %d", between(d, "days", 1, 3))
	case "idle":
		line("idle = %d", between(d, "days", 1, 40))
	case "before", "after":
		line("season = %q", choose(d, "season", "before", "after"))
		if chance(d, "work", 2) {
			line(`work = "seeding"`)
		}
		factors = false
	case "event":
		factors = drawEvent(d, j, jobs, line)
	case "past":
		about := []string{"slack", "oil"}
		if j.of != "wheel" {
			about = append(about, "reach", "reach", "flow")
		}
		line("past = %q", choose(d, "past", about...))
		if chance(d, "k", 4) {
			line("k = 2\nof = %d", between(d, "of", 2, 4))
		}
		factors = false
	case "made":
		part := "belt"
		if j.of == "opener" {
			part = "disc"
		}
		line("made = %q\nevery = %q", part, choose(d, "span", "3 mo", "1 yr", "45 d"))
	case "until":
		line("until = %q", choose(d, "paper", jobs...).name)
		factors = false
	}
	if chance(d, "run", 5) {
		line(`stored = "run"`)
	}
	if chance(d, "soon", 4) {
		line("soon = %q", choose(d, "notice", "10 h", "20 ac", "7 d", "1 mo"))
	}
	condition := func() string {
		return choose(d, "condition", `setting = "fuel", is = "bio"`, `ground = "wet"`, `crop = "hay"`, `state = "stored"`, `state = "unfit"`,
			`reading = "oil", is = ["ok", "watch"]`, `reading = "oil", is = "ok", last = 2`, `any = [{ ground = "wet" }, { crop = "hay" }]`)
	}
	if chance(d, "while", 6) {
		line("while = [{ %s }]", condition())
	}
	if factors && chance(d, "factor", 4) {
		line("factors = [{ by = %q, while = [{ %s }] }]", choose(d, "by", "1/2", "3/2", "1/3"), condition())
	}
}

// drawEvent draws what a job follows on, and whether it repeats.
func drawEvent(d *dice, j *jobDraw, jobs []*jobDraw, line func(string, ...any)) (repeats bool) {
	other := choose(d, "other", jobs...).name
	kinds := []string{"swap:belt", "did:" + other, "adjust:fuel", "fault", "repair", "repair:belt", "season-open", "season-open:seeding", "season-close",
		"storage-in", "storage-out", "hitch", "move"}
	if j.of != "wheel" {
		kinds = append(kinds, "swap:disc", "swap:arm", "swap:tip", "adjust:depth", "measure:reach", "fault:disc")
	}
	if j.torque {
		kinds = append(kinds, "loosened", "loosened", "loosened", "loosened")
	}
	line("after = %q", choose(d, "after", kinds...))
	if chance(d, "at once", 2) {
		return false
	}
	if chance(d, "series", 2) {
		line("series = [%s]", choose(d, "steps", `"1 h", "10 h"`, `"3 d", "20 d"`, `"10 ac"`))
	}
	repeats = chance(d, "then", 2)
	if repeats {
		line("then = %q", choose(d, "repeats", "10 h", "30 d", "50 ac"))
		if chance(d, "result", 2) {
			line("until_result = %q", choose(d, "until", "none-moved", "moved"))
			if chance(d, "finally", 2) {
				line("finally = %q", choose(d, "at last", "100 h", "2 mo"))
			}
		}
	}
	return repeats
}
