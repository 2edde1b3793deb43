package main

import (
	"fmt"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/sentence"
	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// machineText prints one machine. fine shows each place by itself, why adds the entries and the rule that every line rests on.
type machineText struct {
	*call
	v         *wholeJSON
	l         *look
	fine, why bool
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
	if !whole && len(v.Counters) == len(v.m.Counters) && len(l.names) == 0 {
		return
	}
	var unread []string
	for _, k := range v.Counters {
		if !k.Known && whole {
			unread = append(unread, strings.ReplaceAll(k.Counter, "-", " "))
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
	name := strings.ReplaceAll(k.Counter, "-", " ")
	switch {
	case !k.Known && k.Derived:
		return name + ": not known"
	case !k.Known:
		return name + ": never read"
	}
	s := name + ": " + k.Reading.q.Show(t.system)
	if k.Derived {
		s = name + ": " + k.Life.q.Show(t.system) + " worked out, not read"
	} else {
		s += ", read " + weekday(record.Done(k.ReadOn))
		if k.Reading != k.Life {
			s += "; " + k.Life.q.Show(t.system) + " in all"
		}
	}
	if k.Estimated {
		s += "; now " + k.Estimate.q.Show(t.system) + " estimated"
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
	if last != "" {
		t.printf("%s\n", table.Wrap(table.Clean(last), t.columns(), "  "))
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
		t.printf("\nnothing is known to be wrong\n")
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
	for _, s := range joined(t.v.Settings, t.fine || t.why, func(a, b *settingView) bool {
		return a.Setting == b.Setting && a.Value == b.Value && a.Assumed == b.Assumed
	}, func(into, v *settingView) {
		into.at = into.at.Union(v.at)
		into.Since = max(into.Since, v.Since)
	}) {
		if s.Value.IsZero() && len(s.Entries) == 0 && !slices.ContainsFunc(t.v.Settings, func(o settingView) bool { return o.Setting == s.Setting && len(o.Entries) > 0 }) {
			unset = append(unset, s.title)
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
		tb.Row(s.title, value, t.where(s.at, s.of), sinceDay(s.Since), was, t.ids(s.Entries))
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
	return how + ": " + strings.Join(names, "; ") // titles hold commas
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

// useText is use in words: of the main counter, or the first that is known; of one place by itself on every counter that nobody sets back.
func (t *machineText) useText(use []useJSON) string {
	var out []string
	main := ""
	trip := map[string]bool{}
	if t.v != nil && t.v.m.Fitted != nil {
		if c := t.v.m.Fitted.MainCounter(); c != nil {
			main = c.Name
		}
		for _, c := range t.v.Counters {
			trip[c.Counter] = c.Trip
		}
	}
	i := max(0, slices.IndexFunc(use, func(u useJSON) bool { return u.Counter == main }))
	for k, u := range use {
		if k == i || t.fine && !trip[u.Counter] {
			q := quantity.MustParse(strings.TrimSpace(u.Value + " " + u.Unit))
			out = append(out, q.Show(t.system))
		}
	}
	return strings.Join(out, ", ")
}

func (t *machineText) parts() (*table.Table, string) {
	tb := table.New("part", "use", "where", "since", "serial", "entries")
	tb.Keep(3)
	var unknown []string
	var rows [][]string
	text := func(p *partView) string {
		s := t.useText(p.Use)
		if s == "" {
			s = "use not known"
		}
		if p.Segment > 1 {
			s += before(", ", t.useText(p.SegmentUse)) + " since last turned or rebuilt"
		}
		worn := ""
		if !p.Worn.IsZero() {
			worn = p.Worn.q.String() + " worn"
		}
		return marks(map[string]string{"fitted": s, "original": "original, " + s, "empty": "empty", "disputed": "place disputed"}[p.State], worn, iff(p.Assumed, "assumed"))
	}
	for _, p := range joined(t.v.Parts, t.fine, func(a, b *partView) bool {
		return a.Part == b.Part && a.Hand == b.Hand && text(a) == text(b) && (!t.why || slices.Equal(a.Entries, b.Entries))
	}, func(into, v *partView) {
		into.at = into.at.Union(v.at)
		into.Since = max(into.Since, v.Since)
		if into.Serial != v.Serial {
			into.Serial = ""
		}
	}) {
		name := strings.TrimSpace(p.Hand + " " + sentence.Title("", p.Part))
		if p.State == "original" && len(p.Use) == 0 && !p.Assumed && !t.fine && !t.why {
			if !slices.Contains(unknown, name) {
				unknown = append(unknown, name)
			}
			continue
		}
		row := []string{name, text(&p), t.where(p.at, p.of), sinceDay(p.Since), p.Serial, t.ids(p.Entries), iff(t.why, p.Rule)}
		if i := slices.IndexFunc(rows, func(r []string) bool { return slices.Equal(r[1:], row[1:]) }); i >= 0 {
			rows[i][0] += ", " + name // parts that stand exactly alike share a line
			continue
		}
		rows = append(rows, row)
	}
	for _, r := range rows {
		tb.Row(r[:6]...)
		tb.Under(r[6])
	}
	return tb, notKnown("original as far as known, use not counted yet", unknown)
}

func (t *machineText) readings() (*table.Table, string) {
	tb := table.New("reading", "value", "where", "measured", "", "entries")
	tb.Keep(1, 3)
	for _, g := range t.readingGroups() {
		tb.Row(g.title, g.text, t.where(g.at, g.of), g.day, g.mark, t.ids(g.entries))
		tb.Under(g.earlier)
	}
	var never []string
	if f := t.v.m.Fitted; f != nil && t.l.places.IsZero() {
		for _, r := range f.Readings {
			if t.l.wants("reading", r.Name) && len(t.v.m.Readings[r.Name]) == 0 {
				never = append(never, sentence.Title(r.Title, r.Name))
			}
		}
	}
	return tb, notKnown("never measured", never)
}

// earlier are the readings of one slot before the last one, newest first, at most three.
func (t *machineText) earlier(reading, slot string) string {
	all := t.v.m.Readings[reading][slot]
	var out []string
	seen := false
	for i := len(all) - 1; i >= 0 && len(out) < 3; i-- {
		v := all[i].Left
		if v.IsZero() {
			v = all[i].Found
		}
		if v.IsZero() {
			continue
		}
		if seen {
			out = append(out, sentence.Value(v, t.system)+" on "+sinceDay(all[i].Done))
		}
		seen = true
	}
	return before("before that ", strings.Join(out, ", "))
}

// readingGroup is one line of readings: those of one occasion as a range, graded words apart, what is past its limit by itself.
type readingGroup struct {
	title, text, of, day, mark string
	earlier                    string
	key                        string
	at                         record.Positions
	low, high                  quantity.Quantity
	word                       string
	entries                    []record.ID
}

func (t *machineText) readingGroups() []*readingGroup {
	var out []*readingGroup
	for i := range t.v.Readings {
		r := &t.v.Readings[i]
		v := r.Left.v
		if v.IsZero() {
			v = r.Found.v
		}
		name := strings.TrimSpace(r.Hand + " " + sentence.Title(r.title, r.Reading))
		g := &readingGroup{title: name, of: r.of, at: r.at, entries: slices.Clone(r.Entries)}
		if !v.IsZero() {
			g.day = sinceDay(r.Done)
		}
		g.mark = marks(iff(r.Past != "", "past its limit"), iff(r.Earlier, "of the part before"), iff(r.Assumed, "assumed"), iff(r.Computed, "worked out"), cannotText(r.Cannot, r.CannotOn))
		q, amount := v.Quantity()
		switch {
		case v.IsZero():
			g.text = "no reading"
		case amount:
			g.low, g.high = q, q
		default:
			g.word = v.Word()
		}
		if t.fine {
			if r.Past != "" {
				g.mark = marks(r.Past, g.mark[len("past its limit"):])
			}
			g.key = fmt.Sprint(i)
			g.earlier = t.earlier(r.Reading, rules.SlotName(r.at.All()[0], r.Hand))
		} else {
			g.key = fmt.Sprintf("%q", []string{name, g.day, g.mark, g.word, g.text})
		}
		out = g.join(out)
	}
	for _, g := range out {
		switch {
		case g.text != "":
		case g.word != "":
			g.text = strings.ReplaceAll(g.word, "-", " ")
		default:
			g.text = sentence.Range(g.low, g.high, t.system)
		}
	}
	return out
}

func (g *readingGroup) join(to []*readingGroup) []*readingGroup {
	i := slices.IndexFunc(to, func(o *readingGroup) bool { return o.key == g.key })
	if i < 0 {
		return append(to, g)
	}
	o := to[i]
	o.at = o.at.Union(g.at)
	for _, id := range g.entries {
		if !slices.Contains(o.entries, id) {
			o.entries = append(o.entries, id)
		}
	}
	if c, err := g.low.Cmp(o.low); err == nil && c < 0 {
		o.low = g.low
	}
	if c, err := g.high.Cmp(o.high); err == nil && c > 0 {
		o.high = g.high
	}
	return to
}

func cannotText(why string, on record.Done) string {
	if why == "" {
		return ""
	}
	return map[string]string{"reach": "could not be reached", "fitted": "not fitted", "read": "could not be read"}[why] + " on " + sinceDay(on)
}

// mostDoings is how many lines a job may have before its older doings share one.
const mostDoings = 6

func (t *machineText) jobs() (*table.Table, string) {
	tb := table.New("job", "last done", "where", "at", "", "entries")
	tb.Keep(1)
	var never []string
	for from := 0; from < len(t.v.Jobs); {
		to := from
		for to < len(t.v.Jobs) && t.v.Jobs[to].Job == t.v.Jobs[from].Job {
			to++
		}
		never = append(never, t.job(tb, t.v.Jobs[from:to])...)
		from = to
	}
	return tb, notKnown("never recorded", never)
}

// job writes the lines of one job: what was done when and where, then where it never was. A job never done anywhere is returned by its title. Jobs that put
// in a new part are told by the parts, unless they are asked for.
func (t *machineText) job(tb *table.Table, rows []jobView) (never []string) {
	if f := t.v.m.Fitted; f != nil && !t.fine && len(t.l.names) == 0 {
		if j, ok := f.Job(rows[0].Job); ok && j.Swaps != "" {
			return nil
		}
	}
	var done, rest []jobView
	for _, r := range rows {
		if len(r.Entries) > 0 {
			done = append(done, r)
		} else if t.fine || t.asked(r.Job) {
			rest = append(rest, r)
		}
	}
	if len(done) == 0 && len(rest) > 0 && !t.fine {
		return []string{rows[0].title}
	}
	slices.SortStableFunc(done, func(a, b jobView) int { return b.Done.Compare(a.Done) })
	for i, j := range done {
		if i == mostDoings-1 && len(done) > mostDoings {
			var at record.Positions
			for _, o := range done[i:] {
				at = at.Union(o.at)
			}
			tb.Row(j.title, "earlier", t.where(at, j.of), "", fmt.Sprintf("%d times, the first on %s", len(done)-i, sinceDay(done[len(done)-1].Done)))
			break
		}
		how := marks(iff(j.Skipped, "skipped"), before("with ", j.viaText()), strings.ReplaceAll(j.Result, "-", " "), map[string]string{"pass": "passed", "fail": "failed", "advice": "passed with advice"}[j.Outcome],
			before("valid until ", j.Until), iff(!j.Torque.IsZero(), "wrench at "+j.Torque.q.Show(t.system)), iff(j.Assumed, "assumed"))
		tb.Row(j.title, sinceDay(j.Done), t.where(j.at, j.of), t.useText(j.Counters), how, t.ids(j.Entries))
	}
	for _, j := range rest {
		tb.Row(j.title, "never recorded", t.where(j.at, j.of))
	}
	return nil
}

// asked reports a job that comes due by itself, so that never having done it means something: not one that only answers a limit or other work.
func (t *machineText) asked(job string) bool {
	if t.v.m.Fitted == nil {
		return false
	}
	j, ok := t.v.m.Fitted.Job(job)
	return ok && slices.ContainsFunc(j.When, func(w schedule.Trigger) bool {
		return len(w.Every) > 0 || w.Worked > 0 || w.Idle > 0 || w.Season != "" || w.Made != "" || w.Until != ""
	})
}

// viaText names what did the job besides itself.
func (j *jobView) viaText() string {
	switch j.Via {
	case "measure":
		return "a measurement"
	case "swap":
		return "a swap"
	case "adjust":
		return "a setting"
	}
	return strings.ReplaceAll(j.Via, "-", " ")
}
