// Package keyring keeps a device's signing keys in the user's own folder, in OpenSSH format and mode 0600, one per book.
//
// Beside each key stands a mark file: which copy of the book the key writes in (its device mark) and the last entry it signed. Nothing is ever signed
// below that entry, and a book that carries another mark is not continued with the key: a restored backup or a copied folder would otherwise sign two
// different histories with one key. It asks nobody anything and never prints a key.
package keyring

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"

	"shedbook/ledger"
)

// Ring is a folder of keys.
type Ring struct {
	dir string
	// Loose allows keys that others can read: the made-up keys of a demo book.
	Loose bool
}

// Last is the last entry a key signed and where.
type Last struct {
	Mark string `json:"mark"` // the device mark of the book it writes in
	Seq  uint64 `json:"seq"`
	ID   string `json:"id"`
}

// New names a folder; it is made when the first key is saved.
func New(dir string) *Ring { return &Ring{dir: dir} }

// Path is where the key of one log lies.
func (r *Ring) Path(w ledger.Writer) string { return filepath.Join(r.dir, w.String()) }

// Save writes a new key; an existing one is never overwritten.
func (r *Ring) Save(w ledger.Writer, pem []byte) error {
	if err := os.MkdirAll(r.dir, 0o700); err != nil {
		return fmt.Errorf("make the folder for signing keys: %w", err)
	}
	f, err := os.OpenFile(r.Path(w), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return fmt.Errorf("write the signing key: %w", err)
	}
	_, err = f.Write(pem)
	if err == nil {
		err = f.Sync()
	}
	if err := errors.Join(err, f.Close()); err != nil {
		return fmt.Errorf("write the signing key: %w", err)
	}
	return syncDir(r.dir)
}

// ErrNoKey says there is no key at that place.
var ErrNoKey = errors.New("no signing key here for this book")

// Read gives the key file of one log.
func (r *Ring) Read(w ledger.Writer) ([]byte, error) { return ReadFile(r.Path(w), r.Loose) }

// ReadFile reads a private key file, which nobody else may be able to read.
func ReadFile(path string, loose bool) ([]byte, error) {
	info, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%w (looked for %s)", ErrNoKey, path)
	}
	if err != nil {
		return nil, fmt.Errorf("read the signing key: %w", err)
	}
	if !loose && runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0 {
		return nil, &LooseError{Path: path, Mode: info.Mode().Perm()}
	}
	if info.Size() > 64<<10 {
		return nil, fmt.Errorf("%s is no key file: %d bytes", path, info.Size())
	}
	return os.ReadFile(path)
}

// LooseError says others on this computer can read the key.
type LooseError struct {
	Path string
	Mode fs.FileMode
}

func (e *LooseError) Error() string {
	return fmt.Sprintf("signing key %s can be read by others (mode %04o)", e.Path, e.Mode)
}

// Last gives what the key signed last; the zero Last when it has signed nothing.
func (r *Ring) Last(w ledger.Writer) (Last, error) {
	var last Last
	b, err := os.ReadFile(r.Path(w) + ".last")
	if errors.Is(err, fs.ErrNotExist) {
		return last, nil
	}
	if err == nil {
		err = json.Unmarshal(b, &last)
	}
	if err != nil {
		return last, fmt.Errorf("read what this key signed last: %w", err)
	}
	return last, nil
}

// SetLast replaces it, durably.
func (r *Ring) SetLast(w ledger.Writer, last Last) error {
	b, err := json.Marshal(last)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(r.dir, 0o700); err != nil {
		return err
	}
	path := r.Path(w) + ".last"
	// One name, so that what a process leaves that dies here is taken over by the next. Who writes with a key holds its book's lock.
	temp := path + ".tmp"
	if err := os.Remove(temp); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("note what this key signed last: %w", err)
	}
	f, err := os.OpenFile(temp, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return fmt.Errorf("note what this key signed last: %w", err)
	}
	_, err = f.Write(append(b, '\n'))
	if err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err == nil {
		err = os.Rename(temp, path)
	}
	if err != nil {
		_ = os.Remove(temp)
		return fmt.Errorf("note what this key signed last: %w", err)
	}
	return syncDir(r.dir)
}

// syncDir makes a name in a folder durable, where the system can.
func syncDir(dir string) error {
	if runtime.GOOS == "windows" {
		return nil // NTFS journals names itself; a folder cannot be opened for writing
	}
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}
