package rules

import (
	"cmp"
	"slices"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// GrownSize is a size of a wearing part that does not follow from the one before: the part had grown back without being changed, turned or rebuilt in between, or
// one just fitted new did not measure as a new one does. A slip of the tape, a change that nobody wrote, or a part that was not new.
type GrownSize struct {
	Reading     string
	Place       record.Position
	Hand        string
	New         bool              // of a part just fitted: From is the size of a new one, and Earlier is ""
	From, To    quantity.Quantity // in the reading's unit
	Earlier     ID
	EarlierDone record.Done // of New the day it was fitted
	Later       ID
	LaterDone   record.Done
	Worked      quantity.Quantity // by the part in between, on what it wears with; zero also where not known
}

// newShare is how much of the way from new to the limit a part may lack when it is fitted, beside what two readings of a tape differ by: parts are not all made
// alike. Our own round figure.
const newShare = 0.15

// grown compares the readings of each wearing part with the ones before.
func (h *Honesty) grown(st *State, m *Machine) {
	for _, def := range WearReadings(m) {
		limit, falls, _ := wearLimit(def)
		step := readTo(m, def)
		for _, slot := range names(m.Readings[def.Name], m.Readings[def.Name]) {
			place, hand := SplitSlot(slot)
			before := map[string]*Reading{}
			for _, r := range m.Readings[def.Name][slot] {
				to, ok := atRated(def, r).Quantity()
				if !ok || r.Assumed || r.Computed {
					continue
				}
				g := GrownSize{Reading: def.Name, Place: place, Hand: hand, To: inReading(def, to), Later: r.Entry, LaterDone: r.Done}
				key := segmentKey(r.Part, r.Segment)
				switch last := before[key]; {
				case last != nil:
					from, _ := atRated(def, last).Quantity()
					g.From, g.Earlier, g.EarlierDone = inReading(def, from), last.Entry, last.Done
					g.Worked = workedBetween(def, last, r)
					if grew := toLimit(g.To, limit, falls) - toLimit(g.From, limit, falls); grew > step+1e-9 {
						h.Grown = append(h.Grown, g)
					}
				case r.Part != "" && def.HasNew && isFresh(r):
					if p := partNamed(st, r.Part); p != nil && p.In != "" && !p.Assumed && r.Segment == 1 {
						g.New, g.From, g.EarlierDone = true, inReading(def, def.New), p.In
						whole := toLimit(g.From, limit, falls)
						if whole-toLimit(g.To, limit, falls) > step+newShare*whole {
							h.Grown = append(h.Grown, g)
						}
					}
				}
				before[key] = r
			}
		}
	}
	slices.SortStableFunc(h.Grown, func(a, b GrownSize) int {
		return cmp.Or(a.LaterDone.Compare(b.LaterDone), cmp.Compare(a.Reading, b.Reading), a.Place.Compare(b.Place), cmp.Compare(a.Hand, b.Hand))
	})
}

// toLimit is how far a size is from the limit, below 0 past it.
func toLimit(q quantity.Quantity, limit float64, falls bool) float64 {
	if falls {
		return q.Float64() - limit
	}
	return limit - q.Float64()
}

// workedBetween is what a part worked between two readings of it.
func workedBetween(def *schedule.Reading, a, b *Reading) quantity.Quantity {
	x, ok := a.Use[def.Wears[0]]
	y, ok2 := b.Use[def.Wears[0]]
	if !ok || !ok2 {
		return quantity.Quantity{}
	}
	return minus(y, x)
}

// partNamed is a part by its id, nil where the state has none.
func partNamed(st *State, id string) *Part {
	n, ok := slices.BinarySearchFunc(st.Parts, id, func(p *Part, id string) int { return cmp.Compare(p.ID, id) })
	if !ok {
		return nil
	}
	return st.Parts[n]
}
