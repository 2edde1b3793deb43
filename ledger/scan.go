package ledger

import (
	"bytes"
	"fmt"
	"unicode/utf8"
)

// scanner reads canonical JSON in one pass. It accepts exactly one spelling of
// each value, so what it accepts equals its canonical form (RFC 8785) without
// being written out again: no space, members ascending and once, the escapes
// \n \" \\ only, integers without sign of zero, valid UTF-8.
type scanner struct {
	b []byte
	i int
}

// fail returns an error that says where, counting bytes of the line from 1.
func (s *scanner) fail(format string, args ...any) error {
	return fmt.Errorf("byte %d: %s", s.i+1, fmt.Sprintf(format, args...))
}

// peek returns the byte at the scanner, 0 at the end: no token starts with 0.
func (s *scanner) peek() byte {
	if s.i < len(s.b) {
		return s.b[s.i]
	}
	return 0
}

func (s *scanner) expect(c byte) error {
	if s.peek() != c {
		return s.fail("expected %q, found %s", c, s.found())
	}
	s.i++
	return nil
}

// found describes what stands at the scanner, fit to be printed anywhere.
func (s *scanner) found() string {
	if s.i >= len(s.b) {
		return "the end of the line"
	}
	r, size := utf8.DecodeRune(s.b[s.i:])
	if r == utf8.RuneError && size <= 1 {
		return fmt.Sprintf("the byte 0x%02x", s.b[s.i])
	}
	if r == '\n' || refusedRune(r) {
		return codePoint(r)
	}
	return fmt.Sprintf("%q", r)
}

// member reads the next member's name and the colon after it. prev is the name
// before it, nil at the first. It returns nil at the closing brace, which it takes.
func (s *scanner) member(prev []byte) ([]byte, error) {
	if s.peek() == '}' {
		s.i++
		return nil, nil
	}
	if prev != nil {
		if err := s.expect(','); err != nil {
			return nil, err
		}
	}
	if err := s.expect('"'); err != nil {
		return nil, err
	}
	start := s.i
	for s.i < len(s.b) && nameByte[s.b[s.i]] != 0 {
		s.i++
	}
	name := s.b[start:s.i]
	if s.peek() != '"' {
		return nil, s.fail("a member name has only a-z, 0-9 and _, found %s", s.found())
	}
	if len(name) == 0 || len(name) > MaxName || name[0] < 'a' {
		s.i = start
		return nil, s.fail("%q cannot be a member name: 1 to %d of a-z, 0-9 and _, the first a letter", name, MaxName)
	}
	if prev != nil {
		switch order := bytes.Compare(prev, name); {
		case order == 0:
			s.i = start
			return nil, s.fail("member %q stands twice", name)
		case order > 0:
			s.i = start
			return nil, s.fail("member %q must stand before %q", name, prev)
		}
	}
	s.i++
	return name, s.expect(':')
}

// value takes one value of any shape. nesting is the number of objects and
// arrays around it.
func (s *scanner) value(nesting int) error {
	switch c := s.peek(); {
	case c == '"':
		_, _, err := s.text()
		return err
	case c == '{':
		return s.object(nesting + 1)
	case c == '[':
		return s.array(nesting + 1)
	case c == '-' || '0' <= c && c <= '9':
		_, err := s.integer()
		return err
	case c == 't':
		return s.word("true")
	case c == 'f':
		return s.word("false")
	case c == 'n':
		return s.fail("null is not used: a member without a value is left out")
	}
	return s.fail("expected a value, found %s", s.found())
}

func (s *scanner) word(word string) error {
	if len(s.b)-s.i < len(word) || string(s.b[s.i:s.i+len(word)]) != word {
		return s.fail("expected %s", word)
	}
	s.i += len(word)
	return nil
}

func (s *scanner) object(nesting int) error {
	if nesting > MaxNesting {
		return s.fail("more than %d objects and arrays inside each other", MaxNesting)
	}
	if err := s.expect('{'); err != nil {
		return err
	}
	var prev []byte
	for {
		name, err := s.member(prev)
		if err != nil || name == nil {
			return err
		}
		if err := s.value(nesting); err != nil {
			return err
		}
		prev = name
	}
}

