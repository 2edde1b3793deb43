package rules

import (
	"errors"
	"math/rand/v2"
	"testing"
	"time"

	"shedbook/ledger"
	"shedbook/rules/record"
)

// pen signs entries of one device with a fixed source of randomness.
type pen struct {
	t      testing.TB
	key    *ledger.Key
	random *rand.ChaCha8
	next   ledger.Position
}

func newPen(t testing.TB) *pen {
	t.Helper()
	random := rand.NewChaCha8([32]byte{7})
	key, err := ledger.NewKey(random)
	if err != nil {
		t.Fatal(err)
	}
	book := ledger.ID{1}
	return &pen{t: t, key: key, random: random, next: ledger.Position{Book: book, Seq: 2, Prev: ledger.ID{2}, Depth: 2}}
}

func (p *pen) sign(class ledger.Class, kind string, rec, private any, machine *ledger.MachineKey) *ledger.Entry {
	p.t.Helper()
	e, err := ledger.Sign(ledger.Draft{Class: class, Kind: kind, Record: rec, Private: private, Machine: machine, At: time.Date(2026, 4, 1, 9, 30, 0, 0, time.UTC)}, p.next, p.key, p.random)
	if err != nil {
		p.t.Fatal(err)
	}
	p.next.Seq, p.next.Prev, p.next.Depth, p.next.PrevAt = p.next.Seq+1, e.ID(), e.Depth()+1, e.At()
	return e
}

func (p *pen) machineKey() *ledger.MachineKey {
	p.t.Helper()
	k, err := ledger.NewMachineKey(p.random)
	if err != nil {
		p.t.Fatal(err)
	}
	return &k
}

func keyText(t testing.TB, k *ledger.MachineKey) string {
	t.Helper()
	b, err := k.MarshalText()
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func TestAdapt(t *testing.T) {
	p := newPen(t)
	key, other := p.machineKey(), p.machineKey()
	note := &record.Note{Work: record.Work{Machine: ID(ledger.ID{9}.String()), Done: "2026-03-31"}}
	e := p.sign(ledger.Work, "note", note, &record.Private{Text: "windy"}, key)
	got := Adapt(e, string(bo), false, "2026-04-02")
	if got.Err != nil || got.PrivateErr != nil {
		t.Fatal(got.Err, got.PrivateErr)
	}
	wantEqual(t, "id", string(got.ID), e.ID().String())
	wantEqual(t, "writer", got.Writer, e.Writer().String())
	wantEqual(t, "person", got.Person, bo)
	wantEqual(t, "owner", got.Owner, false)
	wantEqual(t, "seq", got.Seq, 2)
	wantEqual(t, "depth", got.Depth, 2)
	wantEqual(t, "at", got.At, "2026-04-01T09:30:00Z")
	wantEqual(t, "known", got.Known, "2026-04-02")
	wantEqual(t, "kind", got.Kind, "note")
	wantEqual(t, "done", got.Record.(*record.Note).Done, "2026-03-31")
	wantEqual(t, "text", got.Private.Text, "windy")
	wantEqual(t, "its own key", got.MachineTag(keyText(t, key)), true)
	wantEqual(t, "another key", got.MachineTag(keyText(t, other)), false)
	wantEqual(t, "no key", got.MachineTag("drill"), false)
}

func TestAdaptNotDecoded(t *testing.T) {
	p := newPen(t)
	key := p.machineKey()
	machine := ledger.ID{9}.String()
	note := map[string]any{"machine": machine, "done": "2026-03-31"}
	var newer *record.NewerError
	for _, c := range []struct {
		name    string
		entry   *ledger.Entry
		newer   bool
		message string
	}{
		{"a kind not known", p.sign(ledger.Work, "weld", note, nil, key), true, `entry of kind "weld": newer shedbook needed`},
		{"a member not known", p.sign(ledger.Work, "note", map[string]any{"machine": machine, "done": "2026-03-31", "mood": "good"}, nil, key), true, `note entry with "mood": newer shedbook needed`},
		{"an impossible day", p.sign(ledger.Work, "note", map[string]any{"machine": machine, "done": "2026-02-31"}, nil, key), false, `note entry: "2026-02-31" is no date: write 2026-04-01 or 2026-04-01T16:05`},
		{"work without a label", p.sign(ledger.Shared, "note", note, nil, nil), false, "note entry written as a shared entry"},
		{"a farm labelled as a machine's", p.sign(ledger.Work, "farm", map[string]any{"name": "Hollow"}, nil, key), false, "farm entry written as a work entry"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := Adapt(c.entry, string(ada), true, "2026-04-02")
			if got.Err == nil || got.Record != nil {
				t.Fatalf("record %v, err %v", got.Record, got.Err)
			}
			wantEqual(t, "newer", errors.As(got.Err, &newer), c.newer)
			wantEqual(t, "message", got.Err.Error(), c.message)
		})
	}
}

func TestAdaptPrivateNotDecoded(t *testing.T) {
	p := newPen(t)
	note := &record.Note{Work: record.Work{Machine: ID(ledger.ID{9}.String()), Done: "2026-03-31"}}
	got := Adapt(p.sign(ledger.Work, "note", note, map[string]any{"text": "windy", "mood": "good"}, p.machineKey()), string(ada), true, "2026-04-02")
	if got.Err != nil || got.Record == nil || got.Private != nil {
		t.Fatalf("record %v private %v err %v", got.Record, got.Private, got.Err)
	}
	if got.PrivateErr == nil || got.PrivateErr.Error() != `private entry with "mood": newer shedbook needed` {
		t.Errorf("private: %v", got.PrivateErr)
	}
}

// From signed lines to a machine and back: an entry labelled for another machine than it names has no effect.
func TestReplayOfSignedEntries(t *testing.T) {
	p := newPen(t)
	key, other := p.machineKey(), p.machineKey()
	var entries []Entry
	add := func(class ledger.Class, rec record.Record, key *ledger.MachineKey) ID {
		e := Adapt(p.sign(class, rec.Kind(), rec, nil, key), string(ada), true, "2026-04-01")
		if e.Err != nil {
			t.Fatal(e.Err)
		}
		entries = append(entries, e)
		return e.ID
	}
	farm := add(ledger.Shared, &record.Farm{Name: "Hollow"}, nil)
	yard := add(ledger.Shared, &record.Yard{Name: "home", Farm: farm}, nil)
	add(ledger.Shared, &record.Schedule{Name: "tractor", Text: tractorText}, nil)
	machine := add(ledger.Work, &record.Machine{Work: record.Work{Done: "2026-01-01"}, Key: keyText(t, key), Name: "tractor", Schedule: "tractor", Yard: yard}, key)
	read := func(done, at string, key *ledger.MachineKey) ID {
		return add(ledger.Work, &record.Counter{Work: record.Work{Machine: machine, Done: record.Done(done)}, Acts: []record.CounterAct{{Counter: "hours", Act: "at", Value: quantityOf(at)}}}, key)
	}
	read("2026-03-01", "900 h", key)
	hidden := read("2026-03-02", "950 h", other)
	s, err := Replay(entries, Options{On: "2026-04-01"})
	if err != nil {
		t.Fatal(err)
	}
	wantQ(t, "hours", s.Machine("tractor").Counters["hours"].Life, "900 h")
	wantList(t, "problems", codes(s), "tag-mismatch")
	wantList(t, "entries", s.Problems[0].Entries, hidden)
}
