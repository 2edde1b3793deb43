package main

import (
	"fmt"
	"slices"
	"strings"

	"shedbook/rules"
)

// unknowns are items of one machine that cannot be judged for one reason.
type unknowns struct {
	machine, why string
	last         rules.LastDone
	assumed      bool   // taken as done by a starting line, at a count nobody said
	unread       string // a counter that must be read first
	jobs, where  []string
}

// unknownLines says what cannot be judged in as few lines as it takes: for each machine, what was never recorded in one line, what waits for a counter in
// one line, the rest by why.
func unknownLines(items []dueItem) []string {
	var groups []*unknowns
	at := map[string]*unknowns{}
	for _, i := range items {
		g := unknowns{machine: i.Name, why: i.Why, unread: i.Unread}
		switch {
		case i.Last.Entry == "" && i.Job != "":
			g.why = "" // never recorded
			g.unread = ""
		case i.Unread != "":
			g.why = "unread " + i.Unread
		case i.Assumed && i.Brief == rules.CountNotKnown:
			g.why, g.last, g.assumed = "assumed "+string(i.Last.Entry), i.Last, true
		}
		key := i.farm + "\n" + i.yard + "\n" + i.Name + "\n" + g.why
		if at[key] == nil {
			at[key] = &g
			groups = append(groups, &g)
		}
		at[key].add(&i)
	}
	var out []string
	for _, g := range groups {
		out = append(out, g.line())
	}
	return out
}

func (g *unknowns) add(i *dueItem) {
	if g.why == "" && i.Unread != "" {
		g.unread = i.Unread
	}
	if !slices.Contains(g.jobs, i.Title) {
		g.jobs = append(g.jobs, i.Title)
	}
	if !i.Positions.IsZero() {
		g.where = append(g.where, i.Where)
	}
}

// line says what they are, why, and what to type.
func (g *unknowns) line() string {
	n := len(g.jobs)
	what, where := g.jobs[0], before(" on ", strings.Join(g.where, " and "))
	if n > 1 {
		what, where = fmt.Sprintf("%d jobs", n), ""
	}
	good := fmt.Sprintf("shedbook assume %s good", g.machine)
	if g.unread != "" {
		good += " --counter " + g.unread + "=..."
	}
	switch {
	case g.why == "" && n == 1:
		return fmt.Sprintf("%s: %s was never recorded%s: record it, or take the machine as good with %s", g.machine, what, where, good)
	case g.why == "":
		return fmt.Sprintf("%s: %s never recorded: take the machine as good with %s, or see each with shedbook due %s --all", g.machine, what, good, g.machine)
	case g.unread != "":
		return fmt.Sprintf("%s: %s never read, and %s%s %s by it: shedbook counter %s %s=...", g.machine, g.unread, what, where, iff(n == 1, "goes")+iff(n > 1, "go"), g.machine, g.unread)
	case g.assumed:
		return fmt.Sprintf("%s: %s%s taken as done on %s at a count that is not known: shedbook correct %s --counter ... says it", g.machine, what, where, g.last.Done.Date(), g.last.Entry.Short())
	}
	return fmt.Sprintf("%s: %s%s: %s", g.machine, strings.Join(g.jobs, "; "), where, g.why)
}
