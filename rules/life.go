package rules

import (
	"slices"
	"strings"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
	"shedbook/rules/stats"
)

// How a part's life ended, or stands. The first four are the reasons of a swap.
const (
	EndWorn    = "worn"
	EndInTime  = "in-time"
	EndWithSet = "with-set" // also with the assembly that it is a part of: which of its parts was worn nobody said
	EndBroken  = "broken"
	EndUnsaid  = "not said"  // scrapped, and nobody said why
	EndInUse   = "in use"    // it sits in its place
	EndOff     = "taken off" // it lies on a shelf or between machines, and nobody said that it was done for
)

// LifeLevel is the level of all limits and ranges of a part's life.
const LifeLevel = 0.8

// LifeAsk says whose lives are asked about.
type LifeAsk struct {
	Kind    string            // schedule name
	Part    string            // as the schedule calls it
	Machine *Machine          // only parts that sat last on it; nil: on any machine
	Counter string            // on which lives are counted
	Unit    quantity.Unit     // of that counter
	By      string            // "", "hand", "group", "machine", "year" (put in): beside the whole, each of these by itself
	Season  *Season           // the season to look ahead to; nil: the coming one
	Use     quantity.Quantity // what each machine will do in it; zero: by the season's plan, or as its past ones
}

// Lived is one part's life so far, in the unit asked for.
type Lived struct {
	Part    *Part
	Machine ID     // where it sat last
	Slot    string //
	Home    string // the slot in which it did the most
	Use     float64
	From    float64 // the use somebody claimed that it had when it came into the book; the book would not know of it had it failed before
	End     string
	Without string // why its life cannot be used; "" where it can
	Entries []ID   // by which it came in and went
}

// PartLife is what a book says of how long one kind of part lasts. All amounts are in Unit.
type PartLife struct {
	Ask      LifeAsk
	Plural   string
	Planned  bool    // it is a fluid, or the schedule changes it at an interval: where no reason was told it was changed in good time, not worn out
	Lives    []Lived // every part, by id
	All      LifeFit // the reasons as told; where none was told, as worn out unless Planned
	Ways     []LifeFit
	By       []LifeFit
	Turned   int // of the lives used: turned, sharpened or rebuilt on the way, and counted from new to the end
	Late     int // of the lives used: first watched at a use that somebody claimed
	Curve    []stats.Survival
	Broken   LifeRate
	Gone     LifeRate // worn out or broken, whatever the age, also of those whose earlier use is not known
	Places   LifePlaces
	Coming   *LifeComing // nil: see NotAhead
	NotAhead string      // why nothing is said of the season ahead
}

// LifeRate is how often something strikes that does not go by age.
type LifeRate struct {
	Count   int
	Use     float64 // of all parts together, also of those whose earlier use is not known
	Each    float64 // the rate is told for so much use
	Rate    float64 // in Each
	Limits  stats.Interval
	Entries []ID
}

// Life gathers the lives of one kind of part and what they say.
func (s *State) Life(ask LifeAsk) *PartLife {
	l := &PartLife{Ask: ask, Plural: ask.Part + "s"}
	if def := s.lifeDef(ask); def != nil {
		l.Plural, l.Planned = def.Plural, def.Fluid || s.lifePlanned(ask)
	}
	whole := s.wholeSwaps(ask.Part)
	for _, p := range s.Parts {
		if p.Kind == ask.Part && p.Schedule == ask.Kind && len(p.Stays) > 0 && (ask.Machine == nil || p.Stays[len(p.Stays)-1].Machine == ask.Machine.ID) {
			l.Lives = append(l.Lives, s.lived(p, ask, whole))
		}
	}
	for _, v := range l.used() {
		l.Turned += count(v.Part.Segment > 1)
		l.Late += count(v.From > 0)
	}
	l.fit(s)
	l.Broken = l.rate(EndBroken)
	l.Gone = l.rate(EndWorn, EndBroken)
	if !l.Planned {
		l.Gone = l.rate(EndWorn, EndUnsaid, EndBroken)
	}
	l.places(s, whole)
	l.ahead(s)
	return l
}

// lifeDef is the part's definition, of the machine asked about or the first of the kind that has it; nil where no schedule has it.
func (s *State) lifeDef(ask LifeAsk) *schedule.Part {
	for _, m := range s.Machines {
		if m.Fitted == nil || m.Kind != ask.Kind || ask.Machine != nil && ask.Machine.ID != m.ID {
			continue
		}
		if def, ok := m.Fitted.Part(ask.Part); ok {
			return def
		}
	}
	return nil
}

// lifePlanned reports whether a job changes the part at an interval of use or time.
func (s *State) lifePlanned(ask LifeAsk) bool {
	for _, m := range s.Machines {
		if m.Fitted == nil || m.Kind != ask.Kind || ask.Machine != nil && ask.Machine.ID != m.ID {
			continue
		}
		for _, job := range m.Fitted.Jobs {
			if job.Swaps == ask.Part && slices.ContainsFunc(job.When, func(t schedule.Trigger) bool { return len(t.Every) > 0 }) {
				return true
			}
		}
	}
	return false
}

func count(is bool) int {
	if is {
		return 1
	}
	return 0
}

// used are the lives that count.
func (l *PartLife) used() []Lived {
	return slices.DeleteFunc(slices.Clone(l.Lives), func(v Lived) bool { return v.Without != "" })
}

