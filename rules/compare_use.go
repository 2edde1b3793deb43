package rules

import (
	"slices"
	"sort"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// compareUse is what each counter moved during the stretches, by all readings known: the one after a season bounds what it took. It cites the readings that bound
// each stretch, and tells no more decimals than those have.
func compareUse(a, b Side) []Change {
	var j joiner
	for _, name := range names(a.Machine.Counters, b.Machine.Counters) {
		from, to := a.moved(name), b.moved(name)
		if from.Use != to.Use {
			j.add(name, record.Position{}, Change{What: "counter", Name: name, From: from, To: to})
		}
	}
	return j.changes()
}

// moved is what a counter moved during the stretch: since its first reading where that came later than the first day. Of a day it is all use so far.
func (s Side) moved(name string) (f Found) {
	m := s.later().MachineByID(s.Machine.ID)
	if m == nil {
		return f
	}
	c := m.Counters[name]
	if c == nil || !c.Known || c.Trip {
		return f
	}
	end := m.lifeAt(c, record.Done(s.To))
	if !end.ok() {
		return f
	}
	start := c.Points[0].Done
	f.Use, f.Entries, f.WorkedOut = end.life, few(append([]ID{c.Points[0].Entry}, end.readings...)), c.WorkedOut
	if s.From != "" {
		start = record.Done(dayBefore(s.From))
		begin := m.lifeAt(c, start)
		f.Use, f.Entries = minus(end.life, begin.life), few(slices.Concat(begin.readings, end.readings))
	}
	f.Use = roundTo(f.Use, c.marks(start, record.Done(s.To)))
	return f
}

// lifeKnown is all use of a counter at a moment, and the readings that tell it.
type lifeKnown struct {
	life     quantity.Quantity
	readings []ID
	before   bool // the counter's first reading came later: life is what that says
}

func (l lifeKnown) ok() bool { return len(l.readings) > 0 && !l.before }

// lifeAt is UseAt with the readings it rests on: the one of that moment, the ones before and after it, or after the last one that and the one from which the recent
// rate is reckoned.
func (m *Machine) lifeAt(c *Counter, d record.Done) lifeKnown {
	n := len(c.Points)
	if n == 0 {
		return lifeKnown{}
	}
	if d.Compare(c.Points[0].Done) < 0 {
		return lifeKnown{life: c.Points[0].Life, readings: []ID{c.Points[0].Entry}, before: true}
	}
	life, beyond, _ := m.use(c, d)
	i := c.after(d)
	out := lifeKnown{life: life, readings: []ID{c.Points[i-1].Entry}}
	switch {
	case beyond:
		_, from, _, _ := m.rate(c)
		if k := c.after(moment2done(from)); k > 0 {
			out.readings = unique([]ID{c.Points[k-1].Entry, c.Points[i-1].Entry})
		}
	case i < n && c.Points[i-1].Done.Compare(d) != 0:
		out.readings = unique(append(out.readings, c.Points[i].Entry))
	}
	return out
}

// after is the index of the first reading after a moment.
func (c *Counter) after(d record.Done) int {
	return sort.Search(len(c.Points), func(i int) bool { return c.Points[i].Done.Compare(d) > 0 })
}

// readBy is what an entry's own reading came to; nil where it has none.
func (c *Counter) readBy(entry ID) *CounterPoint {
	for i := range slices.Backward(c.Points) {
		if c.Points[i].Entry == entry {
			return &c.Points[i]
		}
	}
	return nil
}

// marks is how many decimals the readings have that tell a stretch; of what is worked out from another counter, that one's.
func (c *Counter) marks(from, to record.Done) int {
	if c.source != nil {
		return c.source.marks(from, to)
	}
	first, last := max(0, c.after(from)-1), min(len(c.Points), c.after(to)+1)
	n := 0
	for _, p := range c.Points[min(first, last):last] {
		n = max(n, decimals(p.Face))
	}
	return n
}

// roundTo leaves an amount so many decimals; more, where nothing else would be left of it.
func roundTo(q quantity.Quantity, places int) quantity.Quantity {
	for ; places < decimals(q); places++ {
		if r, err := q.In(q.Unit(), places); err == nil && r.Sign() != 0 {
			return r
		}
	}
	return q
}

// workCounter is the counter by which a machine's work is told: the schedule's main one, else the first that was read, else the first that is worked out. nil where
// none is known.
func (m *Machine) workCounter() *Counter {
	var best *Counter
	rank := func(c *Counter, main bool) int {
		switch {
		case c.Derived:
			return 1
		case !main:
			return 2
		}
		return 3
	}
	have := 0
	take := func(name string, main bool) {
		if c := m.Counters[name]; c != nil && c.Known && !c.Trip && len(c.Points) > 0 && rank(c, main) > have {
			best, have = c, rank(c, main)
		}
	}
	if m.Fitted == nil {
		for _, name := range names(m.Counters, m.Counters) {
			take(name, false)
		}
		return best
	}
	for _, def := range m.Fitted.Counters {
		take(def.Name, def.Main)
	}
	return best
}
