package main

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"sync"
	"sync/atomic"
	"time"

	"shedbook/cmd/shedbook/internal/keyring"
	"shedbook/cmd/shedbook/internal/table"
	"shedbook/ledger"
	"shedbook/ledger/gitstore"
	"shedbook/rules"
	"shedbook/rules/record"
)

// book is one opened book: every entry loaded and verified.
type book struct {
	c       *call
	store   *gitstore.Store
	keeper  keeper // nil: nothing is kept
	log     *ledger.Book
	judged  *ledger.Judgement
	local   gitstore.Local
	damages []gitstore.Damage // of the folder
	states  map[rules.Options]*rules.State

	adapted   map[ledger.ID]rules.Entry // what entries gave, kept for the next replay
	adaptedBy *ledger.Judgement
	devices   map[ledger.Writer]ledger.Device
	devicesBy *ledger.Judgement
	parted    *parted
	signed    bool // log holds entries that were signed here since it was loaded
	stays     bool // it is kept open from one request to the next
	bulk      bool // much is written at once
}

// bookDir finds the book: --book, SHEDBOOK_BOOK, or the folder above that is one.
func (c *call) bookDirs() ([]string, error) {
	if len(c.books) > 0 {
		dirs := make([]string, len(c.books))
		for i, d := range c.books {
			dirs[i] = c.path(d)
		}
		return dirs, nil
	}
	if d := c.getenv("SHEDBOOK_BOOK"); d != "" {
		return []string{c.path(d)}, nil
	}
	for d := c.dir; ; d = filepath.Dir(d) {
		if gitstore.IsBook(d) {
			return []string{d}, nil
		}
		if d == filepath.Dir(d) {
			return nil, failed("no-book", "go into a book's folder, name one with --book DIR, or start one with shedbook new DIR",
				"no book here: neither %s nor a folder above it is one", c.dir)
		}
	}
}

// setClock stops the clock at the end of a made-up book's last day: what is due there does not depend on when somebody tries it.
func (c *call) setClock() {
	dirs, err := c.bookDirs()
	if err != nil {
		return
	}
	local, err := gitstore.LocalOf(dirs[0])
	if err != nil || !local.Demo || local.Today == "" {
		return
	}
	if t, err := time.Parse("2006-01-02T15:04", local.Today+"T19:00"); err == nil {
		e := *c.env
		e.now = func() time.Time { return t }
		c.env = &e
	}
}

// open opens the one book of a command.
func (c *call) open() (*book, error) {
	dirs, err := c.bookDirs()
	if err != nil {
		return nil, err
	}
	return c.openDir(dirs[0])
}

// openAll opens every book named, for commands that read.
func (c *call) openAll() ([]*book, error) {
	dirs, err := c.bookDirs()
	if err != nil {
		return nil, err
	}
	var books []*book
	for _, d := range dirs {
		b, err := c.openDir(d)
		if err != nil {
			return nil, err
		}
		books = append(books, b)
	}
	return books, nil
}

func (c *call) openDir(dir string) (*book, error) { return c.openFor(dir, false) }

// openFor opens a book; one that stays is kept open from one request to the next.
func (c *call) openFor(dir string, stays bool) (*book, error) {
	defer c.waiting("reading the book")()
	store, r, damages, err := c.readStore(dir, !stays)
	if err != nil {
		return nil, err
	}
	b := &book{c: c, store: store, keeper: store, local: store.Local(), damages: damages, stays: stays}
	if r.log != nil {
		b.hold(r.log)
	} else if err := b.load(r.logs); err != nil {
		return nil, err
	}
	if len(damages) == 0 {
		b.keepImage(r)
	}
	c.opened = append(c.opened, b)
	if c.units == "" {
		if s, err := parseSystem(b.local.Units); err == nil {
			c.system = s
		}
	}
	return b, nil
}

// load verifies the logs and judges who counts.
func (b *book) load(logs []ledger.Log) error {
	log, err := ledger.LoadPinned(b.store.BookID(), logs)
	if wrong := b.errors(); err != nil && len(wrong) > 0 {
		return &userError{code: exitUnsound, tag: "damaged", text: fmt.Sprintf("the book in %s does not verify: %s", b.store.Dir(), wrong[0]), hint: mendHint, err: err}
	}
	if err != nil {
		return &userError{code: exitUnsound, tag: "unsound", text: fmt.Sprintf("the book in %s does not verify: %v", b.store.Dir(), err),
			hint: "keep the folder as it is and get the book anew from another yard", err: err}
	}
	b.hold(log)
	return nil
}

