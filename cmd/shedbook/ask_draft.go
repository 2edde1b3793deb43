package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/draft"
	"shedbook/cmd/shedbook/internal/phrase"
	"shedbook/ledger"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// open makes the round of what is said on the line, or takes up the draft of an earlier one. recorded: that one is in the book already and nothing is left.
func (r *round) open(b *book, s *said) (recorded bool, err error) {
	l, clause, err := r.c.askLine(b, s, r.c.args[1:])
	if err != nil {
		return false, err
	}
	var names []string
	for _, t := range clause.Terms {
		names = append(names, t.Name)
	}
	if r.draft, err = r.c.openDraft(b, l.m.Name, "measure", string(l.m.ID), names); err != nil {
		return false, err
	}
	if r.draft.Head != nil {
		if recorded, err := r.c.draftRecorded(b, r.draft, l.m.Name); recorded || err != nil {
			return true, err
		}
		carry, err := r.carryOn(b, s)
		if carry || err != nil {
			return false, err
		}
		if err := r.c.putAside(r.draft); err != nil {
			return false, err
		}
	}
	return false, r.start(l, clause, s, r.c.args[1:])
}

// start lays the questions and fixes what goes at the head of a draft.
func (r *round) start(l *line, clause phrase.Clause, s *said, words []string) error {
	r.gauges, r.asks, r.said, r.trail = nil, nil, map[string]answer{}, nil
	r.head = draft.Head{Verb: "measure", Machine: string(l.m.ID), Done: string(l.done), Words: words, Flags: flagArgs(s, func(name string) bool { return name != "done" })}
	return r.lay(l, clause, s)
}

// carryOn takes up the draft, if that is wanted: with the flags of then, but for those given anew.
func (r *round) carryOn(b *book, s *said) (bool, error) {
	h := *r.draft.Head
	args := flagArgs(s, func(string) bool { return true })
	for _, f := range append(slices.Clone(h.Flags), "--done="+h.Done) {
		if name, _, _ := strings.Cut(strings.TrimPrefix(f, "--"), "="); !s.given(name) {
			args = append(args, f)
		}
	}
	again, err := parseSaid("measure", bindMeasure, args)
	if err != nil {
		return false, err
	}
	l, clause, err := r.c.askLine(b, again, h.Words)
	if err != nil {
		return false, err
	}
	if err := r.start(l, clause, again, h.Words); err != nil {
		return false, err
	}
	unread := r.take(r.draft.Lines)
	r.talk("%s: a round from %s is not finished: %s. Nothing of it is recorded yet.", l.m.Name, weekday(record.Done(h.Done)), r.progress())
	r.c.tellUnread(unread, r.draft.Lost)
	return r.c.wantsToCarryOn()
}

// take fills in what a draft keeps and gives the answers that fit nothing any more.
func (r *round) take(lines []draft.Line) (unread []string) {
	at := map[string]int{}
	for i, q := range r.asks {
		at[q.key()] = i
	}
	for n, x := range lines {
		if x.At == "" {
			continue
		}
		i, ok := at[x.At]
		if !ok || !r.apply(i, x) {
			unread = append(unread, x.At+": "+x.Say+x.Doubt)
			continue
		}
		if x.Doubt != "" && n == len(lines)-1 {
			r.doubt, r.doubted = x.Doubt, i
		}
	}
	return unread
}

// apply is what a line of a draft does, as it is typed and as it is read again.
func (r *round) apply(i int, x draft.Line) bool {
	q := r.asks[i]
	if x.Doubt != "" {
		_, err := q.g.parse(x.Doubt)
		return err == nil
	}
	a := answer{why: x.More}
	switch was := r.said[q.key()]; {
	case x.Left && x.Say != "":
		a.left = 2
	case x.Left:
		a.left = was.left + 1
	default:
		var err error
		if a.got, err = q.g.parse(x.Say); err != nil {
			return false
		}
	}
	r.said[q.key()] = a
	r.trail = append(r.trail, i)
	return true
}

// say keeps one thing said: on the disk first.
func (r *round) say(i int, x draft.Line) error {
	x.At = r.asks[i].key()
	if err := r.c.keep(r.draft, r.head, x); err != nil {
		return err
	}
	r.apply(i, x)
	return nil
}

