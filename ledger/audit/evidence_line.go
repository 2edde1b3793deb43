package audit

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"math"

	"shedbook/ledger"
)

// evidenceLine is one entry's line, taken apart but not believed.
type evidenceLine struct {
	at        int64
	body      []byte
	class     ledger.Class // work where absent
	depth     uint64       // 0 where absent
	digest    []byte       // tag and digest of the body; nil where the body is shown
	prev      cite
	hasPrev   bool
	private   []byte
	seen      []cite
	sig       []byte
	writer    ledger.Writer
	writerNo  int
	newWriter bool
}

// cite names an entry: that many lines back, or in full where it is not in the
// file.
type cite struct {
	back int
	ref  ledger.Ref
}

// lineScanner reads one spelling of each value, as package ledger does.
type lineScanner struct {
	b []byte
	i int
}

func (s *lineScanner) fail(format string, args ...any) error {
	return fmt.Errorf("byte %d: %s", s.i+1, fmt.Sprintf(format, args...))
}

// take skips text and reports whether it stood there.
func (s *lineScanner) take(text string) bool {
	if len(s.b)-s.i < len(text) || string(s.b[s.i:s.i+len(text)]) != text {
		return false
	}
	s.i += len(text)
	return true
}

func (s *lineScanner) expect(text string) error {
	if !s.take(text) {
		return s.fail("expected %s", text)
	}
	return nil
}

// integer reads an integer of at most 2^53-1 in magnitude.
func (s *lineScanner) integer() (int64, error) {
	start := s.i
	negative := s.take("-")
	first := s.i
	var n int64
	for s.i < len(s.b) && '0' <= s.b[s.i] && s.b[s.i] <= '9' {
		if n = n*10 + int64(s.b[s.i]-'0'); n > ledger.MaxInteger {
			s.i = start
			return 0, s.fail("an integer beyond 2^53-1")
		}
		s.i++
	}
	if s.i == first || s.b[first] == '0' && (s.i > first+1 || negative) {
		s.i = start
		return 0, s.fail("expected an integer")
	}
	if negative {
		n = -n
	}
	return n, nil
}

// count reads an integer from least on.
func (s *lineScanner) count(least int64) (int64, error) {
	start := s.i
	n, err := s.integer()
	if err == nil && n < least {
		s.i = start
		err = s.fail("%d is less than %d", n, least)
	}
	return n, err
}

// quoted reads a string without escapes.
func (s *lineScanner) quoted() ([]byte, error) {
	if !s.take(`"`) {
		return nil, s.fail("expected a string")
	}
	n := bytes.IndexByte(s.b[s.i:], '"')
	if n < 0 {
		return nil, s.fail("a string is not closed")
	}
	text := s.b[s.i : s.i+n]
	s.i += n + 1
	return text, nil
}

func (s *lineScanner) base64(size int) ([]byte, error) {
	start := s.i
	text, err := s.quoted()
	if err != nil {
		return nil, err
	}
	out := make([]byte, 0, size)
	if len(text) == base64.RawURLEncoding.EncodedLen(size) && !bytes.ContainsAny(text, "\r\n") {
		if out, err = base64.RawURLEncoding.Strict().AppendDecode(out, text); err == nil && len(out) == size {
			return out, nil
		}
	}
	s.i = start
	return nil, s.fail("expected %d bytes of base64url without padding", size)
}

func (s *lineScanner) id() (id ledger.ID, err error) {
	start := s.i
	text, err := s.quoted()
	if err == nil {
		if err = id.UnmarshalText(text); err != nil {
			s.i = start
			err = s.fail("expected an id")
		}
	}
	return id, err
}

func (s *lineScanner) writer() (w ledger.Writer, err error) {
	start := s.i
	text, err := s.quoted()
	if err == nil {
		if err = w.UnmarshalText(text); err != nil {
			s.i = start
			err = s.fail("expected a writer")
		}
	}
	return w, err
}

