package gitstore

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"fmt"
	"hash/crc32"
	"io"

	"github.com/go-git/go-git/v5/plumbing"
)

// A book that is exchanged after every entry gets packs of one run each, with
// the log's last file whole in every one of them: copied as they are into one
// pack, they would take as much room as all versions of the file together.
// Merging small packs therefore stores older versions as what makes them out of
// the newest, as packing what is pending does.

// tight is which of the objects that the packs hold whole are stored anew.
type tight struct {
	newest map[plumbing.Hash]bool          // versions that stay whole, and are written first
	older  map[plumbing.Hash]plumbing.Hash // and what they are made out of
	held   map[plumbing.Hash]object        // newest ones at hand
	bytes  int                             // that they take
}

// mostHeld is how many bytes of newest versions are kept at hand.
const mostHeld = 32 << 20

// beginning is how much of a file tells which one it is: the beginning of a
// log's file has the id, writer and signature of its first entry in it.
const beginning = 512

// tighten looks through the packs for versions of one file or folder.
func (m *merger) tighten() error {
	type found struct {
		newest   plumbing.Hash
		size     int
		versions []plumbing.Hash
	}
	all := map[[sha256.Size]byte]*found{}
	seen := map[plumbing.Hash]bool{}
	err := m.each(func(p *mergePack, hash plumbing.Hash, _ int64, raw []byte) error {
		if seen[hash] {
			return nil // several packs hold it
		}
		seen[hash] = true
		o, ok := wholeEntry(hash, raw)
		if !ok {
			return nil
		}
		key, ok := versionOf(o)
		if !ok {
			return nil
		}
		f := all[key]
		if f == nil {
			f = &found{size: -1}
			all[key] = f
		}
		f.versions = append(f.versions, hash)
		if len(o.data) > f.size {
			f.newest, f.size = hash, len(o.data)
		}
		return nil
	})
	if err != nil {
		return err
	}
	t := &tight{newest: map[plumbing.Hash]bool{}, older: map[plumbing.Hash]plumbing.Hash{}, held: map[plumbing.Hash]object{}}
	for _, f := range all {
		for _, hash := range f.versions {
			if hash != f.newest {
				t.newest[f.newest], t.older[hash] = true, f.newest
			}
		}
	}
	m.tight = t
	return nil
}

// versionOf is the same for versions of one file, which only grows, and of
// folders with the same names in them. Which of them is written down whole does
// not matter to what they say.
func versionOf(o object) (key [sha256.Size]byte, ok bool) {
	switch o.kind {
	case plumbing.BlobObject:
		line, _, whole := bytes.Cut(o.data[:min(len(o.data), beginning)], []byte("\n"))
		if !whole && len(o.data) < beginning {
			return key, false // no entry is so short
		}
		return sha256.Sum256(append([]byte("file "), line...)), true
	case plumbing.TreeObject:
		entries, err := parseTree(o.data)
		if err != nil {
			return key, false
		}
		names := []byte("folder")
		for _, e := range entries {
			names = append(append(names, 0), e.name...)
		}
		return sha256.Sum256(names), true
	}
	return key, false
}

// wholeEntry reads an entry that is no delta; false where it is one, or is not
// what its name says: it is then copied as it is, for others to find.
func wholeEntry(hash plumbing.Hash, raw []byte) (object, bool) {
	if len(raw) == 0 || plumbing.ObjectType(raw[0]>>4&7).IsDelta() {
		return object{}, false
	}
	e, err := readEntry(bytes.NewReader(raw), packHead)
	if err != nil || hashOf(e.kind, e.data) != hash {
		return object{}, false
	}
	return object{kind: e.kind, hash: hash, data: e.data}, true
}

// putNewest copies the versions that others are made out of, before those.
func (m *merger) putNewest() error {
	if m.tight == nil || len(m.tight.newest) == 0 {
		return nil
	}
	return m.each(func(_ *mergePack, hash plumbing.Hash, _ int64, raw []byte) error {
		if _, there := m.at[hash]; there || !m.tight.newest[hash] {
			return nil
		}
		if plumbing.ObjectType(raw[0] >> 4 & 7).IsDelta() {
			return nil // another pack has it whole
		}
		return m.putEntry(hash, raw)
	})
}

// putOlder writes an older version; false where the entry is none.
func (m *merger) putOlder(hash plumbing.Hash, raw []byte) (bool, error) {
	if m.tight == nil {
		return false, nil
	}
	newest, ok := m.tight.older[hash]
	if !ok {
		return false, nil
	}
	if _, written := m.at[newest]; !written {
		return false, nil
	}
	o, ok := wholeEntry(hash, raw)
	if !ok {
		return false, nil
	}
	base, ok := m.tight.held[newest]
	if !ok {
		var err error
		if base, err = m.whole.get(newest); err != nil {
			return false, nil // its pack went meanwhile, to git's housekeeping: ours is open, and copied as it is
		}
		if m.tight.bytes += len(base.data); m.tight.bytes > mostHeld {
			m.tight.held, m.tight.bytes = map[plumbing.Hash]object{}, len(base.data)
		}
		m.tight.held[newest] = base
	}
	if base.kind != o.kind {
		return false, nil
	}
	return true, m.putDelta(o, base)
}

// each reads all entries of the packs as they lie there, in the order of packs
// and places. Each is held to its checksum.
func (m *merger) each(f func(p *mergePack, hash plumbing.Hash, offset int64, raw []byte) error) error {
	for _, p := range m.packs {
		if err := p.each(f); err != nil {
			return err
		}
	}
	return nil
}

func (p *mergePack) each(f func(p *mergePack, hash plumbing.Hash, offset int64, raw []byte) error) error {
	r := bufio.NewReaderSize(io.NewSectionReader(p.file, 0, p.end), 1<<16)
	position := int64(0)
	for i, e := range p.entries {
		offset, end := int64(e.Offset), p.end
		if i+1 < len(p.entries) {
			end = int64(p.entries[i+1].Offset)
		}
		if _, err := r.Discard(int(offset - position)); err != nil {
			return err
		}
		raw := make([]byte, end-offset)
		if _, err := io.ReadFull(r, raw); err != nil {
			return err
		}
		position = end
		if crc32.ChecksumIEEE(raw) != e.CRC32 {
			return fmt.Errorf("%q is damaged at byte %d", p.file.Name(), offset)
		}
		if err := f(p, e.Hash, offset, raw); err != nil {
			return fmt.Errorf("%q at byte %d: %w", p.file.Name(), offset, err)
		}
	}
	return nil
}
