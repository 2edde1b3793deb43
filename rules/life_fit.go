package rules

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"

	"shedbook/rules/stats"
)

// How many worn out parts an estimate takes. The relative standard error of a Weibull shape from r failures is about 0.78/sqrt(r) (Cohen, Technometrics 7, 1965: variance
// 0.608 beta^2/r): of 3 failures 45 %, of 10 failures 25 %.
const (
	LifeLeast  = 3  // with fewer none is given
	LifeEnough = 10 // with fewer it is called a first one
)

// LifeFit is what some lives say together.
type LifeFit struct {
	Name    string
	Parts   int // lives it rests on
	Worn    int // of them counted as worn out
	Weibull *stats.Weibull
	Median  LifeSpan
	B10     LifeSpan // by which one in ten is worn out
	Shape   LifeSpan // no unit: above 1 they wear out with age, below 1 new ones fail more readily
	Not     string   // why there is no estimate
	More    int      // so many more worn out ones would give one; 0 where it is not for want of them
	Differs float64  // of a part of the whole: the chance that it and the rest differ so by chance alone; 0 where that cannot be told
	Entries []ID     // by which the worn out ones went
}

// LifeSpan is an estimate with its limits at LifeLevel. Open: the upper limit says nothing, it is more than fifty times the estimate.
type LifeSpan struct {
	Value, Low, High float64
	Open             bool
}

// asTold is how each end is taken: true worn out, false lasted at least so long. A part that broke had not worn out yet.
var asTold = map[string]bool{EndWorn: true, EndUnsaid: true, EndBroken: false, EndInTime: false, EndWithSet: false, EndInUse: false, EndOff: false}

// told is asTold for this part.
func (l *PartLife) told() map[string]bool {
	as := maps.Clone(asTold)
	as[EndUnsaid] = !l.Planned
	return as
}

// fit makes all the estimates.
func (l *PartLife) fit(s *State) {
	all, asTold := l.used(), l.told()
	l.All = fitLives("", all, asTold)
	if l.All.Worn > 0 {
		l.Curve = lifeCurve(statLives(all, asTold))
	}
	l.ways(all)
	for _, v := range variants(s, l.Ask) {
		var here, rest []Lived
		for _, x := range all {
			if v.has(&x) {
				here = append(here, x)
			} else {
				rest = append(rest, x)
			}
		}
		if len(here) == 0 {
			continue
		}
		f := fitLives(v.name, here, asTold)
		if other := fitLives("", rest, asTold); f.Weibull != nil && other.Weibull != nil && l.All.Weibull != nil {
			f.Differs = stats.Differ(l.All.Weibull, []*stats.Weibull{f.Weibull, other.Weibull})
		}
		l.By = append(l.By, f)
	}
}

// lifeCurve is the share that is still good, as counted. Where some were first watched late it can fall to nothing at an age at which hardly any were watched, with others
// older than that still good: such a curve says nothing, and none is given.
func lifeCurve(lives []stats.Life) []stats.Survival {
	curve, err := stats.KaplanMeier(lives)
	if err != nil {
		return nil
	}
	for _, step := range curve {
		for _, x := range lives {
			if step.Share == 0 && x.Time > step.Time {
				return nil
			}
		}
	}
	return curve
}

// ways are the estimates if what was told, or not told, is taken otherwise. Parts that were changed with their set, or in good time, were mostly changed because they were
// near their end: counting them as good for as long as any other of their age makes lives too long, leaving them out makes them too short, and
// that they were as good as worn out is the least that can be.
func (l *PartLife) ways(all []Lived) {
	ends := map[string]int{}
	for _, v := range all {
		ends[v.End]++
	}
	way := func(name string, worn bool, these ...string) {
		as := l.told()
		for _, end := range these {
			as[end] = worn
		}
		l.Ways = append(l.Ways, fitLives(name, all, as))
	}
	if ends[EndWithSet] > 0 {
		left := slices.DeleteFunc(slices.Clone(all), func(v Lived) bool { return v.End == EndWithSet })
		l.Ways = append(l.Ways, fitLives("those changed with the set left out", left, l.told()))
		way("those changed with the set as good as worn out", true, EndWithSet)
	}
	if ends[EndInTime] > 0 {
		way("those changed in good time as good as worn out", true, EndInTime)
	}
	if ends[EndInTime] > 0 && ends[EndWithSet] > 0 {
		way("both of these as good as worn out", true, EndInTime, EndWithSet)
	}
	switch {
	case ends[EndUnsaid] > 0 && l.Planned:
		way("those without a reason worn out", true, EndUnsaid)
	case ends[EndUnsaid] > 0:
		way("those without a reason still good when they went", false, EndUnsaid)
	}
}

// statLives are lives as the statistics take them, those that did nothing left out.
func statLives(lives []Lived, worn map[string]bool) []stats.Life {
	var out []stats.Life
	for _, v := range lives {
		if v.Use > v.From {
			out = append(out, stats.Life{Time: v.Use, Failed: worn[v.End], From: v.From})
		}
	}
	return out
}

