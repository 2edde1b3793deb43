package rules_test

import (
	"maps"
	"math/big"
	"slices"

	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// readingOf is one reading at one place and hand, with the part it is a size of and the use then: the part's, else the machine's; none where nobody can
// say which part sits there.
type readingOf struct {
	machine record.ID
	name    string
	at      record.Position
	hand    string
	done    record.Done
	entry   record.ID
	value   record.Value // as left, else as found; none: it could not be read
	part    *item
	segment int
	use     map[string]*big.Rat
}

func (w *world) measure(machine record.ID, t told, r *record.Measure) {
	def, ok := w.o.fit(machine).Reading(r.Reading)
	if !ok {
		return
	}
	for _, v := range r.Values {
		value := v.Left
		if value.IsZero() {
			value = v.Found
		}
		w.read(machine, t, def, v.Positions, v.Hand, value)
	}
}

func (w *world) assumedReadings(machine record.ID, t told, r *record.Assume) {
	for _, it := range r.Items {
		if def, ok := w.o.fit(machine).Reading(it.Name); ok {
			w.read(machine, t, def, it.Positions, it.Hand, it.Value)
		}
	}
}

func (w *world) read(machine record.ID, t told, def *schedule.Reading, named record.Positions, hand string, value record.Value) {
	c := &chronicle{o: w.o, machine: machine, f: w.o.fit(machine)}
	for _, p := range c.placesNamed(def.Of, named) {
		for _, h := range c.handsOf(def.Of, def.Handed, hand) {
			r := &readingOf{machine: machine, name: def.Name, at: p, hand: h, done: t.done, entry: t.id, value: value, use: maps.Clone(w.used[machine])}
			if s := w.seat(machine, def.Part, p, h); s != nil && handIn(s.name) == h {
				if r.use = nil; s.holds != nil && !s.disputed {
					r.part, r.segment, r.use = s.holds, s.holds.segment, maps.Clone(s.holds.use)
				}
			}
			w.readings[machine] = append(w.readings[machine], r)
		}
	}
}

// seat is where a part sits at a place: of that hand, or of no hand where it has none.
func (w *world) seat(machine record.ID, part string, p record.Position, hand string) *seatOf {
	for _, s := range w.seats(machine, part, p) {
		if handIn(s.name) == hand || handIn(s.name) == "" {
			return s
		}
	}
	return nil
}

// speaks are the readings with a value that speak of what is at a place now, oldest first: where it is the size of a part, that part's own, wherever they
// were taken, since it was last turned, sharpened or rebuilt; none where nothing sits there.
func (c court) speaks(def *schedule.Reading, p record.Position, hand string) []*readingOf {
	s := c.w.seat(c.machine, def.Part, p, hand)
	if s != nil && s.holds == nil {
		return nil
	}
	var out []*readingOf
	for _, machine := range slices.Sorted(maps.Keys(c.w.readings)) {
		for _, r := range c.w.readings[machine] {
			here := machine == c.machine && r.at == p && r.hand == hand
			if s != nil && (r.part != nil || r.use == nil) {
				here = r.part == s.holds && r.segment == s.holds.segment
			}
			if r.name == def.Name && !r.value.IsZero() && here {
				out = append(out, r)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b *readingOf) int { return c.rank(a.entry) - c.rank(b.entry) })
	return out
}

// pastOf is a place whose last reading is past its limit: since the first of its two hands that is.
type pastOf struct {
	at record.Position
	r  *readingOf
}

// places of a reading that are in use.
func (c court) readAt(def *schedule.Reading) []record.Position {
	if def.Of == "" {
		return []record.Position{{}}
	}
	return slices.DeleteFunc(c.f.All(def.Of).All(), func(p record.Position) bool { return c.w.outOfUse(c.machine, p) })
}

// past are the places past a reading's limit but for those readings that were answered.
func (c court) past(def *schedule.Reading, answered func(*readingOf) bool) []pastOf {
	var out []pastOf
	for _, p := range c.readAt(def) {
		var first *readingOf
		for _, hand := range c.handsAt(p.Noun) {
			list := c.speaks(def, p, hand)
			if len(list) == 0 {
				continue
			}
			r := list[len(list)-1]
			var against schedule.Against
			if len(list) > 1 {
				against.Last = list[len(list)-2].value
			}
			if def.Limit != nil && def.Limit.HasNeighbours {
				against.Median = c.middle(def, p, hand, r.done.Date())
			}
			// the part's value when new is its first reading, where that was taken on the day it was fitted
			if s := c.w.seat(c.machine, def.Part, p, hand); !def.HasNew && s != nil && s.holds != nil && s.holds.in.Date() == list[0].done.Date() {
				against.New = list[0].value
			}
			if past, _ := def.Past(r.value, against); past && !answered(r) && (first == nil || c.rank(r.entry) < c.rank(first.entry)) {
				first = r
			}
		}
		if first != nil {
			out = append(out, pastOf{p, first})
		}
	}
	return out
}

func (c court) handsAt(noun string) []string {
	place, _, ok := c.f.Noun(noun)
	if !ok {
		return []string{""}
	}
	return append([]string{""}, place.Hands...)
}

// middle is the median of the other places' last readings of the same day and hand; of fewer than two there is none.
func (c court) middle(def *schedule.Reading, p record.Position, hand, day string) record.Value {
	var others []*big.Rat
	var unit quantity.Unit
	for _, q := range c.readAt(def) {
		list := c.speaks(def, q, hand)
		if q == p || len(list) == 0 || list[len(list)-1].done.Date() != day {
			continue
		}
		if v, ok := list[len(list)-1].value.Quantity(); ok {
			others, unit = append(others, v.Rat()), v.Unit()
		}
	}
	n := len(others)
	if n < 2 {
		return record.Value{}
	}
	slices.SortFunc(others, func(a, b *big.Rat) int { return a.Cmp(b) })
	mid := others[n/2]
	if n%2 == 0 {
		mid = timesRat(plusRat(others[n/2-1], others[n/2]), big.NewRat(1, 2))
	}
	q, err := quantity.FromRat(mid, unit, 9)
	if err != nil {
		panic(err)
	}
	return record.Amount(q)
}

// byLimit: due from the day of the reading past its limit; a doing of the job later in the order of effect answers it, a measurement alone does not. With
// k places past the limit among any so many in a row (among all) every place is due.
func (c court) byLimit(job *schedule.Job, p record.Position, t *schedule.Trigger) []ruling {
	def, ok := c.f.Reading(t.Past)
	if !ok {
		return nil
	}
	all := c.past(def, func(r *readingOf) bool {
		return slices.ContainsFunc(c.at(job.Name, p), func(d doing) bool {
			return !d.skipped && d.via != "measure" && d.outcome != "fail" && c.rank(d.entry) > c.rank(r.entry)
		})
	})
	k, of := t.K, t.Of
	if k == 0 && def.Limit != nil {
		k, of = def.Limit.K, def.Limit.Of
	}
	whole := k > 1 && c.crowded(def, all, k, of)
	var first *readingOf
	for _, b := range all {
		if !whole && def.Of != "" && def.Of == p.Noun && b.at != p {
			continue
		}
		if first == nil || c.rank(b.r.entry) < c.rank(first.entry) {
			first = b.r
		}
	}
	if first == nil {
		return nil
	}
	return []ruling{c.onDate(t, first.done.Day(), 1, rules.ByLimit)}
}

// crowded reports k places past their limit within any run of so many places in use; of 0: of all.
func (c court) crowded(def *schedule.Reading, all []pastOf, k, of int) bool {
	row := c.readAt(def)
	if of == 0 {
		of = len(row)
	}
	for i := range row {
		n := 0
		for _, p := range row[i:min(len(row), i+of)] {
			if slices.ContainsFunc(all, func(b pastOf) bool { return b.at == p }) {
				n++
			}
		}
		if n >= k {
			return true
		}
	}
	return false
}

// gradedSo: the last readings there, else the machine's, all have one of the grades; of each hand; with fewer of them than asked for it does not hold.
func (c court) gradedSo(o schedule.Only, p record.Position) bool {
	n, seen := max(1, o.Last), false
	for _, hand := range c.handsAt(p.Noun) {
		list := c.taken(o.Reading, p, hand)
		if len(list) == 0 {
			list = c.taken(o.Reading, record.Position{}, hand)
		}
		if len(list) == 0 {
			continue
		}
		seen = true
		if len(list) < n || slices.ContainsFunc(list[len(list)-n:], func(r *readingOf) bool { return !slices.Contains(o.Is, r.value.String()) }) {
			return false
		}
	}
	return seen
}

func (c court) taken(name string, p record.Position, hand string) []*readingOf {
	return slices.DeleteFunc(slices.Clone(c.w.readings[c.machine]), func(r *readingOf) bool {
		return r.name != name || r.at != p || r.hand != hand || r.value.IsZero()
	})
}

// faultsOpen are the faults nobody has put right by the day, with the temporary repairs left out.
func (o *oracle) faultsOpen(machine record.ID) []told {
	var out []told
	for _, t := range o.about(machine) {
		if _, ok := t.rec.(*record.Fault); ok && !slices.ContainsFunc(o.about(machine), func(by told) bool { return o.closes(by, t.id) }) {
			out = append(out, t)
		}
	}
	return out
}

func (c court) isUnfit() bool {
	return slices.ContainsFunc(c.faultsOpen(c.machine), func(t told) bool { return t.rec.(*record.Fault).Unfit })
}

// swapped lists what a swap means to jobs: part by part what was put in, taken out or turned; and the jobs that putting it in, or turning it, does.
func (c *chronicle) swapped(t told, r *record.Swap) {
	parts := []string{r.Part}
	if a, ok := c.f.Assembly(r.Part); ok {
		parts = append(parts, a.Parts...)
	}
	kind := "turn:"
	switch r.Act {
	case record.SwapNew, record.SwapIn, record.SwapExchange:
		kind = "swap:"
	case record.SwapOut:
		kind = "out:"
	}
	for _, p := range parts {
		c.event(t, kind+p, r.Positions.Union(r.With))
	}
	if r.Act == record.SwapExchange { // nothing new, but opened all the same
		for k := range c.f.Jobs {
			job := &c.f.Jobs[k]
			about := job.Swaps
			if a, ok := c.f.Assembly(about); ok {
				about = ""
				if len(a.Parts) == 1 {
					about = a.Parts[0]
				}
			}
			var at []record.Position
			for _, s := range c.w.seatsFor(c.machine, r.Part, r.Positions.Union(r.With), r.Hand) {
				if s.part == about && about != "" {
					at = append(at, s.serves...)
				}
			}
			if len(at) > 0 {
				c.followed(t, job, at)
			}
		}
	}
	if kind != "turn:" && r.Act != record.SwapNew && r.Act != record.SwapIn {
		return
	}
	seats := c.w.seatsFor(c.machine, r.Part, r.Positions, r.Hand)
	for k := range c.f.Jobs {
		job := &c.f.Jobs[k]
		about := job.Swaps
		if kind == "turn:" {
			about = job.Turns
		}
		if about == "" {
			continue
		}
		wanted := []string{about}
		if a, ok := c.f.Assembly(about); ok {
			wanted = a.Parts
		}
		noun := c.w.nounOf(c.f, wanted[0])
		var at, opened []record.Position
		for i, s := range seats {
			if r.Act == record.SwapIn && i >= len(r.Parts) || !slices.Contains(wanted, s.part) {
				continue
			}
			for _, p := range s.serves {
				need := 0
				for _, part := range wanted {
					def, _ := c.f.Part(part)
					need += len(c.handsOf(def.Of, def.Handed, ""))
				}
				if c.tick(job.Name, p, t.done.Date(), s.part+" "+handIn(s.name), need) {
					at = append(at, p)
				} else if len(wanted) == 1 {
					opened = append(opened, p)
				}
			}
		}
		// a new part in one hand of two is not yet the whole job there, but what it loosens and asks for follows all the same
		opened = slices.DeleteFunc(opened, func(p record.Position) bool { return slices.Contains(at, p) })
		if len(opened) > 0 {
			c.followed(t, job, opened)
		}
		c.through(t, job, noun, at, "swap")
	}
}
