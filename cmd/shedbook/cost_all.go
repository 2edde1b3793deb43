package main

import (
	"fmt"
	"strings"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules"
	"shedbook/rules/record"
)

// printAllCosts is a line a machine.
func (c *call) printAllCosts(x costed, a *costing, q rules.CostQuery) {
	line := c.lines()
	line("", "what the book says of costs%s, %s", x.in(), stretch(x, q))
	t := costTable("machine")
	var sum rules.CostPeriod
	var none []string
	var wholes []rules.CostPeriod
	left := 0
	for _, m := range x.machines {
		whole := m.Total
		whole.Name = m.Machine.Name
		wholes = append(wholes, whole)
		left += m.Left
		if len(m.Total.Expenses) == 0 {
			none = append(none, m.Machine.Name)
			continue
		}
		sum.Expenses = append(sum.Expenses, m.Total.Expenses...)
		t.Row(append([]string{m.Machine.Name}, costCells(m.Total)...)...)
		if a.why {
			c.whyExpenses(t, x, m.Total, q)
		}
	}
	if t.Len() > 1 {
		t.Row(append([]string{"all"}, costCells(sum)...)...)
	}
	c.printf("%s%s", iff(t.Len() > 0, "\n"), t.Text(c.columns()))
	if len(none) > 0 {
		line("", "nothing is written of what %s cost", commas(none))
	}
	if w := c.workTable(&rules.MachineCosts{}, wholes, a.why); w.Len() > 0 {
		c.printf("\n%s\n%s", c.paint(bold, "worked and lost"), w.Text(c.columns()))
	}
	if len(x.shelves) > 0 {
		s := table.New("shelf", "bought", "gone into machines")
		s.Right(1, 2)
		for _, h := range x.shelves {
			s.Row(yardName(x.st, h.Shelf.Yard), h.Bought.FloatString(2), h.Used.FloatString(2))
			if a.why {
				s.Under("bought:" + before(" ", shortIDs(h.Entries, len(h.Entries))))
			}
		}
		c.printf("\n%s", s.Text(c.columns()))
	}
	c.costNotes(rules.MachineCosts{Machine: &rules.Machine{Name: "MACHINE"}, Total: sum, Left: left}, a)
}

// printShops is a line a paper.
func (c *call) printShops(x costed, a *costing, q rules.CostQuery) {
	line := c.lines()
	if len(x.shops) == 0 {
		line("", "nothing is written of what a shop was paid, %s: --who SHOP --cost \"invoice 8812=140\" with each job it did", stretch(x, q))
		return
	}
	line("", "what shops and dealers were paid%s, %s", x.in(), stretch(x, q))
	t := table.New("shop", "for", "paid", "entries", "on")
	t.Right(2, 3)
	for _, s := range x.shops {
		var on []string
		for _, id := range s.Machines {
			on = append(on, bearerName(x.st, id))
		}
		t.Row(s.Who, s.For, s.Amount.FloatString(2), fmt.Sprint(len(s.Entries)), strings.Join(on, ", "))
		if a.why {
			t.Under(shortIDs(s.Entries, len(s.Entries)))
		}
	}
	c.printf("\n%s", t.Text(c.columns()))
}

// bearerName is a machine's name, or "shelf home".
func bearerName(st *rules.State, id record.ID) string {
	if m := st.MachineByID(id); m != nil {
		return m.Name
	}
	for _, h := range st.Shelves {
		if h.ID == id {
			return strings.TrimSpace("shelf " + yardName(st, h.Yard))
		}
	}
	return id.Short()
}
