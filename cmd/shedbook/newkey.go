package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"shedbook/cmd/shedbook/internal/keyring"
	"shedbook/cmd/shedbook/internal/table"
	"shedbook/ledger"
	"shedbook/ledger/gitstore"
)

// keyTrouble says that this device must not go on with its key, and that a new one settles it. The screen explains; on a terminal one question follows.
type keyTrouble struct {
	*userError
	screen string
}

func (t *keyTrouble) Unwrap() error { return t.userError }

const (
	newKeyHint  = "shedbook people key --new starts a new key on this device; an owner admits it; nothing is lost"
	whatFollows = `What follows: this device starts a new key and asks to take part with it; what you record counts once an owner has admitted it (shedbook people admit). ` +
		`Where there is no other owner, the recovery key does: shedbook people recover.`
)

func trouble(tag, text, screen string) error {
	return &keyTrouble{&userError{code: exitFailed, tag: tag, text: text, hint: newKeyHint}, screen}
}

// settle explains a trouble and asks the one question. It reports whether the device has a new key now.
func (b *book) settle(t *keyTrouble) (bool, error) {
	c := b.c
	if !c.asks || c.yes || c.key != "" || c.dryRun || b.local.Demo {
		return false, t
	}
	fmt.Fprintf(c.stderr, "%s\n\n%s\n\n", table.Paragraphs(t.screen, min(c.columns(), 80)), table.Paragraphs(whatFollows, min(c.columns(), 80)))
	answer, err := c.ask("Start a new key on this device? [y/N]")
	if err != nil || !yes(answer) {
		return false, t
	}
	d, err := b.startKey(newDevice{})
	if err != nil {
		return false, err
	}
	c.say("%s\n\n", c.askedWords(d))
	return true, nil
}

// askedWords say what to do after a request.
func (c *call) askedWords(d ledger.Device) string {
	who := d.Label
	if who == "" {
		who = d.Name
	}
	return table.Paragraphs(fmt.Sprintf("This device asks to take part. Read these six words to an owner, on the phone or in person:\n\n    %s\n\n"+
		"The owner compares them: shedbook people admit %q. Until then what you record here is kept and shown as pending; from then on it counts.", sixWords(d.Key), table.Clean(who)), min(c.columns(), 80))
}

// newDevice is what is known of a device that starts a key; what is left out is taken from its old key, or asked for.
type newDevice struct {
	name, label string
	key         ledger.Signer // nil: one is made
	keyFile     string
}

// startKey makes a signing key, writes its request as the first entry of a log of its own, and signs with it from then on.
func (b *book) startKey(n newDevice) (ledger.Device, error) {
	var none ledger.Device
	ring, err := b.ring()
	if err != nil {
		return none, err
	}
	if err := b.nameDevice(&n); err != nil {
		return none, err
	}
	if n.key == nil {
		if n.key, err = b.c.makeKey(ring, b.log.Title()); err != nil {
			return none, err
		}
	}
	writer := ledger.WriterOf(n.key.Public())
	var e *ledger.Entry
	err = b.store.Update(func(tx *gitstore.Tx) error {
		logs, err := tx.Logs()
		if err != nil {
			return err
		}
		if err := b.load(logs); err != nil {
			return err
		}
		if why := b.judged.ReadOnly(); why != "" {
			return failed("newer", "install the newer shedbook", "this book can only be read: %s", why)
		}
		if len(b.log.Tips(writer)) > 0 {
			return failed("key-in-use", "leave --key out and a new key is made", "this key has a log in the book already: a key is never used in a second place")
		}
		if e, err = b.signRequest(n, b.c.now()); err != nil {
			return err
		}
		return tx.Append(writer.String(), []*ledger.Entry{e})
	})
	var said *userError
	if errors.As(err, &said) {
		return none, err
	}
	if err != nil {
		return none, notStored(b.store.Dir(), err)
	}
	if err := ring.SetLast(writer, keyring.Last{Mark: b.store.Mark(), Seq: e.Seq(), ID: e.ID().String()}); err != nil {
		return none, err
	}
	local := b.store.Local()
	local.Writer, local.KeyFile = writer.String(), n.keyFile
	if err := b.store.SetLocal(local); err != nil {
		return none, err
	}
	b.local = local
	d, _ := b.judged.Device(writer)
	return d, nil
}

// signRequest signs a device's first entry and takes it into the book in memory.
func (b *book) signRequest(n newDevice, now time.Time) (*ledger.Entry, error) {
	pub := n.key.Public()
	at, err := b.log.Next(ledger.WriterOf(pub))
	if err != nil {
		return nil, err
	}
	d := ledger.Draft{Class: ledger.Control, Kind: ledger.KindRequest, Record: ledger.Request{Key: ledger.PublicKeyOf(pub)}, At: now.UTC().Truncate(time.Second)}
	if n.name != "" || n.label != "" {
		d.Private = ledger.ControlPrivate{Name: n.name, Device: n.label}
	}
	e, err := ledger.Sign(d, at, n.key, b.c.random)
	if err != nil {
		return nil, failed("not-signed", "", "nothing was recorded: %v", err)
	}
	if err := b.log.Append(e); err != nil {
		return nil, err
	}
	b.judged, b.signed = b.log.Judge(), true
	return e, nil
}

