package main

import (
	"fmt"
	"math/big"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules"
	"shedbook/rules/record"
)

func (c *call) printCosts(all []costed, a *costing, q rules.CostQuery) {
	for i, x := range all {
		if x.title != "" {
			c.printf("%s%s\n", iff(i > 0, "\n"), c.paint(bold, table.Clean(x.title)))
		}
		if a.shops {
			c.printShops(x, a, q)
			continue
		}
		if a.machine == "" {
			c.printAllCosts(x, a, q)
			continue
		}
		c.printMachineCosts(x, x.machines[0], a, q)
		c.printOwning(x, a.why)
	}
}

// stretch says which days are meant.
func stretch(x costed, q rules.CostQuery) string {
	to := x.machines[0].Total.To
	if q.From != "" {
		return "from " + q.From + " to " + to
	}
	return "up to " + to
}

// in is " in EUR".
func (x *costed) in() string { return before(" in ", x.currency) }

func (c *call) printMachineCosts(x costed, m rules.MachineCosts, a *costing, q rules.CostQuery) {
	line := c.lines()
	if len(m.Total.Expenses) == 0 && len(m.Total.Lost) == 0 && len(m.Capital) == 0 {
		c.noCosts(x, m, q)
		return
	}
	line("", "%s: what the book says of its costs%s, %s", m.Machine.Name, x.in(), stretch(x, q))
	periods := append(slices.Clone(m.Periods), m.Total)
	if len(periods) == 2 {
		periods = periods[:1] // one period is all there is
	}
	spent := costTable("")
	for _, p := range periods {
		spent.Row(append([]string{p.Name}, costCells(p)...)...)
		if a.why && (p.Name != m.Total.Name || p.From != m.Total.From) {
			c.whyExpenses(spent, x, p, q)
		}
	}
	c.printf("\n%s\n%s", c.paint(bold, "spent"), spent.Text(c.columns()))
	if t := c.workTable(&m, periods, a.why); t.Len() > 0 {
		c.printf("\n%s\n%s", c.paint(bold, table.Wrap("worked and lost; each: with what was spent before the season", c.columns(), "  ")), t.Text(c.columns()))
	}
	c.printCapital(m, a.why)
	c.costNotes(m, a)
}

func costTable(first string) *table.Table {
	t := table.New(append(append([]string{first}, rules.CostKinds...), "in all")...)
	t.Right(1, 2, 3, 4, 5, 6)
	return t
}

// costCells are the money of a period by kind and in all; work without a price is told in hours.
func costCells(p rules.CostPeriod) []string {
	var out []string
	for _, k := range rules.CostKinds {
		s := moneyCell(p.Of(k))
		if _, _, unpriced := p.Minutes(); k == rules.CostLabour && unpriced.Sign() > 0 {
			s = strings.TrimPrefix(s+" + "+hoursText(unpriced), " + ")
		}
		out = append(out, s)
	}
	return append(out, p.Spent().FloatString(2))
}

func moneyCell(r *big.Rat) string {
	if r.Sign() == 0 {
		return ""
	}
	return r.FloatString(2)
}

// whyExpenses lists the amounts of a period below its row.
func (c *call) whyExpenses(t *table.Table, x costed, p rules.CostPeriod, q rules.CostQuery) {
	for _, e := range p.Expenses {
		t.Under(expenseText(x, e, q))
	}
}

func expenseText(x costed, e rules.Expense, q rules.CostQuery) string {
	text := e.Done.Date() + " " + e.Kind + iff(e.For != e.Kind && e.Minutes == nil, ", "+e.For) + ": "
	switch {
	case e.Minutes != nil:
		text += hoursText(e.Minutes) + " of work, " + e.Rule
		if e.Amount != nil {
			text += ", at " + q.Labour.FloatString(2) + " an hour: " + e.Amount.FloatString(2)
		}
	case e.Amount == nil:
		text += e.Rule
	default:
		text += e.Amount.FloatString(2) + before(", ", e.Rule)
	}
	if e.Shelf != "" {
		for _, h := range x.st.Shelves {
			if h.ID == e.Shelf {
				text += before(", at ", yardName(x.st, h.Yard))
			}
		}
	}
	return text + before(", ", e.Who) + bracketed(shortIDs(e.Entries, 4))
}

// workTable is what each counter moved, what one unit of it cost, and the time lost; m's periods, or several machines' wholes.
func (c *call) workTable(m *rules.MachineCosts, periods []rules.CostPeriod, why bool) *table.Table {
	headings := []string{""}
	var counters []string
	column := func(u rules.CounterUse) string { return u.Counter + " " + c.shown(u.Use).Unit().String() }
	for _, p := range periods {
		for _, u := range p.Use {
			if u.Use.Sign() > 0 && !slices.Contains(counters, column(u)) {
				counters = append(counters, column(u))
				headings = append(headings, u.Counter, "each "+c.shown(u.Use).Unit().String())
			}
		}
	}
	t := table.New(append(headings, "lost")...)
	for i := range counters {
		t.Right(2*i+1, 2*i+2)
	}
	for _, p := range periods {
		cells := make([]string, len(headings))
		cells[0] = p.Name
		var whys []string
		whole, told := m.Whole(p)
		for n, u := range p.Use {
			i := slices.Index(counters, column(u))
			if u.Use.Sign() > 0 {
				cells[2*i+1] = c.shown(u.Use).String()
			}
			if each := c.eachOf(whole, n); told && each != "" && i >= 0 && whole.Spent().Sign() > 0 {
				cells[2*i+2] = each
				whys = append(whys, fmt.Sprintf("%s / %s = %s%s%s", whole.Spent().FloatString(2), c.shown(whole.Use[n].Use), each, iff(whole.From != p.From, ", with the time before it"),
					iff(u.Derived, "; "+u.Counter+" worked out from another counter")))
			}
		}
		if strings.Join(cells[1:], "") == "" && len(p.Lost) == 0 {
			continue
		}
		t.Row(append(cells, lostText(p))...)
		if why {
			t.Under(strings.Join(whys, "; "))
			for _, l := range p.Lost {
				t.Under(fmt.Sprintf("%s lost %s h: %s [%s]", l.Done.Date(), trimmed(l.Hours), l.Cause, l.Entry.Short()))
			}
		}
	}
	return t
}

