package main

import (
	"fmt"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules"
	"shedbook/rules/record"
)

func showCommand() *command {
	var why bool
	return &command{
		name: "show", section: "read", brief: "show what is so: a machine, one opener, or the book", reads: true,
		usage:    []string{"show", "show MACHINE [POSITIONS] [WHAT...] [--why]"},
		examples: []string{"show", "show drill", "show drill opener/12", "show drill left-wing depth --why", "show drill --on 2026-05-01"},
		about: `Settings, parts with their use, the latest readings and when each job was last done, each by the word one types for it; places that stand alike share a line. One position, ` +
			`such as opener/12, is shown with each thing by itself and the entries it rests on.

--known shows what was believed then: entries written later are left out.`,
		flags: func(fs *pflag.FlagSet) {
			fs.BoolVar(&why, "why", false, "add what each thing is called, and the entries and the rule that every line rests on")
		},
		run: func(c *call) error {
			if len(c.args) == 0 {
				return c.showBooks()
			}
			b, st, err := c.bookOf(c.args[0])
			if err != nil {
				return err
			}
			l, err := lookAt(st, c.args)
			if err != nil {
				return err
			}
			v := c.viewMachine(st, l)
			if c.json {
				if err := c.printJSON(v); err != nil {
					return err
				}
				return b.soundness()
			}
			one := l.places.Len() == 1
			t := &machineText{call: c, v: v, l: l, fine: one, why: why || one, titles: why}
			if err := c.paged(func() error { t.print(); return nil }); err != nil {
				return err
			}
			return b.soundness()
		},
	}
}

// bookOf finds the first of the books named that has a machine, with its state.
func (c *call) bookOf(machine string) (*book, *rules.State, error) {
	books, err := c.openAll()
	if err != nil {
		return nil, nil, err
	}
	var missing error
	for _, b := range books {
		st, err := b.stateFor(machine, rules.Options{On: b.on(), Known: b.c.known})
		if err != nil {
			return nil, nil, err
		}
		_, err = findMachine(st, strings.ToLower(machine))
		if err == nil {
			return b, st, nil
		}
		if entryLike(machine) { // an entry's id, which only the whole history knows
			if st, e := b.now(); e == nil {
				_, err = findMachine(st, machine)
			}
		}
		if missing == nil {
			missing = err
		}
	}
	return nil, nil, missing
}

type booksJSON struct {
	Format int        `json:"format"`
	On     string     `json:"on"`
	Books  []bookJSON `json:"books"`
}

type bookJSON struct {
	Title    string           `json:"title"`
	Book     string           `json:"book"` // the founding entry
	Farms    []farmJSON       `json:"farms"`
	Seasons  []seasonJSON     `json:"seasons"`
	Machines []machineRowJSON `json:"machines"`
	Problems []problemJSON    `json:"problems"`
}

type farmJSON struct {
	Name  string   `json:"name"`
	Yards []string `json:"yards"`
}

type seasonJSON struct {
	Name   string `json:"name"`
	Work   string `json:"work"`
	From   string `json:"from,omitempty"`
	To     string `json:"to,omitempty"`
	Opened string `json:"opened,omitempty"`
	Closed string `json:"closed,omitempty"`
}

// machineRowJSON is one machine in a few words.
type machineRowJSON struct {
	Name    string   `json:"name"`
	Kind    string   `json:"kind"`
	Farm    string   `json:"farm"`
	Yard    string   `json:"yard"`
	Counter *useJSON `json:"counter,omitempty"` // the main one, as read
	ReadOn  string   `json:"read_on,omitempty"`
	State   string   `json:"state"`       // "", stored, lent, hired-in, unfit, sold
	Wrong   int      `json:"open_faults"` //
	Overdue int      `json:"overdue"`     // lines of due
}

// showBooks prints the whole book: farms, yards, seasons, machines.
func (c *call) showBooks() error {
	books, err := c.openAll()
	if err != nil {
		return err
	}
	var out []bookJSON
	for _, b := range books {
		st, err := b.now()
		if err != nil {
			return err
		}
		out = append(out, c.viewBook(b, st))
	}
	on := c.on
	if on == "" {
		on = c.today()
	}
	if c.json {
		err = c.printJSON(booksJSON{1, on, out})
	} else {
		err = c.paged(func() error {
			for i := range out {
				if i > 0 {
					c.printf("\n")
				}
				c.printBook(&out[i], on)
			}
			return nil
		})
	}
	if err != nil {
		return err
	}
	return soundAll(books)
}

