package wear

import "math"

// Count is how many of some parts will pass their limit within a use: likely (the median), and the limits at Level. All share the ground to come, so the limits
// are far apart: in easy ground few, in hard ground many.
type Count struct {
	Mean              float64
	Low, Likely, High int
	Chances           []float64 // of 0, 1, 2 ... passing
}

// Count works out how many of the parts pass their limit within use more ahead. Given what all share, parts pass or not each by themselves.
func (m *Model) Count(parts []int, a Ahead, more float64) Count {
	total := make([]float64, len(parts)+1)
	type one struct{ lead, shared, own float64 }
	all := make([]one, len(parts))
	for i, p := range parts {
		then := m.at(p, a, more)
		all[i] = one{then.Value - m.worn(p), math.Sqrt(then.Shared), math.Sqrt(then.Own)}
	}
	for _, z := range m.common() {
		chances := []float64{1}
		for _, o := range all {
			p := above(o.lead+o.shared*z, o.own)
			next := make([]float64, len(chances)+1)
			for k, c := range chances {
				next[k] += c * (1 - p)
				next[k+1] += c * p
			}
			chances = next
		}
		for k, c := range chances {
			total[k] += c / points
		}
	}
	out := Count{Chances: total}
	cum := 0.0
	out.Low, out.Likely, out.High = -1, -1, -1
	for k, c := range total {
		out.Mean += float64(k) * c
		cum += c
		if out.Low < 0 && cum > 0.1 {
			out.Low = k
		}
		if out.Likely < 0 && cum >= 0.5 {
			out.Likely = k
		}
		if out.High < 0 && cum >= 0.9-1e-12 {
			out.High = k
		}
	}
	if out.High < 0 {
		out.High = len(parts)
	}
	return out
}
