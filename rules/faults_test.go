package rules

import (
	"testing"

	"shedbook/rules/record"
)

func (b *notebook) fault(done, at, severity string) ID {
	b.t.Helper()
	return b.write(ada, true, &record.Fault{Work: b.on(done), Positions: b.at(at), Severity: severity}, &record.Private{Text: "hub rough"})
}

func TestFaultOpenAndClosed(t *testing.T) {
	b := newNotebook(t)
	id := b.fault("2026-04-01", "opener/3", "winter")
	temporary := &record.Repair{Work: b.on("2026-04-02"), Temporary: true}
	temporary.Closes = []ID{id}
	first := b.add(temporary)
	did := &record.Did{Work: b.on("2026-04-05"), Job: "grease", Positions: b.at("opener/3")}
	did.Closes = []ID{id}
	closing := b.add(did)
	for on, want := range map[string]struct {
		faults int
		closed record.Done
	}{
		"2026-03-31": {0, ""},
		"2026-04-01": {1, ""},
		"2026-04-04": {1, ""},
		"2026-04-05": {1, "2026-04-05"},
	} {
		s := b.state(on)
		m := s.Machine("drill")
		wantList(t, on+" problems", codes(s))
		wantEqual(t, on+" faults", len(m.Faults), want.faults)
		if want.faults > 0 {
			wantEqual(t, on+" closed", m.Faults[0].Closed, want.closed)
			wantEqual(t, on+" text", m.Faults[0].Text, "hub rough")
		}
	}
	f := b.drill("2026-04-10").Faults[0]
	wantList(t, "temporary", f.Temporary, first)
	wantEqual(t, "closed by", f.ClosedBy, closing)
	wantEqual(t, "person", f.Person, ada)
}

// The repair's day was written wrong: before the fault's. It is closed as it opens, and until then the repair puts right what is no fault yet.
func TestFaultClosedBeforeItOpened(t *testing.T) {
	b := newNotebook(t)
	id := b.add(&record.Fault{Work: b.on("2026-04-05"), Positions: b.at("opener/3"), Severity: "stop", TiedUp: true})
	repair := &record.Repair{Work: b.on("2026-04-03")}
	repair.Closes = []ID{id}
	b.add(repair)
	wantList(t, "before", codes(b.state("2026-04-04")), "unknown-fault")
	s := b.state("2026-04-05")
	wantList(t, "then", codes(s))
	m := s.Machine("drill")
	wantEqual(t, "closed", m.Faults[0].Closed, "2026-04-05")
	wantEqual(t, "out of use", len(m.Out), 0)
}

func TestFaultOfAnotherMachine(t *testing.T) {
	b := newNotebook(t)
	b.machine("other", "drill", "2024-01-01")
	id := b.fault("2026-04-01", "opener/3", "winter")
	repair := &record.Repair{Work: b.of("other", "2026-04-03")}
	repair.Closes = []ID{id}
	b.add(repair)
	s := b.state("2026-04-05")
	wantList(t, "problems", codes(s), "unknown-fault")
	wantEqual(t, "still open", s.Machine("drill").Faults[0].Closed, "")
}

func TestStruckRepairOpensAgain(t *testing.T) {
	b := newNotebook(t)
	id := b.fault("2026-04-01", "", "stop")
	repair := &record.Repair{Work: b.on("2026-04-03")}
	repair.Closes = []ID{id}
	b.strike(b.add(repair))
	wantEqual(t, "open", b.drill("2026-04-05").Faults[0].Closed, "")
}
