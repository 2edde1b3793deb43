package rules

import (
	"testing"

	"shedbook/rules/record"
)

// depth sets the drill's depth of all openers.
func (b *notebook) depth(done, to string) ID {
	b.t.Helper()
	return b.add(b.depthAt(done, to))
}

func (b *notebook) depthAt(done, to string) *record.Adjust {
	return &record.Adjust{Work: b.on(done), Changes: []record.Change{{Setting: "depth", To: steps(to)}}}
}

func depthOf(s *State) string {
	if st := s.Machine("drill").Settings["depth"]["opener/1"]; st != nil {
		return st.Value.String()
	}
	return ""
}

func TestOrderOfEffect(t *testing.T) {
	for _, c := range []struct {
		name  string
		write func(b *notebook)
		want  string // depth in the end
	}{
		{"day before day, whenever written", func(b *notebook) { b.depth("2026-04-02", "5"); b.depth("2026-04-01", "3") }, "5"},
		{"time before time", func(b *notebook) { b.depth("2026-04-01T16:00", "5"); b.depth("2026-04-01T08:00", "3") }, "5"},
		{"a day without a time ends it", func(b *notebook) { b.depth("2026-04-01", "5"); b.depth("2026-04-01T23:59", "3") }, "5"},
		{"midnight belongs to the new day", func(b *notebook) { b.depth("2026-04-02T00:00", "5"); b.depth("2026-04-01", "3") }, "5"},
		{"else as written", func(b *notebook) { b.depth("2026-04-01", "3"); b.depth("2026-04-01", "5") }, "5"},
		{"of one depth by id", func(b *notebook) {
			b.depth("2026-04-01", "3")
			low := b.last()
			b.depth("2026-04-01", "5")
			b.last().Depth, b.last().ID = low.Depth, "ffffffff00000000000000000000000000000000000000000000000000000000"
		}, "5"},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newNotebook(t)
			c.write(b)
			wantEqual(t, "depth", depthOf(b.state("2026-12-31")), c.want)
		})
	}
}

func TestCorrections(t *testing.T) {
	for _, c := range []struct {
		name  string
		write func(b *notebook)
		want  string // depth on 2026-04-10
		codes []string
	}{
		{"a new value", func(b *notebook) { b.correct(b.depth("2026-04-01", "3"), b.depthAt("2026-04-01", "4")) }, "4", nil},
		// Entered for 5 April it came after the change of the 3rd; really it was done on the 2nd.
		{"a new day sorts anew", func(b *notebook) {
			id := b.depth("2026-04-05", "5")
			b.depth("2026-04-03", "3")
			b.correct(id, b.depthAt("2026-04-02", "5"))
		}, "3", nil},
		{"it keeps its depth", func(b *notebook) { // of two changes on one day the one written later stands, corrected or not
			id := b.depth("2026-04-01", "5")
			b.depth("2026-04-01", "3")
			b.correct(id, b.depthAt("2026-04-01", "6"))
		}, "3", nil},
		{"the last one rules", func(b *notebook) {
			id := b.depth("2026-04-01", "3")
			b.correct(id, b.depthAt("2026-04-01", "4"))
			b.correct(id, b.depthAt("2026-04-01", "5"))
		}, "5", nil},
		{"a strike beats them, also an earlier one", func(b *notebook) {
			b.depth("2026-04-01", "1")
			id := b.depth("2026-04-02", "3")
			b.strike(id)
			b.correct(id, b.depthAt("2026-04-02", "4"))
		}, "1", nil},
		{"taken out of the time asked about", func(b *notebook) {
			b.depth("2026-04-01", "1")
			b.correct(b.depth("2026-04-02", "3"), b.depthAt("2026-05-02", "3"))
		}, "1", nil},
		{"never another machine", func(b *notebook) {
			b.machine("other", "drill", "2024-01-01")
			c := b.depthAt("2026-04-02", "4")
			c.Machine = b.names["other"]
			id := b.depth("2026-04-02", "3")
			b.add(&record.Correct{Machine: b.names["other"], Entry: id, As: "adjust", Record: encode(b.t, c)})
		}, "3", []string{"not-same"}},
		{"never another kind", func(b *notebook) {
			id := b.depth("2026-04-02", "3")
			b.add(&record.Correct{Machine: b.names["drill"], Entry: id, As: "note", Record: encode(b.t, &record.Note{Work: b.on("2026-04-02")})})
		}, "3", []string{"not-same"}},
		{"never a correction", func(b *notebook) {
			id := b.correct(b.depth("2026-04-02", "3"), b.depthAt("2026-04-02", "4"))
			b.add(&record.Correct{Machine: b.names["drill"], Entry: id, As: "adjust", Record: encode(b.t, b.depthAt("2026-04-02", "5"))})
		}, "4", []string{"not-original"}},
		{"a strike is final", func(b *notebook) {
			b.depth("2026-04-01", "1")
			id := b.strike(b.depth("2026-04-02", "3"))
			b.add(&record.Strike{Machine: b.names["drill"], Entry: id})
		}, "1", []string{"not-original"}},
		{"of an entry not held", func(b *notebook) {
			b.depth("2026-04-02", "3")
			b.add(&record.Strike{Machine: b.names["drill"], Entry: "1111111111111111111111111111111111111111111111111111111111111111"})
		}, "3", []string{"unknown-entry"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newNotebook(t)
			c.write(b)
			s := b.state("2026-04-10")
			wantEqual(t, "depth", depthOf(s), c.want)
			wantList(t, "problems", codes(s), c.codes...)
		})
	}
}

