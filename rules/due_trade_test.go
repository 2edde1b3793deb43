package rules

import "testing"

// Facts of the trade, each with a small schedule of its own. All of them are common practice, no source; the operator's manual rules.

// Common practice, no source: grease every 250 h, and at the start and the end of each season.
func TestTradeGrease(t *testing.T) {
	s := newShed(t, kind(`
[job.grease]
of = "opener"
[[job.grease.when]]
every = "250 h"
[[job.grease.when]]
season = "before"
[[job.grease.when]]
season = "after"
`))
	step := func(name, on string, want ...string) {
		t.Helper()
		same(t, name, lines(s.due(on)), want)
	}
	s.read("2025-03-20", "hours 1000h")
	s.did("2025-03-20", "grease")
	s.season("open", "2025-04-10", "", "")
	step("greased at the start", "2025-04-11")
	s.read("2025-05-01", "hours 1251h")
	step("250 h in one season", "2025-05-01", "overdue grease [all 4 openers]: 1250 h, over 1 h")
	s.did("2025-05-01", "grease")
	s.season("close", "2025-05-20", "", "")
	s.add(storing(s, "2025-05-25", "in"))
	step("at the end, before it is put away", "2025-05-21", "due grease [all 4 openers]: 2025-06-19, over -29 d")
	s.did("2025-05-22", "grease")
	step("greased", "2025-05-22")
	step("in storage", "2025-12-01")
	s.add(storing(s, "2026-03-15", "out"))
	s.season("plan", "2026-03-15", "2026-04-01", "2026-05-10")
	step("17 days before the next", "2026-03-15")
	step("14 days before the next", "2026-03-18", "coming grease [all 4 openers]: 2026-04-01, over -14 d")
	s.did("2026-03-20", "grease")
	step("greased for it", "2026-04-02")
}

// Common practice, no source: the bearings are preset each season, before they are greased, for grease hides play.
func TestTradePresetBeforeGrease(t *testing.T) {
	s := newShed(t, kind(`
[job.grease]
of = "opener"
order = 20
[[job.grease.when]]
season = "before"
[[job.grease.when]]
after = "did:preset"
[job.preset]
of = "opener"
order = 10
[[job.preset.when]]
season = "before"
`))
	s.season("plan", "2025-02-01", "2025-04-01", "")
	same(t, "both, preset first", lines(s.due("2025-04-01")), []string{"due preset [all 4 openers]: 2025-04-01, over 0 d", "due grease [all 4 openers]: 2025-04-01, over 0 d"})
	s.did("2025-04-01T08:00", "grease", "opener/1")
	s.did("2025-04-01T09:00", "preset")
	same(t, "greased too early at 1: once more", lines(s.due("2025-04-01")), []string{"due grease [opener 1]: 2025-04-01, over 0 d", "due grease [openers 2-4]: 2025-04-01, over 0 d"})
	s.did("2025-04-01T10:00", "grease")
	same(t, "in the right order", lines(s.due("2025-04-02")), nil)
}

// Common practice, no source: what was loosened is torqued again after 1 h and after 10 h, then every 10 h until none has moved.
func TestTradeRetorque(t *testing.T) {
	s := newShed(t, kind(`
[place.wheel]
names = ["left-front", "right-front", "left-rear", "right-rear"]
[job.wheel-nuts]
of = "wheel"
severity = "stop"
results = ["moved", "none-moved"]
torques = [{ what = "wheel nuts", value = "250 lbf.ft" }]
[[job.wheel-nuts.when]]
after = "loosened"
series = ["1 h", "10 h"]
then = "10 h"
until_result = "none-moved"
[job.tyre-change]
of = "wheel"
loosens = ["wheel-nuts"]
`))
	s.read("2025-06-01", "hours 500h")
	s.did("2025-06-01", "tyre-change", "wheel/left-front")
	for _, step := range []struct {
		day, hours string
		want       []string // before the check
		moved      []string
	}{
		{"2025-06-02", "501h", []string{"due wheel-nuts [wheel left-front]: 501 h, over 0 h"}, []string{"wheel/left-front"}},
		{"2025-06-03", "510h", []string{"due wheel-nuts [wheel left-front]: 510 h, over 0 h"}, []string{"wheel/left-front"}},
		{"2025-06-04", "520h", []string{"due wheel-nuts [wheel left-front]: 520 h, over 0 h"}, []string{"wheel/left-front"}},
		{"2025-06-05", "532h", []string{"overdue wheel-nuts [wheel left-front]: 530 h, over 2 h"}, nil},
		{"2025-07-05", "800h", nil, nil}, // none moved at 532 h: over
	} {
		s.read(step.day, "hours "+step.hours)
		same(t, "at "+step.hours, lines(s.due(step.day)), step.want)
		if len(step.want) > 0 {
			checked(s, step.day, "wheel-nuts", step.moved...)
		}
	}
}

