package rules_test

import (
	"math/big"
	"slices"
	"strings"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// item is one part; its use grows, from one entry to the next, by what its machine's counters moved while it sat in a place that works.
type item struct {
	id, kind, hand string
	in             record.Done
	use, segUse    map[string]*big.Rat
	segment        int
	assumed        bool
	disputed       bool
	at             *seatOf
}

// seatOf is a place for a part.
type seatOf struct {
	machine  record.ID
	part     string
	name     string
	serves   []record.Position
	holds    *item
	since    record.Done
	entry    record.ID
	disputed bool
}

// world is all parts of all machines after some entries.
type world struct {
	o         *oracle
	items     map[string]*item
	seatsBy   map[record.ID][]*seatOf // in walking order, left hand first
	used      map[record.ID]map[string]*big.Rat
	curves    map[record.ID]map[string][]mark
	tied      map[record.ID][]tie
	readings  map[record.ID][]*readingOf
	contested bool // two entries contradict one another about a part
}

// tie is a fault that takes places (none: the machine) out of use until it is closed.
type tie struct {
	fault record.ID
	at    record.Positions
}

// world goes through all entries in order.
func (o *oracle) world() *world {
	w := &world{o: o, items: map[string]*item{}, seatsBy: map[record.ID][]*seatOf{}, used: map[record.ID]map[string]*big.Rat{},
		curves: map[record.ID]map[string][]mark{}, tied: map[record.ID][]tie{}, readings: map[record.ID][]*readingOf{}}
	for _, t := range o.told {
		if _, ok := t.rec.(*record.Machine); ok {
			w.machine(t.id)
		}
	}
	for _, t := range o.told {
		if s, ok := t.rec.(*record.Season); ok && s.Act != "plan" {
			for m := range w.curves {
				if _, mine := o.concerns(m, t, s); mine {
					w.grow(m, t.done, t.id)
				}
			}
		}
		m := machineNamed(t.rec)
		if w.curves[m] == nil {
			continue
		}
		w.grow(m, t.done, t.id)
		w.closings(m, t)
		switch r := t.rec.(type) {
		case *record.Swap:
			w.swap(m, t, r)
		case *record.Fault:
			if r.TiedUp && !w.closedBefore(m, t.id) {
				w.tied[m] = append(w.tied[m], tie{t.id, r.Positions})
			}
		case *record.Assume:
			w.assume(m, r)
			w.assumedReadings(m, t, r)
		case *record.Measure:
			w.measure(m, t, r)
		}
	}
	for m := range w.curves {
		w.grow(m, o.now(), "")
	}
	return w
}

// machine gives a machine its original parts: what sat there when the record began.
func (w *world) machine(id record.ID) {
	f := w.o.fit(id)
	w.curves[id], w.used[id] = map[string][]mark{}, map[string]*big.Rat{}
	for _, def := range f.Counters {
		w.curves[id][def.Name] = w.o.curve(id, def.Name)
	}
	for i := range f.Parts {
		def := &f.Parts[i]
		at := []record.Position{{}}
		if def.Of != "" {
			at = f.All(def.Of).All()
		}
		for _, p := range at {
			if def.Per > 1 && (p.Number-1)%def.Per != 0 {
				continue
			}
			hands := []string{""}
			if place, _, ok := f.Noun(def.Of); ok && def.Handed && len(place.Hands) > 0 {
				hands = place.Hands
			}
			for _, h := range hands {
				s := &seatOf{machine: id, part: def.Name, name: strings.TrimSuffix(p.String()+" "+h, " "), serves: []record.Position{p}}
				for n := 1; n < def.Per; n++ {
					if q := (record.Position{Noun: p.Noun, Number: p.Number + n}); f.All(def.Of).Has(q) {
						s.serves = append(s.serves, q)
					}
				}
				s.holds = w.newItem("original/"+string(id)+"/"+def.Name+"/"+s.name, def.Name, h)
				s.holds.at = s
				w.seatsBy[id] = append(w.seatsBy[id], s)
			}
		}
	}
}

func (w *world) newItem(id, kind, hand string) *item {
	it := &item{id: id, kind: kind, hand: hand, segment: 1, use: map[string]*big.Rat{}, segUse: map[string]*big.Rat{}}
	w.items[id] = it
	return it
}

// grow books what a machine's counters moved since the entry before: its own reading at an entry, else the straight line between readings, level before
// the first and after the last.
func (w *world) grow(machine record.ID, at record.Done, entry record.ID) {
	for name, curve := range w.curves[machine] {
		if len(curve) == 0 {
			continue
		}
		before, now := w.used[machine][name], w.o.recordedAt(machine, curve, at)
		if m := ownMark(curve, entry); m != nil && entry != "" {
			now = m.life
		}
		if before == nil {
			before = curve[0].life
		}
		if now.Cmp(before) < 0 {
			now = before
		}
		w.used[machine][name] = now
		for _, s := range w.seatsBy[machine] {
			if s.holds == nil || !w.runs(s) {
				continue
			}
			s.holds.use[name] = plusRat(or0(s.holds.use[name]), minusRat(now, before))
			s.holds.segUse[name] = plusRat(or0(s.holds.segUse[name]), minusRat(now, before))
		}
	}
}

func or0(r *big.Rat) *big.Rat {
	if r == nil {
		return new(big.Rat)
	}
	return r
}

// runs reports a seat that gathers use: the machine works, and any of the places it serves does.
func (w *world) runs(s *seatOf) bool {
	return !s.disputed && !w.outOfUse(s.machine, record.Position{}) &&
		slices.ContainsFunc(s.serves, func(p record.Position) bool { return !w.outOfUse(s.machine, p) })
}

// outOfUse reports a place that is tied up, or that lacks one of its parts; the machine (the zero place) as a whole is only ever tied up.
func (w *world) outOfUse(machine record.ID, p record.Position) bool {
	for _, t := range w.tied[machine] {
		if p.Noun == "" && t.at.IsZero() || p.Noun != "" && t.at.Has(p) {
			return true
		}
	}
	return p.Noun != "" && slices.ContainsFunc(w.seatsBy[machine], func(s *seatOf) bool { return s.holds == nil && slices.Contains(s.serves, p) })
}

// closings ends the ties of the faults an entry puts right; a temporary repair keeps them.
func (w *world) closings(machine record.ID, t told) {
	if r, ok := t.rec.(*record.Repair); ok && r.Temporary {
		return
	}
	base := t.rec.(interface{ Base() *record.Work }).Base()
	w.tied[machine] = slices.DeleteFunc(w.tied[machine], func(tie tie) bool { return slices.Contains(base.Closes, tie.fault) })
}

// closedBefore reports a fault that work before it (its day was written wrong, mostly) has put right already.
func (w *world) closedBefore(machine, fault record.ID) bool {
	for _, t := range w.o.about(machine) {
		if t.id == fault {
			return false
		}
		if w.o.closes(t, fault) {
			return true
		}
	}
	return false
}

func (o *oracle) closes(t told, fault record.ID) bool {
	b, ok := t.rec.(interface{ Base() *record.Work })
	r, repair := t.rec.(*record.Repair)
	return ok && slices.Contains(b.Base().Closes, fault) && !(repair && r.Temporary)
}

// seatsFor are the seats of a part, or of an assembly's parts, at some places: place by place, left hand first.
func (w *world) seatsFor(machine record.ID, thing string, at record.Positions, hand string) []*seatOf {
	f := w.o.fit(machine)
	parts := []string{thing}
	if a, ok := f.Assembly(thing); ok {
		parts = a.Parts
		if a.Whole {
			at = record.Positions{}
		}
	}
	var out []*seatOf
	for _, p := range f.All(w.nounOf(f, parts[0])).All() {
		if !at.IsZero() && !at.Has(p) {
			continue
		}
		for _, part := range parts {
			for _, s := range w.seats(machine, part, p) {
				if (hand == "" || strings.HasSuffix(s.name, " "+hand)) && !slices.Contains(out, s) {
					out = append(out, s)
				}
			}
		}
	}
	if w.nounOf(f, parts[0]) == "" {
		for _, part := range parts {
			out = append(out, w.seats(machine, part, record.Position{})...)
		}
	}
	return out
}

func (w *world) nounOf(f *schedule.Fitted, part string) string {
	def, _ := f.Part(part)
	return def.Of
}

// seats are those of one part that serve a place.
func (w *world) seats(machine record.ID, part string, p record.Position) []*seatOf {
	return slices.DeleteFunc(slices.Clone(w.seatsBy[machine]), func(s *seatOf) bool { return s.part != part || !slices.Contains(s.serves, p) })
}

// swap moves parts.
func (w *world) swap(machine record.ID, t told, r *record.Swap) {
	seats := w.seatsFor(machine, r.Part, r.Positions, r.Hand)
	switch r.Act {
	case record.SwapNew:
		for _, s := range seats {
			w.take(s)
			id := string(t.id) + "/" + s.name
			if s.part != r.Part {
				id += "/" + s.part
			}
			it := w.newItem(id, s.part, handIn(s.name))
			if !r.Used.IsZero() {
				w.claim(machine, it, r.Used)
			}
			w.put(s, it, t)
		}
	case record.SwapOut:
		for _, s := range seats {
			if s.holds == nil {
				w.contested = true
				continue
			}
			w.take(s)
			s.since, s.entry = t.done, t.id
		}
	case record.SwapIn:
		for i, s := range seats {
			if i >= len(r.Parts) {
				break
			}
			it := w.items[r.Parts[i]]
			if it == nil {
				w.contested = true
				it = w.newItem(r.Parts[i], s.part, handIn(s.name))
			}
			if it.at != nil {
				w.contested = true
				return
			}
			w.take(s)
			w.put(s, it, t)
		}
	case record.SwapExchange:
		with := w.seatsFor(machine, r.Part, r.With, r.Hand)
		for i, a := range seats {
			if i >= len(with) || a == with[i] {
				w.contested = true
				return
			}
			b := with[i]
			p, q := a.holds, b.holds
			if p == nil && q == nil {
				continue
			}
			w.take(a)
			w.take(b)
			w.put(b, p, t)
			w.put(a, q, t)
		}
	case record.SwapTurned, record.SwapSharpened, record.SwapRebuilt:
		for _, s := range seats {
			if s.holds != nil {
				s.holds.segment++
				s.holds.segUse = map[string]*big.Rat{}
			}
		}
	}
}

func handIn(slot string) string {
	_, hand, _ := strings.Cut(slot, " ")
	return hand
}

func (w *world) take(s *seatOf) {
	if s.holds != nil {
		s.holds.at = nil
	}
	s.holds = nil
}

func (w *world) put(s *seatOf, it *item, t told) {
	s.holds, s.since, s.entry = it, t.done, t.id
	if it != nil {
		it.at = s
		if it.in == "" && !strings.HasPrefix(it.id, "original/") {
			it.in = t.done
		}
	}
}

// claim takes a part's use as somebody said it, on the machine's counter of that kind, the main one first.
func (w *world) claim(machine record.ID, it *item, used quantity.Quantity) {
	f := w.o.fit(machine)
	counters := []schedule.Counter{*f.MainCounter()}
	for _, c := range append(counters, f.Counters...) {
		if used.Unit().Converts(c.Unit) {
			w.claimedThen(it, c.Name, in(used, c.Unit))
			it.use[c.Name], it.segUse[c.Name] = in(used, c.Unit), in(used, c.Unit)
			it.assumed = true
			return
		}
	}
}

// claimedThen: at a reading before the claim the part had worked what is claimed, less what it worked since; never less than nothing.
func (w *world) claimedThen(it *item, counter string, claimed *big.Rat) {
	for _, all := range w.readings {
		for _, r := range all {
			if r.part != it || r.use[counter] == nil {
				continue
			}
			then := minusRat(claimed, minusRat(it.use[counter], r.use[counter]))
			if then.Sign() < 0 {
				then = ratInt(0)
			}
			r.use[counter] = then
		}
	}
}

// assume: taken as good, every part's use is taken as given; a part named is worn or used as said.
func (w *world) assume(machine record.ID, r *record.Assume) {
	for _, s := range w.seatsBy[machine] {
		if s.holds != nil && r.Good {
			s.holds.assumed = true
		}
	}
	for _, it := range r.Items {
		def, ok := w.o.fit(machine).Part(it.Name)
		if !ok {
			continue
		}
		for _, s := range w.seatsFor(machine, it.Name, it.Positions, it.Hand) {
			if s.holds == nil {
				continue
			}
			if there := strings.Split(s.holds.id, "/"); it.Positions.IsZero() && def.Of != "" && (there[0] != "original" || there[1] != string(machine)) {
				continue // places left out: those whose part was there from the beginning
			}
			s.holds.assumed = true
			if !it.Used.IsZero() {
				w.claim(machine, s.holds, it.Used)
			}
		}
	}
}
