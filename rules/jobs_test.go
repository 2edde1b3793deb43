package rules

import (
	"fmt"
	"slices"
	"sort"
	"testing"

	"shedbook/rules/record"
)

// doings lists a job's log as "place done via result", skips marked; by place.
func doings(m *Machine, job string) []string {
	var out []string
	if l := m.Jobs[job]; l != nil {
		for place, list := range l.Done {
			for _, d := range list {
				line := place + " " + string(d.Done)
				for _, w := range []string{d.Via, d.Result} {
					if w != "" {
						line += " " + w
					}
				}
				if d.Skipped {
					line += " skipped"
				}
				if d.Assumed {
					line += " assumed"
				}
				out = append(out, line)
			}
		}
	}
	sort.Strings(out)
	return out
}

func TestDid(t *testing.T) {
	b := newNotebook(t)
	id := b.add(&record.Did{Work: b.on("2026-04-01", "area 100 ac"), Job: "wheel-nuts", Positions: b.at("opener/1,opener/3-4"), Skipped: b.at("opener/2"),
		Results: []record.Result{{Positions: b.at("opener/1,opener/4"), Word: "none-moved"}, {Positions: b.at("opener/3"), Word: "moved"}}, Torque: quantityOf("100 lbf.ft")})
	m := b.drill("2026-04-01")
	wantList(t, "log", doings(m, "wheel-nuts"), "opener/1 2026-04-01 none-moved", "opener/2 2026-04-01 skipped", "opener/3 2026-04-01 moved", "opener/4 2026-04-01 none-moved")
	d := m.Jobs["wheel-nuts"].Done["opener/3"][0]
	wantQ(t, "torque", d.Torque, "100 lbf.ft")
	wantQ(t, "counter", d.Counters["area"], "100 ac")
	wantEqual(t, "entry", d.Entry, id)
	wantEqual(t, "person", d.Person, ada)
}

func TestDidBySomebodyElse(t *testing.T) {
	b := newNotebook(t)
	did := &record.Did{Work: b.on("2026-04-01"), Job: "fan-check"}
	did.By = []ID{bo}
	b.add(did)
	wantEqual(t, "person", b.drill("2026-04-01").Jobs["fan-check"].Done[""][0].Person, bo)
}

func TestDidEverywhere(t *testing.T) {
	b := newNotebook(t)
	b.add(&record.Did{Work: b.on("2026-04-01"), Job: "wing-check"})
	b.add(&record.Did{Work: b.on("2026-04-01"), Job: "grease", Skipped: b.at("opener/3")})
	m := b.drill("2026-04-01")
	wantList(t, "the places of its group", doings(m, "wing-check"), "opener/1 2026-04-01", "opener/2 2026-04-01")
	wantList(t, "all but", doings(m, "grease"), "opener/1 2026-04-01", "opener/2 2026-04-01", "opener/3 2026-04-01 skipped", "opener/4 2026-04-01")
}

func TestBiggerJobDoesSmallerOnes(t *testing.T) {
	b := newNotebook(t)
	b.add(&record.Did{Work: b.on("2026-04-01"), Job: "service"})
	m := b.drill("2026-04-01")
	wantList(t, "the machine's job", doings(m, "fan-check"), " 2026-04-01 service")
	wantList(t, "every place", doings(m, "grease"), "opener/1 2026-04-01 service", "opener/2 2026-04-01 service", "opener/3 2026-04-01 service", "opener/4 2026-04-01 service")
	b.add(&record.Did{Work: b.on("2026-04-02"), Job: "hub-open", Positions: b.at("opener/3"), Skipped: b.at("opener/4")})
	m = b.drill("2026-04-02")
	log := m.Jobs["grease"].Done
	wantEqual(t, "greased with the hub open", log["opener/3"][1].Via, "hub-open")
	wantEqual(t, "not where it was skipped", len(log["opener/4"]), 1)
}

// Jobs that include one another in a circle are done once each.
func TestIncludesInACircle(t *testing.T) {
	text := tractorText + `
[job.one]
includes = ["two"]
[job.two]
includes = ["three"]
[job.three]
`
	b := newNotebook(t)
	b.add(&record.Schedule{Name: "tractor", Text: text})
	b.machine("tractor", "tractor", "2026-01-01")
	b.add(&record.Did{Work: b.of("tractor", "2026-04-01"), Job: "one"})
	m := b.state("2026-04-01").Machine("tractor")
	for _, job := range []string{"two", "three"} {
		wantList(t, job, doings(m, job), " 2026-04-01 one")
	}
}

func kindsOf(events []Event) []string {
	var out []string
	for _, e := range events {
		out = append(out, fmt.Sprintf("%s %s %s", e.Done, e.Kind, e.Positions))
	}
	return out
}

func TestEvents(t *testing.T) {
	b := newNotebook(t)
	b.add(&record.Did{Work: b.on("2026-04-01"), Job: "hub-open", Positions: b.at("opener/3")})
	b.depth("2026-04-02", "5")
	b.fault("2026-04-03", "opener/1", "soon")
	b.swap(record.SwapTurned, "2026-04-04", "opener/1", nil)
	b.add(&record.Season{Act: "open", Name: "spring 2026", Work: "seeding", Done: "2026-04-05"})
	b.add(&record.Season{Act: "open", Name: "hay 2026", Work: "haymaking", Done: "2026-04-06"}) // not the drill's work
	b.add(&record.Store{Work: b.on("2026-04-07"), Act: "in"})
	wantList(t, "events", kindsOf(b.drill("2026-04-30").Events),
		"2026-04-01 did:hub-open opener/3", "2026-04-01 loosened:wheel-nuts opener/3", "2026-04-01 did:grease opener/3",
		"2026-04-02 adjust:depth opener/1-4", "2026-04-02 did:set-depth opener/1-4",
		"2026-04-03 fault opener/1",
		"2026-04-04 turn:disc opener/1", "2026-04-04 did:turn-discs opener/1", "2026-04-04 loosened:wheel-nuts opener/1",
		"2026-04-05 season-open ",
		"2026-04-07 store-in ")
}

