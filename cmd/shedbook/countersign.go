package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/ledger"
)

func countersignCommand() *command {
	var armor, who string
	return &command{
		name: "countersign", section: "sharing", brief: "have somebody from outside sign a stamp", writes: true,
		usage:    []string{"countersign [STAMP]", "countersign [STAMP] --armor FILE --who NAME"},
		examples: []string{"countersign > stamp.txt", `countersign 15ebae70 --armor stamp.txt.sig --who "Tern Valley"`},
		about: `A neighbour, dealer or accountant signs the text of a stamp with any SSH key of theirs and stock ssh-keygen. They need no book and see nothing of it. Without --armor, prints the text to ` +
			`sign and says how; with it, checks the signature and keeps it with the stamp. STAMP is the first digits of its id or a file with its text; left out, the last one.

A countersignature says that this stamp existed when it was signed, so nothing up to it can be changed later. It says nothing of whether the entries are true.`,
		flags: func(fs *pflag.FlagSet) {
			fs.StringVar(&armor, "armor", "", "the signature `file` that ssh-keygen made; - reads it from the standard input")
			fs.StringVar(&who, "who", "", "the `name` of whoever signed")
		},
		run: func(c *call) error {
			if len(c.args) > 1 {
				return usage("shedbook countersign 15ebae70", "countersign takes one stamp")
			}
			stamp := strings.Join(c.args, "")
			if armor == "" {
				if who != "" {
					return usage("add --armor stamp.txt.sig", "--who names who signed: where is the signature?")
				}
				return c.askCountersign(stamp)
			}
			if strings.TrimSpace(who) == "" {
				return usage(`add --who "Tern Valley Repairs"`, "who signed?")
			}
			text, err := c.readArmor(armor)
			if err != nil {
				return err
			}
			return c.write(func(w *writing) error { return w.countersign(stamp, text, who) })
		},
	}
}

// askCountersign prints what to sign, and how.
func (c *call) askCountersign(stamp string) error {
	b, err := c.open()
	if err != nil {
		return err
	}
	e, err := b.findStamp(stamp)
	if err != nil {
		return err
	}
	if err := b.printStamp(e, false); err != nil {
		return err
	}
	c.say("\n%s\n", table.Paragraphs(fmt.Sprintf("Whoever signs keeps these lines as they are in a file, stamp.txt, and signs it with any SSH key:\n\n"+
		"    ssh-keygen -Y sign -f ~/.ssh/id_ed25519 -n %s stamp.txt\n\nThat makes stamp.txt.sig. Store it here:\n\n    shedbook countersign %s --armor stamp.txt.sig --who NAME",
		ledger.StampNamespace, e.ID().Short()), min(c.columns(), 80)))
	return b.soundness()
}

// readArmor reads a signature file.
func (c *call) readArmor(name string) (string, error) {
	var text []byte
	var err error
	if name == "-" {
		text, err = io.ReadAll(io.LimitReader(c.stdin, ledger.MaxLine))
	} else {
		text, err = os.ReadFile(c.path(name))
	}
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "", failed("no-signature", "ssh-keygen writes it beside the file that was signed, with .sig behind the name", "there is no file %s", name)
	case err != nil:
		return "", fmt.Errorf("read the signature: %w", err)
	case len(text) > ledger.MaxLine/2:
		return "", failed("bad-signature", "name the file that ends in .sig", "%s is no signature: %d bytes", name, len(text))
	}
	return strings.ReplaceAll(strings.TrimSpace(string(text)), "\r\n", "\n") + "\n", nil
}

// countersign checks a signature over a stamp and keeps it.
func (w *writing) countersign(stamp, armor, who string) error {
	e, err := w.findStamp(stamp)
	if err != nil {
		return err
	}
	by, err := ledger.CheckCountersign(e, armor)
	if err != nil {
		return failed("bad-signature", fmt.Sprintf("shedbook countersign %s prints exactly what to sign, and how", e.ID().Short()), "nothing was recorded: %v", err)
	}
	for _, x := range w.stampedOf(e).Countersigns {
		if x.By.Fingerprint == by.Fingerprint {
			return failed("exists", "", "that key has signed this stamp already: %s [%s]", table.Clean(ledger.DecodeControlPrivate(x.Entry).Name), x.Entry.ID().Short())
		}
	}
	signed, err := w.act(ledger.Draft{Kind: ledger.KindCountersign, Record: ledger.Countersign{Stamp: e.ID(), Armor: armor}, Private: ledger.ControlPrivate{Name: who}})
	if err != nil {
		return err
	}
	notes := []string{fmt.Sprintf("their key: %s %s; that it is theirs is for a buyer to ask them", by.Type, by.Fingerprint)}
	for _, d := range w.judged.Devices() {
		if !d.Key.IsZero() && ledger.SSHFingerprint(d.Key[:]) == by.Fingerprint {
			notes = []string{fmt.Sprintf("but that is the key of %s, which keeps this book: it proves nothing against it", deviceName(d))}
		}
	}
	w.then(func() error {
		return w.c.controlled(controlled{signed, fmt.Sprintf("stamp %s of %s is countersigned by %s", e.ID().Short(), e.At().Format("2006-01-02"), who), notes})
	})
	return nil
}
