package stats

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize"
)

// Mixed are observations of many like things, the groups (discs of a drill), under a few conditions that they share (the ground of a season):
//
//	y = X b + Z u(group) + sum over sets of W v(set) + e
//
// b are fixed; u differs from group to group and v from column to column of a set, each drawn about zero with a standard deviation of its own; e is the error
// of one observation.
type Mixed struct {
	Y     []float64
	X     [][]float64 // columns of fixed effects; a constant is a column of ones
	Group []int       // the group of each observation: 0, 1, 2 ...
	// Z are columns whose coefficient differs from group to group: none, one or two.
	Z          [][]float64
	Correlated bool // the two may be correlated
	// Crossed are sets of columns that all groups share; within a set every column has an effect of its own, drawn with one standard deviation.
	Crossed [][][]float64
	// Floor is the least standard deviation that e can have: that of rounding, of the tape. Without one, data that a model fits exactly has no best fit.
	Floor float64
}

// MixedFit is the fit by restricted maximum likelihood.
type MixedFit struct {
	Fixed, FixedSE []float64
	GroupSD        []float64 // of each column of Z; exactly 0 on the boundary
	Correlation    float64   // between the two columns of Z
	CrossedSD      []float64 // of each set
	Sigma          float64   // of one observation
	LogLik         float64   // restricted, with all constants
	GroupEffects   [][]float64
	CrossedEffects [][]float64
	Evaluations    int

	m     *mixed
	theta []float64
	sol   solved
	cov   mat.SymDense // of sol's coefficients, but for sigma squared
}

// mixed is a Mixed made ready: columns scaled to a root mean square of one, what least squares explains taken off y, and the sums of each group.
type mixed struct {
	n, p, s, q, groups     int
	correlated             bool
	set                    []int // of each crossed column
	sets                   int
	xScale, zScale, wScale []float64
	start                  []float64 // coefficients, scaled, of what was taken off y
	yScale                 float64
	floor                  float64 // variance, scaled
	total                  *mat.SymDense
	zz                     [][4]float64 // of each group: z1z1, z1z2, z2z2
	zc                     [][]float64  // of each group: q rows of the sums with each of [X W y]
	logX                   float64
}

// FitMixed fits by restricted maximum likelihood (Patterson and Thompson 1971; the profiled form of Bates, Maechler, Bolker and Walker, J. Stat. Software 67(1),
// 2015, equation 39 on). The time grows with the observations and with the square of columns, not with the square of groups. The error is ErrTooFew,
// ErrNoSpread, ErrNotFinite or ErrNoMaximum.
func FitMixed(d Mixed) (*MixedFit, error) {
	m, err := newMixed(d)
	if err != nil {
		return nil, err
	}
	theta, evaluations, err := m.search()
	if err != nil {
		return nil, err
	}
	return m.fit(theta, evaluations)
}