// Why a life is left out.
const (
	WithoutStart   = "use before the book began is not known"
	WithoutUse     = "no use was counted from putting in to taking out"
	WithoutCounter = "the counter was never read"
	WithoutPlace   = "place in dispute"
)

// lived judges one part. A new part is known from its first day on. One that was there from the beginning, or came in used, is known from the use somebody claimed for it
// on; or from new where its machine's main counter began at nothing and no starting line was drawn.
func (s *State) lived(p *Part, ask LifeAsk, whole map[ID]bool) Lived {
	last := p.Stays[len(p.Stays)-1]
	v := Lived{Part: p, Machine: last.Machine, Slot: last.Slot, End: endOf(p, whole), Entries: []ID{p.Stays[0].Entry}}
	if last.To != "" {
		v.Entries = unique(append(v.Entries, last.End))
	}
	most, here := -1.0, 0.0
	for _, st := range p.Stays {
		did, _ := lifeAmount(st.Use[ask.Counter], ask.Unit)
		if here += did; did > most {
			most, v.Home = did, st.Slot
		}
	}
	q, read := p.Use[ask.Counter]
	use, fits := lifeAmount(q, ask.Unit)
	v.Use = max(0, use)
	v.From = max(0, use-here)
	if v.From < 1e-9*max(1, use) {
		v.From = 0 // the sums of stays are exact decimals, their difference here is not
	}
	switch {
	case p.Disputed:
		v.Without = WithoutPlace
	case !read || !fits:
		v.Without = WithoutCounter
	case v.From == 0 && !s.knownFromNew(p):
		v.Without = WithoutStart
	case v.Use <= v.From && v.End != EndInUse:
		v.Without = WithoutUse
	}
	return v
}

// wholeSwaps are the swaps of something bigger that this part belongs to.
func (s *State) wholeSwaps(part string) map[ID]bool {
	out := map[ID]bool{}
	for _, e := range s.Effective {
		if sw, ok := e.Record.(*record.Swap); ok && sw.Part != part {
			out[e.Entry.ID] = true
		}
	}
	return out
}

// endOf is how a part's life ended, by the last time it was taken out; whole are the swaps of something bigger.
func endOf(p *Part, whole map[ID]bool) string {
	last := p.Stays[len(p.Stays)-1]
	switch {
	case last.To == "":
		return EndInUse
	case whole[last.End] && (p.Gone == "scrapped" || last.Why != "") && last.Why != EndInTime:
		return EndWithSet
	case last.Why == EndWorn || last.Why == EndBroken:
		return last.Why
	case p.Gone != "scrapped":
		return EndOff
	case last.Why == "":
		return EndUnsaid
	}
	return last.Why
}

// knownFromNew reports whether all that a part ever did is in the book.
func (s *State) knownFromNew(p *Part) bool {
	first := p.Stays[0]
	if strings.HasPrefix(p.ID, string(first.Entry)+"/") {
		return true // put in new by that entry
	}
	if first.From != "" || p.Assumed {
		return false
	}
	m := s.MachineByID(first.Machine)
	if m == nil || m.Fitted == nil {
		return false
	}
	main := m.Fitted.MainCounter()
	if main == nil || m.Counters[main.Name] == nil {
		return false
	}
	points := m.Counters[main.Name].Points
	return len(points) > 0 && points[0].Life.Sign() == 0
}

// lifeAmount is an amount as a bare number of a unit; false where it is no such amount.
func lifeAmount(q quantity.Quantity, u quantity.Unit) (float64, bool) {
	if q.IsZero() {
		return 0, true
	}
	v, ok := inUnit(q, u)
	return v.Float64(), ok
}

// rate is how often the parts came to these ends, whatever their age.
func (l *PartLife) rate(ends ...string) LifeRate {
	r := LifeRate{Each: 1000}
	for _, v := range l.Lives {
		if v.Without == WithoutPlace || v.Without == WithoutCounter {
			continue
		}
		r.Use += v.Use - v.From
		if slices.Contains(ends, v.End) {
			r.Count++
			r.Entries = append(r.Entries, v.Entries[len(v.Entries)-1])
		}
	}
	r.Entries = onceEach(r.Entries)
	if r.Use <= 0 {
		return r
	}
	limits := stats.PoissonLimits(r.Count, LifeLevel)
	each := r.Each / r.Use
	r.Rate, r.Limits = float64(r.Count)*each, stats.Interval{Low: limits.Low * each, High: limits.High * each}
	return r
}

// LifeCounter is the counter on which a part's life is counted where none is named: that which the first of its readings goes with, else the main one; nil where there is
// none.
func LifeCounter(m *Machine, part string) *schedule.Counter {
	if m.Fitted == nil {
		return nil
	}
	for i := range m.Fitted.Readings {
		r := &m.Fitted.Readings[i]
		if r.Part == part && len(r.Wears) > 0 {
			if c, ok := m.Fitted.Counter(r.Wears[0]); ok && !c.Trip {
				return c
			}
		}
	}
	return m.Fitted.MainCounter()
}

// position is where a life's slot is; the zero one is the machine.
func (v *Lived) position() record.Position {
	p, _ := SplitSlot(v.Home)
	return p
}

// onceEach are entries without repetition, by their ids; it sorts them where they stand.
func onceEach(ids []ID) []ID {
	slices.Sort(ids)
	return slices.Compact(ids)
}
