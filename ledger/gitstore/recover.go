package gitstore

import (
	"bytes"
	"errors"
	"fmt"
	"os"

	"github.com/go-git/go-git/v5/plumbing"
)

// sound reports, without the lock, whether there is nothing to recover: no torn
// record, and every reference where pending/ and seen/ say. Doubt reads as
// false: recover looks again under the lock.
func (s *Store) sound() bool {
	st, err := s.snapshot()
	if err != nil || st.pending.good != st.pending.size {
		return false
	}
	all, err := s.Seen()
	if err != nil {
		return false
	}
	if len(all) == 0 && len(st.refs) > 0 {
		return false
	}
	seen := map[string]plumbing.Hash{}
	for _, one := range all {
		seen[one.Log] = one.commit
		if st.refs[one.Log] != one.commit {
			return false
		}
	}
	for name := range st.pending.logs() {
		if tip := st.logs[name].tip(); st.refs[name] != tip || seen[name] != tip {
			return false
		}
	}
	return true
}

// recover puts right what a crash, or another program, left: see [Open]. The
// caller holds the lock.
func (s *Store) recover() (*state, error) {
	p, err := s.readPending()
	if err != nil {
		return nil, err
	}
	if err := s.cutTorn(&p); err != nil {
		return nil, err
	}
	refs, err := s.references()
	if err != nil {
		return nil, err
	}
	st, err := s.fold(p, refs)
	if err != nil {
		return nil, err
	}
	r := &recovery{s: s, st: st, packs: s.openPacks()}
	defer r.packs.close()
	r.from = s.history(r.packs)
	if err := r.readSeen(); err != nil {
		return nil, err
	}
	if len(r.seen) == 0 && len(refs) > 0 && len(p.records) == 0 {
		return nil, s.seenGone()
	}
	for _, name := range sortedNames(p.logs()) {
		if err := r.finish(st.logs[name]); err != nil {
			return nil, err
		}
	}
	for _, name := range sortedNames(r.seen) {
		if err := r.compare(r.seen[name]); err != nil {
			return nil, err
		}
		if err := r.forgetLoss(r.seen[name]); err != nil {
			return nil, err
		}
	}
	return st, r.pointHead()
}

// recovery is one pass over the logs of a book.
type recovery struct {
	s     *Store
	st    *state
	seen  map[string]Seen
	packs *packs
	from  fetch
}

func (r *recovery) readSeen() error {
	all, err := r.s.Seen()
	if err != nil {
		return err
	}
	r.seen = map[string]Seen{}
	for _, one := range all {
		r.seen[one.Log] = one
	}
	return nil
}

// finish completes what comes after a run's acknowledgement: objects, the
// reference, seen/.
func (r *recovery) finish(l *logState) error {
	s, tip := r.s, l.tip()
	ref := r.st.refs[l.name]
	if ref != tip {
		if !ref.IsZero() && !l.passed(ref) {
			ahead, err := r.contains(ref, tip)
			if err != nil {
				return err
			}
			if ahead { // another program went on from there
				r.st.logs[l.name] = &logState{name: l.name, base: ref}
				return nil
			}
		}
		end, objects, err := s.replay(l, r.from)
		if err != nil {
			return r.rewound(l.name, err)
		}
		if err := s.writeLoose(objects); err != nil {
			return err
		}
		if err := r.move(l.name, ref, tip); err != nil {
			return err
		}
		if ref.IsZero() || l.passed(ref) {
			s.note("the last write to the log of %s was interrupted; what it had recorded was put in its place (%d entries now)", l.name, end.seq)
		} else {
			s.note("the log of %s had been set back or replaced by another program; it was restored (%d entries)", l.name, end.seq)
		}
		return r.markSeen(end)
	}
	if r.seen[l.name].commit != tip {
		end, _, err := s.replay(l, r.from)
		if err != nil {
			return r.rewound(l.name, err)
		}
		return r.markSeen(end)
	}
	return nil
}

// compare checks a log against what this device has seen of it, and restores
// it when it falls short and the missing entries are held.
func (r *recovery) compare(seen Seen) error {
	ref := r.st.refs[seen.Log]
	if ref == seen.commit || seen.commit.IsZero() { // of a lost log, what came back is verified by whoever brings it
		return nil
	}
	if !ref.IsZero() {
		if ahead, err := r.contains(ref, seen.commit); err != nil || ahead {
			return err
		}
		// The same entries under other commits are the same log.
		lines, err := readLines(seen.Log, ref, r.from)
		if err == nil && uint64(len(lines)) >= seen.Seq {
			if head, err := headOf(lines[seen.Seq-1]); err == nil && head.id == seen.ID {
				return nil
			}
		}
	}
	lines, err := readLines(seen.Log, seen.commit, r.from)
	if err != nil || uint64(len(lines)) != seen.Seq {
		return r.rewound(seen.Log, err)
	}
	if err := r.move(seen.Log, ref, seen.commit); err != nil {
		return err
	}
	r.st.logs[seen.Log] = &logState{name: seen.Log, base: seen.commit}
	r.s.note("the log of %s had been set back or replaced by another program; it was restored (%d entries)", seen.Log, seen.Seq)
	return nil
}

// forgetLoss drops the note of lost entries once they are held again.
func (r *recovery) forgetLoss(seen Seen) error {
	seq, id, lost := seen.lost()
	if !lost || seen.Seq < seq {
		return nil
	}
	line, err := lineAt(seen.Log, seen.commit, seq, r.from)
	if err != nil {
		return nil // whoever reads the log is told
	}
	if head, err := headOf(line); err != nil || head.id != id {
		return nil
	}
	seen.LostSeq, seen.LostID = 0, ""
	return r.s.putSeen(seen)
}

