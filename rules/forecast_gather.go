package rules

import (
	"cmp"
	"fmt"
	"math/big"
	"slices"
	"strings"

	"shedbook/rules/record"
	"shedbook/rules/schedule"
	"shedbook/rules/wear"
)

// wearGatherer turns a machine's readings into a wear.Data.
type wearGatherer struct {
	s       *State
	m       *Machine
	w       *Wear
	j       *judge
	counter string
	seasons []*Season // begun, in order of their first day
	ends    []string  // last day of each stretch but the last
	groups  []wearGroup
	source  []map[int]*Reading // of each wear.Part: its readings
}

type wearGroup struct {
	name string
	in   record.Positions
}

func newWearGatherer(j *judge, w *Wear) *wearGatherer {
	g := &wearGatherer{s: j.s, m: j.m, w: w, j: j, counter: w.Counter.Name}
	for _, n := range j.seasons("") {
		if n.Opened != "" && n.Opened <= j.s.On {
			g.seasons = append(g.seasons, n)
		}
	}
	g.stretches()
	g.groupsOf(w.Reading.Of)
	return g
}

// stretches cuts time into seasons, each from the end of the one before to its own: between seasons a machine does next to nothing, and a counter that is read
// only when a season closes would else have worked all winter. The last stretch is the season under way or the next one. Where no season is known they are
// calendar years.
func (g *wearGatherer) stretches() {
	d := &g.w.data
	d.Falls, d.Limit = g.w.Falls, g.w.Limit
	if len(g.seasons) > 0 {
		for i, n := range g.seasons {
			d.Seasons = append(d.Seasons, n.Name)
			end := n.Closed
			if end == "" && i+1 < len(g.seasons) { // never closed, and another has begun
				end = dayBefore(g.seasons[i+1].Opened)
			}
			if end != "" {
				if len(g.ends) > 0 {
					end = max(end, g.ends[len(g.ends)-1])
				}
				g.ends = append(g.ends, end)
			}
		}
		if len(g.ends) == len(g.seasons) {
			d.Seasons = append(d.Seasons, "since "+g.seasons[len(g.seasons)-1].Name)
		}
		return
	}
	if len(g.w.Counter.Points) == 0 {
		d.Seasons = []string{g.s.On[:4]}
		return
	}
	first := g.w.Counter.Points[0].Done.Date()[:4]
	d.Seasons = append(d.Seasons, first)
	for y := first; y < g.s.On[:4]; {
		g.ends = append(g.ends, y+"-12-31")
		y = fmt.Sprintf("%04d", mustYear(y)+1)
		d.Seasons = append(d.Seasons, y)
	}
}

func mustYear(y string) int { return calendarDay(y + "-01-01").Year() }

// groupsOf are the groups of a noun whose rate may differ: each rank behind the first, lists and steps, the wings beside the middle.
func (g *wearGatherer) groupsOf(noun string) {
	f := g.m.Fitted
	for i := range f.Groups {
		def := &f.Groups[i]
		if def.Of != noun {
			continue
		}
		in, ok := f.GroupPositions(def.Name)
		all := f.All(noun)
		n, of := len(in.All()), len(all.All())
		if !ok || n == 0 || n == of || def.Rank == 1 {
			continue
		}
		if def.Rank == 0 && def.List == "" && def.Step == 0 && def.From != nil && def.From.Sign() > 0 && def.To != nil && def.To.Cmp(big.NewRat(1, 1)) < 0 {
			continue // the middle
		}
		g.groups = append(g.groups, wearGroup{def.Name, in})
		g.w.data.Groups = append(g.w.data.Groups, strings.ReplaceAll(def.Name, "-", " "))
	}
	if hands := g.hands(); len(hands) == 2 {
		g.groups = append(g.groups, wearGroup{name: hands[1]})
		g.w.data.Groups = append(g.w.data.Groups, hands[1]+" hand")
	}
}

// hands are those at which the reading is taken, one without a name where it has none.
func (g *wearGatherer) hands() []string {
	if place, _, ok := g.m.Fitted.Noun(g.w.Reading.Of); ok && g.w.Reading.Handed && len(place.Hands) > 0 {
		return place.Hands
	}
	return []string{""}
}

// here is a slot's membership of each group.
func (g *wearGatherer) here(p record.Position, hand string) []float64 {
	out := make([]float64, len(g.groups))
	for i, w := range g.groups {
		if !w.in.IsZero() && w.in.Has(p) || w.in.IsZero() && w.name == hand {
			out[i] = 1
		}
	}
	return out
}

