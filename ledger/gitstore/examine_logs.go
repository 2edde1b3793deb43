package gitstore

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/go-git/go-git/v5/plumbing"

	"shedbook/ledger"
)

// readLogs reads every log that is known of from its place, and what is not
// whole there from wherever it lies.
func (x *exam) readLogs() error {
	st, err := x.s.fold(x.pending, x.refs)
	if err != nil {
		return err // readPending has tried
	}
	x.st = st
	for name := range st.logs {
		x.log(name)
	}
	for name := range x.seen {
		x.log(name)
	}
	for _, name := range x.badSeen {
		if checkName(name) == nil {
			x.log(name)
		}
	}
	for _, r := range x.stray {
		if r.log != "" {
			x.log(r.log)
		}
	}
	short := false
	x.whole = x.closed()
	for _, name := range sortedNames(x.logs) {
		l := x.logs[name]
		x.known(l)
		x.readPlace(l)
		if !l.inPlace || l.older != nil || l.seq > 0 && !ends(l.lines, l.seq, l.id) {
			short = true
		}
	}
	if !short {
		return nil
	}
	x.gather()
	for _, name := range sortedNames(x.logs) {
		l := x.logs[name]
		whole := l.inPlace && (l.seq == 0 || ends(l.lines, l.seq, l.id))
		switch {
		case !whole:
			x.find(l)
		case l.older != nil:
			l.rebuild = true
		}
	}
	return nil
}

func (x *exam) log(name string) *examLog {
	l := x.logs[name]
	if l == nil {
		l = &examLog{name: name}
		x.logs[name] = l
	}
	return l
}

// known notes the last entry that is known of: seen, lost before, exchanged, or
// acknowledged.
func (x *exam) known(l *examLog) {
	note := func(seq uint64, id ledger.ID) {
		if seq > l.seq {
			l.seq, l.id = seq, id
		}
	}
	if one, ok := x.seen[l.name]; ok {
		note(one.Seq, one.ID)
		if seq, id, lost := one.lost(); lost {
			note(seq, id)
		}
	}
	if l.seq == 0 && len(sameWriter(x.logs, l.name)) == 1 { // where a log forked, it may have other names elsewhere
		for _, one := range x.s.remembered(l.name) {
			note(one.Seq, one.ID)
		}
	}
	for _, records := range [][]record{x.pending.records, x.stray} {
		for _, r := range records {
			if r.log == l.name {
				if head, err := headOf(r.lines[len(r.lines)-1]); err == nil {
					note(head.seq, head.id)
				}
			}
		}
	}
}

// readPlace reads a log from where it belongs.
func (x *exam) readPlace(l *examLog) {
	if x.st.logs[l.name] == nil {
		l.why = errors.New("it is not said where it ends")
		return
	}
	lines, err := x.s.readLog(x.st, l.name, x.from)
	if err != nil {
		l.why = err
		l.foreign = x.isForeign(x.refs[l.name])
		return
	}
	l.lines, l.inPlace = lines, true
	if !x.whole {
		l.older = x.walk(l.name, x.st.logs[l.name])
	}
}

// isForeign reports whether a commit can be read and is not one of ours.
func (x *exam) isForeign(commit plumbing.Hash) bool {
	raw, err := x.from.kind(plumbing.CommitObject, commit)
	return err == nil && !bytes.Contains(raw, []byte("\nauthor shedbook <"))
}

// errCutHistory says that some state that a log once had is not whole.
var errCutHistory = errors.New("parts of its files are missing")

// walk looks whether every state a log ever had is held. Its content was checked
// with the packed file or piece that holds it.
func (x *exam) walk(name string, l *logState) error {
	at := l.base
	if ref := x.refs[name]; !ref.IsZero() {
		at = ref // what is pending lies there, too
	}
	return x.walkFrom(at)
}

func (x *exam) walkFrom(at plumbing.Hash) error {
	held := map[plumbing.Hash]bool{}
	for !at.IsZero() {
		c, err := x.from.commit(at)
		if err != nil || !x.holdsTree(c.tree, held) {
			return errCutHistory
		}
		at = c.parent
	}
	return nil
}

