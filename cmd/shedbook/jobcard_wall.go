package main

import (
	"fmt"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/paper"
	"shedbook/rules"
	"shedbook/rules/record"
)

// wallPage is the chart for the shop's wall: each job with the readings of the counter, or the days, at which it comes due until the season ends.
func (c *call) wallPage(b *book, st *rules.State, a carding) (*paper.Page, error) {
	m, err := findMachine(st, strings.ToLower(a.machine))
	if err != nil {
		return nil, err
	}
	if m.Fitted == nil {
		return nil, failed("no-schedule", "shedbook schedule list", "the schedule %q of %s is not known, so nothing can be told ahead", m.Kind, m.Name)
	}
	season, day := rules.SeasonAhead(st, m)
	if a.before != "" {
		season = nil
		if day, _, err = c.beforeDay(st, a.before); err != nil {
			return nil, err
		}
	}
	if day == "" {
		return nil, failed("no-season", "add --before DATE, or plan the season: shedbook season plan \"spring seeding 2027\" --from DATE --to DATE", "%s: how far ahead? No season is open or planned, and no day is said", m.Name)
	}
	reach := rules.ReachOf(st, m, season, day)
	until := weekday(record.Done(day))
	if season != nil {
		until = season.Name + ", to " + until
	}
	p := &paper.Page{Title: m.Name, Kind: "wall chart", Print: true, Large: true, Running: fmt.Sprintf("%s, wall chart of %s, up to entry %s", m.Name, st.On, newestOf(st, m.ID).Short()),
		Under: []paper.Text{paper.Say("until the end of " + until)}}
	care := paper.Notice{Title: "Before any work on it", Grave: true, Lines: []paper.Text{paper.Say(anyJobCare())}}
	p.Sections = append(p.Sections, paper.Section{Title: "First", Blocks: []paper.Block{care, paper.Facts{Items: wallCounters(c, m, reach)}}})
	var tasks []paper.Block
	for _, g := range byJobAhead(rules.Ahead(st, m, reach)) {
		tasks = append(tasks, c.wallTask(m, g))
	}
	if len(tasks) == 0 {
		tasks = append(tasks, paper.Para{Text: paper.Say("Nothing is known to come due by then.")})
	}
	p.Sections = append(p.Sections, paper.Section{Title: "Tick and date each one when it is done", Note: "A box is a point at which it comes due, if it was done at the one before. A bigger job has done the smaller ones that it takes in.", Blocks: tasks})
	if spec := c.specBlock(m, 18); spec != nil {
		p.Sections = append(p.Sections, paper.Section{Title: "Oil, grease, torques, pressures", Blocks: []paper.Block{spec}})
	}
	for _, s := range safetyLines {
		p.Foot = append(p.Foot, paper.Say(s))
	}
	return p, nil
}

// wallCounters say what each counter shows now and is expected to show at the end, and where that comes from.
func wallCounters(c *call, m *rules.Machine, r rules.Reach) []paper.Fact {
	var out []paper.Fact
	for i := range m.Fitted.Counters {
		name := m.Fitted.Counters[i].Name
		k := m.Counters[name]
		if k == nil || !k.Known || k.Trip {
			continue
		}
		f := paper.Fact{Name: name, Values: []paper.Text{paper.Say(rough(k.Estimate, c.system).String()+iff(k.Estimated, " (about)")+" now", cardIDs(k.Reason.Entries)...)}}
		if end, ok := r.Uses[name]; ok {
			f.Values = append(f.Values, paper.Say("about "+rough(end, c.system).String()+" at the end, by "+r.From[name]))
		}
		if !k.Derived && k.Reading != k.Life {
			f.Values = append(f.Values, paper.Say("its face shows "+rough(k.Reading, c.system).String()+": the boxes count all use, over what was set back or replaced"))
		}
		out = append(out, f)
	}
	return out
}

