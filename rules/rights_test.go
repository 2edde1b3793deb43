package rules

import (
	"errors"
	"testing"

	"shedbook/rules/record"
)

func TestOwnersOnly(t *testing.T) {
	b := newNotebook(t)
	for _, rec := range []record.Record{
		&record.Farm{Name: "Ridge"},
		&record.Yard{Name: "far", Farm: b.farm},
		&record.Schedule{Name: "drill", Text: tractorText},
		&record.Machine{Work: record.Work{Done: "2026-04-01"}, Name: "other", Schedule: "drill", Yard: b.yards["home"], Key: testKey("other")},
		&record.Shelf{Work: record.Work{Done: "2026-04-01"}, Yard: b.yards["home"], Key: testKey("shelf")},
		&record.Override{Work: b.on("2026-04-01"), Path: "setting.depth.max", Value: "14", Page: "page 4"},
		&record.Lend{Work: b.on("2026-04-01"), Act: "lent"},
		&record.Sell{Work: b.on("2026-04-01")},
	} {
		t.Run(rec.Kind(), func(t *testing.T) {
			c := &notebook{t: t, entries: b.entries[:len(b.entries):len(b.entries)], names: b.names, yards: b.yards}
			before := encode(t, view(c.state("2026-05-01")))
			id := c.worker(rec)
			s := c.state("2026-05-01")
			wantList(t, "problems", codes(s), "no-right")
			wantList(t, "entries", s.Problems[0].Entries, id)
			s.Problems = nil
			if after := encode(t, view(s)); string(after) != string(before) {
				t.Errorf("it changed something:\n%s\n%s", before, after)
			}
		})
	}
}

func TestWorkersRecord(t *testing.T) {
	b := newNotebook(t)
	b.worker(b.depthAt("2026-04-01", "3"))
	b.worker(&record.Season{Act: "open", Name: "spring 2026", Work: "seeding", Done: "2026-04-01"})
	b.worker(&record.Move{Work: b.on("2026-04-02"), Yard: b.yards["creek"]})
	b.worker(&record.Store{Work: b.on("2026-04-03"), Act: "in"})
	s := b.state("2026-05-01")
	wantList(t, "problems", codes(s))
	wantEqual(t, "depth", depthOf(s), "3")
	wantEqual(t, "season", s.Season("spring 2026").Opened, "2026-04-01")
	wantEqual(t, "yard", s.Machine("drill").Yard, b.yards["creek"])
	wantEqual(t, "stored", s.Machine("drill").Stored, true)
}

func TestRightsToCorrect(t *testing.T) {
	b := newNotebook(t)
	for _, c := range []struct {
		name    string
		writer  func(rec record.Record) ID
		correct func(id ID, rec record.Record)
		want    string
		codes   []string
	}{
		{"a worker their own", b.worker, func(id ID, rec record.Record) { b.correctAs(bo, false, id, rec) }, "4", nil},
		{"an owner a worker's", b.worker, func(id ID, rec record.Record) { b.correctAs(ada, true, id, rec) }, "4", nil},
		{"a worker an owner's", b.add, func(id ID, rec record.Record) { b.correctAs(bo, false, id, rec) }, "3", []string{"no-right"}},
		{"a worker their person's, written on an owner's device", func(rec record.Record) ID { return b.write(bo, true, rec, nil) },
			func(id ID, rec record.Record) { b.correctAs(bo, false, id, rec) }, "4", nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			keep := len(b.entries)
			defer func() { b.entries = b.entries[:keep] }()
			c.correct(c.writer(b.depthAt("2026-04-01", "3")), b.depthAt("2026-04-01", "4"))
			s := b.state("2026-05-01")
			wantEqual(t, "depth", depthOf(s), c.want)
			wantList(t, "problems", codes(s), c.codes...)
		})
	}
}

// What only an owner may write, a worker may not correct either, though the same person wrote it on another device.
func TestWorkerMayNotCorrectOwnersKinds(t *testing.T) {
	b := newNotebook(t)
	id := b.write(bo, true, &record.Farm{Name: "Ridge"}, nil)
	b.correctAs(bo, false, id, &record.Farm{Name: "Dale"})
	s := b.state("2026-05-01")
	wantList(t, "problems", codes(s), "no-right")
	if s.Farm("Ridge") == nil {
		t.Error("the farm was renamed")
	}
}

func TestIdentityIsNeverCorrected(t *testing.T) {
	b := newNotebook(t)
	id := b.names["drill"]
	rec := *b.entry(id).Record.(*record.Machine)
	for _, c := range []struct {
		name string
		edit func(m *record.Machine)
		code []string
		want string
	}{
		{"name", func(m *record.Machine) { m.Name = "seeder" }, nil, "seeder"},
		{"key", func(m *record.Machine) { m.Key, m.Name = testKey("another"), "seeder" }, []string{"not-same"}, "drill"},
		{"kind", func(m *record.Machine) { m.Schedule, m.Name = "cart", "seeder" }, []string{"not-same"}, "drill"},
	} {
		t.Run(c.name, func(t *testing.T) {
			keep := len(b.entries)
			defer func() { b.entries = b.entries[:keep] }()
			m := rec
			c.edit(&m)
			b.correct(id, &m)
			s := b.state("2026-05-01")
			wantList(t, "problems", codes(s), c.code...)
			wantEqual(t, "name", s.MachineByID(id).Name, c.want)
		})
	}
}