// makeKey draws a new signing key and keeps it in the user's own folder.
func (c *call) makeKey(ring *keyring.Ring, title string) (*ledger.Key, error) {
	key, err := ledger.NewKey(c.random)
	if err != nil {
		return nil, err
	}
	pem, err := key.Marshal("shedbook "+title, nil)
	if err != nil {
		return nil, err
	}
	if err := ring.Save(ledger.WriterOf(key.Public()), pem); err != nil {
		return nil, failed("no-key", "make room or mend the folder, then say it again", "%v", err)
	}
	return key, nil
}

// nameDevice fills in who uses the device and what it is called.
func (b *book) nameDevice(n *newDevice) error {
	if w, err := ledger.ParseWriter(b.local.Writer); err == nil {
		if old, ok := b.judged.Device(w); ok {
			if n.name == "" {
				n.name = old.Name
			}
			if n.label == "" && old.Label != "" {
				n.label = b.anotherLabel(old.Label)
			}
		}
	}
	return b.c.nameDevice(n)
}

func (c *call) nameDevice(n *newDevice) error {
	for _, q := range []struct {
		at       *string
		question string
	}{{&n.name, "Your name:"}, {&n.label, "What to call this computer (shop laptop):"}} {
		if *q.at != "" || !c.asks {
			continue
		}
		answer, err := c.ask(q.question)
		if err != nil {
			return failed("no-answer", "shedbook "+c.cmd.name+" --help", "nothing was made: %s has no answer", strings.TrimSuffix(q.question, ":"))
		}
		*q.at = strings.TrimSpace(answer)
	}
	if n.name == "" {
		return usage(`add --me "Jo Alder"`, "who uses this device? your name is missing")
	}
	return nil
}

// anotherLabel is "creek laptop 2" for a device that was called creek laptop: two keys of one device are told apart.
func (b *book) anotherLabel(label string) string {
	taken := func(s string) bool {
		return slices.ContainsFunc(b.judged.Devices(), func(d ledger.Device) bool { return wordsOf(d.Label) == wordsOf(s) })
	}
	base := strings.TrimRight(strings.TrimRight(label, "0123456789"), " ")
	if base == "" {
		base = label
	}
	for i := 2; ; i++ {
		if s := fmt.Sprintf("%s %d", base, i); !taken(s) {
			return s
		}
	}
}

// mayContinue refuses to sign with a key that would then have two histories, or whose entries no longer count.
func (w *writing) mayContinue(ring *keyring.Ring) error {
	if w.local.Demo {
		return nil
	}
	d, _ := w.judged.Device(w.writer)
	name := "this device's key"
	if w.c.key != "" {
		name = "this key"
	}
	if tips := w.log.Tips(w.writer); len(tips) > 1 {
		return trouble("forked", fmt.Sprintf("%s wrote in two places: its log goes on in %d ways (a copied folder, a restored backup?)", name, len(tips)), w.forkScreen(d))
	}
	if d.Stopped {
		return trouble("stopped", name+" was stopped: what it signs does not count", w.stoppedScreen(d))
	}
	last, err := ring.Last(w.writer)
	if err != nil {
		return err
	}
	if last == (keyring.Last{}) {
		return nil
	}
	id, err := ledger.ParseID(last.ID)
	if err != nil {
		return fmt.Errorf("what this key signed last: %w", err)
	}
	if last.Mark != w.store.Mark() {
		return trouble("copied-book", fmt.Sprintf("the book in %s is a copy: %s writes in another folder", w.store.Dir(), name),
			fmt.Sprintf("The book in %s is a copy. This device signs entries in another folder of the same book: %d of them by now, the last %s.\n\n"+
				"Is that folder still here? Then go on there, and nothing else is needed. If it is gone, or this one is used beside it, go on here with a new key: two folders that sign with one "+
				"key would write two histories under one name.", w.store.Dir(), last.Seq, id.Short()))
	}
	if w.log.Entry(id) == nil {
		return trouble("older-book", fmt.Sprintf("the book in %s is older than %s: entry %d, %s, is missing (a restored backup?)", w.store.Dir(), name, last.Seq, id.Short()),
			fmt.Sprintf("The book in %s is older than this device's key: the key has signed %d entries, the last %s, and the book ends before it. It was restored from a backup, or is a copy made earlier.\n\n"+
				"First: shedbook sync. If the missing entries were sent anywhere, they come back, and you go on as before. If there is a newer folder, go on in that one. If they are gone, go on here with a "+
				"new key; they still count if they turn up before an owner stops the old key.", w.store.Dir(), last.Seq, id.Short()))
	}
	return nil
}

