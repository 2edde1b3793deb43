package gitstore

import (
	"bytes"
	"fmt"
	"os"

	"github.com/go-git/go-git/v5/plumbing"
)

// references writes packed-refs without its damaged lines and sets aside what
// stands among the logs and is none.
func (m *mender) references() error {
	for _, name := range m.x.badRefs {
		if err := m.keep.move("git/refs/heads/log/" + name); err != nil {
			return err
		}
		if checkName(name) != nil {
			m.did("", "set aside %q, which stood among the logs", name)
		}
	}
	if m.x.badPacked {
		data, err := os.ReadFile(m.s.git("packed-refs"))
		if err != nil {
			return err
		}
		if err := m.keep.write("git/packed-refs", data); err != nil {
			return err
		}
		var good bytes.Buffer
		for _, line := range packedLines(data) {
			if _, _, ok := packedLine(line); ok {
				good.WriteString(line)
			}
		}
		if err := m.s.disk.replace(m.s.git("packed-refs"), good.Bytes(), true); err != nil {
			return err
		}
		m.did("", "wrote git/packed-refs anew without its damaged lines")
	}
	for _, name := range sortedNames(m.x.logs) {
		if err := m.reference(m.x.logs[name]); err != nil {
			return err
		}
	}
	return nil
}

// reference sets where a log ends.
func (m *mender) reference(l *examLog) error {
	if !l.rebuild {
		return nil
	}
	old, there, err := m.s.reference(l.name)
	if err != nil {
		return err
	}
	rel := "git/refs/heads/log/" + l.name
	if l.end == nil { // nothing of it is held
		if there {
			if err := m.keep.move(rel); err != nil {
				return err
			}
			m.did(l.name, "set aside the note of where this log ends, as none of its entries is held")
		}
		return nil
	}
	if there && old.IsZero() {
		if err := m.keep.move(rel); err != nil {
			return err
		}
		if old, _, err = m.s.reference(l.name); err != nil {
			return err
		}
	}
	if old == l.end.commit {
		return nil
	}
	if err := m.keepOld(l, old); err != nil {
		return err
	}
	if err := m.s.moveReference(l.name, old, l.end.commit); err != nil {
		return err
	}
	m.did(l.name, "set where this log ends: entry %d", l.end.seq)
	return nil
}

// keepOld keeps what a reference stood at, if the log does not come from there:
// held under a name of its own where all of it is here, else piece by piece.
func (m *mender) keepOld(l *examLog, old plumbing.Hash) error {
	if _, err := m.x.from.commit(old); err != nil || m.before(old, l.end.commit) {
		return nil
	}
	if m.x.walkFrom(old) == nil {
		if err := m.s.keepFound(old); err != nil {
			return err
		}
		if l.foreign {
			m.did(l.name, "set aside what another program had written into it: it stays held as git/%s", foundName(old))
		}
		return nil
	}
	if !l.foreign {
		return nil // it held nothing but these entries
	}
	if err := m.keepPieces(old, map[plumbing.Hash]bool{}); err != nil {
		return err
	}
	m.did(l.name, "set aside what another program had written into it, in %s/pieces", m.keep.dir)
	return nil
}

// keepPieces keeps a commit's or a folder's objects, each as a plain file.
func (m *mender) keepPieces(hash plumbing.Hash, done map[plumbing.Hash]bool) error {
	if done[hash] {
		return nil
	}
	done[hash] = true
	o, err := m.x.from(hash)
	if err != nil {
		return nil
	}
	if err := m.keep.write(fmt.Sprintf("pieces/%s.%s", hash, o.kind), o.data); err != nil {
		return err
	}
	switch o.kind {
	case plumbing.CommitObject:
		if c, err := parseCommit(o.data); err == nil {
			return m.keepPieces(c.tree, done)
		}
	case plumbing.TreeObject:
		entries, err := parseTree(o.data)
		if err != nil {
			return nil
		}
		for _, e := range entries {
			if err := m.keepPieces(e.hash, done); err != nil {
				return err
			}
		}
	}
	return nil
}

// before reports whether a commit is one that another came from.
func (m *mender) before(commit, tip plumbing.Hash) bool {
	r := &recovery{s: m.s, st: m.x.st, packs: m.x.packs, from: m.x.from}
	within, err := r.contains(tip, commit)
	return err == nil && within
}
