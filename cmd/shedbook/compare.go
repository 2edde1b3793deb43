package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/paper"
	"shedbook/rules"
)

type comparing struct {
	setup         string
	machines, why bool
	out           string // a page; "" none
}

// sideOf is one side with what it is called.
type sideOf struct {
	rules.Side
	label string // as typed
	words string // in full: "spring seeding 2026, 2026-04-02 to 2026-05-09"
	setup bool   // a set-up of the schedule: settings and nothing else
}

func compareCommand() *command {
	var a comparing
	return &command{
		name: "compare", section: "read", brief: "say what changed between two seasons, days or machines", reads: true,
		usage: []string{"compare MACHINE A B [--out FILE.html]", "compare MACHINE [A] --setup NAME", "compare MACHINE MACHINE [A] --machines"},
		examples: []string{`compare drill "spring seeding 2025" "spring seeding 2026"`, "compare drill 2026-04-15 2026-05-20", "compare drill --setup spring", "compare drill creek-drill --machines",
			"compare drill 2026-04-15 2026-05-20 --out spring.html"},
		about: `A and B are seasons or days. Of a season it takes what was done during it, the parts of its end, and of each setting the value that stood for most of its use (--why: each value, since when and for how much); of a day, what stood and had been done by then. 2026-04-15@2026-05-01 is what was known on 1 May about ` +
			`15 April. Lists what differs and nothing else: what the work came to (stand, depth dug up), settings, parts, readings, how fast parts wore, jobs done, jobs overdue at the end, faults, the time they cost by cause, counters; ` +
			`when and by whom.

A rate of wear is the change of all parts by their own use, from the last reading before the season to the first after it: --why has the sum. The repair after the season says the cause.

--out writes a page to look at and to print, with each setting and reading drawn across the places of the machine and the entries it rests on. It has the arithmetic too; - is the standard output.

--setup sets the machine beside a set-up of its schedule; --machines, two of one kind beside each other.`,
		flags: func(fs *pflag.FlagSet) {
			fs.StringVar(&a.setup, "setup", "", "beside this set-up of the schedule, by its `name`")
			fs.BoolVar(&a.machines, "machines", false, "two machines of one kind")
			fs.StringVar(&a.out, "out", "", "write a page to this `file`, over what is there")
			fs.BoolVar(&a.why, "why", false, "the arithmetic and the entries of each line")
		},
		run: func(c *call) error { return c.compareSides(a) },
	}
}

func (c *call) compareSides(a comparing) error {
	b, err := c.open()
	if err != nil {
		return err
	}
	var sides [2]sideOf
	var changes []rules.Change
	switch n := len(c.args); {
	case a.setup != "" && !a.machines && (n == 1 || n == 2):
		if sides[0], err = b.sideAt(c.args[0], append(c.args[1:], "today")[0]); err == nil {
			changes, sides[1], err = besideSetup(sides[0], a.setup)
		}
	case a.machines && a.setup == "" && (n == 2 || n == 3):
		at := append(c.args[2:], "today")[0]
		for i := range sides {
			if sides[i], err = b.sideAt(c.args[i], at); err != nil {
				return err
			}
			sides[i].label, sides[i].words = c.args[i], c.args[i]+", "+sides[i].words
		}
		if x, y := sides[0].Machine, sides[1].Machine; x.Kind != y.Kind || x.ID == y.ID {
			return failed("another-kind", "shedbook machine list", "%s is of the kind %s and %s of %s: compare two machines of one kind", x.Name, x.Kind, y.Name, y.Kind)
		}
		changes = rules.Compare(sides[0].Side, sides[1].Side)
	case a.setup == "" && !a.machines && n == 3:
		for i := range sides {
			if sides[i], err = b.sideAt(c.args[0], c.args[i+1]); err != nil {
				return err
			}
		}
		changes = rules.Compare(sides[0].Side, sides[1].Side)
	default:
		return usage(`shedbook compare drill "spring seeding 2025" "spring seeding 2026"`, "compare takes a machine and two seasons or days; or --setup NAME; or two machines and --machines")
	}
	if err != nil {
		return err
	}
	switch {
	case a.out != "":
		var p *paper.Page
		if p, err = b.comparePage(sides, changes); err == nil {
			err = c.writePage(p, a.out)
		}
	case c.json:
		err = c.printJSON(c.compareJSON(sides, changes))
	default:
		err = c.paged(func() error { c.printChanges(sides, changes, a.why); return nil })
	}
	if err != nil {
		return err
	}
	return b.soundness()
}

