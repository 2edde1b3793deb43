package gitstore

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"sort"
	"strings"
	"time"

	"github.com/go-git/go-git/v5/plumbing"
)

const refPrefix = "refs/heads/log/"

// lockPatience is how long a write waits while git holds a reference's lock.
// git holds one for milliseconds.
const lockPatience = 2 * time.Second

// maxLogs bounds the logs of a book: its writers, requests and second chains.
const maxLogs = 1024

var logName = regexp.MustCompile(`^[a-z2-7]{32}(\.[0-9a-f]{16})?$`)

// checkName refuses what cannot be a log's name: the writer, in 32 letters and
// digits, and for a second chain a full stop and 16 hex digits.
func checkName(name string) error {
	if !logName.MatchString(name) {
		return fmt.Errorf("%q is not the name of a log", name)
	}
	return nil
}

// references reads the last commit of every log: loose references win over
// packed ones. An unreadable loose reference (empty or cut, as a power cut
// leaves it) reads as the zero hash.
//
// Loose is read before packed: git packs a reference before it removes the
// loose one, so none is missed.
func (s *Store) references() (map[string]plumbing.Hash, error) {
	refs := map[string]plumbing.Hash{}
	entries, err := os.ReadDir(s.git("refs", "heads", "log"))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	for _, e := range entries {
		name := e.Name()
		if strings.HasSuffix(name, ".lock") {
			continue
		}
		if err := checkName(name); err != nil {
			return nil, &DamagedError{Path: s.git("refs", "heads", "log", name), Why: err.Error()}
		}
		hash, found, err := s.looseReference(name)
		if err != nil {
			return nil, err
		}
		if found {
			refs[name] = hash
		}
	}
	packed, err := s.packedReferences()
	if err != nil {
		return nil, err
	}
	for name, hash := range packed {
		if _, ok := refs[name]; !ok {
			refs[name] = hash
		}
	}
	if len(refs) > maxLogs {
		return nil, &DamagedError{Path: s.git("refs", "heads", "log"), Why: fmt.Sprintf("it holds %d logs, at most %d are allowed", len(refs), maxLogs)}
	}
	return refs, nil
}

// reference reads the last commit of one log; found is false if there is none.
func (s *Store) reference(name string) (hash plumbing.Hash, found bool, err error) {
	hash, found, err = s.looseReference(name)
	if found || err != nil {
		return hash, found, err
	}
	packed, err := s.packedReferences()
	if err != nil {
		return hash, false, err
	}
	hash, found = packed[name]
	return hash, found, nil
}

func (s *Store) looseReference(name string) (hash plumbing.Hash, found bool, err error) {
	path := s.git("refs", "heads", "log", name)
	data, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return hash, false, nil
	}
	if err != nil {
		return hash, false, err
	}
	hash, ok := parseHash(string(bytes.TrimRight(data, " \t\r\n")))
	if !ok && bytes.HasPrefix(data, []byte("ref:")) {
		return hash, false, &DamagedError{Log: name, Path: path, Why: "it points to another log"}
	}
	return hash, true, nil
}

// packedReferences reads git's packed-refs.
func (s *Store) packedReferences() (map[string]plumbing.Hash, error) {
	data, err := os.ReadFile(s.git("packed-refs"))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	refs := map[string]plumbing.Hash{}
	for line := range strings.Lines(string(data)) {
		id, full, ok := strings.Cut(strings.TrimRight(line, "\r\n"), " ")
		if !ok || !strings.HasPrefix(full, refPrefix) {
			continue // header, peeled tag, or none of ours
		}
		name := strings.TrimPrefix(full, refPrefix)
		hash, good := parseHash(id)
		if err := checkName(name); err != nil || !good {
			return nil, &DamagedError{Path: s.git("packed-refs"), Why: fmt.Sprintf("it has the line %q", line)}
		}
		refs[name] = hash
	}
	return refs, nil
}

