package gitstore

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/pelletier/go-toml/v2"

	"shedbook/ledger"
)

// targetsDir holds one file for each target: what it had when it was last
// exchanged with. It is never synced. By it a target that lost entries is
// noticed, and one that has nothing new is known without reading its history.
const targetsDir = "targets"

// Target is a place this book has been exchanged with.
type Target struct {
	Address string    // folder or address, without secrets
	Last    time.Time // when that was last done
}

// Targets returns the places this book has been exchanged with, the last one
// first. An unreadable note of one is passed over.
func (s *Store) Targets() ([]Target, error) {
	entries, err := os.ReadDir(s.path(targetsDir))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	var all []Target
	for _, e := range entries {
		if !strings.HasSuffix(e.Name(), ".toml") {
			continue
		}
		if m, err := readMemory(s.path(targetsDir, e.Name())); err == nil && m.Target != "" {
			all = append(all, Target{m.Target, m.Last})
		}
	}
	slices.SortStableFunc(all, func(a, b Target) int {
		if c := b.Last.Compare(a.Last); c != 0 {
			return c
		}
		return strings.Compare(a.Address, b.Address)
	})
	known := map[string]bool{}
	return slices.DeleteFunc(all, func(t Target) bool { // two sticks in one place are one address
		again := known[t.Address]
		known[t.Address] = true
		return again
	}), nil
}

// targetMemory is what a target had at the end of the last exchange with it.
type targetMemory struct {
	Target string      `toml:"target"`
	ID     string      `toml:"id,omitempty"` // the target's own
	Last   time.Time   `toml:"last"`
	Logs   []memoryLog `toml:"logs"`

	byName map[string]memoryLog
	path   string
	was    []byte
}

// memoryLog is one log as the target had it, all of whose entries are held
// here. The commit may be another than ours for the same entries.
type memoryLog struct {
	Log    string    `toml:"log"`
	Seq    uint64    `toml:"seq"`
	ID     ledger.ID `toml:"id"`
	Commit string    `toml:"commit"`
}

// memoryOf returns what is remembered of a target: by its own name where it has
// one, so that of two sticks in the same place each has a memory.
func (s *Store) memoryOf(t target) *targetMemory {
	key := t.id()
	if key == "" {
		key = t.name()
	}
	sum := sha256.Sum256([]byte(key))
	path := s.path(targetsDir, hex.EncodeToString(sum[:8])+".toml")
	m, err := readMemory(path)
	if err != nil || m.ID != t.id() || m.ID == "" && m.Target != t.name() {
		m = &targetMemory{byName: map[string]memoryLog{}} // none, or damaged: all is read anew
	}
	m.Target, m.ID, m.path = t.name(), t.id(), path
	if t.begun() { // where it stands there may have been one before: it was wiped
		if last := s.lastAt(t.name()); last != nil {
			m.byName = last.byName
		}
	}
	return m
}

// lastAt returns the memory of the target last exchanged with at an address.
func (s *Store) lastAt(address string) *targetMemory {
	files, err := filepath.Glob(s.path(targetsDir, "*.toml"))
	if err != nil {
		return nil
	}
	var last *targetMemory
	for _, path := range files {
		m, err := readMemory(path)
		if err == nil && m.Target == address && (last == nil || m.Last.After(last.Last)) {
			last = m
		}
	}
	return last
}

// knows reports whether there was a target of ours in that place.
func (s *Store) knows(address string) bool {
	return s.lastAt(address) != nil
}

func readMemory(path string) (*targetMemory, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	m := &targetMemory{byName: map[string]memoryLog{}, was: data}
	if err := toml.Unmarshal(data, m); err != nil {
		return nil, err
	}
	for _, l := range m.Logs {
		m.byName[l.Log] = l
	}
	return m, nil
}

// commit returns the commit that stands for an entry the target had.
func (l memoryLog) commit() plumbing.Hash {
	hash, _ := parseHash(l.Commit)
	return hash
}

// write keeps the memory; it is a convenience, so that a failure is not one of
// the exchange.
func (m *targetMemory) write(s *Store, now time.Time) {
	slices.SortFunc(m.Logs, func(a, b memoryLog) int { return strings.Compare(a.Log, b.Log) })
	if !now.IsZero() {
		m.Last = now.UTC().Truncate(time.Second)
	}
	data, err := toml.Marshal(m)
	if err != nil || bytes.Equal(data, m.was) {
		return
	}
	if s.disk.mkdir(s.path(targetsDir)) == nil {
		_ = s.disk.replace(m.path, data, false)
	}
}
