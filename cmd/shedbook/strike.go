package main

import (
	"fmt"

	"github.com/spf13/pflag"

	"shedbook/ledger"
	"shedbook/rules"
	"shedbook/rules/record"
)

func strikeCommand() *command {
	s := &said{}
	var again string
	return &command{
		name: "strike", section: "put right", brief: "take an entry back for good", writes: true,
		usage:    []string{"strike ID [--note WHY] [--again MACHINE]"},
		examples: []string{"strike a1b2c3d4 --note \"typed twice\"", "strike a1b2c3d4 --again drill2"},
		about:    "It stays in the book, marked as taken back, and counts for nothing. --again records the same on the machine it should have been.",
		flags: func(fs *pflag.FlagSet) {
			s.fs = fs
			s.bindNote(fs)
			fs.StringVar(&again, "again", "", "record the same anew on this `machine`")
		},
		run: func(c *call) error {
			if len(c.args) != 1 {
				return usage("shedbook history MACHINE shows the ids", "strike takes the id of an entry")
			}
			if s.given("note") {
				if err := checkWords("--note", s.note, maxWords); err != nil {
					return err
				}
			}
			return c.record(func(w *writing, sure sureOf) error {
				t, err := w.target(c.args[0])
				if err != nil {
					return err
				}
				if again != "" {
					bare := &said{fs: pflag.NewFlagSet("", pflag.ContinueOnError)}
					return w.moveTo(t, bare, again, nil, s.note, sure)
				}
				return w.strike(t, s.note, sure)
			})
		},
	}
}

func (w *writing) strike(t *target, why string, sure sureOf) error {
	m := t.machine()
	a := &reply{c: w.c, w: w, plain: true}
	if m != nil && m.Fitted != nil && m.ID != t.eff.Entry.ID {
		a.m = m
	}
	if err := w.strikeInto(a, t, m, why, sure); err != nil {
		return err
	}
	w.then(a.print)
	return nil
}

// strikeInto signs the strike of an entry of a machine, or of none, and keeps it for the answer.
func (w *writing) strikeInto(a *reply, t *target, m *rules.Machine, why string, sure sureOf) error {
	var doubts []*doubt
	if n := t.resting(); n > 0 {
		rest := fmt.Sprintf("%d entries rest", n)
		if n == 1 {
			rest = "one entry rests"
		}
		doubts = append(doubts, &doubt{fmt.Sprintf("%s on %s %s and would count for nothing", rest, t.e.Kind(), t.e.ID().Short()), "rests"})
	}
	if err := settle(doubts, sure); err != nil {
		return err
	}
	if err := w.takeBack(t, m, why); err != nil {
		return err
	}
	was := w.sentence(t.st, m, t.eff.Record, t.eff.Private, t.eff.Entry.Person, w.c.system)
	a.entries = []replied{{e: w.run[len(w.run)-1], m: m, r: &record.Strike{}, s: "took back entry " + t.e.ID().Short() + ": " + was}}
	return nil
}

// machine is the machine or shelf of the entry, nil for shared entries.
func (t *target) machine() *rules.Machine {
	id := record.MachineOf(t.eff.Record)
	switch r := t.eff.Record.(type) {
	case *record.Machine:
		if m := t.st.MachineByID(t.eff.Entry.ID); m != nil {
			return m
		}
		return &rules.Machine{ID: t.eff.Entry.ID, Name: r.Name, Key: r.Key}
	case *record.Shelf:
		return &rules.Machine{ID: t.eff.Entry.ID, Key: r.Key}
	}
	if m := t.st.MachineByID(id); m != nil {
		return m
	}
	if h := t.st.Shelf(id); h != nil {
		return &rules.Machine{ID: h.ID, Key: h.Key}
	}
	return nil
}

// resting counts the entries that are about the machine, shelf, farm or yard that the entry makes.
func (t *target) resting() int {
	n := 0
	id := t.eff.Entry.ID
	for _, e := range t.st.Effective {
		if e.Record == nil || e.StruckBy != "" || e.Ignored != "" || e == t.eff {
			continue
		}
		hit := record.MachineOf(e.Record) == id
		switch r := e.Record.(type) {
		case *record.Yard:
			hit = r.Farm == id
		case *record.Machine:
			hit = r.Yard == id
			if s, ok := t.eff.Record.(*record.Schedule); ok {
				hit = r.Schedule == s.Name && onlyText(t.st, s.Name, id)
			}
		case *record.Shelf:
			hit = r.Yard == id
		case *record.Strike, *record.Correct:
			hit = false
		}
		if hit {
			n++
		}
	}
	return n
}

// onlyText reports that no other entry puts the schedule of that name into use.
func onlyText(st *rules.State, name string, id record.ID) bool {
	for _, e := range st.Effective {
		if s, ok := e.Record.(*record.Schedule); ok && s.Name == name && e.Entry.ID != id && e.StruckBy == "" && e.Ignored == "" {
			return false
		}
	}
	return true
}

// takeBack signs the strike.
func (w *writing) takeBack(t *target, m *rules.Machine, why string) error {
	r := &record.Strike{Entry: t.eff.Entry.ID}
	var p *record.Private
	if why != "" {
		p = &record.Private{Text: why}
	}
	var key *ledger.MachineKey
	if m != nil {
		var err error
		if key, err = machineKey(m.Key); err != nil {
			return err
		}
		r.Machine = m.ID
	}
	_, err := w.add(r, p, key)
	return err
}