func newMixed(d Mixed) (*mixed, error) {
	m := &mixed{n: len(d.Y), p: len(d.X), q: len(d.Z), correlated: d.Correlated && len(d.Z) == 2, sets: len(d.Crossed)}
	if m.q > 2 || len(d.Group) != m.n && m.q > 0 {
		return nil, fmt.Errorf("mixed model: %d columns of groups, %d groups for %d observations", m.q, len(d.Group), m.n)
	}
	var w [][]float64
	for i, set := range d.Crossed {
		for _, c := range set {
			w = append(w, c)
			m.set = append(m.set, i)
		}
	}
	m.s = len(w)
	if err := same(m.n, append(append(append([][]float64(nil), d.X...), d.Z...), w...)...); err != nil {
		return nil, err
	}
	for _, g := range d.Group {
		if g < 0 {
			return nil, fmt.Errorf("mixed model: group %d", g)
		}
		m.groups = max(m.groups, g+1)
	}
	if err := finite(append(append([][]float64{d.Y}, d.Z...), w...)...); err != nil {
		return nil, err
	}
	ols, err := FitLeastSquares(d.X, d.Y)
	if err != nil {
		return nil, err
	}
	var x, z [][]float64
	x, m.xScale = scaled(d.X)
	z, m.zScale = scaled(d.Z)
	w, m.wScale = scaledSets(w, m.set)
	y := make([]float64, m.n)
	m.start = make([]float64, m.p)
	for j := range m.start {
		m.start[j] = ols.Coef[j] * m.xScale[j]
		m.logX += 2 * math.Log(m.xScale[j])
	}
	for i := range y {
		y[i] = d.Y[i]
		for j := range x {
			y[i] -= x[j][i] * m.start[j]
		}
	}
	m.yScale = math.Sqrt(dot(y, y) / float64(m.n))
	rounding := 1e-9 * math.Sqrt(dot(d.Y, d.Y)/float64(m.n)) // what floating point itself leaves
	m.yScale = max(m.yScale, rounding, math.SmallestNonzeroFloat64*1e20)
	for i := range y {
		y[i] /= m.yScale
	}
	m.floor = square(max(d.Floor, rounding) / m.yScale)
	columns := append(append(x, w...), y)
	k := len(columns)
	m.total = mat.NewSymDense(k, nil)
	for a := range columns {
		for b := a; b < k; b++ {
			m.total.SetSym(a, b, dot(columns[a], columns[b]))
		}
	}
	m.zz = make([][4]float64, m.groups)
	m.zc = make([][]float64, m.groups)
	for g := range m.zc {
		m.zc[g] = make([]float64, m.q*k)
	}
	for i := range m.n {
		if m.q == 0 {
			break
		}
		g := d.Group[i]
		for r := range m.q {
			for c := range m.q {
				m.zz[g][2*r+c] += z[r][i] * z[c][i]
			}
			for c := range columns {
				m.zc[g][r*k+c] += z[r][i] * columns[c][i]
			}
		}
	}
	return m, nil
}

// factor is the lower triangular relative factor of a group's effects for theta, and the relative standard deviation of each set.
func (m *mixed) factor(theta []float64) (t11, t21, t22 float64, sets []float64) {
	switch {
	case m.q == 0:
		return 0, 0, 0, theta
	case m.q == 1:
		return theta[0], 0, 0, theta[1:]
	case m.correlated:
		return theta[0], theta[1], theta[2], theta[3:]
	}
	return theta[0], 0, theta[1], theta[2:]
}

// unknowns is how many thetas there are.
func (m *mixed) unknowns() int {
	n := m.q + m.sets
	if m.correlated {
		n++
	}
	return n
}

// solved is what a theta comes to.
type solved struct {
	deviance float64 // -2 times the restricted log-likelihood, of the scaled y
	sigma2   float64 // scaled
	coef     *mat.VecDense
	chol     mat.Cholesky // of the fixed and crossed effects' precision
}

// solve works out the profiled deviance: group by group, then what they share.
func (m *mixed) solve(theta []float64) (solved, bool) {
	t11, t21, t22, sets := m.factor(theta)
	k := m.p + m.s + 1
	a := mat.NewSymDense(k, nil)
	a.CopySym(m.total)
	raw := a.RawSymmetric()
	logS, product := 0.0, 1.0 // of determinants; a logarithm now and then
	b1, b2 := make([]float64, k), make([]float64, k)
	for g := range m.zc {
		if product > 1e100 {
			logS, product = logS+math.Log(product), 1
		}
		switch m.q {
		case 1:
			s := 1 + t11*t11*m.zz[g][0]
			product *= s
			f := t11 * t11 / s
			row := m.zc[g]
			for i := range k {
				if row[i] == 0 {
					continue
				}
				fi := f * row[i]
				for j := i; j < k; j++ {
					raw.Data[i*raw.Stride+j] -= fi * row[j]
				}
			}
		case 2:
			// S = I + T'Z'ZT, its Cholesky factor by hand; b = L^-1 T'Z'C
			z := m.zz[g]
			r1, r2 := m.zc[g][:k], m.zc[g][k:]
			s11 := 1 + t11*t11*z[0] + 2*t11*t21*z[1] + t21*t21*z[3]
			s12 := t22 * (t11*z[1] + t21*z[3])
			s22 := 1 + t22*t22*z[3]
			l11 := math.Sqrt(s11)
			l21 := s12 / l11
			l22 := math.Sqrt(s22 - l21*l21)
			product *= s11 * l22 * l22
			for c := range k {
				b1[c] = (t11*r1[c] + t21*r2[c]) / l11
				b2[c] = (t22*r2[c] - l21*b1[c]) / l22
			}
			for i := range k {
				if b1[i] == 0 && b2[i] == 0 {
					continue
				}
				for j := i; j < k; j++ {
					raw.Data[i*raw.Stride+j] -= b1[i]*b1[j] + b2[i]*b2[j]
				}
			}
		}
	}
	logS += math.Log(product)
	u := m.p + m.s
	precision := mat.NewSymDense(u, nil)
	rhs := mat.NewVecDense(u, nil)
	weight := func(i int) float64 {
		if i < m.p {
			return 1
		}
		return sets[m.set[i-m.p]]
	}
	for i := range u {
		for j := i; j < u; j++ {
			v := weight(i) * a.At(i, j) * weight(j)
			if i == j && i >= m.p {
				v++
			}
			precision.SetSym(i, j, v)
		}
		rhs.SetVec(i, weight(i)*a.At(i, k-1))
	}
	var out solved
	if !out.chol.Factorize(precision) {
		return out, false
	}
	out.coef = mat.NewVecDense(u, nil)
	if err := out.chol.SolveVecTo(out.coef, rhs); err != nil {
		return out, false
	}
	df := float64(m.n - m.p)
	rss := a.At(k-1, k-1) - mat.Dot(rhs, out.coef)
	out.sigma2 = max(rss/df, m.floor)
	out.deviance = logS + out.chol.LogDet() + df*math.Log(2*math.Pi*out.sigma2) + max(rss, 0)/out.sigma2
	return out, !math.IsNaN(out.deviance) && !math.IsInf(out.deviance, 0)
}