// eachOf is what a unit of a counter cost: the running costs over what was read on it; "" where it stood still.
func (c *call) eachOf(p rules.CostPeriod, counter int) string {
	use := c.shown(p.Use[counter].Use)
	if use.Sign() <= 0 {
		return ""
	}
	return new(big.Rat).Quo(p.Spent(), use.Rat()).FloatString(2)
}

func trimmed(r *big.Rat) string {
	s := r.FloatString(2)
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
}

// lostText is "3.5 h: stone 3 h, hub 0.5 h", the worst cause first.
func lostText(p rules.CostPeriod) string {
	if len(p.Lost) == 0 {
		return ""
	}
	causes, sums := lostBy(p)
	var parts []string
	for i, cause := range causes {
		parts = append(parts, cause+" "+trimmed(sums[i])+" h")
	}
	return trimmed(p.LostHours()) + " h: " + strings.Join(parts, ", ")
}

func lostBy(p rules.CostPeriod) (causes []string, sums []*big.Rat) {
	by := map[string]*big.Rat{}
	for _, l := range p.Lost {
		if by[l.Cause] == nil {
			by[l.Cause] = new(big.Rat)
			causes = append(causes, l.Cause)
		}
		by[l.Cause].Add(by[l.Cause], l.Hours)
	}
	slices.SortFunc(causes, func(a, b string) int {
		if n := by[b].Cmp(by[a]); n != 0 {
			return n
		}
		return strings.Compare(a, b)
	})
	for _, cause := range causes {
		sums = append(sums, by[cause])
	}
	return causes, sums
}

// printCapital lists what is no running cost: price, improvements, sale.
func (c *call) printCapital(m rules.MachineCosts, why bool) {
	if len(m.Capital) == 0 {
		return
	}
	t := table.New("", "", "")
	t.Right(2)
	for _, e := range m.Capital {
		t.Row(e.Done.Date(), iff(e.Kind == rules.CostSale, "sold: ")+e.For, e.Amount.FloatString(2))
		if why {
			t.Under(strings.TrimSpace(e.Who + bracketed(shortIDs(e.Entries, 3))))
		}
	}
	c.printf("\n%s\n%s", c.paint(bold, "capital, in no sum above"), t.Text(c.columns()))
}

// costNotes says what the sums leave out.
func (c *call) costNotes(m rules.MachineCosts, a *costing) {
	line := c.lines()
	_, scheduled, unpriced := m.Total.Minutes()
	var notes []string
	if unpriced.Sign() > 0 {
		notes = append(notes, fmt.Sprintf("%s of your own work is in no sum: --labour AMOUNT gives an hour a price.", hoursText(unpriced)))
	}
	if scheduled.Sign() > 0 {
		notes = append(notes, fmt.Sprintf("%s of work is the schedule's reckoning, as no --minutes are written with it.", hoursText(scheduled)))
	}
	if n := unpricedParts(m.Total); n > 0 {
		notes = append(notes, fmt.Sprintf("%s took parts from a shelf that have no price: shedbook shelf add ... --cost parts=AMOUNT.", does(fmt.Sprint(n), n, "swap", "swaps")))
	}
	if m.Left > 0 {
		notes = append(notes, fmt.Sprintf("%s in other currencies or without one %s left out.", does(fmt.Sprint(m.Left), m.Left, "amount", "amounts"), iff(m.Left == 1, "is")+iff(m.Left != 1, "are")))
	}
	if len(notes) > 0 {
		c.printf("\n")
	}
	for _, n := range notes {
		line("", "%s", n)
	}
	if !a.why {
		c.say("%s\n", table.Wrap("each amount, with its entries: shedbook cost "+m.Machine.Name+" --why", c.columns(), "  "))
	}
}

func unpricedParts(p rules.CostPeriod) int {
	seen := map[record.ID]bool{}
	for _, e := range p.Expenses {
		if e.Amount == nil && e.Minutes == nil {
			seen[e.Entries[0]] = true
		}
	}
	return len(seen)
}

// noCosts says how costs come into the book: with the last work that could have some.
func (c *call) noCosts(x costed, m rules.MachineCosts, q rules.CostQuery) {
	line := c.lines()
	line("", "no costs are written of %s, %s", m.Machine.Name, stretch(x, q))
	last := record.ID("")
	for _, e := range x.st.Effective {
		w := record.Base(e.Record)
		if w == nil || w.Machine != m.Machine.ID || e.StruckBy != "" || e.Ignored != "" {
			continue
		}
		switch e.Record.(type) {
		case *record.Repair, *record.Swap, *record.Did:
			last = e.Entry.ID
		}
	}
	if last != "" {
		line("", "add --cost to what is recorded, or to what is: shedbook correct %s --cost parts=120.50", last.Short())
	} else {
		line("", "add --cost to what is recorded: shedbook repair %s \"new hose\" --cost parts=120.50", m.Machine.Name)
	}
}
