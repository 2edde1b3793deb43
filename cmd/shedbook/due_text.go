package main

import (
	"fmt"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// print writes the list for people: one line an item, in sections by how pressing it is; then what is unknown in few lines, then how many of each. With why,
// what the job is and why it is due stand under each line.
func (l *dueList) print(c *call, all, why bool) {
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
		tb, only := l.table(c, known, why)
		c.printf("due on %s%s\n\n%s", day, before(" for ", table.Clean(only)), tb.Text(c.columns()))
	}
	if lines := unknownLines(unknown); len(lines) > 0 {
		c.printf("\nnot known\n")
		for _, s := range lines {
			c.printf("%s\n", table.Wrap("  "+table.Clean(s), c.columns(), "    "))
		}
	}
	if why {
		c.printCautions(known)
	}
	c.printProblems(l.problems)
	if len(l.items) == 0 {
		return
	}
	counts := l.counts(why)
	if !why && len(known) > 0 {
		counts += "; why, and the cautions: shedbook due --why"
	}
	c.printf("\n%s\n%s\n", table.Wrap(counts, c.columns(), ""), table.Wrap(manualRules, c.columns(), ""))
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

// dueLine is what stands on one line: items that differ only in how far they are share it.
type dueLine struct {
	dueItem
	same []dueItem
}

// onOneLine puts items of one machine, job and cause on one line where only their dates differ.
func onOneLine(items []dueItem) []dueLine {
	var out []dueLine
	at := map[string]int{}
	for _, i := range items {
		key := ""
		switch i.Cause {
		case rules.ByInterval, rules.BySeason, rules.ByFollowOn, rules.ByDate:
			key = strings.Join([]string{i.farm, i.yard, i.Name, i.Job, i.Title, i.State, i.Severity}, "\n")
		}
		if n, ok := at[key]; ok && key != "" && !i.Positions.IsZero() {
			out[n].same = append(out[n].same, i)
			out[n].Positions = out[n].Positions.Union(i.Positions)
			out[n].Where = i.describe(out[n].Positions)
			continue
		}
		at[key] = len(out)
		out = append(out, dueLine{i, []dueItem{i}})
	}
	return out
}

// section is the heading an item stands under.
func (i *dueItem) section() string {
	if i.rank()[0] < 0 {
		return "not to be run before it is done"
	}
	switch i.State {
	case rules.DueNow:
		return "due now"
	case rules.Open:
		return "open"
	case rules.Coming:
		return "coming"
	case rules.Unknown:
		return "not known"
	case rules.Later:
		return "later"
	}
	return "overdue"
}

// table is the list; a machine that all of it is about is not named on each line, but returned.
func (l *dueList) table(c *call, items []dueItem, why bool) (*table.Table, string) {
	machines := map[string]bool{}
	for _, i := range items {
		machines[i.farm+"\n"+i.yard+"\n"+i.Name] = true
	}
	only := ""
	if len(machines) == 1 {
		only = items[0].Name
	}
	rows := onOneLine(items)
	if why {
		rows = nil
		for _, i := range items {
			rows = append(rows, dueLine{i, []dueItem{i}})
		}
	}
	t := table.New("", "machine", "yard", "job", "where", "how it stands")
	t.Keep(0, 1)
	section := ""
	for _, r := range rows {
		if s := r.section(); s != section {
			section = s
			t.Section(s)
		}
		name, yard := r.Name, ""
		if only != "" {
			name = ""
		} else if c.columns() >= 100 { // there is room
			yard = r.yard
		}
		where := r.Where
		if r.Positions.IsZero() {
			where = ""
		}
		severity := r.Severity
		if c.columns() < 70 { // no room; --why and wider terminals say it
			severity = ""
		}
		t.Row(severity, name, yard, r.word(), where, r.stands(c))
		if !why {
			continue
		}
		t.Under(r.Title + ": " + r.Why + bracketed(shortIDs(r.Entries, 3)))
		if len(r.Includes) > 0 {
			t.Under("takes in " + strings.Join(r.Includes, ", "))
		}
	}
	t.Mark(func(row, col int, text string) string {
		switch {
		case row < 0:
			return c.paint(bold, text)
		case col == 0:
			return c.paint(stateStyle(rows[row].State, rows[row].Severity), text)
		}
		return text
	})
	return t, only
}

// word is the job as a person types it, or what else the line is about.
func (i *dueItem) word() string {
	switch {
	case i.Job != "":
		return i.Job
	case i.Cause == rules.ByFault:
		return "fault"
	}
	if i.About != "" {
		return i.About
	}
	return i.Title
}

// stands says in few words how it stands: how far over or off, the reading past its limit, the fault's own words.
func (r *dueLine) stands(c *call) string {
	if r.Cause == rules.ByFault || r.About == "storage" {
		return r.Title
	}
	if r.Cause == rules.ByLimit || r.State == rules.Unknown {
		_, after, ok := strings.Cut(r.Why, ": ")
		if ok {
			return after
		}
		return r.Why
	}
	var least, most string
	var low, high quantity.Quantity
	for k, i := range r.same {
		over := i.Over.Value.Abs()
		text := c.rough(over)
		if text == "" {
			return since(i.Due.Date)
		}
		if k == 0 {
			least, most, low, high = text, text, over, over
			continue
		}
		if n, err := over.Cmp(low); err != nil {
			return "see --why"
		} else if n < 0 {
			least, low = text, over
		}
		if n, err := over.Cmp(high); err == nil && n > 0 {
			most, high = text, over
		}
	}
	text := most
	if least != most {
		text = strings.TrimSuffix(least, " "+low.Unit().String()) + " to " + most
	}
	if r.Over.Estimated && r.Expected == "" {
		text = "about " + text
	}
	switch {
	case high.IsZero() || r.State == rules.DueNow:
		return "now"
	case r.State == rules.Coming || r.State == rules.Later:
		return "in " + text + before(", about ", r.Expected)
	}
	return text + " over"
}

// bracketed is " [text]", or "" for none.
func bracketed(text string) string {
	if text == "" {
		return ""
	}
	return " [" + text + "]"
}

func since(date string) string { return before("since ", date) }

// rough is an amount to read at a glance: whole, or to a tenth where it is small. "" for none.
func (c *call) rough(q quantity.Quantity) string {
	if q == (quantity.Quantity{}) {
		return ""
	}
	q = c.shown(q)
	places := 0
	if q.Float64() < 100 {
		places = 1
	}
	if r, err := q.In(q.Unit(), places); err == nil {
		q = r
	}
	return q.String()
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

// counts is "2 overdue, 1 due, 1 open, 3 coming, 28 unknown": lines as they are printed.
func (l *dueList) counts(why bool) string {
	n := map[string]int{}
	if why {
		for _, i := range l.items {
			n[i.State]++
		}
	} else {
		for _, r := range onOneLine(l.items) {
			n[r.State]++
		}
	}
	var out []string
	for _, s := range dueStates {
		if n[s] > 0 {
			out = append(out, fmt.Sprintf("%d %s", n[s], s))
		}
	}
	return strings.Join(out, ", ")
}
