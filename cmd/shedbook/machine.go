package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/phrase"
	"shedbook/ledger"
	"shedbook/rules"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// bindMachine binds what may be said of a machine itself.
func bindMachine(s *said, fs *pflag.FlagSet) {
	s.strs(fs, &s.options, "options", "how it is built, `name=value` by commas: openers=48,ranks=2")
	s.str(fs, &s.yard, "yard", "the `yard` where it stands (left out: the only one)")
	s.strs(fs, &s.serials, "serial", "`serial` number")
	s.num(fs, &s.year, "year", "`year` of make")
	s.str(fs, &s.title, "title", "a description in your `words`: 30 ft, grain and fertilizer")
	s.strs(fs, &s.groups, "group", "the farm's own name for some places: `squeaky=3,17`")
	s.bindWork(fs)
	s.bindNote(fs)
}

func machineAddCommand() *command {
	s := &said{}
	return &command{
		name: "machine add", section: "machines", brief: "add a machine", writes: true,
		usage: []string{"machine add NAME KIND [--options NAME=VALUE,...] [--yard NAME] [--serial TEXT] [--year YEAR] [--group NAME=PLACES] [--counter NAME=VALUE]"},
		examples: []string{
			"machine add drill disc-drill --options openers=48,ranks=2", "machine add tractor tractor --yard home --year 2014 --counter 4210",
			"machine add drill disc-drill --group squeaky=3,17",
		},
		about: "The kind is a schedule: shedbook schedule list shows those there are. Its built-in text is put into use with the machine where the book has none of that name. What it cost, for shedbook cost: --cost price=41500 and --cost \"list price=52000\", which can be held back from a buyer as all costs can.",
		flags: func(fs *pflag.FlagSet) { bindMachine(s, fs) },
		run: func(c *call) error {
			if len(c.args) != 2 {
				return usage("shedbook "+c.cmd.examples[0], "machine add takes a name and a kind")
			}
			return c.record(func(w *writing, sure sureOf) error { return w.addMachine(s, c.args[0], c.args[1], sure) })
		},
	}
}

// addMachine puts the kind into use where it is not yet, then adds the machine.
func (w *writing) addMachine(s *said, name, kind string, sure sureOf) error {
	if err := w.leads("adds machines"); err != nil {
		return err
	}
	name, kind = strings.ToLower(name), strings.ToLower(kind)
	done, err := s.when(w.c.env)
	if err != nil {
		return err
	}
	st, err := w.state(max(done.Date(), w.c.today()), "")
	if err != nil {
		return err
	}
	if m := st.Machine(name); m != nil && m.Sold == "" {
		return failed("exists", "choose another name", "there is a machine %q already", name)
	}
	if !plainWord(name) {
		return usage("write it like drill or tractor-2", "%q is no name: small letters, digits and - only", name)
	}
	yard, err := oneYard(st, s.yard)
	if err != nil {
		return err
	}
	sched, fresh, err := scheduleOf(st, kind)
	if err != nil {
		return err
	}
	key, err := ledger.NewMachineKey(w.c.random)
	if err != nil {
		return err
	}
	text, err := key.MarshalText()
	if err != nil {
		return err
	}
	m := &record.Machine{Work: record.Work{Done: done}, Key: string(text), Name: name, Schedule: kind, Yard: yard.ID}
	l := &line{c: w.c, w: w, s: s, v: &verb{}, st: st, m: &rules.Machine{Name: name, Kind: kind, Yard: yard.ID}, done: done}
	p, err := l.machine(m, sched)
	if err != nil {
		return err
	}
	l.common()
	if err := settle(l.doubts, sure); err != nil {
		return err
	}
	reply := &reply{c: w.c, w: w}
	if fresh {
		e, err := w.add(&record.Schedule{Name: kind, Text: sched.Text}, nil, nil)
		if err != nil {
			return err
		}
		reply.entries = append(reply.entries, replied{e: e, r: &record.Schedule{Name: kind}, s: fmt.Sprintf("put the schedule %s into use: %s", kind, sched.Title)})
	}
	e, err := w.add(m, p, &key)
	if err != nil {
		return err
	}
	reply.m = &rules.Machine{ID: record.ID(e.ID().String()), Name: name}
	reply.entries = append(reply.entries, replied{e: e, m: reply.m, r: m, p: p})
	reply.notes = append(l.notes, byDefaults(l.m.Fitted, m)...)
	w.then(reply.print)
	if len(m.Counters) == 0 {
		reply.notes = append(reply.notes, "an old machine needs a starting line: shedbook assume "+name+" good"+counterHint(sched))
	}
	return nil
}

// byDefaults say which counters are worked out with a width, speed or efficiency that nobody said of this machine, and how to say it.
func byDefaults(f *schedule.Fitted, m *record.Machine) []string {
	var out []string
	for _, c := range f.Counters {
		if c.Derive == nil || c.Derive.From == "" {
			continue
		}
		unsaid := ""
		for _, name := range []string{"width", "speed", "efficiency"} {
			known := slices.ContainsFunc(f.Schedule.Options, func(o schedule.Option) bool { return o.Name == name })
			if known && unsaid == "" && !slices.ContainsFunc(m.Options, func(o record.Option) bool { return o.Name == name }) {
				unsaid = name + "=..."
			}
		}
		if unsaid != "" {
			d := c.Derive
			out = append(out, fmt.Sprintf("where %s are not read they are worked out from %s: %s wide, %s, %s of the time; if yours differs: shedbook correct {id} --options %s", c.Name, d.From, d.Width, d.Speed, d.Efficiency, unsaid))
		}
	}
	return out
}

