package wear

import (
	"math"
	"sort"
)

// How much of the way from new to worn out a part must have grown by, or lie apart from the others by, to be called odd, beside what chance explains.
const (
	grownShare = 0.08
	apartShare = 0.25
)

// life is the way from a part's first known size to its limit.
func (d *Data) life(part int) float64 {
	p := &d.Parts[part]
	s, ok := p.from(nil, part)
	if !ok {
		return 0
	}
	return math.Abs(s.size - d.Limit)
}

// lost is what a part lost from one reading to the next.
type lost struct {
	part, reading   int // the later one
	from, loss, use float64
	days            [2]string
}

// steps are the losses from each part's start, and from each reading, to the next.
func (d *Data) steps() []lost {
	var out []lost
	for i := range d.Parts {
		p := &d.Parts[i]
		size, use, day := p.Start, make([]float64, len(d.Seasons)), ""
		known := p.HasStart
		for j, r := range p.Readings {
			if known {
				out = append(out, lost{i, j, size, d.loss(size, r.Size), sum(less(r.Use, use, len(d.Seasons))), [2]string{day, r.Day}})
			}
			size, use, day, known = r.Size, r.Use, r.Day, true
		}
	}
	return out
}

// noise is the standard deviation of one reading as steps tell it: what is left of their rates when each part's own median and each pair of days' median are
// taken off, by its usual distance from zero. Parts with one step tell nothing of it.
func noise(steps []lost) float64 {
	own := map[int][]float64{}
	for _, s := range steps {
		if s.use > 0 {
			own[s.part] = append(own[s.part], s.loss/s.use)
		}
	}
	mid, days := map[int]float64{}, map[[2]string][]float64{}
	var told []lost
	for _, s := range steps {
		if s.use > 0 && len(own[s.part]) > 1 {
			mid[s.part] = median(own[s.part])
			days[s.days] = append(days[s.days], s.loss/s.use-mid[s.part])
			told = append(told, s)
		}
	}
	if len(told) < 5 {
		return 0
	}
	common := map[[2]string]float64{}
	for k, v := range days {
		common[k] = median(v)
	}
	left := make([]float64, len(told))
	for i, s := range told {
		left[i] = math.Abs(s.loss/s.use-mid[s.part]-common[s.days]) * s.use
	}
	return 1.4826 * median(left) / math.Sqrt2
}

// usual gives the rate to expect of a step: the median of those between the same two days where there are five, else of all.
func usual(steps []lost) func(lost) float64 {
	var all []float64
	days := map[[2]string][]float64{}
	for _, s := range steps {
		if s.use > 0 {
			all = append(all, s.loss/s.use)
			days[s.days] = append(days[s.days], s.loss/s.use)
		}
	}
	rates := map[[2]string]float64{}
	for k, v := range days {
		if len(v) >= 5 {
			rates[k] = max(0, median(v))
		}
	}
	rate := 0.0
	if len(all) > 0 {
		rate = max(0, median(all))
	}
	return func(s lost) float64 {
		if r, ok := rates[s.days]; ok {
			return r
		}
		return rate
	}
}

// odd finds readings that cannot be: a part that grew by more than measuring can explain, one that lost far more than usual at a stroke, and one whose loss for
// its use is far from that of the others read on that day. error is the standard deviation of one reading.
func (d *Data) odd(error float64) []Oddity {
	var out []Oddity
	left := map[[2]int]bool{}
	steps := d.steps()
	slack, rate := 5*math.Sqrt2*max(error, noise(steps)), usual(steps)
	sign := 1.0
	if d.Falls {
		sign = -1
	}
	for _, s := range steps {
		life := d.life(s.part)
		expected := rate(s) * s.use
		switch {
		case -s.loss > max(slack, grownShare*life):
			// it has lost less than nothing since the reading before: one of the two is wrong, or the part is another
			out = append(out, Oddity{Part: s.part, Reading: s.reading, Grew: true, Expected: s.from})
		case len(steps) >= 5 && s.loss-expected > max(slack, apartShare*life, 2*expected):
			out = append(out, Oddity{Part: s.part, Reading: s.reading, Expected: s.from + sign*expected})
		default:
			continue
		}
		left[[2]int{s.part, s.reading}] = true
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
	spread := max(1.4826*median(rates), quantile(rates, 0.8)/1.2816) // of sizes read to a coarse step half may be alike
	var out []Oddity
	for _, o := range all {
		if away := math.Abs(o.rate - mid); away > 6*math.Hypot(spread, error*math.Sqrt2/o.use) && away*o.use > apartShare*d.life(o.at[0]) {
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

func quantile(x []float64, q float64) float64 {
	y := append([]float64(nil), x...)
	sort.Float64s(y)
	return y[int(q*float64(len(y)-1)+0.5)]
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
