package main

import (
	"fmt"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules/quantity"
)

// useText is use in words: of the main counter, or the first that is known; of one place by itself on every counter that nobody sets back.
func (t *machineText) useText(use []useJSON) string {
	var out []string
	main := ""
	trip, derived := map[string]bool{}, map[string]bool{}
	if t.v != nil && t.v.m.Fitted != nil {
		if c := t.v.m.Fitted.MainCounter(); c != nil {
			main = c.Name
		}
		for _, c := range t.v.Counters {
			trip[c.Counter], derived[c.Counter] = c.Trip, c.Derived
		}
	}
	i := max(0, slices.IndexFunc(use, func(u useJSON) bool { return u.Counter == main }))
	for k, u := range use {
		if k == i || t.fine && !trip[u.Counter] {
			q := quantity.MustParse(strings.TrimSpace(u.Value + " " + u.Unit))
			out = append(out, t.said(q, derived[u.Counter]))
		}
	}
	return strings.Join(out, ", ")
}

// said is an amount of a counter: to a tenth where it is worked out from another, for more would say more than is known.
func (c *call) said(q quantity.Quantity, derived bool) string {
	q = q.Usual(c.system)
	if derived {
		if r, err := q.In(q.Unit(), 1); err == nil {
			q = r
		}
	}
	return q.String()
}

func (t *machineText) parts() (*table.Table, string) {
	tb := table.New("part", "use", "where", "since", "serial", "entries")
	tb.Keep(3)
	var unknown []string
	var old *partView // one of those nobody said the age of
	var rows [][]string
	text := func(p *partView) string {
		s := t.useText(p.Use)
		early := p.State == "original" && !p.claimed
		switch {
		case s == "":
			s = "use not known"
		case early:
			s = "at least " + s
		}
		if p.Segment > 1 {
			s += before(", ", t.useText(p.SegmentUse)) + " since last turned or rebuilt"
		}
		worn := ""
		if !p.Worn.IsZero() {
			worn = p.Worn.q.String() + " worn"
		}
		topped := ""
		if !p.ToppedUp.IsZero() {
			topped = p.ToppedUp.q.Show(t.system) + " topped up"
		}
		return marks(map[string]string{"fitted": s, "original": s, "empty": "empty", "disputed": "place disputed"}[p.State], worn, topped, iff(p.Assumed, iff(early && worn == "", "taken as good")+iff(!early || worn != "", "assumed")), before("under warranty until ", p.Warranty))
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
		name := strings.TrimSpace(p.Hand + " " + p.Part)
		if p.State == "original" && len(p.Use) == 0 && !p.Assumed && !t.fine && !t.why {
			if !slices.Contains(unknown, name) {
				unknown = append(unknown, name)
			}
			continue
		}
		if p.State == "original" && len(p.Use) > 0 && !p.claimed && old == nil {
			old = &p
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
	last := notKnown("there when the book began, use not counted yet", unknown)
	if old != nil {
		where := ""
		if t.fine {
			where = strings.Join(old.at.Strings(), ",") + " "
		}
		last = strings.TrimPrefix(last+"\n"+fmt.Sprintf("at least: there before the book began, nobody wrote since when, and counted from then; to say how old: shedbook assume %s %s%s used=%s", t.v.m.Name, where, old.Part, t.ageExample(old)), "\n")
	}
	return tb, last
}

// ageExample is an age as it is typed: "900ac".
func (t *machineText) ageExample(p *partView) string {
	if u := strings.ReplaceAll(p.Use[0].Unit, " ", ""); u != "" {
		return "900" + u
	}
	return "900"
}
