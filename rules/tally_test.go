package rules

import (
	"testing"

	"shedbook/rules/record"
)

// A new disc in one hand of two is not the whole job, which counts as done where both are new; but the hub was opened: its torque is due at 5 h after, and
// what is asked for next at once. The same day's other hand makes it one job. A part of an assembly is not the assembly: its job's torque stays.
func TestSwapOfOneHand(t *testing.T) {
	text := kind(`
[part.disc]
of = "opener"
handed = true
[part.hub]
of = "opener"
[assembly.arm]
of = "opener"
parts = ["disc", "hub"]
[job.disc-swap]
of = "opener"
swaps = "disc"
loosens = ["torque"]
next = ["scraper"]
when = [{ every = "100 h" }]
[job.arm-swap]
of = "opener"
swaps = "arm"
loosens = ["pivot"]
[job.scraper]
of = "opener"
[job.torque]
of = "opener"
torques = [{ what = "nut", value = "100 N.m" }]
when = [{ after = "loosened", series = ["5 h"] }]
[job.pivot]
of = "opener"
torques = [{ what = "nut", value = "100 N.m" }]
`)
	one := func(s *shed, hand string) {
		s.add(&record.Swap{Work: s.work("2025-04-01"), Part: "disc", Hand: hand, Act: "new", Positions: s.at("opener/2")})
	}
	s := newShed(t, text)
	s.read("2025-04-01", "hours 500 h")
	one(s, "left")
	s.read("2025-04-02", "hours 506 h")
	same(t, "left only", s.of("2025-04-02", "scraper", "torque", "pivot"), []string{"overdue scraper [opener 2]: 2025-04-01, over 1 d", "overdue torque [opener 2]: 505 h, over 1 h"})
	if log := s.state("2025-04-02").Machine("rig").Jobs["disc-swap"]; log != nil {
		t.Errorf("one hand counts as the whole job: %v", log.Done)
	}
	one(s, "right")
	if log := s.state("2025-04-02").Machine("rig").Jobs["disc-swap"]; log == nil || len(log.Done["opener/2"]) != 1 {
		t.Errorf("both hands are not one job: %v", log)
	}
	same(t, "both", s.of("2025-04-02", "scraper", "torque", "pivot"), []string{"overdue scraper [opener 2]: 2025-04-01, over 1 d", "overdue torque [opener 2]: 505 h, over 1 h"})
}

// A big service that takes in two changes of oil fills both, each a fluid of its own with its own hours.
func TestServiceFillsSeveral(t *testing.T) {
	s := newShed(t, kind(`
[part.engine-oil]
fluid = true
[part.gear-oil]
fluid = true
[job.engine-oil-change]
swaps = "engine-oil"
[job.gear-oil-change]
swaps = "gear-oil"
[job.service]
includes = ["engine-oil-change", "gear-oil-change"]
`))
	s.read("2025-04-01", "hours 500 h")
	s.did("2025-04-01", "service")
	s.read("2025-05-01", "hours 540 h")
	m := s.state("2025-05-01").Machine("rig")
	engine, gear := m.Slots["engine-oil"][""], m.Slots["gear-oil"][""]
	if engine.Disputed || gear.Disputed || engine.Part.ID == gear.Part.ID {
		t.Fatalf("engine oil %+v, gear oil %+v", engine, gear)
	}
	for _, p := range []*Part{engine.Part, gear.Part} {
		wantQ(t, p.Kind, p.Use["hours"], "40 h")
	}
}
