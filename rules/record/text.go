package record

import "encoding/json"

// textOf reads one JSON string. The values of a record are words, dates and amounts without anything to unescape, and there are dozens to an entry:
// those are taken as they lie. All others go through package json.
func textOf(b []byte) (string, error) {
	if s, rest, ok := plain(b); ok && len(rest) == 0 {
		return s, nil
	}
	var s string
	err := json.Unmarshal(b, &s)
	return s, err
}

// textsOf reads a JSON array of strings, as textOf does.
func textsOf(b []byte) ([]string, error) {
	if list, ok := plainList(b); ok {
		return list, nil
	}
	var list []string
	err := json.Unmarshal(b, &list)
	return list, err
}

// plain takes a string of printable ASCII without a quote or backslash in it from the front of b.
func plain(b []byte) (s string, rest []byte, ok bool) {
	if len(b) == 0 || b[0] != '"' {
		return "", nil, false
	}
	for i := 1; i < len(b); i++ {
		switch c := b[i]; {
		case c == '"':
			return string(b[1:i]), b[i+1:], true
		case c < ' ' || c > '~' || c == '\\':
			return "", nil, false
		}
	}
	return "", nil, false
}

// plainList takes one or more plain strings with nothing but commas between them: canonical JSON has no spaces.
func plainList(b []byte) (list []string, ok bool) {
	if len(b) == 0 || b[0] != '[' {
		return nil, false
	}
	for b = b[1:]; ; b = b[1:] {
		s, rest, ok := plain(b)
		if !ok || len(rest) == 0 {
			return nil, false
		}
		list = append(list, s)
		switch b = rest; {
		case b[0] == ']':
			return list, len(b) == 1
		case b[0] != ',':
			return nil, false
		}
	}
}
