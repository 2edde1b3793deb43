package ledger

import (
	"bytes"
	"encoding/json"

	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// canonicalObject returns the canonical JSON of v, which must be something
// encoding/json writes as an object; nil is the empty object. Text is made NFC.
// what names v in errors, nesting is the number of objects around it.
func canonicalObject(v any, what string, nesting int) ([]byte, error) {
	if v == nil {
		return []byte("{}"), nil
	}
	var plain bytes.Buffer
	enc := json.NewEncoder(&plain)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return nil, fmt.Errorf("%s cannot be written: %w", what, err)
	}
	w := canon{b: plain.Bytes(), path: []string{what}}
	if w.b[0] != '{' {
		return nil, fmt.Errorf("%s must be an object", what)
	}
	return w.value(make([]byte, 0, len(w.b)), nesting)
}

// canon makes canonical JSON of what encoding/json has written: valid JSON
// without space between its tokens, so only what that leaves open is looked at.
type canon struct {
	b    []byte
	i    int
	path []string // to the value at i, as errors name it
}

func (w *canon) fail(format string, args ...any) error {
	return fmt.Errorf("%s: %s", strings.Join(w.path, ""), fmt.Sprintf(format, args...))
}

// take takes c where it stands next.
func (w *canon) take(c byte) bool {
	if w.b[w.i] != c {
		return false
	}
	w.i++
	return true
}

// value appends the value that stands next.
func (w *canon) value(dst []byte, nesting int) ([]byte, error) {
	switch w.b[w.i] {
	case '{', '[':
		if nesting+1 > MaxNesting {
			return nil, w.fail("more than %d objects and arrays inside each other", MaxNesting)
		}
		if w.take('{') {
			return w.object(dst, nesting+1)
		}
		w.i++
		return w.array(dst, nesting+1)
	case '"':
		text, err := w.text()
		if err != nil {
			return nil, err
		}
		return w.appendText(dst, text)
	case 'n':
		return nil, w.fail("null is not used: leave out a member without a value")
	}
	start := w.i
	for w.b[w.i] != ',' && w.b[w.i] != ']' && w.b[w.i] != '}' {
		w.i++
	}
	plain := w.b[start:w.i]
	if plain[0] == 't' || plain[0] == 'f' {
		return append(dst, plain...), nil
	}
	return w.appendInteger(dst, plain)
}

func (w *canon) array(dst []byte, nesting int) ([]byte, error) {
	dst = append(dst, '[')
	for i := 0; !w.take(']'); i++ {
		if w.take(',') {
			dst = append(dst, ',')
		}
		w.path = append(w.path, "["+strconv.Itoa(i)+"]")
		var err error
		if dst, err = w.value(dst, nesting); err != nil {
			return nil, err
		}
		w.path = w.path[:len(w.path)-1]
	}
	return append(dst, ']'), nil
}

func (w *canon) object(dst []byte, nesting int) ([]byte, error) {
	type member struct{ name, value []byte }
	var few [8]member
	members := few[:0]
	var values []byte // of all members; a member holds its own part even where this grows
	for !w.take('}') {
		w.take(',')
		name, err := w.text()
		if err != nil {
			return nil, err
		}
		if !validName(string(name)) {
			return nil, w.fail("%q cannot be a member name: 1 to %d of a-z, 0-9 and _, the first a letter", name, MaxName)
		}
		w.i++ // the colon
		w.path = append(w.path, ".", string(name))
		start := len(values)
		if values, err = w.value(values, nesting); err != nil {
			return nil, err
		}
		w.path = w.path[:len(w.path)-2]
		members = append(members, member{name, values[start:]})
	}
	slices.SortFunc(members, func(a, b member) int { return bytes.Compare(a.name, b.name) })
	dst = append(dst, '{')
	for i, m := range members {
		if i > 0 {
			if bytes.Equal(members[i-1].name, m.name) {
				return nil, w.fail("member %q stands twice", m.name)
			}
			dst = append(dst, ',')
		}
		dst = append(dst, '"')
		dst = append(dst, m.name...)
		dst = append(dst, '"', ':')
		dst = append(dst, m.value...)
	}
	return append(dst, '}'), nil
}

// text takes the string that stands next, without its quotes and escapes.
func (w *canon) text() ([]byte, error) {
	start, escaped := w.i, false
	for w.i++; w.b[w.i] != '"'; w.i++ {
		if w.b[w.i] == '\\' {
			escaped = true
			w.i++
		}
	}
	w.i++
	if !escaped {
		return w.b[start+1 : w.i-1], nil
	}
	var text string
	if err := json.Unmarshal(w.b[start:w.i], &text); err != nil {
		return nil, w.fail("%v", err)
	}
	return []byte(text), nil
}

func (w *canon) appendText(dst, text []byte) ([]byte, error) {
	dst = append(dst, '"')
	for _, r := range string(norm.NFC.Bytes(text)) {
		switch {
		case r == utf8.RuneError:
			// encoding/json has put U+FFFD for every byte that was no UTF-8, so
			// the sign itself is refused too: nothing is altered unseen.
			return nil, w.fail("text is not valid UTF-8 (or holds U+FFFD, the sign for that)")
		case refusedRune(r):
			return nil, w.fail("text holds %s, which is not allowed", codePoint(r))
		case r == '\n':
			dst = append(dst, '\\', 'n')
		case r == '"' || r == '\\':
			dst = append(dst, '\\', byte(r))
		default:
			dst = utf8.AppendRune(dst, r)
		}
	}
	return append(dst, '"'), nil
}

func (w *canon) appendInteger(dst, number []byte) ([]byte, error) {
	s := scanner{b: number}
	n, err := s.integer()
	if err == nil && s.i != len(number) {
		err = io.ErrUnexpectedEOF
	}
	if err != nil {
		return nil, w.fail("%s cannot be written: numbers are integers from -(2^53-1) to 2^53-1, anything else is a decimal string with a unit", number)
	}
	return strconv.AppendInt(dst, n, 10), nil
}
