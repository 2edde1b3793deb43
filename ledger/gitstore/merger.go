package gitstore

import (
	"bufio"
	"bytes"
	"compress/zlib"
	"crypto/sha1"
	"encoding/binary"
	"errors"
	"fmt"
	"hash"
	"hash/crc32"
	"io"
	"os"
	"slices"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/format/idxfile"
)

// How a pack begins: gitformat-pack(5).
const (
	packMagic = "PACK\x00\x00\x00\x02" // version 2
	packHead  = 12                     // that, and the number of objects
)

// merger copies the entries of several packs into one as they are, compressed;
// only the distances by which deltas name their base are written anew. An
// object that several packs hold is taken from the first.
type merger struct {
	s       *Store                 // where the new pack goes
	from    *Store                 // where the packs lie
	only    map[plumbing.Hash]bool // what is copied; nil: everything
	extra   []object               // and these, older ones as deltas of the last one of their group
	tight   *tight                 // what is stored anew; nil: nothing
	whole   *packs                 // of from, to write a delta whole whose base is not copied
	packs   []*mergePack
	order   []plumbing.Hash         // objects of the new pack
	at      map[plumbing.Hash]int64 // where they stand, once written
	crc     map[plumbing.Hash]uint32
	base    map[plumbing.Hash]plumbing.Hash // what deltas are made out of
	out     *bufio.Writer
	zip     *zlib.Writer
	sum     hash.Hash
	written int64
	trailer [sha1.Size]byte
}

func newMerger(s *Store) *merger {
	return &merger{s: s, from: s, whole: s.openPacks(), at: map[plumbing.Hash]int64{}, crc: map[plumbing.Hash]uint32{}, base: map[plumbing.Hash]plumbing.Hash{}}
}

type mergePack struct {
	file    *os.File
	end     int64 // where the trailing checksum begins
	entries []*idxfile.Entry
	name    map[int64]plumbing.Hash // by offset
}

func (m *merger) close() {
	m.whole.close()
	for _, p := range m.packs {
		p.file.Close()
	}
}

func (m *merger) open(name string) error {
	idx, err := os.Open(m.from.git("objects", "pack", name+".idx"))
	if err != nil {
		return err
	}
	defer idx.Close()
	index := idxfile.NewMemoryIndex()
	if err := idxfile.NewDecoder(sized{bufio.NewReader(idx), idx}).Decode(index); err != nil {
		return err
	}
	f, err := os.Open(m.from.git("objects", "pack", name+".pack"))
	if err != nil {
		return err
	}
	p := &mergePack{file: f, name: map[int64]plumbing.Hash{}}
	m.packs = append(m.packs, p)
	info, err := f.Stat()
	if err != nil {
		return err
	}
	p.end = info.Size() - sha1.Size
	iter, err := index.EntriesByOffset()
	if err != nil {
		return err
	}
	for {
		e, err := iter.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return err
		}
		p.entries = append(p.entries, e)
		p.name[int64(e.Offset)] = e.Hash
	}
	return nil
}

func (m *merger) write() (name string, err error) {
	temp := m.s.temp(m.s.git("objects", "pack"), "pack")
	f, err := m.s.createPackFile(temp)
	if err != nil {
		return "", err
	}
	err = m.s.disk.at("write", temp)
	if err == nil {
		err = m.copy(f)
	}
	if err == nil {
		err = m.s.disk.sync(f)
	}
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err == nil {
		var index *idxfile.MemoryIndex
		if index, err = m.readBack(temp); err == nil {
			name, err = m.s.installPack(temp, index)
		}
	}
	if err != nil {
		os.Remove(temp)
	}
	return name, err
}

// readBack reads the fsynced new pack and checks it against what was meant to
// be copied: each entry's bytes, by their checksum, and what it is made out of.
// (The entries' content was checked when they were first packed.)
func (m *merger) readBack(path string) (*idxfile.MemoryIndex, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	bad := func(hash plumbing.Hash) error {
		return fmt.Errorf("a merged pack did not read back at %s", hash)
	}
	var index idxfile.Writer
	if err := index.OnHeader(uint32(len(m.order))); err != nil {
		return nil, err
	}
	r := bufio.NewReaderSize(f, 1<<16)
	var head [packHead]byte
	if _, err := io.ReadFull(r, head[:]); err != nil {
		return nil, err
	}
	if string(head[:8]) != packMagic || binary.BigEndian.Uint32(head[8:]) != uint32(len(m.order)) {
		return nil, errors.New("a merged pack did not read back at its head")
	}
	for i, hash := range m.order {
		at, end := m.at[hash], m.written-sha1.Size
		if i+1 < len(m.order) {
			end = m.at[m.order[i+1]]
		}
		raw := make([]byte, end-at)
		if _, err := io.ReadFull(r, raw); err != nil {
			return nil, bad(hash)
		}
		distance, _, _, err := splitEntry(raw)
		base, made := m.base[hash]
		if err != nil || crc32.ChecksumIEEE(raw) != m.crc[hash] || made != (distance > 0) || made && m.at[base] != at-distance {
			return nil, bad(hash)
		}
		index.Add(hash, uint64(at), m.crc[hash])
	}
	var trailer [sha1.Size]byte
	if _, err := io.ReadFull(r, trailer[:]); err != nil {
		return nil, err
	}
	if _, err := r.ReadByte(); err != io.EOF || trailer != m.trailer {
		return nil, errors.New("a merged pack did not read back at its end")
	}
	if err := index.OnFooter(trailer); err != nil {
		return nil, err
	}
	return index.Index()
}

