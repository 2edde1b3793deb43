package wear

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Wear that quickens from nothing: a part loses 0.7 in times its own factor times the square of its thousands of acres. Worked out on paper: at 1000 ac the rate is
// the derivative, 1.4 in a thousand times the factor, and 1 in is lost at 1000 x sqrt(1 / (0.7 x factor)) ac. That it begins at no rate is no reason to forecast
// nothing.
func TestCurve(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 0))
	var own []float64
	d := discs(24, func(int) []Reading {
		own = append(own, 1+0.1*rng.NormFloat64())
		var out []Reading
		for k := range 5 {
			use := 200 * float64(k+1)
			out = append(out, Reading{Day: string(rune('a' + k)), Size: 6 - own[len(own)-1]*0.7*use*use/1e6, Use: []float64{use}})
		}
		return out
	})
	m, err := Fit(d)
	if err != nil || !m.Curved {
		t.Fatal(err, m.Curved)
	}
	sane(t, m)
	if want := 1.4e-3 * mean(own); math.Abs(m.Rate-want) > 0.02*want || !(m.RateSE > 0) || m.RateSE > m.Rate {
		t.Errorf("rate %v (%v), want %v", m.Rate, m.RateSE, want)
	}
	left := 0.0
	for i, o := range own {
		f, a := m.Part(i, Ahead{Season: 500}, 500), Ahead{Season: 500}
		// the rate shown is the slope of the forecast itself
		if slope := (m.at(i, a, 0.01).Value - m.at(i, a, 0).Value) / 0.01; math.Abs(f.Rate-slope) > 1e-4*slope {
			t.Errorf("part %d: rate %v, the forecast's slope %v", i, f.Rate, slope)
		}
		left += (f.Left + 1000 - 1000*math.Sqrt(1/(0.7*o))) / 24
	}
	if math.Abs(left) > 10 {
		t.Errorf("what is left is off by %v ac on average", left)
	}
}