// fitLives estimates a life, or says why it cannot.
func fitLives(name string, lives []Lived, worn map[string]bool) LifeFit {
	f := LifeFit{Name: name}
	for _, v := range lives {
		if v.Use > v.From {
			f.Parts++
		}
		if worn[v.End] && v.Use > v.From {
			f.Worn++
			f.Entries = append(f.Entries, v.Entries[len(v.Entries)-1])
		}
	}
	f.Entries = onceEach(f.Entries)
	if f.Worn < LifeLeast {
		f.More = LifeLeast - f.Worn
		f.Not = howMany(f.Worn) + " worn out whose whole life is known"
		return f
	}
	w, err := stats.FitWeibull(statLives(lives, worn))
	switch {
	case errors.Is(err, stats.ErrTooFew):
		f.Not = "all that wore out did so at the same use and none outlived them, so nothing tells how much lives differ"
		return f
	case err != nil:
		f.Not = "no curve fits these lives better than all others: too few were watched at the ages at which they wear out"
		return f
	}
	f.Weibull = w
	f.Median, f.B10 = quantileSpan(w, 0.5), quantileSpan(w, 0.1)
	z := stats.NormalQuantile(1 - (1-LifeLevel)/2)
	spread := math.Exp(z * w.SigmaSE / w.Sigma)
	f.Shape = span(w.Beta, stats.Interval{Low: w.Beta / spread, High: w.Beta * spread})
	for _, v := range []LifeSpan{f.Median, f.B10, f.Shape} {
		if !(v.Value > 0 && v.Value < 1e12 && v.Low >= 0) {
			f.Weibull, f.Not = nil, "the lives differ so much that no middle one can be told"
		}
	}
	return f
}

func howMany(n int) string {
	switch n {
	case 0:
		return "none has"
	case 1:
		return "one has"
	}
	return fmt.Sprintf("%d have", n)
}

func quantileSpan(w *stats.Weibull, p float64) LifeSpan { return span(w.Quantile(p, LifeLevel)) }

func span(value float64, limits stats.Interval) LifeSpan {
	v := LifeSpan{Value: value, Low: limits.Low, High: limits.High}
	if !(v.High <= 50*v.Value) {
		v.High, v.Open = 0, true
	}
	return v
}

// variant is one part of the whole.
type variant struct {
	name string
	has  func(*Lived) bool
}

// variants are the parts asked for: hands, machines, years in which they were put in, or the groups of the places. A part that moved belongs where it did the most.
func variants(s *State, ask LifeAsk) []variant {
	var out []variant
	switch ask.By {
	case "hand":
		var hands []string
		for _, p := range s.Parts {
			if p.Kind == ask.Part && p.Schedule == ask.Kind && p.Hand != "" && !slices.Contains(hands, p.Hand) {
				hands = append(hands, p.Hand)
			}
		}
		slices.Sort(hands)
		for _, h := range hands {
			out = append(out, variant{h, func(v *Lived) bool { return v.Part.Hand == h }})
		}
	case "machine":
		for _, m := range s.Machines {
			if m.Kind == ask.Kind && (ask.Machine == nil || ask.Machine.ID == m.ID) {
				out = append(out, variant{m.Name, func(v *Lived) bool { return v.Machine == m.ID }})
			}
		}
	case "year":
		var years []string
		of := func(p *Part) string {
			if p.In == "" {
				return "as it came"
			}
			return p.In.Date()[:4]
		}
		for _, p := range s.Parts {
			if year := of(p); p.Kind == ask.Part && p.Schedule == ask.Kind && !slices.Contains(years, year) {
				years = append(years, year)
			}
		}
		slices.Sort(years)
		for _, y := range years {
			out = append(out, variant{y, func(v *Lived) bool { return of(v.Part) == y }})
		}
	case "group":
		out = groupVariants(s, ask)
	}
	return out
}

// groupVariants are the groups of the part's places by their names, each over all machines that have it.
func groupVariants(s *State, ask LifeAsk) []variant {
	def := s.lifeDef(ask)
	if def == nil {
		return nil
	}
	var names []string
	has := map[string]bool{} // group, machine and place
	for _, m := range s.Machines {
		if m.Fitted == nil || m.Kind != ask.Kind {
			continue
		}
		for _, g := range m.Fitted.Groups {
			at, ok := m.Fitted.GroupPositions(g.Name)
			if !ok || g.Of != def.Of {
				continue
			}
			if !slices.Contains(names, g.Name) {
				names = append(names, g.Name)
			}
			for _, p := range at.All() {
				has[g.Name+"\x00"+string(m.ID)+"\x00"+p.String()] = true
			}
		}
	}
	var out []variant
	for _, name := range names {
		out = append(out, variant{name, func(v *Lived) bool {
			return has[name+"\x00"+string(v.Machine)+"\x00"+v.position().String()]
		}})
	}
	return out
}
