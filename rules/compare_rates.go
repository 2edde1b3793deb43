package rules

import (
	"math/big"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// RateOver is the amount of a counter that a rate is told for: so much for each hundred of it.
const RateOver = 100

// wearPiece is what one part changed by during a stretch, and its own use between the two readings.
type wearPiece struct {
	place       record.Position
	first, last *Reading
	change, use quantity.Quantity
}

// compareRates sets side by side how fast parts changed: the sum of their changes by the sum of their own use, for all places and for each group. A part tells
// a rate from the last reading on or before the first day of the stretch (else the first one in it) to the first one on or after the last day (else the last
// one in it). It tells none where both are of one use, as two readings of one day are, nor across a turning, sharpening or rebuilding.
func compareRates(a, b Side) []Change {
	if a.Machine.Fitted == nil || b.Machine.Fitted == nil {
		return nil
	}
	var out []Change
	f := b.Machine.Fitted
	for i := range f.Readings {
		def := &f.Readings[i]
		if def.Part == "" || len(def.Wears) == 0 || len(def.Grades) > 0 {
			continue
		}
		x, y := a.wear(def), b.wear(def)
		for _, at := range placesToRate(f, def) {
			from, to := rate(x, at), rate(y, at)
			if from.Count+to.Count > 0 && (from.Value != to.Value || from.Count != to.Count) {
				out = append(out, Change{What: "rate", Name: def.Name, Positions: at, From: from, To: to})
			}
		}
	}
	return out
}

// placesToRate are all places of a reading and each group of them; the empty set for a reading of the machine.
func placesToRate(f *schedule.Fitted, def *schedule.Reading) []record.Positions {
	all := f.All(def.Of)
	out := []record.Positions{all}
	var groups []string
	for _, g := range f.Groups {
		groups = append(groups, g.Name)
	}
	for _, g := range f.Farm {
		groups = append(groups, g.Name)
	}
	for _, name := range groups {
		at, _ := f.GroupPositions(name)
		if ranges := at.Ranges(); len(ranges) > 0 && ranges[0].Noun == def.Of && at.String() != all.String() {
			out = append(out, at)
		}
	}
	return out
}

// wear are the pieces of a reading during a stretch, by place, hand and part.
func (s Side) wear(def *schedule.Reading) []wearPiece {
	m := s.later().MachineByID(s.Machine.ID)
	if m == nil {
		return nil
	}
	var out []wearPiece
	for _, slot := range names(m.Readings[def.Name], m.Readings[def.Name]) {
		byPart := map[string][]*Reading{}
		for _, r := range m.Readings[def.Name][slot] {
			if _, ok := valueOf(r).Quantity(); ok && r.Part != "" && !r.Assumed {
				key := r.Part + " " + big.NewInt(int64(r.Segment)).String()
				byPart[key] = append(byPart[key], r)
			}
		}
		p, _ := SplitSlot(slot)
		for _, key := range names(byPart, byPart) {
			if w, ok := s.piece(byPart[key], def.Wears[0]); ok {
				w.place = p
				out = append(out, w)
			}
		}
	}
	return out
}

// piece is what readings of one part, in order of effect, tell of a stretch.
func (s Side) piece(list []*Reading, counter string) (wearPiece, bool) {
	from, to := -1, -1
	for i, r := range list {
		if day := r.Done.Date(); from < 0 || day <= s.From {
			from = i
		}
		if to < 0 || list[to].Done.Date() < s.To {
			to = i
		}
	}
	if s.From == "" { // a day: all until then
		for to >= 0 && list[to].Done.Date() > s.To {
			to--
		}
	}
	if from < 0 || to <= from || list[to].Done.Date() < s.From || list[from].Done.Date() > s.To {
		return wearPiece{}, false
	}
	w := wearPiece{first: list[from], last: list[to]}
	before, ok1 := w.first.Use[counter]
	after, ok2 := w.last.Use[counter]
	use, err1 := after.Sub(before)
	x, _ := valueOf(w.first).Quantity()
	y, _ := valueOf(w.last).Quantity()
	change, err2 := y.Sub(x)
	if !ok1 || !ok2 || err1 != nil || err2 != nil || use.Sign() <= 0 {
		return wearPiece{}, false
	}
	w.use, w.change = use, change
	return w, true
}

// rate puts the pieces of some places together: Value for each hundred of the counter, Change and Use what it was worked out from.
func rate(pieces []wearPiece, at record.Positions) Found {
	var f Found
	for _, w := range pieces {
		if !at.IsZero() && !at.Has(w.place) {
			continue
		}
		f.Count++
		f.Change, f.Use = plusOrFirst(f.Change, w.change), plusOrFirst(f.Use, w.use)
		f.Entries = append(f.Entries, w.first.Entry, w.last.Entry)
		if f.First == "" || w.first.Done < f.First {
			f.First = w.first.Done
		}
		if w.last.Done > f.Since {
			f.Since, f.Person = w.last.Done, w.last.Person
		}
	}
	f.Entries = few(f.Entries)
	if f.Count == 0 {
		return Found{}
	}
	share := new(big.Rat).Quo(big.NewRat(RateOver, 1), f.Use.Rat())
	f.Value = record.Amount(f.Change.Mul(share, 4))
	return f
}

// plusOrFirst is a sum that may not have begun.
func plusOrFirst(sum, q quantity.Quantity) quantity.Quantity {
	if sum == (quantity.Quantity{}) {
		return q
	}
	return plus(sum, q)
}
