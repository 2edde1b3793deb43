package main

import (
	"errors"
	"fmt"
	"strings"

	"shedbook/rules"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// look is what a person wants to see of one machine: MACHINE [POSITIONS] [WHAT...] [but LIST].
type look struct {
	m      *rules.Machine
	places record.Positions // none: all, and the machine as a whole
	names  []schedule.Name  // settings, readings, parts, jobs, counters; none: everything
}

// findMachine finds a machine by its name.
func findMachine(st *rules.State, name string) (*rules.Machine, error) {
	if m := st.Machine(name); m != nil {
		return m, nil
	}
	if len(st.Machines) == 0 {
		return nil, failed("no-machine", "shedbook machine add drill disc-drill", "there is no machine in this book yet")
	}
	if e := entryNamed(st, name); e != nil {
		next := "shedbook history --all"
		what := ""
		if m := st.MachineByID(record.MachineOf(e.Record)); m != nil {
			what, next = " of "+m.Name, fmt.Sprintf("shedbook history %s --all", m.Name)
		}
		if e.Done != "" {
			next += fmt.Sprintf(" --since %s --until %s", e.Done.Date(), e.Done.Date())
		}
		return nil, failed("unknown-machine", next, "%s is an entry%s, no machine; history shows it", name, what)
	}
	err := &userError{code: exitFailed, tag: "unknown-machine", text: fmt.Sprintf("there is no machine %q%s", name, didYouMean(name, machineNames(st))), hint: "shedbook machine list"}
	if near := schedule.Suggest(name, machineNames(st)); len(near) == 1 {
		err.slip = slip{name, near[0]}
	}
	return nil, err
}

// entryLike reports a word that looks like an entry's id.
func entryLike(word string) bool {
	return len(word) >= 8 && strings.Trim(word, "0123456789abcdef") == ""
}

// entryNamed is the entry whose id begins with the word, as answers show it; nil for none.
func entryNamed(st *rules.State, word string) *rules.Effective {
	if !entryLike(word) {
		return nil
	}
	for _, e := range st.Effective {
		if strings.HasPrefix(string(e.Entry.ID), word) && e.Record != nil {
			return e
		}
	}
	return nil
}

func machineNames(st *rules.State) []string {
	var names []string
	for _, m := range st.Machines {
		names = append(names, m.Name)
	}
	return names
}

// lookAt reads what is to be seen. Words may stand in any order; a name of several words may be typed with blanks ("torque check").
func lookAt(st *rules.State, args []string) (*look, error) {
	m, err := findMachine(st, strings.ToLower(args[0]))
	if err != nil {
		return nil, err
	}
	l := &look{m: m}
	if len(args) == 1 {
		return l, nil
	}
	if m.Fitted == nil {
		return nil, failed("no-schedule", "shedbook show "+m.Name, "the schedule %q of %s is not known, so only the whole machine can be shown", m.Kind, m.Name)
	}
	var words, but []string
	into := &words
	for i := 1; i < len(args); i++ {
		if strings.EqualFold(args[i], "but") {
			into = &but
			continue
		}
		if n, used, ok := thing(m.Fitted, args[i:]); ok {
			l.names = append(l.names, n)
			i += used - 1
			continue
		}
		*into = append(*into, args[i])
	}
	if into == &but && len(but) == 0 {
		return nil, usage("say which are left out: but 14,31", "but is followed by nothing")
	}
	if len(words)+len(but) == 0 {
		return l, nil
	}
	l.places, err = m.Fitted.ParsePositions(l.noun(), words, but)
	var pe *schedule.PositionError
	if errors.As(err, &pe) && len(words) > 0 && !placeLike(pe.Word) {
		var known []string
		for _, n := range m.Fitted.Names() {
			known = append(known, n.Word)
		}
		return nil, failed("unknown-word", "shedbook schedule show "+m.Name, "%s has no %q%s", m.Name, pe.Word, didYouMean(pe.Word, known))
	}
	if err != nil {
		return nil, failed("unknown-position", "shedbook schedule show "+m.Name, "%s: %v", m.Name, err)
	}
	return l, nil
}

// placeLike reports a word that can only have been meant as places.
func placeLike(word string) bool { return strings.ContainsAny(word, "/0123456789") }

// thing finds the longest run of words at the front that names something that is no place.
func thing(f *schedule.Fitted, words []string) (schedule.Name, int, bool) {
	for n := min(len(words), 5); n > 0; n-- {
		name, ok := f.Lookup(strings.ToLower(strings.Join(words[:n], "-")))
		if !ok {
			continue
		}
		switch name.What {
		case "noun", "group", "alias":
		default:
			return name, n, true
		}
	}
	return schedule.Name{}, 0, false
}

// noun is the noun of the things looked at, where they have one in common.
func (l *look) noun() string {
	noun := ""
	for i, n := range l.names {
		of := nounOf(l.m.Fitted, n)
		if i > 0 && of != noun {
			return ""
		}
		noun = of
	}
	return noun
}

// nounOf is where a thing sits.
func nounOf(f *schedule.Fitted, n schedule.Name) string {
	if f == nil {
		return ""
	}
	switch n.What {
	case "setting":
		if x, ok := f.Setting(n.Word); ok {
			return x.Of
		}
	case "reading":
		if x, ok := f.Reading(n.Word); ok {
			return x.Of
		}
	case "part":
		if x, ok := f.Part(n.Word); ok {
			return x.Of
		}
	case "job":
		if x, ok := f.Job(n.Word); ok {
			return x.Of
		}
	}
	return ""
}

// wants reports whether a thing is to be shown.
func (l *look) wants(what, name string) bool {
	if len(l.names) == 0 {
		return true
	}
	for _, n := range l.names {
		if n.What == what && n.Word == name {
			return true
		}
	}
	return false
}

// has reports whether a place is to be shown; the machine as a whole is when no places are named.
func (l *look) has(p record.Position) bool {
	if l.places.IsZero() {
		return true
	}
	return l.places.Has(p)
}

// touches reports whether any of some places is to be shown.
func (l *look) touches(p record.Positions) bool {
	return l.places.IsZero() || !p.IsZero() && p.Without(l.places).Len() < p.Len()
}

// place reads a stored position; "" and what is none is the machine as a whole.
func place(s string) record.Position {
	p, _ := rules.SplitSlot(s)
	return p
}
