package rules

import (
	"cmp"
	"math/big"
	"slices"
	"strings"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// BigJob is a large or dear piece of work: a new set of parts, an overhaul, a repair by a shop. What one person would call one job is one: parts of a kind put in
// within a few days of one another at many places are one set.
type BigJob struct {
	Done, To  record.Done // the first and the last day of it
	Kind      string      // "swap", "did", "repair"
	Name      string      // the part or the job, by its name in the schedule; of a repair the part, "" where none is named
	Title     string      // in words
	Positions record.Positions
	Parts     int               // put in
	Whole     bool              // at every place there is
	Why       []string          // what makes it one: BigSet, BigJobDone, BigShop, BigCost, BigTime
	Costs     []Money           // as written, a currency at a time; none: not written, or held back
	By        []ID              // who did it, as far as the entries say
	Who       []string          // shops named, "" never among them
	Invoices  []string          // what the money was for, in the person's words
	Minutes   int               // of the farm's own work, as written
	Warranty  string            // YYYY-MM-DD, the latest of it
	Counter   string            // the main one
	At        quantity.Quantity // its use by then; zero where not known
	Cause     string            // of a repair
	Text      string            // the words written with its first entry that has any
	Papers    int               // photos and documents kept with it
	Latest    bool              // the last of its kind and name
	Told      bool              // an entry of it has a private part that can be read: without one, costs and shops may be held back
	Entries   []ID              // in order of effect
}

// Money is an amount in a currency; "" where none was written.
type Money struct {
	Amount   *big.Rat
	Currency string
}

// Why work is listed as big.
const (
	BigSet     = "set"  // parts at many places at once
	BigJobDone = "job"  // a job that the schedule reckons long, or that took long; the rounds of a season, and tidying up after it, are none
	BigShop    = "shop" // done by a shop
	BigCost    = "cost" // among the dearest of the machine
	BigTime    = "time" // hours of work as written, or of time lost
	BigMend    = "mend" // a repair that put a fault right, or that parts went into
)

// Bounds of what is big. Our own round figures.
const (
	BigPlaces  = 4   // parts put in at once
	BigMinutes = 240 // of work
	setDays    = 7   // parts of a kind put in no more than so many days apart are one job
	dearest    = 10  // one in so many of the jobs with a cost, one at least, is dear
)

// BigJobsOf lists the large and dear work on a machine, newest first.
func BigJobsOf(st *State, m *Machine) []BigJob {
	g := &bigGatherer{m: m, lost: map[ID]int{}, in: map[ID]int{}}
	for _, p := range st.Parts {
		for _, s := range p.Stays {
			if s.Machine == m.ID && s.From != "" {
				g.in[s.Entry]++
			}
		}
	}
	for _, f := range m.Faults {
		g.lost[f.ClosedBy] += minutesIn(f.Lost)
	}
	planned := scheduledMinutes(m)
	for _, e := range entriesOf(st, m) {
		g.take(e, planned[e.Entry.ID])
	}
	g.costs()
	var out []BigJob
	for _, b := range g.jobs {
		if len(b.Why) > 0 {
			out = append(out, b.BigJob)
		}
	}
	slices.SortStableFunc(out, func(a, b BigJob) int {
		return cmp.Or(b.To.Compare(a.To), b.Done.Compare(a.Done), cmp.Compare(a.Entries[0], b.Entries[0]))
	})
	seen := map[string]bool{}
	for i := range out {
		key := out[i].Kind + " " + out[i].Name
		out[i].Latest = !seen[key]
		seen[key] = true
	}
	return out
}

func minutesIn(q quantity.Quantity) int {
	if x, err := q.In(quantity.MustUnit("min"), 0); err == nil {
		return int(x.Float64())
	}
	return 0
}

// bigGatherer joins entries into jobs.
type bigGatherer struct {
	m    *Machine
	jobs []*bigDraft
	in   map[ID]int // parts that an entry put in
	lost map[ID]int // minutes that the faults closed by an entry cost
}

type bigDraft struct {
	BigJob
	planned int // minutes by the schedule
	lost    int // minutes
	mends   bool
	slots   int // of the part on the machine
}

// take adds an entry to the job it belongs to.
func (g *bigGatherer) take(e *Effective, planned *big.Rat) {
	n := &bigDraft{BigJob: BigJob{Done: e.Done, To: e.Done, Entries: []ID{e.Entry.ID}}, lost: g.lost[e.Entry.ID]}
	if planned != nil {
		n.planned = ceil(planned)
	}
	switch r := e.Record.(type) {
	case *record.Swap:
		if r.Act == record.SwapOut || r.Act == record.SwapExchange {
			return
		}
		n.Kind, n.Name, n.Positions = "swap", r.Part, r.Positions
		if n.Parts = g.in[e.Entry.ID]; n.Parts == 0 && r.Act != record.SwapNew && r.Act != record.SwapIn {
			n.Name += " " + r.Act // turned, sharpened, rebuilt: the same part
			n.Parts = max(1, r.Positions.Len())
		}
		n.slots = len(g.m.Slots[r.Part])
	case *record.Did:
		n.Kind, n.Name, n.Positions = "did", r.Job, r.Positions
	case *record.Repair:
		n.Kind, n.Name, n.Positions, n.Cause = "repair", r.Part, r.Positions, r.Cause
		n.lost += minutesIn(r.Lost)
		n.mends = len(r.Closes)+len(r.Used) > 0
	default:
		return
	}
	n.Title = strings.ReplaceAll(cmp.Or(n.Name, n.Cause, n.Kind), "-", " ")
	n.By = []ID{by(e)}
	if w := record.Base(e.Record); w != nil {
		n.Minutes, n.Warranty = w.Minutes, w.Warranty
	}
	if p := e.Private; p != nil {
		n.Told, n.Text, n.Papers = true, p.Text, len(p.Papers)
		if p.Who != "" {
			n.Who = []string{p.Who}
		}
		for _, c := range p.Costs {
			amount, currency := money(c)
			n.pay(Money{amount, currency})
			n.Invoices = append(n.Invoices, c.For)
		}
	}
	if def := g.main(); def != "" {
		n.Counter = def
		n.At, _ = g.m.UseAt(def, e.Done)
	}
	if at := g.joins(n); at >= 0 {
		g.jobs[at].join(n)
		return
	}
	g.jobs = append(g.jobs, n)
}

func (g *bigGatherer) main() string {
	if g.m.Fitted == nil || g.m.Fitted.MainCounter() == nil {
		return ""
	}
	return g.m.Fitted.MainCounter().Name
}

// joins finds the job that an entry goes on with: the same part or job within a week; -1 for none. Repairs are each their own.
func (g *bigGatherer) joins(n *bigDraft) int {
	if n.Kind == "repair" {
		return -1
	}
	for i := len(g.jobs) - 1; i >= 0; i-- {
		o := g.jobs[i]
		if o.Kind != n.Kind || o.Name != n.Name {
			continue
		}
		again := n.Kind == "did" && (n.Positions.IsZero() || !o.Positions.IsZero() && n.Positions.Without(o.Positions).IsZero())
		if daysBetween(o.To.Day(), n.Done.Day()) <= setDays && !again {
			return i
		}
		return -1
	}
	return -1
}

func (b *bigDraft) join(n *bigDraft) {
	b.To, b.At = n.To, n.At
	b.Positions = b.Positions.Union(n.Positions)
	b.Parts += n.Parts
	b.planned += n.planned
	b.lost += n.lost
	b.Minutes += n.Minutes
	b.Papers += n.Papers
	b.Warranty = max(b.Warranty, n.Warranty)
	b.Text = cmp.Or(b.Text, n.Text)
	b.Told = b.Told || n.Told
	for _, m := range n.Costs {
		b.pay(m)
	}
	b.Invoices = append(b.Invoices, n.Invoices...)
	for _, w := range n.Who {
		if !slices.Contains(b.Who, w) {
			b.Who = append(b.Who, w)
		}
	}
	b.By, b.Entries = unique(append(b.By, n.By...)), append(b.Entries, n.Entries...)
}

func (b *BigJob) pay(m Money) {
	for i := range b.Costs {
		if b.Costs[i].Currency == m.Currency {
			b.Costs[i].Amount = new(big.Rat).Add(b.Costs[i].Amount, m.Amount)
			return
		}
	}
	b.Costs = append(b.Costs, m)
}

// costs says of each job why it is big, once all are known.
func (g *bigGatherer) costs() {
	by := map[string][]*big.Rat{}
	for _, b := range g.jobs {
		for _, m := range b.Costs {
			by[m.Currency] = append(by[m.Currency], m.Amount)
		}
	}
	least := map[string]*big.Rat{}
	for currency, all := range by {
		slices.SortFunc(all, func(a, b *big.Rat) int { return b.Cmp(a) })
		least[currency] = all[(len(all)+dearest-1)/dearest-1]
	}
	for _, b := range g.jobs {
		b.why(g.m, least)
	}
}

func (b *bigDraft) why(m *Machine, least map[string]*big.Rat) {
	add := func(holds bool, why string) {
		if holds && !slices.Contains(b.Why, why) {
			b.Why = append(b.Why, why)
		}
	}
	if b.Kind == "swap" {
		b.Whole = b.slots > 1 && b.Parts >= b.slots
		add(b.Parts >= BigPlaces || b.Whole, BigSet)
	}
	if m.Fitted != nil {
		if job, ok := m.Fitted.Job(b.Name); ok && b.Kind == "did" {
			b.Title = jobTitle(job)
			round, tidying := false, false
			for _, t := range job.When {
				round, tidying = round || t.Season != "", tidying || t.Season == "after"
			}
			add(!round && b.planned >= BigMinutes || !tidying && b.Minutes >= BigMinutes, BigJobDone)
			b.Whole = job.Of != "" && b.Positions.Len() >= m.Fitted.All(job.Of).Len()
		}
	}
	add(len(b.Who) > 0, BigShop)
	add(b.mends, BigMend)
	for _, c := range b.Costs {
		add(c.Amount.Sign() > 0 && c.Amount.Cmp(least[c.Currency]) >= 0, BigCost)
	}
	add(b.Kind != "did" && b.Minutes >= BigMinutes || b.lost >= BigMinutes, BigTime)
}
