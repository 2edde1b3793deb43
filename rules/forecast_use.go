package rules

import (
	"slices"

	"shedbook/rules/record"
	"shedbook/rules/wear"
)

// useOf is the use at a reading: of the part in its present stretch of life, else of the machine.
func (g *wearGatherer) useOf(r *Reading) float64 {
	use := r.Use
	if r.Part != "" {
		use = r.SegmentUse
	}
	return number(use[g.counter], g.w.Counter.Unit)
}

// use is a part's use now, or the machine's for a reading of no part.
func (g *wearGatherer) use(p *Part, list []readAt) float64 {
	if p != nil {
		return number(p.SegmentUse[g.counter], g.w.Counter.Unit)
	}
	if len(list) > 0 {
		return max(g.useOf(list[len(list)-1].r), number(g.w.Counter.Life, g.w.Counter.Unit))
	}
	return number(g.w.Counter.Life, g.w.Counter.Unit)
}

// carry is a part's use by season and group now.
func (g *wearGatherer) carry(p wear.Part, now float64, at record.Position, hand string, list []readAt) (by, groups []float64) {
	by, groups = make([]float64, len(g.w.data.Seasons)), make([]float64, len(g.groups))
	before, begin := 0.0, ""
	if n := len(p.Readings); n > 0 {
		by, groups = slices.Clone(p.Readings[n-1].Use), slices.Clone(p.Readings[n-1].Groups)
		before, begin = sumOf(by), list[n-1].r.Done.Date()
	}
	g.spread(by, begin, g.s.On, max(0, now-before))
	for i, h := range g.here(at, hand) {
		groups[i] += h * max(0, now-before)
	}
	return by, groups
}

// spread shares out a use between two days over the seasons, as the machine's counter ran in each.
func (g *wearGatherer) spread(by []float64, from, to string, use float64) {
	if use <= 0 {
		return
	}
	weights, total := make([]float64, len(by)), 0.0
	for s := range by {
		a, b := from, to
		if s > 0 && g.ends[s-1] > a {
			a = g.ends[s-1]
		}
		if s < len(g.ends) && g.ends[s] < b {
			b = g.ends[s]
		}
		if a < b {
			weights[s] = g.w.Counter.ran(a, b)
			total += weights[s]
		}
	}
	if total == 0 { // it ran elsewhere, or the counter does not say: all of it where it was read
		weights[g.stretch(to)], total = 1, 1
	}
	for s := range by {
		by[s] += use * weights[s] / total
	}
}

// stretch is the season a day lies in.
func (g *wearGatherer) stretch(day string) int {
	n := 0
	for n < len(g.ends) && g.ends[n] < day {
		n++
	}
	return n
}
