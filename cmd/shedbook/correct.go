package main

import (
	"encoding/json"
	"slices"
	"strings"

	"github.com/spf13/pflag"

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
	bindLend(s, fs)
	bindStore(s, fs)
	s.bindNote(fs)
}

func correctCommand() *command {
	s := &said{}
	var other string
	return &command{
		name: "correct", section: "put right", brief: "put right what was recorded", writes: true,
		usage: []string{"correct ID [WORDS] [FLAGS]", "correct ID --machine NAME"},
		examples: []string{
			"correct a1b2c3d4 --done 2026-04-02", "correct a1b2c3d4 but 14", "correct a1b2c3d4 5.4      # answered: recorded: ... [a1b2c3d4]", "correct a1b2c3d4 4=6 39=5.125", "correct a1b2c3d4 depth=5", "correct a1b2c3d4 --machine drill2",
		},
		about: "The ID stands in brackets behind the answer when something is recorded, and last in each line of shedbook history drill. Only what is said changes; words and flags are those of the command that recorded the entry. Both stay in the book. Another machine: the entry is " +
			"taken back and recorded anew there, in one step. Corrections correct entries, not one another: the last one holds.",
		flags: func(fs *pflag.FlagSet) {
			fs.StringVar(&other, "machine", "", "it was this `machine`")
			s.bindWork(fs)
			s.bindNote(fs)
			common := map[string]bool{}
			fs.VisitAll(func(f *pflag.Flag) { common[f.Name] = true })
			bindCorrect(s, fs)
			fs.VisitAll(func(f *pflag.Flag) { f.Hidden = !common[f.Name] && f.Usage != "" && !everywhere(f.Name) })
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

// everywhere reports a flag of every command that writes.
func everywhere(name string) bool {
	fs := pflag.NewFlagSet("", pflag.ContinueOnError)
	(&common{}).flags(fs, &command{writes: true})
	return fs.Lookup(name) != nil
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
	if leads(d) || !d.Pending && !rules.OwnersOnly(e.Kind()) && eff.Entry.Person == record.ID(d.Person.String()) {
		return nil
	}
	return failed("no-right", "ask an owner of the book", "%s is not yours to put right", e.ID().Short())
}

// correct makes the whole new record, shows what changes and signs it.
func (w *writing) correct(t *target, s *said, words []string, sure sureOf) error {
	a := &reply{c: w.c, w: w, plain: true}
	l := &line{c: w.c, w: w, s: s, v: &verb{kind: t.e.Kind()}, st: t.st, m: &rules.Machine{}, old: t.eff, done: t.eff.Done}
	if err := l.correctInto(a, t, words, sure); err != nil {
		return err
	}
	w.then(a.print)
	return nil
}

// correctInto signs the correction of an entry and keeps it for the answer, which says what it was and what it is now.
func (l *line) correctInto(a *reply, t *target, words []string, sure sureOf) error {
	w := l.w
	r, p, err := l.again(t, words)
	if err != nil {
		return err
	}
	if asText(r, p) == asText(t.eff.Record, t.eff.Private) {
		return failed("unchanged", "say what was different: shedbook correct "+t.e.ID().Short()+" --done 2026-04-02", "nothing would change: %s",
			w.sentence(t.st, l.machineOrNil(), t.eff.Record, t.eff.Private, t.eff.Entry.Person, w.c.system))
	}
	if l.done != t.eff.Done {
		l.common()
	}
	if err := settle(l.doubts, sure); err != nil {
		return err
	}
	raw, err := json.Marshal(r)
	if err != nil {
		return err
	}
	c := &record.Correct{Machine: l.m.ID, Entry: t.eff.Entry.ID, As: t.e.Kind(), Record: raw}
	if p != nil && t.eff.Private != nil && asText(r, p) == asText(r, t.eff.Private) && w.c.hand == nil && t.eff.Private.Entered == nil {
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
	m := l.machineOrNil()
	a.entries = []replied{{e: e, m: m, r: c, p: p, s: "corrected entry " + t.e.ID().Short(), fresh: l.fresh(t.eff.Record, r)}}
	w.then(func() error {
		st, err := w.state(w.c.today(), "")
		if err != nil {
			return err
		}
		was := w.sentence(t.st, m, t.eff.Record, t.eff.Private, t.eff.Entry.Person, w.c.system)
		shown := p
		if shown == nil {
			shown = t.eff.Private
		}
		now := w.sentence(st, m, r, shown, t.eff.Entry.Person, w.c.system)
		a.notes = slices.Concat([]string{"was: " + was, "now: " + now}, l.changed(t.eff.Record, r, was == now), l.notes)
		if m != nil && m.Name != "" && m.Fitted != nil {
			a.m = m
		}
		return nil
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
