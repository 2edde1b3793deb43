package main

import (
	"strconv"

	"shedbook/rules"
	"shedbook/rules/cost"
	"shedbook/rules/record"
)

type costsJSON struct {
	Format   int               `json:"format"`
	On       string            `json:"on"`
	From     string            `json:"from,omitempty"`
	Machines []machineCostJSON `json:"machines"`
	Shelves  []shelfCostJSON   `json:"shelves"`
	Shops    []shopCostJSON    `json:"shops"`
}

type machineCostJSON struct {
	Book     string           `json:"book,omitempty"` // its title, where there are several
	Machine  string           `json:"machine"`
	Currency string           `json:"currency,omitempty"`
	Periods  []costPeriodJSON `json:"periods"`
	Total    costPeriodJSON   `json:"total"`
	Capital  []expenseJSON    `json:"capital"`
	Left     int              `json:"left,omitempty"` // amounts in other currencies
	Owning   []ownJSON        `json:"owning"`
}

// costPeriodJSON is a period. Money is a decimal without its currency.
type costPeriodJSON struct {
	Name        string        `json:"name"`
	From        string        `json:"from,omitempty"`
	To          string        `json:"to"`
	Parts       string        `json:"parts"`
	Labour      string        `json:"labour"`
	Consumables string        `json:"consumables"`
	Outside     string        `json:"outside"`
	Other       string        `json:"other"`
	Spent       string        `json:"spent"`
	Written     string        `json:"minutes"`           // of one's own work, as written
	Scheduled   string        `json:"scheduled_minutes"` // where none are written
	Unpriced    string        `json:"unpriced_minutes"`
	Lost        string        `json:"lost_hours"`
	Causes      []causeJSON   `json:"causes"`
	Use         []perUseJSON  `json:"use"`
	Expenses    []expenseJSON `json:"expenses"`
}

type causeJSON struct {
	Cause   string      `json:"cause"`
	Hours   string      `json:"hours"`
	Entries []record.ID `json:"entries"`
}

type perUseJSON struct {
	Counter string `json:"counter"`
	Value   string `json:"value"`
	Unit    string `json:"unit,omitempty"`
	Derived bool   `json:"derived,omitempty"` // worked out from another counter
	Each    string `json:"each,omitempty"`    // spent over the use, for a season with the time before it
}

type expenseJSON struct {
	Done      record.Done `json:"done"`
	Kind      string      `json:"kind"`
	For       string      `json:"for"`
	Who       string      `json:"who,omitempty"`
	Amount    string      `json:"amount,omitempty"` // absent: no price is known
	Minutes   string      `json:"minutes,omitempty"`
	Scheduled bool        `json:"scheduled,omitempty"`
	Why       string      `json:"why,omitempty"`
	Entries   []record.ID `json:"entries"`
}

type shelfCostJSON struct {
	Book    string      `json:"book,omitempty"`
	Yard    string      `json:"yard"`
	Bought  string      `json:"bought"`
	Used    string      `json:"used"` // of it, gone into machines
	Entries []record.ID `json:"entries"`
}

type shopCostJSON struct {
	Book     string      `json:"book,omitempty"`
	Who      string      `json:"who"`
	For      string      `json:"for"`
	Amount   string      `json:"amount"`
	Machines []string    `json:"machines"` // and shelves
	Entries  []record.ID `json:"entries"`
}

// ownJSON is a figure of the formulas.
type ownJSON struct {
	Name     string      `json:"name"`
	Value    string      `json:"value,omitempty"`
	Unit     string      `json:"unit"`
	Why      string      `json:"why,omitempty"`
	Source   string      `json:"source,omitempty"`
	Recalled bool        `json:"recalled,omitempty"` // coefficients that could not be checked
	Needs    []string    `json:"needs,omitempty"`
	Wrong    string      `json:"wrong,omitempty"`
	Entries  []record.ID `json:"entries"`
}

