package stats

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// LeastSquares is a fit y = X Coef with its standard errors.
type LeastSquares struct {
	N, DF    int
	Coef, SE []float64
	RSS      float64 // residual sum of squares
	Sigma    float64 // residual standard deviation
	cov      *mat.SymDense
}

// FitLeastSquares fits y on the columns by Householder QR of the columns scaled to length one (Golub and Van Loan, Matrix Computations, section 5.3), and one
// step of refinement. A constant is a column of ones like any other. The error is ErrTooFew (not more rows than columns), ErrNoSpread (a column is a combination
// of others, to one part in 10^13) or ErrNotFinite.
func FitLeastSquares(columns [][]float64, y []float64) (*LeastSquares, error) {
	n, p := len(y), len(columns)
	if err := same(n, columns...); err != nil {
		return nil, err
	}
	if err := finite(append([][]float64{y}, columns...)...); err != nil {
		return nil, err
	}
	if p == 0 || n <= p {
		return nil, ErrTooFew
	}
	x := mat.NewDense(n, p, nil)
	scale := make([]float64, p)
	for j, c := range columns {
		scale[j] = mat.Norm(mat.NewVecDense(n, append([]float64(nil), c...)), 2)
		if scale[j] == 0 {
			return nil, ErrNoSpread
		}
		for i, v := range c {
			x.Set(i, j, v/scale[j])
		}
	}
	var qr mat.QR
	qr.Factorize(x)
	if !(qr.Cond() < 1e13) {
		return nil, ErrNoSpread
	}
	var b, again mat.VecDense
	r := mat.NewVecDense(n, append([]float64(nil), y...))
	if err := qr.SolveVecTo(&b, false, r); err != nil {
		return nil, ErrNoSpread
	}
	residual(r, x, &b, y)
	if err := qr.SolveVecTo(&again, false, r); err != nil {
		return nil, ErrNoSpread
	}
	b.AddVec(&b, &again)
	residual(r, x, &b, y)
	f := &LeastSquares{N: n, DF: n - p, Coef: make([]float64, p), SE: make([]float64, p), RSS: square(mat.Norm(r, 2))}
	f.Sigma = math.Sqrt(f.RSS / float64(f.DF))
	var upper mat.Dense
	qr.RTo(&upper)
	inverse := mat.NewTriDense(p, mat.Upper, nil)
	for i := range p {
		for j := i; j < p; j++ {
			inverse.SetTri(i, j, upper.At(i, j))
		}
	}
	if err := inverse.InverseTri(inverse); err != nil {
		return nil, ErrNoSpread
	}
	f.cov = mat.NewSymDense(p, nil)
	f.cov.SymOuterK(square(f.Sigma), inverse)
	for i := range p {
		for j := i; j < p; j++ {
			f.cov.SetSym(i, j, f.cov.At(i, j)/(scale[i]*scale[j]))
		}
	}
	for j := range p {
		f.Coef[j] = b.AtVec(j) / scale[j]
		f.SE[j] = math.Sqrt(f.cov.At(j, j))
	}
	return f, nil
}

// residual sets r to y - x b.
func residual(r *mat.VecDense, x *mat.Dense, b *mat.VecDense, y []float64) {
	r.MulVec(x, b)
	for i := range y {
		r.SetVec(i, y[i]-r.AtVec(i))
	}
}

// Mean is the estimate at a row of the columns' values, and its standard error.
func (f *LeastSquares) Mean(row []float64) (value, se float64) {
	v := mat.NewVecDense(len(row), append([]float64(nil), row...))
	return mat.Dot(v, mat.NewVecDense(len(f.Coef), f.Coef)), math.Sqrt(mat.Inner(v, f.cov, v))
}
