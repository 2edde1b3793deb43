package rules

import (
	"cmp"
	"math/big"
	"slices"
	"sort"
	"strings"

	"shedbook/rules/quantity"
	"shedbook/rules/schedule"
)

// Preparation is the work that comes due by a day, and what it takes.
type Preparation struct {
	Before string // YYYY-MM-DD
	Days   int    // from the state's day until then
	Work   []Task // in an order that opens each assembly once
	Parts  []PartNeed
	Uses   []UseNeed
	Tools  []ToolNeed
	Hours  []ShopHours
}

// Task is one job at its places, as the due list has it.
type Task struct {
	Item
	Opens   string // what has to be opened for it; tasks of one machine that open the same stand together
	Who     string // "anyone", "trained", "licensed"
	Hands   int
	Torques []schedule.Torque // of the job and of those it includes
}

// PartNeed is how many of a part are wanted, and how many of them are there.
type PartNeed struct {
	Schedule, Part, Hand string
	Count                int // wanted
	Shelf                int // on the shelves of the yards asked about
	Buy                  int
	Packs                int    // to buy; 0 where the part is sold singly
	Pack                 int    // in a pack
	OrderBy              string // the last day to order it; "" where the schedule does not say how long it takes
	Machines             []ID
	Entries              []ID   // the jobs' and the shelves' reasons
	Named                string // of a fault: what was said to be needed
}

// UseNeed is a consumable or fill.
type UseNeed struct {
	What   string
	Amount quantity.Quantity
	Jobs   []string
}

// ToolNeed is a tool and the jobs that take it.
type ToolNeed struct {
	Tool string
	Jobs []string
}

// ShopHours is how long the work takes at a yard by who may do it, all hands together. Jobs whose time the schedule does not give are counted apart.
type ShopHours struct {
	Yard    ID
	Who     string
	Minutes *big.Rat
	Untimed int
}

// Prepare gathers what is overdue, due, open or coming by a day, for the machines of the filter (its Within and All are not used). before is after the
// state's day.
func Prepare(s *State, f Filter, before string) Preparation {
	p := Preparation{Before: before, Days: int(calendarDay(before).Sub(calendarDay(s.On)).Hours() / 24)}
	f.Within, f.All = max(1, p.Days), false
	g := gatherer{s: s, f: f, p: &p, parts: map[string]*PartNeed{}, uses: map[string]*UseNeed{}, tools: map[string]*ToolNeed{}, hours: map[string]*ShopHours{}}
	for _, it := range Due(s, f) {
		if it.State != Unknown && it.State != Later {
			g.task(it)
		}
	}
	g.finish()
	return p
}

type gatherer struct {
	s     *State
	f     Filter
	p     *Preparation
	parts map[string]*PartNeed
	uses  map[string]*UseNeed
	tools map[string]*ToolNeed
	hours map[string]*ShopHours
}

func (g *gatherer) task(it Item) {
	m := g.s.MachineByID(it.Machine)
	t := Task{Item: it, Who: "anyone", Hands: 1}
	if m.Fitted != nil && it.Job != "" {
		if job, ok := m.Fitted.Job(it.Job); ok {
			t.Opens = job.Open
			if job.Who != "" {
				t.Who = job.Who
			}
			t.Hands = max(1, job.Hands)
			g.job(m, &t, job, map[string]bool{})
		}
	}
	g.faultNeeds(m, it)
	h := g.hours[string(m.Yard)+" "+t.Who]
	if h == nil {
		h = &ShopHours{Yard: m.Yard, Who: t.Who, Minutes: new(big.Rat)}
		g.hours[string(m.Yard)+" "+t.Who] = h
	}
	if it.Minutes != nil {
		h.Minutes.Add(h.Minutes, new(big.Rat).Mul(it.Minutes, big.NewRat(int64(t.Hands), 1)))
	} else {
		h.Untimed++
	}
	g.p.Work = append(g.p.Work, t)
}

// job adds what a job takes, and what the jobs it includes take, each once.
func (g *gatherer) job(m *Machine, t *Task, job *schedule.Job, done map[string]bool) {
	if done[job.Name] {
		return
	}
	done[job.Name] = true
	t.Torques = append(t.Torques, job.Torques...)
	places := max(1, len(t.Positions.All()))
	for _, tool := range job.Tools {
		n := g.tools[tool]
		if n == nil {
			n = &ToolNeed{Tool: tool}
			g.tools[tool] = n
		}
		n.Jobs = addWord(n.Jobs, job.Name)
	}
	for _, u := range job.Uses {
		times := int64(places)
		if job.Points > 0 {
			times *= int64(job.Points)
		}
		amount := u.Amount.Mul(big.NewRat(times, 1), 3)
		key := u.What + "\x00" + amount.Unit().String()
		n := g.uses[key]
		if n == nil {
			n = &UseNeed{What: u.What, Amount: amount}
			g.uses[key] = n
		} else if sum, err := n.Amount.Add(amount); err == nil {
			n.Amount = sum
		}
		n.Jobs = addWord(n.Jobs, job.Name)
	}
	if job.Swaps != "" {
		g.part(m, t.Item, job.Swaps, places)
	}
	for _, name := range job.Includes {
		if sub, ok := m.Fitted.Job(name); ok {
			g.job(m, t, sub, done)
		}
	}
}

