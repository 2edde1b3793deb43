package ledger

import "time"

// The readers of the envelope's typed values: one value has one text.

func (s *scanner) hex(dst []byte, what string) error {
	at := s.i
	span, err := s.plain(what)
	if err != nil {
		return err
	}
	if !hexInto(dst, span) {
		s.i = at
		return s.fail("%s must have %d lower-case hex digits", what, 2*len(dst))
	}
	return nil
}

func (s *scanner) base64(dst []byte, what string) error {
	at := s.i
	span, err := s.plain(what)
	if err != nil {
		return err
	}
	if !base64Into(dst, span) {
		s.i = at
		return s.fail("%s must be %d bytes of base64url without padding", what, len(dst))
	}
	return nil
}

func (s *scanner) writer() (w Writer, err error) {
	at := s.i
	span, err := s.plain("writer")
	if err != nil {
		return w, err
	}
	if !base32Into(&w, span) {
		s.i = at
		return w, s.fail("writer must have 32 characters of lower-case base32")
	}
	return w, nil
}

func (s *scanner) class() (Class, error) {
	at := s.i
	span, err := s.plain("class")
	if err != nil {
		return "", err
	}
	switch string(span) {
	case "control":
		return Control, nil
	case "shared":
		return Shared, nil
	case "work":
		return Work, nil
	}
	s.i = at
	return "", s.fail("class is %q: it is control, shared or work", span)
}

// count reads an integer from 1.
func (s *scanner) count(what string) (uint64, error) {
	at := s.i
	n, err := s.integer()
	if err == nil && n < 1 {
		s.i = at
		err = s.fail("%s is %d: it counts from 1", what, n)
	}
	return uint64(n), err
}

// time reads YYYY-MM-DDThh:mm:ssZ, the one form of RFC 3339 used here: UTC,
// upper-case letters, whole seconds, no leap second.
func (s *scanner) time() (time.Time, error) {
	at := s.i
	span, err := s.plain("at")
	if err != nil {
		return time.Time{}, err
	}
	t, ok := parseTime(span)
	if !ok {
		s.i = at
		return time.Time{}, s.fail("at is %q: it is written YYYY-MM-DDThh:mm:ssZ", span)
	}
	return t, nil
}

const timeForm = "2006-01-02T15:04:05Z"

// appendTime writes what parseTime reads; t is of the years 0 to 9999, in UTC.
func appendTime(b []byte, t time.Time) []byte {
	year, month, day := t.Date()
	hour, minute, second := t.Clock()
	two := func(n int) { b = append(b, byte('0'+n/10), byte('0'+n%10)) }
	two(year / 100)
	two(year % 100)
	b = append(b, '-')
	two(int(month))
	b = append(b, '-')
	two(day)
	b = append(b, 'T')
	two(hour)
	b = append(b, ':')
	two(minute)
	b = append(b, ':')
	two(second)
	return append(b, 'Z')
}

func parseTime(b []byte) (time.Time, bool) {
	if len(b) != len(timeForm) || b[4] != '-' || b[7] != '-' || b[10] != 'T' || b[13] != ':' || b[16] != ':' || b[19] != 'Z' {
		return time.Time{}, false
	}
	var n [6]int
	for i, at := range [6][2]int{{0, 4}, {5, 7}, {8, 10}, {11, 13}, {14, 16}, {17, 19}} {
		for _, c := range b[at[0]:at[1]] {
			if c < '0' || c > '9' {
				return time.Time{}, false
			}
			n[i] = n[i]*10 + int(c-'0')
		}
	}
	if n[3] > 23 || n[4] > 59 || n[5] > 59 {
		return time.Time{}, false
	}
	t := time.Date(n[0], time.Month(n[1]), n[2], n[3], n[4], n[5], 0, time.UTC)
	year, month, day := t.Date()
	return t, year == n[0] && int(month) == n[1] && day == n[2]
}

// seen reads the cited entries, which stand sorted and once.
func (s *scanner) seen() ([]Ref, error) {
	if err := s.expect('['); err != nil {
		return nil, err
	}
	var refs []Ref
	for s.peek() != ']' {
		if len(refs) > 0 {
			if err := s.expect(','); err != nil {
				return nil, err
			}
		}
		if len(refs) == MaxSeen {
			return nil, s.fail("seen cites more than %d entries", MaxSeen)
		}
		at := s.i
		ref, err := s.ref()
		if err != nil {
			return nil, err
		}
		if n := len(refs); n > 0 && refs[n-1].Compare(ref) >= 0 {
			s.i = at
			return nil, s.fail("seen is not sorted by writer, seq and id")
		}
		refs = append(refs, ref)
	}
	s.i++
	return refs, nil
}

func (s *scanner) ref() (r Ref, err error) {
	for i, name := range [...]string{`{"id":`, `,"seq":`, `,"writer":`} {
		if err := s.word(name); err != nil {
			return r, err
		}
		switch i {
		case 0:
			err = s.hex(r.ID[:], "id")
		case 1:
			r.Seq, err = s.count("seq")
		case 2:
			r.Writer, err = s.writer()
		}
		if err != nil {
			return r, err
		}
	}
	return r, s.expect('}')
}
