package ledger

import (
	"crypto/sha256"
	"errors"
	"fmt"
)

// parseLine reads one raw line, its LF included, and checks everything that
// needs no key: one spelling, the closed set of members, the limits, the
// digests of body and private, and what a head must hold for its class and
// place. It keeps line. With withheld, body and private may be absent.
func parseLine(line []byte, withheld bool) (*Entry, error) {
	if len(line) > MaxLine {
		return nil, fmt.Errorf("the line has %d bytes, more than %d", len(line), MaxLine)
	}
	if len(line) == 0 || line[len(line)-1] != '\n' {
		return nil, errors.New("the line does not end with a line feed")
	}
	e := &Entry{line: line}
	s := scanner{b: line[:len(line)-1]}
	var body, private span // of the whole members
	var bodySum, privateSum ID
	if err := s.expect('{'); err != nil {
		return nil, err
	}
	var prev []byte
	var signed bool
	for {
		name, err := s.member(prev)
		if err != nil {
			return nil, err
		}
		if name == nil {
			break
		}
		start := s.i
		switch string(name) {
		case "body":
			err = e.parseBody(&s)
			body = span{uint32(start), uint32(s.i)}
			bodySum = sha256.Sum256(line[start:s.i])
		case "head":
			err = e.parseHead(&s)
			e.signed = span{uint32(start), uint32(s.i)}
			e.id = sha256.Sum256(line[start:s.i])
		case "private":
			err = e.parsePrivate(&s)
			private = span{uint32(start), uint32(s.i)}
			privateSum = sha256.Sum256(line[start:s.i])
		case "sig":
			err = s.base64(e.signature[:], "the signature")
			signed = true
		default:
			s.i = start
			err = s.fail("unknown member %q of the line", name)
		}
		if err != nil {
			return nil, err
		}
		prev = name
	}
	if s.i != len(s.b) {
		return nil, s.fail("expected the end of the line, found %s", s.found())
	}
	switch {
	case e.signed.end == 0:
		return nil, errors.New("the line has no \"head\"")
	case !signed:
		return nil, errors.New("the line has no sig")
	case body.end == 0 && !withheld:
		return nil, errors.New("the line has no body")
	case body.end == 0 && private.end != 0:
		return nil, errors.New("the line shows private but not the body that vouches for it")
	case body.end != 0 && bodySum != e.head.Body:
		return nil, errors.New("the body is not the one that was signed: its digest is not the signed one")
	case private.end != 0 && !e.HasPrivate():
		return nil, errors.New("the private part was not signed: the body has no digest of it")
	case private.end != 0 && privateSum != e.privateDigest:
		return nil, errors.New("the private part is not the one that was signed: its digest is not the one in the body")
	}
	return e, e.checkPlace()
}

func (e *Entry) parseBody(s *scanner) error {
	if err := s.expect('{'); err != nil {
		return err
	}
	var prev []byte
	var salt [16]byte
	var hasSalt bool
	for {
		name, err := s.member(prev)
		if err != nil {
			return err
		}
		if name == nil {
			break
		}
		start := s.i
		switch string(name) {
		case "kind":
			var kind []byte
			if kind, err = s.plain("kind"); err == nil && !validKind(string(kind)) {
				s.i = start
				err = s.fail("%q cannot be a kind: 1 to %d of a-z, 0-9 and _, the first a letter", kind, MaxKind)
			}
			e.kind = internKind(kind)
		case "private":
			err = s.hex(e.privateDigest[:], "private")
		case "record":
			err = s.object(3)
			e.record = span{uint32(start), uint32(s.i)}
		case "salt":
			err = s.base64(salt[:], "salt")
			hasSalt = true
		default:
			s.i = start
			err = s.fail("unknown member %q of the body", name)
		}
		if err != nil {
			return err
		}
		prev = name
	}
	switch {
	case e.kind == "":
		return s.fail("the body has no kind")
	case e.record.end == 0:
		return s.fail("the body has no record")
	case !hasSalt:
		return s.fail("the body has no salt")
	}
	return nil
}

func (e *Entry) parsePrivate(s *scanner) error {
	if err := s.expect('{'); err != nil {
		return err
	}
	var prev []byte
	var salt [16]byte
	var hasSalt bool
	for {
		name, err := s.member(prev)
		if err != nil {
			return err
		}
		if name == nil {
			break
		}
		start := s.i
		switch string(name) {
		case "record":
			err = s.object(3)
			e.private = span{uint32(start), uint32(s.i)}
		case "salt":
			err = s.base64(salt[:], "salt")
			hasSalt = true
		default:
			s.i = start
			err = s.fail("unknown member %q of private", name)
		}
		if err != nil {
			return err
		}
		prev = name
	}
	switch {
	case e.private.end == 0:
		return s.fail("private has no record")
	case !hasSalt:
		return s.fail("private has no salt")
	}
	return nil
}

