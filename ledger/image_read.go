package ledger

import (
	"encoding/binary"
	"errors"
	"fmt"
	"maps"
	"runtime"
	"sync"
	"sync/atomic"
	"time"
)

// ReadImage makes of an image the book that it was written from. It trusts it:
// whoever kept it has seen to it that it is the one that was written, whole. The
// book keeps data, which must not be changed. An error means that these are not
// the bytes of an image of that book.
func ReadImage(id ID, data []byte) (*Book, error) {
	x := imageReader{b: data}
	if string(x.take(len(imageMagic))) != imageMagic {
		return nil, errors.New("it is no image of a book, or one of another program")
	}
	logs, kinds, writers, entries, cited, size := x.count(4), x.count(4), x.count(len(Writer{})), x.count(imageEntry), x.count(4), x.count(1)
	x.logs, x.kinds, x.writers = make([]string, logs), make([]string, kinds), make([]Writer, writers)
	for i := range x.logs {
		x.logs[i] = x.named()
	}
	for i := range x.kinds {
		x.kinds[i] = internKind([]byte(x.named()))
	}
	for i := range x.writers {
		copy(x.writers[i][:], x.take(len(Writer{})))
	}
	x.index = x.take(entries * imageEntry)
	x.cited = x.take(cited * 4)
	x.text = x.take(size)
	if x.short || len(x.b) > 0 {
		return nil, errors.New("it does not have the length it should have")
	}
	x.id, x.nodes, x.all = id, make([]node, entries), make([]Entry, entries)
	var bad atomic.Int64
	inChunks(entries, func(from, to int) {
		for i := from; i < to; i++ {
			if !x.entry(i) {
				bad.Store(int64(i + 1))
				return
			}
		}
	})
	if n := bad.Load(); n > 0 {
		return nil, fmt.Errorf("entry %d is none", n)
	}
	return x.bind()
}

// bind puts the entries into their places.
func (x *imageReader) bind() (*Book, error) {
	b := &Book{
		verified: map[ID]*Entry{}, places: map[ID]place{}, keys: map[Writer]PublicKey{}, missing: map[ID]*gap{}, logs: map[Writer]*log{}, writers: map[Writer]uint32{},
		nodes: newNodeTable(len(x.all)), order: make([]*node, len(x.all)), imaged: true, relied: len(x.all),
	}
	var founding *Entry
	for i := range x.all {
		b.order[i] = &x.nodes[i]
		e := &x.all[i]
		if e.id == x.id {
			founding, e.head.Book = e, ID{}
		}
		if e.head.Class == Control {
			maps.Copy(b.keys, collectKeys([]*line{{e: e}}))
		}
	}
	if founding == nil {
		return nil, errors.New("it is the image of another book")
	}
	if err := b.takeFounding(founding); err != nil {
		return nil, err
	}
	logs := make([]*log, len(x.writers))
	for i, w := range x.writers {
		logs[i] = b.log(w)
	}
	for i, n := range b.order {
		n.settle()
		if key, ok := b.admits(n); ok {
			n.past = n.past.with(b.writerIndex(key.Writer()))
		}
		b.holdIn(logs[x.u32At(i, imageWriter)], n, nil)
	}
	b.found = b.nodes.get(b.id)
	return b, nil
}

// inChunks calls f for stretches of 0 to n, on all cores.
func inChunks(n int, f func(from, to int)) {
	const chunk = 4096
	var next atomic.Int64
	var wait sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), n/chunk+1) {
		wait.Go(func() {
			for from := int(next.Add(chunk)) - chunk; from < n; from = int(next.Add(chunk)) - chunk {
				f(from, min(from+chunk, n))
			}
		})
	}
	wait.Wait()
}

// settle works out what follows from what n continues and cites, which is all held and settled.
func (n *node) settle() {
	n.whole, n.knownAt = true, n.e.head.At.Unix()
	rest := func(at *node) {
		n.knownAt = max(n.knownAt, at.knownAt)
		n.past = n.past.union(at.past)
	}
	if n.prev != nil {
		rest(n.prev)
	}
	for _, at := range n.seen {
		rest(at)
	}
}

// imageReader takes an image apart.
type imageReader struct {
	b     []byte // what is left
	short bool   // something was asked for that was not there

	id      ID
	logs    []string
	kinds   []string
	writers []Writer
	index   []byte
	cited   []byte
	text    []byte
	nodes   []node
	all     []Entry
}

