package main

import (
	"fmt"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/phrase"
	"shedbook/cmd/shedbook/internal/table"
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
			"machine add drill disc-drill --options openers=48 --group squeaky=3,17",
		},
		about: "The kind is a schedule: shedbook schedule list shows those there are. Its built-in text is put into use with the machine where the book has none of that name.",
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
	l.common(m)
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
	w.then(reply.print)
	if len(m.Counters) == 0 {
		reply.notes = append(reply.notes, fmt.Sprintf("an old machine needs a starting line: shedbook assume %s good --counter ...", name))
	}
	return nil
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
			return c.record(func(w *writing, sure sureOf) error {
				l, err := w.line(&verb{form: phrase.Form{Partial: true}, build: func(l *line) (record.Record, *record.Private, error) { return buildMove(l, c.args[1]) }}, s, c.args[0], nil)
				if err != nil {
					return err
				}
				return l.write(sure)
			})
		},
	}
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

type counterJSON struct {
	Name      string     `json:"name"`
	Known     bool       `json:"known"`
	Reading   amountJSON `json:"reading,omitzero"`
	ReadOn    string     `json:"read_on,omitempty"`
	Life      amountJSON `json:"life,omitzero"`
	Estimate  amountJSON `json:"estimate,omitzero"`
	Estimated bool       `json:"estimated,omitempty"`
	Derived   bool       `json:"derived,omitempty"`
	Trip      bool       `json:"trip,omitempty"`
}

type optionJSON struct {
	Name  string `json:"name"`
	Value string `json:"value"`
}

type machineJSON struct {
	ID       record.ID     `json:"id"`
	Name     string        `json:"name"`
	Kind     string        `json:"kind"`
	Farm     string        `json:"farm"`
	Yard     string        `json:"yard"`
	Title    string        `json:"title,omitempty"`
	Serial   string        `json:"serial,omitempty"`
	Year     int           `json:"year,omitempty"`
	Added    record.Done   `json:"added"`
	Sold     record.Done   `json:"sold,omitempty"`
	State    string        `json:"state"`
	Options  []optionJSON  `json:"options"`
	Counters []counterJSON `json:"counters"`
}

func machineListCommand() *command {
	var farm, yard string
	return &command{
		name: "machine list", section: "machines", brief: "list machines, where they stand and what their counters show", reads: true,
		usage:    []string{"machine list [--farm NAME] [--yard NAME]"},
		examples: []string{"machine list", "machine list --yard creek", "machine list --json"},
		flags: func(fs *pflag.FlagSet) {
			fs.StringVar(&farm, "farm", "", "only this farm's machines")
			fs.StringVar(&yard, "yard", "", "only machines at this yard")
		},
		run: func(c *call) error {
			books, err := c.openAll()
			if err != nil {
				return err
			}
			list, err := c.machines(books, farm, yard)
			if err != nil {
				return err
			}
			if c.json {
				err = c.printJSON(struct {
					Format   int           `json:"format"`
					Machines []machineJSON `json:"machines"`
				}{1, strs(list)})
			} else {
				c.printMachines(list)
			}
			if err != nil {
				return err
			}
			for _, b := range books {
				if err := b.soundness(); err != nil {
					return err
				}
			}
			return nil
		},
	}
}

// machines gathers those of all books; a farm or yard that none has is an error.
func (c *call) machines(books []*book, farm, yard string) ([]machineJSON, error) {
	var list []machineJSON
	var missing error
	found := false
	for _, b := range books {
		st, err := b.now()
		if err != nil {
			return nil, err
		}
		var f rules.Filter
		if err := narrow(st, farm, yard, "", &f); err != nil {
			missing = err
			continue
		}
		found = true
		for _, m := range st.Machines {
			if f.Farm != "" && m.Farm != f.Farm || f.Yard != "" && m.Yard != f.Yard {
				continue
			}
			list = append(list, c.machineJSON(st, m))
		}
	}
	if !found {
		return nil, missing
	}
	return list, nil
}

func (c *call) machineJSON(st *rules.State, m *rules.Machine) machineJSON {
	j := machineJSON{ID: m.ID, Name: m.Name, Kind: m.Kind, Farm: farmName(st, m.Farm), Yard: yardName(st, m.Yard), Title: m.Title, Serial: m.Serial,
		Year: m.Year, Added: m.Added, Sold: m.Sold, State: holding(m), Options: []optionJSON{}, Counters: []counterJSON{}}
	if m.Fitted == nil {
		return j
	}
	for _, o := range m.Fitted.OptionValues {
		j.Options = append(j.Options, optionJSON{o.Name, o.Value})
	}
	for _, def := range m.Fitted.Counters {
		n := m.Counters[def.Name]
		if n == nil || !n.Known && !n.Derived {
			j.Counters = append(j.Counters, counterJSON{Name: def.Name, Trip: def.Trip})
			continue
		}
		k := counterJSON{Name: n.Name, Known: n.Known, Estimate: c.amount(n.Estimate), Life: c.amount(n.Life), Estimated: n.Estimated, Derived: n.Derived, Trip: n.Trip}
		if !n.Derived {
			k.Reading, k.ReadOn = c.amount(n.Reading), n.ReadOn
		}
		j.Counters = append(j.Counters, k)
	}
	return j
}

// holding is one word for how it stands.
func holding(m *rules.Machine) string {
	switch {
	case m.Sold != "":
		return "sold"
	case m.Lent != "":
		return m.Lent
	case m.Stored:
		return "stored"
	case m.Unfit:
		return "unfit"
	}
	return "held"
}

func (c *call) printMachines(list []machineJSON) {
	if len(list) == 0 {
		c.printf("no machine\n")
		c.say("  next: shedbook machine add drill disc-drill\n")
		return
	}
	t := table.New("machine", "kind", "yard", "farm", "counters", "")
	for _, m := range list {
		var counters []string
		for _, n := range m.Counters {
			s := n.Name + " " + n.Reading.q.Show(c.system)
			switch {
			case n.Derived:
				s = n.Name + " about " + n.Estimate.q.Show(c.system) + " (worked out)"
			case !n.Known:
				continue
			case n.ReadOn != "":
				s += " (" + n.ReadOn + ")"
			}
			counters = append(counters, s)
		}
		state := m.State
		if state == "held" {
			state = ""
		}
		t.Row(m.Name, m.Kind, m.Yard, m.Farm, strings.Join(counters, ", "), state)
	}
	c.printf("%s", t.Text(c.columns()))
}
