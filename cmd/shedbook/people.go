package main

import (
	"fmt"
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

	Words   []string `json:"words"`
	Counted int      `json:"counted"` // entries that count
}

type peopleJSON struct {
	Format int          `json:"format"`
	People []personJSON `json:"people"`
}

type keyJSON struct {
	Format      int      `json:"format"`
	Log         string   `json:"log"`
	Public      string   `json:"public"`
	Fingerprint string   `json:"fingerprint"`
	File        string   `json:"file"`
	Words       []string `json:"words"`
	State       string   `json:"state"`
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
			counts := map[ledger.Writer]int{}
			for _, e := range b.log.Entries() {
				if b.judged.Status(e) == ledger.Counts {
					counts[e.Writer()]++
				}
			}
			asks := ""
			for _, d := range b.judged.Devices() {
				i, ok := at[d.Person.String()]
				if !ok || d.Pending { // whoever asks to take part is nobody yet
					i = len(people)
					people = append(people, personJSON{Name: d.Name, Devices: []deviceJSON{}})
				}
				people[i].Devices = append(people[i].Devices, deviceJSON{Log: d.Writer.String(), Label: d.Label, Role: string(d.Role),
					State: deviceState(d), Entries: d.Entries, Fingerprint: ledger.SSHFingerprint(d.Key[:]), Words: ledger.Words(d.Key), Counted: counts[d.Writer]})
				if d.Pending && !d.Stopped && asks == "" {
					asks = strings.Trim(quotedDevice(d), `"`)
				}
			}
			if c.json {
				if err := c.printJSON(peopleJSON{1, people}); err != nil {
					return err
				}
				return b.soundness()
			}
			c.printPeople(people, prints)
			if asks != "" {
				c.say("\nto let a device take part, have its six words read to you, then: shedbook people admit %q\n", asks)
			}
			return b.soundness()
		},
	}
}

// printPeople lists people with their devices: those that ask with the six words to compare, all with them and the long form if prints is set.
func (c *call) printPeople(people []personJSON, prints bool) {
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
			state := d.State
			if d.Counted < d.Entries && d.Role != "" {
				state += fmt.Sprintf(", %d count", d.Counted)
			}
			t.Row(name, d.Label, d.Role, table.Int(d.Entries), state)
			if prints || d.Role == "" && d.State != "turned away" {
				t.Under(strings.Join(d.Words, " "))
			}
			if prints {
				t.Under(d.Fingerprint)
			}
		}
	}
	c.boldHeadings(t)
	c.printf("%s", t.Text(c.columns()))
}

func peopleKeyCommand() *command {
	var fresh bool
	var n newDevice
	return &command{
		name: "people key", section: "the book", brief: "show this device's signing key, or start a new one", writes: true,
		usage:    []string{"people key", "people key --new [--me NAME] [--device CALL]"},
		examples: []string{"people key", "people key --new", "people key --json"},
		about: `Prints the six words by which an owner knows this device, the public half of its key, which anyone may have, and where the secret half lies. Keep a copy of the secret half where others ` +
			`cannot read it.

--new starts a new key and asks to take part with it: after a copied folder, a restored backup, a lost or a stopped key. What the old key wrote stays as it is.`,
		flags: func(fs *pflag.FlagSet) {
			fs.BoolVar(&fresh, "new", false, "start a new key on this device")
			fs.StringVar(&n.name, "me", "", "with --new: your `name` (left out: as before)")
			fs.StringVar(&n.label, "device", "", "with --new: what to `call` this device")
		},
		run: func(c *call) error {
			if len(c.args) != 0 {
				return usage("shedbook people key", "people key takes no arguments")
			}
			if !fresh && (n.name != "" || n.label != "") {
				return usage("add --new, or leave them out", "--me and --device belong to --new")
			}
			b, err := c.open()
			if err != nil {
				return err
			}
			if fresh {
				return b.newKey(n)
			}
			return b.showKey()
		},
	}
}

// newKey starts a new key for this device.
func (b *book) newKey(n newDevice) error {
	c := b.c
	if b.local.Demo {
		return failed("demo", "shedbook new DIR starts a book of your own", "a made-up book's keys are made up too: nobody joins it")
	}
	if c.key != "" {
		n.keyFile = c.path(c.key)
		var err error
		if n.key, err = c.signerFrom(n.keyFile, false); err != nil {
			return err
		}
	}
	if c.dryRun {
		c.printf("would start a new signing key on this device\n")
		return nil
	}
	if _, err := b.startKey(n); err != nil {
		return err
	}
	return b.showKey()
}

// showKey prints this device's key and how it stands.
func (b *book) showKey() error {
	c := b.c
	if b.local.Writer == "" {
		return failed("no-key", newKeyHint, "this device has no signing key for this book: it only reads")
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
		return failed("no-key", newKeyHint, "the book does not know this device's key")
	}
	path := b.local.KeyFile
	if path == "" {
		path = ring.Path(w)
	}
	public := strings.TrimSpace(string(ledger.FormatPublicKey(d.Key[:], d.Label)))
	if c.json {
		if err := c.printJSON(keyJSON{1, d.Writer.String(), public, ledger.SSHFingerprint(d.Key[:]), path, ledger.Words(d.Key), deviceState(d)}); err != nil {
			return err
		}
		return b.soundness()
	}
	c.printf("six words:    %s\nstate:        %s\npublic key:   %s\nfingerprint:  %s\nsecret key:   %s\nlog:          %s, %s\n",
		sixWords(d.Key), deviceState(d), table.Clean(public), ledger.SSHFingerprint(d.Key[:]), path, d.Writer, entryCount(d.Entries))
	if d.Pending && !d.Stopped {
		c.say("\n%s\n", c.askedWords(d))
	}
	if !isFile(path) {
		c.say("the secret key is not there: entries cannot be signed on this computer\n")
	}
	return b.soundness()
}
