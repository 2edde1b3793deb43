package main

import (
	"encoding/json"
	"fmt"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/ledger"
	"shedbook/rules"
	"shedbook/rules/record"
)

func bindCorrect(s *said, fs *pflag.FlagSet) {
	s.fs = fs
	for _, v := range verbs() {
		v.bind(s, fs)
	}
	bindMachine(s, fs)
	bindShelf(s, fs)
	bindSeason(s, fs)
	s.bindNote(fs)
}

func correctCommand() *command {
	s := &said{}
	var other string
	return &command{
		name: "correct", section: "put right", brief: "put right what was recorded", writes: true,
		usage: []string{"correct ID [WORDS] [FLAGS]", "correct ID --machine NAME"},
		examples: []string{
			"correct a1b2c3d4 --done 2026-04-02", "correct a1b2c3d4 but 14", "correct a1b2c3d4 5.4", "correct a1b2c3d4 depth=5", "correct a1b2c3d4 --machine drill2",
		},
		about: "Only what is said changes; words and flags are those of the command that recorded the entry. Both stay in the book. Another machine: the entry is " +
			"taken back and recorded anew there, in one step. Corrections correct entries, not one another: the last one holds.",
		flags: func(fs *pflag.FlagSet) {
			fs.StringVar(&other, "machine", "", "it was this `machine`")
			bindCorrect(s, fs)
		},
		run: func(c *call) error {
			if len(c.args) == 0 {
				return usage("shedbook history MACHINE shows the ids", "correct takes the id of an entry")
			}
			return c.record(func(w *writing, sure sureOf) error {
				t, err := w.target(c.args[0])
				if err != nil {
					return err
				}
				if other != "" {
					return w.moveTo(t, s, other, c.args[1:], "", sure)
				}
				return w.correct(t, s, c.args[1:], sure)
			})
		},
	}
}

// target is the entry that a correction or strike is about.
type target struct {
	e   *ledger.Entry
	eff *rules.Effective
	st  *rules.State
}

// target finds an entry by its short id and holds it to who may put it right. The id of a correction stands for the entry it corrects.
func (w *writing) target(prefix string) (*target, error) {
	prefix = strings.Trim(strings.ToLower(prefix), "[]")
	if len(prefix) < 4 || strings.Trim(prefix, "0123456789abcdef") != "" {
		return nil, usage("shedbook history MACHINE shows the ids", "%q is no id of an entry: four or more of the digits in brackets behind it", prefix)
	}
	found := w.log.Find(prefix)
	if len(found) > 1 {
		return nil, failed("several", "write more of the id", "%q could be %s", prefix, idList(found))
	}
	if len(found) == 0 {
		return nil, failed("unknown-entry", "shedbook history MACHINE shows the ids", "there is no entry %q", prefix)
	}
	e := found[0]
	if e.Class() == ledger.Control {
		return nil, failed("control", "", "%s is an entry about who takes part: it can be neither corrected nor taken back", e.ID().Short())
	}
	st, err := w.state(w.c.today(), "")
	if err != nil {
		return nil, err
	}
	eff := effective(st, record.ID(e.ID().String()))
	if eff == nil {
		return nil, failed("not-counted", "", "%s does not count (its writer is not admitted, or it waits for earlier entries)", e.ID().Short())
	}
	if c, ok := eff.Record.(*record.Correct); ok {
		id, err := ledger.ParseID(string(c.Entry))
		if err != nil || w.log.Entry(id) == nil {
			return nil, failed("unknown-entry", "", "%s corrects an entry that is not held", e.ID().Short())
		}
		e, eff = w.log.Entry(id), effective(st, c.Entry)
	}
	if x, ok := eff.Record.(*record.Strike); ok {
		return nil, failed("strike", "record it anew", "%s took entry %s back, for good", e.ID().Short(), x.Entry.Short())
	}
	if eff.StruckBy != "" {
		return nil, failed("struck", "record it anew", "%s was taken back by %s", e.ID().Short(), eff.StruckBy.Short())
	}
	if eff.Record == nil {
		return nil, failed("unreadable", "install the newer shedbook", "%s cannot be read here: %v", e.ID().Short(), eff.Entry.Err)
	}
	if err := w.mayPutRight(e, eff); err != nil {
		return nil, err
	}
	return &target{e, eff, st}, nil
}

func effective(st *rules.State, id record.ID) *rules.Effective {
	for _, e := range st.Effective {
		if e.Entry.ID == id {
			return e
		}
	}
	return nil
}

func idList(found []*ledger.Entry) string {
	var out []string
	for _, e := range found[:min(len(found), 4)] {
		out = append(out, e.ID().String()[:12]+" ("+e.Kind()+")")
	}
	return strings.Join(out, ", ")
}

// mayPutRight: owners anyone's entries, others those of their own person, and never what only owners write.
func (w *writing) mayPutRight(e *ledger.Entry, eff *rules.Effective) error {
	d, _ := w.judged.Device(w.writer)
	if d.Role != ledger.RoleWorker {
		return nil
	}
	switch e.Kind() {
	case "farm", "yard", "schedule", "override", "machine", "lend", "sell", "shelf":
	default:
		if eff.Entry.Person == record.ID(d.Person.String()) {
			return nil
		}
	}
	return failed("no-right", "ask an owner of the book", "%s is not yours to put right", e.ID().Short())
}

