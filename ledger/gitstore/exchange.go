package gitstore

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/rogpeppe/go-internal/lockedfile"

	"shedbook/ledger"
)

// syncLock keeps two exchanges of one book apart; whoever records meanwhile is
// not kept waiting.
const syncLock = "sync.lock"

// SyncOptions says how to exchange.
type SyncOptions struct {
	// Book pins the book that [Join] takes: the id of its founding entry. Zero:
	// the one that is found. [Store.Sync] always pins its own.
	Book ledger.ID
	Auth Auth
	// HostKey is asked whether a machine reached by ssh is the right one. host
	// is "name:port", fingerprint that of its key as OpenSSH prints it
	// ("SHA256:..."). nil refuses every machine.
	HostKey func(host, fingerprint string) error
	// Progress, if given, is told what is being done, in plain words ("looking at
	// what is there", "fetching", "checking", "recording", "sending"), and how much
	// of it: done of total logs; while fetching, done bytes, of which nobody knows
	// the total (0).
	Progress func(what string, done, total int)
	Now      time.Time // kept as the time of the last exchange; zero: not kept
}

// Auth is how this device proves who it is. What does not apply is left out.
type Auth struct {
	Agent      io.ReadWriter // a connection to ssh-agent
	KeyFile    []byte        // a private key for ssh, in OpenSSH or PEM form
	Passphrase []byte        // of that key
	Token      string        // for https
	User       string        // else the address's, else "git"
}

// LogMove is a log that grew somewhere: entries From+1 to To. From 0: it is new there.
type LogMove struct {
	Log    string        // its name here
	Writer ledger.Writer // whose it is
	From   uint64
	To     uint64
}

// Entries returns how many entries moved.
func (m LogMove) Entries() uint64 { return m.To - m.From }

// Refusal is a log of the target of which nothing was taken, and why.
type Refusal struct {
	Log string // its name there
	Why string
}

// PaperRefusal is a paper of a log that was not taken in, and why.
type PaperRefusal struct {
	Log    string
	Digest ledger.ID
	Why    string
}

// Fork is a log that goes on twice: the same key was used in two places.
type Fork struct {
	Writer ledger.Writer
	Log    string // the chain held before
	Beside string // the chain that goes beside it
	At     uint64 // number of the first entry in which they differ
}

// SyncReport says what an exchange did. Every list is in the order of log names.
type SyncReport struct {
	Target   string         // folder or address, without secrets
	Came     []LogMove      // taken in here
	Sent     []LogMove      // new to the target
	Restored []LogMove      // the target had them once and had lost them: put back
	Refused  []Refusal      // of the target's logs
	Unsent   []Refusal      // of ours: what the target did not take, and why
	Papers   []PaperRefusal // of the target's: their entries were taken in all the same
	Forks    []Fork         // found by this exchange
	Waiting  []LogMove      // logs with entries that wait for others: From 0, To how many
	Pending  []LogMove      // logs of devices nobody admitted: From 0, To how many
	Made     bool           // the target was an empty folder and is one now
	// Show is set where a plain copy of the target would not show the founder's
	// log and this device cannot change that: the name of the reference to show.
	Show string
	// Book is all that is held now, as it was verified together with what came;
	// nil where nothing came.
	Book *ledger.Book
}

// Idle reports whether there was nothing to do.
func (r *SyncReport) Idle() bool {
	return len(r.Came)+len(r.Sent)+len(r.Restored)+len(r.Refused)+len(r.Papers)+len(r.Unsent)+len(r.Forks) == 0
}

