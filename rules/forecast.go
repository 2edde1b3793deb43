package rules

import (
	"errors"
	"math"
	"slices"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
	"shedbook/rules/stats"
	"shedbook/rules/wear"
)

// Chances at which the forecast of a part changes what to do. Our own round figures: a part as likely as not to pass its limit before the season ends is
// changed before it, one with less than a tenth carries, one in between is measured again before it comes to a tenth.
const (
	ChangeChance = 0.5
	WatchChance  = 0.1
)

// What to do with a part.
const (
	ChangeNow = "change now"
	Watch     = "watch"
	Carry     = "will carry"
)

// Why there is no forecast of a reading.
var (
	ErrNoLimit   = errors.New("the schedule gives no limit that wear runs into")
	ErrNoCounter = errors.New("the schedule does not say what it wears with")
	ErrFewParts  = errors.New("too few parts were measured to learn from one another")
)

// FewestParts with readings can be judged together; fewer are judged each by itself.
const FewestParts = 4

// Wear is what the readings of one kind say of the parts that sit in a machine: how fast they wear, and which pass their limit before the season ends.
type Wear struct {
	Machine *Machine
	Reading *schedule.Reading
	Counter *Counter
	Unit    quantity.Unit
	Limit   float64 // in Unit
	Falls   bool
	Ahead   Lookahead
	Model   *wear.Model // nil: see Err, or the parts are judged alone
	Err     error       // why nothing is forecast
	Apart   error       // why the parts are judged each by itself, where they are: ErrFewParts, wear.ErrNoWear
	Parts   []Worn      // what works in the machine now, in walking order; those never measured too
	Idle    []Worn      // what sits at places out of use, in walking order: forecast as they are, and in none of the counts below
	Odd     []OddReading
	All     wear.Count            // of those in the machine, before the horizon
	Hands   map[string]wear.Count // the same by hand, where parts are handed
	Groups  []WornGroup
	data    wear.Data
	current []int // of data.Parts
	idle    []int // the same of Idle
}

// Lookahead is what the forecast looks ahead to.
type Lookahead struct {
	Season *Season // nil: none is known; then Name says what is taken
	Name   string
	Open   bool    // it is under way
	Use    float64 // still to come in it, in the counter's unit
	Whole  float64 // a whole season's use
	From   string  // where Use comes from: "the season's plan", "the mean of 2 seasons", "the use of the last 12 months"
	Ends   string  // its last day, planned or by last year's; "" where nobody knows
	Blind  bool    // nobody knows how far to look: no use of a season is known, and none was asked about
	starts string
	ahead  wear.Ahead
	reach  float64 // the use that is asked about
}

// Worn is one part.
type Worn struct {
	Place    record.Position
	Hand     string
	Part     *Part
	Last     *Reading // its latest reading that has a value; nil: never measured
	Forecast *wear.Forecast
	Alone    *wear.Alone // where it is judged by itself
	Why      error       // why there is no forecast of this one
	Do       string      // "" where there is no forecast, or nobody knows how far to look
	On       string      // the day it likely passes its limit; "" where it does not within sight, or no season is planned
	Soonest  string      // the first day of the 80 % limits, as On
	Entries  []ID
}

// OddReading is one left out of the sums.
type OddReading struct {
	Place    record.Position
	Hand     string
	Reading  *Reading
	Grew     bool
	Expected float64
}

// WornGroup is what is to be done with the parts of one group.
type WornGroup struct {
	Name                 string // "" where all are one
	Change, Watch, Carry []Worn
}

// WearReadings lists the readings of a machine from which wear can be forecast: amounts that wear with a counter and run into a limit.
func WearReadings(m *Machine) []*schedule.Reading {
	var out []*schedule.Reading
	if m.Fitted == nil {
		return nil
	}
	for i := range m.Fitted.Readings {
		def := &m.Fitted.Readings[i]
		if len(def.Grades) == 0 && def.Computed == nil && len(def.Wears) > 0 {
			if _, _, err := wearLimit(def); err == nil {
				out = append(out, def)
			}
		}
	}
	return out
}

