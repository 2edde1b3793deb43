package rules

import (
	"fmt"
	"math/big"
	"strings"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// handAt is one of the like things in a place: "" where there is but one.
type handAt struct {
	at   record.Position
	hand string
}

// measure keeps readings, each with the part it is a size of and that part's use then.
func (r *replay) measure(u *unit, e *Effective, m *record.Measure) {
	def, noun := (*schedule.Reading)(nil), ""
	if u.f != nil {
		if d, ok := u.f.Reading(m.Reading); ok {
			def, noun = d, d.Of
		} else {
			r.once(u, "unknown-name", e.Entry.ID, "%s has no reading %q in its schedule", u.m.Name, m.Reading)
		}
	}
	var read places
	var hands []handAt
	for _, v := range m.Values {
		if def == nil {
			noun = nounOf(v.Positions)
		}
		for _, p := range r.places(u, e, noun, v.Positions) {
			for _, hand := range u.readingHands(def, v.Hand) {
				n := r.reading(u, e, def, p, hand)
				n.Found, n.Left, n.Cannot, n.Condition, n.With = v.Found, v.Left, v.Cannot, m.Condition, m.With
				u.keep(m.Reading, u.slotName(p, hand), n)
				if v.Cannot == "" {
					hands = append(hands, handAt{p, hand})
				}
			}
			if v.Cannot == "" {
				read = append(read, p)
			}
		}
	}
	if len(read) > 0 { // of what could not be read nothing follows
		r.event(u, e, "measure:"+m.Reading, read.positions())
	}
	if def != nil {
		r.tallyReading(u, e, def, hands)
		for _, p := range read {
			r.compute(u, e, def, p)
		}
	}
}

// readingHands are the hands a value is about: the one named, all where the reading is handed and none is named, one without a name else.
func (u *unit) readingHands(def *schedule.Reading, hand string) []string {
	switch {
	case def == nil || hand != "" && def.Handed:
		return []string{hand}
	}
	return u.hands(def.Of, def.Handed)
}

// reading is a reading at a place without its value: which part it is a size of, and the use then.
func (r *replay) reading(u *unit, e *Effective, def *schedule.Reading, p record.Position, hand string) *Reading {
	n := &Reading{Done: e.Done, Person: by(e), Entry: e.Entry.ID, Use: u.at(e).recorded}
	if def == nil || def.Part == "" {
		return n
	}
	d, ok := u.f.Part(def.Part)
	if !ok {
		return n
	}
	name := u.slotName(seat(d, p), hand)
	s := u.slots[def.Part][name]
	switch {
	case s == nil: // of both hands together, where each has a part of its own: it goes with the machine's use
	case s.disputed:
		n.Use = nil
	case s.holds == nil:
		n.Use = nil
		r.problem("reading-empty", u.m.ID, unique(append(s.entries[:len(s.entries):len(s.entries)], e.Entry.ID)), "%s: %s is read at %s, and no %s sits there", u.m.Name, def.Name, name, def.Part)
	default:
		n.Part, n.Segment = s.holds.ID, s.holds.Segment
		n.Use, n.SegmentUse = s.holds.useAt(e)
		s.holds.read = append(s.holds.read, n)
	}
	return n
}

func (u *unit) keep(reading, slot string, n *Reading) {
	if u.m.Readings[reading] == nil {
		u.m.Readings[reading] = map[string][]*Reading{}
	}
	u.m.Readings[reading][slot] = append(u.m.Readings[reading][slot], n)
}

// compute works out the readings that rest on the one just taken at a place, once all they rest on have been read there on that day. Of a reading
// found and left the value left counts.
func (r *replay) compute(u *unit, e *Effective, from *schedule.Reading, p record.Position) {
	for i := range u.f.Readings {
		def := &u.f.Readings[i]
		if def.Computed == nil || def.Of != from.Of || !def.Computed.RestsOn(from.Name) {
			continue
		}
		values, all := u.terms(e, def.Computed.From, p)
		by, also := u.terms(e, def.Computed.By, p)
		if !all || !also {
			continue
		}
		v, err := computed(def, values, by)
		if err != nil {
			r.once(u, "computed", e.Entry.ID, "%s: %s cannot be worked out: %v", u.m.Name, def.Name, err)
			continue
		}
		n := r.reading(u, e, def, p, "")
		n.Found, n.Computed = record.Amount(v), true
		slot := u.name(p)
		if old := u.m.Readings[def.Name][slot]; len(old) > 0 && old[len(old)-1].Entry == e.Entry.ID {
			old[len(old)-1] = n // both hands came in this entry
			continue
		}
		u.keep(def.Name, slot, n)
		if !def.Handed {
			r.compute(u, e, def, p)
		}
	}
}

// terms are the amounts of what a reading is worked out from; false where one of them is not known.
func (u *unit) terms(e *Effective, names []string, p record.Position) ([]quantity.Quantity, bool) {
	var values []quantity.Quantity
	for _, name := range names {
		q, ok := schedule.Fixed(name)
		if !ok {
			base, hand, _ := strings.Cut(name, "/")
			if q, ok = u.latest(e, base, p, hand); !ok {
				return nil, false
			}
		}
		values = append(values, q)
	}
	return values, true
}

// latest is the value of a reading taken at a place on the entry's day, or what a setting in force there is worth.
func (u *unit) latest(e *Effective, name string, p record.Position, hand string) (quantity.Quantity, bool) {
	if def, ok := u.f.Setting(name); ok {
		place := p
		if def.Of == "" {
			place = record.Position{}
		}
		st := u.m.Settings[name][u.name(place)]
		if st == nil || st.Unknown {
			return quantity.Quantity{}, false
		}
		if q, ok := def.Worth(st.Value); ok {
			return q, true
		}
		return st.Value.Quantity()
	}
	list := u.m.Readings[name][u.slotName(p, hand)]
	if len(list) == 0 || list[len(list)-1].Done.Date() != e.Done.Date() {
		return quantity.Quantity{}, false
	}
	v := list[len(list)-1].Left
	if v.IsZero() {
		v = list[len(list)-1].Found
	}
	return v.Quantity()
}

// computed is the difference (first less second), smaller, larger or sum of the values, the ratio of the first to the second, or their product over that
// of by, in the reading's unit.
func computed(def *schedule.Reading, values, by []quantity.Quantity) (quantity.Quantity, error) {
	if def.Computed.How == "product" {
		return quantity.Product(values, by, def.Unit, 4)
	}
	sum := values[0]
	for _, v := range values[1:] {
		var err error
		switch def.Computed.How {
		case "difference", "sum":
			if v, err = v.In(sum.Unit(), 6); err != nil {
				return sum, err
			}
			if def.Computed.How == "sum" {
				sum, err = sum.Add(v)
			} else {
				sum, err = sum.Sub(v)
			}
		case "smaller", "larger":
			var n int
			if n, err = v.Cmp(sum); err == nil && (n < 0) == (def.Computed.How == "smaller") && n != 0 {
				sum = v
			}
		case "ratio":
			return ratioOf(sum, v, def.Unit)
		}
		if err != nil {
			return sum, err
		}
	}
	if def.Unit == (quantity.Unit{}) || sum.Unit() == def.Unit {
		return sum, nil
	}
	return sum.In(def.Unit, 6)
}

// ratioOf is a/b as a plain number or in per cent.
func ratioOf(a, b quantity.Quantity, u quantity.Unit) (quantity.Quantity, error) {
	b, err := b.In(a.Unit(), 6)
	if err != nil {
		return b, err
	}
	if b.Sign() == 0 {
		return b, fmt.Errorf("%s / %s has no value", a, b)
	}
	x := new(big.Rat).Quo(a.Rat(), b.Rat())
	if u.Dimension() != quantity.Ratio {
		return quantity.FromRat(x, u, 4)
	}
	percent, err := quantity.FromRat(x.Mul(x, big.NewRat(100, 1)), quantity.MustUnit("%"), 4)
	if err != nil {
		return percent, err
	}
	return percent.In(u, 4)
}
