package main

import (
	"errors"
	"fmt"
	"time"

	"shedbook/cmd/shedbook/internal/keyring"
	"shedbook/ledger"
	"shedbook/ledger/gitstore"
	"shedbook/rules"
	"shedbook/rules/record"
)

// writing is one run of a command that records: the book under its write lock, the entries signed so far, and what to say once they are safe.
type writing struct {
	*book
	signer  ledger.Signer
	writer  ledger.Writer
	logName string
	run     []*ledger.Entry
	signing *ledger.Signing // of much at once: signed beside the work, and whole before anything is stored
	after   []func() error
	brought map[ledger.ID][]byte // papers that the entries may name
}

// write opens the book, takes its lock, lets fn sign entries, and acknowledges them only when they are durable. With --dry-run nothing is stored and
// what would be recorded is said.
func (c *call) write(fn func(*writing) error) error {
	b, err := c.open()
	if err != nil {
		return err
	}
	return b.write(fn)
}

// writeAs is write, signed with the recovery key where that is asked for.
func (c *call) writeAs(recovery bool, fn func(*writing) error) error {
	if !recovery {
		return c.write(fn)
	}
	b, err := c.open()
	if err != nil {
		return err
	}
	signer, ring, err := b.recoverySigner()
	if err != nil {
		return err
	}
	return b.writeSigned(signer, ring, fn)
}

func (b *book) write(fn func(*writing) error) error {
	err := b.writeOnce(fn)
	var t *keyTrouble
	if !errors.As(err, &t) {
		return err
	}
	if settled, err := b.settle(t); err != nil || !settled {
		return err
	}
	return b.writeOnce(fn)
}

func (b *book) writeOnce(fn func(*writing) error) error {
	signer, ring, err := b.signer()
	if err != nil {
		return err
	}
	return b.writeSigned(signer, ring, fn)
}

func (b *book) writeSigned(signer ledger.Signer, ring *keyring.Ring, fn func(*writing) error) error {
	w := &writing{book: b, signer: signer, writer: ledger.WriterOf(signer.Public())}
	w.logName = w.writer.String()
	stored, newest := false, time.Time{}
	update := b.store.Update
	if b.bulk {
		update = b.store.Bulk
	}
	err := update(func(tx *gitstore.Tx) error {
		if b.signed || !tx.Unchanged() { // what others wrote while we waited for the lock
			logs, err := tx.Logs()
			if err != nil {
				return err
			}
			if err := b.load(logs); err != nil {
				return err
			}
		}
		if why := b.judged.ReadOnly(); why != "" {
			return failed("newer", "install the newer shedbook", "this book can only be read: %s", why)
		}
		if d, ok := b.judged.Device(w.writer); ok && d.Role == ledger.RoleRecovery && d.Entries == 0 {
			if err := w.open(); err != nil {
				return err
			}
		}
		if len(b.log.Tips(w.writer)) == 0 {
			return failed("unknown-key", "sign with the key that takes part in this book, see shedbook people list",
				"the key %s does not take part in the book in %s", ledger.SSHFingerprint(signer.Public()), b.store.Dir())
		}
		if err := w.mayContinue(ring); err != nil {
			return err
		}
		newest = w.newest()
		if err := w.fill(fn); err != nil {
			return err
		}
		if len(w.run) == 0 || b.c.dryRun {
			return nil
		}
		if err := tx.Append(w.logName, w.run, w.papers()...); err != nil {
			return err
		}
		return tx.Durable(func() error {
			stored = true
			if b.stays {
				b.signed = false // what is held is what is stored
			}
			if b.local.Demo {
				return nil
			}
			last := w.run[len(w.run)-1]
			return ring.SetLast(w.writer, keyring.Last{Mark: b.store.Mark(), Seq: last.Seq(), ID: last.ID().String()})
		})
	})
	var said *userError
	switch {
	case err == nil:
	case errors.As(err, &said):
		return err
	case stored: // durable already: what failed is tidying up, which the next run does
		b.c.say("the entry is safe, but: %v\n", err)
	default:
		return notStored(b.store.Dir(), err)
	}
	if b.c.dryRun {
		b.c.say("dry run: nothing was recorded\n")
	}
	if stored {
		w.sayClock(newest)
	}
	for _, f := range w.after {
		if err := f(); err != nil {
			return err
		}
	}
	if d, _ := b.judged.Device(w.writer); d.Pending && stored {
		b.c.say("  this device is not admitted yet: what it records is kept, and counts once an owner admits it (shedbook people key shows its six words)\n")
	}
	return b.soundness()
}

// fill lets fn sign entries. When it returns, every signature is made and verified.
func (w *writing) fill(fn func(*writing) error) error {
	if !w.bulk {
		return fn(w)
	}
	w.signing = ledger.NewSigning(w.signer)
	err := fn(w)
	if unsigned := w.signing.Wait(); err == nil && unsigned != nil {
		err = notSigned(unsigned)
	}
	return err
}

func notSigned(err error) error {
	return failed("not-signed", "", "nothing was recorded: %v", err)
}

// add signs one entry as the next of this device's log. key is the machine's for work, nil for shared entries.
func (w *writing) add(r record.Record, p *record.Private, key *ledger.MachineKey) (*ledger.Entry, error) {
	if err := r.Check(); err != nil {
		return nil, failed("bad-record", "", "%s: %v", r.Kind(), err)
	}
	d := ledger.Draft{Class: ledger.Shared, Kind: r.Kind(), Record: r}
	if rules.OwnersOnly(r.Kind()) {
		if err := w.leads(ownersWork[r.Kind()]); err != nil {
			return nil, err
		}
	}
	if record.IsWork(r) {
		if key == nil {
			return nil, fmt.Errorf("%s entry without its machine's key", r.Kind())
		}
		d.Class, d.Machine = ledger.Work, key
	}
	if p = w.c.hand.claim(p); p != nil {
		if err := p.Check(); err != nil {
			return nil, failed("bad-record", "", "%s: %v", r.Kind(), err)
		}
		d.Private = p
	}
	return w.sign(d)
}

func (w *writing) sign(d ledger.Draft) (*ledger.Entry, error) {
	at, err := w.log.Next(w.writer)
	if err != nil {
		return nil, forkedError(err)
	}
	d.At = w.c.now().UTC().Truncate(time.Second)
	if d.At.Before(at.PrevAt) {
		d.At = at.PrevAt // this computer's clock went back; the log never does
	}
	var e *ledger.Entry
	if w.signing != nil && d.Class != ledger.Control {
		e, err = w.signing.Sign(d, at, w.c.random)
	} else {
		e, err = ledger.Sign(d, at, w.signer, w.c.random)
	}
	if err != nil {
		return nil, notSigned(err)
	}
	if err := w.log.Append(e); err != nil {
		return nil, err
	}
	w.run, w.signed = append(w.run, e), true
	if d.Class == ledger.Control {
		w.judged = w.log.Judge()
	}
	w.follow(e)
	return e, nil
}

func forkedError(err error) error {
	var forked *ledger.Forked
	if errors.As(err, &forked) {
		return failed("forked", newKeyHint, "%v", err)
	}
	return err
}

// ownersWork says in words what only owners record.
var ownersWork = map[string]string{
	"farm": "adds farms", "yard": "adds yards", "shelf": "adds parts shelves", "schedule": "puts a schedule into use", "override": "changes a schedule's values",
	"machine": "adds machines", "lend": "lends machines", "sell": "sells machines",
}

// then runs once the entries are safe; what it prints is the answer.
func (w *writing) then(f func() error) { w.after = append(w.after, f) }