// wearLimit is the size at which a part is worn out, and whether sizes fall to it.
func wearLimit(def *schedule.Reading) (limit float64, falls bool, err error) {
	l := def.Limit
	switch {
	case l == nil:
		return 0, false, ErrNoLimit
	case l.HasShare && def.HasNew:
		size, share := number(def.New, def.Unit), number(l.Share, quantity.MustUnit("%"))
		return size * share / 100, l.Falls, nil
	case l.HasMin && !l.HasMax && l.Min.Unit().Dimension() == def.Unit.Dimension():
		return number(l.Min, def.Unit), true, nil
	case l.HasMax && !l.HasMin && l.Max.Unit().Dimension() == def.Unit.Dimension():
		return number(l.Max, def.Unit), false, nil
	case l.HasMin && l.HasMax && def.HasNew: // a band: it runs into the end that is farther from new
		size, low, high := number(def.New, def.Unit), number(l.Min, def.Unit), number(l.Max, def.Unit)
		if size-low > high-size {
			return low, true, nil
		}
		return high, false, nil
	}
	return 0, false, ErrNoLimit
}

// number is an amount in a unit as a floating number: statistics are no record.
func number(q quantity.Quantity, u quantity.Unit) float64 {
	if u != (quantity.Unit{}) && q.Unit() != u {
		if in, err := q.In(u, 9); err == nil {
			q = in
		}
	}
	f, _ := q.Rat().Float64()
	return f
}

// ForecastWear judges one kind of reading of one machine on the state's day. more, where it is above 0, is the further use asked about instead of the rest of
// the season.
func ForecastWear(s *State, m *Machine, def *schedule.Reading, more float64) *Wear {
	return newJudge(s, m, Filter{}, newHistory(s)).wear(def, more)
}

func (j *judge) wear(def *schedule.Reading, more float64) *Wear {
	m := j.m
	w := &Wear{Machine: m, Reading: def, Unit: def.Unit, Hands: map[string]wear.Count{}}
	if w.Limit, w.Falls, w.Err = wearLimit(def); w.Err != nil {
		return w
	}
	if len(def.Wears) == 0 || m.Counters[def.Wears[0]] == nil {
		w.Err = ErrNoCounter
		return w
	}
	w.Counter = m.Counters[def.Wears[0]]
	g := newWearGatherer(j, w)
	w.Ahead = g.ahead(more)
	g.gather()
	if len(w.Parts) == 0 {
		w.Err = wear.ErrNoReadings
		return w
	}
	w.Model, w.Err = wear.Fit(w.data)
	if w.Model != nil {
		g.odd()
	}
	switch {
	case errors.Is(w.Err, wear.ErrNoReadings) || errors.Is(w.Err, wear.ErrNoUse):
		w.Model = nil
		return w
	case w.Err != nil || w.Model.Parts < FewestParts:
		if w.Err == nil {
			w.Err = ErrFewParts
		}
		w.Apart = w.Err
		w.alone()
		return w
	}
	w.together()
	return w
}

// together forecasts each part by the model of all.
func (w *Wear) together() {
	var all []int
	hands := map[string][]int{}
	for i := range w.Idle {
		w.oneOf(&w.Idle[i], w.idle[i])
	}
	for i := range w.Parts {
		if p, n := &w.Parts[i], w.current[i]; w.oneOf(p, n) {
			all = append(all, n)
			hands[p.Hand] = append(hands[p.Hand], n)
		}
	}
	w.All = w.Model.Count(all, w.Ahead.ahead, w.Ahead.reach)
	if len(hands) > 1 {
		for hand, parts := range hands {
			w.Hands[hand] = w.Model.Count(parts, w.Ahead.ahead, w.Ahead.reach)
		}
	}
	w.group()
}