// Common practice, no source: on one kind of opener the disc is replaced when its edge stands about 5 in from the hub.
func TestTradeDiscWornOut(t *testing.T) {
	s := newShed(t, kind(`
[part.disc]
of = "opener"
[reading.edge-to-hub]
of = "opener"
unit = "in"
new = "6 in"
part = "disc"
wears = ["area"]
limit = { min = "5 in" }
[job.new-disc]
of = "opener"
severity = "winter"
swaps = "disc"
[[job.new-disc.when]]
past = "edge-to-hub"
`))
	s.measure("2025-11-03", "edge-to-hub", "opener/1=5.5 in", "opener/2=5 in", "opener/3=4.9375 in", "opener/4=4.9375 in")
	i := only(t, s.due("2025-11-03"), "new-disc")
	if got, want := line(i), "due new-disc [openers 3, 4]: 2025-11-03, over 0 d"; got != want || i.Severity != "winter" {
		t.Errorf("got %q (%s), want %q", got, i.Severity, want)
	}
	s.swap("2025-12-10", "disc", "new", "opener/3-4")
	same(t, "replaced", lines(s.due("2025-12-10")), nil)
}

// Common practice, no source: engine oil first at 50 h, then every 500 h or 12 months, halved on high biodiesel, and half as long again while the last
// two samples were good. 500 h after 60 h is 560, halved 310, half as long again 810.
func TestTradeOil(t *testing.T) {
	s := newShed(t, kind(`
[setting.fuel]
type = "choice"
choices = ["plain", "biodiesel-high"]
[reading.oil-sample]
grades = ["ok", "watch", "bad"]
[job.oil]
includes = ["oil-level"]
[[job.oil.when]]
every = ["500 h", "12 mo"]
first = "50 h"
factors = [
  { by = "1/2", while = [{ setting = "fuel", is = "biodiesel-high" }] },
  { by = "3/2", while = [{ reading = "oil-sample", is = "ok", last = 2 }] },
]
[job.oil-level]
[[job.oil-level.when]]
worked = 1
`))
	s.read("2025-03-01", "hours 4h")
	s.read("2025-04-01", "hours 60h")
	same(t, "the first, the level with it", lines(s.due("2025-04-01")), []string{"overdue oil: 50 h, over 10 h"})
	s.did("2025-04-01", "oil")
	s.read("2025-08-01", "hours 570h")
	s.did("2025-08-01", "oil-level")
	same(t, "500 h", lines(s.due("2025-08-01")), []string{"overdue oil: 560 h, over 10 h"})
	s.measure("2025-05-01", "oil-sample", "=ok")
	same(t, "one good sample is not two", lines(s.due("2025-08-01")), []string{"overdue oil: 560 h, over 10 h"})
	s.measure("2025-06-01", "oil-sample", "=ok")
	same(t, "two good samples", lines(s.due("2025-08-01")), nil)
	s.measure("2025-07-01", "oil-sample", "=watch")
	same(t, "the last one was not", lines(s.due("2025-08-01")), []string{"overdue oil: 560 h, over 10 h"})
	set(s, "2025-07-02", "fuel", "biodiesel-high")
	same(t, "halved", lines(s.due("2025-08-01")), []string{"overdue oil: 310 h, over 260 h"})
}
