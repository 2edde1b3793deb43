package gitstore

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/go-git/go-git/v5/plumbing"

	"shedbook/ledger"
)

// exam is one look at every file of a book's folder. It changes nothing.
type exam struct {
	s     *Store
	found []Damage // of no single log, in the order they were met

	pending    pending  // empty if it is damaged
	badPending bool     // it is damaged;
	stray      []record // these are the whole records in it
	refs       map[string]plumbing.Hash
	badRefs    []string // loose files that are no reference to a log, by name
	badPacked  bool     // packed-refs has damaged lines
	seen       map[string]Seen
	badSeen    []string // logs whose note in seen/ cannot be read
	badPacks   []badPack
	badPieces  []string                 // damaged loose objects, as paths in the book
	needs      map[plumbing.Hash]string // of these, the ones held nowhere else
	loose      []object                 // the whole ones
	shallow    map[plumbing.Hash]bool
	borrowed   []string

	whole   bool // everything that anything names is held
	packs   *packs
	from    fetch
	st      *state
	logs    map[string]*examLog
	salvage *salvage
	unsound map[string]bool // logs with lines that do not belong in them
}

// examLog is one log as it was found.
type examLog struct {
	name     string
	lines    [][]byte // all that is held from the first entry on
	inPlace  bool     // lines lie where they belong
	why      error    // else: why not
	older    error    // some state that it once had is not whole
	seq      uint64   // the last entry that is known of: 0 if nothing is
	id       ledger.ID
	apart    []*ledger.Entry // held behind a gap
	foreign  bool            // another program wrote what does not belong in a log
	rebuild  bool            // its place is to be written anew
	packed   bool            // only because entries of it are pending
	unusable [][]byte        // lines in its place that do not verify
	end      *tip            // where it ends once it was written anew
}

func (s *Store) examine() (*exam, error) {
	x := &exam{s: s, needs: map[plumbing.Hash]string{}, logs: map[string]*examLog{}}
	for _, look := range []func() error{x.readPacks, x.readPieces, x.readPending, x.readReferences, x.readSeen, x.readRest, x.readLogs} {
		if err := look(); err != nil {
			x.close()
			return nil, err
		}
	}
	return x, nil
}

func (x *exam) close() {
	if x.packs != nil {
		x.packs.close()
	}
}

func (x *exam) say(d Damage, format string, args ...any) {
	d.Message = fmt.Sprintf(format, args...)
	x.found = append(x.found, d)
}

func (x *exam) readPending() error {
	path := x.s.path(pendingDir, pendingFile)
	data, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	records, good, err := parseRecords(data)
	if err == nil {
		x.pending = pending{records: records, good: good, size: int64(len(data))}
		if _, err = x.s.fold(x.pending, nil); err == nil {
			return nil
		}
		x.pending = pending{}
	}
	x.badPending, x.stray = true, strayRecords(data)
	x.say(Damage{Severity: ledger.Error, Code: CodePending, Path: "pending/runs", Mend: true},
		"the file pending/runs, which keeps what was recorded last, is damaged; %d of its records %s whole", len(x.stray), verb(len(x.stray) == 1, "is", "are"))
	return nil
}

// strayRecords returns every whole record, wherever in the file it stands.
func strayRecords(data []byte) []record {
	var all []record
	for len(data) > 0 {
		i := bytes.Index(data, []byte(recordMagic))
		if i < 0 {
			break
		}
		payload, after, ok := splitRecord(data[i:])
		if !ok {
			data = data[i+1:]
			continue
		}
		if r, err := parsePayload(payload); err == nil {
			all = append(all, r)
		}
		data = after
	}
	return all
}

