package main

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/paper"
	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// machine is what it is and how much it has worked.
func (s *saleFile) machine() paper.Section {
	v, m := s.v, s.m
	fact := func(name string, values ...string) paper.Fact {
		f := paper.Fact{Name: name}
		for _, x := range values {
			f.Values = append(f.Values, paper.Say(x))
		}
		return f
	}
	items := s.counters()
	items = append(items, fact("kind", capital(s.title())))
	if m.Year > 0 {
		items = append(items, fact("year made", fmt.Sprint(m.Year)))
	} else {
		items = append(items, fact("year made", "not written"))
	}
	if m.Serial != "" {
		items = append(items, fact("serial", m.Serial))
	} else {
		items = append(items, fact("serial", "not written: nothing in this record ties it to a plate. Read the plate yourself, and have the seller write it down"))
	}
	if m.Fitted != nil {
		var built, reckon []string
		for _, o := range m.Fitted.OptionValues {
			switch name := strings.ReplaceAll(o.Name, "-", " "); {
			case o.Value == "no":
			case slices.Contains(reckoned, o.Name):
				reckon = append(reckon, name+" "+o.Value)
			case o.Value == "yes":
				built = append(built, name)
			default:
				built = append(built, name+" "+o.Value)
			}
		}
		items = append(items, fact("built with", strings.Join(built, ", ")))
		if len(reckon) > 0 {
			items = append(items, fact("taken for reckoning, not read", strings.Join(reckon, ", ")))
		}
	}
	at := v.Yard + before(", ", v.Farm)
	stands := []string{at}
	if m.Stored {
		stands = append(stands, "in storage")
	}
	if m.Lent != "" {
		stands = append(stands, strings.ReplaceAll(m.Lent, "-", " "))
	}
	if m.Sold != "" {
		stands = append(stands, "sold on "+weekday(m.Sold))
	}
	items = append(items, fact("stands at", stands...))
	if m.Assumed != "" {
		items = append(items, paper.Fact{Name: "record from", Values: []paper.Text{says(s.startingLine(), m.Assumed)}})
	}
	return paper.Section{ID: "machine", Blocks: []paper.Block{paper.Facts{Items: items}, paper.Para{Text: paper.Say("Is the record complete? " + s.complete())}, s.photos()}}
}

// reckoned are options that say how it is worked, not how it is built.
var reckoned = []string{"speed", "efficiency"}

// startingLine says from when the record is one, and that what was before is taken as given.
func (s *saleFile) startingLine() string {
	day := ""
	if l := s.lines[s.m.Assumed]; l != nil {
		day = sinceDay(l.done)
	}
	return day + ", when the record began; what was before is taken as given, and marked assumed"
}

// counters are what the counters show, who read them and when.
func (s *saleFile) counters() []paper.Fact {
	turns := map[string][]rules.CounterTurn{}
	for _, y := range rules.UsePerYear(s.st, s.m) {
		turns[y.Counter] = y.Turns
	}
	var out []paper.Fact
	for _, k := range s.v.Counters {
		f := paper.Fact{Name: "counter: " + strings.ReplaceAll(k.Counter, "-", " "), Big: !k.Trip && k.Known && !k.Derived}
		switch {
		case !k.Known:
			f.Values = []paper.Text{paper.Say("never read")}
		case k.Derived:
			f.Values = []paper.Text{paper.Say(s.c.said(k.Life.q, true)), says("not read; "+cmp.Or(k.Rule, "worked out"), k.Entries...)}
		default:
			f.Values = []paper.Text{paper.Say(k.Reading.q.Show(s.c.system))}
			last := k.Entries[max(0, len(k.Entries)-1):]
			read := "read " + weekday(record.Done(k.ReadOn))
			if len(last) > 0 {
				read += before(" by ", s.who(last[0]))
			}
			f.Values = append(f.Values, says(read, last...))
			if k.Reading != k.Life && !k.Trip {
				f.Values = append(f.Values, paper.Say(k.Life.q.Show(s.c.system)+" in all: what it showed first in the book and what it moved since"))
			}
		}
		if k.Trip {
			f.Name += " (set back by the driver)"
		}
		if k.Estimated {
			f.Values = append(f.Values, paper.Say("about "+s.c.said(k.Estimate.q, k.Derived)+" by now, at the recent rate"))
		}
		for _, t := range turns[k.Counter] {
			if t.Act == "replaced" || !k.Trip {
				f.Values = append(f.Values, s.turn(t))
			}
		}
		out = append(out, f)
	}
	return out
}

// turn is a counter set back or replaced.
func (s *saleFile) turn(t rules.CounterTurn) paper.Text {
	word := map[string]string{"reset": "set back", "replaced": "replaced"}[t.Act]
	text := sinceDay(t.Done) + ": the last reading before it was "
	if t.Told {
		text = sinceDay(t.Done) + ", read then: "
	}
	if t.Before.IsZero() {
		text = sinceDay(t.Done) + ", what it showed before is not known"
	} else {
		text += t.Before.Show(s.c.system)
	}
	return marked(paper.Watch, word, text+before("; starts at ", t.Start.Show(s.c.system)), t.Entry)
}

