package stats

import (
	"testing"

	"gonum.org/v1/gonum/mat"
)

// whole predicts by solving Henderson's equations for all fixed effects, discs and seasons at once.
func whole(t *testing.T, m Mixed, f *MixedFit, disc int, x float64, seasons []float64) (value, variance float64) {
	t.Helper()
	n, discs := len(m.Y), 0
	for _, g := range m.Group {
		discs = max(discs, g+1)
	}
	k := 2 + discs + 1 + 3 // one more disc, never measured
	c := mat.NewDense(n, k, nil)
	for i := range n {
		c.Set(i, 0, m.X[0][i])
		c.Set(i, 1, m.X[1][i])
		c.Set(i, 2+m.Group[i], m.Z[0][i])
		for s := range 3 {
			c.Set(i, 2+discs+1+s, m.Crossed[0][s][i])
		}
	}
	var left mat.Dense
	left.Mul(c.T(), c)
	for d := range discs + 1 {
		left.Set(2+d, 2+d, left.At(2+d, 2+d)+square(f.Sigma/f.GroupSD[0]))
	}
	for s := range 3 {
		j := 2 + discs + 1 + s
		left.Set(j, j, left.At(j, j)+square(f.Sigma/f.CrossedSD[0]))
	}
	var inverse mat.Dense
	if err := inverse.Inverse(&left); err != nil {
		t.Fatal(err)
	}
	var right, all mat.VecDense
	right.MulVec(c.T(), mat.NewVecDense(n, m.Y))
	all.MulVec(&inverse, &right)
	row := mat.NewVecDense(k, nil)
	row.SetVec(0, 1)
	row.SetVec(1, x)
	if disc < 0 {
		disc = discs
	}
	row.SetVec(2+disc, x)
	for s, v := range seasons {
		row.SetVec(2+discs+1+s, v)
	}
	return mat.Dot(row, &all), square(f.Sigma) * mat.Inner(row, &inverse, row)
}
