package gitstore

import (
	"cmp"
	"errors"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"shedbook/ledger"
)

// Damage is one thing that is wrong with a book's folder: with its files, not
// with what its entries say, which package ledger judges.
type Damage struct {
	Severity ledger.Severity // Error: entries cannot be read in their place, or are lost
	Code     string
	Log      string    // its name; "": of no single log
	Path     string    // inside the book's folder, with slashes; "" if it is no single file
	First    uint64    // first and last of the entries that are lost here; 0: none is
	Last     uint64    //
	LastID   ledger.ID // id of the last one; zero where it is not known
	Message  string    // what is wrong, without the log's name
	Mend     bool      // [Store.Mend] has something to do about it
	Holders  []Holder  // of lost entries: who had them
}

// Codes of damages. They are stable.
const (
	CodeUnreadable  = "log-unreadable"    // entries are not in their place, and held elsewhere in the folder
	CodeLost        = "entries-lost"      // entries that this device had seen are not in the folder
	CodeForeign     = "foreign-write"     // another program wrote into a log
	CodeReference   = "log-end-damaged"   // it is not said where a log ends, or what is said is damaged
	CodeParts       = "parts-missing"     // parts of a log's files are missing, and no entry
	CodePack        = "pack-damaged"      // a packed file is cut short or damaged
	CodePackIndex   = "pack-list-damaged" // the list of what a packed file holds is missing or damaged
	CodePiece       = "piece-damaged"     // a single piece of the book's store is damaged
	CodePending     = "pending-damaged"   // what was recorded last is damaged
	CodeSeenLost    = "seen-missing"      // what this device had seen is forgotten
	CodeBorrowed    = "borrowed"          // the folder borrows from another one
	CodeShortened   = "shortened"         // the folder is a shortened copy
	CodeCacheLost   = "cache-missing"     // what makes things faster is missing
	CodeStrayBranch = "stray-log"         // a name that is no log's stands among the logs
)

// Holder is a place that had entries when it was last exchanged with.
type Holder struct {
	Address string // folder or address, without secrets
	Seq     uint64 // the last entry of the log that it had
	Last    time.Time
}

// IsDamage reports whether an error of [Open] or [Store.Logs] is about a damaged
// folder, which [OpenDamaged] reads as far as it can be read.
func IsDamage(err error) bool {
	var damaged *DamagedError
	var rewound *RewoundError
	return errors.As(err, &damaged) || errors.As(err, &rewound)
}

// OpenDamaged opens a book for reading as it lies on the disk. Nothing is put
// right. [Store.Held] gives what can be read; what is written to the store fails
// as [Open] did.
func OpenDamaged(dir string) (*Store, error) {
	if !IsBook(dir) {
		return nil, notBook(dir)
	}
	local, err := readLocal(filepath.Join(dir, localFile))
	if err != nil {
		return nil, err
	}
	return &Store{dir: dir, packRuns: packRuns, patience: lockPatience, local: local}, nil
}

// Held reads every log as far as its entries are held anywhere in the folder,
// and says what is wrong with the folder: each damage once, those of no single
// log first, then by log. It looks at every file, and changes nothing.
//
// Where a log lacks entries, Held returns those before the gap.
func (s *Store) Held() ([]ledger.Log, []Damage, error) {
	x, err := s.examine()
	if err != nil {
		return nil, nil, err
	}
	defer func() { x.close() }()
	damages := x.damages()
	if len(damages) == 0 {
		return x.held(), nil, nil
	}
	// Somebody may have been writing or packing meanwhile: look again without.
	if unlock, err := s.lock(); err == nil {
		defer unlock()
		again, err := s.examine()
		if err != nil {
			return nil, nil, err
		}
		x.close()
		x = again
		damages = x.damages()
	}
	return x.held(), damages, nil
}

// Outstanding returns the damages that a mending left: entries of logs that were
// lost and have not come back. logs is what [Store.Logs] returned.
func (s *Store) Outstanding(logs []ledger.Log) []Damage {
	all, err := s.Seen()
	if err != nil {
		return nil // Logs has said so
	}
	var out []Damage
	for _, one := range all {
		seq, id, lost := one.lost()
		if !lost {
			continue
		}
		i := slices.IndexFunc(logs, func(l ledger.Log) bool { return l.Name == one.Log })
		var lines [][]byte
		if i >= 0 {
			lines = logs[i].Lines
		}
		if !ends(lines, seq, id) {
			out = append(out, s.lostDamage(one.Log, uint64(len(lines)), seq, id))
		}
	}
	return out
}

// ends reports whether entry seq of a log is the one of that id.
func ends(lines [][]byte, seq uint64, id ledger.ID) bool {
	if seq == 0 || seq > uint64(len(lines)) {
		return false
	}
	head, err := headOf(lines[seq-1])
	return err == nil && head.id == id
}

// lostDamage says that entries after held up to seq are lost, and who had them.
func (s *Store) lostDamage(log string, held, seq uint64, id ledger.ID) Damage {
	d := Damage{Severity: ledger.Error, Code: CodeLost, Log: log, First: held + 1, Last: seq, LastID: id}
	if held >= seq { // another entry stands where the lost one was
		d.First = seq
	}
	d.Message = span(d.First, d.Last) + verb(d.First == d.Last, " that this device had seen is", " that this device had seen are") + " not in this folder any more"
	d.Holders = s.holders(log, d.First)
	return d
}

// holders returns the places that had a log at least up to entry seq, those with
// the most of it first.
func (s *Store) holders(log string, seq uint64) []Holder {
	targets, err := s.Targets()
	if err != nil {
		return nil
	}
	var out []Holder
	for _, t := range targets {
		m := s.lastAt(t.Address)
		if m == nil {
			continue
		}
		h := Holder{Address: t.Address, Last: t.Last}
		for _, l := range m.Logs {
			if l.Log[:min(len(l.Log), 32)] == log[:32] {
				h.Seq = max(h.Seq, l.Seq)
			}
		}
		if h.Seq >= seq {
			out = append(out, h)
		}
	}
	slices.SortStableFunc(out, func(a, b Holder) int {
		return cmp.Or(cmp.Compare(b.Seq, a.Seq), strings.Compare(a.Address, b.Address))
	})
	return out
}

// remembered returns what places had of a log at the last exchange with them:
// all of it was held here then.
func (s *Store) remembered(log string) []memoryLog {
	targets, err := s.Targets()
	if err != nil {
		return nil
	}
	var all []memoryLog
	for _, t := range targets {
		if m := s.lastAt(t.Address); m != nil {
			if l, ok := m.byName[log]; ok {
				all = append(all, l)
			}
		}
	}
	return all
}

func verb(one bool, single, many string) string {
	if one {
		return single
	}
	return many
}
