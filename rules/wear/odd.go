package wear

import (
	"math"
	"sort"
)

// odd finds readings that cannot be: a part that grew by more than measuring can explain, and one whose loss for its use is far from that of the others read on
// that day. error is the standard deviation of one reading.
func (d *Data) odd(error float64) []Oddity {
	var out []Oddity
	left := map[[2]int]bool{}
	slack := max(5*error*math.Sqrt2, 1e-9*math.Abs(d.Limit))
	for i := range d.Parts {
		rs := d.Parts[i].Readings
		for j := 1; j < len(rs); j++ {
			// it has lost less than nothing since the reading before: one of the two is wrong, or the part is another
			if grown := -d.loss(rs[j-1].Size, rs[j].Size); grown > slack {
				out = append(out, Oddity{Part: i, Reading: j, Grew: true, Expected: rs[j-1].Size})
				left[[2]int{i, j}] = true
			}
		}
	}
	for _, day := range d.days() {
		out = append(out, d.apart(day, error, left)...)
	}
	sort.SliceStable(out, func(a, b int) bool {
		if out[a].Part != out[b].Part {
			return out[a].Part < out[b].Part
		}
		return out[a].Reading < out[b].Reading
	})
	return out
}

// days are the readings of each day, by day, as part and reading.
func (d *Data) days() [][][2]int {
	by := map[string][][2]int{}
	var names []string
	for i := range d.Parts {
		for j, r := range d.Parts[i].Readings {
			if by[r.Day] == nil {
				names = append(names, r.Day)
			}
			by[r.Day] = append(by[r.Day], [2]int{i, j})
		}
	}
	sort.Strings(names)
	out := make([][][2]int, len(names))
	for i, n := range names {
		out[i] = by[n]
	}
	return out
}

// apart finds the readings of a day whose loss per use since the part's start is far from the median of the others': six times their usual distance from it, and
// more than measuring can explain. It takes five parts to tell.
func (d *Data) apart(day [][2]int, error float64, left map[[2]int]bool) []Oddity {
	type one struct {
		at        [2]int
		rate, use float64
		from      float64
	}
	var all []one
	for _, at := range day {
		p := &d.Parts[at[0]]
		if left[at] {
			continue
		}
		s, ok := p.from(nil, at[0])
		if !ok || at[1] < s.first {
			continue
		}
		use := sum(less(p.Readings[at[1]].Use, s.seasons, len(d.Seasons)))
		if use > 0 {
			all = append(all, one{at, d.loss(s.size, p.Readings[at[1]].Size) / use, use, s.size})
		}
	}
	if len(all) < 5 {
		return nil
	}
	rates := make([]float64, len(all))
	for i, o := range all {
		rates[i] = o.rate
	}
	mid := median(rates)
	for i, o := range all {
		rates[i] = math.Abs(o.rate - mid)
	}
	spread := 1.4826 * median(rates)
	var out []Oddity
	for _, o := range all {
		if away := math.Abs(o.rate - mid); away > 6*math.Hypot(spread, error*math.Sqrt2/o.use) && away > 0.5*math.Abs(mid) {
			sign := 1.0
			if d.Falls {
				sign = -1
			}
			out = append(out, Oddity{Part: o.at[0], Reading: o.at[1], Expected: o.from + sign*mid*o.use})
			left[o.at] = true
		}
	}
	return out
}

func median(x []float64) float64 {
	y := append([]float64(nil), x...)
	sort.Float64s(y)
	n := len(y)
	if n%2 == 1 {
		return y[n/2]
	}
	return (y[n/2-1] + y[n/2]) / 2
}
