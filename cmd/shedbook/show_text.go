package main

import (
	"fmt"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/sentence"
	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules/record"
)

// machineText prints one machine. fine shows each place by itself, why adds the entries and the rule that every line rests on.
type machineText struct {
	*call
	v         *wholeJSON
	l         *look
	fine, why bool
	titles    bool // add what each thing is called
}

func (t *machineText) print() {
	l := t.l
	whole := l.places.IsZero() && len(l.names) == 0
	t.head(l, whole)
	any := t.wrong(whole)
	for _, rows := range []func() (*table.Table, string){t.settings, t.parts, t.readings, t.jobs} {
		tb, last := rows()
		any = t.section(tb, last) || any
	}
	t.printProblems(t.v.Problems)
	if !any && !whole {
		t.printf("nothing recorded of that\n")
	}
}

// head is what machine this is and how much it has worked.
func (t *machineText) head(l *look, whole bool) {
	v := t.v
	s := v.Name
	if !l.places.IsZero() {
		s += ", " + sentence.Places(v.m, l.places, "")
	}
	at := v.Yard
	if v.Farm != "" {
		at += " (" + v.Farm + ")"
	}
	t.line(bold, fmt.Sprintf("%s: %s, at %s, on %s", s, sentence.Title(v.title, v.Kind), at, weekday(record.Done(v.On))))
	if whole {
		var more []string
		for _, x := range []string{v.Title, prefixed("made in ", v.Year), before("serial ", v.Serial)} {
			if x != "" {
				more = append(more, x)
			}
		}
		if len(more) > 0 {
			t.line("", strings.Join(more, ", "))
		}
	}
	for _, x := range []struct {
		is   bool
		text string
	}{
		{v.Sold != "", "sold on " + weekday(max(v.Sold, "0001-01-01"))}, {v.Unfit, "not fit to run"}, {v.Stored, "in storage" + before("; left slack or drained: ", strings.Join(v.Slack, ", "))},
		{!v.Stored && len(v.Slack) > 0, "not yet put back after storage: " + strings.Join(v.Slack, ", ")}, {v.Lent == "lent", "lent out"}, {v.Lent == "hired-in", "hired in"},
		{v.Carrier != "", "hitched to " + v.Carrier}, {v.m.Newer, "cannot be judged whole: an entry needs a newer shedbook"},
	} {
		if x.is {
			t.line("", x.text)
		}
	}
	if whole {
		for _, w := range v.Warranty {
			t.line("", "under warranty until "+w.Until+": "+w.words)
		}
	}
	if !whole && len(v.Counters) == len(v.m.Counters) && len(l.names) == 0 {
		return
	}
	var unread []string
	for _, k := range v.Counters {
		if !k.Known && whole {
			unread = append(unread, k.Counter)
			continue
		}
		t.line("", t.counter(&k))
		t.reasons(k.Entries, k.Rule)
	}
	if len(unread) > 0 {
		t.line("", notKnown("never read", unread))
	}
}

func prefixed(lead string, n int) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprint(lead, n)
}

func before(lead, s string) string {
	if s == "" {
		return ""
	}
	return lead + s
}

func (t *machineText) counter(k *counterView) string {
	name := k.Counter
	switch {
	case !k.Known && k.Derived:
		return name + ": not known"
	case !k.Known:
		return name + ": never read"
	}
	s := name + ": " + k.Reading.q.Show(t.system)
	if k.Derived {
		s = name + ": " + t.said(k.Life.q, true) + " worked out, not read"
	} else {
		s += ", read " + weekday(record.Done(k.ReadOn))
		if k.Reading != k.Life {
			s += "; " + k.Life.q.Show(t.system) + " in all"
		}
	}
	if k.Estimated {
		s += "; now about " + t.said(k.Estimate.q, k.Derived)
	}
	return s
}

// line prints one line, cleaned and wrapped.
func (t *machineText) line(style, s string) {
	for l := range strings.Lines(table.Wrap(table.Clean(s), t.columns(), "  ")) {
		t.printf("%s\n", t.paint(style, strings.TrimSuffix(l, "\n")))
	}
}

func (t *machineText) reasons(entries []record.ID, rule string) {
	if s := t.reason(entries, rule); s != "" {
		t.line("", "    "+s)
	}
}

// reason is the entries and the rule a line rests on, "" unless they are asked for.
func (t *machineText) reason(entries []record.ID, rule string) string {
	if !t.why {
		return ""
	}
	return marks(rule, t.ids(entries))
}

// ids are the entries a line rests on, "" unless they are asked for.
func (t *machineText) ids(entries []record.ID) string {
	if !t.why || len(entries) == 0 {
		return ""
	}
	return "[" + shortIDs(entries, 6) + "]"
}

// section prints a table; false when it is empty.
func (t *machineText) section(tb *table.Table, last string) bool {
	if tb.Len() == 0 && last == "" {
		return false
	}
	t.boldHeadings(tb)
	t.printf("\n%s", tb.Text(t.columns()))
	for _, l := range strings.Split(last, "\n") {
		if l != "" {
			t.printf("%s\n", table.Wrap(table.Clean(l), t.columns(), "  "))
		}
	}
	return true
}