// Members of a head, as bits.
const (
	hasAt = 1 << iota
	hasBody
	hasBook
	hasClass
	hasDepth
	hasPrev
	hasSeen
	hasSeq
	hasTag
	hasV
	hasWriter

	headAlways = hasAt | hasBody | hasClass | hasDepth | hasSeen | hasSeq | hasV | hasWriter
)

var headNames = [...]string{"at", "body", "book", "class", "depth", "prev", "seen", "seq", "tag", "v", "writer"}

func (e *Entry) parseHead(s *scanner) error {
	if err := s.expect('{'); err != nil {
		return err
	}
	h := &e.head
	var prev []byte
	var have int
	for {
		name, err := s.member(prev)
		if err != nil {
			return err
		}
		if name == nil {
			break
		}
		start := s.i
		switch string(name) {
		case "at":
			h.At, err = s.time()
			have |= hasAt
		case "body":
			err = s.hex(h.Body[:], "body")
			have |= hasBody
		case "book":
			err = s.hex(h.Book[:], "book")
			have |= hasBook
		case "class":
			h.Class, err = s.class()
			have |= hasClass
		case "depth":
			h.Depth, err = s.count("depth")
			have |= hasDepth
		case "prev":
			err = s.hex(h.Prev[:], "prev")
			have |= hasPrev
		case "seen":
			h.Seen, err = s.seen()
			have |= hasSeen
		case "seq":
			h.Seq, err = s.count("seq")
			have |= hasSeq
		case "tag":
			err = s.hex(h.Tag[:], "tag")
			h.HasTag = true
			have |= hasTag
		case "v":
			var v uint64
			if v, err = s.count("v"); err == nil && v != 1 {
				s.i = start
				err = s.fail("the entry has format version %d: a newer shedbook is needed to read it", v)
			}
			have |= hasV
		case "writer":
			h.Writer, err = s.writer()
			have |= hasWriter
		default:
			s.i = start
			err = s.fail("unknown member %q of \"head\"", name)
		}
		if err != nil {
			return err
		}
		prev = name
	}
	if missing := headAlways &^ have; missing != 0 {
		for i, name := range headNames {
			if missing&(1<<i) != 0 {
				return s.fail("\"head\" has no %s", name)
			}
		}
	}
	if have&hasBook != 0 && h.Book.IsZero() || have&hasPrev != 0 && h.Prev.IsZero() {
		return s.fail("an id of zeros: what does not apply is left out")
	}
	return nil
}

// checkPlace checks what the head must hold for its class and place in a log.
func (e *Entry) checkPlace() error {
	h := &e.head
	first := h.Seq == 1
	switch {
	case first != h.Prev.IsZero():
		return fmt.Errorf("seq is %d: an entry has prev unless it is the first of its log", h.Seq)
	case h.HasTag != (h.Class == Work):
		return fmt.Errorf("class is %q: work entries have a tag, others none", h.Class)
	case h.Depth < h.Seq:
		return fmt.Errorf("depth %d is less than seq %d", h.Depth, h.Seq)
	case first && len(h.Seen) == 0 && h.Depth != 1:
		return fmt.Errorf("depth is %d but nothing is before the entry: it must be 1", h.Depth)
	case h.Depth < 2 && len(h.Seen) > 0:
		return errors.New("depth is 1 but seen cites entries before it")
	}
	for i := range h.Seen {
		if h.Seen[i].Writer == h.Writer {
			return fmt.Errorf("seen cites the entry's own log at seq %d", h.Seen[i].Seq)
		}
	}
	if !e.HasBody() {
		if h.Class == Control {
			return errors.New("the body of a control entry cannot be withheld")
		}
		if first {
			return errors.New("the first entry of a log is a control entry of kind found or request")
		}
		return nil
	}
	return e.checkFirst()
}

// checkFirst holds a log's first entry, and only it, to be found or request and
// to carry the key that signs the log: so every log verifies by itself.
func (e *Entry) checkFirst() error {
	h := &e.head
	starts := h.Class == Control && (e.kind == KindFound || e.kind == KindRequest)
	if starts != (h.Seq == 1) {
		return fmt.Errorf("seq is %d and kind %q: the first entry of a log is found or request, no later one is", h.Seq, e.kind)
	}
	if founds := starts && e.kind == KindFound; founds != h.Book.IsZero() {
		return fmt.Errorf("kind is %q: every entry but the founding one names its book", e.kind)
	}
	if !starts {
		return nil
	}
	if e.kind == KindFound && len(h.Seen) > 0 {
		return errors.New("the founding entry cites others: nothing can be before it")
	}
	key, err := ownKey(e)
	if err != nil {
		return err
	}
	if key.Writer() != h.Writer {
		return errors.New("the key in the log's first entry is not its writer's")
	}
	return nil
}
