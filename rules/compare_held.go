package rules

import (
	"math/big"
	"slices"
	"strings"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// Held is a value at which a setting stood for a part of a stretch of days.
type Held struct {
	Value    record.Value      // zero: not known
	From, To record.Done       // of the first, the first day of the stretch; of the last, its last day
	Use      quantity.Quantity // what the machine's counter moved meanwhile; in days ("d") where it cannot tell
	Entries  []ID              // that the value rests on
	Readings []ID              // of the counter, that the use rests on; none where Use is in days
}

// spell is a Held before its bounds are known: it lasts until the next one begins.
type spell struct {
	*Standing // nil: not known
	from      record.Done
}

// aDay is the unit of time for which settings stood where no counter tells.
var aDay = quantity.MustUnit("d")

// heldAt is a setting of one place as its season knew it: Value is the one that stood for most of the use, and where it was changed meanwhile Held tells all
// of them, and Last what stood at the end. Of a day, which has no beginning, it is what stood then.
func (s Side) heldAt(st *Standing, by authors) Found {
	if st == nil {
		return Found{}
	}
	held, derived := s.held(st)
	if len(held) < 2 {
		if st.Unknown {
			return Found{}
		}
		return Found{Value: st.Value, Since: st.Since, Person: by.of(st.Reason.Entries), Entries: few(st.Reason.Entries)}
	}
	f := Found{Value: most(held), Held: held, Last: held[len(held)-1].Value, Since: st.Since, Person: by.of(st.Reason.Entries), WorkedOut: derived}
	for _, h := range held {
		f.Entries = few(append(f.Entries, h.Entries...))
	}
	return f
}

// held are the values of one place during the stretch in their order, no two alike beside each other, with the counter that their use is worked out from. What
// stood while the machine did not work is left out, but for the last. What was set on the first day without a time of day, and without a reading of the counter, stood
// from its beginning: a day without a time ends with what was done on it, and nobody sets a machine after the first day's work for that day.
func (s Side) held(st *Standing) (out []Held, derived string) {
	if s.From == "" {
		return nil, ""
	}
	spells := s.spells(st)
	bounds := make([]record.Done, 0, len(spells)+1)
	for _, p := range spells {
		bounds = append(bounds, p.from)
	}
	bounds = append(bounds, record.Done(s.To))
	use, readings, derived := s.useBetween(bounds, spells)
	for i, p := range spells {
		h := Held{From: p.from, To: bounds[i+1], Use: use[i], Readings: readings[i]}
		if i == 0 && h.From.Date() < s.From {
			h.From = record.Done(s.From)
		}
		if p.Standing != nil {
			h.Entries = few(p.Reason.Entries)
			if !p.Unknown {
				h.Value = p.Value
			}
		}
		n := len(out)
		switch {
		case i < len(spells)-1 && h.Use.Sign() == 0:
		case n > 0 && out[n-1].Value == h.Value:
			out[n-1].To, out[n-1].Use = h.To, plus(out[n-1].Use, h.Use)
			out[n-1].Entries, out[n-1].Readings = few(append(out[n-1].Entries, h.Entries...)), few(append(out[n-1].Readings, h.Readings...))
		default:
			out = append(out, h)
		}
	}
	return out, derived
}

// spells are what stood at the beginning of the stretch and everything set during it, oldest first.
func (s Side) spells(st *Standing) []spell {
	start := record.Done(dayBefore(s.From))
	var out []spell
	for ; st != nil && st.Since.Compare(start) > 0; st = st.prev {
		out = append(out, spell{st, st.Since})
	}
	slices.Reverse(out)
	if len(out) > 0 && out[0].from == record.Done(s.From) && !s.reads(out[0].entry) {
		out[0].from = start
		return out
	}
	first := spell{st, start}
	if st == nil && s.Machine.Added.Compare(start) > 0 && len(out) > 0 && s.Machine.Added.Compare(out[0].from) < 0 { // not of this book before
		first.from = s.Machine.Added
	}
	return append([]spell{first}, out...)
}

// reads reports that an entry read the counter by which the use of settings is told.
func (s Side) reads(entry ID) bool {
	m := s.later().MachineByID(s.Machine.ID)
	if m == nil {
		return false
	}
	c := m.workCounter()
	return c != nil && c.readBy(entry) != nil
}

// useBetween is what the machine's counter moved from each bound to the next, with the readings that tell it; the bounds but the first and the last are those
// of spells. Where the counter does not tell, or did not move at all, it is days.
func (s Side) useBetween(bounds []record.Done, spells []spell) (use []quantity.Quantity, readings [][]ID, derived string) {
	n := len(bounds) - 1
	use, readings = make([]quantity.Quantity, n), make([][]ID, n)
	if m := s.later().MachineByID(s.Machine.ID); m != nil {
		if c := m.workCounter(); c != nil {
			places := c.marks(bounds[0], bounds[n])
			var start quantity.Quantity
			moved, from := make([]quantity.Quantity, n+1), make([][]ID, n+1) // moved since the first bound, so that the last is what moved says of the whole stretch
			known := true
			for i, d := range bounds {
				at := m.lifeAt(c, d)
				if i > 0 && i < n {
					if p := c.readBy(spells[i].entry); p != nil {
						at = lifeKnown{life: p.Life, readings: []ID{p.Entry}}
					}
				}
				known = known && at.ok()
				from[i] = at.readings
				if !known {
					break
				}
				if i == 0 {
					start = at.life
				}
				moved[i] = roundTo(minus(at.life, start), places)
				if i > 0 {
					if less, _ := moved[i].Cmp(moved[i-1]); less < 0 {
						moved[i] = moved[i-1]
					}
				}
			}
			if known && moved[n].Sign() != 0 {
				for i := range n {
					use[i], readings[i] = minus(moved[i+1], moved[i]), few(slices.Concat(from[i], from[i+1]))
				}
				return use, readings, c.WorkedOut
			}
		}
	}
	for i := range n {
		days := big.NewRat(max(0, minute(bounds[i+1])-minute(bounds[i])), minutesADay)
		use[i], _ = quantity.FromRat(days, aDay, 1)
	}
	return use, readings, ""
}

// most is the value that stood for most of the use, spells of one value together; of several the one that stood last.
func most(held []Held) record.Value {
	sums := map[record.Value]quantity.Quantity{}
	for _, h := range held {
		sums[h.Value] = plusOrFirst(sums[h.Value], h.Use)
	}
	best := held[len(held)-1].Value
	for _, h := range slices.Backward(held) {
		if more, err := sums[h.Value].Cmp(sums[best]); err == nil && more > 0 {
			best = h.Value
		}
	}
	return best
}

// ByValue sums the spells of each value, in the order in which values first stood.
func ByValue(held []Held) []Held {
	var out []Held
	for _, h := range held {
		i := slices.IndexFunc(out, func(o Held) bool { return o.Value == h.Value })
		if i < 0 {
			out = append(out, h)
			continue
		}
		out[i].Use, out[i].To = plus(out[i].Use, h.Use), h.To
	}
	return out
}

// sameHeld reports that a setting stood alike on both sides: at the same value, or changed alike for as much use.
func (f Found) sameHeld(o Found) bool { return f.heldKey() == o.heldKey() }

func (f Found) heldKey() string {
	parts := []string{f.Value.String()}
	for _, h := range f.Held {
		parts = append(parts, h.Value.String(), h.Use.String())
	}
	return strings.Join(parts, "\x00")
}
