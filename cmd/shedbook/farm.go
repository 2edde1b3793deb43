package main

import (
	"github.com/spf13/pflag"

	"shedbook/ledger"
	"shedbook/rules"
	"shedbook/rules/record"
)

func farmAddCommand() *command {
	return &command{
		name: "farm add", section: "the book", brief: "add a farm", writes: true,
		usage:    []string{"farm add NAME"},
		examples: []string{`farm add "Alder Farm"`, `farm add Creekside`},
		about:    "A farm is one owner's holding. Its machines stand at its yards: add one next, with yard add.",
		run: func(c *call) error {
			if len(c.args) != 1 {
				return usage("put a name of several words in quotes", "farm add takes one name")
			}
			return c.write(func(w *writing) error {
				st, err := w.state(c.today(), "")
				if err != nil {
					return err
				}
				if st.Farm(c.args[0]) != nil {
					return failed("exists", "", "there is a farm %q already", c.args[0])
				}
				e, err := w.add(&record.Farm{Name: c.args[0]}, nil, nil)
				if err != nil {
					return err
				}
				w.then(func() error { return c.recorded(e, "farm %s", c.args[0]) })
				return nil
			})
		},
	}
}

func yardAddCommand() *command {
	var farm string
	return &command{
		name: "yard add", section: "the book", brief: "add a yard to a farm, with its parts shelf", writes: true,
		usage:    []string{"yard add NAME [--farm NAME]"},
		examples: []string{"yard add home", `yard add creek --farm "Alder Farm"`},
		about:    "A yard is a place where machines stand and are worked on, and where the spare parts lie.",
		flags: func(fs *pflag.FlagSet) {
			fs.StringVar(&farm, "farm", "", "whose yard it is: the `farm` (left out: the only farm)")
		},
		run: func(c *call) error {
			if len(c.args) != 1 {
				return usage("put a name of several words in quotes", "yard add takes one name")
			}
			return c.write(func(w *writing) error {
				st, err := w.state(c.today(), "")
				if err != nil {
					return err
				}
				f, err := oneFarm(st, farm)
				if err != nil {
					return err
				}
				if st.Yard(c.args[0]) != nil {
					return failed("exists", "", "there is a yard %q already", c.args[0])
				}
				e, err := w.add(&record.Yard{Name: c.args[0], Farm: f.ID}, nil, nil)
				if err != nil {
					return err
				}
				if err := w.addShelf(record.ID(e.ID().String())); err != nil {
					return err
				}
				w.then(func() error { return c.recorded(e, "yard %s of %s", c.args[0], f.Name) })
				return nil
			})
		},
	}
}

// addShelf gives a yard its parts shelf.
func (w *writing) addShelf(yard record.ID) error {
	key, err := ledger.NewMachineKey(w.c.random)
	if err != nil {
		return err
	}
	text, err := key.MarshalText()
	if err != nil {
		return err
	}
	_, err = w.add(&record.Shelf{Work: record.Work{Done: w.c.minute()}, Key: string(text), Yard: yard}, nil, &key)
	return err
}

// oneFarm finds the farm named, or the only one.
func oneFarm(st *rules.State, name string) (*rules.Farm, error) {
	var names []string
	for _, f := range st.Farms {
		names = append(names, f.Name)
	}
	switch {
	case name != "":
		if f := st.Farm(name); f != nil {
			return f, nil
		}
		return nil, failed("unknown-farm", "", "there is no farm %q%s", name, didYouMean(name, names))
	case len(st.Farms) == 1:
		return st.Farms[0], nil
	case len(st.Farms) == 0:
		return nil, failed("no-farm", `shedbook farm add "Alder Farm"`, "there is no farm yet")
	}
	return nil, usage("add --farm NAME", "which farm? there are %d", len(names))
}

// oneYard finds the yard named, or the only one.
func oneYard(st *rules.State, name string) (*rules.Yard, error) {
	var names []string
	for _, y := range st.Yards {
		names = append(names, y.Name)
	}
	switch {
	case name != "":
		if y := st.Yard(name); y != nil {
			return y, nil
		}
		return nil, failed("unknown-yard", "", "there is no yard %q%s", name, didYouMean(name, names))
	case len(st.Yards) == 1:
		return st.Yards[0], nil
	case len(st.Yards) == 0:
		return nil, failed("no-yard", "shedbook yard add home", "there is no yard yet")
	}
	return nil, usage("add --yard NAME", "which yard? there are %d", len(names))
}
