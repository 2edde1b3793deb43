package main

import (
	"fmt"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/phone"
	"shedbook/cmd/shedbook/internal/sentence"
	"shedbook/rules"
	"shedbook/rules/record"
)

// mostLines is how many lines of work a page shows: a first load stays small, and nobody reads more in the shed.
const mostLines = 60

// Today is the due list of a yard, as due prints it.
func (s *shop) Today(yard string) (out *phone.Today, err error) {
	err = s.with(func(b *book) error {
		st, err := b.outlineNow()
		if err != nil {
			return err
		}
		list, err := gatherDue([]*book{b}, "", yard, "", rules.Filter{}, "", "")
		if err != nil {
			return err
		}
		var known, unknown []dueItem
		for _, i := range list.items {
			if i.State == rules.Unknown {
				unknown = append(unknown, i)
			} else {
				known = append(known, i)
			}
		}
		rows := onOneLine(known, false)
		out = &phone.Today{On: list.on, Yard: yard, Head: list.head(rows, unknown, ""), Unknown: unknownLines(unknown), More: max(0, len(rows)-mostLines)}
		out.Groups = b.c.phoneGroups(rows[:min(len(rows), mostLines)])
		out.Unknown = out.Unknown[:min(len(out.Unknown), 12)]
		for _, p := range list.problems[:min(len(list.problems), 6)] {
			out.Wrong = append(out.Wrong, p.Message)
		}
		for _, y := range st.Yards {
			out.Yards = append(out.Yards, y.Name)
		}
		slices.Sort(out.Yards)
		return nil
	})
	return out, err
}

// phoneGroups are lines of the due list under its own headings.
func (c *call) phoneGroups(rows []dueLine) []phone.Group {
	var out []phone.Group
	for i := range rows {
		r := &rows[i]
		if n := len(out); n == 0 || out[n-1].Title != r.section() {
			out = append(out, phone.Group{Title: r.section(), Grave: r.rank()[0] < 0 || r.State == rules.Overdue})
		}
		l := phone.Line{Machine: r.Name, Job: r.Job, Title: r.Title, Stands: r.stands(c), Why: r.Why}
		if !r.Positions.IsZero() {
			l.Where = r.Where
		}
		if r.Job == "" && r.Cause == rules.ByFault && len(r.Entries) > 0 {
			l.Fault = string(r.Entries[0])
		}
		if strings.HasSuffix(l.Stands, l.Title) {
			l.Stands = strings.TrimSuffix(strings.TrimSuffix(l.Stands, l.Title), ": ")
		}
		if l.Why == l.Stands {
			l.Why = ""
		}
		g := &out[len(out)-1]
		g.Lines = append(g.Lines, l)
	}
	return out
}

func (s *shop) Machines() (out []phone.MachineLine, err error) {
	err = s.with(func(b *book) error {
		st, err := b.outlineNow()
		if err != nil {
			return err
		}
		for _, m := range st.Machines {
			if m.Sold == "" {
				out = append(out, machineLine(st, m))
			}
		}
		slices.SortFunc(out, func(a, b phone.MachineLine) int { return strings.Compare(a.Name, b.Name) })
		return nil
	})
	return out, err
}

func machineLine(st *rules.State, m *rules.Machine) phone.MachineLine {
	l := phone.MachineLine{Name: m.Name, Title: m.Title, Yard: yardName(st, m.Yard)}
	if l.Title == "" && m.Fitted != nil {
		l.Title = m.Fitted.Title
	}
	if l.Title == "" {
		l.Title = m.Kind
	}
	return l
}

// onMachine runs fn with the state of one machine.
func (s *shop) onMachine(name string, fn func(b *book, st *rules.State, m *rules.Machine) error) error {
	return s.with(func(b *book) error {
		st, err := b.stateFor(name, rules.Options{On: b.on()})
		if err != nil {
			return err
		}
		m := st.Machine(strings.ToLower(name))
		if m == nil {
			return phone.ErrNone
		}
		return fn(b, st, m)
	})
}

// dueOf is the work of a machine, with names.
func (b *book) dueOf(st *rules.State, m *rules.Machine, all bool) []dueItem {
	var out []dueItem
	for _, i := range rules.Due(st, rules.Filter{Machine: m.ID, All: all}) {
		out = append(out, dueItem{i, farmName(st, i.Farm), yardName(st, i.Yard), personName(st, i.By), describer(st, i.Machine), under(b.c, st, i)})
	}
	return out
}

