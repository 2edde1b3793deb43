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
)

func (t *machineText) readings() (*table.Table, string) {
	tb := table.New("reading", "value", "where", "measured", "", "entries")
	tb.Keep(1, 3)
	last := ""
	for _, g := range t.readingGroups() {
		beside, below := t.beside(g.mark)
		tb.Row(g.name, g.text, t.where(g.at, g.of), g.day, beside, t.ids(g.entries))
		tb.Under(below)
		if g.title != last {
			tb.Under(t.called(g.title, g.name))
			last = g.title
		}
		tb.Under(g.earlier)
	}
	var never []string
	if f := t.v.m.Fitted; f != nil && t.l.places.IsZero() {
		for _, r := range f.Readings {
			if t.l.wants("reading", r.Name) && len(t.v.m.Readings[r.Name]) == 0 {
				never = append(never, r.Name)
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
	name, title, text, of, day, mark string
	earlier                          string
	key                              string
	at                               record.Positions
	low, high                        quantity.Quantity
	word                             string
	entries                          []record.ID
}

func (t *machineText) readingGroups() []*readingGroup {
	var out []*readingGroup
	for i := range t.v.Readings {
		r := &t.v.Readings[i]
		v := r.Left.v
		if v.IsZero() {
			v = r.Found.v
		}
		name := strings.TrimSpace(r.Hand + " " + r.Reading)
		g := &readingGroup{name: name, title: r.title, of: r.of, at: r.at, entries: slices.Clone(r.Entries)}
		g.day = sinceDay(r.Done)
		if v.IsZero() {
			g.day = sinceDay(r.CannotOn)
		}
		g.mark = marks(iff(r.Past != "", "past its limit"), iff(r.Earlier, "earlier part"), iff(r.Assumed, "assumed"), iff(r.Computed, "worked out"), cannotText(r.Cannot, r.CannotOn, v.IsZero()))
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

// cannotText says that a later try gave no reading, and when unless the line has that day already.
func cannotText(why string, on record.Done, said bool) string {
	if why == "" {
		return ""
	}
	text := map[string]string{"reach": "not reached", "fitted": "not fitted", "read": "not readable"}[why]
	if !said {
		text += " on " + sinceDay(on)
	}
	return text
}