func addWord(list []string, word string) []string {
	if slices.Contains(list, word) {
		return list
	}
	return append(list, word)
}

// part counts a part at the places of an item: one for each hand where it has two, one for several places where it serves them.
func (g *gatherer) part(m *Machine, it Item, name string, places int) {
	def, ok := m.Fitted.Part(name)
	if !ok || def.Fluid {
		return // a fluid is among what is used
	}
	hands := []string{""}
	if def.Handed {
		hands = []string{"left", "right"}
		if place, _, ok := m.Fitted.Noun(def.Of); ok && len(place.Hands) > 0 {
			hands = place.Hands
		}
	}
	count := places
	if def.Per > 1 {
		count = (places + def.Per - 1) / def.Per
	}
	for _, hand := range hands {
		key := m.Kind + "\x00" + name + "\x00" + hand
		n := g.parts[key]
		if n == nil {
			n = &PartNeed{Schedule: m.Kind, Part: name, Hand: hand, Pack: def.Pack}
			if days := leadDays(def.Lead); days > 0 {
				n.OrderBy = calendarDay(g.p.Before).AddDate(0, 0, -days).Format("2006-01-02")
			}
			g.parts[key] = n
		}
		n.Count += count
		if !slices.Contains(n.Machines, m.ID) {
			n.Machines = append(n.Machines, m.ID)
		}
		n.Entries = few(append(n.Entries, it.Entries...))
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
		for _, n := range f.Needs {
			key := "\x00" + n.What
			have := g.parts[key]
			if have == nil {
				have = &PartNeed{Named: n.What}
				g.parts[key] = have
			}
			have.Count += max(1, n.Count)
			if !slices.Contains(have.Machines, m.ID) {
				have.Machines = append(have.Machines, m.ID)
			}
			have.Entries = few(append(have.Entries, f.ID))
		}
	}
}

func (g *gatherer) finish() {
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
	for _, n := range g.uses {
		g.p.Uses = append(g.p.Uses, *n)
	}
	slices.SortFunc(g.p.Uses, func(a, b UseNeed) int {
		return cmp.Or(strings.Compare(a.What, b.What), strings.Compare(a.Amount.Unit().String(), b.Amount.Unit().String()))
	})
	for _, n := range g.tools {
		g.p.Tools = append(g.p.Tools, *n)
	}
	slices.SortFunc(g.p.Tools, func(a, b ToolNeed) int { return strings.Compare(a.Tool, b.Tool) })
	for _, n := range g.hours {
		g.p.Hours = append(g.p.Hours, *n)
	}
	slices.SortFunc(g.p.Hours, func(a, b ShopHours) int {
		return cmp.Or(strings.Compare(string(a.Yard), string(b.Yard)), strings.Compare(a.Who, b.Who))
	})
	g.order()
}

// shelves counts what lies on the shelves of the filter's yards, and of the yards of its farm.
func (g *gatherer) shelves(n *PartNeed) {
	for _, h := range g.s.Shelves {
		y := g.s.Yard(string(h.Yard))
		if g.f.Yard != "" && h.Yard != g.f.Yard || g.f.Farm != "" && (y == nil || y.Farm != g.f.Farm) {
			continue
		}
		for _, l := range h.Stock {
			if n.Part != "" && l.Schedule == n.Schedule && l.Part == n.Part && l.Hand == n.Hand && l.Count > 0 {
				n.Shelf += l.Count
				n.Entries = few(append(n.Entries, l.Reason.Entries...))
			}
		}
	}
}

// order puts the work of a machine together; within it what opens the same, where its most pressing task stands; within that by the schedule's order, so that
// what has to come first does.
func (g *gatherer) order() {
	first := map[string]int{} // machine, and machine and opening -> where its first task stands in the due list
	for i, t := range g.p.Work {
		for _, key := range []string{string(t.Machine), string(t.Machine) + "\x00" + t.Opens} {
			if _, ok := first[key]; !ok {
				first[key] = i
			}
		}
	}
	sort.SliceStable(g.p.Work, func(i, j int) bool {
		a, b := &g.p.Work[i], &g.p.Work[j]
		return cmp.Or(
			cmp.Compare(first[string(a.Machine)], first[string(b.Machine)]),
			cmp.Compare(first[string(a.Machine)+"\x00"+a.Opens], first[string(b.Machine)+"\x00"+b.Opens]),
			cmp.Compare(a.Order, b.Order),
		) < 0
	})
}
