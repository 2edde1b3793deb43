package gitstore

import (
	"bytes"
	"crypto/ed25519"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"testing"
	"time"

	"shedbook/ledger"
)

// seeded is a random source that repeats itself: the tests' entries are the
// same each time.
func seeded(seed string) *rand.ChaCha8 {
	var key [32]byte
	copy(key[:], seed)
	return rand.NewChaCha8(key)
}

// device is a made-up device that signs entries in a row.
type device struct {
	key    *ledger.Key
	name   string // of its log
	random *rand.ChaCha8
	book   ledger.ID
	at     ledger.Position
	clock  time.Time
}

func newDevice(t testing.TB, seed string, book ledger.ID) *device {
	t.Helper()
	d, err := makeDevice(seed, book)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func makeDevice(seed string, book ledger.ID) (*device, error) {
	random := seeded(seed)
	key, err := ledger.NewKey(random)
	if err != nil {
		return nil, err
	}
	return &device{
		key: key, random: random, book: book,
		name:  ledger.WriterOf(key.Public()).String(),
		at:    ledger.Position{Book: book, Seq: 1},
		clock: time.Date(2026, 4, 1, 6, 0, 0, 0, time.UTC),
	}, nil
}

func (d *device) sign(t testing.TB, draft ledger.Draft) *ledger.Entry {
	t.Helper()
	e, err := d.make(draft)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

func (d *device) make(draft ledger.Draft) (*ledger.Entry, error) {
	d.clock = d.clock.Add(7 * time.Minute)
	draft.At = d.clock
	e, err := ledger.Sign(draft, d.at, d.key, d.random)
	if err == nil {
		d.follow(e)
	}
	return e, err
}

// follow makes the next entry stand behind e.
func (d *device) follow(e *ledger.Entry) {
	if d.book.IsZero() {
		d.book = e.ID()
	}
	d.at = ledger.Position{Book: d.book, Seq: e.Seq() + 1, Prev: e.ID(), Depth: e.Depth() + 1, PrevAt: e.At()}
}

// first signs the entry that begins the device's log.
func (d *device) first(t testing.TB) *ledger.Entry {
	pub := ledger.PublicKeyOf(d.key.Public())
	if d.book.IsZero() {
		recovery := ed25519.NewKeyFromSeed(bytes.Repeat([]byte{7}, ed25519.SeedSize)).Public().(ed25519.PublicKey)
		return d.sign(t, ledger.Draft{Class: ledger.Control, Kind: "found", Record: ledger.Found{
			Title: "Thistledown Farms", Key: pub, Recovery: ledger.PublicKeyOf(recovery)}})
	}
	return d.sign(t, ledger.Draft{Class: ledger.Control, Kind: "request", Record: ledger.Request{Key: pub}})
}

// note signs an ordinary entry of a few hundred bytes.
func (d *device) note(t testing.TB) *ledger.Entry { return d.sign(t, d.noteDraft()) }

func (d *device) noteDraft() ledger.Draft {
	return ledger.Draft{Class: ledger.Shared, Kind: "season", Record: map[string]any{
		"name": fmt.Sprintf("spring seeding, trial %016x", d.random.Uint64())}}
}

func (d *device) notes(t testing.TB, n int) []*ledger.Entry {
	entries := make([]*ledger.Entry, n)
	for i := range entries {
		entries[i] = d.note(t)
	}
	return entries
}

// newBook makes a store with the founding entry in it.
func newBook(t testing.TB) (*Store, *device) {
	t.Helper()
	return newBookAt(t, filepath.Join(t.TempDir(), "book"), "founder")
}

func newBookAt(t testing.TB, dir, seed string) (*Store, *device) {
	t.Helper()
	founder := newDevice(t, seed, ledger.ID{})
	found := founder.first(t)
	s, err := Create(dir, found.ID())
	if err != nil {
		t.Fatal(err)
	}
	appendTo(t, s, founder.name, found)
	return s, founder
}

// newWriter begins a second device's log in the book.
func newWriter(t testing.TB, s *Store, seed string) *device {
	t.Helper()
	d := newDevice(t, seed, s.BookID())
	appendTo(t, s, d.name, d.first(t))
	return d
}

func appendTo(t testing.TB, s *Store, log string, entries ...*ledger.Entry) {
	t.Helper()
	if err := s.Update(func(tx *Tx) error { return tx.Append(log, entries) }); err != nil {
		t.Fatal(err)
	}
}

func reopen(t testing.TB, s *Store) *Store {
	t.Helper()
	again, err := Open(s.Dir())
	if err != nil {
		t.Fatal(err)
	}
	return again
}

func linesOf(t testing.TB, s *Store) map[string][][]byte {
	t.Helper()
	logs, err := s.Logs()
	if err != nil {
		t.Fatal(err)
	}
	all := map[string][][]byte{}
	for i, l := range logs {
		if i > 0 && logs[i-1].Name >= l.Name {
			t.Errorf("logs out of order: %s before %s", logs[i-1].Name, l.Name)
		}
		all[l.Name] = l.Lines
	}
	return all
}

// wantSound checks that the book verifies without a single finding that is an
// error.
func wantSound(t testing.TB, s *Store) *ledger.Book {
	t.Helper()
	logs, err := s.Logs()
	if err != nil {
		t.Fatal(err)
	}
	book, err := ledger.Load(logs)
	if err != nil {
		t.Fatal(err)
	}
	if err := book.Sound(); err != nil {
		t.Fatal(err)
	}
	return book
}

// positionAfter reads where the entry after line goes.
func positionAfter(book ledger.ID, line []byte) (ledger.Position, error) {
	var outer struct {
		Head struct {
			Depth uint64 `json:"depth"`
		} `json:"head"`
	}
	head, err := headOf(line)
	if err != nil {
		return ledger.Position{}, err
	}
	if err := json.Unmarshal(line, &outer); err != nil {
		return ledger.Position{}, err
	}
	return ledger.Position{Book: book, Seq: head.seq + 1, Prev: head.id, Depth: outer.Head.Depth + 1, PrevAt: head.at}, nil
}
