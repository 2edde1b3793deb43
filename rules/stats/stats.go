// Package stats is the arithmetic behind wear, part lives and forecasts: least squares with inverse prediction, a mixed model for many like parts by
// restricted maximum likelihood, Weibull lives, survival and recurrences.
//
// Numbers in, numbers out: it knows nothing of machines, entries, units or dates. All of it is deterministic; nothing is random, nothing is kept between calls.
//
// What it promises:
//
//   - A result is finite. Where data cannot give one (a slope that could be level, no failures, too few points) the error says which, and the caller says it
//     in words; no NaN and no infinite number leaves the package unless its comment says so.
//   - Sums are centred and matrices are factored by QR or Cholesky, never inverted by normal equations of raw powers. Each result is held to a published
//     data set in its tests (NIST StRD and others, named there).
//   - A search for a maximum checks its start and reports whether it converged; variances on their boundary come out as exactly zero.
package stats

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Errors of data that cannot say what was asked.
var (
	// ErrTooFew: fewer points than the model has unknowns, plus one.
	ErrTooFew = errors.New("too few points")
	// ErrNoSpread: all points lie at one place, or columns depend on each other.
	ErrNoSpread = errors.New("the points do not differ in what is to explain them")
	// ErrNotFinite: a value handed in is NaN or infinite, or so large that its square is.
	ErrNotFinite = errors.New("a value is not finite")
	// ErrNoSlope: the slope could be level at the level asked (g >= 1), so an inverse prediction has no finite limits.
	ErrNoSlope = errors.New("the slope is not established")
	// ErrNoFailures: nothing failed, so there is no life to estimate.
	ErrNoFailures = errors.New("no failures")
	// ErrNoMaximum: the search for the best fit did not come to an end.
	ErrNoMaximum = errors.New("no best fit was found")
)

// Interval is a closed range.
type Interval struct{ Low, High float64 }

// Contains reports whether x lies in the interval.
func (i Interval) Contains(x float64) bool { return i.Low <= x && x <= i.High }

// StudentQuantile returns the p-quantile of Student's t with df degrees of freedom, 0 < p < 1 and df > 0. An infinite df is the normal distribution's.
func StudentQuantile(p, df float64) float64 {
	if math.IsInf(df, 1) {
		return NormalQuantile(p)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.Quantile(p)
}

// NormalQuantile returns the p-quantile of the standard normal distribution, 0 < p < 1.
func NormalQuantile(p float64) float64 { return distuv.UnitNormal.Quantile(p) }

// NormalCDF returns the chance that a standard normal value is at most z.
func NormalCDF(z float64) float64 { return distuv.UnitNormal.CDF(z) }

// twoSided is the t quantile that leaves (1-level)/2 on either side.
func twoSided(level, df float64) (float64, error) {
	if !(level > 0 && level < 1) {
		return 0, fmt.Errorf("level %v: want one between 0 and 1", level)
	}
	if df < 1 {
		return 0, ErrTooFew
	}
	return StudentQuantile(1-(1-level)/2, df), nil
}

// finite is an error if any value is NaN, infinite or beyond 1e150.
func finite(columns ...[]float64) error {
	for _, c := range columns {
		for _, v := range c {
			if !(math.Abs(v) < 1e150) {
				return ErrNotFinite
			}
		}
	}
	return nil
}

func same(n int, columns ...[]float64) error {
	for _, c := range columns {
		if len(c) != n {
			return fmt.Errorf("columns of %d and %d values", n, len(c))
		}
	}
	return nil
}

func mean(x []float64) float64 {
	m := 0.0
	for i, v := range x {
		m += (v - m) / float64(i+1)
	}
	return m
}