func TestJobNotInSchedule(t *testing.T) {
	b := newNotebook(t)
	b.add(&record.Did{Work: b.on("2026-04-01"), Job: "polish", Positions: b.at("opener/2")})
	s := b.state("2026-04-01")
	wantList(t, "problems", codes(s), "unknown-name")
	wantList(t, "kept", doings(s.Machine("drill"), "polish"), "opener/2 2026-04-01")
}

// tally

func TestSwapDoesItsJob(t *testing.T) {
	b := newNotebook(t)
	b.swap(record.SwapNew, "2026-04-01", "opener/1-2", nil)
	b.swap(record.SwapNew, "2026-04-02", "opener/3", func(s *record.Swap) { s.Hand = "left" })
	b.swap(record.SwapNew, "2026-04-02", "opener/3", func(s *record.Swap) { s.Hand = "right" })
	b.swap(record.SwapNew, "2026-04-02", "opener/4", func(s *record.Swap) { s.Hand = "left" })
	b.swap(record.SwapNew, "2026-04-03", "opener/4", func(s *record.Swap) { s.Hand = "right" })
	b.add(&record.Swap{Work: b.on("2026-04-04"), Part: "battery", Act: record.SwapNew})
	m := b.drill("2026-04-30")
	wantList(t, "both hands on one day", doings(m, "new-discs"), "opener/1 2026-04-01 swap", "opener/2 2026-04-01 swap", "opener/3 2026-04-02 swap")
	wantList(t, "battery", doings(m, "new-battery"), " 2026-04-04 swap")
	if !slices.Contains(kindsOf(m.Events), "2026-04-02 loosened:wheel-nuts opener/3") {
		t.Errorf("wheel nuts are not loosened: %q", kindsOf(m.Events))
	}
	b.add(&record.Swap{Work: b.on("2026-04-05"), Part: "arm", Act: record.SwapNew, Positions: b.at("opener/1")})
	m = b.drill("2026-04-30")
	wantList(t, "arm", doings(m, "fit-arm"), "opener/1 2026-04-05 swap")
	wantEqual(t, "its discs are new too", len(m.Jobs["new-discs"].Done["opener/1"]), 2)
}

// Turning the part a job turns is doing that job where it was done in every hand; what it loosens is loosened where any was.
func TestTurningDoesItsJob(t *testing.T) {
	b := newNotebook(t)
	b.swap(record.SwapTurned, "2026-04-01", "opener/1", nil)
	b.swap(record.SwapSharpened, "2026-04-02", "opener/2", func(s *record.Swap) { s.Hand = "left" })
	m := b.drill("2026-04-30")
	wantList(t, "turned", doings(m, "turn-discs"), "opener/1 2026-04-01 swap")
	wantList(t, "no new ones", doings(m, "new-discs"))
	for _, want := range []string{"2026-04-01 loosened:wheel-nuts opener/1", "2026-04-02 loosened:wheel-nuts opener/2"} {
		if !slices.Contains(kindsOf(m.Events), want) {
			t.Errorf("not %s: %q", want, kindsOf(m.Events))
		}
	}
}

func TestMovingPartsIsNoNewPart(t *testing.T) {
	b := newNotebook(t)
	b.swap(record.SwapExchange, "2026-04-01", "opener/1", func(s *record.Swap) { s.With = b.at("opener/2") })
	if want := "2026-04-01 loosened:wheel-nuts opener/1-2"; !slices.Contains(kindsOf(b.drill("2026-04-01").Events), want) {
		t.Errorf("both places were opened, and not %s", want)
	}
	b.swap(record.SwapTurned, "2026-04-01", "opener/1", nil)
	wantList(t, "log", doings(b.drill("2026-04-01"), "new-discs"))
}

func TestMeasuringDoesItsJob(t *testing.T) {
	b := newNotebook(t)
	measure := func(done, reading string, values ...record.Measured) {
		b.add(&record.Measure{Work: b.on(done), Reading: reading, Values: values})
	}
	both := func(at, size string) record.Measured { return record.Measured{Positions: b.at(at), Found: steps(size)} }
	measure("2026-04-01", "disc-size", both("opener/1-2", "5.5 in"))
	wantList(t, "half of it", doings(b.drill("2026-04-01"), "size-up"))
	measure("2026-04-01", "gap", both("opener/1", "0.2 in"), record.Measured{Positions: b.at("opener/2"), Cannot: "reach"})
	wantList(t, "all of it", doings(b.drill("2026-04-01"), "size-up"), "opener/1 2026-04-01 measure")
	measure("2026-04-02", "gap", both("opener/2", "0.2 in"))
	wantList(t, "another day", doings(b.drill("2026-04-02"), "size-up"), "opener/1 2026-04-01 measure")
}

func TestSettingDoesItsJob(t *testing.T) {
	b := newNotebook(t)
	b.add(change(b, "2026-04-01", "opener/1-2", "5", ""))
	wantList(t, "log", doings(b.drill("2026-04-01"), "set-depth"), "opener/1 2026-04-01 adjust", "opener/2 2026-04-01 adjust")
}
