package gitstore

import (
	"fmt"
	"maps"

	"shedbook/ledger"
)

// Tx is the right to write, valid while the function given to [Store.Update]
// or [Store.Bulk] runs. It is for one goroutine.
type Tx struct {
	s     *Store
	state *state
	tips  map[string]*tip
	bulk  *bulk // nil: every run is made durable by itself
}

// Update runs fn while holding the book's write lock; it waits for others who
// hold it. What a crash left is put right before fn runs. Runs that fn appended
// before it returned an error stay.
func (s *Store) Update(fn func(tx *Tx) error) error {
	unlock, err := s.lock()
	if err != nil {
		return err
	}
	defer unlock()
	st, err := s.recover()
	if err != nil {
		return err
	}
	tx := &Tx{s: s, state: st, tips: map[string]*tip{}}
	if err := fn(tx); err != nil {
		return err
	}
	if due, err := s.packIsDue(st.pending); err != nil || !due {
		return err
	}
	if err := s.pack(); err != nil {
		s.note("what was recorded is safe, but the book could not be packed more tightly; that is tried again with the next write: %v", err)
	}
	return nil
}

// Unchanged reports whether [Tx.Logs] would return what this Store's last
// [Store.Logs] did and what this Store appended since, so that who asks for the
// lock to record need not read and verify the book again.
func (tx *Tx) Unchanged() bool { return tx.s.holds(tx.state) }

// holds reports whether st is at what [Store.Logs] returned last and what this
// Store appended to that since.
func (s *Store) holds(st *state) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.handed != nil && maps.Equal(s.handed, st.ends())
}

// Current reports whether the book still holds what [Store.Logs] returned last
// and what this Store appended since, and nothing else: who keeps it in memory
// need not read it again. It needs no lock and reads no entry.
func (s *Store) Current() (bool, error) {
	st, err := s.snapshot()
	if err != nil {
		return false, err
	}
	return s.holds(st), nil
}

// Logs is [Store.Logs] inside an update: it holds what was appended so far.
func (tx *Tx) Logs() ([]ledger.Log, error) {
	return tx.s.readLogs(tx.state)
}

// Durable runs f as soon as what was appended survives a crash: in [Store.Update]
// now, in [Store.Bulk] when all of it does, and not at all if nothing was
// recorded. The write lock is held. An error of f is returned to who wrote, and
// takes nothing back.
func (tx *Tx) Durable(f func() error) error {
	if tx.bulk == nil {
		return f()
	}
	tx.bulk.durable = append(tx.bulk.durable, f)
	return nil
}

// Append adds one run of entries to a log, and is acknowledged when it returns
// nil, in [Store.Bulk] when that does: the run then survives a crash. The
// entries must be of one writer, of this book, and continue the log's last
// entry, or start the log. A log's name is its writer, or for a second chain of
// one key "<writer>.<16 hex digits>".
//
// Nothing was recorded if it returns an error that does not wrap [ErrMayStand].
// If only the steps after the acknowledgement fail, it returns nil, and
// [Store.Recovered] tells; they are made up for by the next Update or [Open].
//
// papers are the bytes of papers that the entries name; they are as durable as
// the entries. One that the log has already is not stored again.
func (tx *Tx) Append(log string, entries []*ledger.Entry, papers ...[]byte) error {
	if err := checkName(log); err != nil {
		return err
	}
	if len(entries) == 0 {
		return fmt.Errorf("nothing to append to the log of %s", log)
	}
	t, err := tx.tip(log)
	if err != nil {
		return fmt.Errorf("cannot read the end of the log of %s: %w", log, err)
	}
	if err := tx.s.continues(t, entries); err != nil {
		return err
	}
	if one, err := tx.s.readSeen(log); err == nil {
		if seq, _, lost := one.lost(); lost && t.seq < seq {
			return &RewoundError{Log: log, Held: t.seq, Seen: seq}
		}
	}
	lines := make([][]byte, len(entries))
	for i, e := range entries {
		lines[i] = e.Line()
	}
	packs := tx.s.openPacks()
	defer packs.close()
	given, err := t.given(lines, papers, tx.s.history(packs))
	if err != nil {
		return err
	}
	next, objects, err := t.extend(lines, entries[len(entries)-1].At(), given)
	if err != nil {
		return err
	}
	raw := objects[len(objects)-1].data
	known := tx.s.holds(tx.state)
	if tx.bulk != nil {
		return tx.bulk.add(tx, t, next, lines, objects)
	}
	if err := tx.s.waitUnlocked(log); err != nil {
		return fmt.Errorf("nothing was recorded: %w", err)
	}
	if err := tx.s.writePapers(given); err != nil {
		return fmt.Errorf("cannot record in %q: %w", tx.s.dir, err)
	}
	if err := tx.s.acknowledge(&tx.state.pending, record{log: log, lines: lines, commit: raw, papers: listed(given)}); err != nil {
		return fmt.Errorf("cannot record in %q: %w", tx.s.dir, err)
	}
	l := tx.state.logs[log]
	if l == nil {
		l = &logState{name: log}
		tx.state.logs[log] = l
	}
	l.runs = append(l.runs, run{lines: lines, raw: raw, papers: listed(given), commit: next.commit})
	tx.tips[log] = next
	if err := tx.place(t, next, objects); err != nil {
		tx.s.note("what was recorded is safe, but could not be put in its place; that is made up for with the next write: %v", err)
	}
	if known {
		tx.s.mu.Lock()
		tx.s.handed = tx.state.ends()
		tx.s.mu.Unlock()
	}
	return nil
}

