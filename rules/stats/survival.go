package stats

import (
	"cmp"
	"math"
	"slices"
)

// Survival is one step of a Kaplan-Meier curve: at Time, of AtRisk that had lasted so far, Failed failed.
type Survival struct {
	Time           float64
	AtRisk, Failed float64
	Share          float64 // that lasts longer than Time
	SE             float64 // by Greenwood's formula
}

// KaplanMeier estimates the share that survives, a step at each time of failure (Kaplan and Meier 1958; variance by Greenwood 1926). A part taken out at a time
// counts as at risk at that time; one that was first watched at some use is at risk after that (delayed entry). The error is ErrNoFailures or ErrNotFinite.
func KaplanMeier(lives []Life) ([]Survival, error) {
	sorted := slices.Clone(lives)
	for _, l := range sorted {
		if !(l.Time >= 0) || l.Time > 1e150 || !(l.weight() > 0) || !(l.From == 0 || l.From > 0 && l.From < l.Time) {
			return nil, ErrNotFinite
		}
	}
	slices.SortStableFunc(sorted, func(a, b Life) int { return cmp.Compare(a.Time, b.Time) })
	late := slices.Clone(sorted)
	slices.SortStableFunc(late, func(a, b Life) int { return cmp.Compare(a.From, b.From) })
	atRisk := 0.0
	var out []Survival
	share, greenwood := 1.0, 0.0
	for i := 0; i < len(sorted); {
		t := sorted[i].Time
		for len(late) > 0 && (late[0].From < t || late[0].From == 0) {
			atRisk += late[0].weight()
			late = late[1:]
		}
		var failures, gone float64
		for ; i < len(sorted) && sorted[i].Time == t; i++ {
			gone += sorted[i].weight()
			failures += failed(sorted[i]) * sorted[i].weight()
		}
		if failures > 0 {
			share *= 1 - failures/atRisk
			if atRisk > failures {
				greenwood += failures / (atRisk * (atRisk - failures))
			}
			s := Survival{Time: t, AtRisk: atRisk, Failed: failures, Share: share}
			if share > 0 {
				s.SE = share * math.Sqrt(greenwood)
			} else {
				share = 0
				s.Share = 0
			}
			out = append(out, s)
		}
		atRisk -= gone
	}
	if len(out) == 0 {
		return nil, ErrNoFailures
	}
	return out, nil
}

// Limits are the interval of the share by the logarithm of the survival, as R's survfit gives by default; never above 1.
func (s Survival) Limits(level float64) Interval {
	if s.Share == 0 {
		return Interval{0, 0}
	}
	half := NormalQuantile(1-(1-level)/2) * s.SE / s.Share
	return Interval{s.Share * math.Exp(-half), min(1, s.Share*math.Exp(half))}
}

// Watch is one place that was watched from age 0 to End, and the ages at which its part was replaced.
type Watch struct {
	End      float64
	Replaced []float64
}

// Recurrence is one step of a mean cumulative function: by Age, so many replacements a place.
type Recurrence struct {
	Age          float64
	AtRisk       int
	Replacements int
	Mean         float64
}

// MeanCumulative estimates how many replacements a place has had by an age, a step at each age at which there was one (Nelson, Technometrics 37, 1995). A place
// is at risk through its end. The error is ErrNoFailures or ErrNotFinite, for an age below 0 or after the end too.
func MeanCumulative(places []Watch) ([]Recurrence, error) {
	var ages []float64
	for _, p := range places {
		if !(p.End >= 0) || p.End > 1e150 {
			return nil, ErrNotFinite
		}
		for _, a := range p.Replaced {
			if !(a >= 0 && a <= p.End) {
				return nil, ErrNotFinite
			}
			ages = append(ages, a)
		}
	}
	if len(ages) == 0 {
		return nil, ErrNoFailures
	}
	slices.Sort(ages)
	ends := make([]float64, len(places))
	for i, p := range places {
		ends[i] = p.End
	}
	slices.Sort(ends)
	var out []Recurrence
	mean := 0.0
	for i := 0; i < len(ages); {
		r := Recurrence{Age: ages[i]}
		for ; i < len(ages) && ages[i] == r.Age; i++ {
			r.Replacements++
		}
		before, _ := slices.BinarySearch(ends, r.Age)
		r.AtRisk = len(ends) - before
		mean += float64(r.Replacements) / float64(r.AtRisk)
		r.Mean = mean
		out = append(out, r)
	}
	return out, nil
}