// wrongToday is every open fault and what must stop the machine or is due soon and was not done. What may wait is counted.
func (s *saleFile) wrongToday() (paper.Section, []paper.Text) {
	lines := s.openFaults()
	if s.m.Unfit {
		lines = append([]paper.Text{marked(paper.Stop, "not fit to run", "so it is written; see the faults below", s.m.Reasons["unfit"].Entries...)}, lines...)
	}
	for _, o := range s.v.Out {
		if o.Why != "tied up" {
			lines = append(lines, marked(paper.Late, "out of use", s.places(o.at)+": "+o.Why+", since "+sinceDay(o.Since), o.Entry))
		}
	}
	overdue, rest, unknown := s.overdue()
	lines = append(lines, overdue...)
	s.wrong = len(lines)
	out := paper.Section{ID: "wrong-today", Title: "What is wrong today"}
	if len(lines) == 0 {
		out.Blocks = append(out.Blocks, paper.Para{Text: marked(paper.Fine, "nothing is written as wrong", "No fault is open, and no work that must stop the machine or is due soon is overdue by its schedule.")},
			paper.Para{Text: paper.Say("That is what was written down. It does not say that nothing is wrong: look at the machine, and measure what the spot-check card asks for.")})
	} else {
		out.Blocks = append(out.Blocks, paper.List{Items: lines})
	}
	if back := s.backLines(); len(back) > 0 {
		out.Blocks = append(out.Blocks, paper.List{Items: back[:min(len(back), backAbove)]})
	}
	if s.m.Sold != "" {
		out.Blocks = append(out.Blocks, paper.Para{Text: paper.Say("The machine was sold on "+weekday(s.m.Sold)+": what was overdue by then is not listed.", strs2(s.m.Reasons["sold"].Entries)...)})
	}
	if len(rest) > 0 {
		out.Blocks = append(out.Blocks, paper.Table{Caption: "Overdue too, and may wait", Columns: []paper.Column{{Title: "when", Narrow: true}, {Title: "what"}, {Title: "how far"}}, Rows: rest,
			Fold: "show what is overdue and may wait: " + countWords(len(rest), "line"), Printed: len(rest) <= salePrint})
	}
	if len(unknown) > 0 {
		out.Blocks = append(out.Blocks, paper.Table{Caption: "Cannot be judged from this record", Columns: []paper.Column{{Title: "job"}, {Title: "why"}}, Rows: unknown,
			Fold: "show what cannot be judged: " + countWords(len(unknown), "line"), Printed: len(unknown) <= saleOpen})
	}
	if all := s.problems(); len(all) > 0 {
		out.Blocks = append(out.Blocks, paper.Notice{Title: "In the record itself, what does not fit", Lines: all})
	}
	return out, lines
}

// problems are what does not fit in the record itself: not what only the evidence lacks, such as the shelf that a part came from.
func (s *saleFile) problems() []paper.Text {
	var out []paper.Text
	for _, p := range s.st.Problems {
		known := slices.ContainsFunc(s.owner.Problems, func(o rules.Problem) bool { return o.Code == p.Code && slices.Equal(o.Entries, p.Entries) })
		if p.Machine == s.m.ID && known && len(out) < saleRows {
			out = append(out, says(p.Message, p.Entries...))
		}
	}
	return out
}

func strs2(ids []record.ID) []string {
	var out []string
	for _, id := range ids {
		out = append(out, string(id))
	}
	return out
}

// weight is how a severity is marked.
func weight(severity string) (paper.MarkKind, string) {
	switch severity {
	case "stop":
		return paper.Stop, "do not run"
	case "soon":
		return paper.Late, "soon"
	case "winter":
		return paper.Watch, "winter work"
	}
	return paper.Plain, "can wait"
}

// openFaults are what somebody found wrong and nobody has put right, worst first.
func (s *saleFile) openFaults() []paper.Text {
	open := slices.DeleteFunc(slices.Clone(s.v.Faults), func(f faultView) bool { return !f.Open })
	slices.SortStableFunc(open, func(a, b faultView) int {
		return slices.Index(record.Severities, a.Severity) - slices.Index(record.Severities, b.Severity)
	})
	var out []paper.Text
	for _, f := range open {
		what := f.Text
		if what == "" {
			what = strings.TrimSpace(strings.ReplaceAll(f.Part, "-", " ") + " fault, its words held back")
		}
		if at := s.places(f.at); at != "" {
			what = at + ": " + what
		}
		for _, x := range []struct {
			is   bool
			text string
		}{{f.TiedUp, "tied up, out of use"}, {f.Unfit, "not fit to run"}, {len(f.Temporary) > 0, "put right for the time being only"}} {
			if x.is {
				what += "; " + x.text
			}
		}
		kind, word := weight(f.Severity)
		out = append(out, marked(kind, word, fmt.Sprintf("%s. Found %s by %s, still open%s.", what, sinceDay(f.Done), s.who(f.ID), iff(f.Severity == "stop", s.workedSince(f.Done))), append([]record.ID{f.ID}, f.Temporary...)...))
	}
	return out
}

