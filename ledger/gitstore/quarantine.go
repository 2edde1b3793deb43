package gitstore

import (
	"bufio"
	"context"
	"crypto/sha1"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"os"
	"runtime"
	"sync"
	"sync/atomic"

	"github.com/go-git/go-git/v5/plumbing"
)

// quarantineDir is where what comes over a line lies until it is verified. It
// is emptied before and after each exchange.
const quarantineDir = "quarantine"

// maxFetchObjects bounds the objects of one fetch: 5 to a run.
const maxFetchObjects = 1 << 24

// quarantine is one pack as it came, of which nothing is believed: each size is
// checked before anything is inflated, and an object is found by the digest of
// what it holds. Objects stored whole are known after one pass; what deltas
// make is worked out when it is asked for, so that older versions of a log's
// files, which nobody reads, mostly never are.
type quarantine struct {
	file    *os.File
	entries []strayEntry
	at      map[int64]int // entries by offset

	mu    sync.RWMutex
	index map[plumbing.Hash]int
	done  map[plumbing.ObjectType]bool // deltas of this kind are worked out
}

// strayEntry is one entry of the pack.
type strayEntry struct {
	offset   int64
	kind     plumbing.ObjectType
	base     int64 // offset, of an offset delta
	baseHash plumbing.Hash
	parent   int // index of the base once it is known, else -1
}

// tooLargeError says that more came than a fetch may bring.
type tooLargeError struct{ limit int64 }

func (e *tooLargeError) Error() string {
	return fmt.Sprintf("more than %d bytes came", e.limit)
}

// readQuarantine writes what comes to a file, up to limit bytes, and reads
// through it once.
func readQuarantine(ctx context.Context, path string, in io.Reader, limit int64) (*quarantine, error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return nil, err
	}
	q := &quarantine{file: f, at: map[int64]int{}, index: map[plumbing.Hash]int{}, done: map[plumbing.ObjectType]bool{}}
	n, err := io.Copy(f, io.LimitReader(in, limit+1))
	if err == nil && n > limit {
		err = &tooLargeError{limit}
	}
	if err == nil {
		err = q.scan(ctx)
	}
	if err != nil {
		f.Close()
		return nil, err
	}
	return q, nil
}

// counted counts the bytes read from a buffered reader.
type counted struct {
	*bufio.Reader
	n int64
}

func (c *counted) Read(p []byte) (int, error) {
	n, err := c.Reader.Read(p)
	c.n += int64(n)
	return n, err
}

func (c *counted) ReadByte() (byte, error) {
	b, err := c.Reader.ReadByte()
	if err == nil {
		c.n++
	}
	return b, err
}

// errCut is what a pack that ends too early, or is none, fails with.
var errCut = errors.New("what came is cut short or damaged")

func (q *quarantine) scan(ctx context.Context) error {
	if _, err := q.file.Seek(0, io.SeekStart); err != nil {
		return err
	}
	in := &counted{Reader: bufio.NewReaderSize(q.file, 1<<16)}
	var head [packHead]byte
	if _, err := io.ReadFull(in, head[:]); err != nil || string(head[:8]) != packMagic {
		return errCut
	}
	count := binary.BigEndian.Uint32(head[8:])
	if count > maxFetchObjects {
		return fmt.Errorf("what came holds %d objects, more than %d", count, maxFetchObjects)
	}
	for i := range int(count) {
		if i%1024 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		offset := in.n
		e, err := readEntry(in, offset)
		if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
			return errCut
		}
		if err != nil {
			return fmt.Errorf("a part of what came cannot be read: %w", err)
		}
		q.at[offset] = i
		q.entries = append(q.entries, strayEntry{offset: offset, kind: e.kind, base: e.base, baseHash: e.baseHash, parent: -1})
		if !e.kind.IsDelta() {
			q.index[hashOf(e.kind, e.data)] = i
		}
	}
	return nil
}

// hashOf returns the id git gives an object.
func hashOf(kind plumbing.ObjectType, data []byte) (hash plumbing.Hash) {
	sum := sha1.New()
	fmt.Fprintf(sum, "%s %d\x00", kind, len(data))
	sum.Write(data)
	sum.Sum(hash[:0])
	return hash
}

// get reads an object, or returns errMissing.
func (q *quarantine) get(hash plumbing.Hash) (object, error) {
	for _, kind := range []plumbing.ObjectType{plumbing.AnyObject, plumbing.CommitObject, plumbing.TreeObject, plumbing.BlobObject} {
		if kind != plumbing.AnyObject {
			if err := q.resolve(kind); err != nil {
				return object{}, err
			}
		}
		q.mu.RLock()
		i, ok := q.index[hash]
		q.mu.RUnlock()
		if ok {
			o, err := q.read(i)
			if err == nil && o.hash != hash {
				err = errors.New("its content is not what its name says")
			}
			return o, err
		}
	}
	return object{}, errMissing
}

