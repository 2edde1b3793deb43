package rules

import (
	"testing"

	"shedbook/rules/record"
)

func change(b *notebook, done, at, to, by string) *record.Adjust {
	c := record.Change{Setting: "depth", Positions: b.at(at), By: by}
	if to != "" {
		c.To = steps(to)
	}
	return &record.Adjust{Work: b.on(done), Changes: []record.Change{c}}
}

func TestSettingPerPlace(t *testing.T) {
	b := newNotebook(t)
	all := b.add(change(b, "2026-04-01", "opener/1-4", "6", ""))
	wing := b.add(change(b, "2026-04-02", "opener/1-2", "7", ""))
	m := b.drill("2026-04-02")
	st := m.Settings["depth"]
	wantEqual(t, "opener 1", st["opener/1"].Value.String(), "7")
	wantEqual(t, "before", st["opener/1"].Before.String(), "6")
	wantEqual(t, "since", st["opener/1"].Since, "2026-04-02")
	wantList(t, "reason", st["opener/1"].Reason.Entries, wing)
	wantEqual(t, "opener 4", st["opener/4"].Value.String(), "6")
	wantEqual(t, "nothing before", st["opener/4"].Before.IsZero(), true)
	wantList(t, "reason", st["opener/4"].Reason.Entries, all)
}

func TestSettingOfAllPlaces(t *testing.T) {
	b := newNotebook(t)
	b.add(change(b, "2026-04-01", "", "6", ""))
	b.add(&record.Adjust{Work: b.on("2026-04-01"), Changes: []record.Change{{Setting: "fan", To: steps("4200 rpm")}}})
	m := b.drill("2026-04-01")
	wantEqual(t, "places", len(m.Settings["depth"]), 4)
	wantEqual(t, "fan", m.Settings["fan"][""].Value.String(), "4200 rpm")
}

func TestRelative(t *testing.T) {
	for _, c := range []struct {
		name    string
		write   func(b *notebook)
		want    string // of opener 1
		unknown bool
		codes   []string
	}{
		{"as resolved when written", func(b *notebook) {
			b.add(change(b, "2026-04-01", "opener/1", "6", ""))
			b.add(change(b, "2026-04-02", "opener/1", "7", "+1"))
		}, "7", false, nil},
		{"resolved by replay", func(b *notebook) {
			b.add(change(b, "2026-04-01", "opener/1", "6", ""))
			b.add(change(b, "2026-04-02", "opener/1", "", "-2"))
		}, "4", false, nil},
		// Written as giving 7; then an earlier change to 8 came in from the other yard. What the person saw stands.
		{"otherwise than replay finds", func(b *notebook) {
			b.add(change(b, "2026-04-01", "opener/1", "6", ""))
			b.add(change(b, "2026-04-03", "opener/1", "7", "+1"))
			b.add(change(b, "2026-04-02", "opener/1", "8", ""))
		}, "7", false, []string{"relative-mismatch"}},
		{"from the unknown", func(b *notebook) {
			b.add(change(b, "2026-04-02", "opener/1", "", "+1"))
		}, "", true, nil},
		{"twice from the unknown", func(b *notebook) {
			b.add(change(b, "2026-04-02", "opener/1", "", "+1"))
			b.add(change(b, "2026-04-03", "opener/1", "", "+1"))
		}, "", true, nil},
		{"known to its writer only", func(b *notebook) {
			b.add(change(b, "2026-04-02", "opener/1", "5", "+1"))
		}, "5", false, nil},
		{"past the range", func(b *notebook) {
			b.add(change(b, "2026-04-01", "opener/1", "12", ""))
			b.add(change(b, "2026-04-02", "opener/1", "", "+1"))
		}, "", true, []string{"relative-mismatch"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newNotebook(t)
			c.write(b)
			s := b.state("2026-04-10")
			st := s.Machine("drill").Settings["depth"]["opener/1"]
			wantEqual(t, "value", st.Value.String(), c.want)
			wantEqual(t, "unknown", st.Unknown, c.unknown)
			wantList(t, "problems", codes(s), c.codes...)
		})
	}
}

func TestRelativeReasons(t *testing.T) {
	b := newNotebook(t)
	one := b.add(change(b, "2026-04-01", "opener/1", "6", ""))
	two := b.add(change(b, "2026-04-02", "opener/1", "", "+1"))
	st := b.drill("2026-04-10").Settings["depth"]["opener/1"]
	wantList(t, "reason", st.Reason.Entries, one, two)
	wantEqual(t, "rule", st.Reason.Rule, "changed by +1")
	b.add(change(b, "2026-04-03", "opener/1", "9", "+1"))
	p := problems(b.state("2026-04-10"), "relative-mismatch")
	if len(p) != 1 {
		t.Fatal("no mismatch")
	}
	wantEqual(t, "message", p[0].Message, "drill: depth +1 at opener/1 was written down as giving 9; from 7 it gives 8; 9 stands")
}

func TestSettingNotInSchedule(t *testing.T) {
	b := newNotebook(t)
	b.add(&record.Adjust{Work: b.on("2026-04-01"), Changes: []record.Change{{Setting: "slope", Positions: b.at("opener/2"), To: steps("3")}}})
	s := b.state("2026-04-01")
	wantList(t, "problems", codes(s), "unknown-name")
	wantEqual(t, "kept", s.Machine("drill").Settings["slope"]["opener/2"].Value.String(), "3")
}

func TestPlaceTheMachineHasNot(t *testing.T) {
	b := newNotebook(t)
	b.add(change(b, "2026-04-01", "opener/3-6", "6", ""))
	s := b.state("2026-04-01")
	wantList(t, "problems", codes(s), "unknown-position")
	wantEqual(t, "message", s.Problems[0].Message, "drill: adjust entry "+s.Problems[0].Entries[0].Short()+" names opener/5-6, which this machine has not")
	wantEqual(t, "the others hold", s.Machine("drill").Settings["depth"]["opener/4"].Value.String(), "6")
}