// flagsOf are the flags of the line for one reading of several: what was read or paid once goes with the first.
func (r *round) flagsOf(l *line, s *said, def *schedule.Reading, terms []phrase.Term) []string {
	first := len(r.gauges) == 0
	args := flagArgs(s, func(name string) bool {
		switch name {
		case "counter", "minutes", "cost", "closes", "note":
			return first
		case "hand":
			return len(l.handsOf(def.Of, def.Handed)) > 1 || first && !slices.ContainsFunc(terms, func(t phrase.Term) bool { return l.handed(t.Name) })
		}
		return name != "done" && name != "at"
	})
	for _, text := range s.at {
		name, _, _ := strings.Cut(text, "=")
		takes := func(def *schedule.Reading) bool {
			return contains(def.Condition, strings.ToLower(strings.TrimSpace(name)))
		}
		if takes(def) || first && !slices.ContainsFunc(terms, func(t phrase.Term) bool { x, ok := l.m.Fitted.Reading(t.Name); return ok && takes(x) }) {
			args = append(args, "--at="+text)
		}
	}
	return append(args, "--done="+string(l.done))
}

// handed reports a reading that differs by hand.
func (l *line) handed(reading string) bool {
	def, ok := l.m.Fitted.Reading(reading)
	return ok && len(l.handsOf(def.Of, def.Handed)) > 1
}

// openDraft takes hold of a draft of this book.
func (c *call) openDraft(b *book, machine, verb, id string, what []string) (*draft.Draft, error) {
	d, err := draft.Open(b.store.Dir(), draft.Name(verb, id, what))
	switch {
	case errors.Is(err, draft.ErrBusy):
		return nil, failed("busy", "finish it there, or type stop there and carry on here", "%s: this is being keyed in on another terminal already", machine)
	case err != nil:
		return nil, failed("not-kept", "mend the folder, or make room", "what is typed could not be kept, so nothing is asked: %v", err)
	}
	return d, nil
}

// keep adds to a draft, which begins with the first thing said.
func (c *call) keep(d *draft.Draft, h draft.Head, x draft.Line) error {
	var err error
	if d.Head == nil {
		err = d.Begin(h)
	}
	if err == nil {
		err = d.Add(x)
	}
	if err != nil {
		return failed("not-kept", "make room, then say the same again: it carries on", "the last answer could not be kept (%v); what was said before it is kept", err)
	}
	return nil
}

// draftRecorded notices that a draft's entries were recorded and only the draft had stayed, as when the power went in between; then the draft goes.
func (c *call) draftRecorded(b *book, d *draft.Draft, machine string) (bool, error) {
	for _, x := range d.Lines {
		for _, text := range x.Signed {
			id, err := ledger.ParseID(text)
			if err != nil || b.log.Entry(id) == nil {
				continue
			}
			h := *d.Head
			if err := d.Remove(); err != nil {
				return true, failed("not-removed", "", "%s: the round of %s is recorded [%s], but its draft could not be removed: %v", machine, weekday(record.Done(h.Done)), id.Short(), err)
			}
			c.say("%s: the round of %s is recorded already [%s]; only its draft had stayed.\nFor another one say the same again.\n", machine, weekday(record.Done(h.Done)), id.Short())
			return true, nil
		}
	}
	return false, nil
}

// put asks a question of a round. The error is errEnded, on a line of its own, when the answers end.
func (c *call) put(question string) (string, error) {
	text, err := c.ask(question)
	if err != nil {
		c.say("\n")
		return "", errEnded
	}
	return text, nil
}

// wantsToCarryOn asks until it is answered.
func (c *call) wantsToCarryOn() (bool, error) {
	if c.yes {
		return true, nil
	}
	for {
		text, err := c.put("Carry on? Enter yes, anew begins another round:")
		if err != nil {
			return false, failed("kept", "say the same again and answer", "nothing was recorded; what was typed is kept")
		}
		switch strings.ToLower(strings.TrimSpace(text)) {
		case "", "y", "yes":
			return true, nil
		case "anew", "n", "no":
			return false, nil
		}
	}
}

// putAside makes way for another round; nothing typed is thrown away.
func (c *call) putAside(d *draft.Draft) error {
	to, err := d.Aside()
	if err != nil {
		return failed("not-kept", "", "the round before could not be put aside: %v", err)
	}
	c.say("The round before is kept as a text file: %s\n", filepath.Join(draft.Folder, filepath.Base(to)))
	return nil
}

// tellUnread names answers of a draft that are not taken over.
func (c *call) tellUnread(unread []string, lost int) {
	for _, x := range unread {
		c.complain("  not taken over, it fits nothing here: " + x)
	}
	if lost > 0 {
		c.complain("  " + does(fmt.Sprint(lost), lost, "answer is", "answers are") + " damaged in the draft: type again what is missing")
	}
}
