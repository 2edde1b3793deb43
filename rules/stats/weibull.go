package stats

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Life is how long one part lasted, or has lasted so far.
type Life struct {
	Time   float64 // of use, above 0
	Failed bool    // worn out; false: still running, or taken out in good time (right censored)
	Count  float64 // how many alike; 0 is 1
}

func (l Life) weight() float64 {
	if l.Count == 0 {
		return 1
	}
	return l.Count
}

// Weibull is a fit of S(t) = exp(-(t/Eta)^Beta) by maximum likelihood.
type Weibull struct {
	Eta, Beta     float64 // characteristic life; shape: below 1 early failures, 1 chance, above 1 wear
	EtaSE, BetaSE float64 // from the observed information
	Mu, Sigma     float64 // ln Eta and 1/Beta, in which the fit is made
	MuSE, SigmaSE float64
	LogLik        float64
	N, Failures   float64
	muSigma       float64 // their covariance
}

// FitWeibull fits lives with right censoring by maximum likelihood (Meeker and Escobar, Statistical Methods for Reliability Data, 1998, chapter 8). The shape is
// the root of its own likelihood equation, which has just one; times are scaled by their greatest first. It needs failures at two different times at least,
// or one and something that outlived it: the error is ErrNoFailures, ErrTooFew or ErrNotFinite.
func FitWeibull(lives []Life) (*Weibull, error) {
	w := &Weibull{}
	longest, logs := 0.0, 0.0
	for _, l := range lives {
		if !(l.Time > 0) || l.Time > 1e150 || !(l.weight() > 0) || l.weight() > 1e150 {
			return nil, ErrNotFinite
		}
		w.N += l.weight()
		longest = max(longest, l.Time)
		if l.Failed {
			w.Failures += l.weight()
		}
	}
	if w.Failures == 0 {
		return nil, ErrNoFailures
	}
	lastFailure, different := 0.0, false
	for _, l := range lives {
		if l.Failed {
			logs += l.weight() * math.Log(l.Time/longest)
			different = different || lastFailure != 0 && l.Time != lastFailure
			lastFailure = l.Time
		}
	}
	for _, l := range lives {
		different = different || !l.Failed && l.Time > lastFailure
	}
	if !different {
		return nil, ErrTooFew // all failed at one time: the steeper the shape the better, without end
	}
	// sum t^b ln t / sum t^b - 1/b - mean ln t of failures = 0, growing in b
	equation := func(b float64) float64 {
		var s0, s1 float64
		for _, l := range lives {
			t := l.Time / longest
			p := l.weight() * math.Pow(t, b)
			s0 += p
			if t < 1 {
				s1 += p * math.Log(t)
			}
		}
		return s1/s0 - 1/b - logs/w.Failures
	}
	low, high := 1e-3, 1.0
	for equation(high) < 0 {
		if high *= 2; high > 1e6 {
			return nil, ErrTooFew
		}
	}
	for equation(low) > 0 {
		if low /= 2; low < 1e-12 {
			return nil, ErrNoMaximum
		}
	}
	for range 200 {
		if mid := (low + high) / 2; equation(mid) < 0 {
			low = mid
		} else {
			high = mid
		}
	}
	w.Beta = (low + high) / 2
	s0 := 0.0
	for _, l := range lives {
		s0 += l.weight() * math.Pow(l.Time/longest, w.Beta)
	}
	w.Eta = longest * math.Pow(s0/w.Failures, 1/w.Beta)
	w.Mu, w.Sigma = math.Log(w.Eta), 1/w.Beta
	return w, w.information(lives)
}

// information fills in the log-likelihood and the standard errors from its second derivatives in mu and sigma.
func (w *Weibull) information(lives []Life) error {
	var mm, ms, ss float64
	for _, l := range lives {
		z := (math.Log(l.Time) - w.Mu) / w.Sigma
		e, k := math.Exp(z), l.weight()
		s2 := w.Sigma * w.Sigma
		mm += k * e / s2
		ms += k * (e*(1+z) - 1*failed(l)) / s2
		ss += k * (e*z*(z+2) - failed(l)*(1+2*z)) / s2
		w.LogLik += k * (failed(l)*(z-math.Log(w.Sigma)-math.Log(l.Time)) - e)
	}
	information := mat.NewSymDense(2, []float64{mm, ms, ms, ss})
	var chol mat.Cholesky
	if !chol.Factorize(information) {
		return ErrTooFew
	}
	var cov mat.SymDense
	if err := chol.InverseTo(&cov); err != nil {
		return ErrTooFew
	}
	w.MuSE, w.SigmaSE, w.muSigma = math.Sqrt(cov.At(0, 0)), math.Sqrt(cov.At(1, 1)), cov.At(0, 1)
	w.EtaSE, w.BetaSE = w.Eta*w.MuSE, w.SigmaSE/(w.Sigma*w.Sigma)
	return nil
}

func failed(l Life) float64 {
	if l.Failed {
		return 1
	}
	return 0
}

// Survives is the chance that a part lasts longer than t.
func (w *Weibull) Survives(t float64) float64 {
	if t <= 0 {
		return 1
	}
	return math.Exp(-math.Pow(t/w.Eta, w.Beta))
}

// Quantile is the life by which a share p of parts has failed, 0 < p < 1: p = 0.1 is B10, p = 0.5 the median. The interval at the level is the normal one of
// its logarithm.
func (w *Weibull) Quantile(p, level float64) (life float64, limits Interval) {
	z := math.Log(-math.Log1p(-p))
	log := w.Mu + w.Sigma*z
	se := math.Sqrt(square(w.MuSE) + square(z*w.SigmaSE) + 2*z*w.muSigma)
	half := NormalQuantile(1-(1-level)/2) * se
	return math.Exp(log), Interval{math.Exp(log - half), math.Exp(log + half)}
}

// Mean is the mean life, Eta Gamma(1 + 1/Beta).
func (w *Weibull) Mean() float64 { return w.Eta * math.Gamma(1+1/w.Beta) }

// FailsWithin is the chance that a part that has lasted to age fails within so much more use.
func (w *Weibull) FailsWithin(age, use float64) float64 {
	if use <= 0 {
		return 0
	}
	from := math.Pow(max(age, 0)/w.Eta, w.Beta)
	return -math.Expm1(from - math.Pow((max(age, 0)+use)/w.Eta, w.Beta))
}
