// Package gitstore keeps a book's logs in a folder: it makes the folder, appends
// to logs, hands them over whole, repairs what a crash left behind, and
// exchanges logs with other places.
//
// A book's folder holds
//
//	git/        a bare git repository: one branch refs/heads/log/<name> per log
//	pending/    entries and papers acknowledged but not yet safely packed
//	seen/       the last entry of each log this device appended or verified
//	cache/      disposable: copies of the last files of each log, and what was
//	            worked out before
//	kept/       what a mending set aside (see [Store.Mend])
//	targets/    what each place this book was exchanged with had then
//	quarantine/ what came from elsewhere and is not verified yet
//	drafts/     what is being keyed in and not recorded yet; not this package's
//	local.toml  what only this device needs (see [Local])
//	lock        the operating system lock of whoever writes
//	sync.lock   that of whoever exchanges
//
// Invariants:
//
//   - An entry is acknowledged once its record in pending/ has been written and
//     fsynced. Its objects and its reference come after. The record is dropped
//     only when its objects lie in a pack that was fsynced, renamed, and read
//     back, and its reference is fsynced. So a crash at any moment loses no
//     acknowledged entry, and what was not acknowledged leaves at most a torn
//     tail in pending/ that the next [Open] or [Store.Update] cuts.
//
//   - Logs only grow. There are no merges. A full file of 100 entries is never
//     written again. One run makes one commit, whose bytes depend only on the
//     entries and on the commit before it, so replaying a run gives the same id.
//
//   - References are written as git writes them (<ref>.lock created exclusively,
//     re-read loose and packed, compared, fsynced, renamed), so that git itself
//     may work beside this package.
//
//   - Reading never trusts an object that was not fsynced: what lies in pending/
//     is read from there, on top of a commit that lies in a pack.
//
//   - An append reads the last file and the last trees of its log, whatever the
//     length of the history.
//
//   - Of what another place has, nothing is taken over but entries that package
//     ledger has verified together with those held here, and papers that these
//     name by their digest; their files are written anew.
//
// The package checks the shape of what it reads: file names, modes, sizes,
// whole lines. It does not check signatures, chains or people: that is package
// ledger's work, and [Store.Sync] and [Join] have it done. It knows nothing of what entries mean. It does not protect
// against someone who can write to the folder and rewrites seen/ as well.
package gitstore

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"syscall"
	"time"

	"github.com/rogpeppe/go-internal/lockedfile"

	"shedbook/ledger"
)

// Names inside a book's folder.
const (
	gitDir      = "git"
	pendingDir  = "pending"
	pendingFile = "runs"
	seenDir     = "seen"
	cacheDir    = "cache"
	localFile   = "local.toml"
	lockFile    = "lock"
)

// Store is an open book folder. Its methods may be called from several
// goroutines, and several processes may have the same folder open.
type Store struct {
	dir      string
	disk     disk
	packRuns int           // packRuns outside tests
	patience time.Duration // lockPatience outside tests

	// visitor is set where dir is no book but only a repository that several
	// devices write to: the mark of the device at work. Its temporary files bear it.
	visitor string

	mu        sync.Mutex // guards what follows
	local     Local
	recovered []string
	handed    map[string]logEnd // what Logs returned last
}

// IsBook reports whether dir is a book's folder, finished by [Create].
func IsBook(dir string) bool {
	if _, err := os.Lstat(filepath.Join(dir, unfinishedFile)); err == nil {
		return false
	}
	f, err := os.Stat(filepath.Join(dir, localFile))
	if err != nil || !f.Mode().IsRegular() {
		return false
	}
	g, err := os.Stat(filepath.Join(dir, gitDir))
	return err == nil && g.IsDir()
}

// Open opens the book in dir. What a crash left behind is put right first,
// under the book's lock: a torn record is cut, acknowledged entries are
// written to their place, and a log that has become shorter than this device
// has seen is restored from what is held. [Store.Recovered] says what was done.
//
// The error is [ErrNotBook], [fs.ErrPermission] where it may not be looked
// into, *[NewerError], *[RewoundError] when a log is shorter than seen and
// cannot be restored, *[DamagedError] when acknowledged
// entries cannot be read, or one of the operating system.
func Open(dir string) (*Store, error) {
	return open(disk{}, dir)
}

func open(d disk, dir string) (*Store, error) {
	if !IsBook(dir) {
		return nil, notBook(dir)
	}
	local, err := readLocal(filepath.Join(dir, localFile))
	if err != nil {
		return nil, err
	}
	s := newStore(d, dir, local)
	if s.sound() {
		return s, nil
	}
	if err := s.putRight(); cannotWrite(err) {
		// A full disk or a folder that cannot be written to must not keep
		// anybody from reading: what is pending is read from there.
		s.note("the last write could not be put in its place (%v): what was recorded is kept and shown; make room, then go on", err)
	} else if err != nil {
		return nil, err
	}
	return s, nil
}