// gather collects every part ever read on this machine, what sits there now first.
func (g *wearGatherer) gather() {
	def := g.w.Reading
	readings := g.collect(def)
	taken := map[string]bool{}
	for _, p := range g.j.walk(def) {
		for _, hand := range g.hands() {
			worn := Worn{Place: p, Hand: hand}
			key := "place/" + SlotName(p, hand)
			at := len(g.w.data.Parts)
			if slot := g.j.slot(def.Part, p, hand); def.Part != "" && slot != nil {
				if slot.Part == nil {
					continue // nothing there to wear
				}
				worn.Part = slot.Part
				key = segmentKey(slot.Part.ID, slot.Part.Segment)
			}
			if taken[key] {
				continue // a part that serves neighbours
			}
			taken[key] = true
			list := readings[key]
			for _, r := range list {
				worn.Entries = append(worn.Entries, r.r.Entry)
			}
			if n := len(list); n > 0 {
				worn.Last = list[n-1].r
			}
			part, ok := g.part(worn.Part, list)
			if !ok {
				at = -1
			} else {
				part.Here = g.here(p, hand)
				now := g.use(worn.Part, list)
				part.Use, part.Groups = g.carry(part, now, p, hand, list)
				g.add(part, list)
			}
			g.w.Parts = append(g.w.Parts, worn)
			g.w.current = append(g.w.current, at)
		}
	}
	idle := g.idlePlaces(taken, readings)
	var gone []string
	for key := range readings {
		if !taken[key] {
			gone = append(gone, key)
		}
	}
	slices.Sort(gone)
	for _, key := range gone {
		if part, ok := g.part(g.partOf(readings[key]), readings[key]); ok {
			n := part.Readings[len(part.Readings)-1]
			part.Use, part.Groups = n.Use, n.Groups
			if i, sits := idle[key]; sits {
				g.sits(&part, i, readings[key])
			} else {
				part.Gone = true
			}
			g.add(part, readings[key])
		}
	}
	for i := range g.w.Idle { // new ones never read
		if part, ok := g.part(g.w.Idle[i].Part, nil); ok && g.w.Idle[i].Last == nil {
			g.sits(&part, i, nil)
			g.add(part, nil)
		}
	}
}

// idlePlaces lists what sits at places out of use: the key of its readings, and its index in Wear.Idle.
func (g *wearGatherer) idlePlaces(taken map[string]bool, readings map[string][]readAt) map[string]int {
	def := g.w.Reading
	out := map[string]int{}
	if def.Of == "" {
		return out
	}
	for _, p := range g.m.Fitted.Walk(g.m.Fitted.All(def.Of)) {
		if g.m.Out[p.String()] == nil {
			continue
		}
		for _, hand := range g.hands() {
			worn := Worn{Place: p, Hand: hand}
			key := "place/" + SlotName(p, hand)
			if slot := g.j.slot(def.Part, p, hand); def.Part != "" && slot != nil {
				if slot.Part == nil {
					continue
				}
				worn.Part = slot.Part
				key = segmentKey(slot.Part.ID, slot.Part.Segment)
			}
			if _, again := out[key]; again || taken[key] {
				continue
			}
			for _, r := range readings[key] {
				worn.Entries = append(worn.Entries, r.r.Entry)
				worn.Last = r.r
			}
			out[key] = len(g.w.Idle)
			g.w.Idle = append(g.w.Idle, worn)
			g.w.idle = append(g.w.idle, -1)
		}
	}
	return out
}

// sits gives a part out of use the use it has by now, and notes where in the data it comes to stand.
func (g *wearGatherer) sits(part *wear.Part, i int, list []readAt) {
	worn := &g.w.Idle[i]
	part.Here = g.here(worn.Place, worn.Hand)
	part.Use, part.Groups = g.carry(*part, g.use(worn.Part, list), worn.Place, worn.Hand, list)
	g.w.idle[i] = len(g.w.data.Parts)
}

func (g *wearGatherer) add(p wear.Part, list []readAt) {
	source := map[int]*Reading{}
	for i, r := range list {
		source[i] = r.r
	}
	g.w.data.Parts = append(g.w.data.Parts, p)
	g.source = append(g.source, source)
}

// readAt is a reading with the slot it was taken at.
type readAt struct {
	r    *Reading
	at   record.Position
	hand string
}

func segmentKey(part string, segment int) string { return fmt.Sprintf("part/%s/%d", part, segment) }

