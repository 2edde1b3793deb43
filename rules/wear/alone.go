package wear

import "shedbook/rules/stats"

// Alone is one part by itself: a straight line through its own readings, and where it meets the limit.
type Alone struct {
	Line *stats.Line
	// At is the use at which the line meets the limit, with Fieller's limits at Level.
	At stats.Inverse
}

// FitAlone fits one part by itself. The error is stats.ErrTooFew below three readings, stats.ErrNoSpread where all were taken at one use, ErrNoWear where the
// slope could be level or the other way (Fieller's g >= 1).
func FitAlone(p Part, limit float64, falls bool) (Alone, error) {
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
	a := Alone{Line: l}
	if a.At, err = l.MeanReachedBy(limit, Level); err != nil || (l.Slope < 0) != falls {
		return a, ErrNoWear
	}
	return a, nil
}
