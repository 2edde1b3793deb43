package rules

import (
	"cmp"
	"math/big"
	"slices"
	"strings"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// CostQuery says which money is asked about.
type CostQuery struct {
	From, To string   // days, both counted; "": since the beginning, up to the day of the state
	ByYear   bool     // by calendar year, not by season
	Labour   *big.Rat // what an hour of one's own work is worth; nil: it has no price
	Currency string   // the one asked about; ""; amounts without one
	All      bool     // amounts without a currency are of the one asked about: the book names no other
}

// MachineCosts is what the book says of one machine's money.
type MachineCosts struct {
	Machine *Machine
	Periods []CostPeriod // in order; those in which nothing was spent, lost or worked are left out
	Total   CostPeriod   // all of them together
	Capital []Expense    // what was paid for the machine itself, spent to make it better, and got for it, in the stretch asked about
	Price   *Expense     // what it was bought for, whenever that was; nil: not written
	List    *Expense     // the list price of a new one of its like, as last written; nil: not written
	Left    int          // amounts left out for being in another currency
}

// CostPeriod is a stretch of days: a season, the time between two, or a year.
type CostPeriod struct {
	Name     string // "spring seeding 2026", "before spring seeding 2026", "2026", "in all"
	From, To string // From "": since the beginning
	Between  bool   // no season or year: the time before, between or after seasons
	Expenses []Expense
	Lost     []LostTime
	Use      []CounterUse
}

// LostTime is time that a fault or a repair cost, as its entry says.
type LostTime struct {
	Done  record.Done
	Cause string // "stone", "hub"; a fault's is that of the repair which put it right, else the part, else how bad it was
	Hours *big.Rat
	Entry ID
}

// CounterUse is what one counter moved during a period.
type CounterUse struct {
	Counter string
	Use     quantity.Quantity
	Derived bool // worked out from another counter
}

// Of is the money spent on one kind of thing: CostParts and so on.
func (p *CostPeriod) Of(kind string) *big.Rat {
	sum := new(big.Rat)
	for _, e := range p.Expenses {
		if e.Kind == kind && e.Amount != nil {
			sum.Add(sum, e.Amount)
		}
	}
	return sum
}

// Spent is all money of a period.
func (p *CostPeriod) Spent() *big.Rat {
	sum := new(big.Rat)
	for _, k := range CostKinds {
		sum.Add(sum, p.Of(k))
	}
	return sum
}

// Minutes is the farm's own work: as written, as the schedule has it where nothing was written, and how much of both has no price.
func (p *CostPeriod) Minutes() (written, scheduled, unpriced *big.Rat) {
	written, scheduled, unpriced = new(big.Rat), new(big.Rat), new(big.Rat)
	for _, e := range p.Expenses {
		if e.Minutes == nil {
			continue
		}
		sum := written
		if e.Scheduled {
			sum = scheduled
		}
		sum.Add(sum, e.Minutes)
		if e.Amount == nil {
			unpriced.Add(unpriced, e.Minutes)
		}
	}
	return written, scheduled, unpriced
}

// LostHours is all time lost in a period.
func (p *CostPeriod) LostHours() *big.Rat {
	sum := new(big.Rat)
	for _, l := range p.Lost {
		sum.Add(sum, l.Hours)
	}
	return sum
}

// Empty reports a period in which nothing was spent, lost or worked.
func (p *CostPeriod) Empty() bool {
	worked := slices.ContainsFunc(p.Use, func(u CounterUse) bool { return u.Use.Sign() != 0 })
	return len(p.Expenses) == 0 && len(p.Lost) == 0 && !worked
}

// Whole is a season with the time that leads up to it, and a year or all as it is: work of the winter is done for the season after it, so what a season's acre
// cost has both in it. ok is false for a time between seasons, of which no acre has a cost.
func (m *MachineCosts) Whole(p CostPeriod) (whole CostPeriod, ok bool) {
	i := slices.IndexFunc(m.Periods, func(q CostPeriod) bool { return q.Name == p.Name && q.From == p.From })
	if p.Between || i < 1 || !m.Periods[i-1].Between {
		return p, !p.Between
	}
	lead := m.Periods[i-1]
	whole = CostPeriod{Name: p.Name, From: lead.From, To: p.To, Expenses: slices.Concat(lead.Expenses, p.Expenses), Lost: slices.Concat(lead.Lost, p.Lost), Use: slices.Clone(p.Use)}
	for i, u := range whole.Use {
		for _, l := range lead.Use {
			if sum, err := u.Use.Add(l.Use); l.Counter == u.Counter && err == nil {
				whole.Use[i].Use = sum
			}
		}
	}
	return whole, true
}

// Currencies are those named with any amount of the book, sorted.
func Currencies(st *State) []string {
	var out []string
	for _, e := range st.Effective {
		if !e.counts(st.On) || e.Private == nil {
			continue
		}
		for _, c := range e.Private.Costs {
			if _, currency := money(c); currency != "" && !slices.Contains(out, currency) {
				out = append(out, currency)
			}
		}
	}
	slices.Sort(out)
	return out
}

// counts reports an entry that has effect by that day.
func (e *Effective) counts(on string) bool {
	return e.Record != nil && e.Ignored == "" && e.StruckBy == "" && e.Done != "" && e.Done.Date() <= on
}

// money reads an amount as it is stored: "120.50 EUR". One that cannot be read counts as nothing; record.Private.Check lets none in.
func money(c record.Cost) (*big.Rat, string) {
	number, currency, _ := strings.Cut(c.Amount, " ")
	r, ok := new(big.Rat).SetString(number)
	if !ok {
		r = new(big.Rat)
	}
	return r, currency
}

// Costs is what the book says of the money of some machines. Every amount written with an entry is in exactly one period of its machine, in one kind.
func Costs(st *State, machines []*Machine, q CostQuery) []MachineCosts {
	if q.To == "" || q.To > st.On {
		q.To = st.On
	}
	c := newCounting(st, q)
	var out []MachineCosts
	for _, m := range machines {
		out = append(out, c.machine(m))
	}
	return out
}

func (c *counting) machine(m *Machine) MachineCosts {
	out := MachineCosts{Machine: m}
	all := c.expenses(m, &out)
	lost := c.lost(m)
	for _, p := range c.periods(m) {
		c.fill(&p, m, all, lost)
		if !p.Empty() {
			out.Periods = append(out.Periods, p)
		}
	}
	out.Total = CostPeriod{Name: "in all", From: c.q.From, To: c.q.To}
	c.fill(&out.Total, m, all, lost)
	out.Capital = slices.DeleteFunc(out.Capital, func(e Expense) bool { return !c.within(e.Done) })
	return out
}

func (c *counting) within(d record.Done) bool { return d.Date() >= c.q.From && d.Date() <= c.q.To }

func (c *counting) fill(p *CostPeriod, m *Machine, all []Expense, lost []LostTime) {
	in := func(d record.Done) bool { return d.Date() >= p.From && d.Date() <= p.To }
	for _, e := range all {
		if in(e.Done) {
			p.Expenses = append(p.Expenses, e)
		}
	}
	for _, l := range lost {
		if in(l.Done) {
			p.Lost = append(p.Lost, l)
		}
	}
	p.Use = counterUse(m, p.From, p.To)
}

// counterUse is what each lasting counter of hours or area, and the main one, moved from one day to another by its readings. Before the first
// and after the last of them it stands still: money is not shared out over use that nobody read.
func counterUse(m *Machine, from, to string) []CounterUse {
	if m.Fitted == nil {
		return nil
	}
	var out []CounterUse
	for _, def := range m.Fitted.Counters {
		c := m.Counters[def.Name]
		if d := def.Unit.Dimension(); c == nil || !c.Known || len(c.Points) == 0 || c.Trip || !def.Main && d != quantity.Time && d != quantity.Area {
			continue
		}
		start := c.Points[0].Life
		if from != "" {
			start, _ = c.recorded(record.Done(dayBefore(from)))
		}
		end, _ := c.recorded(record.Done(to))
		if use, err := end.Sub(start); err == nil && use.Sign() >= 0 {
			out = append(out, CounterUse{Counter: c.Name, Use: use, Derived: c.Derived})
		}
	}
	return out
}

func dayAfter(day string) string {
	return dateOf(calendarDay(day).AddDate(0, 0, 1))
}

var anHour = quantity.MustParse("1 h").Unit()

// lost lists the time that faults and repairs cost, each entry's for itself.
func (c *counting) lost(m *Machine) []LostTime {
	var out []LostTime
	add := func(done record.Done, cause string, lost quantity.Quantity, id ID) {
		if h, err := lost.In(anHour, 4); err == nil && h.Sign() > 0 {
			out = append(out, LostTime{done, cause, h.Rat(), id})
		}
	}
	causes := map[ID]string{}
	for _, e := range c.work[m.ID] {
		if r, ok := e.Record.(*record.Repair); ok {
			causes[e.Entry.ID] = r.Cause
			add(e.Done, cmp.Or(r.Cause, r.Part, "not said"), r.Lost, e.Entry.ID)
		}
	}
	for _, f := range m.Faults {
		add(f.Done, cmp.Or(causes[f.ClosedBy], f.Part, f.Severity), f.Lost, f.ID)
	}
	slices.SortStableFunc(out, func(a, b LostTime) int { return cmp.Or(a.Done.Compare(b.Done), cmp.Compare(a.Entry, b.Entry)) })
	return out
}
