package audit

import (
	"compress/gzip"
	"encoding/base64"
	"fmt"
	"io"
	"strconv"

	"shedbook/ledger"
	"shedbook/rules/record"
)

// WriteEvidence writes what a buyer of the machine needs to see for himself
// what the book says of it, in the form of FORMAT.md section "Evidence": every
// head of the book, control and shared entries whole, the machine's key and the
// entries that are labelled for it. Of any other machine's work nothing can be
// read from it. machine is the id of the entry that added the machine or shelf.
// The same book and options give the same lines.
func WriteEvidence(w io.Writer, book *ledger.Book, machine record.ID, o EvidenceOptions) (EvidenceInfo, error) {
	id, err := ledger.ParseID(string(machine))
	if err != nil {
		return EvidenceInfo{}, fmt.Errorf("evidence of a machine: %w", err)
	}
	key, err := keyOf(book, id)
	if err != nil {
		return EvidenceInfo{}, err
	}
	counted := &countingWriter{w: w}
	zipped, err := gzip.NewWriterLevel(counted, gzip.BestCompression)
	if err != nil {
		return EvidenceInfo{}, err
	}
	var info EvidenceInfo
	enc := newEncoder(zipped, &Evidence{Book: book, Machine: id, Key: key})
	for _, e := range book.Entries() {
		shown := e.Class() != ledger.Work || e.TagMatches(key)
		private := shown && e.Private() != nil && !o.holdsBack(e)
		info.count(e, key, shown, shown && e.HasPrivate() && !private)
		enc.entry(e, shown, private, enc.tip[e.ID()])
	}
	if enc.err == nil {
		enc.err = zipped.Close()
	}
	info.Bytes = counted.n
	if enc.err != nil {
		return info, fmt.Errorf("write the evidence: %w", enc.err)
	}
	return info, nil
}

// keyOf reads the machine's key where the machine was added.
func keyOf(book *ledger.Book, machine ledger.ID) (ledger.MachineKey, error) {
	var key ledger.MachineKey
	e := book.Entry(machine)
	if e == nil {
		return key, fmt.Errorf("no entry %s, which would have added the machine, is in this book", machine.Short())
	}
	if !e.HasBody() {
		return key, fmt.Errorf("entry %s, which should have added the machine, is not shown", machine.Short())
	}
	r, err := record.Decode(e.Kind(), e.Record())
	if err != nil {
		return key, fmt.Errorf("entry %s, which should have added the machine: %w", machine.Short(), err)
	}
	text, ok := addsMachine(r)
	if !ok {
		return key, fmt.Errorf("entry %s adds no machine: it is %s", machine.Short(), article(e.Kind()))
	}
	if err := key.UnmarshalText([]byte(text)); err != nil {
		return key, err
	}
	if !e.TagMatches(key) {
		return key, fmt.Errorf("entry %s adds a machine under a label that is not its own", machine.Short())
	}
	return key, nil
}

type countingWriter struct {
	w io.Writer
	n int64
}

func (c *countingWriter) Write(b []byte) (int, error) {
	n, err := c.w.Write(b)
	c.n += int64(n)
	return n, err
}

// encoder writes the lines of a file of evidence.
type encoder struct {
	w     io.Writer
	err   error
	buf   []byte
	index map[ledger.ID]int     // of the lines written
	last  map[ledger.Writer]int // of each log, the line written last
	order map[ledger.Writer]int // number of each log
	tip   map[ledger.ID]bool    // that nothing continues
	at    []int64               // of the lines written, in Unix seconds
}

func newEncoder(w io.Writer, ev *Evidence) *encoder {
	n := len(ev.Book.Entries())
	c := &encoder{
		w: w, index: make(map[ledger.ID]int, n), last: make(map[ledger.Writer]int),
		order: make(map[ledger.Writer]int), tip: make(map[ledger.ID]bool),
	}
	for _, writer := range ev.Book.Writers() {
		for _, ref := range ev.Book.Tips(writer) {
			c.tip[ref.ID] = true
		}
	}
	key, _ := ev.Key.MarshalText()
	c.write([]byte(fmt.Sprintf(`{"book":"%s","entries":%d,"evidence":1,"key":"%s","machine":"%s"}`+"\n", ev.Book.ID(), n, key, ev.Machine)))
	return c
}

func (c *encoder) write(b []byte) {
	if c.err == nil {
		_, c.err = c.w.Write(b)
	}
}

// entry writes one line: what is shown, and of the head what cannot be worked
// out from the rest of the file.
func (c *encoder) entry(e *ledger.Entry, body, private, signature bool) {
	h := e.Head()
	i := len(c.at)
	last, continued := c.last[h.Writer]
	prev, prevHeld := c.index[h.Prev]
	at := h.At.Unix()
	if prevHeld {
		at -= c.at[prev]
	}
	whole := prevHeld || h.Prev.IsZero()
	for _, ref := range h.Seen {
		_, held := c.index[ref.ID]
		whole = whole && held
	}

	b := append(c.buf[:0], `{"at":`...)
	b = strconv.AppendInt(b, at, 10)
	if body {
		b = append(append(b, `,"body":`...), e.Body()...)
	}
	if h.Class != ledger.Work {
		b = append(append(append(b, `,"class":"`...), h.Class...), '"')
	}
	if !whole {
		b = strconv.AppendUint(append(b, `,"depth":`...), h.Depth, 10)
	}
	if !body {
		digest := append(h.Tag[:], h.Body[:]...)
		b = append(base64.RawURLEncoding.AppendEncode(append(b, `,"digest":"`...), digest), '"')
	}
	switch {
	case prevHeld && continued && prev == last, h.Prev.IsZero() && !continued:
	case h.Prev.IsZero():
		b = append(b, `,"prev":0`...)
	case prevHeld:
		b = strconv.AppendInt(append(b, `,"prev":`...), int64(i-prev), 10)
	default:
		b = append(b, fmt.Sprintf(`,"prev":{"id":"%s","seq":%d}`, h.Prev, h.Seq-1)...)
	}
	if private {
		b = append(append(b, `,"private":`...), e.PrivatePart()...)
	}
	for k, ref := range h.Seen {
		if k == 0 {
			b = append(b, `,"seen":[`...)
		} else {
			b = append(b, ',')
		}
		if at, held := c.index[ref.ID]; held {
			b = strconv.AppendInt(b, int64(i-at), 10)
		} else {
			b = append(b, fmt.Sprintf(`{"id":"%s","seq":%d,"writer":"%s"}`, ref.ID, ref.Seq, ref.Writer)...)
		}
	}
	if len(h.Seen) > 0 {
		b = append(b, ']')
	}
	if body || signature {
		b = append(base64.RawURLEncoding.AppendEncode(append(b, `,"sig":"`...), e.Signature()), '"')
	}
	if n, known := c.order[h.Writer]; known {
		b = strconv.AppendInt(append(b, `,"writer":`...), int64(n), 10)
	} else {
		c.order[h.Writer] = len(c.order)
		b = append(append(append(b, `,"writer":"`...), h.Writer.String()...), '"')
	}
	b = append(b, "}\n"...)
	c.buf = b
	c.write(b)
	c.index[e.ID()] = i
	c.last[h.Writer] = i
	c.at = append(c.at, h.At.Unix())
}
