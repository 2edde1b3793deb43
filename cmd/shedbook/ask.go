package main

import (
	"errors"
	"fmt"
	"strings"

	"shedbook/cmd/shedbook/internal/draft"
	"shedbook/cmd/shedbook/internal/phrase"
	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// round is one going over of a machine: one or more readings asked for at each place in turn, in the walking order of the job card, before the book is
// locked. What is typed is kept in a draft line by line; nothing is recorded before it was looked over.
type round struct {
	c      *call
	gauges []*gauge // one a reading, in the order named
	asks   []asking // in walking order
	said   map[string]answer
	trail  []int // questions answered, for back
	draft  *draft.Draft
	head   draft.Head

	doubt   string // typed, asked about, not confirmed yet
	doubted int    // at this question
	shown   int    // the question put last, -1 none: where a stretch begins is said once
	again   bool   // those left out are being asked for once more
}

// asking is one question.
type asking struct {
	g *gauge
	spot
}

// answer is what was said to it.
type answer struct {
	got  record.Measured
	why  string // it cannot be reached
	left int    // how often it was left out, 0 where it was not
}

// given reports a value, or the word that there can be none.
func (a answer) given() bool {
	return a.left == 0 && (!a.got.Found.IsZero() || !a.got.Left.IsZero() || a.got.Cannot != "")
}

// askVerb is measure, taking several readings.
func askVerb() *verb {
	v := *measureVerb
	v.form = phrase.Ask
	return &v
}

// askLine reads the words of a round against the machine.
func (c *call) askLine(b *book, s *said, words []string) (*line, phrase.Clause, error) {
	l, err := (&writing{book: b}).line(askVerb(), s, c.args[0], words)
	if err != nil {
		return nil, phrase.Clause{}, err
	}
	if len(l.ph.Clauses) != 1 {
		return nil, phrase.Clause{}, usage("name them before the readings: shedbook measure "+l.m.Name+" 1-24 disc-reach hub-play --ask", "the places stand between the readings")
	}
	clause := l.ph.Clauses[0]
	for _, t := range clause.Terms {
		if t.Value != "" || len(t.Each) > 0 {
			return nil, clause, usage("leave the value out", "--ask and a value: which of them?")
		}
	}
	for _, flag := range []string{"values", "from", "found", "left"} {
		if s.given(flag) {
			return nil, clause, usage("say the values in one way", "--ask and --%s: which of them?", flag)
		}
	}
	return l, clause, nil
}

// lay makes the questions: at each place, by the way walked, each reading that is taken there.
func (r *round) lay(l *line, clause phrase.Clause, s *said) error {
	var at record.Positions
	whole := false
	seen := map[string]bool{}
	for _, t := range clause.Terms {
		if seen[t.Name] {
			continue
		}
		seen[t.Name] = true
		one := *l
		one.ph = &phrase.Phrase{Clauses: []phrase.Clause{{Places: clause.Places, But: clause.But, Terms: []phrase.Term{t}, Said: clause.Said}}}
		def, err := one.measurable(t.Name)
		if err != nil {
			return err
		}
		if one.s, err = parseSaid("measure", bindMeasure, r.flagsOf(&one, s, def, clause.Terms)); err != nil {
			return err
		}
		one.s.ask = true
		g := &gauge{l: &one, def: def, got: map[spot]record.Measured{}}
		if err := g.lay(&record.Measure{}); err != nil {
			return err
		}
		if err := one.firstSlips(def); err != nil {
			return err
		}
		r.gauges = append(r.gauges, g)
		at, whole = at.Union(g.at), whole || g.at.IsZero()
	}
	places := l.m.Fitted.Walk(at)
	if whole {
		places = append([]record.Position{{}}, places...)
	}
	for _, p := range places {
		for _, g := range r.gauges {
			if p.Noun == "" && !g.at.IsZero() || p.Noun != "" && !g.at.Has(p) {
				continue
			}
			for _, h := range g.hands {
				r.asks = append(r.asks, asking{g, spot{p, h}})
			}
		}
	}
	return nil
}

// firstSlips finds what is wrong with the flags before anything is asked.
func (l *line) firstSlips(def *schedule.Reading) error {
	r := &record.Measure{}
	if _, err := l.work(); err != nil {
		return err
	}
	if err := l.conditions(r, def); err != nil {
		return err
	}
	_, err := l.private("")
	return err
}

// measureAsked is measure --ask: the draft that stands, the questions, a last look, the entries.
func (c *call) measureAsked(s *said) error {
	if len(c.args) == 0 {
		return usage("shedbook measure drill disc-reach --ask", "measure takes a machine and a reading")
	}
	b, err := c.open()
	if err != nil {
		return err
	}
	r := &round{c: c}
	recorded, err := r.open(b, s)
	if r.draft != nil {
		defer r.draft.Close()
	}
	if recorded || err != nil {
		return err
	}
	r.begin()
	switch err := r.all(); {
	case errors.Is(err, errStop):
		return r.kept(nil)
	case errors.Is(err, errEnded):
		return r.kept(err)
	case err != nil:
		return err
	}
	return r.record()
}

// errStop ends a round that is to be carried on later; errEnded one whose input ended, as when a terminal is closed.
var (
	errStop  = errors.New("stopped")
	errEnded = errors.New("the answers ended")
)

// begin says what is asked for and what can be typed.
func (r *round) begin() {
	l := r.gauges[0].l
	var titles []string
	for _, g := range r.gauges {
		title := g.def.Title
		if title == "" {
			title = g.def.Name
		}
		titles = append(titles, title+before(" (", g.def.Unit.String())+iff(g.def.Unit.String() != "", ")")+", "+g.wanted())
	}
	r.talk("%s: %s. %s", l.m.Name, strings.Join(titles, "; "), keysLine)
	for _, g := range r.gauges {
		if g.def.How != "" {
			r.talk("  %s", before(iff(len(r.gauges) > 1, g.def.Name+": "), g.def.How))
		}
	}
}

// talk says something between the questions, broken to the width of the terminal.
func (r *round) talk(format string, a ...any) {
	text := fmt.Sprintf(format, a...)
	indent := "  "
	if strings.HasPrefix(text, "  ") {
		indent = "    "
	}
	r.c.say("%s\n", table.Wrap(table.Clean(text), r.c.columns(), indent))
}

// last is the latest reading there.
func (g *gauge) last(s spot) (record.Value, record.Done) {
	all := g.l.m.Readings[g.def.Name][rules.SlotName(s.at, s.hand)]
	for i := len(all) - 1; i >= 0; i-- {
		if all[i].Done.Compare(g.l.done) > 0 || g.l.old != nil && all[i].Entry == g.l.old.Entry.ID {
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