// holdsTree looks for a tree and all in it.
func (x *exam) holdsTree(tree plumbing.Hash, held map[plumbing.Hash]bool) bool {
	if held[tree] {
		return true
	}
	held[tree] = true
	entries, err := x.from.tree(tree)
	if err != nil {
		return false
	}
	for _, e := range entries {
		switch {
		case held[e.hash]:
		case e.isFolder():
			if !x.holdsTree(e.hash, held) {
				return false
			}
		default:
			if !x.holds(e.hash) {
				return false
			}
			held[e.hash] = true
		}
	}
	return true
}

// holds reports whether an object lies in a whole pack or is a whole piece.
func (x *exam) holds(hash plumbing.Hash) bool {
	if x.packs.contains(hash) {
		return true
	}
	if _, err := x.s.readLoose(hash); err == nil {
		return true
	}
	_, err := x.packs.get(hash)
	return err == nil
}

// gather looks for entries in every file of the folder, and where it borrows.
func (x *exam) gather() {
	v := newSalvage(x.s.BookID())
	x.salvage = v
	for _, o := range x.loose {
		v.object(o.kind, o.data)
	}
	x.eachPacked(x.s, x.badPacks, v.object)
	for _, dir := range x.borrowed {
		if filepath.Base(filepath.Clean(dir)) != "objects" {
			continue
		}
		other := &Store{dir: filepath.Dir(filepath.Clean(dir)), visitor: "audit"}
		y := &exam{s: other, needs: map[plumbing.Hash]string{}}
		if y.readPacks() == nil && y.readPieces() == nil {
			for _, o := range y.loose {
				v.object(o.kind, o.data)
			}
			y.eachPacked(other, y.badPacks, v.object)
		}
		y.close()
	}
	v.records(x.pending.records)
	v.records(x.stray)
	if files, err := os.ReadDir(x.s.path(cacheDir)); err == nil {
		for _, f := range files {
			if f.Name() == imageFile {
				continue
			}
			for _, o := range x.s.readCache(f.Name()) {
				v.object(o.kind, o.data)
			}
		}
	}
	v.folder(x.s.path(keptDir))
}

// find puts a log together from what was gathered.
func (x *exam) find(l *examLog) {
	f := x.salvage.of(l.name[:32])
	want := l.id
	_, own, _ := strings.Cut(l.name, ".")
	if own != "" && want.IsZero() {
		for id := range f.entries {
			if strings.HasPrefix(id.String(), own) {
				want = id
			}
		}
	}
	other := func(id ledger.ID) bool {
		for _, name := range sameWriter(x.logs, l.name) {
			_, digits, second := strings.Cut(name, ".")
			if second && digits != own && strings.HasPrefix(id.String(), digits) {
				return true
			}
		}
		return false
	}
	chain, apart := f.chain(want, other)
	lines := make([][]byte, len(chain))
	for i, e := range chain {
		lines[i] = e.Line()
	}
	l.apart = apart
	if n := len(apart); n > 0 && apart[n-1].Seq() > l.seq {
		l.seq, l.id = apart[n-1].Seq(), apart[n-1].ID()
	}
	if l.inPlace && commonLines(l.lines, lines) == len(lines) {
		return // nothing better is held
	}
	l.unusable = append(l.unusable, notAmong(l.lines, lines)...)
	_, named := x.refs[l.name]
	l.lines, l.inPlace, l.rebuild = lines, false, named || len(lines) > 0
}

// notAmong returns the lines of one list that another does not have.
func notAmong(lines, others [][]byte) [][]byte {
	have := map[string]bool{}
	for _, line := range others {
		have[string(line)] = true
	}
	var out [][]byte
	for _, line := range lines {
		if !have[string(line)] {
			out = append(out, line)
		}
	}
	return out
}

// held returns the logs as far as they are held; one of which nothing is held is
// none.
func (x *exam) held() []ledger.Log {
	var logs []ledger.Log
	for _, name := range sortedNames(x.logs) {
		l := x.logs[name]
		if len(l.lines) == 0 {
			continue
		}
		log := ledger.Log{Name: name, Lines: l.lines}
		if one, ok := x.seen[name]; ok && one.Seq > 0 {
			log.Checked = one.ID
		}
		logs = append(logs, log)
	}
	return logs
}

// missingFolder reports whether a folder of the book is gone.
func (x *exam) missingFolder(name string) bool {
	_, err := os.Stat(x.s.path(name))
	return errors.Is(err, fs.ErrNotExist)
}
