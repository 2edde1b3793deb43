package stats

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// PoissonLimits are the exact limits of the mean number of events of which count were seen (Garwood, Biometrika 28, 1936): half the chi-squared quantiles of 2 count
// and of 2 count + 2 degrees of freedom. Of none seen the lower limit is 0. 0 < level < 1.
func PoissonLimits(count int, level float64) Interval {
	tail := (1 - level) / 2
	high := distuv.ChiSquared{K: 2*float64(max(count, 0)) + 2}.Quantile(1-tail) / 2
	if count <= 0 {
		return Interval{0, high}
	}
	return Interval{distuv.ChiSquared{K: 2 * float64(count)}.Quantile(tail) / 2, high}
}

// Differ is the chance that groups of one and the same life differ in their fits as much as these do, by the ratio of likelihoods: twice what the fits apart have more of
// log-likelihood than the fit of them all, against chi-squared with two degrees of freedom for each group after the first. A small chance says that they are not one
// life. It rests on many failures in each; with few it is too ready to see a difference. Of fewer than two groups it is 1.
func Differ(whole *Weibull, groups []*Weibull) float64 {
	if len(groups) < 2 {
		return 1
	}
	more := -whole.LogLik
	for _, g := range groups {
		more += g.LogLik
	}
	return distuv.ChiSquared{K: 2 * float64(len(groups)-1)}.Survival(max(0, 2*more))
}

// PoissonBinomial gives the chances of 0, 1, ... len(chances) events, where each may happen or not by its own chance.
func PoissonBinomial(chances []float64) []float64 {
	out := make([]float64, 1, len(chances)+1)
	out[0] = 1
	for _, p := range chances {
		p = min(1, max(0, p))
		out = append(out, 0)
		for k := len(out) - 1; k > 0; k-- {
			out[k] = out[k]*(1-p) + out[k-1]*p
		}
		out[0] *= 1 - p
	}
	return out
}

// CountQuantile is the least count that is reached or stayed under with a chance of at least p, by the chances of 0, 1, ... events.
func CountQuantile(chances []float64, p float64) int {
	sum := 0.0
	for k, c := range chances {
		if sum += c; sum >= p-1e-12 {
			return k
		}
	}
	return max(0, len(chances)-1)
}

// CountMean is the mean count, by the chances of 0, 1, ... events.
func CountMean(chances []float64) float64 {
	m := 0.0
	for k, c := range chances {
		m += float64(k) * c
	}
	return m
}

// PoissonAhead gives the chances of 0, 1, ... most events in a further exposure, where seen of them came in one so far: the negative binomial that a Poisson count is
// when its rate is known from a count only (gamma with Jeffreys' shape seen + 1/2). What is beyond most is put to most. An exposure of 0 so far is no ground to foresee
// anything: all of it is put to 0.
func PoissonAhead(seen int, exposure, ahead float64, most int) []float64 {
	out := make([]float64, most+1)
	if !(exposure > 0 && ahead > 0) {
		out[0] = 1
		return out
	}
	shape, share := float64(seen)+0.5, ahead/(exposure+ahead)
	p, sum := math.Pow(1-share, shape), 0.0
	for k := range most {
		out[k] = p
		sum += p
		p *= share * (shape + float64(k)) / float64(k+1)
	}
	out[most] = max(0, 1-sum)
	return out
}

// either is the chance that at least one of two independent things happens.
func either(a, b float64) float64 { return 1 - (1-a)*(1-b) }

// happens is the chance of at least one event of a rate over so much use.
func happens(rate, use float64) float64 { return -math.Expm1(-max(0, rate*use)) }
