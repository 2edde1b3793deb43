package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"shedbook/cmd/shedbook/internal/keyring"
	"shedbook/ledger"
	"shedbook/ledger/gitstore"
	"shedbook/rules/record"
)

// A long history is a book of 50 machines, 10 devices and ten years, with as many entries as asked for: two a run, 5 in 100 written up days late, 2 in 100
// corrections. Counters, jobs, settings, readings, parts and seasons are those of the built-in schedules, so that what is asked of the book has an answer.
// The same size and seed give the same entries. Everything is made up.
const (
	historyForm    = 1 // counts up when the same seed gives another history: kept books are then made anew
	historyYears   = 10
	historyWriters = 10
	historyOwners  = 3                    // of the writers, the first of them the founder
	historyDays    = historyYears*365 + 3 // from historyFirst to 31 October 2026
)

var historyFirst = time.Date(2016, 11, 1, 0, 0, 0, 0, time.UTC)

// historyDay is a day of the history, the first being 0.
func historyDay(n int) time.Time { return historyFirst.AddDate(0, 0, n) }

// historyBook gives a book with so many entries. Where SHEDBOOK_BENCH_DIR names a folder it is kept there and made once: who writes to it works on a copy.
func historyBook(tb testing.TB, entries int, seed uint64) *testBook {
	tb.Helper()
	dir := os.Getenv("SHEDBOOK_BENCH_DIR")
	if dir == "" {
		dir = tb.TempDir()
	}
	dir, err := filepath.Abs(filepath.Join(dir, fmt.Sprintf("history-%d-%d-%d", historyForm, entries, seed)))
	if err != nil {
		tb.Fatal(err)
	}
	if _, err := os.Stat(dir); err != nil {
		making := dir + ".making"
		if err := os.RemoveAll(making); err != nil {
			tb.Fatal(err)
		}
		started := time.Now()
		made := tellLongHistory(heldIn(tb, making), entries, seed)
		if err := os.Rename(making, dir); err != nil {
			tb.Fatal(err)
		}
		tb.Logf("made a book of %d entries in %.1f s", made, time.Since(started).Seconds())
	}
	return heldIn(tb, dir)
}

// heldIn is the book in a folder, its keys beside it.
func heldIn(tb testing.TB, dir string) *testBook {
	d := &testBook{t: tb, dir: filepath.Join(dir, "book"), vars: map[string]string{"SHEDBOOK_CONFIG": filepath.Join(dir, "config"), "COLUMNS": "80"}}
	d.vars["SHEDBOOK_BOOK"] = d.dir
	d.now = historyDay(historyDays - 1).Add(21 * time.Hour)
	return d
}

// copied is a copy of a book with its keys, to write to.
func (b *testBook) copied() *testBook {
	b.t.Helper()
	dir := filepath.Join(b.t.TempDir(), "copy")
	if err := os.CopyFS(dir, os.DirFS(filepath.Dir(b.dir))); err != nil {
		b.t.Fatal(err)
	}
	if err := filepath.WalkDir(filepath.Join(dir, "config"), func(path string, e os.DirEntry, err error) error {
		if err == nil && !e.IsDir() {
			err = os.Chmod(path, 0o600) // keys that others can read are refused
		}
		return err
	}); err != nil {
		b.t.Fatal(err)
	}
	return heldIn(b.t, dir)
}

// longHistory is one being told.
type longHistory struct {
	tb       testing.TB
	dice     *rand.Rand // what happens
	salts    io.Reader
	writings []*writing // of the devices, while the book is begun
	devices  []*historyDevice
	machines []*historyMachine
	shelves  []*historyMachine // a shelf has a key as a machine has
	persons  []record.ID       // without devices
	yards    []record.ID
	book     ledger.ID
	made     int // entries so far
	of       int // entries wanted
	runs     chan historyRun
	gone     chan struct{} // closed when nobody takes runs any more
}

type historyRun struct {
	log     string
	entries []*ledger.Entry
}

// historyDevice is one writer's log: where it ends and what it knows of the others.
type historyDevice struct {
	signer ledger.Signer
	writer ledger.Writer
	tip    historyTip
	at     time.Time                    // of the last entry
	held   map[ledger.Writer]historyTip // the others' ends as of the last sync
	cited  map[ledger.Writer]uint64     // how far the log cites the others
	recent []*historyEntry              // its latest that can be corrected
}

type historyTip struct {
	ref   ledger.Ref
	depth uint64
}

// historyEntry is one that may be corrected or struck.
type historyEntry struct {
	m      *historyMachine
	id     record.ID
	record record.Record
}

