package stats

import (
	"errors"
	"fmt"
	"math"
	"testing"
)

// NIST/ITL Statistical Reference Datasets, linear regression: certified values, to 15 digits. Agreement asked: nine digits, seven where NIST calls the data of
// higher difficulty.
func TestCertifiedLeastSquares(t *testing.T) {
	norris, pontius, noint1, noint2 := table(t, "norris"), table(t, "pontius"), table(t, "noint1"), table(t, "noint2")
	longley, wampler := table(t, "longley"), table(t, "wampler1")
	for _, test := range []struct {
		name     string
		columns  [][]float64
		y        []float64
		coef, se []float64
		sigma    float64
		rss      float64
		relative float64
	}{
		{"Norris", [][]float64{ones(36), norris[1]}, norris[0], []float64{-0.262323073774029, 1.00211681802045}, []float64{0.232818234301152, 0.000429796848199937},
			0.884796396144373, 26.6173985294224, 1e-9},
		{"Pontius", [][]float64{ones(40), pontius[1], power(pontius[1], 2)}, pontius[0], []float64{0.000673565789473684, 7.32059160401003e-07, -3.16081871345029e-15},
			[]float64{0.000107938612033077, 1.57817399981659e-10, 4.86652849992036e-17}, 0.000205177424076185, 1.55761768796992e-06, 1e-9},
		{"NoInt1", [][]float64{noint1[1]}, noint1[0], []float64{2.07438016528926}, []float64{0.0165289256198347}, 3.56753034006338, 127.272727272727, 1e-9},
		{"NoInt2", [][]float64{noint2[1]}, noint2[0], []float64{0.727272727272727}, []float64{0.0420827318078432}, 0.369274472937998, 0.272727272727273, 1e-9},
		{"Longley", append([][]float64{ones(16)}, longley[1:]...), longley[0],
			[]float64{-3482258.63459582, 15.0618722713733, -0.035819179292591, -2.02022980381683, -1.03322686717359, -0.0511041056535807, 1829.15146461355},
			[]float64{890420.383607373, 84.9149257747669, 0.0334910077722432, 0.488399681651699, 0.214274163161675, 0.22607320006937, 455.478499142212},
			304.854073561965, 836424.055505915, 1e-7},
	} {
		t.Run(test.name, func(t *testing.T) {
			f, err := FitLeastSquares(test.columns, test.y)
			if err != nil {
				t.Fatal(err)
			}
			for j := range test.coef {
				near(t, fmt.Sprint("coefficient ", j), f.Coef[j], test.coef[j], test.relative)
				near(t, fmt.Sprint("standard error ", j), f.SE[j], test.se[j], test.relative)
			}
			near(t, "residual standard deviation", f.Sigma, test.sigma, test.relative)
			near(t, "residual sum of squares", f.RSS, test.rss, 2*test.relative)
		})
	}
	t.Run("Wampler1", func(t *testing.T) { // certified: all ones, no residual
		var columns [][]float64
		for n := range 6 {
			columns = append(columns, power(wampler[1], float64(n)))
		}
		f, err := FitLeastSquares(columns, wampler[0])
		if err != nil {
			t.Fatal(err)
		}
		for j, c := range f.Coef {
			within(t, fmt.Sprint("coefficient ", j), c, 1, 1e-7)
		}
		within(t, "residual standard deviation", f.Sigma, 0, 1e-6)
	})
}

// What cannot be fitted says why.
func TestLeastSquaresRefuses(t *testing.T) {
	x := []float64{1, 2, 3, 4}
	for name, test := range map[string]struct {
		columns [][]float64
		y       []float64
		want    error
	}{
		"as many unknowns as points":     {[][]float64{ones(2), {1, 2}}, []float64{1, 2}, ErrTooFew},
		"no points":                      {[][]float64{{}}, nil, ErrTooFew},
		"one column a multiple of other": {[][]float64{ones(4), x, {2, 4, 6, 8}}, x, ErrNoSpread},
		"a column of nothing":            {[][]float64{ones(4), make([]float64, 4)}, x, ErrNoSpread},
		"not a number":                   {[][]float64{ones(4), x}, []float64{1, 2, math.NaN(), 4}, ErrNotFinite},
	} {
		if _, err := FitLeastSquares(test.columns, test.y); !errors.Is(err, test.want) {
			t.Errorf("%s: %v, want %v", name, err, test.want)
		}
	}
}
