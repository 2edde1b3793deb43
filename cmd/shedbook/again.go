package main

import (
	"encoding/json"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/rules"
	"shedbook/rules/record"
)

// again builds the record anew from what stands and what is said.
func (l *line) again(t *target, words []string) (record.Record, *record.Private, error) {
	if l.s.given("done") {
		d, err := l.s.when(l.c.env)
		if err != nil {
			return nil, nil, err
		}
		l.done = d
	}
	if l.done != "" {
		st, err := l.w.state(l.done.Date(), "")
		if err != nil {
			return nil, nil, err
		}
		l.st = st
	}
	for _, v := range verbs() {
		if v.kind == t.e.Kind() {
			l.v = v
			return l.verbAgain(words)
		}
	}
	return l.otherAgain(t, words)
}

// verbAgain corrects the entry of a verb with the verb's own words and flags.
func (l *line) verbAgain(words []string) (record.Record, *record.Private, error) {
	if err := l.onlyFlags(l.v.kind, l.v.bind); err != nil {
		return nil, nil, err
	}
	if l.moved {
		l.m = l.st.MachineByID(l.m.ID)
	} else {
		if l.m = l.st.MachineByID(record.MachineOf(l.old.Record)); l.m == nil {
			return nil, nil, failed("unknown-machine", "", "the machine of that entry is not in the book")
		}
	}
	read := l.read
	if l.form != nil && l.v.form.Text {
		read = func([]string) error { return l.words(*l.form) }
	}
	if err := read(words); err != nil {
		return nil, nil, err
	}
	return l.v.build(l)
}

// onlyFlags refuses flags that entries of the kind do not take.
func (l *line) onlyFlags(kind string, bind func(*said, *pflag.FlagSet)) error {
	own := pflag.NewFlagSet("", pflag.ContinueOnError)
	bind(&said{}, own)
	wrong := ""
	l.s.fs.Visit(func(f *pflag.Flag) {
		if own.Lookup(f.Name) == nil && !everywhere(f.Name) && f.Name != "machine" && f.Name != "again" && wrong == "" {
			wrong = f.Name
		}
	})
	if wrong != "" {
		return usage("shedbook help "+kind, "a %s entry takes no --%s", kind, wrong)
	}
	return nil
}

// otherAgain corrects entries that no line of the grammar makes.
func (l *line) otherAgain(t *target, words []string) (record.Record, *record.Private, error) {
	kind := t.e.Kind()
	name := strings.Join(words, " ")
	switch old := t.eff.Record.(type) {
	case *record.Farm:
		r := *old
		if err := l.rename(kind, name, &r.Name); err != nil {
			return nil, nil, err
		}
		return &r, nil, nil
	case *record.Yard:
		r := *old
		if err := l.rename(kind, name, &r.Name); err != nil {
			return nil, nil, err
		}
		return &r, nil, nil
	case *record.Person:
		p := record.Private{}
		if t.eff.Private != nil {
			p = *t.eff.Private
		}
		if err := l.rename(kind, name, &p.Name); err != nil {
			return nil, nil, err
		}
		return old, &p, nil
	case *record.Season:
		if err := l.onlyFlags(kind, bindSeason); err != nil {
			return nil, nil, err
		}
		r := *old
		r.Done = l.done
		if name != "" {
			r.Name = name
		}
		p, err := l.season(&r)
		return &r, p, err
	case *record.Machine:
		return l.machineAgain(t, old, words)
	case *record.Stock:
		if err := l.onlyFlags(kind, bindShelf); err != nil {
			return nil, nil, err
		}
		r := *old
		f, def, err := partOfKind(l.st, r.Schedule, r.Part, r.Hand != "")
		if err != nil {
			return nil, nil, err
		}
		l.m = &rules.Machine{ID: r.Machine, Name: "the shelf", Fitted: f}
		if h := l.st.Shelf(r.Machine); h != nil {
			l.m.Key = h.Key
		}
		if len(words) > 0 {
			if _, r.Count, err = partAndNumber(append(words, r.Part)); err != nil {
				return nil, nil, err
			}
		}
		p, err := l.stock(&r, def)
		l.m.Fitted = nil
		return &r, p, err
	case *record.Move, *record.Hitch, *record.Lend, *record.Store, *record.Sell:
		return l.machineWorkAgain(kind, name)
	}
	return l.workAgain(t, words)
}

