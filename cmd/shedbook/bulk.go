package main

import (
	"slices"
	"sort"
	"strings"

	"shedbook/cmd/shedbook/internal/phone"
	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// bulk makes many lines of one run cheap. A line typed in the shed has the machine's whole history replayed for its day. Most lines ask nothing of that but what
// the machine is, what its counters showed, and whether the very same was said already: these are looked up here, and brought forward with each entry
// signed. Whatever asks more is replayed as in the shed. A test holds that both come to the same.
type bulk struct {
	w       *writing
	person  record.ID // whose device writes
	turns   []string  // days on which a machine may become another: sorted
	states  map[turnKey]*rules.State
	tallies map[rules.ID]*tally
}

type turnKey struct {
	machine string
	turn    int
}

// tally is what was said of one machine, over all days up to today.
type tally struct {
	counters map[string]*rules.Counter
	said     map[string]string // who, when and what: the short id
}

func newBulk(w *writing) *bulk {
	b := &bulk{w: w, person: w.person(), states: map[turnKey]*rules.State{}, tallies: map[rules.ID]*tally{}}
	for _, e := range w.counting() {
		if slices.Contains(lonely, e.Kind()) {
			continue
		}
		r, err := record.Decode(e.Kind(), e.Record())
		if err != nil {
			continue // whatever rests on it is refused by the replay
		}
		if x, ok := r.(*record.Correct); ok {
			if r, err = x.Decoded(); err != nil {
				continue
			}
		}
		if d, ok := record.DoneOf(r); ok {
			b.turns = append(b.turns, d.Date())
		}
		switch x := r.(type) {
		case *record.Schedule:
			b.turns = append(b.turns, x.From)
		case *record.Override:
			b.turns = append(b.turns, x.From)
		}
	}
	slices.Sort(b.turns)
	b.turns = slices.Compact(b.turns)
	return b
}

// state is what is known of a machine on a day but for its history: what it is.
func (b *bulk) state(machine string, day string) (*rules.State, error) {
	key := turnKey{strings.ToLower(machine), sort.SearchStrings(b.turns, day+"~")} // how many turns lie on or before the day
	if st := b.states[key]; st != nil {
		return st, nil
	}
	st, err := b.w.stateFor(machine, rules.Options{On: day})
	if err == nil {
		b.states[key] = st
	}
	return st, err
}

// plain reports a line that asks nothing of the history but what a tally holds.
func (b *bulk) plain(a phone.Act, done record.Done) bool {
	if done.Date() > b.w.c.today() || slices.ContainsFunc(a.Flags, func(f string) bool { return strings.HasPrefix(f, "--closes") || strings.HasPrefix(f, "--warranty") }) {
		return false
	}
	value := strings.TrimSpace(a.Value)
	switch a.Kind {
	case "counter":
		return value != "reset" && value != "replaced" && len(a.Flags) > 0 && !slices.ContainsFunc(a.Flags, func(f string) bool {
			return f == "--trip" || f == "--lifetime" || strings.HasPrefix(f, "--last") || strings.HasPrefix(f, "--start")
		})
	case "adjust":
		return value != "" && !strings.HasPrefix(value, "+") && !strings.HasPrefix(value, "-") && !strings.HasPrefix(a.What, "setup") && !slices.Contains(a.Places, "rest")
	case "measure", "did", "note", "fault":
		return true
	}
	return false
}

// begin is a line of which no words are read yet: by the tally where that is enough.
func (b *bulk) begin(v *verb, s *said, a phone.Act) (*line, error) {
	done, err := s.when(b.w.c.env)
	if err != nil {
		return nil, err
	}
	if !b.plain(a, done) {
		return b.w.begin(v, s, a.Machine)
	}
	l := &line{c: b.w.c, w: b.w, s: s, v: v, done: done, bulk: b}
	if l.st, err = b.state(a.Machine, done.Date()); err != nil {
		return nil, err
	}
	l.m, err = findMachine(l.st, strings.ToLower(a.Machine))
	return l, err
}

// of is the tally of a machine, made from its replay where there is none.
func (b *bulk) of(m *rules.Machine) *tally {
	if t := b.tallies[m.ID]; t != nil {
		return t
	}
	t := &tally{counters: map[string]*rules.Counter{}, said: map[string]string{}}
	if st, err := b.w.stateOf(m.ID, rules.Options{On: b.w.c.today()}); err == nil {
		if now := st.MachineByID(m.ID); now != nil {
			for name, c := range now.Counters {
				own := *c
				own.Points = slices.Clone(c.Points)
				t.counters[name] = &own
			}
		}
		for _, e := range st.Effective {
			if e.Ignored != "" || e.StruckBy != "" || e.Record == nil || record.MachineOf(e.Record) != m.ID {
				continue
			}
			done, _ := record.DoneOf(e.Record)
			t.said[sameKey(e.Entry.Person, e.Entry.Kind, done, asText(e.Record, e.Private))] = e.Entry.ID.Short()
		}
	}
	b.tallies[m.ID] = t
	return t
}

func sameKey(person record.ID, kind string, done record.Done, text string) string {
	return string(person) + " " + kind + " " + string(done) + "\n" + text
}

// counter is one with those of its readings that a reading on the line's day is held against: the last before it and what follows.
func (b *bulk) counter(l *line, name string) *rules.Counter {
	c := b.of(l.m).counters[name]
	if c == nil || c.Derived {
		return c
	}
	near := *c
	after := sort.Search(len(c.Points), func(i int) bool { return c.Points[i].Done.Compare(l.done) > 0 })
	near.Points = c.Points[max(0, after-1):]
	return &near
}

// doubled is line.doubled by the tally.
func (b *bulk) doubled(l *line, r record.Record, text string) {
	l.same = sameKey(b.person, r.Kind(), l.done, text)
	if id := b.of(l.m).said[l.same]; id != "" {
		l.doubt("doubled", "the very same is recorded already, %s [%s]", weekday(l.done), id)
	}
}

// follow brings the tallies forward after an entry was signed. unsure: the replay may take what it says of a counter
// otherwise.
func (b *bulk) follow(l *line, r record.Record, id string, unsure bool) {
	if l.bulk == nil {
		clear(b.tallies) // it may have moved parts between machines
		return
	}
	if unsure {
		delete(b.tallies, l.m.ID)
		return
	}
	t := b.tallies[l.m.ID]
	if t == nil {
		return
	}
	t.said[l.same] = id
	for _, x := range record.Base(r).Counters {
		t.read(l, x.Counter, x.At, false)
	}
	if c, ok := r.(*record.Counter); ok {
		for _, a := range c.Acts {
			t.read(l, a.Counter, a.Value, a.Act == "add")
		}
	}
}

// read puts what a counter showed, or had added, into its place among its readings.
func (t *tally) read(l *line, name string, q quantity.Quantity, add bool) {
	c := t.counters[name]
	if c == nil || c.Derived { // one that is read is worked out no more
		def, ok := l.m.Fitted.Counter(name)
		if !ok {
			return
		}
		c = &rules.Counter{Name: name, Unit: def.Unit}
		t.counters[name] = c
	}
	at := sort.Search(len(c.Points), func(i int) bool { return c.Points[i].Done.Compare(l.done) > 0 })
	before := quantity.Whole(0, c.Unit)
	if at > 0 {
		before = c.Points[at-1].Face
	}
	p := rules.CounterPoint{Done: l.done, Face: q, Act: "at"}
	if add {
		p.Act = "add"
		if sum, err := before.Add(q); err == nil {
			p.Face = sum
		}
	}
	c.Points = slices.Insert(c.Points, at, p)
	was, now := before, p.Face
	for i := at + 1; i < len(c.Points) && c.Points[i].Act == "add"; i++ { // what was added after it was added to it
		more, err := c.Points[i].Face.Sub(was)
		if err != nil {
			return
		}
		was = c.Points[i].Face
		if sum, err := now.Add(more); err == nil {
			c.Points[i].Face, now = sum, sum
		}
	}
}
