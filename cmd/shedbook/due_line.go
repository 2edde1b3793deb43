package main

import (
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/sentence"
	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// dueLine is what stands on one line: items that differ only in their dates, or in how far they are, share it.
type dueLine struct {
	dueItem
	same []dueItem
}

// onOneLine puts items of one machine, job, state and cause on one line, each apart where that is asked for. Faults always stand apart.
func onOneLine(items []dueItem, apart bool) []dueLine {
	type line struct {
		machine                                               rules.ID
		job, about, title, state, severity, cause, measuredIn string
	}
	var out []dueLine
	at := map[line]int{}
	for _, i := range items {
		key := line{i.Machine, i.Job, i.About, i.Title, i.State, i.Severity, i.Cause, i.measure()}
		n, ok := at[key]
		if !ok || apart || i.Cause == rules.ByFault || i.Positions.IsZero() {
			at[key] = len(out)
			out = append(out, dueLine{i, []dueItem{i}})
			continue
		}
		out[n].same = append(out[n].same, i)
		out[n].Positions = out[n].Positions.Union(i.Positions)
	}
	for n := range out {
		if l := &out[n]; len(l.same) > 1 {
			l.Where = l.describe(l.Positions)
		}
	}
	return out
}

// overdueLines counts each machine's overdue lines.
func overdueLines(st *rules.State) map[record.ID]int {
	var items []dueItem
	for _, i := range rules.Due(st, rules.Filter{}) {
		items = append(items, dueItem{Item: i, describe: describer(st, i.Machine)})
	}
	n := map[record.ID]int{}
	for _, r := range onOneLine(items, false) {
		if r.State == rules.Overdue {
			n[r.Machine]++
		}
	}
	return n
}

// measure is what must be the same on one line besides: what it is told in.
func (i *dueItem) measure() string {
	switch {
	case len(i.Found) > 0:
		return i.Bound.What + " " + i.Bound.At.String()
	case i.Cause == rules.BySeason || i.Cause == rules.ByLimit || i.Over.Value.IsZero():
		return i.Brief
	}
	return i.Over.Counter + " " + i.Over.Value.Unit().String()
}

// section is the heading a line stands under: how pressing it is.
func (i *dueItem) section() string {
	if i.rank()[0] < 0 {
		return "do not run until done"
	}
	state := map[string]string{rules.DueNow: "due now", rules.Unknown: "not known", rules.Later: "later"}[i.State]
	if state == "" {
		state = i.State
	}
	return state + map[string]string{"stop": ", not to be run past it", "winter": ", winter work", "tidy": ", to tidy up"}[i.Severity]
}

// word is what a person types for it: the job, or what else the line is about.
func (i *dueItem) word() string {
	switch {
	case i.Job != "":
		return i.Job
	case i.Cause == rules.ByFault && i.State == rules.Open:
		return "fault"
	}
	return i.About
}

// reason is the whole sentence, after what the job is called.
func (i *dueItem) reason() string {
	if i.Job == "" && strings.HasPrefix(i.Why, i.Title) {
		return i.Why
	}
	return i.Title + ": " + i.Why
}

// stands says in few words how it stands: how far over, the season it belongs to, the reading and its limit, the fault's own words; and that it is counted
// from a starting line.
func (r *dueLine) stands(c *call) string {
	assumed := slices.ContainsFunc(r.same, func(i dueItem) bool { return i.Assumed && i.State != rules.Unknown })
	return r.howFar(c) + iff(assumed, ", assumed")
}

func (r *dueLine) howFar(c *call) string {
	if len(r.Found) > 0 {
		return r.reading(c)
	}
	told := r.same[0].Brief
	for _, i := range r.same[1:] {
		if i.Brief != told {
			told = ""
		}
	}
	if told != "" {
		return told
	}
	amount, least := r.amount(c)
	date := before(", on ", r.Due.Date)
	if date == "" {
		date = before(", about ", r.Expected)
	}
	if len(r.same) > 1 {
		date = ""
	}
	switch {
	case amount == "" && r.State == rules.Later && r.Last.Done != "":
		for _, i := range r.same {
			if i.Last.Done.Date() != r.Last.Done.Date() {
				return "done"
			}
		}
		return "last done " + r.Last.Done.Date()
	case amount == "" && r.Due.Date != "":
		return "since " + r.Due.Date
	case amount == "":
		return r.Why
	case r.State == rules.Overdue:
		return "overdue by " + amount
	case r.State == rules.DueNow && least:
		return "today"
	case r.State == rules.DueNow:
		return "now"
	}
	return "in " + amount + date
}

// reading is "25.1 floz, limit 24.2 floz"; of several places the range of what was found.
func (r *dueLine) reading(c *call) string {
	var low, high quantity.Quantity
	var words []string
	for _, i := range r.same {
		for _, v := range i.Found {
			q, ok := v.Quantity()
			if !ok {
				if w := strings.ReplaceAll(v.Word(), "-", " "); !slices.Contains(words, w) {
					words = append(words, w)
				}
				continue
			}
			if n, err := q.Cmp(low); low.IsZero() || err == nil && n < 0 {
				low = q
			}
			if n, err := q.Cmp(high); high.IsZero() || err == nil && n > 0 {
				high = q
			}
		}
	}
	if len(words) > 0 {
		return strings.Join(words, ", ")
	}
	bound := "past its limit"
	if r.Bound.What != "" {
		bound = r.Bound.What + " " + sentence.Value(record.Amount(r.Bound.At), c.system)
	}
	return sentence.Range(low, high, c.system) + ", " + bound
}

// amount is how far over or how far to go, the range of it where the items of the line differ; days says that it is told in days.
func (r *dueLine) amount(c *call) (text string, days bool) {
	var low, high quantity.Quantity
	estimated := false
	for _, i := range r.same {
		over := i.Over.Value.Abs()
		if over.IsZero() {
			return "", false
		}
		if n, err := over.Cmp(low); low.IsZero() || err == nil && n < 0 {
			low = over
		}
		if n, err := over.Cmp(high); high.IsZero() || err == nil && n > 0 {
			high = over
		}
		estimated = estimated || i.Over.Estimated && i.State == rules.Overdue
	}
	from, to := rough(low, c.system), rough(high, c.system)
	text = to.String()
	switch {
	case from == to:
	case from.Unit() == to.Unit():
		text = from.Number() + " to " + text
	default:
		text = from.String() + " to " + text
	}
	return iff(estimated, "about ") + text, r.Over.Counter == ""
}

// rough is an amount to read at a glance, in the units asked for: whole, or to a tenth where it is under a hundred. What is less than a tenth stays as it is.
func rough(q quantity.Quantity, sys quantity.System) quantity.Quantity {
	q = q.Usual(sys)
	places := 0
	if q.Float64() < 100 {
		places = 1
	}
	if r, err := q.In(q.Unit(), places); err == nil && (r.Sign() != 0 || q.Sign() == 0) {
		return r
	}
	return q
}

// bracketed is " [text]", or "" for none.
func bracketed(text string) string {
	if text == "" {
		return ""
	}
	return " [" + text + "]"
}
