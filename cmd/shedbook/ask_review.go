package main

import (
	"fmt"
	"strings"

	"shedbook/cmd/shedbook/internal/draft"
	"shedbook/cmd/shedbook/internal/sentence"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

var errNothingSaid = failed("no-answer", "", "nothing was recorded: no reading was said")

// review tells what was said before it is signed. The question to go back to, or -1: record it.
func (r *round) review() (int, error) {
	if r.nothing() {
		return -1, nil
	}
	for _, g := range r.gauges {
		r.talk("%s", r.summary(g))
	}
	if r.c.yes {
		return -1, nil
	}
	for {
		text, err := r.c.put("Record it? Enter yes; to 14, back, list, stop:")
		if err != nil {
			return 0, err
		}
		t := readTyped(text, nil)
		switch {
		case t.act == actLeave, t.act == actValue && (strings.EqualFold(t.text, "y") || strings.EqualFold(t.text, "yes")):
			return -1, nil
		case t.act == actValue && (strings.EqualFold(t.text, "n") || strings.EqualFold(t.text, "no")):
			return 0, errStop
		case t.act == actEnd, t.act == actValue, t.act == actSame, t.act == actOut, t.act == actCannot:
			r.talk("  %q? Enter records it, to 14 goes to a place, stop keeps it for later", text)
			continue
		}
		to, moved, err := r.move(-1, t)
		if moved || err != nil {
			return to, err
		}
	}
}

func (r *round) nothing() bool {
	for _, a := range r.said {
		if a.given() {
			return false
		}
	}
	return true
}

// summary is "disc-reach: 46 of 48 openers measured, 5.1 to 5.9 in; cannot be reached: opener 12 (mud); left out: openers 14, 31".
func (r *round) summary(g *gauge) string {
	one := *r
	one.gauges = []*gauge{g}
	kind := func(ok func(answer) bool) string {
		return one.names(func(q asking) bool { return q.g == g && ok(r.said[q.key()]) })
	}
	var got []record.Value
	for _, q := range r.asks {
		if a := r.said[q.key()]; q.g == g && a.given() && a.got.Cannot == "" {
			got = append(got, a.got.Found)
		}
	}
	s := fmt.Sprintf("%s: %d of %s measured", g.def.Name, len(got), g.wanted()) + before(", ", spread(got, g.def.Grades))
	cannot := func(word string) func(answer) bool {
		return func(a answer) bool { return a.given() && a.got.Cannot == word }
	}
	return s + before("; cannot be reached: ", kind(cannot("reach"))) + before("; not fitted: ", kind(cannot("fitted"))) +
		before("; could not be read: ", kind(cannot("read"))) + before("; left out: ", kind(func(a answer) bool { return !a.given() }))
}

// spread is the least and the most of some values: "5.1 to 5.9 in", or of grades how many there are of each: "44 none, 2 loose".
func spread(all []record.Value, grades []string) string {
	var out []string
	for _, w := range grades {
		n := 0
		for _, v := range all {
			if v.Word() == w {
				n++
			}
		}
		if n > 0 {
			out = append(out, fmt.Sprintf("%d %s", n, w))
		}
	}
	var low, high quantity.Quantity
	for i, v := range all {
		q, ok := v.Quantity()
		if !ok {
			continue
		}
		if c, err := q.Cmp(low); i == 0 || err == nil && c < 0 {
			low = q
		}
		if c, err := q.Cmp(high); i == 0 || err == nil && c > 0 {
			high = q
		}
	}
	if len(grades) == 0 && len(all) > 0 {
		out = append(out, sentence.Range(low, high, quantity.AsWritten))
	}
	return strings.Join(out, ", ")
}

// names are the places of the questions that ok picks: as people say a set, or one by one where hands or reasons tell them apart.
func (r *round) names(ok func(asking) bool) string {
	var one []string
	var at []record.Position
	apart := false
	noun := ""
	for _, q := range r.asks {
		if !ok(q) {
			continue
		}
		a := r.said[q.key()]
		name := q.name()
		if len(r.gauges) > 1 {
			name += " " + q.g.def.Name
		}
		if a.given() && a.why != "" {
			name += " (" + a.why + ")"
		}
		apart = apart || name != q.name() || q.hand != "" || q.at.Noun == ""
		one, at, noun = append(one, name), append(at, q.at), q.g.def.Of
	}
	if !apart && len(at) > 0 {
		return r.gauges[0].l.m.Fitted.Describe(record.NewPositions(at...), noun)
	}
	const shown = 12
	if n := len(one) - shown; n > 0 {
		one = append(one[:shown], fmt.Sprintf("and %d more", n))
	}
	return strings.Join(one, ", ")
}

// progress is how far a round has come: "disc-reach 13 of 48 openers".
func (r *round) progress() string {
	var out []string
	for _, g := range r.gauges {
		n := 0
		for _, q := range r.asks {
			if q.g == g && r.said[q.key()].given() {
				n++
			}
		}
		out = append(out, fmt.Sprintf("%s %d of %s", g.def.Name, n, g.wanted()))
	}
	return strings.Join(out, ", ")
}

// list reads back what was said, stretch by stretch as on the card.
func (r *round) list() {
	for _, g := range r.gauges {
		r.talk("%s%s", g.def.Name, before(", ", g.def.Unit.String()))
		var row []string
		stretch := ""
		flush := func() {
			if len(row) > 0 {
				r.talk("  %s%s", iff(stretch != "", stretch+": "), strings.Join(row, ", "))
			}
			row = nil
		}
		for i, q := range r.asks {
			if q.g != g {
				continue
			}
			if s := r.stretch(i); s != stretch {
				flush()
				stretch = s
			}
			name := strings.TrimPrefix(q.name(), q.at.Noun+" ")
			switch a := r.said[q.key()]; {
			case a.left > 0:
				row = append(row, name+" left out")
			case a.given():
				row = append(row, name+"="+strings.ReplaceAll(a.asText(), before(" ", g.def.Unit.String()), ""))
			}
		}
		flush()
	}
}

// kept ends a round that is not finished.
func (r *round) kept(err error) error {
	if r.draft.Head == nil {
		return errNothingSaid
	}
	line := r.c.sameLine()
	if err != nil {
		return failed("kept", line+" carries on", "nothing was recorded: the answers ended; what was typed is kept: %s", r.progress())
	}
	r.talk("Kept for later, nothing is recorded yet: %s. To carry on: %s", r.progress(), line)
	return nil
}

// sameLine is the command without flags, as it is typed again.
func (c *call) sameLine() string {
	return "shedbook " + c.cmd.name + " " + strings.Join(c.args, " ") + " --ask"
}

// record signs an entry for each reading, all in one run, and lets go of the draft once they are safe.
func (r *round) record() error {
	if r.nothing() {
		if err := r.draft.Remove(); err != nil {
			return err
		}
		return errNothingSaid
	}
	return r.c.recordDraft(r.draft, func(w *writing, sure sureOf) error {
		reply, err := r.sign(w, sure)
		if err != nil {
			return err
		}
		w.then(reply.print)
		return nil
	})
}

// sign makes the entries, one a reading of which something was said.
func (r *round) sign(w *writing, sure sureOf) (*reply, error) {
	reply := &reply{c: r.c, w: w}
	for _, g := range r.gauges {
		l, err := r.lineOf(w, g)
		if err != nil {
			return nil, err
		}
		if len(l.s.asked) == 0 {
			continue
		}
		if err := l.into(reply, sure); err != nil {
			return nil, err
		}
	}
	return reply, nil
}

// lineOf is the line that records one reading of the round.
func (r *round) lineOf(w *writing, g *gauge) (*line, error) {
	args := flagArgs(g.l.s, func(name string) bool { return name != "note" })
	note := r.reasons(g)
	if g.l.s.given("note") {
		note = g.l.s.note + before("; ", note)
	}
	if note != "" {
		args = append(args, "--note="+note)
	}
	s, err := parseSaid("measure", bindMeasure, args)
	if err != nil {
		return nil, err
	}
	s.ask, s.asked = true, map[string]string{}
	for _, q := range r.asks {
		if a := r.said[q.key()]; q.g == g && a.given() {
			s.asked[q.name()] = a.asText()
		}
	}
	return w.line(measureVerb, s, r.c.args[0], g.l.ph.Words())
}

// noteIn writes the ids of what was signed into the draft that it comes from.
func (w *writing) noteIn(d *draft.Draft) error {
	var ids []string
	for _, e := range w.run {
		ids = append(ids, e.ID().String())
	}
	if err := d.Add(draft.Line{Signed: ids}); err != nil {
		return failed("not-kept", "make room, then say the same again: it carries on", "nothing was recorded: %v", err)
	}
	return nil
}

// recordDraft is record for what a draft keeps. The ids of its entries are written into it before they are stored, so that a draft that outlives them is
// known for what it is; it goes only once they are safe.
func (c *call) recordDraft(d *draft.Draft, fn func(w *writing, sure sureOf) error) error {
	err := c.record(func(w *writing, sure sureOf) error {
		if !c.dryRun {
			w.then(func() error {
				if err := d.Remove(); err != nil {
					c.say("the entry is safe, but its draft could not be removed: %v\n", err)
				}
				return nil
			})
		}
		if err := fn(w, sure); err != nil || c.dryRun {
			return err
		}
		return w.noteIn(d)
	})
	if d.Head != nil {
		c.complain("what was typed is kept; to carry on: " + c.sameLine())
	}
	return err
}
