package gitstore

import (
	"bufio"
	"compress/zlib"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"slices"
	"strings"
	"sync"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/format/idxfile"
	"github.com/go-git/go-git/v5/plumbing/format/packfile"
)

// packs reads objects from the packs of a store. Several goroutines may use it.
//
// go-git's own storage is not used for this: it fails on a pack whose index is
// not there yet, or no longer, as beside a running git, and it never looks for
// new packs.
type packs struct {
	s *Store

	mu   sync.RWMutex
	open map[string]*packReader // by name, "pack-<40 hex>"
	skip map[string]bool        // packs that are not to be read
}

// packPrefix begins the name of a finished pack.
const packPrefix = "pack-"

type packReader struct {
	index *idxfile.MemoryIndex
	file  *os.File
}

func (s *Store) openPacks() *packs {
	return &packs{s: s, open: map[string]*packReader{}}
}

// packNames lists the packs that have an index, "pack-<hex>" each. What git and
// this store are still writing has other names (git's ".tmp-<process>-pack-...")
// and is none of them.
func (s *Store) packNames() ([]string, error) {
	entries, err := os.ReadDir(s.git("objects", "pack"))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	has := map[string]bool{}
	for _, e := range entries {
		has[e.Name()] = true
	}
	var names []string
	for _, e := range entries {
		name, ok := strings.CutSuffix(e.Name(), ".pack")
		if ok && has[name+".idx"] && strings.HasPrefix(name, packPrefix) {
			names = append(names, name)
		}
	}
	return names, nil
}

