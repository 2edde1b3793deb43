package gitstore

import (
	"bytes"
	"fmt"

	"github.com/go-git/go-git/v5/plumbing"
)

// logs writes every log that is not whole in its place anew: its objects go into
// packs, as far as no whole one holds them. References are not moved yet.
func (m *mender) logs() error {
	todo := false
	for _, l := range m.x.logs {
		todo = todo || l.rebuild
	}
	// What is pending is written with the rest, as its file may have to go.
	if !todo && !m.x.badPending && len(m.x.borrowed) == 0 && len(m.x.shallow) == 0 && len(m.x.badPacks) == 0 {
		return nil
	}
	w := &remaking{m: m, done: map[plumbing.Hash]bool{}}
	for _, name := range sortedNames(m.x.logs) {
		l := m.x.logs[name]
		if p := m.x.st.logs[name]; !l.rebuild && p != nil && len(p.runs) > 0 {
			l.rebuild, l.packed = true, true
		}
		if !l.rebuild {
			continue
		}
		if m.x.salvage == nil {
			m.x.gather()
		}
		if err := w.log(l); err != nil {
			return err
		}
		if err := m.setApart(l); err != nil {
			return err
		}
	}
	if err := w.flush(); err != nil {
		return err
	}
	m.moved = true
	return nil
}

// setApart keeps the entries of a log that have no place in it.
func (m *mender) setApart(l *examLog) error {
	if len(l.apart) > 0 {
		var data bytes.Buffer
		for _, e := range l.apart {
			data.Write(e.Line())
		}
		rel := fmt.Sprintf("entries/%s-from-%d.jsonl", l.name, l.apart[0].Seq())
		if err := m.keep.write(rel, data.Bytes()); err != nil {
			return err
		}
		m.did(l.name, "kept %s behind the gap as %s/%s, to be put back when those before are here", span(l.apart[0].Seq(), l.apart[len(l.apart)-1].Seq()), m.keep.dir, rel)
	}
	if lines := m.x.salvage.unproved(l.name[:32]); len(lines) > 0 && len(l.lines) == 0 {
		rel := fmt.Sprintf("entries/%s-not-checked.jsonl", l.name)
		if err := m.keep.write(rel, bytes.Join(lines, nil)); err != nil {
			return err
		}
		m.did(l.name, "kept %d %s as %s/%s: the key that they are checked with is not held", len(lines), verb(len(lines) == 1, "entry", "entries"), m.keep.dir, rel)
	}
	if len(l.unusable) > 0 {
		rel := fmt.Sprintf("entries/%s-not-sound.jsonl", l.name)
		if err := m.keep.write(rel, bytes.Join(l.unusable, nil)); err != nil {
			return err
		}
		m.did(l.name, "kept %d %s as %s/%s", len(l.unusable), verb(len(l.unusable) == 1, "line that does not belong in it", "lines that do not belong in it"), m.keep.dir, rel)
	}
	return nil
}

// remaking writes logs anew.
type remaking struct {
	m       *mender
	objects []object
	bytes   int
	done    map[plumbing.Hash]bool
}

func (w *remaking) log(l *examLog) error {
	if len(l.lines) == 0 {
		return nil
	}
	have := w.papers(l.name)
	t := &tip{log: l.name}
	fresh := 0
	for _, end := range w.m.x.salvage.ends(l.name, uint64(len(l.lines))) {
		papers, err := have.upTo(t, l.lines, end)
		if err != nil {
			return err
		}
		next, objects, err := extendTo(t, l.lines, end, papers)
		if err != nil {
			return err
		}
		for _, o := range objects {
			if w.done[o.hash] {
				continue
			}
			w.done[o.hash] = true
			if _, err := w.m.x.packs.get(o.hash); err == nil {
				continue // a piece outside of packs may not have reached the medium
			}
			fresh++
			w.objects = append(w.objects, o)
			if w.bytes += len(o.data); len(w.objects) >= bulkObjects || w.bytes >= bulkBytes {
				if err := w.flush(); err != nil {
					return err
				}
			}
		}
		t = next
	}
	l.end = t
	switch {
	case fresh == 0 || l.packed:
	case !l.inPlace:
		w.m.did(l.name, "wrote this log anew from the %d %s that %s held", len(l.lines), verb(len(l.lines) == 1, "entry", "entries"), verb(len(l.lines) == 1, "is", "are"))
	default:
		w.m.did(l.name, "wrote the missing parts of its files anew")
	}
	return nil
}

// papers are those of a log that is written anew: as it had them, or, where that
// cannot be told, any that lie in the folder whole.
func (w *remaking) papers(name string) *paperSource {
	x := w.m.x
	have := &paperSource{from: x.from, ours: x.from, pending: x.s}
	if list, err := paperList(x.refs[name], x.from); err == nil {
		have.list = list
	} else {
		have.list = x.salvage.papers
	}
	return have
}

func (w *remaking) flush() error {
	if len(w.objects) == 0 {
		return nil
	}
	_, err := w.m.s.writePack(w.objects)
	w.objects, w.bytes = nil, 0
	return err
}