func (c *call) costsJSON(all []costed, q rules.CostQuery) costsJSON {
	out := costsJSON{Format: 1, On: all[0].st.On, From: q.From, Machines: []machineCostJSON{}, Shelves: []shelfCostJSON{}, Shops: []shopCostJSON{}}
	for _, x := range all {
		for _, m := range x.machines {
			j := machineCostJSON{Book: x.title, Machine: m.Machine.Name, Currency: x.currency, Periods: []costPeriodJSON{}, Total: c.costPeriod(&m, m.Total), Capital: expensesJSON(m.Capital), Left: m.Left, Owning: []ownJSON{}}
			for _, p := range m.Periods {
				j.Periods = append(j.Periods, c.costPeriod(&m, p))
			}
			for _, f := range x.own {
				j.Owning = append(j.Owning, ownFigure(f))
			}
			out.Machines = append(out.Machines, j)
		}
		for _, h := range x.shelves {
			out.Shelves = append(out.Shelves, shelfCostJSON{x.title, yardName(x.st, h.Shelf.Yard), h.Bought.FloatString(2), h.Used.FloatString(2), strs(h.Entries)})
		}
		for _, s := range x.shops {
			j := shopCostJSON{Book: x.title, Who: s.Who, For: s.For, Amount: s.Amount.FloatString(2), Entries: s.Entries}
			for _, id := range s.Machines {
				j.Machines = append(j.Machines, bearerName(x.st, id))
			}
			out.Shops = append(out.Shops, j)
		}
	}
	return out
}

func (c *call) costPeriod(m *rules.MachineCosts, p rules.CostPeriod) costPeriodJSON {
	written, scheduled, unpriced := p.Minutes()
	of := func(kind string) string { return p.Of(kind).FloatString(2) }
	j := costPeriodJSON{Name: p.Name, From: p.From, To: p.To, Parts: of(rules.CostParts), Labour: of(rules.CostLabour), Consumables: of(rules.CostConsumables), Outside: of(rules.CostOutside), Other: of(rules.CostOther),
		Spent: p.Spent().FloatString(2), Written: trimmed(written), Scheduled: trimmed(scheduled), Unpriced: trimmed(unpriced), Lost: trimmed(p.LostHours()), Causes: []causeJSON{}, Use: []perUseJSON{}, Expenses: expensesJSON(p.Expenses)}
	causes, sums := lostBy(p)
	for i, cause := range causes {
		x := causeJSON{Cause: cause, Hours: trimmed(sums[i])}
		for _, l := range p.Lost {
			if l.Cause == cause {
				x.Entries = append(x.Entries, l.Entry)
			}
		}
		j.Causes = append(j.Causes, x)
	}
	whole, told := m.Whole(p)
	for i, u := range p.Use {
		use := c.use(u.Counter, u.Use)
		x := perUseJSON{Counter: use.Counter, Value: use.Value, Unit: use.Unit, Derived: u.Derived}
		if told {
			x.Each = c.eachOf(whole, i)
		}
		j.Use = append(j.Use, x)
	}
	return j
}

func expensesJSON(all []rules.Expense) []expenseJSON {
	out := []expenseJSON{}
	for _, e := range all {
		x := expenseJSON{Done: e.Done, Kind: e.Kind, For: e.For, Who: e.Who, Scheduled: e.Scheduled, Why: e.Rule, Entries: e.Entries}
		if e.Amount != nil {
			x.Amount = e.Amount.FloatString(2)
		}
		if e.Minutes != nil {
			x.Minutes = trimmed(e.Minutes)
		}
		out = append(out, x)
	}
	return out
}

func ownFigure(f rules.OwnFigure) ownJSON {
	j := ownJSON{Name: f.Name, Unit: f.Unit, Why: f.Why, Source: f.Source, Recalled: f.Recalled, Needs: f.Needs, Entries: strs(f.Entries)}
	switch {
	case f.Wrong != nil:
		j.Wrong = f.Wrong.Error()
	case len(f.Needs) == 0:
		j.Value = strconv.FormatFloat(f.Value, 'f', 4, 64)
	}
	return j
}

type classesJSON struct {
	Format  int         `json:"format"`
	Classes []classJSON `json:"classes"`
}

type classJSON struct {
	Name   string     `json:"name"`
	Title  string     `json:"title"`
	Life   string     `json:"life"` // hours
	Repair factorJSON `json:"repair"`
	Value  factorJSON `json:"value"`
}

type factorJSON struct {
	Factors  []string `json:"factors"`
	Source   string   `json:"source"`
	Recalled bool     `json:"recalled"`
}

func classesOf() classesJSON {
	out := classesJSON{Format: 1}
	texts := func(list ...float64) (out []string) {
		for _, x := range list {
			out = append(out, strconv.FormatFloat(x, 'f', -1, 64))
		}
		return out
	}
	for _, c := range cost.Classes() {
		out.Classes = append(out.Classes, classJSON{Name: c.Name, Title: c.Title, Life: texts(c.Life)[0], Repair: factorJSON{texts(c.Repair.RF1, c.Repair.RF2), c.Repair.Source, !c.Repair.Checked},
			Value: factorJSON{texts(c.Value.C1, c.Value.C2, c.Value.C3), c.Value.Source, !c.Value.Checked}})
	}
	return out
}
