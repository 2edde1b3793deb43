package main

import (
	"fmt"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules"
	"shedbook/rules/record"
)

// print writes the list for people: one line an item and why below it, then what is unknown in few lines, then how many of each.
func (l *dueList) print(c *call, all bool) {
	day := weekday(record.Done(l.on))
	var known []dueItem
	var unknown []dueItem
	for _, i := range l.items {
		if i.State == rules.Unknown && !all {
			unknown = append(unknown, i)
		} else {
			known = append(known, i)
		}
	}
	if len(known) == 0 {
		what := "nothing known to be due"
		if len(unknown) == 0 && len(l.problems) == 0 {
			what = "nothing due"
		}
		if l.machines == 0 {
			what = "no machine to ask about"
		}
		c.printf("%s on %s\n", what, day)
	} else {
		tb, only := l.table(c, known)
		c.printf("due on %s%s\n\n%s", day, before(" for ", table.Clean(only)), tb.Text(c.columns()))
	}
	if lines := unknownLines(unknown); len(lines) > 0 {
		c.printf("\nnot known\n")
		for _, s := range lines {
			c.printf("%s\n", table.Wrap("  "+table.Clean(s), c.columns(), "    "))
		}
	}
	c.printProblems(l.problems)
	if len(l.items) > 0 {
		c.printf("\n%s\n%s\n", table.Wrap(l.counts(), c.columns(), ""), table.Wrap(manualRules, c.columns(), ""))
	}
}

// table is the list; a machine that all of it is about is not named on each line, but returned.
func (l *dueList) table(c *call, items []dueItem) (*table.Table, string) {
	farms, yards, machines := map[string]map[string]bool{}, map[string]bool{}, map[string]bool{}
	for _, i := range items {
		if farms[i.yard] == nil {
			farms[i.yard] = map[string]bool{}
		}
		farms[i.yard][i.farm] = true
		yards[i.farm+"\n"+i.yard], machines[i.farm+"\n"+i.yard+"\n"+i.Name] = true, true
	}
	only := ""
	if len(machines) == 1 {
		only = items[0].Name
	}
	t := table.New("state", "severity", "machine", "job", "where")
	t.Keep(0, 1)
	for _, i := range items {
		name := i.Name
		switch {
		case len(farms[i.yard]) > 1: // yards of two farms that are called alike
			name += " (" + i.yard + ", " + i.farm + ")"
		case len(yards) > 1:
			name += " (" + i.yard + ")"
		case only != "":
			name = ""
		}
		where := i.Where
		if i.Positions.IsZero() {
			where = ""
		}
		t.Row(i.State, i.Severity, name, i.Title, where)
		t.Under(i.Why)
		if len(i.Includes) > 0 {
			t.Under("takes in " + strings.Join(i.Includes, ", "))
		}
	}
	t.Mark(func(row, col int, text string) string {
		switch {
		case row < 0:
			return c.paint(bold, text)
		case col == 0:
			return c.paint(stateStyle(items[row].State, items[row].Severity), text)
		}
		return text
	})
	return t, only
}

// unknownLines says what cannot be judged in as few lines as it takes: for each machine, what was never recorded in one line, the rest by why.
func unknownLines(items []dueItem) []string {
	type group struct {
		machine, why string
		jobs, where  []string
	}
	var groups []*group
	at := map[string]*group{}
	for _, i := range items {
		why := i.Why
		if i.Last.Entry == "" && i.Job != "" {
			why = "" // never recorded
		}
		key := i.farm + "\n" + i.yard + "\n" + i.Name + "\n" + why
		g := at[key]
		if g == nil {
			g = &group{machine: i.Name, why: why}
			at[key] = g
			groups = append(groups, g)
		}
		if !slices.Contains(g.jobs, i.Title) {
			g.jobs = append(g.jobs, i.Title)
		}
		if !i.Positions.IsZero() {
			g.where = append(g.where, i.Where)
		}
	}
	var out []string
	for _, g := range groups {
		where := before(" on ", strings.Join(g.where, " and "))
		switch n := len(g.jobs); {
		case g.why != "" && n == 1:
			out = append(out, g.machine+": "+g.jobs[0]+where+": "+g.why)
		case g.why != "":
			out = append(out, g.machine+": "+strings.Join(g.jobs, "; ")+": "+g.why)
		case n == 1:
			out = append(out, fmt.Sprintf("%s: %s was never recorded%s: record it, or take the machine as good with shedbook assume %s good", g.machine, g.jobs[0], where, g.machine))
		default:
			out = append(out, fmt.Sprintf("%s: %d jobs never recorded: take the machine as good with shedbook assume %s good, or see each with shedbook due %s --all", g.machine, n, g.machine, g.machine))
		}
	}
	return out
}

// counts is "2 overdue, 1 due, 1 open, 3 coming, 28 unknown".
func (l *dueList) counts() string {
	n := map[string]int{}
	for _, i := range l.items {
		n[i.State]++
	}
	var out []string
	for _, s := range dueStates {
		if n[s] > 0 {
			out = append(out, fmt.Sprintf("%d %s", n[s], s))
		}
	}
	return strings.Join(out, ", ")
}
