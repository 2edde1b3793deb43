package gitstore

import (
	"bufio"
	"compress/zlib"
	"crypto/sha1"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"strings"
	"sync"

	"github.com/go-git/go-billy/v5"
	"github.com/go-git/go-billy/v5/osfs"
	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/cache"
	"github.com/go-git/go-git/v5/plumbing/format/idxfile"
	"github.com/go-git/go-git/v5/plumbing/format/packfile"
)

// packs reads objects from the packs of a store. Several goroutines may use it.
//
// go-git's own storage is not used for this: it fails on a pack whose index is
// not there yet, or no longer, as beside a running git, and it never looks for
// new packs.
type packs struct {
	s     *Store
	cache cache.Object

	mu   sync.RWMutex
	open map[string]*packReader // by name, "pack-<40 hex>"
}

type packReader struct {
	index *idxfile.MemoryIndex
	file  billy.File

	mu     sync.Mutex // guards reader
	reader *packfile.Packfile
}

func (s *Store) openPacks() *packs {
	return &packs{s: s, cache: cache.NewObjectLRU(32 * cache.MiByte), open: map[string]*packReader{}}
}

// names lists the packs that have an index, "pack-<hex>" each.
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
		if ok && has[name+".idx"] {
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
		if p.open[name] != nil {
			continue
		}
		r, err := p.s.openPack(name, p.cache)
		if err == nil {
			p.open[name] = r
		}
	}
	return nil
}

func (s *Store) openPack(name string, c cache.Object) (*packReader, error) {
	idx, err := os.Open(s.git("objects", "pack", name+".idx"))
	if err != nil {
		return nil, err
	}
	defer idx.Close()
	index := idxfile.NewMemoryIndex()
	if err := idxfile.NewDecoder(sized{bufio.NewReader(idx), idx}).Decode(index); err != nil {
		return nil, err
	}
	file, err := osfs.New(s.git("objects", "pack")).Open(name + ".pack")
	if err != nil {
		return nil, err
	}
	return &packReader{index: index, reader: packfile.NewPackfileWithCache(index, nil, file, c, 0), file: file}, nil
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

func (r *packReader) get(hash plumbing.Hash) (object, error) {
	offset, err := r.index.FindOffset(hash)
	if err != nil {
		return object{}, err
	}
	o, isDelta, err := r.getWhole(offset)
	if isDelta {
		o, err = r.getDelta(hash, offset)
	}
	if err != nil {
		return object{}, err
	}
	if o.hash != hash {
		return object{}, errors.New("its content is not what its name says")
	}
	return o, nil
}

// getWhole reads an object that is not stored as a delta. The last version of
// each file is stored so; go-git's reader takes twice the time for it, and
// only one at a time. For the form see gitformat-pack(5), "pack entries".
func (r *packReader) getWhole(offset int64) (o object, isDelta bool, err error) {
	in := bufio.NewReaderSize(io.NewSectionReader(r.file, offset, math.MaxInt64-offset), 16<<10)
	b, err := in.ReadByte()
	if err != nil {
		return o, false, err
	}
	o.kind = plumbing.ObjectType(b >> 4 & 7)
	if o.kind.IsDelta() {
		return o, true, nil
	}
	size := int64(b & 15)
	for shift := 4; b&0x80 != 0; shift += 7 {
		if b, err = in.ReadByte(); err != nil {
			return o, false, err
		}
		if size |= int64(b&0x7f) << shift; shift > 32 {
			return o, false, errors.New("its size cannot be read")
		}
	}
	if size > maxBytes[o.kind] {
		return o, false, fmt.Errorf("it has %d bytes", size)
	}
	inflate := inflaters.Get().(io.ReadCloser)
	defer inflaters.Put(inflate)
	if err := inflate.(zlib.Resetter).Reset(in, nil); err != nil {
		return o, false, err
	}
	o.data = make([]byte, size)
	if _, err := io.ReadFull(inflate, o.data); err != nil {
		return o, false, err
	}
	if n, err := inflate.Read(make([]byte, 1)); n != 0 || err != io.EOF { // the checksum is right, too
		return o, false, errors.New("it is longer than it says")
	}
	sum := sha1.New()
	fmt.Fprintf(sum, "%s %d\x00", o.kind, size)
	sum.Write(o.data)
	sum.Sum(o.hash[:0])
	return o, false, nil
}

var inflaters = sync.Pool{New: func() any {
	r, err := zlib.NewReader(strings.NewReader("\x78\x9c\x03\x00\x00\x00\x00\x01")) // nothing, deflated
	if err != nil {
		panic(err)
	}
	return r
}}

func (r *packReader) getDelta(hash plumbing.Hash, offset int64) (object, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	size, err := r.reader.GetSizeByOffset(offset)
	if err != nil {
		return object{}, err
	}
	if size > maxFileBytes {
		return object{}, fmt.Errorf("it has %d bytes", size)
	}
	e, err := r.reader.Get(hash)
	if err != nil {
		return object{}, err
	}
	if size > maxBytes[e.Type()] {
		return object{}, fmt.Errorf("it has %d bytes", size)
	}
	reader, err := e.Reader()
	if err != nil {
		return object{}, err
	}
	defer reader.Close()
	data := make([]byte, size)
	if _, err := io.ReadFull(reader, data); err != nil {
		return object{}, err
	}
	return object{kind: e.Type(), hash: e.Hash(), data: data}, nil
}
