package wear

import (
	"math"

	"shedbook/rules/stats"
)

// Level is the share of cases that limits hold: 80 %, a tenth left out on either side.
const Level = 0.8

// Ahead is use still to come, in order: the rest of one season (which may be 0), then whole seasons after it.
type Ahead struct {
	// Rest is the use still to come in the last season of Data.Seasons: the one under way, or the next one where none is.
	Rest float64
	// Season is the use of each season after that.
	Season float64
}

// Forecast is what a part comes to.
type Forecast struct {
	Part int
	// Size now, as the model has it (between what was read and what its sisters say), with its standard deviation; Rate is its own, at its use now.
	Size, SizeSD, Rate float64
	// Use is what the part has worked so far.
	Use float64
	// Past says that the last reading itself is past the limit.
	Past bool
	// Chance that it passes its limit within the use asked about.
	Chance float64
	// Left is the further use to the limit: likely (as likely to pass before as after), and the limits at Level. An infinite one lies beyond Futures seasons.
	Left   float64
	Limits stats.Interval
	// At is the size after the use asked about, with limits at Level.
	At       float64
	AtLimits stats.Interval
}

// at is the loss of a part after so much more use, split over the season under way and those to come.
func (m *Model) at(part int, a Ahead, more float64) stats.Prediction {
	p := &m.data.Parts[part]
	g := m.fit.design
	var seasons []float64
	groups := make([]float64, len(m.data.Groups))
	number := m.rows[part]
	s := m.starts[part]
	seasons = less(p.Use, s.seasons, len(m.data.Seasons)+Futures)
	copy(groups, less(p.Groups, s.groups, len(groups)))
	rest := min(more, a.Rest)
	if rest > 0 {
		seasons[len(m.data.Seasons)-1] += rest
	}
	for left, i := more-rest, 0; left > 0; i++ {
		n := left
		if a.Season > 0 && i < Futures-1 {
			n = min(left, a.Season)
		}
		seasons[len(m.data.Seasons)+i] += n
		left -= n
	}
	for i := range groups {
		if i < len(p.Here) {
			groups[i] += p.Here[i] * more
		}
	}
	use := sum(seasons)
	x := []float64{use}
	for _, i := range g.groups {
		x = append(x, groups[i])
	}
	if g.curve {
		x = append(x, use*use)
	}
	z := []float64{use}
	if g.starts {
		z = []float64{1, use}
	}
	out := m.fit.Predict(number, x, z, [][]float64{seasons})
	if number < 0 && !g.starts && !p.HasStart {
		out.Own += square(m.Sigma) // its start is itself a reading
	}
	return out
}

// Known reports whether a part can be forecast: its start is known, or a reading of it counts.
func (m *Model) Known(part int) bool { return m.starts[part].known && !m.data.Parts[part].Gone }

// points are how many equally likely values stand for what all parts share.
const points = 41

// common are those values, in standard deviations: Student's t, since the spread of seasons is itself estimated.
func (m *Model) common() []float64 {
	if m.current == nil {
		for i := range points {
			m.current = append(m.current, stats.StudentQuantile((float64(i)+0.5)/points, m.DF))
		}
	}
	return m.current
}

// beyond is the chance that a loss so predicted is greater than w.
func (m *Model) beyond(p stats.Prediction, w float64) float64 {
	shared, own := math.Sqrt(p.Shared), math.Sqrt(p.Own)
	t := 0.0
	for _, z := range m.common() {
		t += above(p.Value+shared*z-w, own)
	}
	return t / points
}

// above is the chance that a normal value with this mean and standard deviation is positive.
func above(mean, sd float64) float64 {
	if sd == 0 {
		switch {
		case mean > 0:
			return 1
		case mean < 0:
			return 0
		}
		return 0.5
	}
	return stats.NormalCDF(mean / sd)
}

// worn is the loss at which a part is at its limit.
func (m *Model) worn(part int) float64 { return m.data.loss(m.starts[part].size, m.data.Limit) }

