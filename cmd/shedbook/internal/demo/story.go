// Package demo tells the history of a family that does not exist: two farms, three yards, six machines, four people with five devices, three seasons and
// an open one. Every entry is drafted as a command would draft it and signed by its own device's key, in the order its device wrote it.
//
// A story is a pure function of its seed: same seed, same keys, same entries, same ids. Nothing here is taken from any real farm, machine or person.
package demo

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"io"
	"math/rand/v2"
	"sort"
	"time"

	"shedbook/ledger"
	"shedbook/rules/record"
)

// Story is a told history, ready to be stored.
type Story struct {
	Book    ledger.ID
	Devices []*Device // the founder's first
	Runs    []Run     // in the order they were written
	LastDay string    // YYYY-MM-DD
}

// Run is what one run of a command wrote.
type Run struct {
	Log     string
	Entries []*ledger.Entry
}

// Device is one made-up device.
type Device struct {
	Name   string // "wren-laptop"
	Label  string
	Writer ledger.Writer
	PEM    []byte // its private key, OpenSSH format
	key    *ledger.Key
}

// Entries are all of them, in the order they were written.
func (s *Story) Entries() []*ledger.Entry {
	var out []*ledger.Entry
	for _, r := range s.Runs {
		out = append(out, r.Entries...)
	}
	return out
}

// act is one planned entry: drafted only when its turn comes, so that it can name entries written before it.
type act struct {
	at     time.Time // when it is written
	device string
	draft  func(*teller) (ledger.Draft, error)
	then   func(*teller, *ledger.Entry)
}

// teller holds what is being told.
type teller struct {
	random   io.Reader  // keys and salts
	dice     *rand.Rand // the story's chances: rain, acres, who is late
	clock    *rand.Rand // at what minute a day is written up; apart, so that one entry more leaves the weather as it is
	book     *ledger.Book
	story    *Story
	devices  map[string]*Device
	acts     []act
	ids      map[string]record.ID         // names of entries that others cite
	keys     map[string]ledger.MachineKey // machine or shelf -> key
	machines map[string]*machine
}

// Tell makes the story of one seed.
func Tell(seed uint64) (*Story, error) {
	var s [8]byte
	binary.BigEndian.PutUint64(s[:], seed)
	t := &teller{
		random: rand.NewChaCha8(sha256.Sum256(append([]byte("shedbook demo salts"), s[:]...))),
		dice:   rand.New(rand.NewChaCha8(sha256.Sum256(append([]byte("shedbook demo dice"), s[:]...)))),
		clock:  rand.New(rand.NewChaCha8(sha256.Sum256(append([]byte("shedbook demo clock"), s[:]...)))),
		story:  &Story{}, devices: map[string]*Device{}, ids: map[string]record.ID{}, keys: map[string]ledger.MachineKey{}, machines: map[string]*machine{},
	}
	if err := t.found(); err != nil {
		return nil, err
	}
	if err := t.plan(); err != nil {
		return nil, err
	}
	sort.SliceStable(t.acts, func(i, j int) bool { return t.acts[i].at.Before(t.acts[j].at) })
	for i := 0; i < len(t.acts); i++ { // an act may plan others, always later ones
		if err := t.write(t.acts[i]); err != nil {
			return nil, err
		}
	}
	return t.story, nil
}

// device makes a key.
func (t *teller) device(name, label string) (*Device, error) {
	key, err := ledger.NewKey(t.random)
	if err != nil {
		return nil, err
	}
	pem, err := key.Marshal("made-up key of a shedbook demo: "+label, nil)
	if err != nil {
		return nil, err
	}
	d := &Device{Name: name, Label: label, Writer: ledger.WriterOf(key.Public()), PEM: pem, key: key}
	t.devices[name] = d
	t.story.Devices = append(t.story.Devices, d)
	return d, nil
}

// write signs one act as the next entry of its device's log.
func (t *teller) write(a act) error {
	d := t.devices[a.device]
	if d == nil {
		return fmt.Errorf("demo: no device %q", a.device)
	}
	draft, err := a.draft(t)
	if err != nil {
		return fmt.Errorf("demo, %s by %s: %w", a.at.Format("2006-01-02"), a.device, err)
	}
	if r, ok := draft.Record.(record.Record); ok {
		if err := r.Check(); err != nil {
			return fmt.Errorf("demo, %s %s by %s: %w", a.at.Format("2006-01-02"), r.Kind(), a.device, err)
		}
	}
	e, err := t.sign(d, draft, a.at)
	if err != nil {
		return err
	}
	last := len(t.story.Runs) - 1
	if last >= 0 && t.story.Runs[last].Log == d.Writer.String() && a.at.Sub(t.story.Runs[last].Entries[0].At()) < 20*time.Minute {
		t.story.Runs[last].Entries = append(t.story.Runs[last].Entries, e)
	} else {
		t.story.Runs = append(t.story.Runs, Run{Log: d.Writer.String(), Entries: []*ledger.Entry{e}})
	}
	if a.then != nil {
		a.then(t, e)
	}
	return nil
}

func (t *teller) sign(d *Device, draft ledger.Draft, at time.Time) (*ledger.Entry, error) {
	draft.At = at.UTC().Truncate(time.Second)
	pos := ledger.Position{Seq: 1, Depth: 1}
	if t.book != nil {
		var err error
		if pos, err = t.book.Next(d.Writer); err != nil {
			return nil, err
		}
	}
	e, err := ledger.Sign(draft, pos, d.key, t.random)
	if err != nil {
		return nil, err
	}
	if t.book == nil {
		t.book, err = ledger.Load([]ledger.Log{{Name: d.Writer.String(), Lines: [][]byte{e.Line()}}})
	} else {
		err = t.book.Append(e)
	}
	return e, err
}

func idOf(e *ledger.Entry) record.ID { return record.ID(e.ID().String()) }
