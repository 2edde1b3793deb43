package stats

import (
	"errors"
	"math"
	"testing"
)

// The straight lines of NIST/ITL's reference data sets: Norris, certified.
func TestCertifiedLine(t *testing.T) {
	d := table(t, "norris")
	l, err := FitLine(d[1], d[0])
	if err != nil {
		t.Fatal(err)
	}
	near(t, "intercept", l.Intercept, -0.262323073774029, 1e-10)
	near(t, "slope", l.Slope, 1.00211681802045, 1e-13)
	near(t, "its error", l.SlopeSE, 0.000429796848199937, 1e-10)
	near(t, "the intercept's", l.InterceptSE, 0.232818234301152, 1e-10)
	near(t, "residual standard deviation", l.Sigma, 0.884796396144373, 1e-10)
	near(t, "R2", l.R2, 0.999993745883712, 1e-14)
}

// Stopping distances: confidence and prediction intervals at 95 %, as public tutorials of R print them (29.6 [24.4, 34.8] and so on), in full digits worked
// out with R's predict.
func TestPredictionIntervals(t *testing.T) {
	d := table(t, "cars")
	l, err := FitLine(d[0], d[1])
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct{ x, fit, low, high, meanLow, meanHigh float64 }{
		{12, 29.6098102189781, -1.74952880540129, 60.9691492433576, 24.3951376695922, 34.8244827683641},
		{19, 57.1366715328467, 25.76175641898335, 88.5115866467101, 51.8291331059029, 62.4442099597906},
		{24, 76.7987153284672, 44.75247826956893, 108.8449523873654, 68.3876526496819, 85.2097780072524},
	} {
		p, err := l.Prediction(row.x, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		m, _ := l.Mean(row.x, 0.95)
		within(t, "fit", l.At(row.x), row.fit, 1e-10)
		within(t, "low", p.Low, row.low, 1e-8)
		within(t, "high", p.High, row.high, 1e-8)
		within(t, "mean low", m.Low, row.meanLow, 1e-8)
		within(t, "mean high", m.High, row.meanHigh, 1e-8)
	}
}

// Inverse prediction with Fieller's limits: the worked examples of Graybill and Iyer (1994, pp. 431 and 433) and the R Journal 2014-009, to their printed digits
// and, in full digits, as worked out by Fieller's formula.
func TestInversePrediction(t *testing.T) {
	thermostat, chamber, arsenic := table(t, "thermostat"), table(t, "chamber"), table(t, "arsenic")
	for _, test := range []struct {
		name                      string
		d                         [][]float64
		y, level                  float64
		ofMean                    bool
		printed, low, high        float64
		digits                    float64 // half a unit of the last printed digit
		estimate, lower, upper, g float64
	}{
		{"thermostat, 104 at 95 %", thermostat, 104, 0.95, false, 103.995, 103.4, 104.6, 0.05, 103.99491564594407, 103.40405114241237, 104.58945938466409, 0.00184560609956445},
		{"thermostat, 100 at 90 %", thermostat, 100, 0.90, false, 100.1, 99.63, 100.59, 0.05, 100.11231800323550, 99.62940289531219, 100.58850313225430, 0.00116393454284728},
		{"chamber, mean response 400 at 99 %", chamber, 400, 0.99, true, 66.5, 65.07, 68.03, 0.05, 66.5200432069131, 65.0708935302771, 68.0258324997184, 0.00171133592242046},
		{"arsenic, 3 at 90 %", arsenic, 3, 0.90, false, 2.9314, 2.6035, 3.2587, 0.00006, 2.931449061379456822, 2.603537273503376159, 3.258657940924686525, 0.000617775860819366},
	} {
		t.Run(test.name, func(t *testing.T) {
			l, err := FitLine(test.d[0], test.d[1])
			if err != nil {
				t.Fatal(err)
			}
			inverse := l.ReachedBy
			if test.ofMean {
				inverse = l.MeanReachedBy
			}
			got, err := inverse(test.y, test.level)
			if err != nil {
				t.Fatal(err)
			}
			within(t, "printed estimate", got.X, test.printed, test.digits)
			within(t, "printed lower limit", got.Limits.Low, test.low, test.digits)
			within(t, "printed upper limit", got.Limits.High, test.high, test.digits)
			near(t, "estimate", got.X, test.estimate, 1e-12)
			near(t, "lower limit", got.Limits.Low, test.lower, 1e-11)
			near(t, "upper limit", got.Limits.High, test.upper, 1e-11)
			near(t, "g", got.G, test.g, 1e-9)
		})
	}
}

// A slope that could be level has no inverse prediction; the error says so and no number is given.
func TestNoSlopeNoInverse(t *testing.T) {
	l, err := FitLine([]float64{0, 1, 2, 3}, []float64{5.9, 5.7, 6.0, 5.8})
	if err != nil {
		t.Fatal(err)
	}
	if got, err := l.ReachedBy(5, 0.8); !errors.Is(err, ErrNoSlope) || got.X != 0 || got.G < 1 {
		t.Errorf("%+v, %v", got, err)
	}
	level, err := FitLine([]float64{0, 1, 2}, []float64{3, 3, 3})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := level.ReachedBy(2, 0.8); !errors.Is(err, ErrNoSlope) {
		t.Errorf("%v", err)
	}
	if level.R2 != 0 || level.Sigma != 0 {
		t.Errorf("%+v", level)
	}
}

func TestLineRefuses(t *testing.T) {
	for name, test := range map[string]struct {
		x, y []float64
		want error
	}{
		"two points":                  {[]float64{1, 2}, []float64{1, 2}, ErrTooFew},
		"one place":                   {[]float64{7, 7, 7}, []float64{1, 2, 3}, ErrNoSpread},
		"one place, but for rounding": {[]float64{1e9, 1e9 + 1e-7, 1e9}, []float64{1, 2, 3}, ErrNoSpread},
		"not a number":                {[]float64{1, 2, math.Inf(1)}, []float64{1, 2, 3}, ErrNotFinite},
	} {
		if _, err := FitLine(test.x, test.y); !errors.Is(err, test.want) {
			t.Errorf("%s: %v, want %v", name, err, test.want)
		}
	}
}

// Quantiles as R's qt and qnorm give them.
func TestQuantiles(t *testing.T) {
	for _, q := range []struct{ p, df, want float64 }{
		{0.95, 1, 6.313752}, {0.95, 2, 2.919986}, {0.95, 5, 2.015048}, {0.95, 30, 1.697261}, {0.95, 120, 1.657651},
		{0.975, 1, 12.706205}, {0.975, 3, 3.182446}, {0.975, 10, 2.228139}, {0.975, 60, 2.000298},
		{0.995, 1, 63.656741}, {0.995, 2, 9.924843}, {0.995, 20, 2.845340}, {0.995, 120, 2.617421},
		{0.9, math.Inf(1), 1.281551566}, {0.95, math.Inf(1), 1.644853627}, {0.975, math.Inf(1), 1.959963985}, {0.99, math.Inf(1), 2.326347874},
	} {
		within(t, "quantile", StudentQuantile(q.p, q.df), q.want, 6e-7)
	}
}
