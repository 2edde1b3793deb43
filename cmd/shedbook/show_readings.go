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
