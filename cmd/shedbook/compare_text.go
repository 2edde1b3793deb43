package main

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// changeSections are what a change can be of, in the order of the list.
var changeSections = []struct{ what, title string }{
	{"outcome", "what the work came to, all readings"},
	{"setting", "settings"}, {"part", "parts"}, {"reading", "readings, the last of each place"}, {"rate", "wear, change of the reading by use"},
	{"job", "jobs, how often"}, {"missed", "jobs overdue at the end"},
	{"fault", "faults found"}, {"cause", "faults and lost time by cause"}, {"counter", "counters, how much they moved"},
}

func (c *call) printChanges(sides [2]sideOf, changes []rules.Change, why bool) {
	m := sides[1].Machine
	c.printf("%s\n", table.Wrap(table.Clean(fmt.Sprintf("%s: %s, beside %s", sides[0].Machine.Name, sides[0].words, sides[1].words)), c.columns(), "  "))
	if len(changes) == 0 {
		c.printf("nothing differs\n")
		return
	}
	for _, section := range changeSections {
		t := table.New("", "where", sides[0].label, sides[1].label, "when, who")
		for _, x := range changes {
			if x.What != section.what {
				continue
			}
			last := x.To
			if last.Since == "" {
				last = x.From
			}
			when := ""
			if last.Since != "" {
				when = strings.TrimSpace(last.Since.Date() + " " + personName(sides[1].State, last.Person))
			}
			t.Row(x.Name, c.whereOf(m, x), c.foundText(x, x.From), c.foundText(x, x.To), when)
			if why {
				for _, s := range c.whyOf(sides, x) {
					t.Under(s.text + before(": ", entriesText(s.entries)))
				}
				t.Under(cmp.Or(entriesText(slices.Concat(x.From.Entries, x.To.Entries)), "nothing was ever recorded of it on either side"))
			}
		}
		if t.Len() > 0 {
			c.printf("\n%s\n%s", c.paint(bold, section.title), t.Text(c.columns()))
		}
	}
}

// whyLine is how a side of a line came about, and the entries that say so, where they are not those of the line.
type whyLine struct {
	text    string
	entries []rules.ID
}

// whyOf is how the two sides of a line came about.
func (c *call) whyOf(sides [2]sideOf, x rules.Change) []whyLine {
	var out []whyLine
	for i, f := range []rules.Found{x.From, x.To} {
		add := func(text string, entries ...rules.ID) {
			out = append(out, whyLine{sides[i].label + ": " + text, entries})
		}
		for _, h := range f.Held {
			add(fmt.Sprintf("%s to %s, %s", clockDay(h.From), clockDay(h.To), c.heldText(h)), slices.Concat(h.Entries, h.Readings)...)
		}
		switch {
		case x.What == "counter" && f.WorkedOut != "":
			if k := sides[i].Machine.Counters[x.Name]; k != nil {
				add(k.Reason.Rule)
			}
		case f.Count == 0:
		case x.What == "rate":
			add(fmt.Sprintf("%s over %s of %s, %s to %s: %s", f.Change.UsualDifference(c.system), c.usual(f.Use), does(fmt.Sprint(f.Count), f.Count, "part", "parts"), f.First.Date(), f.Since.Date(), c.rateText(f)))
		case x.What == "missed":
			for _, s := range f.Reasons {
				add(s)
			}
		}
	}
	return out
}

// clockDay is a day, with the time where that is known.
func clockDay(d record.Done) string { return d.Date() + iff(d.Clock() != "24:00", " "+d.Clock()) }

// rateText is "-0.2 in per 100 ac", or the same in metric units: "-5.1 mm per 40.5 ha".
func (c *call) rateText(f rules.Found) string {
	q, _ := f.Value.Quantity()
	return fmt.Sprintf("%s per %s", q.UsualDifference(c.system), c.usual(rateOver(f)))
}

// rateOver is the use that a rate's value is for.
func rateOver(f rules.Found) quantity.Quantity {
	return quantity.Whole(rules.RateOver, f.Use.Unit())
}

// entriesText names entries; "" where there are none.
func entriesText(all []rules.ID) string {
	var ids []string
	for _, id := range all {
		if s := id.Short(); !slices.Contains(ids, s) {
			ids = append(ids, s)
		}
	}
	if len(ids) == 0 {
		return ""
	}
	return "entries " + strings.Join(ids, " ")
}

func (c *call) whereOf(m *rules.Machine, x rules.Change) string {
	at := ""
	switch {
	case x.Positions.IsZero():
	case m.Fitted != nil:
		at = m.Fitted.Describe(x.Positions, "")
	default:
		at = x.Positions.String()
	}
	return strings.TrimSpace(at + " " + x.Hand)
}

// foundText is one side of a line.
func (c *call) foundText(x rules.Change, f rules.Found) string {
	switch x.What {
	case "setting":
		return c.settingText(f)
	case "part":
		switch {
		case f.Count == 0:
			return "none known"
		case f.Since == "":
			return "original"
		case f.First.Date() != f.Since.Date():
			return "of " + f.First.Date() + " to " + f.Since.Date()
		}
		return "of " + f.Since.Date()
	case "rate":
		if f.Count == 0 {
			return "not known"
		}
		return c.rateText(f)
	case "missed":
		switch {
		case f.Count == 0:
			return "none"
		case f.Positions.IsZero():
			return "overdue"
		}
		return "overdue at " + does(fmt.Sprint(f.Count), f.Count, "place", "places")
	case "reading", "outcome":
		switch {
		case f.Count == 0:
			return "not read"
		case f.Count == 1 || !f.Value.IsZero():
			return fmt.Sprintf("%s (%d read)", c.valueText(f.Low), f.Count)
		case x.What == "outcome" && !f.Mean.IsZero():
			return fmt.Sprintf("mean %s, %s to %s (%d read)", c.valueText(f.Mean), c.valueText(f.Low), c.valueText(f.High), f.Count)
		}
		return fmt.Sprintf("%s to %s, half at most %s (%d read)", c.valueText(f.Low), c.valueText(f.High), c.valueText(f.Mid), f.Count)
	case "job":
		return fmt.Sprint(f.Count)
	case "fault", "cause":
		if f.Use.IsZero() {
			return fmt.Sprint(f.Count)
		}
		return fmt.Sprintf("%d, %s lost", f.Count, c.usual(f.Use))
	}
	if f.Use.IsZero() {
		return "not known"
	}
	return c.usual(f.Use).String() + workedOut(f)
}

// workedOut says of an amount that nobody read it.
func workedOut(f rules.Found) string { return before(", worked out from ", f.WorkedOut) }

func (c *call) valueText(v record.Value) string {
	if q, ok := v.Quantity(); ok {
		return c.usual(q).String()
	}
	return v.String()
}