// hold makes a verified log the book's, and judges who counts.
func (b *book) hold(log *ledger.Book) {
	b.log, b.judged, b.states = log, log.Judge(), map[rules.Options]*rules.State{}
	b.adapted, b.parted, b.signed = nil, nil, false
}

func openError(dir string, err error) error {
	var newer *gitstore.NewerError
	var rewound *gitstore.RewoundError
	switch {
	case errors.Is(err, gitstore.ErrNotBook):
		return &userError{code: exitFailed, tag: "no-book", text: fmt.Sprintf("%s is no book", dir), hint: noBookHint(dir), err: err}
	case errors.As(err, &newer):
		return &userError{code: exitFailed, tag: "newer", text: err.Error(), hint: "install the newer shedbook; nothing was changed", err: err}
	case errors.As(err, &rewound):
		return &userError{code: exitUnsound, tag: "rewound", text: err.Error(), hint: mendHint, err: err}
	case gitstore.IsDamage(err):
		return &userError{code: exitUnsound, tag: "damaged", text: err.Error(), hint: mendHint, err: err}
	case errors.Is(err, fs.ErrPermission):
		return &userError{code: exitFailed, tag: "not-allowed", text: fmt.Sprintf("you may not read the book in %s: %v", dir, err),
			hint: "have the owner of that folder let you read it, or log in as they do; nothing was changed", err: err}
	}
	return &userError{code: exitFailed, tag: "open", text: fmt.Sprintf("the book in %s cannot be opened: %v", dir, err),
		hint: "see that its disk or stick is plugged in and whole, then say it again: shedbook audit looks at all of it", err: err}
}

// soundness warns on stderr when something in the book does not verify and returns exit code 3 for it: results are still shown, since one damaged log
// must not keep a farm from its work, but nobody can take them for verified.
func (b *book) soundness() error {
	wrong := b.errors()
	for _, line := range wrong[:min(len(wrong), 3)] {
		fmt.Fprintf(b.c.stderr, "shedbook: the book does not verify: %s\n", table.Clean(line))
	}
	if n := len(wrong) - 3; n > 0 {
		fmt.Fprintf(b.c.stderr, "shedbook: and %d more of these\n", n)
	}
	if len(wrong) > 0 {
		return exitCode(exitUnsound)
	}
	return nil
}

// soundAll warns of every one of several books that does not verify; exit code 3 if any does not.
func soundAll(books []*book) error {
	var unsound error
	for _, b := range books {
		if err := b.soundness(); err != nil {
			unsound = err
		}
	}
	return unsound
}

// counting are the entries that count and are there to be read, in the ledger's order.
func (b *book) counting() []*ledger.Entry {
	if b.devicesBy != b.judged {
		b.devices, b.devicesBy = map[ledger.Writer]ledger.Device{}, b.judged
		for _, d := range b.judged.Devices() {
			b.devices[d.Writer] = d
		}
	}
	entries, statuses := b.log.Entries(), b.judged.Statuses()
	out := make([]*ledger.Entry, 0, len(entries))
	for i, e := range entries {
		if statuses[i] == ledger.Counts && e.Class() != ledger.Control && e.HasBody() { // evidence withholds bodies
			out = append(out, e)
		}
	}
	return out
}

// entries adapts every entry that counts.
func (b *book) entries() []rules.Entry { return b.adapt(b.counting()) }

// adapt decodes entries, on all cores. What was decoded before is not decoded again: a command that records replays twice.
func (b *book) adapt(list []*ledger.Entry) []rules.Entry {
	if b.adaptedBy != b.judged || b.adapted == nil {
		b.adapted, b.adaptedBy = make(map[ledger.ID]rules.Entry, len(list)), b.judged
	}
	out := make([]rules.Entry, len(list))
	fresh := make([]bool, len(list))
	onAllCores(len(list), func(i int) {
		kept, ok := b.adapted[list[i].ID()]
		if ok {
			out[i] = kept
			return
		}
		out[i], fresh[i] = b.adaptOne(list[i]), true
	})
	for i, e := range list {
		if fresh[i] {
			b.adapted[e.ID()] = out[i]
		}
	}
	return out
}

// adaptOne decodes an entry that counts.
func (b *book) adaptOne(e *ledger.Entry) rules.Entry {
	dev := b.devices[e.Writer()]
	return rules.Adapt(e, dev.Person.String(), dev.Role != ledger.RoleWorker, b.log.KnownAt(e).UTC().Format("2006-01-02"))
}

