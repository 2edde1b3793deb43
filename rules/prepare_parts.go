package rules

import (
	"cmp"
	"slices"
	"strings"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// PartNeed is how many of a part are wanted, and how many of them are there: Buy is Count less Shelf, nothing below none. Parts in transit (taken out and put
// nowhere) are told and not counted on: nobody knows whether they come back.
type PartNeed struct {
	Schedule, Part, Hand string
	Count                int // wanted: the sum of Lines
	Shelf                int // on the shelves of the yards asked about
	Used                 int // of them with a history
	Transit              int // taken out of machines of the kind, and put nowhere
	Buy                  int
	Pack                 int    // in a pack
	Packs                int    // to buy; 0 where the part is sold singly
	Lead                 string // how long it takes to get; "" where the schedule does not say
	OrderBy              string // the last day to order it, Before less Lead; "" where the schedule does not say
	Machines             []ID
	Lines                []PartLine
	Entries              []ID   // the jobs' and the shelves' reasons
	Named                string // of a fault: what was said to be needed
}

// PartLine is where some of the parts are wanted.
type PartLine struct {
	Machine ID
	Job     string           // "" of a fault and of places left empty
	Empty   bool             // a part was taken out there and none put in
	Places  record.Positions // one part in each of them (the first of the neighbours that one serves); none: the machine
	Count   int
}

// swap counts the parts that a job replaces at some places, and the parts that go with them. A part that two jobs ask for is counted once.
func (g *gatherer) swap(t *Task, job *schedule.Job, at record.Positions) {
	f := g.judge(t.Machine).m.Fitted
	names, whole := []string{job.Swaps}, false
	if a, ok := f.Assembly(job.Swaps); ok {
		names, whole = a.Parts, a.Whole
	}
	for _, name := range names {
		if whole {
			if def, ok := f.Part(name); ok {
				at = f.All(def.Of)
			}
		}
		g.part(t, job, name, at, map[string]bool{})
	}
}

// part counts a part at some places: one for each hand that is to be replaced, one for several places where it serves them, all of them where it is a set, its
// partner's too, and the parts that are replaced with it.
func (g *gatherer) part(t *Task, job *schedule.Job, name string, at record.Positions, seen map[string]bool) {
	j := g.judge(t.Machine)
	def, ok := j.m.Fitted.Part(name)
	if !ok || def.Fluid || seen[name] { // a fluid is among what is used
		return
	}
	seen[name] = true
	places := []record.Position{{}}
	if def.Of != "" {
		places = slices.DeleteFunc(at.All(), func(p record.Position) bool { return p.Noun != def.Of })
		if len(places) == 0 || def.Set {
			places = j.inUse(j.m.Fitted.All(def.Of))
		}
	}
	if def.Partner != "" {
		for _, p := range slices.Clone(places) {
			if q, ok := j.m.Fitted.PairOf(p); ok && !slices.Contains(places, q) {
				places = append(places, q)
			}
		}
	}
	line := PartLine{Machine: t.Machine, Job: t.Job}
	for _, p := range places {
		for _, hand := range j.handsToSwap(t.Item, job, def, p) {
			g.want(line, def, seat(def, p), hand, t.Entries)
		}
	}
	for _, with := range def.With {
		g.part(t, job, with, placed(places), seen)
	}
}

// inUse leaves out places that are out of use.
func (j *judge) inUse(set record.Positions) []record.Position {
	return slices.DeleteFunc(set.All(), func(p record.Position) bool { return j.m.Out[p.String()] != nil })
}

// handsToSwap are the hands of a place whose part is to be replaced: both, but where the job is due by readings of the part at one hand only.
func (j *judge) handsToSwap(it Item, job *schedule.Job, def *schedule.Part, p record.Position) []string {
	if !def.Handed {
		return []string{""}
	}
	hands := []string{"left", "right"}
	if place, _, ok := j.m.Fitted.Noun(def.Of); ok && len(place.Hands) > 0 {
		hands = place.Hands
	}
	if it.Cause != ByLimit || it.Job != job.Name || def.Set {
		return hands
	}
	var past []string
	for i := range job.When {
		r, ok := j.m.Fitted.Reading(job.When[i].Past)
		if !ok {
			continue
		}
		for _, b := range j.pastLimit(r) {
			if b.at != p || j.answered(job, p, b.r) {
				continue
			}
			if !r.Handed || r.Part != def.Name || b.hand == "" {
				return hands // what is past its limit speaks of both
			}
			past = addWord(past, b.hand)
		}
	}
	if len(past) == 0 {
		return hands
	}
	return past
}

// empty counts the parts of slots that were left empty.
func (g *gatherer) empty(m *Machine) {
	if m.Fitted == nil {
		return
	}
	for i := range m.Fitted.Parts {
		def := &m.Fitted.Parts[i]
		for _, slot := range names(m.Slots[def.Name], m.Slots[def.Name]) {
			if s := m.Slots[def.Name][slot]; s.Part == nil && !s.Unknown && !s.Disputed && !def.Fluid {
				p, hand := SplitSlot(slot)
				g.want(PartLine{Machine: m.ID, Empty: true}, def, p, hand, s.Reason.Entries)
			}
		}
	}
}

// want counts one part for a slot, on the line of its machine and job.
func (g *gatherer) want(line PartLine, def *schedule.Part, p record.Position, hand string, entries []ID) {
	m := g.s.MachineByID(line.Machine)
	key := m.Kind + "\x00" + def.Name + "\x00" + hand
	slot := key + "\x00" + string(m.ID) + "\x00" + p.String()
	if g.taken[slot] {
		return
	}
	g.taken[slot] = true
	n := g.parts[key]
	if n == nil {
		n = &PartNeed{Schedule: m.Kind, Part: def.Name, Hand: hand, Pack: def.Pack, Lead: def.Lead}
		if days := leadDays(def.Lead); days > 0 {
			n.OrderBy = calendarDay(g.p.Before).AddDate(0, 0, -days).Format("2006-01-02")
		}
		g.parts[key] = n
	}
	n.wanted(line, p, 1)
	n.Entries = few(append(n.Entries, entries...))
}

// wanted adds to a line.
func (n *PartNeed) wanted(line PartLine, p record.Position, count int) {
	n.Count += count
	if !slices.Contains(n.Machines, line.Machine) {
		n.Machines = append(n.Machines, line.Machine)
	}
	i := slices.IndexFunc(n.Lines, func(l PartLine) bool { return l.Machine == line.Machine && l.Job == line.Job && l.Empty == line.Empty })
	if i < 0 {
		n.Lines, i = append(n.Lines, line), len(n.Lines)
	}
	l := &n.Lines[i]
	l.Count += count
	if p != (record.Position{}) {
		l.Places = l.Places.Union(record.NewPositions(p))
	}
}

// leadDays is a time such as "14 d" or "3 wk" in days, rounded up; 0 where none is given.
func leadDays(lead string) int {
	q, err := quantity.Parse(lead)
	if err != nil || q.Sign() <= 0 {
		return 0
	}
	return spanDays(q)
}

// faultNeeds are the parts that somebody said an open fault needs.
func (g *gatherer) faultNeeds(m *Machine, it Item) {
	if it.Cause != ByFault || it.Job != "" {
		return
	}
	for _, f := range m.Faults {
		if f.Closed != "" || !slices.Contains(it.Entries, f.ID) {
			continue
		}
		for _, need := range f.Needs {
			key := "\x00" + need.What
			n := g.parts[key]
			if n == nil {
				n = &PartNeed{Named: need.What}
				g.parts[key] = n
			}
			n.wanted(PartLine{Machine: m.ID}, record.Position{}, max(1, need.Count))
			n.Entries = few(append(n.Entries, f.ID))
		}
	}
}

func (g *gatherer) finishParts() {
	for _, n := range g.parts {
		g.shelves(n)
		n.Buy = max(0, n.Count-n.Shelf)
		if n.Pack > 1 {
			n.Packs = (n.Buy + n.Pack - 1) / n.Pack
		}
		g.p.Parts = append(g.p.Parts, *n)
	}
	slices.SortFunc(g.p.Parts, func(a, b PartNeed) int {
		return cmp.Or(strings.Compare(a.Schedule, b.Schedule), strings.Compare(a.Part, b.Part), strings.Compare(a.Hand, b.Hand), strings.Compare(a.Named, b.Named))
	})
}

// shelves counts what lies on the shelves of the filter's yards, and of the yards of its farm, and what is in transit.
func (g *gatherer) shelves(n *PartNeed) {
	if n.Part == "" {
		return
	}
	for _, h := range g.s.Shelves {
		y := g.s.Yard(string(h.Yard))
		if g.f.Yard != "" && h.Yard != g.f.Yard || g.f.Farm != "" && (y == nil || y.Farm != g.f.Farm) {
			continue
		}
		for _, l := range h.Stock {
			if l.Schedule == n.Schedule && l.Part == n.Part && l.Hand == n.Hand && l.Count > 0 {
				n.Shelf += l.Count
				n.Used += min(len(l.Parts), l.Count)
				n.Entries = few(append(n.Entries, l.Reason.Entries...))
			}
		}
	}
	for _, p := range g.s.Parts {
		if p.Gone == "transit" && p.Schedule == n.Schedule && p.Kind == n.Part && p.Hand == n.Hand {
			n.Transit++
		}
	}
}
