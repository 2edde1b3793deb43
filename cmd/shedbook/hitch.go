package main

import (
	"github.com/spf13/pflag"

	"shedbook/rules"
	"shedbook/rules/record"
)

func hitchCommand() *command {
	s := &said{}
	return &command{
		name: "hitch", section: "machines", brief: "record what pulls or carries a machine", writes: true,
		usage:    []string{"hitch MACHINE CARRIER", "hitch MACHINE --off"},
		examples: []string{"hitch drill big-tractor", "hitch header combine --done 2026-07-12", "hitch drill --off"},
		about: `A machine without an hour counter of its own takes the hours of the one it is hitched to, from then on until it is hitched to another or unhitched; its own acres stay its own. What a schedule asks ` +
			`for after hitching comes due.`,
		flags: func(fs *pflag.FlagSet) {
			s.bindWork(fs)
			s.bindNote(fs)
			fs.BoolVar(&s.out, "off", false, "unhitched: nothing pulls it now")
		},
		run: func(c *call) error {
			if len(c.args) < 1 || len(c.args) > 2 || s.out == (len(c.args) == 2) {
				return usage("shedbook "+c.cmd.examples[0], "hitch takes a machine and what pulls it, or --off")
			}
			carrier := ""
			if len(c.args) == 2 {
				carrier = c.args[1]
			}
			return c.aboutMachine(s, c.args[0], func(l *line) (record.Record, *record.Private, error) { return buildHitch(l, carrier) })
		},
	}
}

func buildHitch(l *line, carrier string) (record.Record, *record.Private, error) {
	r := &record.Hitch{}
	if old := l.oldRecord(); old != nil {
		*r = *old.(*record.Hitch)
	}
	var err error
	if r.Work, err = l.work(); err != nil {
		return nil, nil, err
	}
	switch {
	case carrier != "":
		m, err := findMachine(l.st, carrier)
		if err != nil {
			return nil, nil, err
		}
		switch {
		case m.ID == l.m.ID:
			return nil, nil, failed("itself", "shedbook machine list", "%s cannot pull itself", l.m.Name)
		case pulledBy(l.st, m, l.m.ID):
			return nil, nil, failed("round", "shedbook hitch "+m.Name+" --off", "%s is itself pulled by %s: machines cannot pull each other", m.Name, l.m.Name)
		case l.old == nil && m.ID == l.m.Carrier:
			return nil, nil, failed("there-already", "", "%s is hitched to %s already", l.m.Name, m.Name)
		}
		r.Carrier = m.ID
	case l.old == nil && l.m.Carrier == "":
		return nil, nil, failed("there-already", "", "%s is hitched to nothing", l.m.Name)
	case l.old == nil:
		r.Carrier = ""
	}
	p, err := l.private("")
	return r, p, err
}

// pulledBy reports whether a machine is hitched to another, directly or through those between.
func pulledBy(st *rules.State, m *rules.Machine, carrier record.ID) bool {
	seen := map[record.ID]bool{} // what other devices recorded may go round already
	for m != nil && m.Carrier != "" && !seen[m.ID] {
		if m.Carrier == carrier {
			return true
		}
		seen[m.ID] = true
		m = st.MachineByID(m.Carrier)
	}
	return false
}