// search finds the theta of the least deviance: the best of a coarse grid, then Nelder and Mead's simplex, anew from where it ended until it gains nothing; and
// last each theta set to zero wherever that is no worse, for a boundary is met exactly or not at all.
func (m *mixed) search() (theta []float64, evaluations int, err error) {
	n := m.unknowns()
	deviance := func(x []float64) float64 {
		evaluations++
		s, ok := m.solve(x)
		if !ok {
			return math.Inf(1)
		}
		return s.deviance
	}
	if n == 0 {
		if math.IsInf(deviance(nil), 1) {
			return nil, evaluations, ErrNoMaximum
		}
		return nil, evaluations, nil
	}
	theta, least := m.grid(deviance)
	if theta == nil {
		return nil, evaluations, ErrNoMaximum
	}
	converged := false
	for range 8 {
		result, _ := optimize.Minimize(optimize.Problem{Func: deviance}, theta, &optimize.Settings{
			Converger: &optimize.FunctionConverge{Absolute: 1e-11, Iterations: 30 * n}, MajorIterations: 2000}, &optimize.NelderMead{SimplexSize: 0.1})
		if result == nil || math.IsInf(result.F, 0) || math.IsNaN(result.F) {
			return nil, evaluations, ErrNoMaximum
		}
		gained := least - result.F
		if gained > 0 {
			theta, least = append([]float64(nil), result.X...), result.F
		}
		if gained < 1e-9 {
			converged = true
			break
		}
	}
	if !converged {
		return nil, evaluations, ErrNoMaximum
	}
	for i := range theta {
		if m.correlated && i == 1 {
			continue
		}
		zero := append([]float64(nil), theta...)
		zero[i] = 0
		if m.correlated && i == 0 {
			zero[1] = 0
		}
		if d := deviance(zero); d <= least+1e-7 {
			theta, least = zero, min(d, least)
		}
	}
	for i := range theta {
		if !m.correlated || i != 1 {
			if m.correlated && i == 0 && theta[0] < 0 {
				theta[1] = -theta[1]
			}
			theta[i] = math.Abs(theta[i])
		}
	}
	return theta, evaluations, nil
}

// grid returns the best of a few thetas of different sizes.
func (m *mixed) grid(deviance func([]float64) float64) (best []float64, least float64) {
	n := m.unknowns()
	sizes := []float64{0.1, 1, 5}
	least = math.Inf(1)
	x := make([]float64, n)
	var walk func(i int)
	walk = func(i int) {
		if i == n {
			if d := deviance(x); d < least {
				best, least = append([]float64(nil), x...), d
			}
			return
		}
		if m.correlated && i == 1 {
			x[i] = 0
			walk(i + 1)
			return
		}
		for _, s := range sizes {
			x[i] = s
			walk(i + 1)
		}
	}
	walk(0)
	return best, least
}
