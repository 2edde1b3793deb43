package main

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/ledger"
	"shedbook/ledger/gitstore"
)

type joinedJSON struct {
	Format  int      `json:"format"`
	DryRun  bool     `json:"dry_run,omitempty"`
	Book    string   `json:"book"` // its folder
	ID      string   `json:"id,omitempty"`
	Title   string   `json:"title,omitempty"`
	Entries int      `json:"entries"`
	Words   []string `json:"words,omitempty"` // of this device's key; absent where it only reads
	Sent    bool     `json:"sent"`            // the request has reached the other side
}

// joining is what a person says when taking part.
type joining struct {
	newDevice
	id   string
	read bool
	access
}

func joinCommand() *command {
	var j joining
	return &command{
		name: "join", section: "the book", brief: "take part in a book that others keep", writes: true,
		usage: []string{"join URL DIR [--me NAME] [--device CALL] [--units us|metric]"},
		examples: []string{
			`join /media/stick/alder book --me "Jo Alder" --device "creek pc"`, `join farm@yardbox:books/alder home-book`,
			"join https://books.example/alder.git home-book --only-read",
		},
		about: `Fetches the whole book into a new folder and verifies every entry, makes a signing key for this device, and asks to take part. URL is a folder or USB stick, an ssh or https address, or ` +
			`another book's own folder. Nothing is asked of a server but to keep files: git need not be installed here.

Anyone can read a book they can fetch. What this device records counts once an owner has compared its six words and admitted it: people admit.`,
		flags: func(fs *pflag.FlagSet) {
			fs.StringVar(&j.name, "me", "", "your `name`, as it stands beside your entries")
			fs.StringVar(&j.label, "device", "", "what to `call` this computer: \"creek laptop\"")
			fs.StringVar(&j.id, "id", "", "take only the book of this `id`, 64 digits, as audit prints it there")
			fs.BoolVar(&j.read, "only-read", false, "make no key: read the book and sync, record nothing")
			j.access.flags(fs)
		},
		run: func(c *call) error {
			if len(c.args) != 2 {
				return usage("shedbook join /media/stick/alder home-book", "join takes an address and the folder to make")
			}
			return c.join(c.args[0], c.args[1], j)
		},
	}
}