func newStore(d disk, dir string, local Local) *Store {
	return &Store{dir: dir, disk: d, packRuns: packRuns, patience: lockPatience, local: local}
}

// putRight recovers under the book's lock.
func (s *Store) putRight() error {
	unlock, err := s.lock()
	if err != nil {
		return err
	}
	defer unlock()
	_, err = s.recover()
	return err
}

// cannotWrite reports whether an error is of a disk that takes no more, or of
// a folder this person may only read.
func cannotWrite(err error) bool {
	for _, one := range []error{syscall.ENOSPC, syscall.EDQUOT, syscall.EFBIG, syscall.EROFS, fs.ErrPermission} {
		if errors.Is(err, one) {
			return true
		}
	}
	return false
}

// Dir returns the folder the store was opened with.
func (s *Store) Dir() string { return s.dir }

// BookID returns the id of the book's founding entry, as pinned in local.toml.
func (s *Store) BookID() ledger.ID {
	id, _ := ledger.ParseID(s.Local().Book) // checked when read
	return id
}

// Mark returns this device's mark: random hex made by [Create], kept in
// local.toml, so that a copied folder can be told from its original.
func (s *Store) Mark() string { return s.Local().Mark }

// Recovered returns, in plain words, what was put right when the store was
// opened or written to: one line each, in the order it was done.
func (s *Store) Recovered() []string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]string(nil), s.recovered...)
}

// Close releases the store. A closed store must not be used.
func (s *Store) Close() error { return nil }

func (s *Store) note(format string, args ...any) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.recovered = append(s.recovered, fmt.Sprintf(format, args...))
}

// lock takes the book's write lock and waits for whoever holds it. The
// operating system releases it when the process dies.
func (s *Store) lock() (unlock func(), err error) {
	unlock, err = lockedfile.MutexAt(s.path(lockFile)).Lock()
	if err != nil {
		return nil, fmt.Errorf("cannot get hold of the book in %q for writing: %w", s.dir, err)
	}
	return unlock, nil
}

func (s *Store) path(parts ...string) string {
	return filepath.Join(append([]string{s.dir}, parts...)...)
}

func (s *Store) git(parts ...string) string {
	if s.visitor != "" {
		return filepath.Join(append([]string{s.dir}, parts...)...)
	}
	return filepath.Join(append([]string{s.dir, gitDir}, parts...)...)
}

// temp names a temporary file among the packs and objects. git clears away
// files of such names that are left over.
func (s *Store) temp(dir, kind string) string {
	name := "tmp_" + kind + "_shedbook"
	if s.visitor != "" {
		name += "_" + s.visitor
	}
	return filepath.Join(dir, name)
}

// ErrNotBook is wrapped by the error of [Open] on a folder that is no book.
var ErrNotBook = errors.New("not a book")

func notBook(dir string) error {
	_, err := os.Stat(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%w: there is no folder %q", ErrNotBook, dir)
	}
	if err == nil {
		_, err = os.Stat(filepath.Join(dir, localFile))
	}
	if err == nil {
		_, err = os.Stat(filepath.Join(dir, gitDir))
	}
	if errors.Is(err, fs.ErrPermission) {
		return err // it may well be one
	}
	if _, err := os.Lstat(filepath.Join(dir, unfinishedFile)); err == nil {
		return fmt.Errorf("%w: starting a book in %q was interrupted; start it again", ErrNotBook, dir)
	}
	return fmt.Errorf("%w: the folder %q has no %s with a %s folder beside it", ErrNotBook, dir, localFile, gitDir)
}

// NewerError says that a newer program wrote the folder.
type NewerError struct {
	Dir     string
	Version int // of the folder
}

func (e *NewerError) Error() string {
	return fmt.Sprintf("the book in %q is kept in form %d and this program knows form %d; use a newer shedbook", e.Dir, e.Version, storeVersion)
}

// RewoundError says that a log holds fewer entries than this device has seen
// and that the missing ones are not held here.
type RewoundError struct {
	Log  string
	Held uint64 // entries held now
	Seen uint64 // entries this device has seen
}

func (e *RewoundError) Error() string {
	return fmt.Sprintf("the log of %s is shorter than this device has seen: %d entries, was %d; nothing is written until they are back; bring back a newer copy of this folder", e.Log, e.Held, e.Seen)
}

// DamagedError says that something acknowledged can no longer be read.
type DamagedError struct {
	Path string // of the file, or of the place inside a log
	Log  string // "" if it belongs to no single log
	Why  string

	cause error
}

func (e *DamagedError) Unwrap() error { return e.cause }

func (e *DamagedError) Error() string {
	if e.Log != "" {
		return fmt.Sprintf("the log of %s is damaged at %q: %s", e.Log, e.Path, e.Why)
	}
	return fmt.Sprintf("%q is damaged: %s", e.Path, e.Why)
}
