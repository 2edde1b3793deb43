package ledger

import (
	"bufio"
	"crypto/ed25519"
	"encoding/binary"
	"errors"
	"io"
	"maps"
	"slices"
)

// An image holds the entries of a book as they were verified and ordered, so
// that a later process has them without reading, parsing and checking the logs
// again. It is no form of a book: it is never shared, says nothing that the logs
// do not say, and holds for the program that wrote it and the logs as they were.
// Whoever keeps one keeps with it up to where in the logs it goes, and a sum by
// which damage shows: [ReadImage] trusts what it reads.
//
// All numbers are little-endian:
//
//	magic
//	counts of logs, kinds, writers, entries, citations; bytes of all lines
//	names of the logs; kinds; writers
//	one imageEntry for each entry, in the order of [Book.Entries]
//	the places in that order of what each cites
//	the lines, in the same order

const (
	imageMagic  = "shedbook image 1\n"
	imageSeq    = 3*len(ID{}) + len(Tag{}) + ed25519.SignatureSize // where in an entry its seq stands
	imageWriter = imageSeq + 4*8 + 13*4                            // and its writer
	imageEntry  = imageWriter + 2*4                                // bytes of an entry
)

// What an entry has, as bits.
const (
	imageControl = 1 << iota
	imageShared
	imageTag
)

// ErrNoImage says that of this book no image can be made: something about it
// has to be told anew with each reading.
var ErrNoImage = errors.New("the book is not whole, and is read anew each time")

// WriteImage writes the book's image. The error is ErrNoImage, with nothing
// written, of a book with findings about its logs or entries, with entries that
// cite what is not here, or whose logs repeat one another's entries; else one of w.
func (b *Book) WriteImage(w io.Writer) error {
	logs, whole := b.lines()
	if !whole {
		return ErrNoImage
	}
	x := imagePen{w: bufio.NewWriterSize(w, 1<<18), numbers: map[string]uint32{}, at: make(map[*node]uint32, len(b.order))}
	names := slices.Sorted(maps.Keys(logs))
	writers := b.Writers()
	var kinds []string
	var cited, size uint64
	for i, n := range b.order {
		x.at[n] = uint32(i)
		cited += uint64(len(n.seen))
		size += uint64(len(n.e.line))
		if _, ok := x.numbers[n.e.kind]; !ok {
			x.numbers[n.e.kind] = uint32(len(kinds))
			kinds = append(kinds, n.e.kind)
		}
	}
	x.text(imageMagic)
	for _, n := range []uint64{uint64(len(names)), uint64(len(kinds)), uint64(len(writers)), uint64(len(b.order)), cited, size} {
		x.u64(n)
	}
	logNumber := map[string]uint32{}
	for i, name := range names {
		logNumber[name] = uint32(i)
		x.named(name)
	}
	for _, kind := range kinds {
		x.named(kind)
	}
	writerNumber := map[Writer]uint32{}
	for i, one := range writers {
		writerNumber[one] = uint32(i)
		x.text(string(one[:]))
	}
	var line, seen uint64
	for _, n := range b.order {
		x.entry(n, line, uint32(seen), logNumber[n.place.log], writerNumber[n.e.head.Writer])
		line += uint64(len(n.e.line))
		seen += uint64(len(n.seen))
	}
	for _, n := range b.order {
		for _, to := range n.seen {
			x.u32(x.at[to])
		}
	}
	for _, n := range b.order {
		x.text(string(n.e.line))
	}
	return x.w.Flush() // which repeats the first error
}

// lines counts the entries of each log; false where the book is not whole.
func (b *Book) lines() (map[string]int, bool) {
	if b.heldBack || len(b.load) > 0 || len(b.graph) > 0 || len(b.partial) > 0 || len(b.missing) > 0 {
		return nil, false
	}
	logs := map[string]int{}
	for _, n := range b.order {
		logs[n.place.log] = max(logs[n.place.log], n.place.line)
	}
	sum := 0
	for _, lines := range logs {
		sum += lines
	}
	return logs, sum == len(b.order)
}

// imagePen writes the parts of an image.
type imagePen struct {
	w       *bufio.Writer
	numbers map[string]uint32 // of kinds
	at      map[*node]uint32  // place in the order
	buf     [imageEntry]byte
}

func (x *imagePen) text(s string)  { x.w.WriteString(s) }
func (x *imagePen) u64(n uint64)   { x.w.Write(binary.LittleEndian.AppendUint64(x.buf[:0], n)) }
func (x *imagePen) u32(n uint32)   { x.w.Write(binary.LittleEndian.AppendUint32(x.buf[:0], n)) }
func (x *imagePen) named(s string) { x.u32(uint32(len(s))); x.text(s) }

func (x *imagePen) entry(n *node, line uint64, seen, log, writer uint32) {
	e := n.e
	var flags uint32
	switch e.head.Class {
	case Control:
		flags |= imageControl
	case Shared:
		flags |= imageShared
	}
	if e.head.HasTag {
		flags |= imageTag
	}
	prev := uint32(0)
	if n.prev != nil {
		prev = x.at[n.prev] + 1
	}
	le := binary.LittleEndian
	b := append(x.buf[:0], e.id[:]...)
	b = append(b, e.head.Body[:]...)
	b = append(b, e.privateDigest[:]...)
	b = append(b, e.head.Tag[:]...)
	b = append(b, e.signature[:]...)
	b = le.AppendUint64(b, e.head.Seq)
	b = le.AppendUint64(b, e.head.Depth)
	b = le.AppendUint64(b, uint64(e.head.At.Unix()))
	b = le.AppendUint64(b, line)
	b = le.AppendUint32(b, uint32(len(e.line)))
	for _, s := range []span{e.signed, e.record, e.private} {
		b = le.AppendUint32(b, s.start)
		b = le.AppendUint32(b, s.end)
	}
	b = le.AppendUint32(b, prev)
	b = le.AppendUint32(b, seen)
	b = le.AppendUint32(b, uint32(len(n.seen)))
	b = le.AppendUint32(b, log)
	b = le.AppendUint32(b, uint32(n.place.line))
	b = le.AppendUint32(b, x.numbers[e.kind])
	b = le.AppendUint32(b, writer)
	b = le.AppendUint32(b, flags)
	x.w.Write(b)
}