func parseHash(text string) (hash plumbing.Hash, ok bool) {
	if !plumbing.IsHash(text) || text != strings.ToLower(text) {
		return plumbing.ZeroHash, false
	}
	return plumbing.NewHash(text), true
}

// movedError says that a reference was not where it was expected.
type movedError struct {
	log      string
	expected plumbing.Hash
	found    plumbing.Hash
}

func (e *movedError) Error() string {
	return fmt.Sprintf("the log of %s was changed by another program while it was written", e.log)
}

// BusyError says that another program kept a log locked.
type BusyError struct {
	Log  string
	Path string // the file that stands for the lock
}

func (e *BusyError) Error() string {
	return fmt.Sprintf("the log of %s is held by another program; try again; if no other program is at work in this folder, delete the file %q", e.Log, e.Path)
}

// waitUnlocked waits for a reference's lock to go, so that a run is not
// acknowledged while its reference could not follow.
func (s *Store) waitUnlocked(name string) error {
	path := s.git("refs", "heads", "log", name+".lock")
	patience := time.After(s.patience)
	for {
		if _, err := os.Lstat(path); errors.Is(err, fs.ErrNotExist) {
			return nil
		} else if err != nil {
			return err
		}
		select {
		case <-patience:
			return &BusyError{Log: name, Path: path}
		case <-time.After(10 * time.Millisecond):
		}
	}
}

// moveReference moves a log's reference from old (zero: it does not exist, or
// cannot be read) to new, durably. The caller holds the book's lock.
//
// A lock file whose content is new was left by a process of ours that died: no
// one else writes that. An empty one that outlasts the wait was too, or by a
// git that died; what it was about to do never happened.
func (s *Store) moveReference(name string, old, new plumbing.Hash) error {
	dir := s.git("refs", "heads", "log")
	lock := filepath.Join(dir, name+".lock")
	content := []byte(new.String() + "\n")
	var f *os.File
	tired, patience := false, time.After(s.patience)
	for {
		var err error
		f, err = s.disk.create(lock, 0o666)
		if err == nil {
			break
		}
		switch {
		case errors.Is(err, fs.ErrNotExist): // git removes the folder when it has packed all of it
			if err := s.disk.mkdir(dir); err != nil {
				return err
			}
			continue
		case !errors.Is(err, fs.ErrExist):
			return err
		}
		left, err := os.ReadFile(lock)
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		if bytes.Equal(left, content) || tired && err == nil && bytes.HasPrefix(content, left) {
			if err := s.disk.remove(lock); err != nil {
				return err
			}
			continue
		}
		if tired {
			return &BusyError{Log: name, Path: lock}
		}
		select {
		case <-patience:
			tired = true
		case <-time.After(10 * time.Millisecond):
		}
	}
	err := s.disk.write(f, content)
	if err == nil {
		found, _, rerr := s.reference(name)
		if err = rerr; err == nil && found != old {
			err = &movedError{log: name, expected: old, found: found}
		}
	}
	if err == nil {
		err = s.disk.sync(f)
	}
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err == nil {
		err = s.disk.rename(lock, filepath.Join(dir, name))
	}
	if err != nil {
		os.Remove(lock)
		return err
	}
	for _, up := range []string{dir, s.git("refs", "heads"), s.git("refs"), s.git()} {
		// git may have packed the reference meanwhile, and removed its folder.
		if err := s.disk.syncDir(up); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return nil
}

// pointHead makes a plain copy of the repository show the founder's log.
func (s *Store) pointHead(name string) error {
	content := []byte("ref: " + refPrefix + name + "\n")
	path := s.git("HEAD")
	if now, err := os.ReadFile(path); err == nil && bytes.Equal(now, content) {
		return nil
	}
	return s.disk.replace(path, content, true)
}

func sortedNames[V any](m map[string]V) []string {
	names := make([]string, 0, len(m))
	for name := range m {
		names = append(names, name)
	}
	sort.Strings(names)
	return names
}
