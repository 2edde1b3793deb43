package gitstore

import (
	"errors"
	"fmt"

	"github.com/go-git/go-git/v5/plumbing"
)

// A bulk write is packed whenever this much has gathered.
const (
	bulkObjects = 5000
	bulkBytes   = 32 << 20
)

// Bulk is [Store.Update] for writing many runs at once, as when a book is made
// from other records. The runs go straight into packs. Nothing is recorded
// until fn has returned nil; then all of it is, in one step, durably, when Bulk
// returns nil. If fn returns an error, nothing was recorded; if only Bulk does,
// nothing either, but for an error that wraps [ErrMayStand].
func (s *Store) Bulk(fn func(tx *Tx) error) error {
	unlock, err := s.lock()
	if err != nil {
		return err
	}
	defer unlock()
	st, err := s.recover()
	if err != nil {
		return err
	}
	if len(st.pending.records) > 0 { // packs must be whole in themselves
		if err := s.pack(); err != nil {
			return err
		}
		if st, err = s.recover(); err != nil {
			return err
		}
	}
	tx := &Tx{s: s, state: st, tips: map[string]*tip{}, bulk: &bulk{old: map[string]plumbing.Hash{}}}
	err = fn(tx)
	if err == nil {
		err = tx.bulk.finish(tx)
	}
	if err == nil {
		return tx.bulk.failed
	}
	if !errors.Is(err, ErrMayStand) { // else the record may name what these packs hold
		for _, name := range tx.bulk.packs {
			s.removePack(name)
		}
	}
	return err
}

// bulk is what a bulk write has gathered.
type bulk struct {
	objects []object
	bytes   int
	packs   []string                 // written so far
	old     map[string]plumbing.Hash // logs written to, and where they ended before
	durable []func() error           // runs once all is
	failed  error                    // of these
}

func (b *bulk) add(tx *Tx, t, next *tip, lines [][]byte, objects []object) error {
	if _, ok := b.old[t.log]; !ok {
		b.old[t.log] = t.commit
	}
	b.objects = append(b.objects, objects...)
	for _, o := range objects {
		b.bytes += len(o.data)
	}
	l := tx.state.logs[t.log]
	if l == nil {
		l = &logState{name: t.log}
		tx.state.logs[t.log] = l
	}
	l.runs = append(l.runs, run{lines: lines, raw: objects[len(objects)-1].data, commit: next.commit})
	tx.tips[t.log] = next
	if len(b.objects) < bulkObjects && b.bytes < bulkBytes {
		return nil
	}
	return b.flush(tx.s)
}

func (b *bulk) flush(s *Store) error {
	if len(b.objects) == 0 {
		return nil
	}
	name, err := s.writePack(b.objects)
	if err != nil {
		return fmt.Errorf("cannot write to the book in %q: %w", s.dir, err)
	}
	b.packs = append(b.packs, name)
	b.objects, b.bytes = nil, 0
	return nil
}

// finish records everything in one pending record of moves, and then moves the
// references.
func (b *bulk) finish(tx *Tx) error {
	s := tx.s
	if err := b.flush(s); err != nil || len(b.old) == 0 {
		return err
	}
	var r record
	for _, name := range sortedNames(b.old) {
		if err := s.waitUnlocked(name); err != nil {
			return err
		}
		r.moves = append(r.moves, move{log: name, old: b.old[name], new: tx.tips[name].commit})
	}
	if err := s.acknowledge(&tx.state.pending, r); err != nil {
		return fmt.Errorf("cannot record in %q: %w", s.dir, err)
	}
	for _, f := range b.durable {
		b.failed = errors.Join(b.failed, f())
	}
	if err := b.place(tx, r); err != nil {
		s.note("what was recorded is safe, but could not be put in its place; that is made up for with the next write: %v", err)
	}
	return nil
}

func (b *bulk) place(tx *Tx, r record) error {
	s := tx.s
	for _, m := range r.moves {
		if err := s.moveReference(m.log, m.old, m.new); err != nil {
			return err
		}
	}
	if err := tx.pointHead(); err != nil {
		return err
	}
	for _, m := range r.moves {
		t := tx.tips[m.log]
		if err := s.writeSeen(Seen{Log: m.log, Seq: t.seq, ID: t.id, commit: t.commit}); err != nil {
			return err
		}
	}
	return s.pack() // nothing is pending but the moves
}
