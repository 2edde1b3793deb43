package main

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"shedbook/rules"
	"shedbook/rules/record"
)

// askReadings asks for one reading after the other in walking order, before the book is locked. Enter leaves a place out, "-" says that it cannot be
// reached, "<" goes back one; the end of the input ends the round. Nothing is kept that was not said.
func (c *call) askReadings(s *said) error {
	b, err := c.open()
	if err != nil {
		return err
	}
	if len(c.args) == 0 {
		return usage("shedbook "+c.cmd.examples[2], "measure takes a machine and a reading")
	}
	l, err := (&writing{book: b}).line(measureVerb, s, c.args[0], c.args[1:])
	if err != nil {
		return err
	}
	t, _ := l.term()
	if t.Value != "" || len(t.Each) > 0 {
		return usage("leave the value out", "--ask and a value: which of them?")
	}
	def, ok := l.m.Fitted.Reading(t.Name)
	if !ok || def.Computed != nil {
		_, _, err := buildMeasure(l)
		return err
	}
	g := &gauge{l: l, def: def, got: map[spot]record.Measured{}}
	if err := g.lay(&record.Measure{}); err != nil {
		return err
	}
	title := def.Title
	if title == "" {
		title = def.Name
	}
	c.say("%s of %s, %s. Enter leaves out, - cannot reach, < goes back, Ctrl-D ends.\n", title, l.m.Name, g.wanted())
	if def.How != "" {
		c.say("  %s\n", def.How)
	}
	s.asked = map[string]string{}
	for i := 0; i < len(g.walk); {
		next, err := g.askOne(i)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return err
		}
		i = next
	}
	if len(s.asked) == 0 {
		return failed("no-answer", "", "nothing was recorded: no reading was said")
	}
	c.say("%d of %s said\n", len(s.asked), g.wanted())
	return nil
}

// askOne asks for one place until it is answered and gives the number of the place to ask for next.
func (g *gauge) askOne(i int) (int, error) {
	s, c := g.walk[i], g.l.c
	question := s.name()
	last, when := g.last(s)
	if !last.IsZero() {
		question += fmt.Sprintf(" (%s on %s)", last, when.Date())
	}
	for {
		answer, err := c.ask(question + ":")
		if err != nil {
			return i, err
		}
		answer = strings.TrimSpace(answer)
		switch answer {
		case "":
			delete(g.l.s.asked, s.name())
			return i + 1, nil
		case "<":
			return max(i-1, 0), nil
		}
		v, err := g.parse(answer)
		if err != nil {
			c.say("  %v\n", err)
			continue
		}
		if odd := g.odd(v, last); odd != "" {
			yes, err := c.ask("  " + odd + " Keep it? [y/N]")
			if err != nil {
				return i, err
			}
			if !strings.EqualFold(strings.TrimSpace(yes), "y") && !strings.EqualFold(strings.TrimSpace(yes), "yes") {
				continue
			}
		}
		g.l.s.asked[s.name()] = answer
		return i + 1, nil
	}
}

// last is the latest reading there.
func (g *gauge) last(s spot) (record.Value, record.Done) {
	all := g.l.m.Readings[g.def.Name][rules.SlotName(s.at, s.hand)]
	for i := len(all) - 1; i >= 0; i-- {
		if all[i].Done.Compare(g.l.done) > 0 {
			continue
		}
		if !all[i].Left.IsZero() {
			return all[i].Left, all[i].Done
		}
		if !all[i].Found.IsZero() {
			return all[i].Found, all[i].Done
		}
	}
	return record.Value{}, ""
}

// odd is a soft question about a value that looks like a slip: outside what is usual, or ten times off the last one.
func (g *gauge) odd(v record.Measured, last record.Value) string {
	for _, x := range []record.Value{v.Found, v.Left} {
		q, ok := x.Quantity()
		if !ok {
			continue
		}
		if !g.def.Plausible(x) {
			return fmt.Sprintf("%s? Usual is %s.", q, g.usual())
		}
		before, ok := last.Quantity()
		if !ok || before.Sign() <= 0 {
			continue
		}
		if r, err := q.Exact(before.Unit()); err == nil && (r.Float64() > 5*before.Float64() || r.Float64() < before.Float64()/5) {
			return fmt.Sprintf("%s? The last one was %s: a slip of the point?", q, before)
		}
	}
	return ""
}