func seeded(what string, seed uint64) *rand.ChaCha8 {
	return rand.NewChaCha8(sha256.Sum256(binary.BigEndian.AppendUint64([]byte("shedbook history "+what), seed)))
}

// tellLongHistory makes the book and returns how many entries it has. The entries are signed on one core while another stores them.
func tellLongHistory(d *testBook, entries int, seed uint64) int {
	d.t.Helper()
	d.rand, d.now = seeded("salts", seed), historyFirst.Add(8*time.Hour)
	d.must("new", d.dir, "--name", "A long history (made up)", "--me", "Person 1", "--farm", "Farm 1", "--yard", "yard-1", "--units", "us")
	h := &longHistory{tb: d.t, dice: rand.New(seeded("dice", seed)), salts: d.rand, of: entries, runs: make(chan historyRun, 512), gone: make(chan struct{})}
	mark, ring := h.begin(d)
	failed := make(chan error, 1)
	go func() {
		defer close(h.runs)
		failed <- h.tell()
	}()
	store, err := gitstore.Open(d.dir)
	if err != nil {
		d.t.Fatal(err)
	}
	defer store.Close()
	err = store.Bulk(func(tx *gitstore.Tx) error {
		for r := range h.runs {
			if err := tx.Append(r.log, r.entries); err != nil {
				return err
			}
		}
		return nil
	})
	close(h.gone)
	if err == nil {
		err = <-failed
	}
	if err == nil {
		last := h.devices[0].tip.ref
		err = ring.SetLast(last.Writer, keyring.Last{Mark: mark, Seq: last.Seq, ID: last.ID.String()})
	}
	if err != nil {
		d.t.Fatal(err)
	}
	return h.made
}

// tell writes day after day until all entries are there.
func (h *longHistory) tell() error {
	runs := (h.of - h.made - h.seasonEntries() - h.zeroings()) / 2
	for day, done := 0, 0; day < historyDays; day++ {
		if err := h.seasonsOn(day); err != nil {
			return err
		}
		for _, d := range h.devices { // a device syncs every other day or so, and holds then what all had written by the evening before
			if h.dice.IntN(2) == 0 {
				for _, o := range h.devices {
					d.held[o.writer] = o.tip
				}
			}
		}
		today := runs*(day+1)/historyDays - done
		minutes := make([]int, today)
		for i := range minutes {
			minutes[i] = h.dice.IntN(14*60*60) + 6*60*60
		}
		slices.Sort(minutes)
		for _, second := range minutes {
			if err := h.session(day, second); err != nil {
				return err
			}
		}
		done += today
		if err := h.zeroesOn(day); err != nil {
			return err
		}
	}
	return nil
}

// run hands a run to whoever stores it.
func (h *longHistory) run(d *historyDevice, entries []*ledger.Entry) error {
	select {
	case h.runs <- historyRun{d.writer.String(), entries}:
		return nil
	case <-h.gone:
		return fmt.Errorf("nothing more could be stored")
	}
}

// sign makes the next entry of a device's log.
func (h *longHistory) sign(d *historyDevice, at time.Time, r record.Record, p *record.Private, key *ledger.MachineKey) (*ledger.Entry, error) {
	if err := r.Check(); err != nil {
		return nil, fmt.Errorf("%s: %w", r.Kind(), err)
	}
	draft := ledger.Draft{Class: ledger.Shared, Kind: r.Kind(), Record: r, At: at, Machine: key}
	if key != nil {
		draft.Class = ledger.Work
	}
	if p != nil {
		draft.Private = p
	}
	pos := ledger.Position{Book: h.book, Seq: d.tip.ref.Seq + 1, Prev: d.tip.ref.ID, Depth: d.tip.depth + 1, PrevAt: d.at}
	for _, o := range h.devices {
		t, ok := d.held[o.writer]
		if o == d || !ok || t.ref.Seq <= d.cited[o.writer] {
			continue
		}
		d.cited[o.writer] = t.ref.Seq
		pos.Seen = append(pos.Seen, t.ref)
		pos.Depth = max(pos.Depth, t.depth+1)
	}
	slices.SortFunc(pos.Seen, ledger.Ref.Compare)
	e, err := ledger.Sign(draft, pos, d.signer, h.salts)
	if err != nil {
		return nil, err
	}
	d.tip, d.at = historyTip{e.Ref(), e.Depth()}, e.At()
	h.made++
	return e, nil
}

// clone is a record of its own with the same content.
func clone(r record.Record) (record.Record, error) {
	raw, err := record.Encode(r)
	if err != nil {
		return nil, err
	}
	return record.Decode(r.Kind(), bytes.Clone(raw))
}
