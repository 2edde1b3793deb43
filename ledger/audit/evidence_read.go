package audit

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"slices"
	"time"

	"shedbook/ledger"
)

// ReadEvidence reads a file of evidence and believes nothing in it that does not
// lead to a signature that holds: it puts every head together again from what
// the file gives, so that one changed, left out, added or moved makes the next
// signature of its log fail. The error is *EvidenceError.
func ReadEvidence(r io.Reader) (*Evidence, error) {
	zipped, err := gzip.NewReader(r)
	if err != nil {
		return nil, readError(0, err)
	}
	in := bufio.NewReaderSize(zipped, MaxEvidenceLine+1)
	first, err := readLine(in)
	if err != nil {
		return nil, readError(1, err)
	}
	d, err := parseEvidenceHeader(first)
	if err != nil {
		return nil, &EvidenceError{CodeEvidenceDamaged, 1, err.Error()}
	}
	for i := range d.want {
		raw, err := readLine(in)
		if errors.Is(err, io.EOF) {
			return nil, &EvidenceError{CodeEvidenceTruncated, 0, fmt.Sprintf("it has %d of its %s: the end is missing", i, entries(d.want))}
		}
		if err != nil {
			return nil, readError(i+2, err)
		}
		if err := d.line(raw); err != nil {
			return nil, &EvidenceError{CodeEvidenceDamaged, i + 2, err.Error()}
		}
	}
	if rest, err := readLine(in); err == nil || len(rest) > 0 {
		return nil, &EvidenceError{CodeEvidenceDamaged, d.want + 2, fmt.Sprintf("it goes on after its %s", entries(d.want))}
	} else if !errors.Is(err, io.EOF) {
		return nil, readError(0, err)
	}
	return d.prove()
}

// readLine returns a line without its LF, as a view of the buffer.
func readLine(in *bufio.Reader) ([]byte, error) {
	line, err := in.ReadSlice('\n')
	switch {
	case errors.Is(err, bufio.ErrBufferFull) || len(line) > MaxEvidenceLine:
		return nil, fmt.Errorf("the line has more than %d bytes", MaxEvidenceLine)
	case errors.Is(err, io.EOF) && len(line) > 0:
		return nil, errors.New("the line does not end with a line feed")
	case err != nil:
		return nil, err
	}
	return line[:len(line)-1], nil
}

func readError(line int, err error) *EvidenceError {
	switch {
	case errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, io.EOF):
		return &EvidenceError{CodeEvidenceTruncated, 0, "the file ends too early: it was not copied whole"}
	case errors.Is(err, gzip.ErrHeader):
		return &EvidenceError{CodeEvidenceDamaged, 0, "this is no file of evidence: it is not packed as one"}
	case errors.Is(err, gzip.ErrChecksum):
		return &EvidenceError{CodeEvidenceDamaged, 0, "the file is damaged: its checksum is wrong"}
	}
	return &EvidenceError{CodeEvidenceDamaged, line, err.Error()}
}

// decoder puts heads together line by line.
type decoder struct {
	want    int
	book    ledger.ID
	machine ledger.ID
	key     ledger.MachineKey
	heads   ledger.Heads
	refs    []ledger.Ref
	depths  []uint64
	at      []int64
	writers []ledger.Writer
	number  map[ledger.Writer]int
	last    []int        // of each writer, the line last given, from 0; -1 for none
	gaps    []ledger.Ref // cited, not in the file
	scratch []ledger.Ref
}

func parseEvidenceHeader(b []byte) (d *decoder, err error) {
	d = &decoder{number: make(map[ledger.Writer]int)}
	s := lineScanner{b: b}
	if err = s.expect(`{"book":`); err != nil {
		return nil, err
	}
	if d.book, err = s.id(); err != nil {
		return nil, err
	}
	if err = s.expect(`,"entries":`); err != nil {
		return nil, err
	}
	n, err := s.count(1)
	if err != nil {
		return nil, err
	}
	if n > MaxEvidenceEntries {
		return nil, fmt.Errorf("%d entries, more than %d", n, MaxEvidenceEntries)
	}
	d.want = int(n)
	if err = s.expect(`,"evidence":`); err != nil {
		return nil, err
	}
	v, err := s.count(1)
	if err != nil {
		return nil, err
	}
	if v != 1 {
		return nil, fmt.Errorf("evidence of form %d: newer shedbook needed", v)
	}
	if err = s.expect(`,"key":`); err != nil {
		return nil, err
	}
	key, err := s.base64(len(d.key))
	if err != nil {
		return nil, err
	}
	d.key = ledger.MachineKey(key)
	if err = s.expect(`,"machine":`); err != nil {
		return nil, err
	}
	if d.machine, err = s.id(); err != nil {
		return nil, err
	}
	if err = s.expect("}"); err == nil && s.i != len(b) {
		err = s.fail("something follows the first line's object")
	}
	return d, err
}

var foundBody = []byte(`{"kind":"` + ledger.KindFound + `",`)