// Part forecasts one part, not Gone, for use more ahead.
func (m *Model) Part(part int, a Ahead, more float64) Forecast {
	p := &m.data.Parts[part]
	now := m.at(part, a, 0)
	then := m.at(part, a, more)
	w := m.worn(part)
	f := Forecast{Part: part, Use: sum(p.Use), Size: m.size(part, now.Value), SizeSD: math.Sqrt(now.Variance()), Rate: m.rate(part)}
	for n := len(p.Readings) - 1; n >= 0; n-- {
		if !m.odd[[2]int{part, n}] {
			f.Past = m.data.loss(m.data.Limit, p.Readings[n].Size) > 0
			break
		}
	}
	f.Chance = m.beyond(then, w)
	f.At = m.size(part, then.Value)
	low, high := m.quantile(then, 0.1), m.quantile(then, 0.9)
	f.AtLimits = stats.Interval{Low: m.size(part, high), High: m.size(part, low)}
	if !m.data.Falls {
		f.AtLimits = stats.Interval{Low: m.size(part, low), High: m.size(part, high)}
	}
	f.Limits.Low = m.until(part, a, w, 0.1)
	f.Left = max(f.Limits.Low, m.until(part, a, w, 0.5))
	f.Limits.High = max(f.Left, m.until(part, a, w, 0.9))
	return f
}

// size is what is left after a loss.
func (m *Model) size(part int, loss float64) float64 {
	if m.data.Falls {
		return m.starts[part].size - loss
	}
	return m.starts[part].size + loss
}

// rate is a part's own at its use now: common, its groups', its own.
func (m *Model) rate(part int) float64 {
	r := m.fit.Fixed[0] + m.fit.bend(sum(m.data.Parts[part].Use)-sum(m.starts[part].seasons))
	for i, g := range m.fit.design.groups {
		if p := &m.data.Parts[part]; g < len(p.Here) {
			r += m.fit.Fixed[1+i] * p.Here[g]
		}
	}
	if n := m.rows[part]; n >= 0 {
		e := m.fit.GroupEffects[n]
		r += e[len(e)-1]
	}
	return r
}

// quantile is the loss below which a share q lies.
func (m *Model) quantile(p stats.Prediction, q float64) float64 {
	sd := math.Sqrt(p.Variance())
	if sd == 0 {
		return p.Value
	}
	f := func(w float64) float64 { return 1 - m.beyond(p, w) - q }
	low, high := p.Value-4*sd, p.Value+4*sd
	for f(low) > 0 {
		low -= 4 * sd
	}
	for f(high) < 0 {
		high += 4 * sd
	}
	return root(f, low, high, 1e-4*sd)
}

// until is the further use after which a part has passed its limit with chance q; +Inf beyond Futures seasons.
func (m *Model) until(part int, a Ahead, w, q float64) float64 {
	f := func(more float64) float64 { return m.beyond(m.at(part, a, more), w) - q }
	if f(0) >= 0 {
		return 0
	}
	season := a.Season
	if season <= 0 {
		season = max(sum(m.data.Parts[part].Use), 1) // no season to go by: as far again as it has come
	}
	end := a.Rest + season*Futures
	// mostly it lies near where the rate says: begin there
	high := min(end, max(1.5*(w-m.at(part, a, 0).Value)/max(m.rate(part), 1e-12), season/16))
	for f(high) < 0 {
		if high >= end {
			return math.Inf(1)
		}
		high = min(end, 2*high)
	}
	return root(f, 0, high, 1e-4*high)
}

// root finds where f is zero between low (f <= 0) and high (f >= 0), by false position with a halving where that stalls (Illinois).
func root(f func(float64) float64, low, high, tolerance float64) float64 {
	a, b := f(low), f(high)
	if a >= 0 {
		return low
	}
	side := 0
	for range 60 {
		x := (low*b - high*a) / (b - a)
		if !(x > low && x < high) || b == a {
			x = (low + high) / 2
		}
		y := f(x)
		if y < 0 {
			low, a = x, y
			if side == -1 {
				b /= 2
			}
			side = -1
		} else {
			high, b = x, y
			if side == 1 {
				a /= 2
			}
			side = 1
		}
		if high-low < tolerance || math.Abs(y) < 1e-6 {
			return x
		}
	}
	return (low + high) / 2
}
