package rules_test

import (
	"fmt"
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

func choose[T any](rt *rapid.T, label string, from ...T) T {
	return rapid.SampledFrom(from).Draw(rt, label)
}

func chance(rt *rapid.T, label string, oneIn int) bool {
	return rapid.IntRange(1, oneIn).Draw(rt, label) == 1
}

// drawKind is the text of a machine kind with up to four jobs, and those jobs.
func drawKind(rt *rapid.T) (string, []*jobDraw) {
	derive := choose(rt, "derive", "", "", `derive = { from = "area", width = "40 ft", speed = "6 mph", efficiency = "70 %" }`, `derive = { carrier = "hours" }`,
		`derive = { from = "area", width = "30 ft", speed = "5 mph", efficiency = "80 %", carrier = "hours" }`)
	reach := choose(rt, "reach limit", `min = "5 in"`, `min = "5 in", neighbours = "1 in"`, `share = "80 %", falls = true`, `step = "1/2 in"`, `min = "5 in", k = 2, of = 2`)
	flow := choose(rt, "flow limit", `max = "2 L/min"`, `max = "2 L/min", k = 2`, `neighbours = "10 %"`, `max = "2 L/min", k = 3, of = 3`)
	var out strings.Builder
	fmt.Fprintf(&out, frame, derive, reach, flow)
	jobs := make([]*jobDraw, rapid.IntRange(1, 4).Draw(rt, "jobs"))
	for i := range jobs {
		jobs[i] = &jobDraw{name: fmt.Sprintf("job%d", i+1), of: choose(rt, "of", "", "opener", "opener", "wheel"), torque: chance(rt, "torque", 3)}
	}
	for i, j := range jobs {
		drawJob(rt, j, jobs, i)
		out.WriteString(j.text.String())
	}
	return out.String(), jobs
}

func drawJob(rt *rapid.T, j *jobDraw, jobs []*jobDraw, i int) {
	line := func(format string, args ...any) { fmt.Fprintf(&j.text, format+"\n", args...) }
	line("[job.%s]", j.name)
	if j.of != "" {
		line("of = %q", j.of)
	}
	if j.of == "opener" && chance(rt, "group", 4) {
		line(`group = "left-half"`)
	}
	line("severity = %q", choose(rt, "severity", "stop", "soon", "winter"))
	if chance(rt, "fails", 4) {
		line(`fails = "stop"`)
	}
	line(`results = ["moved", "none-moved"]`)
	if j.torque {
		line(`torques = [{ what = "nut", value = "200 lbf.ft" }]`)
	}
	if later := jobs[i+1:]; len(later) > 0 && chance(rt, "includes", 3) {
		line("includes = [%q]", choose(rt, "included", later...).name)
	}
	if other := jobs[(i+1)%len(jobs)]; other != j {
		if chance(rt, "next", 4) {
			line("next = [%q]", other.name)
		}
		if other.torque && chance(rt, "loosens", 2) {
			line("loosens = [%q]", other.name)
		}
	}
	switch {
	case j.of == "opener" && chance(rt, "about", 2):
		line("%s", choose(rt, "opener job", `swaps = "disc"`, `swaps = "arm"`, `swaps = "tip"`, `measures = ["reach"]`, `measures = ["reach", "flow"]`, `sets = ["depth"]`))
	case j.of == "" && chance(rt, "about", 3):
		line("%s", choose(rt, "machine job", `swaps = "belt"`, `measures = ["slack"]`, `sets = ["fan"]`, `sets = ["fan", "fuel"]`))
	}
	for range rapid.IntRange(0, 2).Draw(rt, "triggers") {
		line("[[job.%s.when]]", j.name)
		drawTrigger(rt, j, jobs, line)
	}
}

func interval(rt *rapid.T) string {
	return choose(rt, "interval", "50 h", "100 h", "33 h", "250 h", "100 ac", "500 ac", "40 ha", "1 d", "14 d", "30 d", "3 wk", "1 mo", "6 mo", "12 mo", "1 yr")
}

func drawTrigger(rt *rapid.T, j *jobDraw, jobs []*jobDraw, line func(string, ...any)) {
	counted := func() string { return choose(rt, "use", "50 h", "33 h", "250 h", "100 ac", "500 ac") }
	span := func() string { return choose(rt, "span", "1 d", "14 d", "3 wk", "1 mo", "12 mo", "1 yr") }
	factors := true
	switch choose(rt, "cause", "every", "every", "every", "worked", "idle", "before", "after", "event", "event", "past", "past", "made", "until") {
	case "every":
		switch {
		case chance(rt, "grid", 4):
			line("every = %q\ngrid = true", counted())
		case chance(rt, "both", 2):
			line("every = [%q, %q]", counted(), span())
			if chance(rt, "first", 3) {
				line("first = [%q, %q]", counted(), span())
			}
		default:
			line("every = %q", interval(rt))
			if chance(rt, "first", 4) {
				line("first = %q", interval(rt))
			}
		}
	case "worked":
		line("worked = %d", rapid.IntRange(1, 3).Draw(rt, "days"))
	case "idle":
		line("idle = %d", rapid.IntRange(1, 40).Draw(rt, "days"))
	case "before", "after":
		line("season = %q", choose(rt, "season", "before", "after"))
		if chance(rt, "work", 2) {
			line(`work = "seeding"`)
		}
		factors = false
	case "event":
		factors = drawEvent(rt, j, jobs, line)
	case "past":
		about := []string{"slack", "oil"}
		if j.of != "wheel" {
			about = append(about, "reach", "reach", "flow")
		}
		line("past = %q", choose(rt, "past", about...))
		if chance(rt, "k", 4) {
			line("k = 2\nof = %d", rapid.IntRange(2, 4).Draw(rt, "of"))
		}
		factors = false
	case "made":
		part := "belt"
		if j.of == "opener" {
			part = "disc"
		}
		line("made = %q\nevery = %q", part, choose(rt, "span", "3 mo", "1 yr", "45 d"))
	case "until":
		line("until = %q", choose(rt, "paper", jobs...).name)
		factors = false
	}
	if chance(rt, "run", 5) {
		line(`stored = "run"`)
	}
	if chance(rt, "soon", 4) {
		line("soon = %q", choose(rt, "notice", "10 h", "20 ac", "7 d", "1 mo"))
	}
	condition := func() string {
		return choose(rt, "condition", `setting = "fuel", is = "bio"`, `ground = "wet"`, `crop = "hay"`, `state = "stored"`, `state = "unfit"`,
			`reading = "oil", is = ["ok", "watch"]`, `reading = "oil", is = "ok", last = 2`, `any = [{ ground = "wet" }, { crop = "hay" }]`)
	}
	if chance(rt, "while", 6) {
		line("while = [{ %s }]", condition())
	}
	if factors && chance(rt, "factor", 4) {
		line("factors = [{ by = %q, while = [{ %s }] }]", choose(rt, "by", "1/2", "3/2", "1/3"), condition())
	}
}

// drawEvent draws what a job follows on, and whether it repeats.
func drawEvent(rt *rapid.T, j *jobDraw, jobs []*jobDraw, line func(string, ...any)) (repeats bool) {
	other := choose(rt, "other", jobs...).name
	kinds := []string{"swap:belt", "did:" + other, "adjust:fuel", "fault", "repair", "repair:belt", "season-open", "season-open:seeding", "season-close",
		"storage-in", "storage-out", "hitch", "move"}
	if j.of != "wheel" {
		kinds = append(kinds, "swap:disc", "swap:arm", "swap:tip", "adjust:depth", "measure:reach", "fault:disc")
	}
	if j.torque {
		kinds = append(kinds, "loosened", "loosened", "loosened", "loosened")
	}
	line("after = %q", choose(rt, "after", kinds...))
	if chance(rt, "at once", 2) {
		return false
	}
	if chance(rt, "series", 2) {
		line("series = [%s]", choose(rt, "steps", `"1 h", "10 h"`, `"3 d", "20 d"`, `"10 ac"`))
	}
	repeats = chance(rt, "then", 2)
	if repeats {
		line("then = %q", choose(rt, "repeats", "10 h", "30 d", "50 ac"))
		if chance(rt, "result", 2) {
			line("until_result = %q", choose(rt, "until", "none-moved", "moved"))
			if chance(rt, "finally", 2) {
				line("finally = %q", choose(rt, "at last", "100 h", "2 mo"))
			}
		}
	}
	return repeats
}
