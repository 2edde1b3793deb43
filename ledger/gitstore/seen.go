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

	// LostSeq and LostID name the last entry this device had seen where [Store.Mend]
	// found that entries up to it are gone; Seq may then be 0. They stand until
	// that entry is held again.
	LostSeq uint64 `toml:"lost_seq,omitempty"`
	LostID  string `toml:"lost_id,omitempty"`

	commit plumbing.Hash
}

// lost returns the last entry that was lost; ok is false if none was.
func (one Seen) lost() (seq uint64, id ledger.ID, ok bool) {
	id, err := ledger.ParseID(one.LostID)
	return one.LostSeq, id, err == nil && one.LostSeq > 0
}

// Seen returns what this device has seen of each log, in name order.
func (s *Store) Seen() ([]Seen, error) {
	entries, err := os.ReadDir(s.path(seenDir))
	if os.IsNotExist(err) {
		return nil, s.seenGone()
	}
	if err != nil {
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

// seenGone says that nothing is known of what this device has seen: a log that
// was set back would not be noticed, and nothing is appended.
func (s *Store) seenGone() error {
	return &DamagedError{Path: s.path(seenDir), Why: "it is missing or empty, so that what this device had seen is forgotten"}
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
	_, _, lost := one.lost()
	var ok bool
	if one.commit, ok = parseHash(one.Commit); one.Seq == 0 && lost {
		ok = one.Commit == ""
	} else if one.Seq == 0 {
		ok = false
	}
	if !ok || one.Log != name || checkName(name) != nil || lost != (one.LostSeq > 0 || one.LostID != "") {
		return Seen{}, &DamagedError{Path: path, Log: name, Why: "it does not say what was seen of this log; bring it back from a copy of the folder, or delete it to go without"}
	}
	return one, nil
}

// writeSeen comes after the reference has moved. That entries were lost stays
// noted until the last of them is held again.
func (s *Store) writeSeen(one Seen) error {
	if old, err := s.readSeen(one.Log); err == nil && one.LostSeq == 0 {
		if seq, id, lost := old.lost(); lost && (one.Seq != seq || one.ID != id) {
			one.LostSeq, one.LostID = old.LostSeq, old.LostID
		}
	}
	return s.putSeen(one)
}

// putSeen writes a note as it is.
func (s *Store) putSeen(one Seen) error {
	if one.Commit = ""; !one.commit.IsZero() {
		one.Commit = one.commit.String()
	}
	data, err := toml.Marshal(one)
	if err != nil {
		return err
	}
	return s.disk.replace(s.path(seenDir, one.Log+".toml"), data, false)
}