// readReferences is [Store.references], and goes on past what is damaged.
func (x *exam) readReferences() error {
	x.refs = map[string]plumbing.Hash{}
	data, err := os.ReadFile(x.s.git("packed-refs"))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	for n, line := range packedLines(data) {
		name, hash, ok := packedLine(line)
		if !ok {
			if !x.badPacked {
				x.say(Damage{Severity: ledger.Error, Code: CodeReference, Path: "git/packed-refs", Mend: true},
					"the file git/packed-refs, which says where logs end, is damaged in line %d", n+1)
			}
			x.badPacked = true
		} else if name != "" {
			x.refs[name] = hash
		}
	}
	entries, err := os.ReadDir(x.s.git("refs", "heads", "log"))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	for _, e := range entries {
		name := e.Name()
		if strings.HasSuffix(name, ".lock") {
			continue
		}
		if checkName(name) != nil {
			x.badRefs = append(x.badRefs, name)
			x.say(Damage{Severity: ledger.Error, Code: CodeStrayBranch, Path: "git/refs/heads/log/" + name, Mend: true}, "%q stands among the logs and is none", name)
			continue
		}
		hash, found, err := x.s.looseReference(name)
		if err != nil {
			x.badRefs = append(x.badRefs, name)
			hash, found = plumbing.ZeroHash, true
		}
		if found {
			x.refs[name] = hash
		}
	}
	return nil
}

// packedLines splits packed-refs.
func packedLines(data []byte) []string {
	return slices.Collect(strings.Lines(string(data)))
}

// packedLine reads a line of packed-refs: "" for one that is about no log. One
// that holds no reference at all is not ok.
func packedLine(line string) (name string, hash plumbing.Hash, ok bool) {
	text := strings.TrimRight(line, "\r\n")
	if strings.HasPrefix(text, "#") {
		return "", hash, true
	}
	id, full, cut := strings.Cut(strings.TrimPrefix(text, "^"), " ")
	hash, ok = parseHash(id)
	if strings.HasPrefix(text, "^") {
		return "", hash, ok && !cut
	}
	if !ok || !cut || !strings.HasPrefix(full, "refs/") || !strings.HasSuffix(line, "\n") {
		return "", hash, false
	}
	name, isLog := strings.CutPrefix(full, refPrefix)
	if !isLog {
		return "", hash, true
	}
	return name, hash, checkName(name) == nil
}

func (x *exam) readSeen() error {
	x.seen = map[string]Seen{}
	entries, err := os.ReadDir(x.s.path(seenDir))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	for _, e := range entries {
		name, ok := strings.CutSuffix(e.Name(), ".toml")
		if !ok {
			continue
		}
		one, err := x.s.readSeen(name)
		var damaged *DamagedError
		switch {
		case err == nil:
			x.seen[name] = one
		case errors.As(err, &damaged):
			x.badSeen = append(x.badSeen, name)
			x.say(Damage{Severity: ledger.Error, Code: CodeSeenLost, Path: "seen/" + e.Name(), Mend: true},
				"what this device had seen of a log cannot be read (seen/%s): whether entries were lost before today cannot be told from it", e.Name())
		default:
			return err
		}
	}
	return nil
}

func (x *exam) readRest() error {
	x.shallow = x.s.shortened()
	x.borrowed = x.s.borrows()
	for _, dir := range x.borrowed {
		state := "which is here"
		if !exists(dir) {
			state = "which is not here"
		}
		x.say(Damage{Severity: ledger.Error, Code: CodeBorrowed, Path: "git/objects/info/alternates", Mend: true},
			"this folder does not hold all of its entries itself: it borrows from %s, %s", filepath.Dir(filepath.Clean(dir)), state)
	}
	if exists(x.s.git("shallow")) {
		x.say(Damage{Severity: ledger.Warning, Code: CodeShortened, Path: "git/shallow", Mend: true},
			"this folder is a shortened copy: how its logs grew is missing before a point")
	}
	if !exists(x.s.path(cacheDir)) {
		x.say(Damage{Severity: ledger.Note, Code: CodeCacheLost, Path: cacheDir, Mend: true}, "the folder cache/ is missing; it only makes things faster")
	}
	return nil
}

// damages returns what is wrong: of no single log first, then by log.
func (x *exam) damages() []Damage {
	all := slices.Clone(x.found)
	seenSome := len(x.seen)+len(x.badSeen) > 0
	for _, name := range sortedNames(x.logs) {
		l := x.logs[name]
		all = append(all, x.damagesOf(l)...)
	}
	if !seenSome && (len(x.logs) > 0 || x.missingFolder(seenDir)) {
		all = append(all, Damage{Severity: ledger.Error, Code: CodeSeenLost, Path: seenDir, Mend: true,
			Message: "what this device had seen is forgotten (the folder seen/ is missing or empty): whether entries were lost before today cannot be told from it"})
	}
	for _, rel := range x.badPieces {
		if !x.needed(rel) {
			all = append(all, Damage{Severity: ledger.Warning, Code: CodePiece, Path: rel, Mend: true, Message: "the file " + rel + " is damaged; no entry needs it"})
		}
	}
	slices.SortStableFunc(all, func(a, b Damage) int { return cmp.Compare(a.Log, b.Log) })
	return all
}

