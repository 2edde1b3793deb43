package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules"
	"shedbook/rules/record"
)

type comparing struct {
	setup         string
	machines, why bool
}

// sideOf is one side with what it is called.
type sideOf struct {
	rules.Side
	label string // as typed
	words string // in full: "spring seeding 2026, 2026-04-02 to 2026-05-09"
}

func compareCommand() *command {
	var a comparing
	return &command{
		name: "compare", section: "read", brief: "say what changed between two seasons, days or machines", reads: true,
		usage:    []string{"compare MACHINE A B", "compare MACHINE [A] --setup NAME", "compare MACHINE MACHINE [A] --machines"},
		examples: []string{`compare drill "spring seeding 2025" "spring seeding 2026"`, "compare drill 2026-04-15 2026-05-20", "compare drill --setup spring", "compare drill creek-drill --machines"},
		about: `A and B are seasons or days. Of a season it takes what stood at its end and what was done during it; of a day, what stood and had been done by then. 2026-04-15@2026-05-01 is what was known on 1 May about ` +
			`15 April. Lists what differs and nothing else: settings, parts, readings, jobs, faults, counters; when and by whom.

--setup sets the machine beside a set-up of its schedule; --machines, two of one kind beside each other.`,
		flags: func(fs *pflag.FlagSet) {
			fs.StringVar(&a.setup, "setup", "", "beside this set-up of the schedule, by its `name`")
			fs.BoolVar(&a.machines, "machines", false, "two machines of one kind")
			fs.BoolVar(&a.why, "why", false, "list the entries that each line rests on")
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
	if c.json {
		err = c.printJSON(c.compareJSON(sides, changes))
	} else {
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
	other := sideOf{label: name, words: "set-up " + name}
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

// changeSections are what a change can be of, in the order of the list.
var changeSections = []struct{ what, title string }{
	{"setting", "settings"}, {"part", "parts"}, {"reading", "readings, the last of each place"}, {"job", "jobs, how often"}, {"fault", "faults found"}, {"counter", "counters, how much they moved"},
}

func (c *call) printChanges(sides [2]sideOf, changes []rules.Change, why bool) {
	m := sides[1].Machine
	c.printf("%s\n", table.Wrap(table.Clean(fmt.Sprintf("%s: %s, beside %s", sides[0].Machine.Name, sides[0].words, sides[1].words)), c.columns(), "  "))
	if len(changes) == 0 {
		c.printf("nothing differs\n")
		return
	}
	for _, section := range changeSections {
		t := table.New("", "where", sides[0].label, sides[1].label, "when, who")
		for _, x := range changes {
			if x.What != section.what {
				continue
			}
			last := x.To
			if last.Since == "" {
				last = x.From
			}
			when := ""
			if last.Since != "" {
				when = strings.TrimSpace(last.Since.Date() + " " + personName(sides[1].State, last.Person))
			}
			t.Row(x.Name, c.whereOf(m, x), c.foundText(x, x.From), c.foundText(x, x.To), when)
			if why {
				t.Under(entriesText(x))
			}
		}
		if t.Len() > 0 {
			c.printf("\n%s\n%s", c.paint(bold, section.title), t.Text(c.columns()))
		}
	}
}

func entriesText(x rules.Change) string {
	var ids []string
	for _, id := range slices.Concat(x.From.Entries, x.To.Entries) {
		if s := id.Short(); !slices.Contains(ids, s) {
			ids = append(ids, s)
		}
	}
	if len(ids) == 0 {
		return "nothing was ever recorded of it on either side"
	}
	return "entries " + strings.Join(ids, " ")
}

func (c *call) whereOf(m *rules.Machine, x rules.Change) string {
	at := ""
	switch {
	case x.Positions.IsZero():
	case m.Fitted != nil:
		at = m.Fitted.Describe(x.Positions, "")
	default:
		at = x.Positions.String()
	}
	return strings.TrimSpace(at + " " + x.Hand)
}

// foundText is one side of a line.
func (c *call) foundText(x rules.Change, f rules.Found) string {
	switch x.What {
	case "setting":
		if f.Value.IsZero() {
			return "not set"
		}
		return c.valueText(f.Value)
	case "part":
		switch {
		case f.Count == 0:
			return "none known"
		case f.Since == "":
			return "original"
		case f.First.Date() != f.Since.Date():
			return "of " + f.First.Date() + " to " + f.Since.Date()
		}
		return "of " + f.Since.Date()
	case "reading":
		switch {
		case f.Count == 0:
			return "not read"
		case f.Count == 1 || !f.Value.IsZero():
			return fmt.Sprintf("%s (%d read)", c.valueText(f.Low), f.Count)
		}
		return fmt.Sprintf("%s to %s, half at most %s (%d read)", c.valueText(f.Low), c.valueText(f.High), c.valueText(f.Mid), f.Count)
	case "job":
		return fmt.Sprint(f.Count)
	case "fault":
		if f.Use.IsZero() {
			return fmt.Sprint(f.Count)
		}
		return fmt.Sprintf("%d, %s lost", f.Count, c.shown(f.Use))
	}
	if f.Use.IsZero() {
		return "not known"
	}
	return c.shown(f.Use).String()
}

func (c *call) valueText(v record.Value) string {
	if q, ok := v.Quantity(); ok {
		return c.shown(q).String()
	}
	return v.String()
}

type comparedJSON struct {
	Format  int          `json:"format"`
	From    sideJSON     `json:"from"`
	To      sideJSON     `json:"to"`
	Changes []changeJSON `json:"changes"`
}

type sideJSON struct {
	Machine string `json:"machine"`
	Name    string `json:"name"` // of the season, the set-up, the day
	Since   string `json:"since,omitempty"`
	Until   string `json:"until"`
}

type changeJSON struct {
	What      string    `json:"what"`
	Name      string    `json:"name"`
	Positions []string  `json:"positions"`
	Hand      string    `json:"hand,omitempty"`
	From      foundJSON `json:"from"`
	To        foundJSON `json:"to"`
}

type foundJSON struct {
	Value   valueJSON   `json:"value,omitzero"`
	Count   int         `json:"count,omitempty"`
	Low     valueJSON   `json:"low,omitzero"`
	Middle  valueJSON   `json:"middle,omitzero"`
	High    valueJSON   `json:"high,omitzero"`
	Part    string      `json:"part,omitempty"`
	Use     amountJSON  `json:"use,omitzero"`
	Since   record.Done `json:"since,omitempty"`
	By      string      `json:"by,omitempty"`
	Entries []record.ID `json:"entries"`
}

func (c *call) compareJSON(sides [2]sideOf, changes []rules.Change) comparedJSON {
	side := func(s sideOf) sideJSON {
		return sideJSON{Machine: s.Machine.Name, Name: s.label, Since: s.From, Until: s.To}
	}
	out := comparedJSON{Format: 1, From: side(sides[0]), To: side(sides[1]), Changes: []changeJSON{}}
	for _, x := range changes {
		found := func(s sideOf, f rules.Found) foundJSON {
			return foundJSON{Value: c.value(f.Value), Count: f.Count, Low: c.value(f.Low), Middle: c.value(f.Mid), High: c.value(f.High), Part: f.Part, Use: c.amount(f.Use), Since: f.Since,
				By: personName(s.State, f.Person), Entries: strs(f.Entries)}
		}
		out.Changes = append(out.Changes, changeJSON{What: x.What, Name: x.Name, Positions: strs(x.Positions.Strings()), Hand: x.Hand, From: found(sides[0], x.From), To: found(sides[1], x.To)})
	}
	return out
}