func (q *quarantine) entry(i int) (packEntry, error) {
	offset := q.entries[i].offset
	return readEntry(bufio.NewReaderSize(io.NewSectionReader(q.file, offset, 1<<62), 4<<10), offset)
}

// read reads an object whose bases are known.
func (q *quarantine) read(i int) (object, error) {
	var deltas [][]byte
	for {
		e, err := q.entry(i)
		if err != nil {
			return object{}, err
		}
		if !e.kind.IsDelta() {
			o := object{kind: e.kind, data: e.data}
			for n := len(deltas) - 1; n >= 0; n-- {
				if o.data, err = patch(o.data, deltas[n], o.kind); err != nil {
					return object{}, err
				}
			}
			o.hash = hashOf(o.kind, o.data)
			return o, nil
		}
		q.mu.RLock()
		i = q.entries[i].parent
		q.mu.RUnlock()
		if deltas = append(deltas, e.data); i < 0 || len(deltas) > maxChain {
			return object{}, errors.New("it is made out of too many pieces")
		}
	}
}

// resolve works out what the deltas that rest on objects of one kind make. One
// that makes nothing sound is passed over: whatever needs it is then missing.
func (q *quarantine) resolve(kind plumbing.ObjectType) error { return q.each(kind, nil) }

// each is resolve, and calls visit, if given, once with every object of the kind,
// on any core.
func (q *quarantine) each(kind plumbing.ObjectType, visit func(data []byte)) error {
	q.mu.Lock()
	defer q.mu.Unlock()
	if q.done[kind] {
		return nil
	}
	q.done[kind] = true
	byBase, byHash := map[int][]int{}, map[plumbing.Hash][]int{}
	for i, e := range q.entries {
		switch e.kind {
		case plumbing.OFSDeltaObject:
			if base, ok := q.at[e.base]; ok {
				byBase[base] = append(byBase[base], i)
			}
		case plumbing.REFDeltaObject:
			byHash[e.baseHash] = append(byHash[e.baseHash], i)
		}
	}
	var roots []int
	for i, e := range q.entries {
		if e.kind == kind {
			roots = append(roots, i)
		}
	}
	w := &resolving{q: q, kind: kind, visit: visit, byBase: byBase, byHash: byHash, found: map[plumbing.Hash]int{}, parent: map[int]int{}}
	var next atomic.Int64
	var workers sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(roots)) {
		workers.Go(func() {
			for n := int(next.Add(1)) - 1; n < len(roots); n = int(next.Add(1)) - 1 {
				w.root(roots[n])
			}
		})
	}
	workers.Wait()
	for hash, i := range w.found {
		q.index[hash] = i
	}
	for i, base := range w.parent {
		q.entries[i].parent = base
	}
	return nil
}

// resolving is one pass of [quarantine.resolve].
type resolving struct {
	q      *quarantine
	kind   plumbing.ObjectType
	visit  func([]byte) // nil: nobody asks
	byBase map[int][]int
	byHash map[plumbing.Hash][]int

	mu     sync.Mutex
	found  map[plumbing.Hash]int
	parent map[int]int
}

// root works out everything that rests on one whole object, at most maxChain
// deltas deep, without recursion.
func (w *resolving) root(root int) {
	type waiting struct {
		entry, base, depth int
		data               []byte // of the base
	}
	var stack []waiting
	push := func(base, depth int, hash plumbing.Hash, data []byte) {
		for _, list := range [][]int{w.byBase[base], w.byHash[hash]} {
			for _, i := range list {
				stack = append(stack, waiting{i, base, depth, data})
			}
		}
	}
	if w.visit == nil && len(w.byBase[root]) == 0 && len(w.byHash) == 0 {
		return
	}
	e, err := w.q.entry(root)
	if err != nil {
		return
	}
	if w.visit != nil {
		w.visit(e.data)
	}
	push(root, 1, hashOf(w.kind, e.data), e.data)
	for len(stack) > 0 {
		one := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		e, err := w.q.entry(one.entry)
		if err != nil || one.depth > maxChain {
			continue
		}
		data, err := patch(one.data, e.data, w.kind)
		if err != nil {
			continue
		}
		hash := hashOf(w.kind, data)
		w.mu.Lock()
		_, again := w.parent[one.entry]
		if !again {
			w.found[hash], w.parent[one.entry] = one.entry, one.base
		}
		w.mu.Unlock()
		if !again && w.visit != nil {
			w.visit(data)
		}
		if !again {
			push(one.entry, one.depth+1, hash, data)
		}
	}
}

func (q *quarantine) close() {
	q.file.Close()
	os.Remove(q.file.Name())
}
