package stats

import (
	"fmt"
	"math"
	"testing"
)

func groups(ids []float64) []int {
	at := map[float64]int{}
	var out []int
	for _, id := range ids {
		if _, ok := at[id]; !ok {
			at[id] = len(at)
		}
		out = append(out, at[id])
	}
	return out
}

// The sleep study of the R package lme4 in three forms, worked out with nlme's lme() (REML); the rounded fits are widely published: 251.405 and 10.467,
// standard deviations 24.74 and 5.92 with correlation 0.07, residual 25.59.
func TestSleepStudy(t *testing.T) {
	d := table(t, "sleepstudy")
	base := Mixed{Y: d[0], X: [][]float64{ones(180), d[1]}, Group: groups(d[2])}
	for _, test := range []struct {
		name               string
		z                  [][]float64
		correlated         bool
		se                 [2]float64
		variances          []float64
		correlation, sigma float64 // sigma squared
		logLik             float64
		coef               map[int][2]float64
	}{
		{"correlated", [][]float64{ones(180), d[1]}, true, [2]float64{6.82451602451, 1.54578275018}, []float64{612.0795111296, 35.0713017931}, 0.066, 654.9424035279, -871.814135981,
			map[int][2]float64{0: {253.663859051, 19.666222590768}, 1: {211.006614926, 1.847569293225}, 8: {251.071172441, -0.284829094151}}},
		{"independent", [][]float64{ones(180), d[1]}, false, [2]float64{}, []float64{627.5690460506, 35.8581986429}, 0, 653.5838167419, -871.834646791,
			map[int][2]float64{0: {252.917801410, 19.790775181542}, 1: {211.031207269, 1.868116750783}, 8: {251.983829724, -0.438680269812}}},
		{"slope only", [][]float64{d[1]}, false, [2]float64{4.01997076722, 1.86955782808}, []float64{52.7080165252}, 0, 842.0296484026, -883.262513743,
			map[int][2]float64{0: {251.405104848, 20.086691559259}, 1: {251.405104848, -4.232670827965}, 8: {251.405104848, -0.433738277121}}},
	} {
		t.Run(test.name, func(t *testing.T) {
			m := base
			m.Z, m.Correlated = test.z, test.correlated
			f, err := FitMixed(m)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "intercept", f.Fixed[0], 251.4051048485, 1e-8)
			near(t, "slope", f.Fixed[1], 10.4672859596, 1e-8)
			if test.se[0] > 0 {
				near(t, "its error", f.FixedSE[0], test.se[0], 1e-4)
				near(t, "the slope's", f.FixedSE[1], test.se[1], 1e-4)
			}
			for i, v := range test.variances {
				near(t, fmt.Sprint("variance ", i), square(f.GroupSD[i]), v, 1e-4)
			}
			within(t, "correlation", f.Correlation, test.correlation, 5e-4)
			near(t, "residual variance", square(f.Sigma), test.sigma, 1e-4)
			within(t, "log-likelihood", f.LogLik, test.logLik, 1e-4)
			for g, want := range test.coef {
				u := f.GroupEffects[g]
				got := [2]float64{f.Fixed[0], f.Fixed[1] + u[len(u)-1]}
				if len(u) == 2 {
					got[0] += u[0]
				}
				near(t, fmt.Sprint("intercept of ", g), got[0], want[0], 1e-4)
				within(t, fmt.Sprint("slope of ", g), got[1], want[1], 1e-4*10.467) // of the common slope: one of them is near zero
			}
		})
	}
}

