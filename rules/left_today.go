package rules

import (
	"math"
	"slices"

	"shedbook/rules/wear"
)

// today works out how much is likely left on the state's day: the size that the model gives each part now, which goes by its own readings, those of its sisters
// and the use since.
func (l *Left) today(x *LeftPlace, f *wear.Forecast) {
	whole := number(x.New, l.Reading.Unit) - number(l.Limit, l.Reading.Unit)
	if x.NewFrom == "" || whole == 0 || (whole > 0) != l.Falls || math.IsNaN(f.Size) {
		return
	}
	x.NowShare, x.NowKnown = (f.Size-number(l.Limit, l.Reading.Unit))/whole, true
	x.NowSize = sized(f.Size, l.Reading.Unit)
}

// Today is the share likely left on the state's day; where nobody can forecast it, the share when it was last measured. ok is false where neither is known.
func (p *LeftPlace) Today() (share float64, ok bool) {
	if p.NowKnown {
		return p.NowShare, true
	}
	return p.Share, p.Known
}

// least orders two places by what they likely have left today, then by the use that each likely has to its limit: the order in which places are told anywhere.
func least(a, b *LeftPlace) int {
	x, _ := a.Today()
	y, _ := b.Today()
	switch {
	case x < y:
		return -1
	case x > y:
		return 1
	case a.Likely < b.Likely:
		return -1
	case a.Likely > b.Likely:
		return 1
	}
	return 0
}

// Least are the places of which something is known, the least likely left today first.
func (l *Left) Least() []*LeftPlace {
	var out []*LeftPlace
	for i := range l.Places {
		if _, ok := l.Places[i].Today(); ok {
			out = append(out, &l.Places[i])
		}
	}
	slices.SortStableFunc(out, least)
	return out
}

// Forecasted is how many parts in the machine have a forecast, those at places out of use too.
func (l *Left) Forecasted() int {
	n := 0
	for i := range l.Places {
		if l.Places[i].Forecast {
			n++
		}
	}
	return n
}

// Within counts the parts in the machine that pass their limit within so much more use, in the counter's unit; 0 asks for today. Those at places out of use are
// among them, as if they worked on: a place that is put right needs its part. ok is false where the parts are not forecast together.
func (w *Wear) Within(more float64) (count wear.Count, ok bool) {
	if w == nil || w.Model == nil || w.Err != nil {
		return count, false
	}
	var all []int
	for i := range w.Parts {
		if w.Parts[i].Forecast != nil {
			all = append(all, w.current[i])
		}
	}
	for i := range w.Idle {
		if w.Idle[i].Forecast != nil {
			all = append(all, w.idle[i])
		}
	}
	if len(all) == 0 {
		return count, false
	}
	return w.Model.Count(all, w.Ahead.ahead, more), true
}
