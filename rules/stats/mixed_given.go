package stats

import "math"

// Spreads are the standard deviations of a mixed model where they are known or taken as known, in the units of the data.
type Spreads struct {
	Group       []float64 // of each column of Z
	Correlation float64   // between the two
	Crossed     []float64 // of each set
	Sigma       float64   // of one observation; above 0
}

// FitMixedGiven is FitMixed with the spreads held: only coefficients and effects are estimated. It serves where the data cannot tell a spread (the ground of
// two seasons) and something else says what it may be, and where rows of zeros are added for what is still to come.
func FitMixedGiven(d Mixed, given Spreads) (*MixedFit, error) {
	if !(given.Sigma > 0) || len(given.Group) != len(d.Z) || len(given.Crossed) != len(d.Crossed) {
		return nil, ErrTooFew
	}
	if err := finite(given.Group, given.Crossed, []float64{given.Sigma, given.Correlation}); err != nil {
		return nil, err
	}
	m, err := newMixed(d)
	if err != nil {
		return nil, err
	}
	var theta []float64
	for i, sd := range given.Group {
		t := sd / given.Sigma * m.zScale[i]
		if i == 1 && m.correlated {
			theta = append(theta, t*given.Correlation)
			t *= math.Sqrt(1 - square(given.Correlation))
		}
		theta = append(theta, t)
	}
	for i, sd := range given.Crossed {
		scale := 1.0
		for j, of := range m.set {
			if of == i {
				scale = m.wScale[j]
				break
			}
		}
		theta = append(theta, sd/given.Sigma*scale)
	}
	f, err := m.fit(theta, 1)
	if err != nil {
		return nil, err
	}
	// m.fit works with the sigma that the residuals have; the given one rules.
	k := given.Sigma / f.Sigma
	f.Sigma = given.Sigma
	for j := range f.FixedSE {
		f.FixedSE[j] *= k
	}
	f.GroupSD, f.CrossedSD = given.Group, given.Crossed
	return f, nil
}
