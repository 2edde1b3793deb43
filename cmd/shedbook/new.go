package main

import (
	"crypto/ed25519"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/keyring"
	"shedbook/ledger"
	"shedbook/ledger/gitstore"
	"shedbook/rules/record"
)

type newJSON struct {
	Format       int    `json:"format"`
	DryRun       bool   `json:"dry_run,omitempty"`
	Book         string `json:"book"` // its folder
	Title        string `json:"title"`
	KeyFile      string `json:"key_file,omitempty"`
	RecoveryFile string `json:"recovery_file,omitempty"`
}

func newCommand() *command {
	var title, name, units, farm, yard, device string
	var bare bool
	return &command{
		name: "new", section: "the book", brief: "start a book", writes: true,
		usage: []string{"new DIR [--name BOOK] [--me NAME] [--farm NAME] [--yard NAME] [--units us|metric]"},
		examples: []string{
			"new home-book",
			"new home-book --me \"Wren Alder\" --farm \"Alder Farm\" --units metric",
			"new home-book --key ~/.ssh/id_ed25519 --me \"Wren Alder\"",
		},
		about: `Makes the folder, a signing key for this device and a recovery key. The signing key signs every entry you write, so nobody can change one later ` +
			`without it showing. Print the recovery key and put it in a drawer: it is the only way back if every other key is lost.

What is not given is asked for on a terminal.`,
		flags: func(fs *pflag.FlagSet) {
			fs.StringVar(&title, "name", "", "the book's `name` (else the folder's)")
			fs.StringVar(&name, "me", "", "your `name`, as it stands beside your entries")
			fs.StringVar(&device, "device", "", "what to `call` this computer: \"shop laptop\"")
			fs.StringVar(&farm, "farm", "", "the first `farm` (else named as the book)")
			fs.StringVar(&yard, "yard", "home", "its first `yard`")
			fs.BoolVar(&bare, "bare", false, "no farm and no yard yet")
		},
		run: func(c *call) error {
			if len(c.args) != 1 {
				return usage("shedbook new home-book", "new takes the folder to make")
			}
			units = c.units
			dir := c.path(c.args[0])
			if title == "" {
				title = filepath.Base(dir)
			}
			for _, q := range []struct {
				at       *string
				question string
				other    string
				flag     string
			}{{&name, "Your name:", "", "--me"}, {&farm, "Name of the farm:", title, ""}, {&units, "Units, us (inches, acres) or metric (millimetres, hectares):", "us", ""}} {
				if *q.at != "" || bare && q.at == &farm {
					continue
				}
				if c.asks {
					answer, err := c.ask(q.question)
					if err != nil {
						return failed("no-answer", "shedbook new --help", "nothing was made: %s has no answer", strings.TrimSuffix(q.question, ":"))
					}
					*q.at = strings.TrimSpace(answer)
				}
				if *q.at == "" {
					*q.at = q.other
				}
				if *q.at == "" {
					return usage("add "+q.flag+" \"Wren Alder\"", "who keeps this book? your name is missing")
				}
			}
			if _, err := parseSystem(units); err != nil {
				return usage("write us or metric", "%v", err)
			}
			return c.start(dir, title, name, device, units, farm, yard, bare)
		},
	}
}