// counterHint is " --counter hours=...", by the main counter of a kind.
func counterHint(s *schedule.Schedule) string {
	for _, c := range s.Counters {
		if c.Main || len(s.Counters) == 1 {
			return " --counter " + c.Name + "=..."
		}
	}
	return ""
}

// scheduleOf finds the schedule of a kind: the book's own, else the built-in; fresh says that the book does not use it yet.
func scheduleOf(st *rules.State, kind string) (s *schedule.Schedule, fresh bool, err error) {
	var known []string
	for _, k := range st.Kinds {
		if k.Schedule.Name == kind {
			return k.Schedule, false, nil
		}
		known = append(known, k.Schedule.Name)
	}
	if s, ok := schedule.Builtin(kind); ok {
		return s, true, nil
	}
	for _, b := range schedule.Builtins() {
		known = append(known, b.Name)
	}
	return nil, false, failed("unknown-kind", "shedbook schedule list", "there is no kind %q%s", kind, didYouMean(kind, known))
}

// machine fills in what is said of a machine; of a correction only what is said changes.
func (l *line) machine(m *record.Machine, sched *schedule.Schedule) (*record.Private, error) {
	s := l.s
	for _, list := range s.options {
		for _, text := range strings.Split(list, ",") {
			name, value, err := nameValue("options", text)
			if err != nil {
				return nil, err
			}
			m.Options = setOption(m.Options, record.Option{Name: strings.ToLower(name), Value: value})
		}
	}
	if _, err := sched.Fit(m.Options, nil, nil); err != nil {
		return nil, failed("bad-option", "shedbook schedule show "+sched.Name, "%s: %v", m.Name, err)
	}
	plain, err := sched.Fit(m.Options, nil, nil)
	if err != nil {
		return nil, failed("bad-option", "shedbook schedule show "+sched.Name, "%s: %v", m.Name, err)
	}
	for _, text := range s.groups {
		name, where, err := nameValue("group", text)
		if err != nil {
			return nil, err
		}
		at, err := plain.ParseWhere("", strings.ToLower(where))
		if err != nil {
			return nil, failed("unknown-position", "", "%s: --group %s: %v", m.Name, name, err)
		}
		name = strings.Join(strings.Fields(strings.ToLower(name)), "-")
		m.Groups = setGroup(m.Groups, record.Group{Name: name, Positions: at})
	}
	fitted, err := sched.Fit(m.Options, m.Groups, nil)
	if err != nil {
		return nil, failed("bad-option", "shedbook schedule show "+sched.Name, "%s: %v", m.Name, err)
	}
	l.m.Fitted = fitted
	base, err := l.work()
	if err != nil {
		return nil, err
	}
	base.Machine = ""
	m.Work = base
	if s.given("serial") {
		if len(s.serials) != 1 {
			return nil, usage("", "--serial: a machine has one")
		}
		if err := checkWords("--serial", s.serials[0], 100); err != nil {
			return nil, err
		}
		m.Serial = s.serials[0]
	}
	if s.given("year") {
		if m.Year = s.year; m.Year < 1850 || m.Year > 2200 {
			return nil, usage("write --year 2014", "--year %d is no year of make", s.year)
		}
	}
	if s.given("title") {
		if err := checkWords("--title", s.title, 200); err != nil {
			return nil, err
		}
		m.Title = strings.TrimSpace(s.title)
	}
	return l.private("")
}

func setOption(list []record.Option, o record.Option) []record.Option {
	for i := range list {
		if list[i].Name == o.Name {
			list[i] = o
			return list
		}
	}
	return append(list, o)
}

func setGroup(list []record.Group, g record.Group) []record.Group {
	for i := range list {
		if list[i].Name == g.Name {
			list[i] = g
			return list
		}
	}
	return append(list, g)
}

func machineMoveCommand() *command {
	s := &said{}
	return &command{
		name: "machine move", section: "machines", brief: "record that a machine went to another yard", writes: true,
		usage:    []string{"machine move MACHINE YARD"},
		examples: []string{"machine move drill creek", "machine move drill creek --done yesterday"},
		flags:    func(fs *pflag.FlagSet) { s.bindWork(fs); s.bindNote(fs) },
		run: func(c *call) error {
			if len(c.args) != 2 {
				return usage("shedbook "+c.cmd.examples[0], "machine move takes a machine and a yard")
			}
			return c.aboutMachine(s, c.args[0], func(l *line) (record.Record, *record.Private, error) { return buildMove(l, c.args[1]) })
		},
	}
}

// aboutMachine records what happened to a machine as a whole.
func (c *call) aboutMachine(s *said, machine string, build func(*line) (record.Record, *record.Private, error)) error {
	return c.record(func(w *writing, sure sureOf) error {
		l, err := w.line(&verb{form: phrase.Form{Partial: true}, build: build}, s, machine, nil)
		if err != nil {
			return err
		}
		return l.write(sure)
	})
}

func buildMove(l *line, yard string) (record.Record, *record.Private, error) {
	r := &record.Move{}
	if old := l.oldRecord(); old != nil {
		*r = *old.(*record.Move)
	}
	var err error
	if r.Work, err = l.work(); err != nil {
		return nil, nil, err
	}
	if yard != "" {
		y, err := oneYard(l.st, yard)
		if err != nil {
			return nil, nil, err
		}
		if l.old == nil && y.ID == l.m.Yard {
			return nil, nil, failed("there-already", "", "%s is at %s already", l.m.Name, y.Name)
		}
		r.Yard = y.ID
	}
	p, err := l.private("")
	return r, p, err
}