func TestTags(t *testing.T) {
	b := newNotebook(t)
	var asked []string
	b.depth("2026-04-01", "3")
	b.last().MachineTag = func(key string) bool { asked = append(asked, key); return key == testKey("drill") }
	wrong := b.depth("2026-04-02", "5")
	b.last().MachineTag = func(key string) bool { return key == testKey("other") }
	s := b.state("2026-05-01")
	wantEqual(t, "depth", depthOf(s), "3")
	wantList(t, "asked for", asked, testKey("drill"))
	wantList(t, "problems", codes(s), "tag-mismatch")
	wantList(t, "entries", s.Problems[0].Entries, wrong)
}

func TestTagOfAddingEntry(t *testing.T) {
	b := newNotebook(t)
	b.machine("other", "drill", "2026-01-01")
	b.last().MachineTag = func(key string) bool { return false }
	w := b.of("other", "2026-04-01")
	b.add(&record.Note{Work: w})
	s := b.state("2026-05-01")
	wantList(t, "problems", codes(s), "tag-mismatch", "unknown-machine")
	if s.Machine("other") != nil {
		t.Error("the machine was added")
	}
}

func TestTagOfCorrection(t *testing.T) {
	b := newNotebook(t)
	b.correct(b.depth("2026-04-01", "3"), b.depthAt("2026-04-01", "4"))
	b.last().MachineTag = func(string) bool { return false }
	s := b.state("2026-05-01")
	wantEqual(t, "depth", depthOf(s), "3")
	wantList(t, "problems", codes(s), "tag-mismatch")
}

func TestUnknownMachine(t *testing.T) {
	b := newNotebook(t)
	w := b.on("2026-04-01")
	w.Machine = "1111111111111111111111111111111111111111111111111111111111111111"
	b.add(&record.Note{Work: w})
	wantList(t, "problems", codes(b.state("2026-05-01")), "unknown-machine")
}

func TestStruckMachine(t *testing.T) {
	b := newNotebook(t)
	b.machine("other", "drill", "2026-01-01")
	b.add(&record.Note{Work: b.of("other", "2026-04-01")})
	b.strike(b.names["other"])
	s := b.state("2026-05-01")
	wantList(t, "problems", codes(s), "unknown-machine")
	if s.Machine("other") != nil {
		t.Error("it is still there")
	}
}

func TestNewer(t *testing.T) {
	b := newNotebook(t)
	b.machine("other", "drill", "2026-01-01")
	id := b.depth("2026-04-01", "3")
	e := b.last()
	e.Record, e.Kind, e.Err = nil, "weld", &record.NewerError{Kind: "weld", What: "kind"}
	e.MachineTag = func(key string) bool { return key == testKey("drill") }
	s := b.state("2026-05-01")
	wantEqual(t, "drill newer", s.Machine("drill").Newer, true)
	wantEqual(t, "other newer", s.Machine("other").Newer, false)
	p := problems(s, "newer")
	if len(p) != 1 {
		t.Fatalf("problems %v", codes(s))
	}
	wantList(t, "entries", p[0].Entries, id)
	wantEqual(t, "message", p[0].Message, `drill cannot be judged: entry of kind "weld": newer shedbook needed`)
}

func TestNewerShared(t *testing.T) {
	b := newNotebook(t)
	b.add(&record.Farm{Name: "Ridge"})
	e := b.last()
	e.Record, e.Err = nil, &record.NewerError{Kind: "farm", What: "country"}
	s := b.state("2026-05-01")
	wantList(t, "problems", codes(s), "newer")
	wantEqual(t, "drill newer", s.Machine("drill").Newer, false)
}

func TestUnreadable(t *testing.T) {
	b := newNotebook(t)
	b.depth("2026-04-01", "3")
	e := b.last()
	e.Record, e.Err = nil, errors.New("adjust entry: changes: nothing is set")
	s := b.state("2026-05-01")
	wantList(t, "problems", codes(s), "unreadable")
	wantEqual(t, "drill newer", s.Machine("drill").Newer, false)
}

func TestShelfAndScheduleKeepTheirIdentity(t *testing.T) {
	b := newNotebook(t)
	shelf := b.shelf()
	rec := *b.entry(shelf).Record.(*record.Shelf)
	rec.Key = testKey("another")
	b.correct(shelf, &rec)
	text := b.add(&record.Schedule{Name: "tractor", Text: tractorText})
	b.correct(text, &record.Schedule{Name: "cart", Text: loaderText})
	s := b.state("2026-05-01")
	wantList(t, "problems", codes(s), "not-same", "not-same")
	wantEqual(t, "key", s.Shelf(shelf).Key, testKey("shelf"))
	rec.Key, rec.Yard = testKey("shelf"), b.yards["creek"]
	b.correct(shelf, &rec)
	wantEqual(t, "its yard may be corrected", b.state("2026-05-01").Shelf(shelf).Yard, b.yards["creek"])
}

// What this version cannot read it cannot correct either.
func TestCorrectionOfTheNewer(t *testing.T) {
	b := newNotebook(t)
	id := b.depth("2026-04-01", "3")
	b.correct(id, b.depthAt("2026-04-01", "4"))
	e := b.entry(id)
	e.Record, e.Err, e.MachineTag = nil, &record.NewerError{Kind: "adjust", What: "mood"}, func(key string) bool { return key == testKey("drill") }
	s := b.state("2026-05-01")
	wantList(t, "problems", codes(s), "newer", "newer")
	wantEqual(t, "nothing was set", depthOf(s), "")
}
