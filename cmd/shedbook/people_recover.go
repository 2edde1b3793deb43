package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"unicode"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/keyring"
	"shedbook/cmd/shedbook/internal/table"
	"shedbook/ledger"
)

func peopleRecoverCommand() *command {
	var n newDevice
	return &command{
		name: "people recover", section: "the book", brief: "make this device an owner's, by the recovery key on paper", writes: true,
		usage:    []string{"people recover [--me NAME] [--device CALL]"},
		examples: []string{"people recover", `people recover --me "Wren Alder" --device "new laptop"`, "people recover --key recovery-words.txt"},
		about: `For when no owner's key is left, or the founder's was stolen. Asks for the 24 words on the paper, starts a new key on this device if it needs one, and admits it as an owner. ` +
			`Then stop what was lost: people stop DEVICE --why lost --recovery.

The words can also come from a file, --key FILE, or from the standard input. They are not kept: put the paper back into its drawer.`,
		flags: func(fs *pflag.FlagSet) {
			fs.StringVar(&n.name, "me", "", "your `name`, if this device starts a new key")
			fs.StringVar(&n.label, "device", "", "what to `call` this device then")
		},
		run: func(c *call) error {
			if len(c.args) != 0 {
				return usage("shedbook people recover", "people recover takes no arguments")
			}
			return c.recover(n)
		},
	}
}

// recover admits this device as an owner's with the recovery key.
func (c *call) recover(n newDevice) error {
	b, err := c.open()
	if err != nil {
		return err
	}
	signer, ring, err := b.recoverySigner()
	if err != nil {
		return err
	}
	d, usable, err := b.ownDevice(ring)
	if err != nil {
		return err
	}
	if usable && leads(d) {
		return failed("exists", "shedbook people stop DEVICE --why lost --recovery stops what was lost", "this device is an owner's already")
	}
	if c.dryRun {
		c.printf("would admit this device as an owner, with the recovery key\n")
		return nil
	}
	if !usable || !d.Pending {
		if d, err = b.startKey(n); err != nil {
			return err
		}
	}
	var person ledger.ID
	st, err := b.state(c.today(), "")
	if err != nil {
		return err
	}
	if p := st.Person(d.Name); p != nil && d.Name != "" {
		if person, err = ledger.ParseID(string(p.ID)); err != nil {
			return err
		}
	}
	return b.writeSigned(signer, ring, func(w *writing) error {
		e, err := w.act(ledger.Draft{Kind: ledger.KindAdmit, Record: ledger.Admit{Key: d.Key, Role: ledger.RoleOwner, Person: person},
			Private: ledger.ControlPrivate{Name: d.Name, Device: d.Label}})
		if err != nil {
			return err
		}
		w.then(func() error {
			now, _ := w.judged.Device(d.Writer)
			var others []ledger.Device
			for _, o := range w.owners() {
				if o.Writer != d.Writer {
					others = append(others, o)
				}
			}
			notes := []string{"put the paper back into its drawer, and delete the words wherever you typed or copied them"}
			if len(others) > 0 {
				notes = append(notes, fmt.Sprintf("still owners' devices: %s; stop what is lost or stolen: shedbook people stop DEVICE --why lost --recovery", deviceList(others)))
			}
			return c.controlled(controlled{e, fmt.Sprintf("admitted %s as an owner, with the recovery key", deviceName(now)), notes})
		})
		return nil
	})
}

// ownDevice is this device in the book, and whether it can go on signing.
func (b *book) ownDevice(ring *keyring.Ring) (ledger.Device, bool, error) {
	w, err := ledger.ParseWriter(b.local.Writer)
	if err != nil {
		return ledger.Device{}, false, nil // it only reads
	}
	d, ok := b.judged.Device(w)
	if !ok || d.Stopped {
		return d, false, nil
	}
	path := b.local.KeyFile
	if path == "" {
		path = ring.Path(w)
	}
	if !isFile(path) {
		return d, false, nil
	}
	err = (&writing{book: b, writer: w}).mayContinue(ring)
	var t *keyTrouble
	if errors.As(err, &t) {
		return d, false, nil
	}
	return d, err == nil, err
}

// open begins the log of a recovery key: its first entry is a request, though its place in the book is given by the founding entry.
func (w *writing) open() error {
	e, err := w.signRequest(newDevice{key: w.signer}, w.c.now())
	if err != nil {
		return err
	}
	w.run = append(w.run, e)
	return nil
}

// recoverySigner finds the recovery key: in --key FILE, in the file that new made, or in 24 words typed or piped.
func (b *book) recoverySigner() (ledger.Signer, *keyring.Ring, error) {
	ring, err := b.ring()
	if err != nil {
		return nil, nil, err
	}
	signer, err := b.recoveryKey(ring)
	if err != nil {
		return nil, nil, err
	}
	d, ok := b.judged.Device(ledger.WriterOf(signer.Public()))
	if !ok || d.Role != ledger.RoleRecovery {
		return nil, nil, failed("not-recovery", "look for the paper of this book; each book has its own", "this is not the recovery key of %s", table.Clean(b.log.Title()))
	}
	return signer, ring, nil
}