// sideAt reads a season or a day of a machine.
func (b *book) sideAt(machine, text string) (sideOf, error) {
	c := b.c
	now, err := b.now()
	if err != nil {
		return sideOf{}, err
	}
	s := sideOf{label: text}
	on, known := "", c.known
	if season := now.Season(text); season != nil {
		s.From, on = season.Opened, season.Closed
		if s.From == "" {
			return s, failed("not-open", "shedbook season open "+text, "the season %q has not begun", season.Name)
		}
		if on == "" {
			on = now.On
		}
		s.label, s.words = season.Name, fmt.Sprintf("%s, %s to %s", season.Name, s.From, on)
		if season.Closed == "" {
			s.words = fmt.Sprintf("%s, since %s", season.Name, s.From)
		}
	} else {
		day, as, told := strings.Cut(text, "@")
		if on, err = c.parseDay(day); err == nil && told {
			known, err = c.parseDay(as)
		}
		if err != nil {
			var names []string
			for _, x := range now.Seasons {
				names = append(names, x.Name)
			}
			return s, failed("unknown-season", "write a season's name or a day, 2026-04-15", "%q is no day and no season%s", text, didYouMean(text, names))
		}
		s.words = "up to " + on
		if told {
			s.words += ", as known on " + known
		}
		s.label = on
		if text == "today" {
			s.label = "today"
		}
	}
	s.To = on
	if s.State, err = b.state(on, known); err != nil {
		return s, err
	}
	if s.Later, err = b.state(now.On, known); err != nil {
		return s, err
	}
	m, err := findMachine(now, strings.ToLower(machine))
	if err != nil {
		return s, err
	}
	if s.Machine = s.State.MachineByID(m.ID); s.Machine == nil || s.Machine.Added.Date() > on {
		return s, failed("not-yet", "write a day from "+m.Added.Date()+" on", "%s was not in the book on %s", m.Name, on)
	}
	return s, nil
}

// besideSetup lists the settings that differ from a set-up.
func besideSetup(s sideOf, name string) ([]rules.Change, sideOf, error) {
	other := sideOf{label: name, words: "set-up " + name, setup: true}
	f := s.Machine.Fitted
	if f == nil {
		return nil, other, failed("no-schedule", "shedbook schedule use FILE", "the schedule %q of %s is not known", s.Machine.Kind, s.Machine.Name)
	}
	setup, ok := f.Setup(strings.ToLower(name))
	if !ok {
		var names []string
		for _, x := range f.Setups {
			names = append(names, x.Name)
		}
		return nil, other, failed("unknown-setup", "shedbook schedule show "+s.Machine.Name+" setup", "%s has no set-up %q%s", s.Machine.Name, name, didYouMean(name, names))
	}
	wanted, err := f.Changes(setup)
	if err != nil {
		return nil, other, failed("bad-setup", "shedbook schedule show "+s.Machine.Name+" setup", "%v", err)
	}
	target := *s.Machine
	target.Settings = map[string]map[string]*rules.Standing{}
	have := *s.Machine
	have.Settings = map[string]map[string]*rules.Standing{}
	for _, w := range wanted {
		if target.Settings[w.Setting] == nil {
			target.Settings[w.Setting], have.Settings[w.Setting] = map[string]*rules.Standing{}, map[string]*rules.Standing{}
		}
		places := []string{""}
		if !w.Positions.IsZero() {
			places = nil
			for _, p := range w.Positions.All() {
				places = append(places, p.String())
			}
		}
		for _, p := range places {
			target.Settings[w.Setting][p] = &rules.Standing{Value: w.To}
			if st := s.Machine.Settings[w.Setting][p]; st != nil {
				have.Settings[w.Setting][p] = st
			}
		}
	}
	other.Side = rules.Side{State: s.State, Machine: &target, To: s.To}
	from := s.Side
	from.Machine = &have
	changes := rules.Compare(from, other.Side)
	return slices.DeleteFunc(changes, func(c rules.Change) bool { return c.What != "setting" }), other, nil
}