// move moves a reference during recovery. The commit it stood at, if it is on
// another line, stays held under refs/shedbook/found/, so that nothing is lost.
func (r *recovery) move(log string, from, to plumbing.Hash) error {
	s := r.s
	if !from.IsZero() {
		if within, err := r.contains(to, from); err != nil {
			return err
		} else if _, err := r.from.commit(from); err == nil && !within { // a note that names nothing is no loss
			if err := s.keepFound(from); err != nil {
				return err
			}
		}
	}
	if err := s.moveReference(log, from, to); err != nil {
		return err
	}
	r.st.refs[log] = to
	return nil
}

// keepFound keeps a commit under refs/shedbook/found/<first 16 hex>.
func (s *Store) keepFound(commit plumbing.Hash) error {
	dir := s.git("refs", "shedbook", "found")
	if err := s.disk.mkdir(dir); err != nil {
		return err
	}
	name := commit.String()
	return s.disk.replace(s.git("refs", "shedbook", "found", name[:16]), []byte(name+"\n"), true)
}

func (r *recovery) markSeen(end *tip) error {
	one := Seen{Log: end.log, Seq: end.seq, ID: end.id, commit: end.commit}
	if old, ok := r.seen[end.log]; ok && old.Seq > one.Seq {
		return nil // compare deals with it
	}
	if err := r.s.writeSeen(one); err != nil {
		return err
	}
	r.seen[end.log] = one
	return nil
}

// contains reports whether the commit wanted is from or one before it. What is
// not held ends the search.
func (r *recovery) contains(from, wanted plumbing.Hash) (bool, error) {
	runs := map[plumbing.Hash][]byte{}
	for _, l := range r.st.logs {
		for _, one := range l.runs {
			runs[one.commit] = one.raw
		}
	}
	for at := from; !at.IsZero(); {
		if at == wanted {
			return true, nil
		}
		var c commitOf
		var err error
		if raw, ok := runs[at]; ok {
			c, err = parseCommit(raw)
		} else {
			c, err = r.from.commit(at)
		}
		if err != nil {
			return false, nil
		}
		at = c.parent
	}
	return false, nil
}

// rewound is the error for a log whose seen or pending entries rest on
// something that is not held.
func (r *recovery) rewound(log string, cause error) error {
	if cause != nil && !errors.Is(cause, errMissing) {
		var damaged *DamagedError
		if !errors.As(cause, &damaged) {
			return fmt.Errorf("cannot restore the log of %s: %w", log, cause)
		}
	}
	e := &RewoundError{Log: log, Seen: r.seen[log].Seq}
	if l := r.st.logs[log]; l != nil && len(l.runs) > 0 {
		last := l.runs[len(l.runs)-1].lines
		if head, err := headOf(last[len(last)-1]); err == nil {
			e.Seen = max(e.Seen, head.seq)
		}
	}
	if lines, err := readLines(log, r.st.refs[log], r.from); err == nil {
		e.Held = uint64(len(lines))
	}
	return e
}

// pointHead makes a plain copy of the repository show the founder's log, once
// there is one.
func (r *recovery) pointHead() error {
	now, err := os.ReadFile(r.s.git("HEAD"))
	if err == nil {
		name, ok := bytes.CutPrefix(bytes.TrimSpace(now), []byte("ref: "+refPrefix))
		if _, held := r.st.refs[string(name)]; ok && held {
			return nil
		}
	}
	for _, name := range sortedNames(r.st.refs) {
		line, err := firstLine(r.st.logs[name], r.from)
		if err != nil {
			continue // whoever reads the log is told
		}
		if head, err := headOf(line); err == nil && head.id == r.s.BookID() {
			return r.s.pointHead(name)
		}
	}
	return nil
}

// firstLine reads the first entry of a log.
func firstLine(l *logState, from fetch) ([]byte, error) {
	if l.base.IsZero() && len(l.runs) > 0 {
		return l.runs[0].lines[0], nil
	}
	c, err := from.commit(l.base)
	if err != nil {
		return nil, err
	}
	tree := c.tree
	for _, name := range []string{"log", folderName(0)} {
		entries, err := from.tree(tree)
		if err != nil {
			return nil, err
		}
		tree = plumbing.ZeroHash
		for _, e := range entries {
			if e.name == name {
				tree = e.hash
			}
		}
	}
	files, err := from.tree(tree)
	if err != nil || len(files) == 0 {
		return nil, errMissing
	}
	data, err := from.kind(plumbing.BlobObject, files[0].hash)
	if err != nil {
		return nil, err
	}
	lines, err := splitLines(data)
	if err != nil {
		return nil, err
	}
	return lines[0], nil
}

// replay makes the objects of a log's pending runs anew, on top of its base.
func (s *Store) replay(l *logState, from fetch) (*tip, []object, error) {
	end, err := readTip(l.name, l.base, from)
	if err != nil {
		return nil, nil, err
	}
	var all []object
	for _, one := range l.runs {
		head, err := headOf(one.lines[len(one.lines)-1])
		if err != nil {
			return nil, nil, err
		}
		papers, err := s.runPapers(one, from)
		if err == nil {
			err = end.readPapers(digests(papers), from)
		}
		if err != nil {
			return nil, nil, err
		}
		next, objects, err := end.extend(one.lines, head.at, papers)
		if err != nil {
			return nil, nil, err
		}
		if next.commit != one.commit {
			return nil, nil, &DamagedError{Log: l.name, Path: s.path(pendingDir, pendingFile), Why: fmt.Sprintf("entries up to %d do not make the record that was acknowledged", next.seq)}
		}
		all = append(all, objects...)
		end = next
	}
	return end, all, nil
}