// oneOf forecasts one part by the model of all; false where it cannot be.
func (w *Wear) oneOf(p *Worn, n int) bool {
	if n < 0 || !w.Model.Known(n) {
		p.Why = wear.ErrNoReadings
		return false
	}
	f := w.Model.Part(n, w.Ahead.ahead, w.Ahead.reach)
	p.Forecast = &f
	switch {
	case w.Ahead.Blind && !f.Past:
	case f.Past || f.Chance >= ChangeChance:
		p.Do = ChangeNow
	case f.Chance >= WatchChance:
		p.Do = Watch
	default:
		p.Do = Carry
	}
	p.On, p.Soonest = w.day(f.Left), w.day(f.Limits.Low)
	return true
}

// alone forecasts each part by its own line, through the readings that are not left out.
func (w *Wear) alone() {
	odd := map[[2]int]bool{}
	if w.Model != nil {
		for _, o := range w.Model.Odd {
			odd[[2]int{o.Part, o.Reading}] = true
		}
	}
	w.Model = nil
	step := w.data.Rounding()
	lone := func(p *Worn, n int) {
		if n < 0 {
			p.Why = wear.ErrNoReadings
			return
		}
		part := w.data.Parts[n]
		part.Readings = nil
		for i, r := range w.data.Parts[n].Readings {
			if !odd[[2]int{n, i}] {
				part.Readings = append(part.Readings, r)
			}
		}
		a, err := wear.FitAlone(part, w.Limit, w.Falls, step)
		if err != nil {
			p.Why = err
			return
		}
		w.Err = nil
		use := sumOf(part.Use)
		f := &wear.Forecast{Part: n, Use: use, Size: a.Line.At(use), Rate: math.Abs(a.Line.Slope), Left: max(0, a.At.X-use),
			Limits: stats.Interval{Low: max(0, a.At.Limits.Low-use), High: max(0, a.At.Limits.High-use)}, At: a.Line.At(use + w.Ahead.reach)}
		if k := len(part.Readings); k > 0 {
			x := part.Readings[k-1].Size
			f.Past = w.Falls && x < w.Limit || !w.Falls && x > w.Limit
		}
		p.Alone, p.Forecast = &a, f
		switch {
		case w.Ahead.Blind && !f.Past:
		case f.Past || f.Left <= w.Ahead.reach:
			p.Do = ChangeNow
		case f.Limits.Low <= w.Ahead.reach:
			p.Do = Watch
		default:
			p.Do = Carry
		}
		p.On, p.Soonest = w.day(f.Left), w.day(f.Limits.Low)
	}
	for i := range w.Parts {
		lone(&w.Parts[i], w.current[i])
	}
	for i := range w.Idle {
		lone(&w.Idle[i], w.idle[i])
	}
	w.group()
}

func sumOf(x []float64) float64 {
	t := 0.0
	for _, v := range x {
		t += v
	}
	return t
}

// group sorts the parts by the groups that wear at a rate of their own, beyond twice its standard error.
func (w *Wear) group() {
	var names []string
	if w.Model != nil {
		for _, g := range w.Model.Groups {
			if math.Abs(g.By) > 2*g.SE {
				names = append(names, g.Name)
			}
		}
	}
	at := map[string]*WornGroup{}
	var order []string
	for i := range w.Parts {
		p := w.Parts[i]
		if p.Forecast == nil {
			continue
		}
		name := ""
		for g, n := range w.data.Groups {
			if slices.Contains(names, n) && g < len(w.data.Parts[w.current[i]].Here) && w.data.Parts[w.current[i]].Here[g] > 0 {
				if name != "" {
					name += " and "
				}
				name += n
			}
		}
		if at[name] == nil {
			at[name] = &WornGroup{Name: name}
			order = append(order, name)
		}
		g := at[name]
		switch p.Do {
		case ChangeNow:
			g.Change = append(g.Change, p)
		case Watch:
			g.Watch = append(g.Watch, p)
		case Carry:
			g.Carry = append(g.Carry, p)
		}
	}
	slices.Sort(order)
	for _, n := range order {
		w.Groups = append(w.Groups, *at[n])
	}
}