// join makes a book out of what a target has, and asks to take part in it.
func (c *call) join(address, folder string, j joining) error {
	dir := c.path(folder)
	if err := c.mayJoin(dir, &j); err != nil {
		return err
	}
	var pinned ledger.ID
	if j.id != "" {
		var err error
		if pinned, err = ledger.ParseID(strings.ToLower(strings.TrimSpace(j.id))); err != nil {
			return usage("shedbook audit prints it on a device that has the book", "--id %q is no book's id: 64 digits from 0-9 and a-f", j.id)
		}
	}
	if c.dryRun {
		if c.json {
			return c.printJSON(joinedJSON{Format: 1, DryRun: true, Book: dir})
		}
		c.printf("would fetch the book of %s into %s and ask to take part\n", address, dir)
		return nil
	}
	target := c.targetPath(address)
	var store *gitstore.Store
	var report *gitstore.SyncReport
	err := j.run(c, target, func(o gitstore.SyncOptions) error {
		o.Book = pinned
		var err error
		store, report, err = gitstore.Join(context.Background(), target, dir, o)
		return err
	})
	if err != nil {
		var none *gitstore.NoExchangeError
		if !errors.As(err, &none) {
			return &userError{code: exitFailed, tag: "not-made", text: err.Error(), hint: "choose an empty or new folder", err: err}
		}
		return noExchange(err, "nothing was made; look at the address again")
	}
	defer store.Close()
	for _, line := range store.Recovered() {
		c.say("%s\n", line)
	}
	b := &book{c: c, store: store}
	if report.Book != nil {
		b.hold(report.Book) // as it was verified with what came: nobody else knows the new folder
	} else { // all had come to a join that was killed
		logs, err := store.Logs()
		if err != nil {
			return openError(dir, err)
		}
		if err := b.load(logs); err != nil {
			return err
		}
	}
	local := b.store.Local()
	local.Units = c.units
	if err := c.remember(&local, target, j.access); err != nil {
		return err
	}
	if err := b.store.SetLocal(local); err != nil {
		return unfinished(err, "make room or mend the folder, then say the same again", dir)
	}
	b.local = local
	out := joinedJSON{Format: 1, Book: dir, ID: b.log.ID().String(), Title: b.log.Title(), Entries: len(b.log.Entries())}
	founder := c.founder(b)
	if !c.json {
		c.printf("%s\n", table.Wrap(table.Clean(fmt.Sprintf("joined the book %q, started by %s, in %s: %s, all verified", b.log.Title(), founder, dir, entryCount(out.Entries))), c.columns(), "    "))
		c.printf("  book %s\n", b.log.ID())
	}
	if j.read {
		if c.json {
			return c.printJSON(out)
		}
		c.say("  this device only reads; shedbook people key --new asks to take part later\n")
		return b.soundness()
	}
	d, err := b.startKey(j.newDevice)
	if err != nil {
		return unfinished(err, "make room or mend the folder, then in it: shedbook people key --new", dir)
	}
	out.Words = ledger.Words(d.Key)
	serr := j.run(c, target, func(o gitstore.SyncOptions) error {
		report, err := b.store.Sync(context.Background(), target, o)
		if err == nil && len(report.Unsent) > 0 {
			err = fmt.Errorf("the request was not taken there: %s", report.Unsent[0].Why)
		}
		return err
	})
	out.Sent = serr == nil
	if c.json {
		return c.printJSON(out)
	}
	if serr != nil {
		c.say("%s\n", table.Wrap(fmt.Sprintf("  the request is kept here and was not sent yet: %v", serr), c.columns(), "    "))
		c.say("  next: shedbook sync\n")
	}
	c.printf("\n%s\n", c.askedWords(d))
	return b.soundness()
}

// unfinished is the error of a join that broke off once the book was there, unless it says itself what to do.
func unfinished(err error, hint, dir string) error {
	var said *userError
	if errors.As(err, &said) {
		return err
	}
	return &userError{code: exitFailed, tag: "not-finished", text: fmt.Sprintf("the book is in %s, and this device does not take part yet: %v", dir, err), hint: hint, err: err}
}

// mayJoin checks what was said before anything is fetched.
func (c *call) mayJoin(dir string, j *joining) error {
	if gitstore.IsBook(dir) {
		local, err := gitstore.LocalOf(dir)
		if err == nil && local.Writer == "" {
			if logs, err := gitstore.Open(dir); err == nil { // an interrupted join goes on
				held, err := logs.Logs()
				logs.Close()
				if err == nil && len(held) > 0 && len(local.Places) > 0 {
					return failed("exists", "in it: shedbook people key --new asks to take part", "%s is a book already, which this device only reads", dir)
				}
			}
		} else {
			return failed("exists", "choose another folder, or say shedbook sync in it", "%s is a book already", dir)
		}
	}
	if j.read {
		if j.name != "" || j.label != "" || c.key != "" {
			return usage("leave one out", "--only-read makes no key: --me, --device and --key go with one")
		}
		return nil
	}
	if _, err := parseSystem(c.units); err != nil {
		return usage("write us or metric", "%v", err)
	}
	if c.key != "" {
		j.keyFile = c.path(c.key)
		var err error
		if j.newDevice.key, err = c.signerFrom(j.keyFile, false); err != nil {
			return err
		}
	}
	return c.nameDevice(&j.newDevice)
}

// founder names who started a book, to compare with what one expects.
func (c *call) founder(b *book) string {
	for _, d := range b.judged.Devices() {
		if d.Founder {
			if d.Name != "" {
				return d.Name
			}
			return deviceName(d)
		}
	}
	return "nobody known"
}
