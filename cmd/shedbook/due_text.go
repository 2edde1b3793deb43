package main

import (
	"fmt"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules"
	"shedbook/rules/record"
)

// print writes the list for people: how many of each, one line an item in sections by how pressing it is, then what is unknown in few lines. With why,
// what the job is and why it is due stand under each line, and the cautions below all.
func (l *dueList) print(c *call, all, why bool) {
	var known, unknown []dueItem
	for _, i := range l.items {
		if i.State == rules.Unknown && !all {
			unknown = append(unknown, i)
		} else {
			known = append(known, i)
		}
	}
	rows := onOneLine(known, why)
	only := l.only()
	c.printf("%s\n", table.Wrap(table.Clean(l.head(rows, unknown, only)), c.columns(), "  "))
	if len(rows) > 0 {
		if s := l.yards(rows); s != "" {
			c.printf("%s\n", table.Wrap(table.Clean(s), c.columns(), "  "))
		}
		c.printf("\n%s", l.list(c, rows, only, why).Text(c.columns()))
	}
	if lines := unknownLines(unknown); len(lines) > 0 {
		if len(rows) == 0 {
			c.printf("\n")
		}
		c.printf("%s\n", c.paint(bold, "not known"))
		for _, s := range lines {
			c.printf("%s\n", table.Wrap("  "+table.Clean(s), c.columns(), "    "))
		}
	}
	if why {
		c.printKinds(l.kinds)
		c.printCautions(known)
	}
	c.printProblems(l.problems)
	if l.others > 0 {
		c.printf("\n%s\n", table.Wrap(iff(l.person == nobody, "left out: what somebody did before, or found")+
			iff(l.person != nobody, "left out: what others did the last time, or found, and what nobody did yet (shedbook due --person nobody)"), c.columns(), "  "))
	}
	if len(l.items) == 0 {
		return
	}
	c.printf("\n%s\n", table.Wrap(manualRules, c.columns(), ""))
	if !why && len(rows) > 0 && !c.quiet {
		c.printf("%s\n", table.Wrap(table.Clean("why, what each job is, and its cautions: shedbook due "+before("", only)+iff(only != "", " ")+"--why"), c.columns(), ""))
	}
}

// head is "due on Fri 2026-10-02 for drill: 3 overdue, 1 coming".
func (l *dueList) head(rows []dueLine, unknown []dueItem, only string) string {
	day := weekday(record.Done(l.on))
	switch {
	case l.machines == 0:
		return "no machine to ask about on " + day
	case len(rows) == 0 && len(unknown) == 0 && len(l.problems) == 0:
		return "nothing due on " + day
	case len(rows) == 0:
		return "nothing known to be due on " + day + before(", ", dueCounts(nil, len(unknown)))
	}
	return "due on " + day + before(" for ", only) + ": " + dueCounts(rows, len(unknown))
}

// only is the machine that was asked about, "" for several.
func (l *dueList) only() string {
	if l.machines != 1 || len(l.items) == 0 {
		return ""
	}
	return l.items[0].Name
}

// yards tells at which yard the machines listed stand, in one line; "" where all stand at one.
func (l *dueList) yards(rows []dueLine) string {
	farms := map[string]map[string]bool{}
	machines := map[string][]string{}
	for _, r := range rows {
		if farms[r.yard] == nil {
			farms[r.yard] = map[string]bool{}
		}
		farms[r.yard][r.farm] = true
	}
	for _, r := range rows {
		yard := r.yard
		if len(farms[yard]) > 1 { // yards of two farms that are called alike
			yard += " (" + r.farm + ")"
		}
		if !slices.Contains(machines[yard], r.Name) {
			machines[yard] = append(machines[yard], r.Name)
		}
	}
	if len(machines) < 2 {
		return ""
	}
	var out []string
	for _, yard := range inOrder(machines, nil) {
		slices.Sort(machines[yard])
		out = append(out, yard+": "+strings.Join(machines[yard], ", "))
	}
	return strings.Join(out, "; ")
}

// printCautions prints what must be seen to before the work listed, each line once.
func (c *call) printCautions(items []dueItem) {
	said := map[string]bool{}
	for _, i := range items {
		for _, caution := range i.Cautions {
			if said[caution] {
				continue
			}
			if len(said) == 0 {
				c.printf("\nbefore this work\n")
			}
			said[caution] = true
			c.printf("%s\n", table.Wrap("  "+table.Clean(caution), c.columns(), "    "))
		}
	}
}

// list is the lines in their sections; a machine that all are about is not named on each.
func (l *dueList) list(c *call, rows []dueLine, only string, why bool) *table.List {
	machine := map[string]map[record.ID]bool{} // several books may have a machine of one name
	for _, r := range rows {
		if machine[r.Name] == nil {
			machine[r.Name] = map[record.ID]bool{}
		}
		machine[r.Name][r.Machine] = true
	}
	t := table.NewList("machine", "job", "where", "due")
	for _, r := range rows {
		name := r.Name
		switch {
		case only != "":
			name = ""
		case len(machine[name]) > 1:
			name += " (" + r.yard + ")"
		}
		where := r.Where
		if r.Positions.IsZero() {
			where = ""
		}
		t.Line(r.section(), r.stands(c), name, r.word(), where)
		if r.Cause == rules.ByFault && !why {
			t.MayCut()
		}
		if why {
			t.Under(r.reason() + bracketed(shortIDs(r.Entries, 3)))
			for _, s := range r.under() {
				t.Under(s)
			}
		}
	}
	t.Mark(func(line, cell int, text string) string {
		if cell < 0 {
			return c.paint(sectionStyle(rows[line].State, rows[line].rank()[0] < 0), text)
		}
		return text
	})
	return t
}

// dueCounts is "2 overdue, 1 due, 1 open, 3 coming, 28 not known": lines as they are printed.
func dueCounts(rows []dueLine, unknown int) string {
	n := map[string]int{}
	for _, r := range rows {
		n[r.State]++
	}
	n[rules.Unknown] += unknown
	var out []string
	for _, s := range dueStates {
		if n[s] > 0 {
			out = append(out, fmt.Sprintf("%d %s", n[s], strings.Replace(s, rules.Unknown, "not known", 1)))
		}
	}
	return strings.Join(out, ", ")
}
