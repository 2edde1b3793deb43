package wear

import (
	"math"
	"slices"

	"shedbook/rules/stats"
)

// Futures is how many seasons ahead a forecast can look.
const Futures = 12

// fitted is the mixed model with its design; seasons still to come are columns of zeros behind those seen.
type fitted struct {
	*stats.MixedFit
	design design
}

// Fit fits the model. The error is ErrNoReadings, ErrNoUse or ErrNoWear.
func Fit(d Data) (*Model, error) {
	m := &Model{data: d, Step: d.Rounding()}
	m.Repeat, m.Repeats = repeat(d)
	error := max(m.Step/math.Sqrt(12), m.Repeat)
	m.Odd = d.odd(error)
	m.odd = map[[2]int]bool{}
	for _, o := range m.Odd {
		m.odd[[2]int{o.Part, o.Reading}] = true
	}
	rows, starts := d.rows(m.odd)
	if len(rows) == 0 {
		return nil, d.nothing()
	}
	m.Readings = len(rows)
	g := d.design(rows, false)
	for _, n := range g.numbers {
		if n >= 0 {
			m.Parts++
		}
	}
	// nobody reads a loss better than to a thousandth of it
	g.Floor = max(m.Step/math.Sqrt(12), 1e-3*norm(g.Y)/math.Sqrt(float64(len(g.Y))), 1e-12)
	given, err := m.spreads(g, rows, error)
	if err != nil {
		return nil, err
	}
	m.told(g)
	m.curvature(&d, rows, given)
	if m.Curved {
		g = d.design(rows, true)
	}
	if err := m.hold(g, given); err != nil {
		return nil, err
	}
	m.starts = starts
	m.describe(rows)
	t := stats.StudentQuantile(0.9, m.DF)
	if !(m.Rate > 0) || t*m.RateSE >= m.Rate { // Fieller's g >= 1 at 80 %
		return m, ErrNoWear
	}
	return m, nil
}

// nothing says why there are no rows.
func (d *Data) nothing() error {
	for i := range d.Parts {
		for _, r := range d.Parts[i].Readings {
			if sum(r.Use) > 0 {
				return ErrNoReadings
			}
		}
	}
	if len(d.Parts) > 0 && len(d.Parts[0].Readings) > 0 {
		return ErrNoUse
	}
	return ErrNoReadings
}

// spreads fits them, or, where each part was read but once, splits what parts differ by into the error of a reading, as repeats or rounding tell it, and
// the rest.
func (m *Model) spreads(g design, rows []row, error float64) (stats.Spreads, error) {
	if g.starts {
		f, err := stats.FitMixed(g.Mixed)
		if err == nil {
			return stats.Spreads{Group: f.GroupSD, Crossed: f.CrossedSD, Sigma: f.Sigma}, nil
		}
	}
	f, err := stats.FitLeastSquares(g.X, g.Y)
	rate := 0.0
	if err == nil {
		rate = f.Sigma
	} else {
		rate = 0.1 * mean(g.Y)
	}
	use := 0.0
	for _, r := range rows {
		use += r.use / float64(len(rows))
	}
	// measured by hand: at least half a step of the tape
	sigma := max(error, m.Step/2, g.Floor)
	own := math.Sqrt(max(0, rate*rate-sigma*sigma)) / use
	group := []float64{own}
	if g.starts {
		group = []float64{0, own}
	}
	return stats.Spreads{Group: group, Crossed: []float64{0}, Sigma: sigma}, nil
}

// told counts the contrasts between seasons that the readings tell: what their columns add to the fixed ones.
func (m *Model) told(g design) {
	all := append(append([][]float64(nil), g.X...), g.Crossed[0]...)
	m.Told = rank(all) - rank(g.X)
}

// curvature tests a term in the square of use, with the spread of seasons held; parts of one age under seasons of their own cannot tell a curve from them, and
// the test knows it.
func (m *Model) curvature(d *Data, rows []row, given stats.Spreads) {
	g := d.design(rows, true)
	if !g.curve {
		return
	}
	held := m.joined(given, meanRate(rows))
	f, err := stats.FitMixedGiven(g.Mixed, held)
	if err != nil {
		return
	}
	n := len(f.Fixed) - 1
	if f.FixedSE[n] > 0 {
		m.Curve = f.Fixed[n] / f.FixedSE[n]
		m.Curved = math.Abs(m.Curve) > 3
	}
}

func meanRate(rows []row) float64 {
	loss, use := 0.0, 0.0
	for _, r := range rows {
		loss += r.loss
		use += r.use
	}
	return loss / use
}

// joined is the spreads with that of seasons joined with the prior where too few can be told apart. It sets DF.
func (m *Model) joined(given stats.Spreads, rate float64) stats.Spreads {
	m.DF, m.Prior = float64(m.Told), m.Told < EnoughSeasons
	s := given.Crossed[0]
	if m.Prior {
		m.DF = PriorWeight + float64(m.Told)
		s = math.Sqrt((PriorWeight*square(PriorCV*rate) + float64(m.Told)*s*s) / m.DF)
	}
	given.Crossed = []float64{s}
	return given
}

