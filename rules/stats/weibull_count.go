package stats

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// Ageing is a part in use: what it has done, and what it is to do.
type Ageing struct {
	Age float64 // use so far
	Use float64 // further use that is asked about
}

// Failing gives the chances that 0, 1, ... of the parts fail in their further use: by wear, each by its own age, or by a second cause that strikes all ages alike, at
// rate a unit of use (0: none). That the curve is itself only estimated is counted in: the chances are the mean over ln Eta and ln Beta as normally distributed about
// their estimates, by Gauss-Hermite quadrature. The mean of the estimate itself alone is that of FailsWithin.
func (w *Weibull) Failing(parts []Ageing, rate float64) []float64 {
	const points = 9
	var at, weight [points]float64
	quad.Hermite{}.FixedLocations(at[:], weight[:], math.Inf(-1), math.Inf(1))
	// ln sigma = -ln beta; its covariance with mu by the delta method
	muSE, logSE := w.MuSE, w.SigmaSE/w.Sigma
	slope, rest := 0.0, logSE
	if muSE > 0 {
		slope = w.muSigma / w.Sigma / muSE
		rest = math.Sqrt(max(0, logSE*logSE-slope*slope))
	}
	out := make([]float64, len(parts)+1)
	chances := make([]float64, len(parts))
	for i := range points {
		for j := range points {
			u, v := math.Sqrt2*at[i], math.Sqrt2*at[j]
			sigma := w.Sigma * math.Exp(slope*u+rest*v)
			drawn := Weibull{Eta: math.Exp(w.Mu + muSE*u), Beta: 1 / sigma}
			for n, p := range parts {
				chances[n] = either(drawn.FailsWithin(p.Age, p.Use), happens(rate, p.Use))
			}
			for k, c := range PoissonBinomial(chances) {
				out[k] += weight[i] * weight[j] / math.Pi * c
			}
		}
	}
	return out
}

// FailsOf is the mean number of the parts that fail in their further use by the curve as estimated, or by the second cause.
func (w *Weibull) FailsOf(parts []Ageing, rate float64) float64 {
	sum := 0.0
	for _, p := range parts {
		sum += either(w.FailsWithin(p.Age, p.Use), happens(rate, p.Use))
	}
	return sum
}