// start makes a book: keys first (a book nobody can sign in is of no use), then the folder with its founding entry, then farm and yard.
func (c *call) start(dir, title, name, device, units, farm, yard string, bare bool) error {
	if gitstore.IsBook(dir) {
		return failed("exists", "choose another folder", "%s is a book already", dir)
	}
	made := newJSON{Format: 1, DryRun: c.dryRun, Book: dir, Title: title}
	if c.dryRun && c.json {
		return c.printJSON(made)
	}
	if c.dryRun {
		c.printf("would start the book %q in %s for %s\n", title, dir, name)
		return nil
	}
	conf, err := c.configDir()
	if err != nil {
		return failed("no-home", "set HOME or SHEDBOOK_CONFIG", "%v", err)
	}
	ring := keyring.New(filepath.Join(conf, "keys"))
	var signer ledger.Signer
	keyFile := ""
	if c.key != "" {
		keyFile = c.path(c.key)
		if signer, err = c.signerFrom(keyFile, false); err != nil {
			return err
		}
	} else {
		key, err := ledger.NewKey(c.random)
		if err != nil {
			return err
		}
		pem, err := key.Marshal("shedbook "+title, nil)
		if err != nil {
			return err
		}
		if err := ring.Save(ledger.WriterOf(key.Public()), pem); err != nil {
			return failed("no-key", "make room or mend the folder, then say it again", "%v", err)
		}
		signer = key
	}
	recovery, err := ledger.NewKey(c.random)
	if err != nil {
		return err
	}
	recoveryPEM, err := recovery.Marshal("shedbook recovery key of "+title, nil)
	if err != nil {
		return err
	}
	found, err := c.found(signer, recovery.Public(), title, name, device)
	if err != nil {
		return err
	}
	w := ledger.WriterOf(signer.Public())
	if err := ring.Save(recoveryName(found), recoveryPEM); err != nil {
		return failed("no-key", "make room or mend the folder, then say it again", "%v", err)
	}
	store, err := gitstore.Found(dir, found.ID(), func(store *gitstore.Store) error {
		if err := store.Update(func(tx *gitstore.Tx) error { return tx.Append(w.String(), []*ledger.Entry{found}) }); err != nil {
			return err
		}
		local := store.Local()
		local.Units, local.Writer, local.KeyFile = units, w.String(), keyFile
		if err := store.SetLocal(local); err != nil {
			return err
		}
		if err := ring.SetLast(w, keyring.Last{Mark: store.Mark(), Seq: found.Seq(), ID: found.ID().String()}); err != nil {
			return err
		}
		if bare {
			return nil
		}
		return c.firstYard(store, farm, yard)
	})
	if err != nil {
		return failed("not-made", "choose an empty or new folder with room, or make room, then say it again", "no book was made: %v", err)
	}
	defer store.Close()
	made.KeyFile, made.RecoveryFile = keyFile, ring.Path(recoveryName(found))
	if keyFile == "" {
		made.KeyFile = ring.Path(w)
	}
	tell := func(format string, a ...any) {
		if !c.json {
			c.printf(format, a...)
		}
	}
	tell("started the book %q in %s for %s\n", title, dir, name)
	if keyFile == "" {
		tell("this device's signing key: %s\n  it signs every entry you write; keep a copy where others cannot read it\n", ring.Path(w))
	}
	tell("the recovery key: %s\n  its 24 words belong on paper in a drawer: shedbook people recovery --print, then delete the file; it is the way back when other keys are lost\n", ring.Path(recoveryName(found)))
	if !bare {
		tell("farm %s with yard %s\n", farm, yard)
	}
	next := "shedbook machine add drill disc-drill --options openers=48"
	if bare {
		next = "shedbook farm add \"Alder Farm\""
	}
	if !c.quiet {
		tell("next: cd %s && %s\n", dir, next)
	}
	if c.json {
		return c.printJSON(made)
	}
	return nil
}

// firstYard records the first farm, its yard and the yard's parts shelf in a book that has just its founding entry.
func (c *call) firstYard(store *gitstore.Store, farm, yard string) error {
	b := &book{c: c, store: store, local: store.Local()}
	logs, err := store.Logs()
	if err != nil {
		return err
	}
	if err := b.load(logs); err != nil {
		return err
	}
	return b.write(func(w *writing) error {
		f, err := w.add(&record.Farm{Name: farm}, nil, nil)
		if err != nil {
			return err
		}
		y, err := w.add(&record.Yard{Name: yard, Farm: record.ID(f.ID().String())}, nil, nil)
		if err != nil {
			return err
		}
		return w.addShelf(record.ID(y.ID().String()))
	})
}

// recoveryName keeps the recovery key apart from the devices' keys, under the book's own name.
func recoveryName(found *ledger.Entry) ledger.Writer {
	var w ledger.Writer
	id := found.ID()
	copy(w[:], id[:])
	return w
}

func (c *call) found(signer ledger.Signer, recovery ed25519.PublicKey, title, name, device string) (*ledger.Entry, error) {
	var own, rec ledger.PublicKey
	copy(own[:], signer.Public())
	copy(rec[:], recovery)
	e, err := ledger.Sign(ledger.Draft{
		Class: ledger.Control, Kind: "found", Record: ledger.Found{Title: title, Key: own, Recovery: rec},
		Private: ledger.ControlPrivate{Name: name, Device: device}, At: c.now().UTC(),
	}, ledger.Position{Seq: 1, Depth: 1}, signer, c.random)
	if err != nil {
		return nil, fmt.Errorf("sign the founding entry: %w", err)
	}
	return e, nil
}