// machineWorkAgain corrects what happened to a machine as a whole; name is the yard or the carrier it should have been.
func (l *line) machineWorkAgain(kind, name string) (record.Record, *record.Private, error) {
	bind := bindAny
	switch kind {
	case "lend":
		bind = bindLend
	case "store":
		bind = bindStore
	}
	if err := l.findOld(kind, bind); err != nil {
		return nil, nil, err
	}
	switch kind {
	case "move":
		return buildMove(l, name)
	case "hitch":
		return buildHitch(l, name)
	}
	if name != "" {
		return nil, nil, usage("shedbook help correct", "a %s entry is corrected with flags; %q names nothing of it", kind, name)
	}
	switch kind {
	case "lend":
		return buildLend(l)
	case "store":
		return buildStore(l)
	}
	return buildSell(l)
}

func (l *line) rename(kind, name string, at *string) error {
	if err := l.onlyFlags(kind, func(*said, *pflag.FlagSet) {}); err != nil {
		return err
	}
	if name == "" {
		return usage("shedbook correct ID \"New Name\"", "a %s is corrected with its new name", kind)
	}
	if err := checkWords("the name", name, 200); err != nil {
		return err
	}
	*at = name
	return nil
}

// findOld takes up the machine of the entry corrected; only flags that bind binds may change it.
func (l *line) findOld(kind string, bind func(*said, *pflag.FlagSet)) error {
	if err := l.onlyFlags(kind, bind); err != nil {
		return err
	}
	if l.m = l.st.MachineByID(record.MachineOf(l.old.Record)); l.m == nil {
		return failed("unknown-machine", "", "the machine of that entry is not in the book")
	}
	return nil
}

// machineAgain corrects the entry that added a machine: its name, options, groups, serial. Its kind never changes.
func (l *line) machineAgain(t *target, old *record.Machine, words []string) (record.Record, *record.Private, error) {
	if err := l.onlyFlags("machine", bindMachine); err != nil {
		return nil, nil, err
	}
	m := l.st.MachineByID(t.eff.Entry.ID)
	if m == nil || m.Fitted == nil {
		return nil, nil, failed("no-schedule", "", "the schedule %q is not known", old.Schedule)
	}
	r := *old
	r.Options, r.Groups = append([]record.Option(nil), old.Options...), append([]record.Group(nil), old.Groups...)
	switch {
	case len(words) == 1 && plainWord(strings.ToLower(words[0])):
		r.Name = strings.ToLower(words[0])
		if o := l.st.Machine(r.Name); o != nil && o.ID != m.ID && o.Sold == "" {
			return nil, nil, failed("exists", "choose another name", "there is a machine %q already", r.Name)
		}
	case len(words) > 0:
		return nil, nil, usage("shedbook correct ID newname", "a machine is corrected with its new name and with flags; its kind never changes")
	}
	if l.s.given("yard") {
		y, err := oneYard(l.st, l.s.yard)
		if err != nil {
			return nil, nil, err
		}
		r.Yard = y.ID
	}
	sched, _, err := scheduleOf(l.st, old.Schedule)
	if err != nil {
		return nil, nil, err
	}
	copied := *m
	l.m = &copied
	p, err := l.machine(&r, sched)
	return &r, p, err
}

// workAgain corrects what all work has in common, in entries of other commands.
func (l *line) workAgain(t *target, words []string) (record.Record, *record.Private, error) {
	kind := t.e.Kind()
	if !record.IsWork(t.eff.Record) || kind == "shelf" {
		return nil, nil, failed("not-corrected", "shedbook strike "+t.e.ID().Short(), "a %s entry is not corrected: take it back and record it anew", kind)
	}
	if len(words) > 0 {
		return nil, nil, usage("shedbook strike "+t.e.ID().Short()+" and record it anew", "of a %s entry only flags such as --done can be corrected", kind)
	}
	if err := l.findOld(kind, bindAny); err != nil {
		return nil, nil, err
	}
	raw, err := json.Marshal(t.eff.Record)
	if err != nil {
		return nil, nil, err
	}
	r, err := record.Decode(kind, raw)
	if err != nil {
		return nil, nil, err
	}
	if *record.Base(r), err = l.work(); err != nil {
		return nil, nil, err
	}
	p, err := l.private("")
	return r, p, err
}

// bindAny binds what any work about a machine as a whole takes.
func bindAny(s *said, fs *pflag.FlagSet) { s.bindWork(fs); s.bindNote(fs) }
