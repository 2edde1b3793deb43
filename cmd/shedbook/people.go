package main

import (
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/ledger"
	"shedbook/rules/record"
)

func peopleAddCommand() *command {
	return &command{
		name: "people add", section: "the book", brief: "add somebody who has no device of their own", writes: true,
		usage:    []string{"people add NAME"},
		examples: []string{`people add "Sam Rook"`, `people add "Tern Valley Repairs"`},
		about:    "Hired hands, dealers and repair shops: their work can then be recorded with --by NAME.",
		run: func(c *call) error {
			if len(c.args) != 1 {
				return usage("put a name of several words in quotes", "people add takes one name")
			}
			name := c.args[0]
			return c.write(func(w *writing) error {
				st, err := w.state(c.today(), "")
				if err != nil {
					return err
				}
				if p := st.Person(name); p != nil {
					return failed("exists", "", "%s is in the book already", p.Name)
				}
				e, err := w.add(&record.Person{}, &record.Private{Name: name}, nil)
				if err != nil {
					return err
				}
				w.then(func() error { return c.recorded(e, "%s, who has no device", name) })
				return nil
			})
		},
	}
}

type personJSON struct {
	ID      string       `json:"id"`
	Name    string       `json:"name"`
	Devices []deviceJSON `json:"devices"`
}

type deviceJSON struct {
	Log         string `json:"log"`
	Label       string `json:"label"`
	Role        string `json:"role"`
	State       string `json:"state"`
	Entries     int    `json:"entries"`
	Fingerprint string `json:"fingerprint"`
}

type peopleJSON struct {
	Format int          `json:"format"`
	People []personJSON `json:"people"`
}

type keyJSON struct {
	Format      int    `json:"format"`
	Log         string `json:"log"`
	Public      string `json:"public"`
	Fingerprint string `json:"fingerprint"`
	File        string `json:"file"`
}

func peopleListCommand() *command {
	var prints bool
	return &command{
		name: "people list", section: "the book", brief: "list people and the devices that sign for them", reads: true,
		usage:    []string{"people list [--fingerprints]"},
		examples: []string{"people list", "people list --fingerprints", "people list --json"},
		about: "Everybody the book names: those with a device that signs, with what it may do and how many entries it has written, and those without one. " +
			"A fingerprint is the short form of a signing key: read it to one another to be sure whose key it is.",
		flags: func(fs *pflag.FlagSet) {
			fs.BoolVar(&prints, "fingerprints", false, "add the fingerprint of each device's key")
		},
		run: func(c *call) error {
			b, err := c.open()
			if err != nil {
				return err
			}
			st, err := b.now()
			if err != nil {
				return err
			}
			var people []personJSON
			at := map[string]int{}
			for _, p := range st.People {
				at[string(p.ID)] = len(people)
				people = append(people, personJSON{ID: string(p.ID), Name: p.Name, Devices: []deviceJSON{}})
			}
			for _, d := range b.judged.Devices() {
				i, ok := at[d.Person.String()]
				if !ok { // asks to take part and is not admitted yet
					i = len(people)
					people = append(people, personJSON{Name: d.Name, Devices: []deviceJSON{}})
				}
				people[i].Devices = append(people[i].Devices, deviceJSON{Log: d.Writer.String(), Label: d.Label, Role: string(d.Role),
					State: deviceState(d), Entries: d.Entries, Fingerprint: ledger.SSHFingerprint(d.Key[:])})
			}
			if c.json {
				if err := c.printJSON(peopleJSON{1, people}); err != nil {
					return err
				}
				return b.soundness()
			}
			t := table.New("person", "device", "role", "entries", "state")
			t.Right(3)
			for _, p := range people {
				if len(p.Devices) == 0 {
					t.Row(p.Name, "", "", "", "no device")
				}
				for _, d := range p.Devices {
					name := p.Name
					switch {
					case name != "":
					case d.Role == string(ledger.RoleRecovery):
						name = "(the recovery key)"
					default:
						name = "(name held back)"
					}
					t.Row(name, d.Label, d.Role, table.Int(d.Entries), d.State)
					if prints {
						t.Under(d.Fingerprint)
					}
				}
			}
			c.boldHeadings(t)
			c.printf("%s", t.Text(c.columns()))
			return b.soundness()
		},
	}
}

func deviceState(d ledger.Device) string {
	switch {
	case d.Pending:
		return "asks to take part"
	case d.Stopped:
		return "stopped"
	case d.Founder:
		return "founder"
	case d.Role == ledger.RoleRecovery:
		return "kept apart"
	}
	return "takes part"
}

func peopleKeyCommand() *command {
	return &command{
		name: "people key", section: "the book", brief: "show this device's signing key", reads: true,
		usage:    []string{"people key"},
		examples: []string{"people key", "people key --json"},
		about:    "Prints the public half, which anyone may have, and where the secret half lies. Keep a copy of the secret half where others cannot read it.",
		run: func(c *call) error {
			b, err := c.open()
			if err != nil {
				return err
			}
			if b.local.Writer == "" {
				return failed("no-key", "shedbook new DIR starts a book with a key", "this device has no signing key for this book: it only reads")
			}
			w, err := ledger.ParseWriter(b.local.Writer)
			if err != nil {
				return err
			}
			ring, err := b.ring()
			if err != nil {
				return err
			}
			d, ok := b.judged.Device(w)
			if !ok {
				return failed("no-key", "", "the book does not know this device's key")
			}
			path := b.local.KeyFile
			if path == "" {
				path = ring.Path(w)
			}
			public := strings.TrimSpace(string(ledger.FormatPublicKey(d.Key[:], d.Label)))
			if c.json {
				return c.printJSON(keyJSON{1, d.Writer.String(), public, ledger.SSHFingerprint(d.Key[:]), path})
			}
			c.printf("public key:   %s\nfingerprint:  %s\nsecret key:   %s\nlog:          %s, %d entries\n", public, ledger.SSHFingerprint(d.Key[:]), path, d.Writer, d.Entries)
			if !isFile(path) {
				c.say("the secret key is not there: entries cannot be signed on this computer\n")
			}
			return b.soundness()
		},
	}
}