// needed reports whether some log lacked a damaged piece.
func (x *exam) needed(rel string) bool {
	for _, other := range x.needs {
		if other == rel {
			for _, l := range x.logs {
				if !l.inPlace || l.older != nil {
					return true
				}
			}
		}
	}
	return false
}

// damagesOf says what is wrong with one log: at most one thing.
func (x *exam) damagesOf(l *examLog) []Damage {
	held := uint64(len(l.lines))
	if l.seq > 0 && !ends(l.lines, l.seq, l.id) {
		d := x.s.lostDamage(l.name, held, l.seq, l.id)
		_, _, noted := x.seen[l.name].lost()
		d.Mend = l.rebuild || !noted
		if n := len(l.apart); n > 0 && d.First <= held+1 {
			d.Last, d.LastID = l.apart[0].Seq()-1, l.apart[0].Prev()
			d.Holders = x.s.holders(l.name, d.First)
			single := d.First == d.Last
			d.Message = fmt.Sprintf("%s %s not in this folder any more; %d behind %s", span(d.First, d.Last), verb(single, "is", "are"), n, verb(single, "it", "them")) + verb(n == 1, " is, and waits", " are, and wait")
		}
		if l.rebuild && l.why != nil && !noted {
			d.Message += " (" + whyPlain(l.why) + ")"
		}
		return []Damage{d}
	}
	d := Damage{Severity: ledger.Error, Log: l.name, Mend: true}
	switch {
	case !l.inPlace && held == 0:
		d.Code = CodeLost
		d.Message = fmt.Sprintf("none of its entries is in this folder any more, and how many there were is not known (%s)", whyPlain(l.why))
	case l.foreign:
		d.Code = CodeForeign
		d.Message = fmt.Sprintf("another program wrote into this log (%s); %s held and whole", whyPlain(l.why), allOf(held))
	case !l.inPlace && x.refs[l.name].IsZero():
		d.Code = CodeReference
		d.Message = fmt.Sprintf("where this log ends is not said, or damaged; %s held", allOf(held))
	case !l.inPlace:
		for _, f := range x.found { // the cause is said
			if f.Code == CodePack || f.Code == CodePackIndex || f.Code == CodeBorrowed {
				return nil
			}
		}
		d.Code = CodeUnreadable
		d.Message = fmt.Sprintf("this log cannot be read in its place (%s); %s held elsewhere in the folder", whyPlain(l.why), allOf(held))
	case l.older != nil && len(x.shallow) == 0:
		for _, f := range x.found {
			if f.Code == CodePack || f.Code == CodePackIndex || f.Code == CodeBorrowed {
				return nil
			}
		}
		d.Severity, d.Code = ledger.Warning, CodeParts
		d.Message = fmt.Sprintf("parts of this log's files are missing; %s here", allOf(held))
	default:
		return nil
	}
	return []Damage{d}
}

func allOf(n uint64) string {
	if n == 1 {
		return "its one entry is"
	}
	return fmt.Sprintf("all of its %d entries are", n)
}

// span names entries: "entry 7", "entries 7-9".
func span(first, last uint64) string {
	if first >= last {
		return fmt.Sprintf("entry %d", last)
	}
	return fmt.Sprintf("entries %d-%d", first, last)
}

// whyPlain says why a log could not be read, without the log's name.
func whyPlain(err error) string {
	var damaged *DamagedError
	switch {
	case !errors.As(err, &damaged):
		return plainCause(err)
	case errors.Is(damaged.cause, errMissing):
		return damaged.Path + " is missing"
	case damaged.cause != nil:
		return damaged.Path + " cannot be read"
	}
	return damaged.Path + ": " + damaged.Why
}