// hold fits with the spreads held and the seasons to come as columns of zeros.
func (m *Model) hold(g design, given stats.Spreads) error {
	rate := meanRate(mixedRows(g))
	if !(rate > 0) {
		return ErrNoWear
	}
	return m.held(g, m.joined(given, rate))
}

// given is the spreads as used, for a design that may have a column for starts where the model had none.
func (m *Model) given(g design) stats.Spreads {
	s := stats.Spreads{Group: []float64{m.PartSD}, Crossed: []float64{m.SeasonSD}, Sigma: m.Sigma}
	if g.starts {
		s.Group = []float64{m.StartSD, m.PartSD}
	}
	return s
}

func (m *Model) held(g design, given stats.Spreads) error {
	zeros := make([]float64, len(g.Y))
	for range Futures {
		g.Crossed[0] = append(g.Crossed[0], zeros)
	}
	f, err := stats.FitMixedGiven(g.Mixed, given)
	if err != nil {
		return ErrNoWear
	}
	m.fit = fitted{f, g}
	m.SeasonSD, m.Sigma = given.Crossed[0], given.Sigma
	m.PartSD = given.Group[len(given.Group)-1]
	if g.starts {
		m.StartSD = given.Group[0]
	}
	m.rows = g.numbers
	return nil
}

func mixedRows(g design) []row {
	rows := make([]row, len(g.Y))
	for i := range rows {
		rows[i] = row{loss: g.Y[i], use: g.X[0][i]}
	}
	return rows
}

// describe fills in what people read: the mean rate over the seasons seen, groups, seasons.
func (m *Model) describe(rows []row) {
	f := m.fit
	weight, use := make([]float64, len(m.data.Seasons)), 0.0
	for i, r := range rows {
		if i+1 == len(rows) || rows[i+1].part != r.part { // its last: all its use so far
			for s, u := range r.seasons {
				weight[s] += u
			}
			use += r.use / float64(m.Parts)
		}
	}
	m.Rate, m.RateSE = f.Fixed[0], f.FixedSE[0]
	if f.design.curve {
		m.Rate, m.RateSE = f.curvedRate(use)
	}
	for s, name := range m.data.Seasons {
		if weight[s] > 0 {
			m.Seasons = append(m.Seasons, SeasonRate{Name: name, Rate: m.Rate + f.CrossedEffects[0][s], Use: weight[s] / float64(m.Parts)})
		}
	}
	if m.Rate != 0 {
		m.SeasonCV = m.SeasonSD / m.Rate
	}
	for i, g := range f.design.groups {
		parts := map[int]bool{}
		for _, r := range rows {
			if r.groups[g] > r.use/2 {
				parts[r.part] = true
			}
		}
		m.Groups = append(m.Groups, GroupRate{Name: m.data.Groups[g], By: f.Fixed[1+i], SE: f.FixedSE[1+i], Parts: len(parts)})
	}
}

// curvedRate is the common rate at a use where wear is curved, the slope of the loss there, with its standard error.
func (f *fitted) curvedRate(use float64) (rate, se float64) {
	x := make([]float64, len(f.Fixed))
	x[0], x[len(x)-1] = 1, 2*use
	p := f.Predict(-1, x, make([]float64, len(f.design.Z)), [][]float64{make([]float64, len(f.design.Crossed[0]))})
	return p.Value, math.Sqrt(p.Shared)
}

// bend is what the curve adds to the rate at a use.
func (f *fitted) bend(use float64) float64 {
	if !f.design.curve {
		return 0
	}
	return 2 * use * f.Fixed[len(f.Fixed)-1]
}

// Rounding is what readings are rounded to: Step, or where it is 0 the largest of the usual steps that all of them are whole numbers of; 0 where none is.
func (d *Data) Rounding() float64 {
	if d.Step != 0 {
		return d.Step
	}
	var sizes []float64
	for i := range d.Parts {
		for _, r := range d.Parts[i].Readings {
			sizes = append(sizes, r.Size)
		}
	}
	for _, s := range []float64{1, 0.5, 0.25, 0.2, 0.125, 0.1, 0.0625, 0.05, 0.03125, 0.02, 0.01, 0.005, 0.001} {
		if len(sizes) > 0 && !slices.ContainsFunc(sizes, func(v float64) bool { return math.Abs(v/s-math.Round(v/s)) > 1e-6 }) {
			return s
		}
	}
	return 0
}

// repeat is the standard deviation of one reading, from parts read more than once on one day at one use.
func repeat(d Data) (sd float64, n int) {
	ss, df := 0.0, 0
	for i := range d.Parts {
		rs := d.Parts[i].Readings
		for a := 0; a < len(rs); {
			b := a + 1
			for b < len(rs) && rs[b].Day == rs[a].Day && sum(rs[b].Use) == sum(rs[a].Use) {
				b++
			}
			if b-a > 1 {
				m := 0.0
				for _, r := range rs[a:b] {
					m += r.Size / float64(b-a)
				}
				for _, r := range rs[a:b] {
					ss += square(r.Size - m)
				}
				df += b - a - 1
				n += b - a
			}
			a = b
		}
	}
	if df == 0 {
		return 0, 0
	}
	return math.Sqrt(ss / float64(df)), n
}

func square(x float64) float64 { return x * x }

func mean(x []float64) float64 { return sum(x) / float64(len(x)) }
