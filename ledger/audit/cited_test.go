package audit

import (
	"bytes"
	"testing"
	"time"

	"shedbook/ledger"
)

func citedOf(t *testing.T, f *family) (map[ledger.ID]Cited, *Evidence) {
	t.Helper()
	ev, err := ReadEvidence(bytes.NewReader(evidenceOf(t, f.fay.book, f.drill, EvidenceOptions{})))
	if err != nil {
		t.Fatal(err)
	}
	out := map[ledger.ID]Cited{}
	for _, x := range ev.Cited() {
		out[x.Entry.ID()] = x
	}
	return out, ev
}

// Ned greases the drill twice. His other device takes that in and writes: that is no other person. Then Fay writes about the baler, which cites both
// of his, of which the second only by the first one's log; what Ned writes after that nobody has cited.
func TestCited(t *testing.T) {
	f := newFamily(t)
	one := f.ned.did(f.drill)
	same := f.ned.copy()
	two := f.ned.did(f.drill)
	same.pull(f.ned)
	f.fay.pull(f.ned)
	f.now = f.now.Add(time.Hour)
	fay := f.fay.did(f.baler)
	f.ned.pull(f.fay)
	late := f.ned.did(f.drill)
	f.fay.book = f.fay.load(f.ned.logs())
	got, _ := citedOf(t, f)
	for _, x := range []struct {
		name   string
		e      *ledger.Entry
		people int
		first  *ledger.Entry
	}{{"first", one, 1, fay}, {"second", two, 1, fay}, {"last", late, 0, nil}} {
		c, held := got[x.e.ID()]
		switch {
		case !held || c.People != x.people || (c.First == nil) != (x.first == nil):
			t.Errorf("%s: cited by %d people, %v", x.name, c.People, c.First != nil)
		case x.first != nil && (c.First.ID() != x.first.ID() || c.After != x.first.At().Sub(x.e.At())):
			t.Errorf("%s: first by %s after %s", x.name, c.First.ID().Short(), c.After)
		}
	}
}

// Whatever the book: the first to cite an entry, and how many do, are those found by walking back from every entry of somebody else.
func TestCitedByWalking(t *testing.T) {
	f := newFamily(t)
	sal := f.join("Sal", f.fay)
	f.fay.pull(sal)
	f.fay.admit(sal, ledger.RoleWorker)
	for i := range 30 {
		d := []*device{f.fay, f.ned, sal}[i%3]
		if i%4 != 1 {
			d.pull(f.fay, f.ned, sal)
		}
		d.skew = time.Duration(i%5) * time.Hour
		if i%2 == 0 {
			d.did(f.drill)
		} else {
			d.did(f.baler)
		}
	}
	f.fay.pull(f.ned, sal)
	got, ev := citedOf(t, f)
	person := map[ledger.Writer]ledger.ID{}
	for _, d := range ev.Book.Judge().Devices() {
		person[d.Writer] = d.Person
	}
	past := func(e *ledger.Entry) map[ledger.ID]bool {
		seen := map[ledger.ID]bool{}
		todo := []*ledger.Entry{e}
		for len(todo) > 0 {
			x := todo[0]
			todo = todo[1:]
			for _, id := range append([]ledger.ID{x.Prev()}, ids(x.Seen())...) {
				if y := ev.Book.Entry(id); y != nil && !seen[id] {
					seen[id] = true
					todo = append(todo, y)
				}
			}
		}
		return seen
	}
	first, people := map[ledger.ID]*ledger.Entry{}, map[ledger.ID]map[ledger.ID]bool{}
	for _, e := range ev.Book.Entries() {
		who := person[e.Writer()]
		if who.IsZero() {
			continue
		}
		for id := range past(e) {
			if about := ev.Book.Entry(id); person[about.Writer()] != who {
				if people[id] == nil {
					people[id] = map[ledger.ID]bool{}
				}
				people[id][who] = true
				if first[id] == nil || e.At().Before(first[id].At()) {
					first[id] = e
				}
			}
		}
	}
	if len(got) < 10 {
		t.Fatalf("%d entries", len(got))
	}
	nobody := 0
	for id, c := range got {
		if (c.First == nil) != (first[id] == nil) || c.People != len(people[id]) || c.First != nil && !c.First.At().Equal(first[id].At()) {
			t.Errorf("entry %s: %d people, %v; by walking %d, %v", id.Short(), c.People, c.First, len(people[id]), first[id])
		}
		if c.First == nil {
			nobody++
		}
	}
	if nobody == 0 || nobody == len(got) {
		t.Errorf("%d of %d are cited by nobody: the test sees one case only", nobody, len(got))
	}
}

func ids(refs []ledger.Ref) (out []ledger.ID) {
	for _, r := range refs {
		out = append(out, r.ID)
	}
	return out
}