// Penicillin: plates crossed with samples (Davies and Goldsmith 1972). Widely published: standard deviations 0.8467 and 1.9316, residual 0.5499, mean
// 22.972; in full digits by a dense REML in R.
func TestPenicillin(t *testing.T) {
	d := table(t, "penicillin")
	n := len(d[0])
	samples := make([][]float64, 6)
	for s := range samples {
		samples[s] = make([]float64, n)
		for i := range n {
			if int(d[2][i]) == s {
				samples[s][i] = 1
			}
		}
	}
	f, err := FitMixed(Mixed{Y: d[0], X: [][]float64{ones(n)}, Group: groups(d[1]), Z: [][]float64{ones(n)}, Crossed: [][][]float64{samples}})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean", f.Fixed[0], 22.9722222222, 1e-8)
	near(t, "its error", f.FixedSE[0], 0.808574552753, 1e-4)
	near(t, "plates", f.GroupSD[0], 0.846703912945, 1e-4)
	near(t, "samples", f.CrossedSD[0], 1.931561368526, 1e-4)
	near(t, "residual", f.Sigma, 0.549923152298, 1e-4)
	within(t, "log-likelihood", f.LogLik, -165.430294496, 1e-4)
	for i, want := range []float64{2.1870579896614, -1.0104761597802, 1.9378994845099, -0.0968949742255, -0.0138421391750, -3.0037442009906} {
		within(t, fmt.Sprint("sample ", i), f.CrossedEffects[0][i], want, 1e-4)
	}
	for i, want := range []float64{0.8045469905538, 0.8045469905538, 0.1816719010928, 0.3373906734581, 0.0259531287276, -0.4412031883682} {
		within(t, fmt.Sprint("plate ", i), f.GroupEffects[i][0], want, 1e-4)
	}
}

// worn is the model of wear: y = a + b x + u(disc) x + sum of v(season) x(season), x in thousands.
func worn(d [][]float64) Mixed {
	n := len(d[0])
	x := make([]float64, n)
	seasons := make([][]float64, 3)
	for s := range seasons {
		seasons[s] = make([]float64, n)
		for i := range n {
			seasons[s][i] = d[2+s][i] / 1000
			x[i] += seasons[s][i]
		}
	}
	return Mixed{Y: d[5], X: [][]float64{ones(n), x}, Group: groups(d[0]), Z: [][]float64{x}, Crossed: [][][]float64{seasons}}
}

// Simulated discs under three seasons' ground, against a dense REML in R.
func TestCrossedWear(t *testing.T) {
	f, err := FitMixed(worn(table(t, "wear_crossed")))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "size when new", f.Fixed[0], 5.996389649158, 1e-6)
	near(t, "rate", f.Fixed[1], -0.360446528757, 1e-6)
	near(t, "its error", f.FixedSE[1], 0.05495192444779, 1e-4)
	near(t, "the size's", f.FixedSE[0], 0.00594538682403, 1e-4)
	near(t, "discs", f.GroupSD[0], 0.0617701498354, 1e-4)
	near(t, "seasons", f.CrossedSD[0], 0.0919399631858, 1e-4)
	near(t, "residual", f.Sigma, 0.0293604749377, 1e-4)
	within(t, "log-likelihood", f.LogLik, 163.681092789, 1e-4)
	for i, want := range []float64{0.09136932928133, -0.08640508704261, -0.00496424223874} {
		within(t, fmt.Sprint("season ", i), f.CrossedEffects[0][i], want, 1e-4)
	}
	for i, want := range []float64{0.05277646573845, 0.00328095257699, 0.06511994137945, 0.03836560994082, -0.01973385299010, -0.08534277031345} {
		within(t, fmt.Sprint("disc ", i), f.GroupEffects[i][0], want, 1e-4)
	}
}

// The same with next to no effect of season: the variance is exactly zero, on its boundary.
func TestCrossedWearOnTheBoundary(t *testing.T) {
	f, err := FitMixed(worn(table(t, "wear_crossed_boundary")))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "size when new", f.Fixed[0], 5.995972206782, 1e-6)
	near(t, "rate", f.Fixed[1], -0.367212325009, 1e-6)
	near(t, "discs", f.GroupSD[0], 0.0438211693559, 1e-4)
	near(t, "residual", f.Sigma, 0.0274829733813, 1e-4)
	within(t, "log-likelihood", f.LogLik, 178.370496813, 1e-4)
	if f.CrossedSD[0] != 0 {
		t.Errorf("seasons %v, want exactly 0", f.CrossedSD[0])
	}
}

// A prediction and its variance are those of the dense formulas (Robinson, Statistical Science 6 (1991) 15-32), worked out here by solving the whole system at
// once, for a disc measured and for one not.
func TestPredictAgainstTheWholeSystem(t *testing.T) {
	m := worn(table(t, "wear_crossed"))
	f, err := FitMixed(m)
	if err != nil {
		t.Fatal(err)
	}
	for _, disc := range []int{0, 5, 23, -1} {
		x, crossed := 1.6, [][]float64{{0.41, 0.365, 0.48}}
		p := f.Predict(disc, []float64{1, x}, []float64{x}, crossed)
		value, variance := p.Value, p.Variance()
		wantValue, wantVariance := whole(t, m, f, disc, x, crossed[0])
		near(t, fmt.Sprint("value of ", disc), value, wantValue, 1e-9)
		near(t, fmt.Sprint("variance of ", disc), variance, wantVariance, 1e-7)
	}
}

