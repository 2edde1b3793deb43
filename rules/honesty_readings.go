package rules

import (
	"cmp"
	"math/big"
	"slices"
	"strings"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// measured is one entry's readings of one thing, place by place.
type measured struct {
	entry  ID
	done   record.Done
	values map[string]string // slot -> value as found
	fresh  int               // of parts that had not worked yet
}

// readings looks for measurements too smooth to be true: many places alike, and one set that repeats another. Words are no sizes ("ok" everywhere is what one
// hopes for), what a person set is not what he found, and new parts are alike: all three are left out.
func (h *Honesty) readings(st *State, m *Machine) {
	for _, name := range names(m.Readings, m.Readings) {
		sets := setsOf(m, name)
		same := map[string]*measured{} // what a set reads -> the first that read so
		var before *measured
		for _, s := range sets {
			h.alike(name, s)
			key := s.key()
			first := same[key]
			switch {
			case first != nil:
				h.repeated(m, name, first, s, len(s.values))
			case before != nil:
				same[key] = s
				if n, all := inCommon(before, s); all && n >= AlikePlaces {
					h.repeated(m, name, before, s, n)
				}
			default:
				same[key] = s
			}
			before = s
		}
	}
	slices.SortStableFunc(h.Alike, func(a, b AlikeSet) int { return cmp.Or(a.Done.Compare(b.Done), cmp.Compare(a.Reading, b.Reading)) })
	slices.SortStableFunc(h.Repeated, func(a, b RepeatedSet) int {
		return cmp.Or(a.LaterDone.Compare(b.LaterDone), cmp.Compare(a.Reading, b.Reading))
	})
}

// setsOf are the measurements of one thing of at least AlikePlaces places, in order of effect.
func setsOf(m *Machine, name string) []*measured {
	by := map[ID]*measured{}
	var out []*measured
	for _, slot := range names(m.Readings[name], m.Readings[name]) {
		for _, r := range m.Readings[name][slot] {
			if _, ok := r.Found.Quantity(); !ok || r.Computed || r.Assumed {
				continue
			}
			s := by[r.Entry]
			if s == nil {
				s = &measured{entry: r.Entry, done: r.Done, values: map[string]string{}}
				by[r.Entry] = s
				out = append(out, s)
			}
			if isFresh(r) {
				s.fresh++
				continue
			}
			s.values[slot] = r.Found.String()
		}
	}
	out = slices.DeleteFunc(out, func(s *measured) bool { return len(s.values) < AlikePlaces })
	slices.SortFunc(out, func(a, b *measured) int { return cmp.Or(a.done.Compare(b.done), cmp.Compare(a.entry, b.entry)) })
	return out
}

// isFresh reports a reading of a part that has not worked since it was fitted, turned, sharpened or rebuilt.
func isFresh(r *Reading) bool {
	if r.SegmentUse == nil {
		return false
	}
	for _, q := range r.SegmentUse {
		if q.Sign() != 0 {
			return false
		}
	}
	return true
}

// key is all that a set reads.
func (s *measured) key() string {
	var b strings.Builder
	for _, slot := range names(s.values, s.values) {
		b.WriteString(slot + "=" + s.values[slot] + ";")
	}
	return b.String()
}

// common is the value that most places read, the least of several by its text, and how many do.
func (s *measured) common() (string, int) {
	count := map[string]int{}
	for _, v := range s.values {
		count[v]++
	}
	value, n := "", 0
	for _, v := range names(count, count) {
		if count[v] > n {
			value, n = v, count[v]
		}
	}
	return value, n
}

func (h *Honesty) alike(reading string, s *measured) {
	value, n := s.common()
	if float64(n) < alikeShare*float64(len(s.values)) {
		return
	}
	v, err := record.ParseValue(value)
	if err != nil {
		return
	}
	h.Alike = append(h.Alike, AlikeSet{Reading: reading, Done: s.done, Value: v, Places: len(s.values), Same: n, Entry: s.entry})
}

// inCommon counts the places that two sets share, and reports whether all of these read the same.
func inCommon(a, b *measured) (n int, all bool) {
	for slot, v := range b.values {
		if w, ok := a.values[slot]; ok {
			if v != w {
				return 0, false
			}
			n++
		}
	}
	return n, true
}

func (h *Honesty) repeated(m *Machine, reading string, a, b *measured, places int) {
	r := RepeatedSet{Reading: reading, Places: places, Earlier: a.entry, EarlierDone: a.done, Later: b.entry, LaterDone: b.done}
	_, x := a.common()
	_, y := b.common()
	r.Constant = x == len(a.values) && y == len(b.values)
	if m.Fitted != nil {
		if def := m.Fitted.MainCounter(); def != nil && m.Counters[def.Name] != nil && m.Counters[def.Name].Known {
			r.Counter = def.Name
			r.WorkedBetween = m.Counters[def.Name].moved(string(a.done), string(b.done))
			if r.WorkedBetween.Sign() == 0 {
				return // nothing was worked, so nothing should have changed
			}
		}
	}
	h.Repeated = append(h.Repeated, r)
}

// exact finds services done exactly on the count. Only what was read on the occasion counts: a count that was estimated says nothing.
func (h *Honesty) exact(m *Machine, work []*Effective) {
	if m.Fitted == nil {
		return
	}
	before := map[string]quantity.Quantity{} // job and counter -> the face at the last service
	for _, e := range work {
		did, ok := e.Record.(*record.Did)
		if !ok {
			continue
		}
		job, ok := m.Fitted.Job(did.Job)
		if !ok {
			continue
		}
		read := map[string]quantity.Quantity{}
		for _, c := range did.Counters {
			read[c.Counter] = c.At
		}
		counted, found := false, false
		for _, iv := range counterIntervals(job) {
			c := m.Counters[iv.Counter]
			at, ok := read[iv.Counter]
			if c == nil || !ok {
				continue
			}
			counted = true
			amount, face := onCounter(c, iv.Amount), onCounter(c, at)
			key := job.Name + " " + iv.Counter
			last, again := before[key]
			grid := isMultiple(face, amount) && (len(c.Points) == 0 || face.Rat().Cmp(c.Points[0].Face.Rat()) != 0) // what it showed when the book began nobody chose
			if !found && (grid || again && minus(face, last).Rat().Cmp(amount.Rat()) == 0) {
				found = true
				h.Exact = append(h.Exact, ExactService{Job: job.Name, Done: e.Done, Counter: iv.Counter, At: at, Interval: amount, Grid: grid, Entry: e.Entry.ID})
			}
		}
		for counter, at := range read {
			if c := m.Counters[counter]; c != nil {
				before[job.Name+" "+counter] = onCounter(c, at)
			}
		}
		if counted {
			h.Services++
		}
	}
}

// counterIntervals are the intervals of use at which a job is due from time to time.
func counterIntervals(job *schedule.Job) []schedule.Interval {
	var out []schedule.Interval
	for i := range job.When {
		for _, iv := range job.When[i].Every {
			if !iv.Calendar() && iv.Amount.Sign() > 0 {
				out = append(out, iv)
			}
		}
	}
	return out
}

func isMultiple(q, of quantity.Quantity) bool {
	return of.Sign() > 0 && q.Sign() > 0 && new(big.Rat).Quo(q.Rat(), of.Rat()).IsInt()
}