// count returns how many objects the new pack will hold.
func (m *merger) count() int {
	unique := map[plumbing.Hash]bool{}
	for _, p := range m.packs {
		for _, e := range p.entries {
			if m.only == nil || m.only[e.Hash] {
				unique[e.Hash] = true
			}
		}
	}
	for _, o := range m.extra {
		unique[o.hash] = true
	}
	return len(unique)
}

func (m *merger) copy(f io.Writer) error {
	m.out, m.sum = bufio.NewWriterSize(f, 1<<16), sha1.New()
	head := []byte(packMagic)
	if err := m.put(binary.BigEndian.AppendUint32(head, uint32(m.count()))); err != nil {
		return err
	}
	if err := m.putNewest(); err != nil {
		return err
	}
	if err := m.each(m.entry); err != nil {
		return err
	}
	if err := m.putExtra(); err != nil {
		return err
	}
	m.trailer = [sha1.Size]byte(m.sum.Sum(nil))
	if err := m.put(m.trailer[:]); err != nil {
		return err
	}
	return m.out.Flush()
}

func (m *merger) put(data []byte) error {
	m.written += int64(len(data))
	m.sum.Write(data)
	_, err := m.out.Write(data)
	return err
}

// entry copies one entry.
func (m *merger) entry(p *mergePack, hash plumbing.Hash, offset int64, raw []byte) error {
	if _, ok := m.at[hash]; ok || m.only != nil && !m.only[hash] {
		return nil
	}
	if done, err := m.putOlder(hash, raw); done || err != nil {
		return err
	}
	distance, head, rest, err := splitEntry(raw)
	if err != nil {
		return err
	}
	if distance > 0 {
		base, ok := p.name[offset-distance]
		if !ok {
			return errors.New("what it is made out of is not there")
		}
		baseAt, ok := m.at[base]
		if !ok && (m.only == nil || m.only[base]) {
			return errors.New("what it is made out of comes later")
		}
		if !ok {
			return m.copyWhole(hash)
		}
		m.base[hash] = base
		raw = slices.Concat(head, encodeDistance(m.written-baseAt), rest)
	} else if m.only != nil && plumbing.ObjectType(raw[0]>>4&7) == plumbing.REFDeltaObject {
		return m.copyWhole(hash)
	}
	return m.putEntry(hash, raw)
}

func (m *merger) putEntry(hash plumbing.Hash, raw []byte) error {
	m.at[hash], m.crc[hash] = m.written, crc32.ChecksumIEEE(raw)
	m.order = append(m.order, hash)
	return m.put(raw)
}

// copyWhole copies an object that the pack has as a delta.
func (m *merger) copyWhole(hash plumbing.Hash) error {
	o, err := m.whole.get(hash)
	if err != nil {
		return err
	}
	return m.putWhole(o)
}

// putExtra writes the objects that lie in no pack.
func (m *merger) putExtra() error {
	last := map[string]object{}
	for _, o := range m.extra {
		if o.group != "" {
			last[o.group] = o
		}
	}
	for _, o := range m.extra {
		if _, ok := m.at[o.hash]; ok {
			continue
		}
		base := last[o.group]
		if o.group == "" || base.hash == o.hash || base.kind != o.kind {
			if err := m.putWhole(o); err != nil {
				return err
			}
			continue
		}
		if _, ok := m.at[base.hash]; !ok {
			if err := m.putWhole(base); err != nil {
				return err
			}
		}
		if err := m.putDelta(o, base); err != nil {
			return err
		}
	}
	return nil
}

func (m *merger) putWhole(o object) error {
	raw, err := m.deflated(o.kind, nil, o.data)
	if err != nil {
		return err
	}
	return m.putEntry(o.hash, raw)
}

// putDelta writes an object as what makes it out of base, which is written; or
// whole, where that is no gain. That it can be made again is tried first.
func (m *merger) putDelta(o, base object) error {
	delta := makeDelta(base.data, o.data)
	if len(delta) >= len(o.data)*2/3 {
		return m.putWhole(o)
	}
	if made, err := patch(base.data, delta, o.kind); err != nil || !bytes.Equal(made, o.data) {
		return m.putWhole(o)
	}
	raw, err := m.deflated(plumbing.OFSDeltaObject, encodeDistance(m.written-m.at[base.hash]), delta)
	if err != nil {
		return err
	}
	m.base[o.hash] = base.hash
	return m.putEntry(o.hash, raw)
}