// place does what follows an acknowledgement: objects, reference, seen/.
func (tx *Tx) place(old, new *tip, objects []object) error {
	s := tx.s
	if at := tx.state.refs[new.log]; at != old.commit {
		return &movedError{log: new.log, expected: old.commit, found: at} // an earlier place failed
	}
	if err := s.writeLoose(objects); err != nil {
		return err
	}
	if err := s.moveReference(new.log, old.commit, new.commit); err != nil {
		return err
	}
	tx.state.refs[new.log] = new.commit
	for _, o := range objects { // a git that tidied may have taken what no reference held yet
		if !exists(s.loosePath(o.hash)) {
			if err := s.writeLoose([]object{o}); err != nil {
				return err
			}
		}
	}
	if old.commit.IsZero() {
		if err := tx.pointHead(); err != nil {
			return err
		}
	}
	return s.writeSeen(Seen{Log: new.log, Seq: new.seq, ID: new.id, commit: new.commit})
}

// pointHead points at the founder's log when that has just begun.
func (tx *Tx) pointHead() error {
	for _, name := range sortedNames(tx.state.logs) {
		l := tx.state.logs[name]
		if !l.base.IsZero() || len(l.runs) == 0 {
			continue
		}
		head, err := headOf(l.runs[0].lines[0])
		if err != nil {
			return err
		}
		if head.id == tx.s.BookID() {
			return tx.s.pointHead(name)
		}
	}
	return nil
}

// tip returns the end of a log, reading no more than its last files.
func (tx *Tx) tip(log string) (*tip, error) {
	if t := tx.tips[log]; t != nil {
		return t, nil
	}
	l := tx.state.logs[log]
	if l == nil {
		return &tip{log: log}, nil
	}
	packs := tx.s.openPacks()
	defer packs.close()
	from := &tipFetch{s: tx.s, cached: tx.s.readCache(log), packs: packs}
	t, err := readTip(log, l.tip(), from.get)
	if err != nil && len(l.runs) > 0 {
		// The loose objects are damaged or gone: pending/ makes them anew.
		t, _, err = tx.s.replay(l, tx.s.history(packs))
		from.fromPacks = false
	}
	if err != nil {
		return nil, err
	}
	if from.fromPacks {
		tx.s.writeCache(log, from.read)
	}
	tx.tips[log] = t
	return t, nil
}

// continues checks that entries may follow t.
func (s *Store) continues(t *tip, entries []*ledger.Entry) error {
	seq, prev := t.seq, t.id
	for _, e := range entries {
		head := e.Head()
		book := head.Book
		if book.IsZero() {
			book = e.ID() // the founding entry
		}
		if book != s.BookID() {
			return fmt.Errorf("entry %s belongs to another book", e.ID().Short())
		}
		if t.log[:32] != head.Writer.String() {
			return fmt.Errorf("entry %s was signed by %s and cannot stand in the log of %s", e.ID().Short(), head.Writer, t.log)
		}
		if head.Seq != seq+1 || head.Prev != prev {
			return fmt.Errorf("entry %s is number %d after %s and does not follow the log of %s, which ends with number %d, %s", e.ID().Short(), head.Seq, shortOr(head.Prev), t.log, seq, shortOr(prev))
		}
		seq, prev = head.Seq, e.ID()
	}
	return nil
}

func shortOr(id ledger.ID) string {
	if id.IsZero() {
		return "nothing"
	}
	return id.Short()
}
