package rules

import (
	"cmp"
	"math/big"
	"slices"
	"strings"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// Preparation is the work that comes due by a day, and what it takes.
type Preparation struct {
	Before string // YYYY-MM-DD
	Days   int    // from the state's day until then
	Work   []Task // in an order that opens each assembly once and does what follows on after what it follows
	Field  []FieldWork
	Parts  []PartNeed
	Uses   []UseNeed
	Tools  []ToolNeed
	Hours  []ShopHours
}

// Task is one job at its places: one that the due list has, or one that will follow at once on others of the list and is not in it yet.
type Task struct {
	Item
	Opens   string // what has to be opened for it; tasks of one machine that open the same stand together
	Who     string // "anyone", "trained", "licensed"
	Hands   int
	LastBy  ID                // who did it the last time; of what follows on, who did what brings it; "" where nobody did
	Follows []string          // the jobs of the list that bring it, where it is not due by itself
	Torques []schedule.Torque // of the job and of those it includes
}

// FieldWork is what jobs of the list bring later, once the machine has worked: the torque after the first hours. It is not among the shop hours.
type FieldWork struct {
	Machine, Yard ID
	Name          string // of the machine
	Job, Title    string
	Positions     record.Positions
	Where         string
	Follows       []string            // the jobs of the list that bring it
	At            []schedule.Interval // so long after them, each once ...
	Then          *schedule.Interval  // ... then every so often ...
	Until         string              // ... until this result
	Minutes       *big.Rat            // each time, for all its places; nil where the schedule does not say
	Torques       []schedule.Torque
	Severity      string
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

// ShopHours is how long the work takes at a yard by who may do it and who did it the last time, all hands together. Jobs whose time the schedule does not give
// are counted apart. Who is trained or licensed is in no book; who did it the last time is.
type ShopHours struct {
	Yard    ID
	Who     string
	LastBy  ID
	Minutes *big.Rat
	Untimed int
}

// Prepare gathers what is overdue, due, open or coming by a day, for the machines of the filter (its Within and All are not used), and what follows on that
// work. With a person it is the work which that person did the last time, and what follows on it. before is after the state's day.
func Prepare(s *State, f Filter, before string, person ID) Preparation {
	p := Preparation{Before: before, Days: int(calendarDay(before).Sub(calendarDay(s.On)).Hours() / 24)}
	f.Within, f.All = max(1, p.Days), false
	g := gatherer{s: s, f: f, p: &p, history: newHistory(s), judges: map[ID]*judge{}, parts: map[string]*PartNeed{}, taken: map[string]bool{}, tools: map[string]*ToolNeed{}}
	listed := listedWork{}
	for _, it := range Due(s, f) {
		if it.State == Unknown || it.State == Later {
			continue
		}
		t := g.newTask(it)
		listed.add(g.judge(it.Machine), it)
		if person == "" || t.LastBy == person {
			p.Work = append(p.Work, t)
		}
	}
	g.foresee(listed)
	for i := range p.Work {
		g.task(&p.Work[i])
	}
	for _, m := range s.Machines {
		if person == "" && f.takes(m) {
			g.empty(m)
		}
	}
	for _, w := range p.Field {
		if job, ok := g.judge(w.Machine).m.Fitted.Job(w.Job); ok {
			g.bring(job.Tools, w.Job)
		}
	}
	g.finish()
	return p
}

type gatherer struct {
	s       *State
	f       Filter
	p       *Preparation
	history *history
	judges  map[ID]*judge
	parts   map[string]*PartNeed
	taken   map[string]bool // part, machine and slot already counted: two jobs may ask for one part
	uses    []*UseNeed
	tools   map[string]*ToolNeed
}

func (g *gatherer) judge(machine ID) *judge {
	j := g.judges[machine]
	if j == nil {
		j = newJudge(g.s, g.s.MachineByID(machine), g.f, g.history)
		g.judges[machine] = j
	}
	return j
}

func (g *gatherer) newTask(it Item) Task {
	t := Task{Item: it, Who: "anyone", Hands: 1}
	m := g.s.MachineByID(it.Machine)
	if m.Fitted == nil || it.Job == "" {
		return t
	}
	job, ok := m.Fitted.Job(it.Job)
	if !ok {
		return t
	}
	t.Opens, t.Hands = job.Open, max(1, job.Hands)
	if job.Who != "" {
		t.Who = job.Who
	}
	j, places := g.judge(it.Machine), it.Positions.All()
	if len(places) == 0 {
		places = []record.Position{{}}
	}
	if d := j.last(job, places[0]); d != nil && !d.Assumed {
		t.LastBy = d.Person
	}
	return t
}

// task counts what a task takes: parts, consumables, tools, time.
func (g *gatherer) task(t *Task) {
	m := g.s.MachineByID(t.Machine)
	if m.Fitted != nil && t.Job != "" {
		if job, ok := m.Fitted.Job(t.Job); ok {
			g.job(t, job, t.Positions, map[string]bool{})
		}
	}
	g.faultNeeds(m, t.Item)
	h := g.hours(m.Yard, t.Who, t.LastBy)
	if t.Minutes != nil {
		h.Minutes.Add(h.Minutes, new(big.Rat).Mul(t.Minutes, big.NewRat(int64(t.Hands), 1)))
	} else {
		h.Untimed++
	}
}

func (g *gatherer) hours(yard ID, who string, by ID) *ShopHours {
	for i := range g.p.Hours {
		if h := &g.p.Hours[i]; h.Yard == yard && h.Who == who && h.LastBy == by {
			return h
		}
	}
	g.p.Hours = append(g.p.Hours, ShopHours{Yard: yard, Who: who, LastBy: by, Minutes: new(big.Rat)})
	return &g.p.Hours[len(g.p.Hours)-1]
}

// job adds what a job takes at some places, and what the jobs it includes take at theirs, each once.
func (g *gatherer) job(t *Task, job *schedule.Job, at record.Positions, done map[string]bool) {
	if done[job.Name] {
		return
	}
	done[job.Name] = true
	t.Torques = append(t.Torques, job.Torques...)
	g.bring(job.Tools, job.Name)
	for _, u := range job.Uses {
		times := int64(max(1, at.Len()))
		if job.Points > 0 {
			times *= int64(job.Points)
		}
		g.use(u.What, u.Amount.Mul(big.NewRat(times, 1), 3), job.Name)
	}
	if job.Swaps != "" {
		g.swap(t, job, at)
	}
	j := g.judge(t.Machine)
	for _, name := range job.Includes {
		if sub, ok := j.m.Fitted.Job(name); ok {
			if at, ok := j.coveredBy(job, at, sub); ok {
				g.job(t, sub, at, done)
			}
		}
	}
}

// coveredBy are the places of a smaller job that a bigger one at some places takes care of, as replay has it; ok is false where there are none. Of a job of the
// machine they are the empty set.
func (j *judge) coveredBy(big *schedule.Job, at record.Positions, small *schedule.Job) (record.Positions, bool) {
	want := j.jobPositions(small)
	switch {
	case small.Of == "" && small.Group == "":
		return record.Positions{}, big.Of == "" || j.m.Fitted.All(big.Of).Without(at).IsZero()
	case big.Of == small.Of:
		both := record.NewPositions(slices.DeleteFunc(want.All(), func(p record.Position) bool { return !at.Has(p) })...)
		return both, !both.IsZero()
	case big.Of != "" && !j.m.Fitted.All(big.Of).Without(at).IsZero():
		return record.Positions{}, false
	}
	return want, !want.IsZero()
}

// jobPositions are where a job is done, places out of use left out; of a job of the machine the empty set.
func (j *judge) jobPositions(job *schedule.Job) record.Positions {
	return placed(j.placesOf(job))
}

func (g *gatherer) bring(tools []string, job string) {
	for _, tool := range tools {
		n := g.tools[tool]
		if n == nil {
			n = &ToolNeed{Tool: tool}
			g.tools[tool] = n
		}
		n.Jobs = addWord(n.Jobs, job)
	}
}

// use adds an amount to what is used of a thing, in the unit it was first told in; amounts that cannot be added stand apart.
func (g *gatherer) use(what string, amount quantity.Quantity, job string) {
	for _, n := range g.uses {
		if sum, err := n.Amount.Add(amount); n.What == what && err == nil {
			n.Amount, n.Jobs = sum, addWord(n.Jobs, job)
			return
		}
	}
	g.uses = append(g.uses, &UseNeed{What: what, Amount: amount, Jobs: []string{job}})
}

func addWord(list []string, word string) []string {
	if slices.Contains(list, word) {
		return list
	}
	return append(list, word)
}

func (g *gatherer) finish() {
	g.finishParts()
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
	slices.SortFunc(g.p.Hours, func(a, b ShopHours) int {
		return cmp.Or(strings.Compare(string(a.Yard), string(b.Yard)), strings.Compare(a.Who, b.Who), strings.Compare(string(a.LastBy), string(b.LastBy)))
	})
	g.order()
}