// object takes one JSON object by its braces; package ledger reads it properly
// once the entry's line is put together.
func (s *lineScanner) object() ([]byte, error) {
	start, open := s.i, 0
	for ; s.i < len(s.b); s.i++ {
		switch s.b[s.i] {
		case '"':
			for s.i++; s.i < len(s.b) && s.b[s.i] != '"'; s.i++ {
				if s.b[s.i] == '\\' {
					s.i++
				}
			}
		case '{', '[':
			open++
		case '}', ']':
			if open--; open <= 0 {
				s.i++
				if s.b[start] != '{' {
					s.i = start
					return nil, s.fail("expected an object")
				}
				return s.b[start:s.i:s.i], nil
			}
		default:
			if s.i == start {
				return nil, s.fail("expected an object")
			}
		}
	}
	s.i = start
	return nil, s.fail("an object is not closed")
}

// cite reads a number of lines, or an entry in full. With writer it is one of
// another log.
func (s *lineScanner) cite(least int64, writer bool) (c cite, err error) {
	if !s.take(`{"id":`) {
		n, err := s.count(least)
		if err == nil && n > math.MaxInt32 {
			err = s.fail("%d lines back is beyond the file", n)
		}
		return cite{back: int(n)}, err
	}
	if c.ref.ID, err = s.id(); err != nil {
		return c, err
	}
	if err = s.expect(`,"seq":`); err != nil {
		return c, err
	}
	seq, err := s.count(1)
	if err != nil {
		return c, err
	}
	c.ref.Seq = uint64(seq)
	if writer {
		if err = s.expect(`,"writer":`); err != nil {
			return c, err
		}
		if c.ref.Writer, err = s.writer(); err != nil {
			return c, err
		}
	}
	return c, s.expect("}")
}

// parseEvidenceLine reads a line without its LF. What it returns are views of b.
func parseEvidenceLine(b []byte) (l evidenceLine, err error) {
	s := lineScanner{b: b}
	if err = s.expect(`{"at":`); err != nil {
		return l, err
	}
	if l.at, err = s.integer(); err != nil {
		return l, err
	}
	if s.take(`,"body":`) {
		if l.body, err = s.object(); err != nil {
			return l, err
		}
	}
	l.class = ledger.Work
	if s.take(`,"class":`) {
		switch {
		case s.take(`"control"`):
			l.class = ledger.Control
		case s.take(`"shared"`):
			l.class = ledger.Shared
		default:
			return l, s.fail(`expected "control" or "shared"`)
		}
	}
	if s.take(`,"depth":`) {
		n, err := s.count(1)
		if err != nil {
			return l, err
		}
		l.depth = uint64(n)
	}
	if s.take(`,"digest":`) {
		if l.digest, err = s.base64(len(ledger.Tag{}) + len(ledger.ID{})); err != nil {
			return l, err
		}
	}
	if s.take(`,"prev":`) {
		l.hasPrev = true
		if l.prev, err = s.cite(0, false); err != nil {
			return l, err
		}
	}
	if s.take(`,"private":`) {
		if l.private, err = s.object(); err != nil {
			return l, err
		}
	}
	if s.take(`,"seen":[`) {
		for more := true; more; more = s.take(",") {
			if len(l.seen) == ledger.MaxSeen {
				return l, s.fail("more than %d entries are cited", ledger.MaxSeen)
			}
			c, err := s.cite(1, true)
			if err != nil {
				return l, err
			}
			l.seen = append(l.seen, c)
		}
		if err = s.expect("]"); err != nil {
			return l, err
		}
	}
	if s.take(`,"sig":`) {
		if l.sig, err = s.base64(64); err != nil {
			return l, err
		}
	}
	if err = s.expect(`,"writer":`); err != nil {
		return l, err
	}
	if s.i < len(b) && b[s.i] == '"' {
		l.newWriter = true
		l.writer, err = s.writer()
	} else {
		var n int64
		n, err = s.count(0)
		l.writerNo = int(n)
	}
	if err != nil {
		return l, err
	}
	if err = s.expect("}"); err != nil {
		return l, err
	}
	if s.i != len(b) {
		return l, s.fail("something follows the entry")
	}
	switch {
	case (l.body == nil) == (l.digest == nil):
		return l, s.fail("an entry shows its body or the body's digest")
	case l.body == nil && l.class != ledger.Work:
		return l, s.fail("the body of a %s entry is always shown", l.class)
	case l.body == nil && l.private != nil:
		return l, s.fail("a private part without the body that vouches for it")
	case l.body != nil && l.sig == nil:
		return l, s.fail("an entry that shows its body has its signature")
	}
	return l, nil
}