func (c *call) viewBook(b *book, st *rules.State) bookJSON {
	out := bookJSON{Title: b.log.Title(), Book: b.log.ID().String(), Farms: []farmJSON{}, Seasons: []seasonJSON{}, Machines: []machineRowJSON{}, Problems: problemsOf(st, st.Problems, func(*rules.Machine) bool { return true })}
	for _, f := range st.Farms {
		x := farmJSON{Name: f.Name, Yards: []string{}}
		for _, y := range st.Yards {
			if y.Farm == f.ID {
				x.Yards = append(x.Yards, y.Name)
			}
		}
		out.Farms = append(out.Farms, x)
	}
	for _, s := range st.Seasons {
		out.Seasons = append(out.Seasons, seasonJSON{s.Name, s.Work, s.PlanFrom, s.PlanTo, s.Opened, s.Closed})
	}
	overdue := overdueLines(st)
	for _, m := range st.Machines {
		x := machineRowJSON{Name: m.Name, Kind: m.Kind, Farm: farmName(st, m.Farm), Yard: yardName(st, m.Yard), State: standingOf(m), Overdue: overdue[m.ID]}
		for _, f := range m.Faults {
			if f.Closed == "" {
				x.Wrong++
			}
		}
		if m.Fitted != nil {
			if main := m.Fitted.MainCounter(); main != nil && m.Counters[main.Name] != nil && m.Counters[main.Name].Known {
				u := c.use(main.Name, m.Counters[main.Name].Reading)
				x.Counter, x.ReadOn = &u, m.Counters[main.Name].ReadOn
			}
		}
		out.Machines = append(out.Machines, x)
	}
	return out
}

func standingOf(m *rules.Machine) string {
	switch {
	case m.Sold != "":
		return "sold"
	case m.Unfit:
		return "unfit"
	case m.Lent != "":
		return m.Lent
	case m.Stored:
		return "stored"
	}
	return ""
}

func (c *call) printBook(b *bookJSON, on string) {
	for title := range strings.Lines(table.Wrap(table.Clean(fmt.Sprintf("%s on %s", b.Title, weekday(record.Done(on)))), c.columns(), "  ")) {
		c.printf("%s\n", c.paint(bold, strings.TrimSuffix(title, "\n")))
	}
	for _, f := range b.Farms {
		s := "farm " + f.Name
		switch len(f.Yards) {
		case 0:
			s += ", no yard yet"
		case 1:
			s += ", yard " + f.Yards[0]
		default:
			s += ", yards"
			for i, y := range f.Yards {
				if i > 0 {
					s += ","
				}
				s += " " + y
			}
		}
		c.printf("%s\n", table.Wrap(table.Clean(s), c.columns(), "  "))
	}
	for _, s := range b.Seasons {
		if s.Opened != "" && s.Closed == "" {
			c.printf("%s\n", table.Wrap(table.Clean("season "+s.Name+", open since "+weekday(record.Done(s.Opened))), c.columns(), "  "))
		}
	}
	if len(b.Machines) == 0 {
		c.printf("no machine yet\n")
		c.say("next: shedbook machine add drill disc-drill\n")
	} else {
		t := table.New("machine", "kind", "yard", "counter", "state", "open faults", "overdue")
		t.Right(5, 6)
		yards := map[string]int{}
		for _, f := range b.Farms {
			for _, y := range f.Yards {
				yards[y]++
			}
		}
		for _, m := range b.Machines {
			yard := m.Yard
			if yards[yard] > 1 { // of two farms
				yard += " (" + m.Farm + ")"
			}
			kind := m.Kind
			if c.columns() < 70 { // no room; machine list has it
				kind = ""
			}
			counter := ""
			if m.Counter != nil {
				counter = (&machineText{call: c}).useText([]useJSON{*m.Counter})
			}
			state := map[string]string{"unfit": "not fit to run", "stored": "in storage", "lent": "lent out", "hired-in": "hired in", "sold": "sold"}[m.State]
			t.Row(m.Name, kind, yard, counter, state, table.Int(m.Wrong), table.Int(m.Overdue))
		}
		t.Mark(func(row, col int, text string) string {
			if row < 0 {
				return c.paint(bold, text)
			}
			if col == 6 && text != "0" {
				return c.paint(red, text)
			}
			return text
		})
		c.printf("\n%s", t.Text(c.columns()))
	}
	c.printProblems(b.Problems)
}