// Sync exchanges this book's logs with a target: a folder, as on a USB stick,
// or an address (https://, ssh://, user@machine:folder, git://). Every log held
// is sent, those first that others cite; every log there that verifies, is of
// this book and stays within the limits is taken in.
//
// Nothing of a log that does not verify is taken, and the report says why. A
// log the target has lost, wholly or in part, is put back. A log there that
// goes on otherwise than ours stays as it is, and ours goes beside it under a
// name of its own. Logs are compared by their entries.
//
// An interrupted exchange leaves both sides whole: what came is recorded in one
// step, and a target's references move only after what they name is there.
//
// The error is *[NoExchangeError] if nothing could be exchanged. Other errors
// may come with a report of what was done before.
func (s *Store) Sync(ctx context.Context, target string, o SyncOptions) (*SyncReport, error) {
	unlock, err := lockedfile.MutexAt(s.path(syncLock)).Lock()
	if err != nil {
		return nil, fmt.Errorf("cannot get hold of the book in %q for an exchange: %w", s.dir, err)
	}
	defer unlock()
	t, err := openTarget(s, target, o)
	if err != nil {
		return nil, err
	}
	defer t.close()
	x := &exchange{s: s, t: t, o: o, book: s.BookID()}
	return x.run(ctx)
}

// openTarget opens what the text names, for the book of s.
func openTarget(s *Store, text string, o SyncOptions) (target, error) {
	folder, address, err := targetKind(text)
	if err != nil {
		return nil, err
	}
	if folder == "" {
		return openRemote(address, s.path(quarantineDir), o)
	}
	if within(s.dir, folder) || within(folder, s.dir) {
		return nil, noExchange(folder, nil, "it is this book's own folder; name another one")
	}
	// Where a target is known and the folder is gone, the stick is not there.
	create := exists(folder) || !s.knows(folder)
	return openFolder(s.disk, s.patience, folder, s.Mark(), create)
}

// within reports whether path is dir or lies in it.
func within(dir, path string) bool {
	dir, path = realPath(dir), realPath(path)
	rel, err := filepath.Rel(dir, path)
	return err == nil && rel != ".." && !strings.HasPrefix(rel, ".."+string(filepath.Separator))
}

func realPath(path string) string {
	if abs, err := filepath.Abs(path); err == nil {
		path = abs
	}
	if real, err := filepath.EvalSymlinks(path); err == nil {
		return real
	}
	return path
}

// Join makes a book in dir, a new or an empty folder, out of what a target has.
// The book is the one that o.Book pins, else the only one whose founding entry
// is there. An interrupted Join is taken up again by another. The error is
// *[NoExchangeError] if the target has no book, several, or not that one, or
// cannot be read; nothing is left in dir then.
func Join(ctx context.Context, target, dir string, o SyncOptions) (*Store, *SyncReport, error) {
	return join(ctx, disk{}, target, dir, o)
}

func join(ctx context.Context, d disk, text, dir string, o SyncOptions) (*Store, *SyncReport, error) {
	folder, address, err := targetKind(text)
	if err != nil {
		return nil, nil, err
	}
	resumed, held := resumable(dir), false
	if !resumed {
		if err := checkEmpty(dir); err != nil {
			return nil, nil, err
		}
	}
	var t target
	if folder != "" {
		if within(dir, folder) || within(folder, dir) {
			return nil, nil, noExchange(folder, nil, "it is the folder the book should go to; name another one")
		}
		t, err = openFolder(d, lockPatience, folder, "", false)
	} else {
		// Nothing may lie in dir before the book is made.
		temp, terr := os.MkdirTemp(existing(filepath.Dir(filepath.Clean(dir))), ".shedbook-join-")
		if terr != nil {
			return nil, nil, terr
		}
		defer os.RemoveAll(temp)
		t, err = openRemote(address, temp, o)
	}
	if err != nil {
		return nil, nil, err
	}
	defer t.close()
	x := &exchange{t: t, o: o, book: o.Book, joining: true}
	if err := x.findBook(ctx); err != nil {
		return nil, nil, err
	}
	made := firstMissing(dir)
	if resumed {
		x.s, err = open(d, dir)
		if err == nil && x.s.BookID() != x.book {
			err = noExchange(t.name(), nil, "a book of another id was begun in %q; name another folder", dir)
		}
		if err == nil {
			logs, lerr := x.s.Logs()
			held, err = len(logs) > 0, lerr
		}
	} else {
		x.s, err = create(d, dir, x.book, nil)
	}
	if err != nil {
		return nil, nil, err
	}
	report, err := x.run(ctx)
	if err == nil && len(report.Came) == 0 && !held {
		err = noExchange(t.name(), nil, "nothing in it verifies%s", firstRefusal(report))
	}
	if err != nil {
		if !resumed {
			if cerr := clear(dir); cerr == nil && made != "" {
				os.RemoveAll(made)
			}
		}
		return nil, report, err
	}
	return x.s, report, nil
}

