package main

import (
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules"
	"shedbook/rules/record"
)

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

type machinesJSON struct {
	Format   int           `json:"format"`
	Machines []machineJSON `json:"machines"`
}

func machineListCommand() *command {
	var farm, yard string
	return &command{
		name: "machine list", section: "machines", brief: "list machines, where they stand and what their counters show", reads: true,
		usage:    []string{"machine list [--farm NAME] [--yard NAME]"},
		examples: []string{"machine list", "machine list --yard creek", "machine list --json"},
		flags: func(fs *pflag.FlagSet) {
			fs.StringVar(&farm, "farm", "", "only this `farm`'s machines")
			fs.StringVar(&yard, "yard", "", "only machines at this `yard`")
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
				err = c.printJSON(machinesJSON{1, strs(list)})
			} else {
				c.printMachines(list)
			}
			if err != nil {
				return err
			}
			return soundAll(books)
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
	t := table.New("machine", "kind", "yard", "farm", "state", "counter", "shows", "read")
	t.Keep(4, 5, 7)
	t.Right(6)
	for _, m := range list {
		row := []string{m.Name, m.Kind, m.Yard, m.Farm, strings.Replace(m.State, "held", "", 1)}
		if c.columns() < 80 { // no room: show MACHINE has them
			row[1], row[3] = "", ""
		}
		begun := t.Len()
		for _, n := range m.Counters {
			switch {
			case n.Derived:
				t.Row(append(row, n.Name, c.said(n.Estimate.q, true), "worked out")...)
			case n.Known:
				t.Row(append(row, n.Name, n.Reading.q.Show(c.system), n.ReadOn)...)
			default:
				continue
			}
			row = make([]string, len(row)) // one machine's counters stand below one another
		}
		if t.Len() == begun {
			t.Row(row...)
		}
	}
	c.boldHeadings(t)
	c.printf("%s", t.Text(c.columns()))
}
