package wear

import (
	"math"

	"shedbook/rules/stats"
)

// Alone is one part by itself: a straight line through its own readings, and where it meets the limit.
type Alone struct {
	Line *stats.Line
	// At is the use at which the line meets the limit, with Fieller's limits at Level.
	At stats.Inverse
}

// FitAlone fits one part by itself, its sizes rounded to step (0: found from its readings). Readings that lie on a line by chance are no better than their
// rounding: the line's standard deviation is step/sqrt(12) at least, as in the model of all. The error is stats.ErrTooFew below three readings, stats.ErrNoSpread where all were taken at one use, ErrNoWear where the
// slope could be level or the other way (Fieller's g >= 1).
func FitAlone(p Part, limit float64, falls bool, step float64) (Alone, error) {
	var x, y []float64
	if p.HasStart {
		x, y = append(x, 0), append(y, p.Start)
	}
	for _, r := range p.Readings {
		x, y = append(x, sum(r.Use)), append(y, r.Size)
	}
	l, err := stats.FitLine(x, y)
	if err != nil {
		return Alone{}, err
	}
	if step == 0 {
		step = (&Data{Parts: []Part{p}}).Rounding()
	}
	atLeast(l, step/math.Sqrt(12))
	a := Alone{Line: l}
	if a.At, err = l.MeanReachedBy(limit, Level); err != nil || (l.Slope < 0) != falls {
		return a, ErrNoWear
	}
	return a, nil
}

// atLeast holds a line's standard deviation at sigma or above, and its standard errors with it.
func atLeast(l *stats.Line, sigma float64) {
	if l.Sigma >= sigma {
		return
	}
	l.Sigma = sigma
	l.SlopeSE = sigma / math.Sqrt(l.Sxx)
	l.InterceptSE = sigma * math.Sqrt(1/float64(l.N)+l.MeanX*l.MeanX/l.Sxx)
}
