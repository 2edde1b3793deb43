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
	From   float64 // the use it had when it was first watched: those that failed before were never seen (left truncated); below Time
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

// FitWeibull fits lives with right censoring by maximum likelihood (Meeker and Escobar, Statistical Methods for Reliability Data, 1998, chapter 8; left
// truncation: section 11.6). Times are scaled by their greatest first. Where all are watched from new, the shape is the root of its own likelihood equation, which has just
// one; otherwise that root which is the most likely of shapes from 0.05 to 50. It needs failures at two different times at least, or one and something that
// outlived it: the error is ErrNoFailures, ErrTooFew, ErrNoMaximum or ErrNotFinite.
func FitWeibull(lives []Life) (*Weibull, error) {
	w := &Weibull{}
	p := &profile{lives: lives}
	truncated := false
	for _, l := range lives {
		if !(l.Time > 0) || l.Time > 1e150 || !(l.weight() > 0) || l.weight() > 1e150 || !(l.From >= 0 && l.From < l.Time) {
			return nil, ErrNotFinite
		}
		w.N += l.weight()
		p.longest = max(p.longest, l.Time)
		truncated = truncated || l.From > 0
		if l.Failed {
			w.Failures += l.weight()
		}
	}
	if w.Failures == 0 {
		return nil, ErrNoFailures
	}
	p.failures = w.Failures
	lastFailure, different := 0.0, false
	for _, l := range lives {
		if l.Failed {
			p.logs += l.weight() * math.Log(l.Time/p.longest)
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
	bracket := p.only
	if truncated {
		bracket = p.best
	}
	low, high, err := bracket()
	if err != nil {
		return nil, err
	}
	for range 200 {
		if mid := (low + high) / 2; p.equation(mid) < 0 {
			low = mid
		} else {
			high = mid
		}
	}
	w.Beta = (low + high) / 2
	s0, _ := p.sums(w.Beta)
	w.Eta = p.longest * math.Pow(s0/w.Failures, 1/w.Beta)
	w.Mu, w.Sigma = math.Log(w.Eta), 1/w.Beta
	return w, w.information(lives)
}

// profile is the likelihood as a function of the shape alone: for each shape the best characteristic life is known.
type profile struct {
	lives                   []Life
	longest, logs, failures float64 // logs: of the failures' times by the longest
}

// sums are the sum of t^b and that of t^b ln t over all lives, less what they had when first watched; t by the longest.
func (p *profile) sums(b float64) (s0, s1 float64) {
	add := func(t, weight float64) {
		power := weight * math.Pow(t, b)
		s0 += power
		if t > 0 && t < 1 {
			s1 += power * math.Log(t)
		}
	}
	for _, l := range p.lives {
		add(l.Time/p.longest, l.weight())
		if l.From > 0 {
			add(l.From/p.longest, -l.weight())
		}
	}
	return s0, s1
}

// equation is minus the slope of the profile in b, by the failures: sum t^b ln t / sum t^b - 1/b - mean ln t of failures. Watched from new it grows in b.
func (p *profile) equation(b float64) float64 {
	s0, s1 := p.sums(b)
	return s1/s0 - 1/b - p.logs/p.failures
}

// only brackets the one root there is where all are watched from new.
func (p *profile) only() (low, high float64, err error) {
	low, high = 1e-3, 1
	for p.equation(high) < 0 {
		if high *= 2; high > 1e6 {
			return 0, 0, ErrTooFew
		}
	}
	for p.equation(low) > 0 {
		if low /= 2; low < 1e-12 {
			return 0, 0, ErrNoMaximum
		}
	}
	return low, high, nil
}

// best brackets the most likely of the roots between the least and the greatest shape.
func (p *profile) best() (low, high float64, err error) {
	const least, greatest, steps = 0.05, 50, 400
	at := func(i int) float64 { return least * math.Pow(greatest/least, float64(i)/steps) }
	best, highest := 0, math.Inf(-1)
	for i := range steps + 1 {
		b := at(i)
		s0, _ := p.sums(b)
		if l := p.failures*(math.Log(b)-math.Log(s0/p.failures)) + (b-1)*p.logs; l > highest {
			best, highest = i, l
		}
	}
	if best == 0 || best == steps {
		return 0, 0, ErrNoMaximum
	}
	low, high = at(best-1), at(best+1)
	if p.equation(low) > 0 || p.equation(high) < 0 {
		return 0, 0, ErrNoMaximum
	}
	return low, high, nil
}

// information fills in the log-likelihood and the standard errors from its second derivatives in mu and sigma.
func (w *Weibull) information(lives []Life) error {
	var mm, ms, ss float64
	for _, l := range lives {
		z := (math.Log(l.Time) - w.Mu) / w.Sigma
		e, k := math.Exp(z), l.weight()
		s2 := w.Sigma * w.Sigma
		mm += k * e / s2
		ms += k * (e*(1+z) - failed(l)) / s2
		ss += k * (e*z*(z+2) - failed(l)*(1+2*z)) / s2
		w.LogLik += k * (failed(l)*(z-math.Log(w.Sigma)-math.Log(l.Time)) - e)
		if l.From > 0 {
			z := (math.Log(l.From) - w.Mu) / w.Sigma
			e := math.Exp(z)
			mm -= k * e / s2
			ms -= k * e * (1 + z) / s2
			ss -= k * e * z * (z + 2) / s2
			w.LogLik += k * e
		}
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
	if math.IsInf(from, 1) {
		return 1
	}
	return -math.Expm1(from - math.Pow((max(age, 0)+use)/w.Eta, w.Beta))
}