func (s *scanner) array(nesting int) error {
	if nesting > MaxNesting {
		return s.fail("more than %d objects and arrays inside each other", MaxNesting)
	}
	s.i++
	if s.peek() == ']' {
		s.i++
		return nil
	}
	for {
		if err := s.value(nesting); err != nil {
			return err
		}
		if s.peek() == ']' {
			s.i++
			return nil
		}
		if err := s.expect(','); err != nil {
			return err
		}
	}
}

// integer reads -9007199254740991 to 9007199254740991. RFC 8785 writes -0 as 0
// and erratum 7920 asks to refuse it; we refuse it.
func (s *scanner) integer() (int64, error) {
	start := s.i
	negative := s.peek() == '-'
	if negative {
		s.i++
	}
	first := s.i
	var n uint64
	for s.i < len(s.b) && '0' <= s.b[s.i] && s.b[s.i] <= '9' {
		if n = n*10 + uint64(s.b[s.i]-'0'); n > MaxInteger {
			s.i = start
			return 0, s.fail("an integer beyond 2^53-1: write a decimal string with a unit")
		}
		s.i++
	}
	digits := s.i - first
	switch next := s.peek(); {
	case digits == 0:
		return 0, s.fail("expected a digit, found %s", s.found())
	case next == '.' || next == 'e' || next == 'E':
		return 0, s.fail("only integers are numbers: write a fraction as a decimal string with a unit")
	case digits > 1 && s.b[first] == '0':
		s.i = first
		return 0, s.fail("an integer does not start with 0")
	case negative && n == 0:
		s.i = start
		return 0, s.fail("-0 is not an integer here")
	case negative:
		return -int64(n), nil
	}
	return int64(n), nil
}

// Kinds of bytes inside a string.
const (
	bytePlain  = iota // stands for itself
	byteQuote         // "
	byteEscape        // \
	byteWide          // starts a code point beyond ASCII
	byteBad           // a control character
)

var textByte = func() (table [256]byte) {
	for i := range table {
		switch {
		case i >= utf8.RuneSelf:
			table[i] = byteWide
		case i == '"':
			table[i] = byteQuote
		case i == '\\':
			table[i] = byteEscape
		case i < 0x20 || i == 0x7f:
			table[i] = byteBad
		}
	}
	return table
}()

// text reads a string and returns what stands between its quotes, as it stands;
// escaped reports whether that holds escapes.
func (s *scanner) text() (span []byte, escaped bool, err error) {
	if err := s.expect('"'); err != nil {
		return nil, false, err
	}
	b, i := s.b, s.i
	start := i
	for i < len(b) {
		switch textByte[b[i]] {
		case bytePlain:
			i++
		case byteQuote:
			s.i = i + 1
			return b[start:i:i], escaped, nil
		case byteEscape:
			escaped = true
			if i+1 == len(b) || b[i+1] != 'n' && b[i+1] != '"' && b[i+1] != '\\' {
				s.i = i
				return nil, false, s.fail(`only the escapes \n \" \\ are written`)
			}
			i += 2
		case byteWide:
			r, size := utf8.DecodeRune(b[i:])
			if r == utf8.RuneError && size <= 1 {
				s.i = i
				return nil, false, s.fail("not valid UTF-8")
			}
			if refusedRune(r) {
				s.i = i
				return nil, false, s.fail("%s is not allowed in text", codePoint(r))
			}
			i += size
		default:
			s.i = i
			return nil, false, s.fail("%s is not allowed in text", codePoint(rune(b[i])))
		}
	}
	s.i = i
	return nil, false, s.fail("a string is not closed")
}

// word-like strings of the envelope hold no escapes.
func (s *scanner) plain(what string) ([]byte, error) {
	at := s.i
	span, escaped, err := s.text()
	if err == nil && escaped {
		s.i = at
		err = s.fail("%s holds no escapes", what)
	}
	return span, err
}