// resumable reports whether dir is what an interrupted Join leaves: a book in
// which nothing has been recorded, or one that this device neither writes to nor
// has a place to exchange with.
func resumable(dir string) bool {
	if !IsBook(dir) {
		return false
	}
	s := &Store{dir: dir}
	st, err := s.snapshot()
	if err != nil || len(st.logs) == 0 {
		return err == nil
	}
	local, err := LocalOf(dir)
	return err == nil && local.Writer == "" && len(local.Places) == 0
}

// existing returns the nearest folder of path that exists.
func existing(path string) string {
	for !exists(path) && path != filepath.Dir(path) {
		path = filepath.Dir(path)
	}
	return path
}

func firstRefusal(r *SyncReport) string {
	if len(r.Refused) == 0 {
		return ""
	}
	return fmt.Sprintf(": the log %s: %s", r.Refused[0].Log, r.Refused[0].Why)
}

// exchange is one run of [Store.Sync] or [Join].
type exchange struct {
	s       *Store // nil before Join has made it
	t       target
	o       SyncOptions
	book    ledger.ID
	joining bool

	report    SyncReport
	memory    *targetMemory
	there     map[string]*thereLog
	here      map[string]*hereLog
	lines     map[string][][]byte // of the logs here, once they were read
	shown     string
	packs     *packs // of s
	otherBook ledger.ID
}

func (x *exchange) progress(what string, done, total int) {
	if x.o.Progress != nil {
		x.o.Progress(what, done, total)
	}
}

func (x *exchange) run(ctx context.Context) (*SyncReport, error) {
	x.report.Target = x.t.name()
	x.report.Made = x.t.begun()
	x.memory = x.s.memoryOf(x.t)
	x.packs = x.s.openPacks()
	defer x.packs.close()
	if err := x.readHere(); err != nil {
		return nil, err
	}
	if err := x.verifyHere(); err != nil {
		return nil, err
	}
	if err := x.list(ctx); err != nil {
		return nil, err
	}
	if err := x.take(ctx); err != nil {
		return x.result(), err
	}
	if err := x.give(ctx); err != nil {
		if r := x.result(); len(r.Came) == 0 && len(r.Sent)+len(r.Restored) == 0 {
			var none *NoExchangeError
			if !errors.As(err, &none) && ctx.Err() == nil {
				err = noExchange(x.t.name(), err, "%v", err)
			}
		}
		return x.result(), err
	}
	x.remember()
	r := x.result()
	if len(r.Unsent) > 0 && len(r.Came)+len(r.Sent)+len(r.Restored) == 0 {
		return r, noExchange(x.t.name(), nil, "%s", r.Unsent[0].Why)
	}
	return r, nil
}

// result puts the report in order.
func (x *exchange) result() *SyncReport {
	r := &x.report
	byLog := func(a, b LogMove) int { return strings.Compare(a.Log, b.Log) }
	for _, list := range [][]LogMove{r.Came, r.Sent, r.Restored, r.Waiting, r.Pending} {
		slices.SortFunc(list, byLog)
	}
	for _, list := range [][]Refusal{r.Refused, r.Unsent} {
		slices.SortFunc(list, func(a, b Refusal) int {
			if c := strings.Compare(a.Log, b.Log); c != 0 {
				return c
			}
			return strings.Compare(a.Why, b.Why)
		})
	}
	slices.SortFunc(r.Forks, func(a, b Fork) int { return strings.Compare(a.Beside, b.Beside) })
	return r
}

// remember keeps what the target has now, as far as it is held here.
func (x *exchange) remember() {
	x.memory.Logs = nil
	for _, name := range sortedNames(x.there) {
		if l := x.there[name]; l.known {
			x.memory.Logs = append(x.memory.Logs, memoryLog{Log: name, Seq: l.seq, ID: l.id, Commit: l.commit.String()})
		}
	}
	x.memory.write(x.s, x.o.Now)
}
