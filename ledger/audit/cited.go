package audit

import (
	"math/bits"
	"time"

	"shedbook/ledger"
)

// Cited says how soon, and by how many, an entry was cited by devices of other
// people than its own writer's: their signed entries name it, or name one that
// comes after it in its log, or one that itself cites it so.
//
// A device cites what it held when it wrote. So whoever would date an entry back
// afterwards, or leave it out, needs the keys of those who cite it too; against
// people who share their keys it proves nothing. The time is by the citing
// device's clock, which proves as little as any other.
type Cited struct {
	Entry  *ledger.Entry
	People int           // other people whose devices cite it
	First  *ledger.Entry // of theirs, the one earliest by its own clock; nil where nobody cites it
	After  time.Duration // from the writing of Entry to that of First, by the two clocks, never below 0
}

// witness is the earliest entry of a person that rests on another one.
type witness struct {
	by     *ledger.Entry
	person ledger.ID
}

// witnesses are who rests on an entry: the earliest of all, the earliest of
// anybody else, and everyone as a set of numbers.
type witnesses struct {
	first, other witness
	people       [(ledger.MaxWriters + 63) / 64]uint64
}

// Cited works out of the entries labelled for the machine, in their order, who
// cites them. Entries that do not count are left out, as cited and as citing.
func (ev *Evidence) Cited() []Cited {
	c := newCheck(ev.Book, Options{})
	number := map[ledger.ID]int{}
	for _, d := range c.judged.Devices() {
		if _, known := number[d.Person]; !known && !d.Person.IsZero() && len(number) < ledger.MaxWriters {
			number[d.Person] = len(number)
		}
	}
	all := make([]witnesses, len(c.entries))
	for i := len(c.entries) - 1; i >= 0; i-- { // what cites an entry comes after it
		e := c.entries[i]
		on := all[i]
		if n, known := number[c.devices[e.Writer()].Person]; known && c.status[i] == ledger.Counts {
			on.add(witness{e, c.devices[e.Writer()].Person})
			on.people[n/64] |= 1 << (n % 64)
		}
		if j := c.prev[i]; j >= 0 {
			all[j].join(&on)
		}
		for _, ref := range e.Seen() {
			if j, held := c.at[ref.ID]; held {
				all[j].join(&on)
			}
		}
	}
	var out []Cited
	for i, e := range c.entries {
		if c.status[i] != ledger.Counts || !e.HasBody() || !e.TagMatches(ev.Key) {
			continue
		}
		own := c.devices[e.Writer()].Person
		x := Cited{Entry: e}
		w := &all[i]
		if x.First = w.first.by; w.first.person == own {
			x.First = w.other.by
		}
		if x.First != nil {
			x.After = max(0, x.First.At().Sub(e.At()))
		}
		if n, known := number[own]; known {
			w.people[n/64] &^= 1 << (n % 64)
		}
		for _, p := range w.people {
			x.People += bits.OnesCount64(p)
		}
		out = append(out, x)
	}
	return out
}

// add takes one more entry that rests on it.
func (w *witnesses) add(x witness) {
	switch {
	case x.by == nil:
	case w.first.by == nil || x.before(w.first):
		if w.first.person != x.person {
			w.other = w.first
		}
		w.first = x
	case x.person != w.first.person && (w.other.by == nil || x.before(w.other)):
		w.other = x
	}
}

func (w *witnesses) join(o *witnesses) {
	w.add(o.first)
	w.add(o.other)
	for i := range w.people {
		w.people[i] |= o.people[i]
	}
}

// before orders witnesses by their clocks, then as entries go.
func (w witness) before(o witness) bool {
	if a, b := w.by.At(), o.by.At(); !a.Equal(b) {
		return a.Before(b)
	}
	return w.by.Compare(o.by) < 0
}
