package main

import (
	"fmt"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/sentence"
	"shedbook/rules"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// told is what the book makes of what was just recorded: what it works out, what is past its limit, what must follow before the machine runs past it.
func (a *reply) told(st *rules.State) []string {
	if a.c.dryRun { // the state holds no entry of it
		return nil
	}
	return slices.Concat(a.workedOut(st), a.pastLimits(st), a.follows(st))
}

// subject is what an entry records and under which id that counts: a correction's is the entry it corrects.
func (x replied) subject() (record.Record, record.ID) {
	c, ok := x.r.(*record.Correct)
	if !ok {
		return x.r, record.ID(x.e.ID().String())
	}
	r, err := record.Decode(c.As, c.Record)
	if err != nil { // it was written just now
		return c, c.Entry
	}
	return r, c.Entry
}

// entriesBy are the entries of one kind of record, by the machine they are about, in the order they were recorded.
func (a *reply) entriesBy(st *rules.State, is func(record.Record) bool) (machines []*rules.Machine, ids map[*rules.Machine][]record.ID) {
	ids = map[*rules.Machine][]record.ID{}
	for _, x := range a.entries {
		r, id := x.subject()
		if x.m == nil || !is(r) {
			continue
		}
		m := st.MachineByID(x.m.ID)
		if m == nil || m.Fitted == nil {
			continue
		}
		if ids[m] == nil {
			machines = append(machines, m)
		}
		ids[m] = append(ids[m], id)
	}
	return machines, ids
}

// pastLine is one line of places past the same limit.
type pastLine struct {
	def    *schedule.Reading
	text   string // "past its limit of 5.2 in"
	places []string
}

// pastLimits say which readings just taken are past their limit, whose limit that is and what it makes due.
func (a *reply) pastLimits(st *rules.State) []string {
	var out []string
	machines, ids := a.entriesBy(st, func(r record.Record) bool { _, ok := r.(*record.Measure); return ok })
	for _, m := range machines {
		var lines []*pastLine
		for _, b := range rules.PastLimits(st, m, ids[m]...) {
			if slices.ContainsFunc(a.entries, func(x replied) bool { return x.fresh != nil && !x.fresh(b.Place, b.Hand) }) {
				continue
			}
			text, place := "past its limit", strings.TrimSpace(m.Fitted.Describe(record.NewPositions(placeOf(b.Place)...), b.Reading.Of)+" "+b.Hand)
			if b.Place == (record.Position{}) {
				place = m.Name
			}
			found := sentence.Value(b.Value, a.system())
			switch _, amount := b.Value.Quantity(); {
			case !b.Limit.IsZero():
				text += " of " + sentence.Value(record.Amount(b.Limit), a.system())
			case amount: // held against its neighbours or the reading before
				found = strings.TrimPrefix(b.Why, b.Hand+" ")
			}
			place += " (" + found + ")"
			if n := len(lines) - 1; n >= 0 && lines[n].def == b.Reading && lines[n].text == text {
				lines[n].places = append(lines[n].places, place)
			} else {
				lines = append(lines, &pastLine{b.Reading, text, []string{place}})
			}
		}
		if len(lines) == 0 {
			continue
		}
		items := rules.Due(st, rules.Filter{Machine: m.ID})
		for _, l := range lines {
			out = append(out, l.words(st, m, dueByLimit(m, items, l.def, ids[m])))
		}
	}
	return out
}

func placeOf(p record.Position) []record.Position {
	if p == (record.Position{}) {
		return nil
	}
	return []record.Position{p}
}

// dueByLimit are the jobs that these readings make due, each once.
func dueByLimit(m *rules.Machine, items []rules.Item, def *schedule.Reading, ids []record.ID) []string {
	var out []string
	for _, i := range items {
		job, ok := m.Fitted.Job(i.Job)
		if !ok || i.Cause != rules.ByLimit || slices.Contains(out, i.Title) ||
			!slices.ContainsFunc(job.When, func(t schedule.Trigger) bool { return t.Past == def.Name }) ||
			!slices.ContainsFunc(i.Entries, func(id record.ID) bool { return slices.Contains(ids, id) }) {
			continue
		}
		out = append(out, i.Title)
	}
	return out
}

// words is "disc reach past its limit of 5.2 in: opener 6 (5.1 in); due: new disc; a built-in limit, common practice: the operator's manual rules".
func (l *pastLine) words(st *rules.State, m *rules.Machine, due []string) string {
	const shown = 6
	places := l.places
	if n := len(places) - shown; n > 0 {
		places = append(slices.Clone(places[:shown]), fmt.Sprintf("and %d more", n))
	}
	s := sentence.Title(l.def.Title, l.def.Name) + " " + l.text + ": " + strings.Join(places, ", ")
	return s + before("; due: ", strings.Join(due, ", ")) + "; " + whoseLimit(st, m, l.def)
}

// whoseLimit says where a reading's limit comes from: the farm's own value, its own schedule, or the built-in one.
func whoseLimit(st *rules.State, m *rules.Machine, def *schedule.Reading) string {
	own := slices.DeleteFunc(ownAt(m.Fitted, "reading."+def.Name), func(o schedule.Override) bool {
		field := strings.TrimPrefix(o.Path, "reading."+def.Name+".")
		return field != "new" && field != "bad_from" && !strings.HasPrefix(field, "limit")
	})
	if len(own) > 0 {
		return "your own limit, " + pagesOf(own)
	}
	for _, k := range scheduleRows(st) {
		if k.Name == m.Kind && k.InUse && !k.BuiltIn {
			return "a limit of your own schedule " + m.Kind + before(", from ", m.Fitted.Source) + "; the operator's manual rules"
		}
	}
	return "a built-in limit, common practice: the operator's manual rules"
}

// follows say what a swap, or a job that loosens something, opens for later that the machine must not be run past: the torque after the first hours.
func (a *reply) follows(st *rules.State) []string {
	var out []string
	machines, ids := a.entriesBy(st, func(r record.Record) bool {
		switch r.(type) {
		case *record.Swap, *record.Did:
			return true
		}
		return false
	})
	for _, m := range machines {
		for _, i := range rules.Due(st, rules.Filter{Machine: m.ID, All: true}) {
			later := i.State == rules.Later || i.State == rules.Coming
			if !later || i.Cause != rules.ByFollowOn || i.Severity != "stop" || !slices.ContainsFunc(i.Entries, func(id record.ID) bool { return slices.Contains(ids[m], id) }) {
				continue
			}
			point := a.dueAt(i)
			if point == "" {
				continue
			}
			what, places := i.Title, ""
			if !i.Positions.IsZero() {
				what, places = i.Title+", "+i.Where, strings.Join(i.Positions.Strings(), ",")+" "
			}
			out = append(out, fmt.Sprintf("%s: follows %s, not to be run past it: shedbook did %s %s%s", what, point, m.Name, places, i.Job))
		}
	}
	return out
}

// dueAt is "after 5 h more, at 186.5 h" or "on Tue 2026-04-07"; "" where no such point is known.
func (a *reply) dueAt(i rules.Item) string {
	switch {
	case i.Due.Date != "":
		return "on " + weekday(record.Done(i.Due.Date))
	case i.Due.Counter != "":
		return "after " + rough(i.Over.Value.Abs(), a.system()).String() + " more, at " + i.Due.Value.Show(a.system())
	}
	return ""
}
