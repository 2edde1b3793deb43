package gitstore

import (
	"bytes"
	"fmt"
	"os"
	"strings"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/pelletier/go-toml/v2"

	"shedbook/ledger"
)

// Seen is the last entry of a log that this device appended or verified. It is
// kept in seen/<log>.toml and never synced; by it a log that has become
// shorter, or was replaced, is noticed.
type Seen struct {
	Log    string    `toml:"log"`
	Seq    uint64    `toml:"seq"`
	ID     ledger.ID `toml:"id"`
	Commit string    `toml:"commit"`

	commit plumbing.Hash
}

// Seen returns what this device has seen of each log, in name order.
func (s *Store) Seen() ([]Seen, error) {
	entries, err := os.ReadDir(s.path(seenDir))
	if err != nil {
		if os.IsNotExist(err) {
			return nil, nil
		}
		return nil, err
	}
	var all []Seen
	for _, e := range entries {
		name, ok := strings.CutSuffix(e.Name(), ".toml")
		if !ok {
			continue // an interrupted temporary file
		}
		one, err := s.readSeen(name)
		if err != nil {
			return nil, err
		}
		all = append(all, one)
	}
	return all, nil
}

func (s *Store) readSeen(name string) (Seen, error) {
	path := s.path(seenDir, name+".toml")
	data, err := os.ReadFile(path)
	if err != nil {
		return Seen{}, err
	}
	var one Seen
	if err := toml.NewDecoder(bytes.NewReader(data)).DisallowUnknownFields().Decode(&one); err != nil {
		return Seen{}, &DamagedError{Path: path, Log: name, Why: fmt.Sprintf("it cannot be read (%v); bring it back from a copy of the folder, or delete it to go without", err)}
	}
	var ok bool
	if one.commit, ok = parseHash(one.Commit); !ok || one.Log != name || checkName(name) != nil || one.Seq == 0 {
		return Seen{}, &DamagedError{Path: path, Log: name, Why: "it does not say what was seen of this log; bring it back from a copy of the folder, or delete it to go without"}
	}
	return one, nil
}

// writeSeen comes after the reference has moved.
func (s *Store) writeSeen(one Seen) error {
	one.Commit = one.commit.String()
	data, err := toml.Marshal(one)
	if err != nil {
		return err
	}
	return s.disk.replace(s.path(seenDir, one.Log+".toml"), data, false)
}