// 5,000 parts with 10 readings each.
func BenchmarkMixed5000Parts(b *testing.B) {
	m := many(5000, 10)
	for b.Loop() {
		if _, err := FitMixed(m); err != nil {
			b.Fatal(err)
		}
	}
}

// many are parts read once a season, with pseudo-random wear of known spread.
func many(parts, readings int) Mixed {
	state := uint64(1)
	normal := func() float64 { // sum of twelve uniforms: normal enough here
		t := 0.0
		for range 12 {
			state = state*6364136223846793005 + 1442695040888963407
			t += float64(state>>11) / (1 << 53)
		}
		return t - 6
	}
	seasons := make([]float64, readings)
	for s := range seasons {
		seasons[s] = 0.06 * normal()
	}
	m := Mixed{X: make([][]float64, 2), Z: make([][]float64, 1), Crossed: [][][]float64{make([][]float64, readings)}}
	for g := range parts {
		u := 0.05 * normal()
		size := 6.0
		use := make([]float64, readings)
		for r := range readings {
			use[r] = 0.4
			size -= use[r] * (0.35 + u + seasons[r])
			m.Y = append(m.Y, size+0.02*normal())
			m.Group = append(m.Group, g)
			m.X[0] = append(m.X[0], 1)
			total := 0.4 * float64(r+1)
			m.X[1] = append(m.X[1], total)
			m.Z[0] = append(m.Z[0], total)
			for s := range readings {
				v := 0.0
				if s <= r {
					v = 0.4
				}
				m.Crossed[0][s] = append(m.Crossed[0][s], v)
			}
		}
	}
	return m
}

// Simulated spreads are found again: discs 0.05 and residual 0.02 exactly as set, within their sampling error.
func TestManyParts(t *testing.T) {
	f, err := FitMixed(many(400, 6))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "discs", f.GroupSD[0], 0.05, 4/math.Sqrt(2*400))
	near(t, "residual", f.Sigma, 0.02, 4/math.Sqrt(2*2000))
}

// With the spreads of the best fit held, coefficients and their errors are those of the best fit; a condition not met yet adds its spread.
func TestMixedGiven(t *testing.T) {
	d := worn(table(t, "wear_crossed"))
	f, err := FitMixed(d)
	if err != nil {
		t.Fatal(err)
	}
	g, err := FitMixedGiven(d, Spreads{Group: f.GroupSD, Crossed: f.CrossedSD, Sigma: f.Sigma})
	if err != nil {
		t.Fatal(err)
	}
	for j := range f.Fixed {
		near(t, "coefficient", g.Fixed[j], f.Fixed[j], 1e-9)
		near(t, "its error", g.FixedSE[j], f.FixedSE[j], 1e-9)
	}
	next := d
	next.Crossed = [][][]float64{append(append([][]float64(nil), d.Crossed[0]...), make([]float64, len(d.Y)))}
	h, err := FitMixedGiven(next, Spreads{Group: f.GroupSD, Crossed: f.CrossedSD, Sigma: f.Sigma})
	if err != nil {
		t.Fatal(err)
	}
	past := make([]float64, len(d.Crossed[0]))
	for i := range past {
		past[i] = d.Crossed[0][i][len(d.Y)-1]
	}
	const more = 0.3
	x := d.X[1][len(d.Y)-1]
	group := d.Group[len(d.Y)-1]
	with := h.Predict(group, []float64{1, x + more}, []float64{x + more}, [][]float64{append(append([]float64(nil), past...), more)})
	without := f.Predict(group, []float64{1, x + more}, []float64{x + more}, [][]float64{past})
	near(t, "size", with.Value, without.Value, 1e-9)
	near(t, "spread", with.Shared, without.Shared+square(f.CrossedSD[0]*more), 1e-9)
	near(t, "own", with.Own, without.Own, 1e-9)
}