// scan opens the packs that were not there before. One that has just been
// removed, or cannot be read, is passed over: its objects are found elsewhere
// or reported as missing.
func (p *packs) scan() error {
	names, err := p.s.packNames()
	if err != nil {
		return err
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, name := range names {
		if p.open[name] != nil || p.skip[name] {
			continue
		}
		r, err := p.s.openPack(name)
		if err == nil {
			p.open[name] = r
		}
	}
	return nil
}

func (s *Store) openPack(name string) (*packReader, error) {
	idx, err := os.Open(s.git("objects", "pack", name+".idx"))
	if err != nil {
		return nil, err
	}
	defer idx.Close()
	index := idxfile.NewMemoryIndex()
	if err := idxfile.NewDecoder(sized{bufio.NewReader(idx), idx}).Decode(index); err != nil {
		return nil, err
	}
	file, err := os.Open(s.git("objects", "pack", name+".pack"))
	if err != nil {
		return nil, err
	}
	return &packReader{index: index, file: file}, nil
}

// id reads the checksum at the pack's end, by which it is named.
func (r *packReader) id() (sum plumbing.Hash, err error) {
	info, err := r.file.Stat()
	if err != nil {
		return sum, err
	}
	_, err = r.file.ReadAt(sum[:], info.Size()-int64(len(sum)))
	return sum, err
}

// sized lets the index decoder check the file's size before it allocates.
type sized struct {
	io.Reader
	file *os.File
}

func (s sized) Stat() (fs.FileInfo, error) { return s.file.Stat() }

func (p *packs) close() {
	for _, r := range p.open {
		r.file.Close()
	}
	p.open = map[string]*packReader{}
}

// get reads an object, or returns errMissing. Packs that other processes made
// or removed meanwhile are taken note of once.
func (p *packs) get(hash plumbing.Hash) (object, error) {
	if o, err := p.find(hash); err == nil {
		return o, nil
	}
	if err := p.scan(); err != nil {
		return object{}, err
	}
	return p.find(hash)
}

func (p *packs) find(hash plumbing.Hash) (object, error) {
	p.mu.RLock()
	defer p.mu.RUnlock()
	found := errMissing
	for _, r := range p.open {
		if ok, _ := r.index.Contains(hash); !ok {
			continue
		}
		o, err := r.get(hash)
		if err == nil {
			return o, nil
		}
		found = err
	}
	return object{}, found
}

// contains reports whether an open pack lists the object.
func (p *packs) contains(hash plumbing.Hash) bool {
	p.mu.RLock()
	defer p.mu.RUnlock()
	for _, r := range p.open {
		if ok, _ := r.index.Contains(hash); ok {
			return true
		}
	}
	return false
}

// maxChain bounds how many deltas may lie one upon another; git makes 50, and
// never more than 4095.
const maxChain = 4095

// get reads an object: one stored whole, or as a delta of one that may itself
// be a delta. go-git's reader is not used for this: it takes twice the time,
// reads only one at a time, and inflates whatever a delta rests on. The form is
// that of gitformat-pack(5), "pack entries".
func (r *packReader) get(hash plumbing.Hash) (object, error) {
	offset, err := r.index.FindOffset(hash)
	if err != nil {
		return object{}, err
	}
	var deltas [][]byte
	var e packEntry
	for {
		if e, err = r.entry(offset); err != nil {
			return object{}, err
		}
		if !e.kind.IsDelta() {
			break
		}
		if deltas = append(deltas, e.data); len(deltas) > maxChain {
			return object{}, errors.New("it is made out of too many pieces")
		}
		if offset = e.base; e.kind == plumbing.REFDeltaObject {
			if offset, err = r.index.FindOffset(e.baseHash); err != nil {
				return object{}, err
			}
		}
	}
	o := object{kind: e.kind, data: e.data}
	for _, delta := range slices.Backward(deltas) {
		if o.data, err = patch(o.data, delta, o.kind); err != nil {
			return object{}, err
		}
	}
	if o.hash = hashOf(o.kind, o.data); o.hash != hash {
		return object{}, errors.New("its content is not what its name says")
	}
	return o, nil
}

// patch makes an object out of its base, and refuses one that is too large
// before it is made.
func patch(base, delta []byte, kind plumbing.ObjectType) ([]byte, error) {
	baseSize, n := binary.Uvarint(delta)
	if n <= 0 || baseSize != uint64(len(base)) {
		return nil, errors.New("what it is made out of is not there")
	}
	size, m := binary.Uvarint(delta[n:])
	if m <= 0 {
		return nil, errors.New("it cannot be made out of its pieces")
	}
	if size > uint64(maxBytes[kind]) {
		return nil, fmt.Errorf("it has %d bytes, more than %d", size, maxBytes[kind])
	}
	data, err := packfile.PatchDelta(base, delta)
	if err != nil {
		return nil, errors.New("it cannot be made out of its pieces")
	}
	return data, nil
}

// packEntry is one entry of a pack, inflated.
type packEntry struct {
	kind     plumbing.ObjectType
	data     []byte
	base     int64         // of an offset delta: where its base begins
	baseHash plumbing.Hash // of a reference delta
}

func (r *packReader) entry(offset int64) (packEntry, error) {
	return readEntry(bufio.NewReaderSize(io.NewSectionReader(r.file, offset, math.MaxInt64-offset), 16<<10), offset)
}

// byteReader is what entries are read from; inflating takes no byte too many.
type byteReader interface {
	io.Reader
	io.ByteReader
}

// readEntry reads the entry that begins at offset, where in stands. What is too
// large is refused before it is inflated.
func readEntry(in byteReader, offset int64) (e packEntry, err error) {
	b, err := in.ReadByte()
	if err != nil {
		return e, err
	}
	e.kind = plumbing.ObjectType(b >> 4 & 7)
	size := int64(b & 15)
	for shift := 4; b&0x80 != 0; shift += 7 {
		if b, err = in.ReadByte(); err != nil {
			return e, err
		}
		if size |= int64(b&0x7f) << shift; shift > 40 {
			return e, errors.New("its size cannot be read")
		}
	}
	limit := maxBytes[e.kind]
	switch e.kind {
	case plumbing.OFSDeltaObject:
		limit = maxFileBytes
		distance, err := readDistance(in)
		if err != nil {
			return e, err
		}
		if e.base = offset - distance; distance <= 0 || e.base < packHead {
			return e, errors.New("what it is made out of is not there")
		}
	case plumbing.REFDeltaObject:
		limit = maxFileBytes
		if _, err := io.ReadFull(in, e.baseHash[:]); err != nil {
			return e, err
		}
	}
	if size > limit {
		return e, fmt.Errorf("it has %d bytes, more than %d", size, limit)
	}
	inflate := inflaters.Get().(io.ReadCloser)
	defer inflaters.Put(inflate)
	if err := inflate.(zlib.Resetter).Reset(in, nil); err != nil {
		return e, err
	}
	e.data = make([]byte, size)
	if _, err := io.ReadFull(inflate, e.data); err != nil {
		return e, err
	}
	if n, err := inflate.Read(make([]byte, 1)); n != 0 || err != io.EOF { // the checksum is right, too
		return e, errors.New("it is longer than it says")
	}
	return e, nil
}

// readDistance reads the distance of a delta's base: gitformat-pack(5),
// "offset encoding".
func readDistance(in io.ByteReader) (int64, error) {
	var raw []byte
	for {
		b, err := in.ReadByte()
		if err != nil {
			return 0, err
		}
		raw = append(raw, b)
		if b&0x80 == 0 || len(raw) > 9 {
			distance, _, err := takeDistance(raw)
			return distance, err
		}
	}
}

var inflaters = sync.Pool{New: func() any {
	r, err := zlib.NewReader(strings.NewReader("\x78\x9c\x03\x00\x00\x00\x00\x01")) // nothing, deflated
	if err != nil {
		panic(err)
	}
	return r
}}