func (s *shop) Machine(name string) (out *phone.Machine, err error) {
	err = s.onMachine(name, func(b *book, st *rules.State, m *rules.Machine) error {
		out = &phone.Machine{MachineLine: machineLine(st, m)}
		items := slices.DeleteFunc(b.dueOf(st, m, false), func(i dueItem) bool { return i.State == rules.Unknown || i.Job == "" && i.Cause == rules.ByFault })
		out.Groups = b.c.phoneGroups(onOneLine(items, false))
		out.Faults = openFaults(m)
		out.State = append(out.State, b.c.phoneState(st, m)...)
		if m.Fitted == nil {
			return nil
		}
		for _, k := range phone.Kinds {
			if k == "adjust" && len(m.Fitted.Settings) == 0 || k == "counter" && len(readCounters(m)) == 0 || k == "swap" && len(m.Fitted.Parts) == 0 || k == "move" && len(st.Yards) < 2 {
				continue
			}
			out.Kinds = append(out.Kinds, phone.Named{Name: k, Title: phoneTitles[k]})
		}
		for i := range m.Fitted.Readings {
			if x := &m.Fitted.Readings[i]; x.Computed == nil {
				out.Read = append(out.Read, phone.Named{Name: x.Name, Title: titled(x.Title, x.Name)})
			}
		}
		for i := range m.Fitted.Jobs {
			j := &m.Fitted.Jobs[i]
			out.Jobs = append(out.Jobs, phone.Named{Name: j.Name, Title: titled(j.Title, j.Name)})
		}
		return nil
	})
	return out, err
}

// phoneTitles are what the buttons say.
var phoneTitles = map[string]string{"fault": "Something is wrong", "repair": "Put right", "note": "A note", "counter": "Read a counter", "adjust": "Set something",
	"swap": "A part in, off or moved", "hitch": "Hitch or unhitch", "store": "Storage", "move": "To another yard", "correct": "Put an entry right"}

func titled(title, name string) string {
	if title != "" {
		return title
	}
	return strings.ReplaceAll(name, "-", " ")
}

func openFaults(m *rules.Machine) []phone.Fault {
	var out []phone.Fault
	for _, f := range m.Faults {
		if f.Closed != "" {
			continue
		}
		x := phone.Fault{ID: string(f.ID), Text: f.Text, Since: weekday(record.Done(f.Done.Date())), Severity: f.Severity}
		if x.Text == "" {
			x.Text = "(words held back)"
		}
		if !f.Positions.IsZero() {
			x.Where = f.Positions.String()
			if m.Fitted != nil {
				x.Where = m.Fitted.Describe(f.Positions, "")
			}
		}
		out = append(out, x)
	}
	return out
}

// readCounters are the counters that somebody reads, with what they showed last.
func readCounters(m *rules.Machine) []phone.Counter {
	var out []phone.Counter
	for i := range m.Fitted.Counters {
		x := &m.Fitted.Counters[i]
		k := m.Counters[x.Name]
		if k != nil && k.Derived {
			continue
		}
		c := phone.Counter{Name: x.Name, Unit: x.Unit.String()}
		if k != nil && k.Known {
			c.Last = fmt.Sprintf("last %s, %s", k.Reading, k.ReadOn)
		}
		out = append(out, c)
	}
	return out
}

// phoneState is how a machine stands, in few lines: fitness, counters, settings.
func (c *call) phoneState(st *rules.State, m *rules.Machine) []phone.Fact {
	var out []phone.Fact
	fact := func(name string, values ...string) {
		if len(values) > 0 {
			out = append(out, phone.Fact{Name: name, Values: values})
		}
	}
	if m.Unfit {
		fact("fit to run", "no: written down as not fit to run")
	}
	if s := standingOf(m); s != "" {
		fact("where", s)
	}
	l := &look{m: m}
	for _, k := range c.viewCounters(l) {
		t := &machineText{call: c}
		fact(k.Counter, strings.TrimPrefix(t.counter(&k), k.Counter+": "))
	}
	now := c.settingsNow(m)
	if m.Fitted != nil {
		for i := range m.Fitted.Settings {
			x := &m.Fitted.Settings[i]
			fact(titled(x.Title, x.Name), now[x.Name]...)
		}
	}
	return out
}

// settingsNow is what stands of each setting that was ever set, one text a value: "5.25 in, openers 1-48".
func (c *call) settingsNow(m *rules.Machine) map[string][]string {
	out := map[string][]string{}
	alike := func(a, b *settingView) bool {
		return a.Setting == b.Setting && a.Value == b.Value && a.Assumed == b.Assumed
	}
	for _, x := range joined(c.viewSettings(&look{m: m}), false, alike, func(into, v *settingView) { into.at = into.at.Union(v.at) }) {
		if x.Value.IsZero() && len(x.Entries) == 0 {
			continue
		}
		s := "not known"
		if !x.Value.IsZero() {
			s = sentence.Value(x.Value.v, c.system)
		}
		s += iff(x.Assumed, " (assumed)")
		if x.of != "" && m.Fitted != nil {
			s += ", " + m.Fitted.Describe(x.at, x.of)
		}
		out[x.Setting] = append(out[x.Setting], s)
	}
	return out
}