// boldHeadings marks a table's headings.
func (c *call) boldHeadings(tb *table.Table) {
	tb.Mark(func(row, _ int, text string) string {
		if row < 0 {
			return c.paint(bold, text)
		}
		return text
	})
}

// wrong is what is wrong today: open faults and places out of use. Closed faults are history's.
func (t *machineText) wrong(whole bool) bool {
	tb := table.New("severity", "what is wrong", "where", "since", "entry")
	tb.Keep(0, 3, 4)
	open := slices.DeleteFunc(slices.Clone(t.v.Faults), func(f faultView) bool { return !f.Open })
	slices.SortStableFunc(open, func(a, b faultView) int {
		return slices.Index(record.Severities, a.Severity) - slices.Index(record.Severities, b.Severity)
	})
	for _, f := range open {
		what := f.Text
		if what == "" {
			what = "fault"
			if f.Part != "" {
				what = f.Part
			}
		}
		for _, x := range []struct {
			is   bool
			text string
		}{{f.TiedUp, "tied up"}, {f.Unfit, "not fit to run"}, {len(f.Temporary) > 0, "put right for the time being only"}} {
			if x.is {
				what += ", " + x.text
			}
		}
		tb.Row(f.Severity, what, sentence.Places(t.v.m, f.at, ""), sinceDay(f.Done), f.ID.Short())
	}
	for _, o := range t.v.Out {
		if o.Why != "tied up" { // those stand there as faults
			tb.Row("", o.Why+": out of use", sentence.Places(t.v.m, o.at, ""), sinceDay(o.Since), o.Entry.Short())
		}
	}
	if tb.Len() == 0 && whole {
		t.printf("\nno fault is open; work that is due: shedbook due\n")
		return true
	}
	return t.section(tb, "")
}

// where is some places with how many there are.
func (t *machineText) where(at record.Positions, of string) string {
	if t.l.places.Len() == 1 && at.Equal(t.l.places) {
		return "" // said at the head
	}
	s := sentence.Places(t.v.m, at, of)
	if n := at.Len(); n > 1 && !strings.HasPrefix(s, "all ") {
		s += fmt.Sprintf(" (%d)", n)
	}
	return s
}

// beside puts a remark into the last column, or below the line where the width is small.
func (t *machineText) beside(mark string) (column, below string) {
	if t.columns() < 70 {
		return "", mark
	}
	return mark, ""
}

// called is what a thing is called besides the word one types for it, "" unless that is asked for.
func (t *machineText) called(title, word string) string {
	if !t.titles || strings.EqualFold(title, word) {
		return ""
	}
	return title
}

func marks(words ...string) string {
	var out []string
	for _, w := range words {
		if w != "" {
			out = append(out, w)
		}
	}
	return strings.Join(out, ", ")
}

func iff(is bool, word string) string {
	if is {
		return word
	}
	return ""
}

func (t *machineText) settings() (*table.Table, string) {
	tb := table.New("setting", "set to", "where", "since", "before", "entries")
	tb.Keep(1, 3)
	var unset []string
	last := ""
	for _, s := range joined(t.v.Settings, t.fine || t.why, func(a, b *settingView) bool {
		return a.Setting == b.Setting && a.Value == b.Value && a.Assumed == b.Assumed
	}, func(into, v *settingView) {
		into.at = into.at.Union(v.at)
		into.Since = max(into.Since, v.Since)
	}) {
		if s.Value.IsZero() && len(s.Entries) == 0 && !slices.ContainsFunc(t.v.Settings, func(o settingView) bool { return o.Setting == s.Setting && len(o.Entries) > 0 }) {
			unset = append(unset, s.Setting)
			continue
		}
		value := "not known"
		if !s.Value.IsZero() {
			value = sentence.Value(s.Value.v, t.system)
		}
		if s.Assumed {
			value += " (assumed)"
		}
		was := ""
		if !s.Before.IsZero() && (t.fine || t.why) {
			was = sentence.Value(s.Before.v, t.system)
		}
		tb.Row(s.Setting, value, t.where(s.at, s.of), sinceDay(s.Since), was, t.ids(s.Entries))
		if s.Setting != last {
			tb.Under(t.called(s.title, s.Setting))
			last = s.Setting
		}
		tb.Under(iff(t.why, s.Rule))
	}
	return tb, notKnown("never set", unset)
}

// sinceDay is the day alone; history has the time of day.
func sinceDay(d record.Done) string {
	if d == "" {
		return ""
	}
	return weekday(record.Done(d.Date()))
}

func notKnown(how string, names []string) string {
	if len(names) == 0 {
		return ""
	}
	return how + ": " + strings.Join(names, ", ")
}

// joined puts rows together that people need not see apart; unless each is asked for.
func joined[T any](rows []T, apart bool, alike func(a, b *T) bool, into func(into, row *T)) []T {
	var out []T
	for i := range rows {
		j := -1
		if !apart {
			j = slices.IndexFunc(out, func(o T) bool { return alike(&o, &rows[i]) })
		}
		if j < 0 {
			out = append(out, rows[i])
			continue
		}
		into(&out[j], &rows[i])
	}
	return out
}