// wallTask is one job with its boxes, a stretch for each set of places that stands by itself.
func (c *call) wallTask(m *rules.Machine, lines []rules.DueAhead) paper.Task {
	first := lines[0]
	t := paper.Task{Title: first.Title}
	if job, ok := m.Fitted.Job(first.Job); ok {
		var every []string
		for i := range job.When {
			if w := triggerWords(&job.When[i]); w != "" {
				every = append(every, w)
			}
		}
		t.Why = paper.Say(strings.Join(every, "; "))
	}
	const most = 4
	set := paper.Boxes{Write: []string{""}}
	var alike []rules.DueAhead // places that stand otherwise but come due at the same points share a line
	for _, d := range lines {
		n := slices.IndexFunc(alike, func(o rules.DueAhead) bool { return c.wallLabels(o) == c.wallLabels(d) })
		if n < 0 || d.Positions.IsZero() {
			alike = append(alike, d)
			continue
		}
		alike[n].Positions = alike[n].Positions.Union(d.Positions)
		alike[n].Where = m.Fitted.Describe(alike[n].Positions, "")
	}
	for n, d := range alike {
		if n == most {
			t.Facts = append(t.Facts, paper.Fact{Name: "and", Values: []paper.Text{paper.Say(fmt.Sprintf("%d more sets of places, each at points of its own: shedbook due %s --all", len(alike)-most, m.Name))}})
			break
		}
		row := paper.BoxRow{Name: d.Where + iff(d.Assumed, ", assumed")}
		for _, label := range strings.Split(c.wallLabels(d), "\n") {
			row.Boxes = append(row.Boxes, paper.Box{Label: label})
		}
		if d.Positions.IsZero() {
			row.Name = strings.TrimPrefix(strings.TrimPrefix(row.Name, "the whole machine"), ", ")
		}
		if row.Name == "" {
			row.Name = m.Name
		}
		set.Rows = append(set.Rows, row)
	}
	t.Boxes = []paper.Boxes{set}
	return t
}

// wallLabels are what stands over the boxes of a line, a label a line: the points, or how it stands where it has none.
func (c *call) wallLabels(d rules.DueAhead) string {
	var out []string
	for i, a := range d.Points {
		switch {
		case i == 0 && (d.State == rules.Overdue || d.State == rules.DueNow):
			out = append(out, "now")
		case a.Date == "" && a.Value.Sign() == 0: // days of work, which have no point on a counter
		case a.Date != "":
			out = append(out, a.Date)
		default:
			out = append(out, rough(a.Value, c.system).String())
		}
	}
	if len(out) == 0 {
		out = []string{map[string]string{rules.Overdue: "now", rules.DueNow: "now", rules.Open: "open", rules.Coming: "soon"}[d.State]}
	}
	return strings.Join(out, "\n")
}

// byJobAhead keeps the lines of one job together, in the order of their first points. What is about no job stands by itself.
func byJobAhead(all []rules.DueAhead) [][]rules.DueAhead {
	var out [][]rules.DueAhead
	at := map[string]int{}
	for _, d := range all {
		if n, ok := at[d.Job]; ok && d.Job != "" {
			out[n] = append(out[n], d)
			continue
		}
		at[d.Job] = len(out)
		out = append(out, []rules.DueAhead{d})
	}
	return out
}

// specBlock is the machine's card of oils, torques and pressures, the first so many lines.
func (c *call) specBlock(m *rules.Machine, most int) paper.Block {
	t := &shownSchedule{call: c, f: m.Fitted, m: m}
	tb := paper.Table{Columns: []paper.Column{{Title: "what"}, {Title: "value"}, {Title: ""}}}
	lines := t.card()
	for i, l := range lines {
		if i == most {
			tb.Foot = fmt.Sprintf("and %d more: shedbook spec %s", len(lines)-most, m.Name)
			break
		}
		tb.Rows = append(tb.Rows, paper.Row{Cells: []paper.Text{paper.Say(l.Name), paper.Say(l.Value), paper.Say(l.Note + iff(l.Own, " your own value, "+l.Page))}})
	}
	if len(tb.Rows) == 0 {
		return nil
	}
	return tb
}