func TestCorrectionInEffective(t *testing.T) {
	b := newNotebook(t)
	id := b.depth("2026-04-05", "3")
	one := b.correct(id, b.depthAt("2026-04-02", "4"))
	two := b.correct(id, b.depthAt("2026-04-03", "5"))
	struck := b.depth("2026-04-04", "6")
	strike := b.strike(struck)
	for _, e := range b.state("2026-04-10").Effective {
		switch e.Entry.ID {
		case id:
			wantList(t, "corrected by", e.CorrectedBy, one, two)
			wantEqual(t, "done", e.Done, "2026-04-03")
			wantEqual(t, "record", e.Record.(*record.Adjust).Changes[0].To.String(), "5")
			wantEqual(t, "as it was written", e.Entry.Record.(*record.Adjust).Changes[0].To.String(), "3")
		case struck:
			wantEqual(t, "struck by", e.StruckBy, strike)
		}
	}
}

// On 1 April the depth was set to 3. On 3 April Ada wrote that it had been 4 all the time. On 5 May she found that it had been 5.
// What did we believe then, about 10 April?
func TestKnown(t *testing.T) {
	b := newNotebook(t)
	id := b.depth("2026-04-01", "3")
	b.last().Known = "2026-04-01"
	b.correct(id, b.depthAt("2026-04-01", "4"))
	b.last().Known = "2026-04-03"
	b.correct(id, b.depthAt("2026-04-01", "5"))
	b.last().Known = "2026-05-05"
	for _, c := range []struct{ on, known, want string }{
		{"2026-04-10", "2026-03-31", ""},
		{"2026-04-10", "2026-04-02", "3"},
		{"2026-04-10", "2026-04-30", "4"},
		{"2026-04-10", "2026-05-05", "5"},
		{"2026-04-10", "", "5"},
		{"2026-03-31", "", ""},
	} {
		wantEqual(t, "on "+c.on+" known "+c.known, depthOf(b.known(c.on, c.known)), c.want)
	}
}

// A reading of 1 April typed in on the 20th, and a setting of 8 April: what is so on three days.
func TestLateEntry(t *testing.T) {
	b := newNotebook(t)
	b.reads("2026-03-01", "area at 1000 ac")
	b.reads("2026-04-11", "area at 1410 ac")
	b.depth("2026-04-08", "5")
	b.reads("2026-04-01", "area at 1310 ac")
	b.last().Known = "2026-04-20"
	for _, c := range []struct{ on, known, use string }{
		{"2026-03-31", "", "1000 ac"},           // no reading by then
		{"2026-04-06", "", "1310 ac"},           // the last reading by then
		{"2026-04-11", "", "1410 ac"},           //
		{"2026-04-06", "2026-04-19", "1000 ac"}, // before it was typed in
	} {
		wantQ(t, "life on "+c.on+" known "+c.known, b.known(c.on, c.known).Machine("drill").Counters["area"].Life, c.use)
	}
	got, _ := b.drill("2026-04-11").UseAt("area", "2026-04-06") // 31 days to 1310, then ten days of 10 ac
	wantQ(t, "looked back at", got, "1360 ac")
}

func TestFutureDay(t *testing.T) {
	b := newNotebook(t)
	id := b.depth("2026-04-03", "3")
	b.last().At = "2026-04-01T22:00:00Z"
	b.depth("2026-04-02", "4")
	b.last().At = "2026-04-01T22:00:00Z" // a shed a day ahead of UTC
	s := b.state("2026-04-30")
	wantList(t, "problems", codes(s), "future")
	wantList(t, "entries", s.Problems[0].Entries, id)
	wantEqual(t, "it counts all the same", depthOf(s), "3")
}

func TestSameEntryTwice(t *testing.T) {
	b := newNotebook(t)
	b.reads("2026-04-01", "area at 100 ac")
	b.reads("2026-04-02", "area add 10 ac")
	b.entries = append(b.entries, *b.last())
	s := b.state("2026-04-30")
	wantQ(t, "counted once", s.Machine("drill").Counters["area"].Life, "110 ac")
	wantEqual(t, "listed once", len(s.Effective), len(b.entries)-1)
}
