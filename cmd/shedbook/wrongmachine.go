package main

import (
	"fmt"
	"strings"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules/record"
)

// moveTo takes an entry back and records it anew on the right machine, in one step.
func (w *writing) moveTo(t *target, s *said, machine string, words []string, why string, sure sureOf) error {
	a := &reply{c: w.c, w: w}
	l := &line{c: w.c, w: w, s: s, old: t.eff, moved: true, done: t.eff.Done, st: t.st}
	if err := l.moveInto(a, t, machine, words, why, sure); err != nil {
		return err
	}
	w.then(a.print)
	return nil
}

// moveInto signs both entries and keeps the new one for the answer.
func (l *line) moveInto(a *reply, t *target, machine string, words []string, why string, sure sureOf) error {
	w, s := l.w, l.s
	var v *verb
	for _, x := range verbs() {
		if x.kind == t.e.Kind() {
			v = x
		}
	}
	if v == nil {
		return failed("not-moved", "shedbook strike "+t.e.ID().Short()+" and record it anew", "a %s entry is not moved to another machine", t.e.Kind())
	}
	wrong := t.st.MachineByID(record.MachineOf(t.eff.Record))
	m, err := findMachine(t.st, strings.ToLower(machine))
	if err != nil {
		return err
	}
	if wrong == nil || m.ID == wrong.ID {
		return failed("unchanged", "", "%s is about %s already", t.e.ID().Short(), m.Name)
	}
	l.m = m
	base := record.Base(t.eff.Record)
	if (len(base.Closes) > 0 && !s.given("closes")) || swapIn(t.eff.Record) {
		return failed("not-moved", "shedbook strike "+t.e.ID().Short()+" and record it anew", "%s is about faults or parts of %s, which %s has not", t.e.ID().Short(), wrong.Name, m.Name)
	}
	if err := l.fits(t.eff.Record); err != nil {
		return err
	}
	r, p, err := l.again(t, words)
	if err != nil {
		return err
	}
	l.old = nil
	l.common()
	if err := settle(l.doubts, sure); err != nil {
		return err
	}
	if err := w.takeBack(t, wrong, why); err != nil {
		return err
	}
	was := w.sentence(t.st, wrong, t.eff.Record, t.eff.Private, t.eff.Entry.Person, w.c.system)
	a.m, a.notes = m, append([]string{fmt.Sprintf("taken back: %s  [%s]", table.Clean(was), t.e.ID().Short())}, l.notes...)
	if b := record.Base(r); len(b.By) == 0 && t.eff.Entry.Person != w.person() {
		b.By = []record.ID{t.eff.Entry.Person}
	}
	return a.sign(m, r, p)
}

func swapIn(r record.Record) bool {
	s, ok := r.(*record.Swap)
	return ok && (len(s.Parts) > 0 || s.From != "" || s.To != "")
}

// fits reports why a record cannot be of the line's machine: places it has not. What it speaks of is looked up when it is built.
func (l *line) fits(r record.Record) error {
	if l.m.Fitted == nil {
		return nil
	}
	for _, at := range positionsIn(r) {
		if at.IsZero() {
			continue
		}
		if _, err := l.where("", at.Strings(), nil); err != nil {
			return err
		}
	}
	return nil
}

// positionsIn are all the sets of places a record names.
func positionsIn(r record.Record) []record.Positions {
	var out []record.Positions
	switch r := r.(type) {
	case *record.Did:
		out = append(out, r.Positions, r.Skipped)
	case *record.Swap:
		out = append(out, r.Positions, r.With)
	case *record.Measure:
		for _, v := range r.Values {
			out = append(out, v.Positions)
		}
	case *record.Adjust:
		for _, c := range r.Changes {
			out = append(out, c.Positions)
		}
	case *record.Assume:
		for _, i := range r.Items {
			out = append(out, i.Positions)
		}
	case *record.Fault:
		out = append(out, r.Positions)
	case *record.Repair:
		out = append(out, r.Positions)
	case *record.Note:
		out = append(out, r.Positions)
	}
	return out
}
