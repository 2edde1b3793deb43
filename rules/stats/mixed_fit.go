package stats

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// fit is what a theta says, in the units of the data.
func (m *mixed) fit(theta []float64, evaluations int) (*MixedFit, error) {
	s, ok := m.solve(theta)
	if !ok {
		return nil, ErrNoMaximum
	}
	sigma := math.Sqrt(s.sigma2) * m.yScale
	f := &MixedFit{Sigma: sigma, Evaluations: evaluations, m: m, theta: theta, sol: s}
	f.LogLik = -(s.deviance + 2*float64(m.n-m.p)*math.Log(m.yScale) + m.logX) / 2
	cov := &f.cov
	if err := s.chol.InverseTo(cov); err != nil {
		return nil, ErrNoMaximum
	}
	for j := range m.p {
		f.Fixed = append(f.Fixed, (m.start[j]+s.coef.AtVec(j)*m.yScale)/m.xScale[j])
		f.FixedSE = append(f.FixedSE, sigma*math.Sqrt(cov.At(j, j))/m.xScale[j])
	}
	t11, t21, t22, sets := m.factor(theta)
	switch m.q {
	case 1:
		f.GroupSD = []float64{sigma * t11 / m.zScale[0]}
	case 2:
		second := math.Hypot(t21, t22)
		f.GroupSD = []float64{sigma * t11 / m.zScale[0], sigma * second / m.zScale[1]}
		if second > 0 {
			f.Correlation = t21 / second
		}
	}
	for i, t := range sets {
		scale := 1.0
		for j, of := range m.set {
			if of == i {
				scale = m.wScale[j] // that of one column; newMixed gives all of a set the same
				break
			}
		}
		f.CrossedSD = append(f.CrossedSD, sigma*t/scale)
	}
	for i := range m.sets {
		var effects []float64
		for j, of := range m.set {
			if of == i {
				effects = append(effects, sets[i]*s.coef.AtVec(m.p+j)*m.yScale/m.wScale[j])
			}
		}
		f.CrossedEffects = append(f.CrossedEffects, effects)
	}
	for g := range m.groups {
		f.GroupEffects = append(f.GroupEffects, f.groupEffects(g))
	}
	return f, nil
}

// shrink is T S^-1 T' of a group (scaled): what turns the sums of its residuals into its effects; times sigma^2 it is their variance given all else.
func (m *mixed) shrink(theta []float64, g int) [4]float64 {
	t11, t21, t22, _ := m.factor(theta)
	z := [4]float64{}
	if g >= 0 {
		z = m.zz[g]
	}
	if m.q == 1 {
		return [4]float64{t11 * t11 / (1 + t11*t11*z[0])}
	}
	s11 := 1 + t11*t11*z[0] + 2*t11*t21*z[1] + t21*t21*z[3]
	s12 := t22 * (t11*z[1] + t21*z[3])
	s22 := 1 + t22*t22*z[3]
	det := s11*s22 - s12*s12
	i11, i12, i22 := s22/det, -s12/det, s11/det
	// T = [t11 0; t21 t22]
	a11, a12 := t11*i11, t11*i12
	a21, a22 := t21*i11+t22*i12, t21*i12+t22*i22
	return [4]float64{a11 * t11, a11*t21 + a12*t22, a21 * t11, a21*t21 + a22*t22}
}

// groupEffects are the best linear unbiased predictions of a group's effects, in the units of the data.
func (f *MixedFit) groupEffects(g int) []float64 {
	m := f.m
	if m.q == 0 {
		return nil
	}
	sum := m.residualSums(f.sol.coef, f.theta, g)
	h := m.shrink(f.theta, g)
	out := make([]float64, m.q)
	for r := range m.q {
		for c := range m.q {
			out[r] += h[2*r+c] * sum[c]
		}
		out[r] *= m.yScale / m.zScale[r]
	}
	return out
}

// residualSums are the sums of z times what fixed and crossed effects leave of y, over a group.
func (m *mixed) residualSums(coef *mat.VecDense, theta []float64, g int) [2]float64 {
	_, _, _, sets := m.factor(theta)
	k := m.p + m.s + 1
	var out [2]float64
	for r := range m.q {
		row := m.zc[g][r*k : (r+1)*k]
		out[r] = row[k-1]
		for j := range m.p + m.s {
			w := 1.0
			if j >= m.p {
				w = sets[m.set[j-m.p]]
			}
			out[r] -= row[j] * w * coef.AtVec(j)
		}
	}
	return out
}

// Prediction is a predicted size and its variance: Shared is what it has in common with every other prediction of the same fit (coefficients, conditions met
// and not met), Own what only this group has.
type Prediction struct {
	Value       float64
	Shared, Own float64
}

// Variance is the whole of it.
func (p Prediction) Variance() float64 { return p.Shared + p.Own }

// Predict is what a group's true size will be where its columns have these values, without the error of a measurement. group is -1 for one not measured yet.
// crossed has a value for each column of each set; a column that was all zeros in the data stands for a condition not met yet (next season's ground).
func (f *MixedFit) Predict(group int, x, z []float64, crossed [][]float64) Prediction {
	m := f.m
	_, _, _, sets := m.factor(f.theta)
	k := m.p + m.s + 1
	var out Prediction
	q := mat.NewVecDense(m.p+m.s, nil)
	for j := range m.p {
		q.SetVec(j, x[j]/m.xScale[j])
		out.Value += m.start[j] * x[j] / m.xScale[j]
	}
	i := 0
	for set, columns := range crossed {
		for _, v := range columns {
			q.SetVec(m.p+i, sets[set]*v/m.wScale[i])
			i++
		}
	}
	if m.q > 0 {
		h := m.shrink(f.theta, group)
		zs := make([]float64, m.q)
		for r := range m.q {
			zs[r] = z[r] / m.zScale[r]
		}
		var pull [2]float64 // z'H
		for c := range m.q {
			for r := range m.q {
				pull[c] += zs[r] * h[2*r+c]
			}
			out.Own += pull[c] * zs[c]
		}
		if group >= 0 {
			sums := m.zc[group]
			for c := range m.q {
				out.Value += pull[c] * sums[c*k+k-1] * m.yScale
				for j := range m.p + m.s {
					w := 1.0
					if j >= m.p {
						w = sets[m.set[j-m.p]]
					}
					q.SetVec(j, q.AtVec(j)-pull[c]*sums[c*k+j]*w)
				}
			}
		}
	}
	out.Value += mat.Dot(q, f.sol.coef) * m.yScale
	out.Own *= square(f.Sigma)
	out.Shared = square(f.Sigma) * max(0, quadratic(&f.cov, q))
	return out
}

// quadratic is q'Aq.
func quadratic(a *mat.SymDense, q *mat.VecDense) float64 {
	raw, v := a.RawSymmetric(), q.RawVector().Data
	t := 0.0
	for i, x := range v {
		if x == 0 {
			continue
		}
		row := raw.Data[i*raw.Stride : i*raw.Stride+raw.N]
		s := row[i] * x / 2
		for j := i + 1; j < raw.N; j++ {
			s += row[j] * v[j]
		}
		t += 2 * x * s
	}
	return t
}
