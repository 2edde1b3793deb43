package rules

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// Pair is one place of a setting or a reading on both sides of a comparison.
type Pair struct {
	Place    record.Position // zero: the machine
	Hand     string
	From, To PairValue
	// Apart: of a setting, both are known and differ. Of a reading, what lies between them is unlike what lies between them at the other places (see standApart).
	Apart bool
}

// PairValue is what one side has of a place.
type PairValue struct {
	Value   record.Value // zero: not known
	Entry   ID           // that it rests on; "" where that is more than an entry can say
	Changed bool         // of a setting: it had other values too during the stretch
	Last    record.Value // of a setting that was changed: what stood on the last day
}

// SettingPairs are how a setting stood on both sides for most of their use, place by place in the order of places and hands.
func SettingPairs(a, b Side, name string) []Pair {
	found := func(s Side, slot string) PairValue {
		st := s.Machine.Settings[name][slot]
		f := s.heldAt(st, nil)
		v := PairValue{Value: f.Value, Last: f.Last, Changed: len(f.Held) > 0}
		entries := f.Entries
		for _, h := range f.Held {
			if h.Value == f.Value {
				entries = h.Entries
			}
		}
		if n := len(entries); n > 0 && !v.Value.IsZero() {
			v.Entry = entries[n-1]
		}
		return v
	}
	x, y := a.Machine.Settings[name], b.Machine.Settings[name]
	var out []Pair
	for _, slot := range names(x, y) {
		p := Pair{From: found(a, slot), To: found(b, slot)}
		p.Place, p.Hand = SplitSlot(slot)
		p.Apart = !p.From.Value.IsZero() && !p.To.Value.IsZero() && p.From.Value != p.To.Value
		out = append(out, p)
	}
	return inPlace(out)
}

// ReadingPairs are the last readings of both stretches, place by place in the order of places and hands; places read in neither are left out.
func ReadingPairs(a, b Side, name string) []Pair {
	found := func(s Side, slot string) PairValue {
		taken := s.taken(name, slot)
		if len(taken) == 0 {
			return PairValue{}
		}
		r := taken[len(taken)-1]
		return PairValue{Value: asRead(r), Entry: r.Entry}
	}
	var out []Pair
	for _, slot := range names(a.Machine.Readings[name], b.Machine.Readings[name]) {
		p := Pair{From: found(a, slot), To: found(b, slot)}
		if p.From.Value.IsZero() && p.To.Value.IsZero() {
			continue
		}
		p.Place, p.Hand = SplitSlot(slot)
		out = append(out, p)
	}
	out = inPlace(out)
	standApart(out)
	return out
}

func inPlace(pairs []Pair) []Pair {
	slices.SortStableFunc(pairs, func(a, b Pair) int { return cmp.Or(a.Place.Compare(b.Place), strings.Compare(a.Hand, b.Hand)) })
	return pairs
}

// fewestToTell is how many places must be read on both sides before one of them can stand apart.
const fewestToTell = 5

// standApart marks the pairs whose difference has a modified z-score above 3.5: 0.6745 (x - median) / MAD, MAD being the median distance from the median (NIST/SEMATECH
// e-Handbook of Statistical Methods, 1.3.5.17, after Iglewicz and Hoaglin 1993). Where a tape is read to a sixteenth most differences are alike and MAD is next to
// nothing: the least step between two values that were read stands for it then, so that one mark of the tape is never apart.
func standApart(pairs []Pair) {
	var at []int
	var moved []quantity.Quantity
	var read []float64
	for i, p := range pairs {
		from, ok1 := p.From.Value.Quantity()
		to, ok2 := p.To.Value.Quantity()
		if !ok1 || !ok2 {
			continue
		}
		if len(moved) > 0 { // all in one unit, so that numbers can be compared
			to, from = inUnitOf(moved[0], to), inUnitOf(moved[0], from)
		}
		d, err := to.Sub(from)
		if err != nil || len(moved) > 0 && d.Unit() != moved[0].Unit() {
			continue
		}
		at, moved, read = append(at, i), append(moved, d), append(read, from.Float64(), to.Float64())
	}
	if len(at) < fewestToTell {
		return
	}
	x := make([]float64, len(moved))
	for i, d := range moved {
		x[i] = d.Float64()
	}
	mid := middle(x)
	away := make([]float64, len(x))
	for i, v := range x {
		away[i] = math.Abs(v - mid)
	}
	usual := max(middle(away), leastStep(read))
	for i, v := range away {
		pairs[at[i]].Apart = usual > 0 && 0.6745*v > 3.5*usual
	}
}

// inUnitOf converts to the unit of another amount where that can be done.
func inUnitOf(like, q quantity.Quantity) quantity.Quantity {
	if c, err := q.In(like.Unit(), 6); err == nil {
		return c
	}
	return q
}

// middle is the median; of an even number the mean of the two in the middle.
func middle(x []float64) float64 {
	s := slices.Sorted(slices.Values(x))
	n := len(s)
	return (s[(n-1)/2] + s[n/2]) / 2
}

// leastStep is the least distance between two values that differ by more than rounding; 0 where all are alike.
func leastStep(x []float64) float64 {
	s := slices.Sorted(slices.Values(x))
	least := 0.0
	for i := 1; i < len(s); i++ {
		if d := s[i] - s[i-1]; d > 1e-9*math.Max(1, math.Abs(s[i])) && (least == 0 || d < least) {
			least = d
		}
	}
	return least
}