// line takes one entry.
func (d *decoder) line(raw []byte) error {
	l, err := parseEvidenceLine(raw)
	if err != nil {
		return err
	}
	i := len(d.refs)
	h := ledger.Head{Class: l.class, Seen: d.scratch[:0]}
	if l.newWriter {
		if _, known := d.number[l.writer]; known {
			return fmt.Errorf("writer %s has a number already", l.writer)
		}
		l.writerNo = len(d.writers)
		d.number[l.writer] = l.writerNo
		d.writers, d.last = append(d.writers, l.writer), append(d.last, -1)
	} else if l.writerNo >= len(d.writers) {
		return fmt.Errorf("there is no writer %d yet", l.writerNo)
	}
	h.Writer = d.writers[l.writerNo]
	if !bytes.HasPrefix(l.body, foundBody) {
		h.Book = d.book
	}
	at, whole, deepest, err := d.continues(&h, &l)
	if err != nil {
		return err
	}
	for _, c := range l.seen {
		if c.back == 0 {
			whole = false
			d.gaps = append(d.gaps, c.ref)
			h.Seen = append(h.Seen, c.ref)
			continue
		}
		if c.back > i {
			return fmt.Errorf("it cites the entry %d lines back, before the first", c.back)
		}
		h.Seen = append(h.Seen, d.refs[i-c.back])
		deepest = max(deepest, d.depths[i-c.back])
	}
	d.scratch = h.Seen
	if whole != (l.depth == 0) {
		return errors.New("depth is given where something cited is not in the file, and nowhere else")
	}
	if h.Depth = l.depth; whole {
		h.Depth = deepest + 1
	}
	h.At = time.Unix(at+l.at, 0).UTC()
	if l.class == ledger.Work {
		h.HasTag = true
		if l.body != nil {
			h.Tag = ledger.TagOf(d.key, h.Writer, h.Seq)
		} else {
			copy(h.Tag[:], l.digest)
			copy(h.Body[:], l.digest[len(h.Tag):])
		}
	}
	id, err := d.heads.Add(ledger.Proof{Head: h, Body: l.body, Private: l.private, Signature: l.sig})
	if err != nil {
		return err
	}
	d.last[l.writerNo] = i
	d.refs = append(d.refs, ledger.Ref{ID: id, Seq: h.Seq, Writer: h.Writer})
	d.depths = append(d.depths, h.Depth)
	d.at = append(d.at, h.At.Unix())
	return nil
}

// continues fills in what h continues and where that puts it, and returns what
// the line's time is counted from.
func (d *decoder) continues(h *ledger.Head, l *evidenceLine) (at int64, whole bool, deepest uint64, err error) {
	i := len(d.refs)
	last := d.last[l.writerNo]
	at0, continued := i-last, last >= 0
	switch {
	case !l.hasPrev && continued:
	case !l.hasPrev:
		h.Seq = 1
		return 0, true, 0, nil
	case l.prev.back == 0 && l.prev.ref.Seq == 0:
		if !continued {
			return 0, false, 0, errors.New("prev is 0 where nothing could be continued")
		}
		h.Seq = 1
		return 0, true, 0, nil
	case l.prev.back == 0:
		ref := l.prev.ref
		ref.Writer = h.Writer
		d.gaps = append(d.gaps, ref)
		h.Prev, h.Seq = ref.ID, ref.Seq+1
		return 0, false, 0, nil
	default:
		if l.prev.back > i {
			return 0, false, 0, fmt.Errorf("it continues the entry %d lines back, before the first", l.prev.back)
		}
		if continued && l.prev.back == at0 {
			return 0, false, 0, errors.New("prev names the entry that is continued anyway")
		}
		if at0 = l.prev.back; d.refs[i-at0].Writer != h.Writer {
			return 0, false, 0, errors.New("it continues an entry of another log")
		}
	}
	prev := d.refs[i-at0]
	h.Prev, h.Seq = prev.ID, prev.Seq+1
	return d.at[i-at0], true, d.depths[i-at0], nil
}

// prove checks the signatures and holds the book together.
func (d *decoder) prove() (*Evidence, error) {
	book, err := d.heads.Book(d.book)
	var unproved *ledger.Unproved
	if errors.As(err, &unproved) {
		return nil, &EvidenceError{CodeEvidenceChanged, unproved.Index + 2, fmt.Sprintf(
			"entries %d to %d of log %s do not lead to a signature that holds: one of them, or of what they cite, was changed, left out, added or moved (%s)",
			unproved.From, unproved.Ref.Seq, unproved.Ref.Writer, unproved.Why)}
	}
	if err != nil {
		return nil, &EvidenceError{CodeEvidenceDamaged, 0, err.Error()}
	}
	if n := len(book.Entries()); n != d.want {
		return nil, &EvidenceError{CodeEvidenceDamaged, 0, fmt.Sprintf("%s of it are signed but wrong, which no book keeps", entries(d.want-n))}
	}
	tips := make(map[ledger.ID]bool)
	for _, w := range book.Writers() {
		for _, ref := range book.Tips(w) {
			tips[ref.ID] = true
		}
	}
	for i, e := range book.Entries() {
		if !e.HasBody() && len(e.Line()) > 0 && !tips[e.ID()] {
			return nil, &EvidenceError{CodeEvidenceDamaged, i + 2, "it has a signature, which a later entry makes needless"}
		}
	}
	slices.SortFunc(d.gaps, ledger.Ref.Compare)
	for _, ref := range d.gaps {
		if book.Entry(ref.ID) != nil {
			return nil, &EvidenceError{CodeEvidenceDamaged, 0, fmt.Sprintf("entry %s is cited as not there, but it is", ref.ID.Short())}
		}
	}
	return &Evidence{Book: book, Machine: d.machine, Key: d.key}, nil
}

// Digest is what a file of evidence proves, whatever its packing: the SHA-256
// over the ids of its entries in order. Two files about one machine that show
// the same book give the same.
func (ev *Evidence) Digest() ledger.ID {
	sum := sha256.New()
	for _, e := range ev.Book.Entries() {
		id := e.ID()
		sum.Write(id[:])
	}
	return ledger.ID(sum.Sum(nil))
}
