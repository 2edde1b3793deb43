package stats

import "math"

// Line is a straight line y = Intercept + Slope x fitted by least squares.
type Line struct {
	N                int
	Intercept, Slope float64
	InterceptSE      float64
	SlopeSE          float64
	Sigma            float64 // residual standard deviation, N-2 degrees of freedom
	R2               float64 // share of the spread of y that the line explains; 0 where y has none
	MeanX            float64
	Sxx              float64 // sum of squared deviations of x from its mean
	Residuals        []float64
}

// FitLine fits a straight line to at least three points, by sums about the means (Draper and Smith, Applied Regression Analysis, section 1.2). The error is
// ErrTooFew, ErrNoSpread (all x alike) or ErrNotFinite.
func FitLine(x, y []float64) (*Line, error) {
	n := len(x)
	if err := same(n, y); err != nil {
		return nil, err
	}
	if err := finite(x, y); err != nil {
		return nil, err
	}
	if n < 3 {
		return nil, ErrTooFew
	}
	mx, my := mean(x), mean(y)
	var sxx, sxy, syy float64
	for i := range x {
		dx, dy := x[i]-mx, y[i]-my
		sxx += dx * dx
		sxy += dx * dy
		syy += dy * dy
	}
	if sxx <= float64(n)*square(1e-12*mx) || sxx == 0 {
		return nil, ErrNoSpread
	}
	l := &Line{N: n, Slope: sxy / sxx, MeanX: mx, Sxx: sxx, Residuals: make([]float64, n)}
	rss := 0.0
	for i := range x {
		l.Residuals[i] = (y[i] - my) - l.Slope*(x[i]-mx)
		rss += square(l.Residuals[i])
	}
	l.Intercept = my - l.Slope*mx
	l.Sigma = math.Sqrt(rss / float64(n-2))
	l.SlopeSE = l.Sigma / math.Sqrt(sxx)
	l.InterceptSE = l.Sigma * math.Sqrt(1/float64(n)+mx*mx/sxx)
	if syy > 0 {
		l.R2 = 1 - rss/syy
	}
	return l, nil
}

// At is the line's height at x.
func (l *Line) At(x float64) float64 { return l.Intercept + l.Slope*x }

// Mean is the confidence interval of the line's height at x.
func (l *Line) Mean(x, level float64) (Interval, error) { return l.interval(x, level, 0) }

// Prediction is the interval in which one more observation at x falls with the chance level.
func (l *Line) Prediction(x, level float64) (Interval, error) { return l.interval(x, level, 1) }

func (l *Line) interval(x, level, extra float64) (Interval, error) {
	t, err := twoSided(level, float64(l.N-2))
	if err != nil {
		return Interval{}, err
	}
	half := t * l.Sigma * math.Sqrt(extra+1/float64(l.N)+square(x-l.MeanX)/l.Sxx)
	return Interval{l.At(x) - half, l.At(x) + half}, nil
}

// Inverse is where a line reaches a height: the estimate of x, its limits, and Fieller's g, the squared ratio of the slope's uncertainty to the slope.
type Inverse struct {
	X      float64
	Limits Interval
	G      float64
}

// ReachedBy is the x at which one observation is y, with Fieller's limits at the level. ErrNoSlope where g >= 1: the slope may be level, so limits do not
// exist. (Fieller 1954; Graybill and Iyer, Regression Analysis, section 6.)
func (l *Line) ReachedBy(y, level float64) (Inverse, error) { return l.inverse(y, level, 1) }

// MeanReachedBy is the x at which the line itself is y high, with Fieller's limits.
func (l *Line) MeanReachedBy(y, level float64) (Inverse, error) { return l.inverse(y, level, 0) }

func (l *Line) inverse(y, level, k float64) (Inverse, error) {
	t, err := twoSided(level, float64(l.N-2))
	if err != nil {
		return Inverse{}, err
	}
	if err := finite([]float64{y}); err != nil {
		return Inverse{}, err
	}
	if l.Slope == 0 {
		return Inverse{}, ErrNoSlope
	}
	g := square(t*l.Sigma/l.Slope) / l.Sxx
	if !(g < 1) {
		return Inverse{G: g}, ErrNoSlope
	}
	d := (y-l.Intercept)/l.Slope - l.MeanX
	half := math.Abs(t*l.Sigma/l.Slope) * math.Sqrt(d*d/l.Sxx+(1-g)*(k+1/float64(l.N)))
	return Inverse{X: l.MeanX + d, G: g, Limits: Interval{l.MeanX + (d-half)/(1-g), l.MeanX + (d+half)/(1-g)}}, nil
}

func square(x float64) float64 { return x * x }