// collect sorts the readings that have a value and a known use by part and segment, or by place where they are of no part, each list in order of effect.
func (g *wearGatherer) collect(def *schedule.Reading) map[string][]readAt {
	out := map[string][]readAt{}
	slots := make([]string, 0, len(g.m.Readings[def.Name]))
	for slot := range g.m.Readings[def.Name] {
		slots = append(slots, slot)
	}
	slices.Sort(slots)
	for _, slot := range slots {
		p, hand := SplitSlot(slot)
		for _, r := range g.m.Readings[def.Name][slot] {
			if _, ok := atRated(def, r).Quantity(); !ok || r.Assumed {
				continue
			}
			key := "place/" + slot
			use := r.Use
			if r.Part != "" {
				key, use = segmentKey(r.Part, r.Segment), r.SegmentUse
			}
			if _, ok := use[g.counter]; ok {
				out[key] = append(out[key], readAt{r, p, hand})
			}
		}
	}
	for _, list := range out {
		slices.SortStableFunc(list, func(a, b readAt) int { return g.j.compare(a.r.Done, a.r.Entry, b.r.Done, b.r.Entry) })
	}
	return out
}

// partOf is the part that readings are of, nil where they are of a place.
func (g *wearGatherer) partOf(list []readAt) *Part {
	id := list[0].r.Part
	n, ok := slices.BinarySearchFunc(g.s.Parts, id, func(p *Part, id string) int { return cmp.Compare(p.ID, id) })
	if !ok {
		return nil
	}
	return g.s.Parts[n]
}

// part is a part's readings with its use by season and group. Not ok: no reading and no known start.
func (g *wearGatherer) part(p *Part, list []readAt) (wear.Part, bool) {
	def := g.w.Reading
	out := wear.Part{}
	begin := ""
	if p != nil && (len(list) == 0 || list[0].r.Segment == p.Segment) && p.SegmentFrom != "" {
		begin = p.SegmentFrom.Date()
	} else if p != nil && len(p.Stays) > 0 && p.Stays[0].From != "" {
		begin = p.Stays[0].From.Date()
	}
	if p != nil && def.HasNew && g.new(p) {
		out.Start, out.HasStart = number(def.New, def.Unit), true
	}
	if len(list) == 0 && !out.HasStart {
		return out, false
	}
	before, by, groups := 0.0, make([]float64, len(g.w.data.Seasons)), make([]float64, len(g.groups))
	for _, r := range list {
		use := g.useOf(r.r)
		g.spread(by, begin, r.r.Done.Date(), use-before)
		for i, h := range g.here(r.at, r.hand) {
			groups[i] += h * (use - before)
		}
		before, begin = use, r.r.Done.Date()
		q, _ := atRated(def, r.r).Quantity()
		out.Readings = append(out.Readings, wear.Reading{Day: r.r.Done.Date(), Size: number(q, def.Unit), Use: slices.Clone(by), Groups: slices.Clone(groups)})
	}
	return out, true
}

// new reports a part whose life since it was new is in the record: fitted new during it, or sitting in a machine that was new when its record began; never
// turned, sharpened or rebuilt, and nothing about it assumed.
func (g *wearGatherer) new(p *Part) bool {
	if p.Assumed || p.Segment != 1 || len(p.Stays) == 0 {
		return false
	}
	if p.Stays[0].From != "" {
		return true
	}
	m := g.s.MachineByID(p.Stays[0].Machine)
	if m == nil || m.Counters[g.counter] == nil {
		return false
	}
	points := m.Counters[g.counter].Points
	return len(points) > 0 && points[0].Face.Sign() == 0 && points[0].Act != "reset"
}

func dayBefore(day string) string { return dateOf(calendarDay(day).AddDate(0, 0, -1)) }

// odd names the readings that the model left out, of parts in the machine or gone.
func (g *wearGatherer) odd() {
	for _, o := range g.w.Model.Odd {
		r := g.source[o.Part][o.Reading]
		odd := OddReading{Reading: r, Grew: o.Grew, Expected: o.Expected}
		for slot, list := range g.m.Readings[g.w.Reading.Name] { // one slot has it
			if slices.Contains(list, r) {
				odd.Place, odd.Hand = SplitSlot(slot)
			}
		}
		g.w.Odd = append(g.w.Odd, odd)
	}
	slices.SortStableFunc(g.w.Odd, func(a, b OddReading) int { return cmp.Or(a.Place.Compare(b.Place), cmp.Compare(a.Hand, b.Hand)) })
}

// walk are the places of a reading in walking order, those out of use left out.
func (j *judge) walk(def *schedule.Reading) []record.Position {
	if def.Of == "" {
		return []record.Position{{}}
	}
	return slices.DeleteFunc(j.m.Fitted.Walk(j.m.Fitted.All(def.Of)), func(p record.Position) bool { return j.m.Out[p.String()] != nil })
}
