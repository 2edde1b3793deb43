package gitstore

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"github.com/go-git/go-git/v5/plumbing"

	"shedbook/ledger"
)

// hereLog is one log of this book.
type hereLog struct {
	name   string
	commit plumbing.Hash
	seq    uint64
	id     ledger.ID
	seen   bool   // its entries were verified when they were taken in
	wrong  string // why not, if they do not verify
}

// thereLog is one log of the target.
type thereLog struct {
	name   string
	commit plumbing.Hash
	seq    uint64    // of its last entry, once it is known
	id     ledger.ID // of that entry

	known bool   // every entry of it is held here,
	host  string // in the log of this name

	from  fetch // where it can be read
	lines [][]byte
	why   string // it is refused
}

// sameWriter returns the names of a map's logs of the same writer, the plain
// one first.
func sameWriter[V any](logs map[string]V, log string) []string {
	var names []string
	for name := range logs {
		if name[:32] == log[:32] {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	return names
}

// readHere learns where this book's logs end, after putting right what a crash
// left. Usually no history is read for it.
func (x *exchange) readHere() error {
	s := x.s
	if !s.sound() {
		if err := s.putRight(); err != nil {
			return err
		}
	}
	st, err := s.snapshot()
	if err != nil {
		return err
	}
	all, err := s.Seen()
	if err != nil {
		return err
	}
	seen := map[string]Seen{}
	for _, one := range all {
		seen[one.Log] = one
	}
	x.here = map[string]*hereLog{}
	for name := range st.logs {
		h := &hereLog{name: name, commit: st.end(name)}
		if one, ok := seen[name]; ok && one.commit == h.commit {
			h.seq, h.id, h.seen = one.Seq, one.ID, true
		} else {
			t, err := readTip(name, h.commit, s.history(x.packs))
			if err != nil {
				return damagedAt(name, "the last write", err)
			}
			h.seq, h.id = t.seq, t.id
		}
		x.here[name] = h
	}
	return nil
}

// verifyHere checks logs that someone else has written into this book's own
// repository, as when it is another device's target: what holds is noted as
// seen, what does not is not passed on.
func (x *exchange) verifyHere() error {
	var unseen []*hereLog
	for _, name := range sortedNames(x.here) {
		if h := x.here[name]; !h.seen {
			unseen = append(unseen, h)
		}
	}
	if len(unseen) == 0 {
		return nil
	}
	if err := x.readLines(); err != nil {
		return err
	}
	var logs []ledger.Log
	for _, name := range sortedNames(x.lines) {
		logs = append(logs, x.checked(&planLog{name: name, lines: x.lines[name]}))
	}
	book, err := ledger.LoadPinned(x.book, logs)
	if err != nil {
		return err
	}
	for _, f := range book.Findings() {
		if h := x.here[f.Log]; h != nil && f.Severity == ledger.Error && h.wrong == "" {
			h.wrong = fmt.Sprintf("line %d: %s", f.Line, f.Message)
		}
	}
	unlock, err := x.s.lock()
	if err != nil {
		return err
	}
	defer unlock()
	for _, h := range unseen {
		if h.wrong != "" {
			continue
		}
		old, err := x.s.readSeen(h.name)
		if err == nil && old.Seq > h.seq { // another process went on
			continue
		}
		if err := x.s.writeSeen(Seen{Log: h.name, Seq: h.seq, ID: h.id, commit: h.commit}); err != nil {
			return err
		}
		h.seen = true
	}
	return nil
}

// list learns what the target has, and which of it is new.
func (x *exchange) list(ctx context.Context) error {
	x.progress("looking at what is there", 0, 0)
	if x.there != nil { // Join has looked
		return nil
	}
	l, err := x.t.list(ctx)
	if err != nil {
		return err
	}
	x.report.Refused = append(x.report.Refused, l.refused...)
	x.shown = l.shown
	x.there = map[string]*thereLog{}
	for name, commit := range l.logs {
		if commit.IsZero() {
			continue // lost: it is put back as one that is not there
		}
		th := &thereLog{name: name, commit: commit}
		if err := x.recognize(th); err != nil {
			return err
		}
		x.there[name] = th
	}
	return nil
}

// recognize finds out, reading little or nothing, whether all of a log is held.
func (x *exchange) recognize(th *thereLog) error {
	for _, name := range sameWriter(x.here, th.name) {
		if h := x.here[name]; h.commit == th.commit {
			th.known, th.host, th.seq, th.id = true, name, h.seq, h.id
			return nil
		}
	}
	if m, ok := x.memory.byName[th.name]; ok && m.commit() == th.commit {
		return x.settle(th, m.Seq, m.ID)
	}
	from := x.s.history(x.packs)
	if _, err := from.commit(th.commit); err != nil {
		return nil // not ours
	}
	// What lies in this book's own repository was verified before it was put there.
	t, err := readTip(th.name, th.commit, from)
	if err != nil {
		return nil
	}
	return x.settle(th, t.seq, t.id)
}

// settle notes that th ends with that entry, if it is held here.
func (x *exchange) settle(th *thereLog, seq uint64, id ledger.ID) error {
	for _, name := range sameWriter(x.here, th.name) {
		held, err := x.holds(x.here[name], seq, id)
		if err != nil {
			return err
		}
		if held {
			th.known, th.host, th.seq, th.id = true, name, seq, id
			return nil
		}
	}
	return nil
}

// holds reports whether entry seq of a log here is the one of that id.
func (x *exchange) holds(h *hereLog, seq uint64, id ledger.ID) (bool, error) {
	switch {
	case seq == 0 || seq > h.seq:
		return false, nil
	case seq == h.seq:
		return id == h.id, nil
	}
	line, err := lineAt(h.name, h.commit, seq, x.s.history(x.packs))
	if err != nil {
		return false, err
	}
	head, err := headOf(line)
	return err == nil && head.id == id, err
}

// lineAt reads entry seq of a log, and no other file than its own.
func lineAt(log string, commit plumbing.Hash, seq uint64, from fetch) ([]byte, error) {
	number := int(seq-1) / linesPerFile
	c, err := from.commit(commit)
	if err != nil {
		return nil, damagedAt(log, "the last write", err)
	}
	hash, path := c.tree, ""
	for _, name := range []string{"log", folderName(number / filesPerFolder), fileName(number % filesPerFolder)} {
		entries, err := from.tree(hash)
		if err != nil {
			return nil, damagedAt(log, path+"/", err)
		}
		path += "/" + name
		i := slices.IndexFunc(entries, func(e treeEntry) bool { return e.name == name })
		if i < 0 {
			return nil, damagedAt(log, path, errMissing)
		}
		hash = entries[i].hash
	}
	data, err := from.kind(plumbing.BlobObject, hash)
	if err != nil {
		return nil, damagedAt(log, path, err)
	}
	lines, err := splitLines(data)
	if err != nil {
		return nil, damagedAt(log, path, err)
	}
	if i := int(seq-1) % linesPerFile; i < len(lines) {
		return lines[i], nil
	}
	return nil, damagedAt(log, path, fmt.Errorf("entry %d is not in it", seq))
}

// readLines reads every log here, once.
func (x *exchange) readLines() error {
	if x.lines != nil {
		return nil
	}
	logs, err := x.s.Logs()
	if err != nil {
		return err
	}
	x.lines = map[string][][]byte{}
	for _, l := range logs {
		x.lines[l.Name] = l.Lines
	}
	return nil
}

// whyOf says in plain words why a log could not be read.
func whyOf(err error) string {
	var damaged *DamagedError
	if errors.As(err, &damaged) {
		return fmt.Sprintf("%q: %s", damaged.Path, damaged.Why)
	}
	return plainCause(err)
}
