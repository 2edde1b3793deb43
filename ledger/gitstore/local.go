package gitstore

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"shedbook/ledger"
)

// storeVersion is the form of the folder this program writes.
const storeVersion = 1

// Local is what only this device needs to know of a book: the content of
// local.toml. It is never synced.
type Local struct {
	Version int    `toml:"version"`            // form of the folder
	Book    string `toml:"book"`               // id of the founding entry, 64 hex characters
	Mark    string `toml:"mark"`               // random hex made by Create; tells a copied folder from its original
	Units   string `toml:"units,omitempty"`    // "us" or "metric"; how figures are shown
	Writer  string `toml:"writer,omitempty"`   // the log this device writes
	Demo    bool   `toml:"demo,omitempty"`     // a made-up book to play with
	Keys    string `toml:"keys,omitempty"`     // folder of the signing keys, where it is not the usual one
	KeyFile string `toml:"key_file,omitempty"` // the signing key itself, where the person chose one
	Today   string `toml:"today,omitempty"`    // a made-up book's last day, YYYY-MM-DD: what it calls today

	Places  []Place  `toml:"place,omitempty"`  // where this device exchanges the book
	Layouts []Layout `toml:"layout,omitempty"` // how tables of other programs were read
	Known   []Known  `toml:"known,omitempty"`  // which machines files of other programs mean
}

// Layout is how a table with a certain heading was read.
type Layout struct {
	Heading string            `toml:"heading"` // digest of the heading's cells
	Columns map[string]string `toml:"columns,omitempty"`
	Set     map[string]string `toml:"set,omitempty"`   // what holds for every row
	Means   map[string]string `toml:"means,omitempty"` // the file's words and ours
	Dates   string            `toml:"dates,omitempty"`
	Decimal string            `toml:"decimal,omitempty"`
}

// Known is a machine as files of other programs name it.
type Known struct {
	As      string `toml:"as"`      // an identifier in the file
	Machine string `toml:"machine"` // its id in the book
}

// Place is a target that a person named, and how this device logs in there. It
// holds no secret.
type Place struct {
	Name      string `toml:"name"`                 // as people call it
	Address   string `toml:"address"`              // folder or address, as [Store.Sync] takes it
	User      string `toml:"user,omitempty"`       // logs in under this name
	Identity  string `toml:"identity,omitempty"`   // private key file for ssh
	TokenFile string `toml:"token_file,omitempty"` // file that holds a token for https
}

// Local returns this device's settings.
func (s *Store) Local() Local {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.local
}

// SetLocal replaces this device's settings, whole or not at all. Version, Book
// and Mark are fixed when the book is made and cannot be changed here.
func (s *Store) SetLocal(l Local) error {
	unlock, err := s.lock()
	if err != nil {
		return err
	}
	defer unlock()
	now := s.Local()
	if l.Version != now.Version || l.Book != now.Book || l.Mark != now.Mark {
		return fmt.Errorf("the form, the book and the mark in %q are fixed", s.path(localFile))
	}
	if err := writeLocal(s.disk, s.path(localFile), l); err != nil {
		return err
	}
	s.mu.Lock()
	s.local = l
	s.mu.Unlock()
	return nil
}

func writeLocal(d disk, path string, l Local) error {
	data, err := toml.Marshal(l)
	if err != nil {
		return err
	}
	const head = "# What only this device needs to know of the book. Not synced.\n"
	return d.replace(path, append([]byte(head), data...), true)
}

func readLocal(path string) (Local, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return Local{}, err
	}
	var form struct {
		Version int `toml:"version"`
	}
	if err := toml.Unmarshal(data, &form); err != nil {
		return Local{}, localError(path, err)
	}
	if form.Version > storeVersion {
		return Local{}, &NewerError{Dir: filepath.Dir(path), Version: form.Version}
	}
	var l Local
	dec := toml.NewDecoder(bytes.NewReader(data)).DisallowUnknownFields()
	if err := dec.Decode(&l); err != nil {
		return Local{}, localError(path, err)
	}
	if l.Version != storeVersion {
		return Local{}, fmt.Errorf("%s: version must be %d, found %d", path, storeVersion, l.Version)
	}
	if id, err := ledger.ParseID(l.Book); err != nil || id.IsZero() {
		return Local{}, fmt.Errorf("%s: book must be the 64 hex characters of the founding entry's id, found %q", path, l.Book)
	}
	if l.Mark == "" {
		return Local{}, fmt.Errorf("%s: the mark of this device is missing", path)
	}
	return l, nil
}

// localError says where in local.toml the mistake stands.
func localError(path string, err error) error {
	var strict *toml.StrictMissingError
	if errors.As(err, &strict) && len(strict.Errors) > 0 {
		row, col := strict.Errors[0].Position()
		return fmt.Errorf("%s:%d:%d: %q is not a setting of this program", path, row, col, strings.Join(strict.Errors[0].Key(), "."))
	}
	var bad *toml.DecodeError
	if errors.As(err, &bad) {
		row, col := bad.Position()
		return fmt.Errorf("%s:%d:%d: %s", path, row, col, bad.Error())
	}
	return fmt.Errorf("%s: %w", path, err)
}

// LocalOf reads the settings of the book in dir without opening it: nothing is
// locked, recovered or verified.
func LocalOf(dir string) (Local, error) {
	if !IsBook(dir) {
		return Local{}, notBook(dir)
	}
	return readLocal(filepath.Join(dir, localFile))
}
