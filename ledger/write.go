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
// encoding/json writes as an object; nil is the empty object. what names v in
// errors, nesting is the number of objects around it. Text is made NFC.
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
	dec := json.NewDecoder(&plain)
	dec.UseNumber()
	token, err := dec.Token()
	if err != nil {
		return nil, fmt.Errorf("%s cannot be written: %w", what, err)
	}
	if token != json.Delim('{') {
		return nil, fmt.Errorf("%s must be an object", what)
	}
	return appendValue(nil, dec, token, what, nesting)
}

// appendValue appends the value that starts with token and whose rest is in dec.
func appendValue(dst []byte, dec *json.Decoder, token json.Token, path string, nesting int) ([]byte, error) {
	switch v := token.(type) {
	case json.Delim:
		if nesting+1 > MaxNesting {
			return nil, fmt.Errorf("%s: more than %d objects and arrays inside each other", path, MaxNesting)
		}
		if v == '{' {
			return appendObject(dst, dec, path, nesting+1)
		}
		return appendArray(dst, dec, path, nesting+1)
	case string:
		return appendText(dst, v, path)
	case json.Number:
		return appendInteger(dst, v.String(), path)
	case bool:
		return strconv.AppendBool(dst, v), nil
	}
	return nil, fmt.Errorf("%s: null is not used: leave out a member without a value", path)
}

func appendArray(dst []byte, dec *json.Decoder, path string, nesting int) ([]byte, error) {
	dst = append(dst, '[')
	for i := 0; dec.More(); i++ {
		if i > 0 {
			dst = append(dst, ',')
		}
		token, err := dec.Token()
		if err != nil {
			return nil, fmt.Errorf("%s: %w", path, err)
		}
		if dst, err = appendValue(dst, dec, token, fmt.Sprintf("%s[%d]", path, i), nesting); err != nil {
			return nil, err
		}
	}
	if _, err := dec.Token(); err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return append(dst, ']'), nil
}

func appendObject(dst []byte, dec *json.Decoder, path string, nesting int) ([]byte, error) {
	type member struct {
		name  string
		value []byte
	}
	var members []member
	for dec.More() {
		token, err := dec.Token()
		if err != nil {
			return nil, fmt.Errorf("%s: %w", path, err)
		}
		name := token.(string)
		if !validName(name) {
			return nil, fmt.Errorf("%s: %q cannot be a member name: 1 to %d of a-z, 0-9 and _, the first a letter", path, name, MaxName)
		}
		if token, err = dec.Token(); err != nil {
			return nil, fmt.Errorf("%s.%s: %w", path, name, err)
		}
		value, err := appendValue(nil, dec, token, path+"."+name, nesting)
		if err != nil {
			return nil, err
		}
		members = append(members, member{name, value})
	}
	if _, err := dec.Token(); err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	slices.SortFunc(members, func(a, b member) int { return strings.Compare(a.name, b.name) })
	dst = append(dst, '{')
	for i, m := range members {
		if i > 0 {
			if members[i-1].name == m.name {
				return nil, fmt.Errorf("%s: member %q stands twice", path, m.name)
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

func appendText(dst []byte, text, path string) ([]byte, error) {
	text = norm.NFC.String(text)
	dst = append(dst, '"')
	for _, r := range text {
		switch {
		case r == utf8.RuneError:
			// encoding/json has put U+FFFD for every byte that was no UTF-8, so
			// the sign itself is refused too: nothing is altered unseen.
			return nil, fmt.Errorf("%s: text is not valid UTF-8 (or holds U+FFFD, the sign for that)", path)
		case refusedRune(r):
			return nil, fmt.Errorf("%s: text holds %s, which is not allowed", path, codePoint(r))
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

func appendInteger(dst []byte, number, path string) ([]byte, error) {
	s := scanner{b: []byte(number)}
	n, err := s.integer()
	if err == nil && s.i != len(number) {
		err = io.ErrUnexpectedEOF
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %s cannot be written: numbers are integers from -(2^53-1) to 2^53-1, anything else is a decimal string with a unit", path, number)
	}
	return strconv.AppendInt(dst, n, 10), nil
}