// workedSince is what the machine worked since a day, by its readings: "; the machine worked 227 ac since"; "" where that is nothing or not known.
func (s *saleFile) workedSince(d record.Done) string {
	k := s.mainCounter()
	if k == nil {
		return ""
	}
	then, read, ok := s.m.UseRead(k.Name, d)
	if !ok {
		return ""
	}
	more, err := k.Life.Sub(then)
	if err != nil || more.Sign() <= 0 {
		return ""
	}
	return "; the machine worked " + iff(!read, "about ") + s.amount(more) + " since"
}

// overdue is work past its day: what must stop the machine or is due soon, what may wait, and what cannot be judged.
func (s *saleFile) overdue() (pressing []paper.Text, rest, unknown []paper.Row) {
	var late, open []dueItem
	for _, i := range rules.Due(s.st, rules.Filter{Machine: s.m.ID}) {
		switch {
		case i.Cause == rules.ByFault: // stands there already
		case i.State == rules.Overdue:
			late = append(late, dueItem{Item: i, describe: describer(s.st, s.m.ID)})
		case i.State == rules.DueNow && i.Cause == rules.ByLimit: // measured past its limit
			late = append(late, dueItem{Item: i, describe: describer(s.st, s.m.ID)})
		case i.State == rules.Unknown:
			open = append(open, dueItem{Item: i, describe: describer(s.st, s.m.ID)})
		case i.State == rules.Open && i.Severity != "tidy":
			late = append(late, dueItem{Item: i, describe: describer(s.st, s.m.ID)})
		}
	}
	for _, r := range onOneLine(late, false) {
		var from []record.ID
		for _, i := range r.same {
			for _, id := range i.Entries {
				if !slices.Contains(from, id) {
					from = append(from, id)
				}
			}
		}
		kind, word := weight(r.Severity)
		what := r.Title + before(", ", r.Where)
		if r.Severity == "stop" || r.Severity == "soon" || r.State == rules.DueNow {
			pressing = append(pressing, marked(kind, cmp.Or(iff(r.Severity == "stop", word+" until done"), iff(r.State == rules.DueNow, "past its limit"), "overdue"), what+": "+s.stands(&r), from...))
			continue
		}
		rest = append(rest, paper.Row{Cells: []paper.Text{{Mark: paper.Mark{Kind: kind, Word: word}}, says(what, from...), paper.Say(s.stands(&r))}})
	}
	for _, r := range onOneLine(open, false) {
		unknown = append(unknown, paper.Row{Cells: []paper.Text{paper.Say(r.Title + before(", ", r.Where)), says(r.Why, r.Entries...)}})
	}
	return pressing, rest, unknown
}

// stands is how far a line is past its point, with the interval it is judged by; jobs of the schedule by their names in words.
func (s *saleFile) stands(r *dueLine) string {
	text := r.stands(s.c) + s.furthest(r)
	if s.m.Fitted == nil {
		return text
	}
	for i := range s.m.Fitted.Jobs {
		if name := s.m.Fitted.Jobs[i].Name; strings.Contains(name, "-") {
			text = strings.ReplaceAll(text, name, spaced(name))
		}
	}
	if job, ok := s.m.Fitted.Job(r.Job); ok {
		var last record.Done
		for _, i := range r.same {
			last = max(last, i.Last.Done)
		}
		if alone := s.measuredSince(job, last); alone != "" {
			text += "; all of it last done " + last.Date() + alone
		}
		if all := s.asked(job); all != "" {
			text += " (asked for " + all + ")"
		}
	}
	return text
}

// namedAtMost is how many places are named one by one in a line.
const namedAtMost = 6

// furthest says which places of a line are the furthest over, where they differ: those or the others, whichever are few.
func (s *saleFile) furthest(r *dueLine) string {
	var most quantity.Quantity
	var worst, all record.Positions
	for _, i := range r.same {
		if i.State != rules.Overdue || i.Over.Value.IsZero() || len(i.Found) > 0 {
			return ""
		}
		all = all.Union(i.Positions)
		n, err := i.Over.Value.Abs().Cmp(most)
		switch {
		case most.IsZero() || err == nil && n > 0:
			most, worst = i.Over.Value.Abs(), i.Positions
		case err == nil && n == 0:
			worst = worst.Union(i.Positions)
		}
	}
	others := all.Without(worst)
	switch {
	case others.Len() == 0 || worst.IsZero():
		return ""
	case worst.Len() <= namedAtMost:
		return fmt.Sprintf("; most at %s, less at %s", s.places(worst), countWords(others.Len(), "other"))
	case others.Len() <= namedAtMost:
		return fmt.Sprintf("; less at %s, the same at %s", s.places(others), countWords(worst.Len(), "other"))
	}
	return fmt.Sprintf("; most at %s, less at %s", countWords(worst.Len(), "place"), countWords(others.Len(), "other"))
}