// onAllCores calls f for 0 to n-1, in no order.
func onAllCores(n int, f func(int)) {
	const chunk = 64
	var next atomic.Int64
	var wait sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), n/chunk+1) {
		wait.Go(func() {
			for start := int(next.Add(chunk)) - chunk; start < n; start = int(next.Add(chunk)) - chunk {
				for i := start; i < min(start+chunk, n); i++ {
					f(i)
				}
			}
		})
	}
	wait.Wait()
}

// state replays the book for a day. People with devices are named by their control entries, the others by their own.
func (b *book) state(on, known string) (*rules.State, error) {
	o := rules.Options{On: on, Known: known}
	if s := b.states[o]; s != nil {
		return s, nil
	}
	s, err := b.replay(b.entries(), o, nil, nil)
	if err != nil {
		return nil, err
	}
	b.states[o] = s
	return s, nil
}

// replay replays entries; people with devices are named by their control entries.
func (b *book) replay(entries []rules.Entry, o rules.Options, machines []rules.ID, others rules.Others) (*rules.State, error) {
	s, err := rules.ReplayPortion(entries, o, machines, others)
	if err != nil {
		return nil, err
	}
	for _, d := range b.judged.Devices() {
		if d.Pending || s.Person(d.Person.String()) != nil {
			continue
		}
		s.AddPerson(record.ID(d.Person.String()), d.Name)
	}
	return s, nil
}

// now is the state on --on (or today) from what was known by --known.
func (b *book) now() (*rules.State, error) { return b.state(b.on(), b.c.known) }

// on is the day asked about.
func (b *book) on() string { return cmp.Or(b.c.on, b.c.today()) }

// ring is where this book's signing keys lie: the user's own folder, or the demo's, whose keys are made up and public.
func (b *book) ring() (*keyring.Ring, error) {
	if b.local.Demo {
		r := keyring.New(filepath.Join(b.store.Dir(), "keys"))
		r.Loose = true
		return r, nil
	}
	dir, err := b.c.configDir()
	if err != nil {
		return nil, failed("no-home", "set HOME or SHEDBOOK_CONFIG", "%v", err)
	}
	return keyring.New(filepath.Join(dir, "keys")), nil
}

// signer finds the key to sign with: --key, else this device's own.
func (b *book) signer() (ledger.Signer, *keyring.Ring, error) {
	ring, err := b.ring()
	if err != nil {
		return nil, nil, err
	}
	if b.c.key != "" {
		s, err := b.c.signerFrom(b.c.path(b.c.key), false)
		return s, ring, err
	}
	if b.local.KeyFile != "" {
		s, err := b.c.signerFrom(b.local.KeyFile, false)
		return s, ring, err
	}
	if b.local.Writer == "" {
		return nil, nil, failed("no-key", newKeyHint, "this device has no signing key for the book in %s: it only reads", b.store.Dir())
	}
	w, err := ledger.ParseWriter(b.local.Writer)
	if err != nil {
		return nil, nil, fmt.Errorf("local.toml: %w", err)
	}
	s, err := b.c.signerFrom(ring.Path(w), ring.Loose)
	if err != nil {
		return nil, ring, b.keyMissing(err, ring, ring.Path(w))
	}
	return s, ring, nil
}

// signerFrom reads a private key file, or asks the ssh-agent for the private half of a public key file.
func (c *call) signerFrom(path string, loose bool) (ledger.Signer, error) {
	text, err := keyring.ReadFile(path, loose || filepath.Ext(path) == ".pub")
	var le *keyring.LooseError
	switch {
	case errors.As(err, &le):
		return nil, &userError{code: exitFailed, tag: "loose-key", text: err.Error(), hint: "chmod 600 " + le.Path + "; if others use this computer, make a new key too", err: err}
	case err != nil:
		return nil, &userError{code: exitFailed, tag: "no-key", text: err.Error(), hint: "name the key with --key FILE, or see shedbook people key", err: err}
	}
	if pub, err := ledger.ParsePublicKey(text); err == nil {
		return c.agentSigner(path, pub)
	}
	key, err := ledger.ParseKey(text, nil)
	if errors.Is(err, ledger.ErrPassphrase) {
		pass, perr := c.passphrase("Passphrase of " + path + ":")
		if perr != nil {
			return nil, perr
		}
		key, err = ledger.ParseKey(text, pass)
	}
	if err != nil {
		return nil, &userError{code: exitFailed, tag: "bad-key", text: fmt.Sprintf("signing key %s: %v", path, err), hint: "name another with --key FILE", err: err}
	}
	return key, nil
}

// isFile reports whether a path names something that is no folder.
func isFile(path string) bool {
	info, err := os.Stat(path)
	return err == nil && !info.IsDir()
}