// correct makes the whole new record, shows what changes and signs it.
func (w *writing) correct(t *target, s *said, words []string, sure sureOf) error {
	l := &line{c: w.c, w: w, s: s, v: &verb{kind: t.e.Kind()}, st: t.st, m: &rules.Machine{}, old: t.eff, done: t.eff.Done}
	r, p, err := l.again(t, words)
	if err != nil {
		return err
	}
	if asText(r, p) == asText(t.eff.Record, t.eff.Private) {
		return failed("unchanged", "say what was different: shedbook correct "+t.e.ID().Short()+" --done 2026-04-02", "nothing would change: %s",
			w.sentence(t.st, l.machineOrNil(), t.eff.Record, t.eff.Private, t.eff.Entry.Person, w.c.system))
	}
	if l.done != t.eff.Done {
		l.common(r)
	}
	if err := settle(l.doubts, sure); err != nil {
		return err
	}
	raw, err := json.Marshal(r)
	if err != nil {
		return err
	}
	c := &record.Correct{Machine: l.m.ID, Entry: t.eff.Entry.ID, As: t.e.Kind(), Record: raw}
	if p != nil && t.eff.Private != nil && asText(r, p) == asText(r, t.eff.Private) {
		p = nil // what may be held back stays as it is
	}
	var key *ledger.MachineKey
	if l.m.Key != "" {
		if key, err = machineKey(l.m.Key); err != nil {
			return err
		}
	}
	e, err := w.add(c, p, key)
	if err != nil {
		return err
	}
	w.then(func() error {
		st, err := w.state(w.c.today(), "")
		if err != nil {
			return err
		}
		m := l.machineOrNil()
		was := w.sentence(t.st, m, t.eff.Record, t.eff.Private, t.eff.Entry.Person, w.c.system)
		shown := p
		if shown == nil {
			shown = t.eff.Private
		}
		now := w.sentence(st, m, r, shown, t.eff.Entry.Person, w.c.system)
		a := &reply{c: w.c, w: w, plain: true, notes: append([]string{"was: " + was, "now: " + now}, l.notes...)}
		if m != nil && m.Name != "" && m.Fitted != nil {
			a.m = m
		}
		a.entries = []replied{{e: e, m: m, r: c, p: p, s: "corrected entry " + t.e.ID().Short()}}
		return a.print()
	})
	return nil
}

// machineOrNil is the machine the entry is about, if any.
func (l *line) machineOrNil() *rules.Machine {
	if l.m == nil || l.m.ID == "" {
		return nil
	}
	return l.m
}

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
	if !l.moved {
		if l.m = l.st.MachineByID(record.MachineOf(l.old.Record)); l.m == nil {
			return nil, nil, failed("unknown-machine", "", "the machine of that entry is not in the book")
		}
	}
	if err := l.read(words); err != nil {
		return nil, nil, err
	}
	return l.v.build(l)
}

// onlyFlags refuses flags that entries of the kind do not take.
func (l *line) onlyFlags(kind string, bind func(*said, *pflag.FlagSet)) error {
	own := pflag.NewFlagSet("", pflag.ContinueOnError)
	bind(&said{}, own)
	common := pflag.NewFlagSet("", pflag.ContinueOnError)
	(&everywhere{}).bind(common)
	wrong := ""
	l.s.fs.Visit(func(f *pflag.Flag) {
		if own.Lookup(f.Name) == nil && common.Lookup(f.Name) == nil && f.Name != "machine" && f.Name != "again" && wrong == "" {
			wrong = f.Name
		}
	})
	if wrong != "" {
		return usage("shedbook help "+kind, "a %s entry takes no --%s", kind, wrong)
	}
	return nil
}

// everywhere binds what every command that writes takes, to know its flags by name.
type everywhere struct{}

func (everywhere) bind(fs *pflag.FlagSet) { (&common{}).flags(fs, &command{writes: true}) }

// otherAgain corrects entries that no line of the grammar makes.
func (l *line) otherAgain(t *target, words []string) (record.Record, *record.Private, error) {
	kind := t.e.Kind()
	name := strings.Join(words, " ")
	private := func(p *record.Private, err error) (*record.Private, error) { return p, err }
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
		f, def, err := partOfKind(l.st, r.Schedule, r.Part)
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
		p, err := private(l.stock(&r, def))
		l.m.Fitted = nil
		return &r, p, err
	case *record.Move:
		if err := l.findOld(kind); err != nil {
			return nil, nil, err
		}
		r, p, err := buildMove(l, name)
		return r, p, err
	}
	return l.workAgain(t, words)
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

// findOld takes up the machine of the entry corrected; only flags of all work may change it.
func (l *line) findOld(kind string) error {
	if err := l.onlyFlags(kind, func(s *said, fs *pflag.FlagSet) { s.bindWork(fs); s.bindNote(fs) }); err != nil {
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
	if err := l.findOld(kind); err != nil {
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

// moveTo takes an entry back and records it anew on the right machine, in one step.
func (w *writing) moveTo(t *target, s *said, machine string, words []string, why string, sure sureOf) error {
	l := &line{c: w.c, w: w, s: s, old: t.eff, moved: true, done: t.eff.Done, st: t.st}
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
	l.common(r)
	if err := settle(l.doubts, sure); err != nil {
		return err
	}
	if err := w.takeBack(t, wrong, why); err != nil {
		return err
	}
	was := w.sentence(t.st, wrong, t.eff.Record, t.eff.Private, t.eff.Entry.Person, w.c.system)
	a := &reply{c: w.c, w: w, m: m, notes: append([]string{fmt.Sprintf("taken back: %s  [%s]", table.Clean(was), t.e.ID().Short())}, l.notes...)}
	if b := record.Base(r); len(b.By) == 0 && t.eff.Entry.Person != w.person() {
		b.By = []record.ID{t.eff.Entry.Person}
	}
	if err := a.sign(m, r, p); err != nil {
		return err
	}
	w.then(a.print)
	return nil
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
