package gitstore

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"

	"github.com/go-git/go-billy/v5/osfs"
	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/cache"
	"github.com/go-git/go-git/v5/plumbing/format/idxfile"
	"github.com/go-git/go-git/v5/plumbing/format/packfile"
)

// packs reads objects from the packs of a store. It is not safe for use by
// several goroutines.
//
// go-git's own storage is not used for this: it fails on a pack whose index is
// not there yet, or no longer, as beside a running git, and it never looks for
// new packs.
type packs struct {
	s     *Store
	cache cache.Object
	open  map[string]*packReader // by name, "pack-<40 hex>"
}

type packReader struct {
	index  *idxfile.MemoryIndex
	reader *packfile.Packfile
	file   io.Closer
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
	if len(p.open) > 0 {
		if o, err := p.find(hash); err == nil {
			return o, nil
		}
	}
	if err := p.scan(); err != nil {
		return object{}, err
	}
	return p.find(hash)
}

func (p *packs) find(hash plumbing.Hash) (object, error) {
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
	offset, err := r.reader.FindOffset(hash)
	if err != nil {
		return object{}, err
	}
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
	if e.Hash() != hash {
		return object{}, errors.New("its content is not what its name says")
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
	return object{kind: e.Type(), hash: hash, data: data}, nil
}