func (b *book) recoveryKey(ring *keyring.Ring) (ledger.Signer, error) {
	if b.c.key != "" {
		path := b.c.path(b.c.key)
		text, err := keyring.ReadFile(path, false)
		if err == nil && !strings.Contains(string(text), "PRIVATE KEY") && !strings.HasPrefix(string(text), "ssh-") {
			key, err := ledger.ParseRecoveryText(string(text))
			if err != nil {
				return nil, failed("bad-words", "compare them with the paper", "%s: %v", path, err)
			}
			return key, nil
		}
		return b.c.signerFrom(path, false)
	}
	if path := ring.Path(recoveryName(b.log.Founding())); isFile(path) {
		return b.c.signerFrom(path, ring.Loose)
	}
	if b.c.asks {
		return b.c.askRecovery()
	}
	text, err := io.ReadAll(io.LimitReader(b.c.stdin, 64<<10))
	if err != nil {
		return nil, fmt.Errorf("read the recovery key: %w", err)
	}
	if strings.TrimSpace(string(text)) == "" {
		return nil, failed("no-recovery-key", "run it on a terminal and type the 24 words, or name a file that has them: --key FILE", "the recovery key is not on this computer")
	}
	key, err := ledger.ParseRecoveryText(string(text))
	if err != nil {
		return nil, failed("bad-words", "compare them with the paper", "the recovery key: %v", err)
	}
	return key, nil
}

// askRecovery asks for 24 words, some at a time; a line with a word that is not in the list is asked for again.
func (c *call) askRecovery() (ledger.Signer, error) {
	const all = 24
	fmt.Fprint(c.stderr, "Type the 24 words of the recovery key as they stand on the paper, some at a time.\n")
	var words []string
	for {
		line, err := c.ask(fmt.Sprintf("word %d:", len(words)+1))
		if err != nil {
			return nil, failed("no-answer", "", "nothing was recorded: the recovery key has %d words, these were %d", all, len(words))
		}
		more := strings.FieldsFunc(line, func(r rune) bool { return !unicode.IsLetter(r) })
		if len(more) == 0 {
			continue
		}
		key, err := ledger.ParseRecoveryText(strings.Join(append(words[:len(words):len(words)], more...), " "))
		switch {
		case err == nil:
			return key, nil
		case strings.HasPrefix(err.Error(), "word "):
			fmt.Fprintf(c.stderr, "%v; type this line again\n", err)
		case len(words)+len(more) < all:
			words = append(words, more...)
		default:
			fmt.Fprintf(c.stderr, "%v\nfrom the beginning:\n", err)
			words = nil
		}
	}
}

type recoveryJSON struct {
	Format int      `json:"format"`
	File   string   `json:"file"`
	Held   bool     `json:"held"` // the file is on this computer
	Words  []string `json:"words,omitempty"`
}

func peopleRecoveryCommand() *command {
	var show bool
	return &command{
		name: "people recovery", section: "the book", brief: "print the recovery key for its paper", reads: true,
		usage:    []string{"people recovery [--print]"},
		examples: []string{"people recovery", "people recovery --print"},
		about: `The recovery key is made with the book and ranks above every other: it admits a new owner when all other keys are lost, and alone can stop the founder's. Its place is on paper, in a ` +
			`drawer, and nowhere else. --print shows its 24 words; write them down or print them, read them back, then delete the file.`,
		flags: func(fs *pflag.FlagSet) { fs.BoolVar(&show, "print", false, "print the 24 words; they are secret") },
		run: func(c *call) error {
			b, err := c.open()
			if err != nil {
				return err
			}
			ring, err := b.ring()
			if err != nil {
				return err
			}
			out := recoveryJSON{Format: 1, File: ring.Path(recoveryName(b.log.Founding()))}
			out.Held = isFile(out.File)
			text := ""
			if show {
				if text, err = c.recoveryText(out.File, ring.Loose); err != nil {
					return err
				}
				out.Words = strings.Fields(text)
			}
			switch {
			case c.json:
				if err := c.printJSON(out); err != nil {
					return err
				}
			case show:
				c.printf("recovery key of %s\nbook %s\n\n", table.Clean(b.log.Title()), b.log.ID().Short())
				for i, line := range strings.Split(strings.TrimSpace(text), "\n") {
					c.printf("  %2d  %s\n", 6*i+1, line)
				}
				c.printf("\nWhoever has these words can admit and stop anybody. When they are on paper: delete\n%s\n", out.File)
			case out.Held:
				c.printf("the recovery key is still on this computer: %s\n", out.File)
				c.say("  next: shedbook people recovery --print, write it on paper, put that in a drawer, then delete the file\n")
			default:
				c.printf("the recovery key is not on this computer, as it should be: it is on its paper\n")
			}
			return b.soundness()
		},
	}
}

// recoveryText reads the words of the key file that new made.
func (c *call) recoveryText(path string, loose bool) (string, error) {
	text, err := keyring.ReadFile(path, loose)
	if errors.Is(err, keyring.ErrNoKey) || errors.Is(err, os.ErrNotExist) {
		return "", failed("no-recovery-key", "its words are on the paper", "the recovery key is not on this computer any more (looked for %s)", path)
	}
	if err != nil {
		return "", err
	}
	key, err := ledger.ParseKey(text, nil)
	if err != nil {
		return "", failed("bad-key", "use the words on the paper", "%s: %v", path, err)
	}
	return key.RecoveryText(), nil
}