// keyMissing explains a book whose signing key is not on this computer.
func (b *book) keyMissing(err error, ring *keyring.Ring, path string) error {
	if b.c.key != "" || b.local.Demo || !errors.Is(err, keyring.ErrNoKey) {
		return err
	}
	for _, d := range b.judged.Devices() {
		last, lerr := ring.Last(d.Writer)
		if lerr == nil && last.Mark == b.store.Mark() && d.Writer.String() != b.local.Writer && isFile(ring.Path(d.Writer)) {
			return failed("shared-folder", fmt.Sprintf("shedbook join %s NEWFOLDER, outside the folder that is kept alike; then shedbook sync", b.store.Dir()),
				"two computers use the folder %s as their own (kept alike by a cloud service?): each needs a book of its own, and sync between them", b.store.Dir())
		}
	}
	return trouble("no-key", fmt.Sprintf("the signing key of the book in %s is not on this computer (looked for %s)", b.store.Dir(), path),
		fmt.Sprintf("The signing key of the book in %s is not on this computer (looked for %s). The folder was copied from another device, or the key was lost.\n\n"+
			"If the key is kept somewhere, put it back there and go on as before, unless the other device still uses it. Otherwise go on here with a new key.", b.store.Dir(), filepath.Clean(path)))
}

// stoppedScreen says who stopped the key and what of it counts.
func (w *writing) stoppedScreen(d ledger.Device) string {
	by := ""
	for _, e := range w.log.Entries() {
		if e.Kind() != ledger.KindStop || w.judged.Status(e) != ledger.Counts {
			continue
		}
		record, err := ledger.DecodeControl(e)
		if stop, ok := record.(*ledger.Stop); err == nil && ok && stop.Writer == d.Writer {
			who, _ := w.judged.Device(e.Writer())
			by = fmt.Sprintf(" by %s on %s (%s)", deviceName(who), e.At().Format("2006-01-02"), stop.Why)
			break
		}
	}
	count, not := w.fate(d)
	s := fmt.Sprintf("This device's key was stopped%s. %s", by, does(entryCount(count)+" of it", count, "counts", "count"))
	if not > 0 {
		s += ", " + does(fmt.Sprint(not), not, "does not", "do not")
	}
	return s + ". A stopped key never returns: go on here with a new one, and ask the owner why if you did not expect this."
}

// forkScreen names where the log parts and the first entries that differ.
func (b *book) forkScreen(d ledger.Device) string {
	first := b.parting(d.Writer)
	if len(first) == 0 {
		return fmt.Sprintf("A part of the log of %s is missing in between.\n\nFirst: shedbook sync. If the missing entries were sent anywhere, they come back, and you go on as before. "+
			"If they are gone, go on here with a new key; an owner then stops the old one: shedbook people stop %s --why copied.", deviceName(d), quotedDevice(d))
	}
	var lines []string
	for _, e := range first {
		lines = append(lines, fmt.Sprintf("    entry %d, %s, recorded %s UTC, and %s after it", e.Seq(), e.ID().Short(), e.At().Format("2006-01-02 15:04"), more(b.after(e)-1)))
	}
	return fmt.Sprintf("The key of %s was used in two places. From entry %d on its log goes two ways:\n\n%s\n\n"+
		"This is nearly always innocent: a copied folder, or a backup that was restored. Both ways are kept and count; nothing is lost and nothing is counted twice.\n\n"+
		"Each place goes on with a new key. Then an owner ends the old one: shedbook people stop %s --why copied. Only if somebody else used the key: --why theft --last ENTRY, "+
		"which keeps one way and drops the other.", deviceName(d), first[0].Seq(), strings.Join(lines, "\n"), quotedDevice(d))
}

func more(n int) string {
	if n == 0 {
		return "none"
	}
	return fmt.Sprintf("%d more", n)
}

// quotedDevice is a name of the device that can be typed.
func quotedDevice(d ledger.Device) string {
	if d.Label != "" {
		return fmt.Sprintf("%q", table.Clean(d.Label))
	}
	return d.Writer.String()[:8]
}

// parting are the first entries of a log that continue the same entry, by (time, id); none where it does not part.
func (b *book) parting(w ledger.Writer) []*ledger.Entry {
	next := map[ledger.ID][]*ledger.Entry{}
	var at *ledger.Entry
	for _, e := range b.log.Entries() {
		if e.Writer() != w {
			continue
		}
		next[e.Prev()] = append(next[e.Prev()], e)
		if len(next[e.Prev()]) > 1 && (at == nil || e.Seq() < at.Seq()) {
			at = e
		}
	}
	if at == nil {
		return nil
	}
	out := next[at.Prev()]
	slices.SortFunc(out, func(x, y *ledger.Entry) int {
		if c := x.At().Compare(y.At()); c != 0 {
			return c
		}
		return x.ID().Compare(y.ID())
	})
	return out
}

// after counts an entry and all that continue it.
func (b *book) after(first *ledger.Entry) int {
	n, of := 0, map[ledger.ID]bool{first.ID(): true}
	for _, e := range b.log.Entries() { // each after all it continues
		if of[e.ID()] || e.Writer() == first.Writer() && of[e.Prev()] {
			of[e.ID()] = true
			n++
		}
	}
	return n
}