func (x *imageReader) take(n int) []byte {
	if n < 0 || n > len(x.b) {
		x.short, x.b = true, nil
		return nil
	}
	out := x.b[:n:n]
	x.b = x.b[n:]
	return out
}

func (x *imageReader) u32() uint32 {
	if b := x.take(4); b != nil {
		return binary.LittleEndian.Uint32(b)
	}
	return 0
}

// count reads how many things follow, of so many bytes each at least.
func (x *imageReader) count(each int) int {
	b := x.take(8)
	if b == nil {
		return 0
	}
	n := binary.LittleEndian.Uint64(b)
	if n > uint64(len(x.b)/each) {
		x.short, x.b = true, nil
		return 0
	}
	return int(n)
}

func (x *imageReader) named() string { return string(x.take(int(x.u32()))) }

// u32At is a number in the part of the index about entry i.
func (x *imageReader) u32At(i, at int) uint32 {
	return binary.LittleEndian.Uint32(x.index[i*imageEntry+at:])
}

// ref is how others cite entry i; false if its writer is none.
func (x *imageReader) ref(i int) (Ref, bool) {
	r := Ref{Seq: binary.LittleEndian.Uint64(x.index[i*imageEntry+imageSeq:])}
	copy(r.ID[:], x.index[i*imageEntry:])
	writer := x.u32At(i, imageWriter)
	if int(writer) >= len(x.writers) {
		return r, false
	}
	r.Writer = x.writers[writer]
	return r, true
}

// entry reads one entry and its node; false if the numbers in it cannot be. Several may be read side by side: of others only the index is looked at.
func (x *imageReader) entry(i int) bool {
	e, n, le := &x.all[i], &x.nodes[i], binary.LittleEndian
	b := x.index[i*imageEntry : (i+1)*imageEntry]
	bytes := func(into []byte) { b = b[copy(into, b):] }
	u64 := func() uint64 { v := le.Uint64(b); b = b[8:]; return v }
	u32 := func() uint32 { v := le.Uint32(b); b = b[4:]; return v }
	bytes(e.id[:])
	bytes(e.head.Body[:])
	bytes(e.privateDigest[:])
	bytes(e.head.Tag[:])
	bytes(e.signature[:])
	e.head.Book, e.head.Seq, e.head.Depth, e.head.At = x.id, u64(), u64(), time.Unix(int64(u64()), 0).UTC()
	start, size := u64(), u32()
	for _, s := range []*span{&e.signed, &e.record, &e.private} {
		s.start, s.end = u32(), u32()
		if s.start > s.end || s.end > size {
			return false
		}
	}
	prev, seen, citations, logName, logLine, kind, writer, flags := u32(), u32(), u32(), u32(), u32(), u32(), u32(), u32()
	if start > uint64(len(x.text)) || uint64(size) > uint64(len(x.text))-start || int(prev) > i || uint64(seen)+uint64(citations) > uint64(len(x.cited)/4) ||
		int(logName) >= len(x.logs) || int(kind) >= len(x.kinds) || int(writer) >= len(x.writers) {
		return false
	}
	n.e, n.place = e, place{x.logs[logName], int(logLine)}
	e.line = x.text[start : start+uint64(size) : start+uint64(size)]
	e.kind, e.head.Writer, e.head.HasTag = x.kinds[kind], x.writers[writer], flags&imageTag != 0
	switch {
	case flags&imageControl != 0:
		e.head.Class = Control
	case flags&imageShared != 0:
		e.head.Class = Shared
	default:
		e.head.Class = Work
	}
	if prev > 0 {
		before, ok := x.ref(int(prev - 1))
		if !ok || before.Writer != e.head.Writer {
			return false
		}
		n.prev, e.head.Prev = &x.nodes[prev-1], before.ID
	}
	if citations == 0 {
		return true
	}
	n.seen, e.head.Seen = make([]*node, citations), make([]Ref, citations)
	for k := range n.seen {
		at := int(le.Uint32(x.cited[4*(int(seen)+k):]))
		if at >= i {
			return false
		}
		var ok bool
		if e.head.Seen[k], ok = x.ref(at); !ok {
			return false
		}
		n.seen[k] = &x.nodes[at]
	}
	return true
}
