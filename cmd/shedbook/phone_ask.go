package main

import (
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/phone"
	"shedbook/rules"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// Job is what the job card says of a job, and what can be said of its doing.
func (s *shop) Job(name, job string) (out *phone.Job, err error) {
	err = s.onMachine(name, func(b *book, st *rules.State, m *rules.Machine) error {
		if m.Fitted == nil {
			return phone.ErrNone
		}
		def, ok := m.Fitted.Job(job)
		if !ok {
			return phone.ErrNone
		}
		out = b.c.phoneJob(st, m, def, b.dueOf(st, m, true))
		return nil
	})
	return out, err
}

func (c *call) phoneJob(st *rules.State, m *rules.Machine, def *schedule.Job, items []dueItem) *phone.Job {
	f := m.Fitted
	out := &phone.Job{Machine: m.Name, Name: def.Name, Title: titled(def.Title, def.Name), Swaps: def.Swaps, Tested: def.Fails != "", Counters: readCounters(m)}
	if p, ok := f.Part(def.Swaps); ok && p.Fluid {
		out.Swaps = ""
	}
	all := f.All(def.Of)
	if def.Group != "" {
		all, _ = f.GroupPositions(def.Group)
	}
	t := c.phoneTask(st, m, def, items, all)
	k := &card{m: m, st: st}
	for _, fact := range c.taskFacts(k, t, def) {
		x := phone.Fact{Name: fact.Name}
		for _, v := range fact.Values {
			x.Values = append(x.Values, v.Words)
		}
		out.Facts = append(out.Facts, x)
	}
	for _, s := range def.Measures {
		r, ok := f.Reading(s)
		if !ok {
			continue
		}
		if r.Computed == nil {
			out.Measures = append(out.Measures, phone.Named{Name: r.Name, Title: titled(r.Title, r.Name)})
		}
		if r.Limit != nil {
			out.Facts = append(out.Facts, phone.Fact{Name: "limit of " + titled(r.Title, r.Name), Values: []string{limitWords(r.Limit, c.both)}})
		}
	}
	out.Care = append(out.Care, schedule.StandardCautions()[0].Text)
	for _, l := range t.lines {
		for _, s := range l.Cautions {
			if !slices.Contains(out.Care, s) {
				out.Care = append(out.Care, s)
			}
		}
	}
	pressing := len(items) > 0 && t.worst().State != rules.Later && t.worst().State != ""
	if pressing {
		out.Mark, out.Why = t.mark().Word, t.stands(c)
		if t.worst().State == rules.Unknown {
			out.Mark, out.Why = "not known", t.worst().Why
		}
	}
	if !all.IsZero() {
		p, _, _ := f.Noun(def.Of)
		out.Noun, out.All, out.Spots, out.Groups = p.Plural, all.Len(), spotsOf(f, all), groupsOf(f, all)
		if pressing && !t.at.IsZero() && !t.at.Equal(all) && t.worst().State != rules.Unknown {
			out.Due, out.Where = strings.Join(t.at.Strings(), " "), f.Describe(t.at, def.Of)
		}
	}
	for _, r := range def.Results {
		if r == "moved" || r == "none-moved" {
			out.Moved = true
		} else {
			out.Results = append(out.Results, r)
		}
	}
	if len(def.Torques) > 0 {
		out.Torque = []string{"lbf.ft", "N.m"}
		if def.Torques[0].Value.Unit().String() == "N.m" {
			slices.Reverse(out.Torque)
		}
	}
	for _, u := range def.Uses {
		if u.Amount.Unit().String() != "" {
			out.Fills = append(out.Fills, u.What)
		}
	}
	return out
}

// phoneTask is a job at the places where it presses; where it presses nowhere, at all of them.
func (c *call) phoneTask(st *rules.State, m *rules.Machine, def *schedule.Job, items []dueItem, all record.Positions) *cardTask {
	t := &cardTask{}
	items = slices.DeleteFunc(items, func(i dueItem) bool { return i.Job != def.Name })
	now := slices.DeleteFunc(slices.Clone(items), func(i dueItem) bool { return i.State == rules.Later || i.State == rules.Unknown })
	if len(now) == 0 {
		now = items
	}
	if len(now) == 0 {
		i := rules.Item{Machine: m.ID, Name: m.Name, Job: def.Name, Title: def.Title, State: rules.Later, Positions: all}
		for _, name := range def.Cautions {
			if x, ok := m.Fitted.Caution(name); ok {
				i.Cautions = append(i.Cautions, x.Text)
			}
		}
		now = []dueItem{{Item: i, describe: describer(st, m.ID)}}
	}
	t.lines, t.Item, t.Who, t.Hands = now, now[0].Item, def.Who, def.Hands
	t.LastBy = now[0].By
	for _, i := range now {
		t.at = t.at.Union(i.Positions)
	}
	return t
}

// mostPast is how many entries of a machine a page lists.
const mostPast = 40

// Past is what was recorded of a machine, newest first, what was taken back among it.
func (s *shop) Past(name string) (out *phone.Past, err error) {
	err = s.onMachine(name, func(b *book, st *rules.State, m *rules.Machine) error {
		lines := b.history(st, historyFilter{machine: m.ID, all: true})
		out = &phone.Past{Machine: m.Name}
		for i := len(lines) - 1; i >= 0; i-- {
			l := &lines[i]
			if l.kind == "strike" || l.kind == "correct" {
				continue
			}
			if len(out.Entries) == mostPast {
				out.More = true
				break
			}
			e := phone.Entry{ID: string(l.id), Short: l.id.Short(), Done: weekday(l.done), Who: l.who, Says: strings.Join(append([]string{l.text(b.c)}, l.marks...), " "), Struck: l.fate.State == struck, Shots: shots(l.private)}
			e.Person, e.Mends = string(l.entry.Person), phoneMends(l.kind)
			if p := l.entry.Private; p != nil && p.Entered != nil {
				e.Person = string(p.Entered.Person)
			}
			out.Entries = append(out.Entries, e)
		}
		return nil
	})
	return out, err
}
