// Package intake reads files that other programs made: tables (RFC 4180 and what spreadsheets make of it), fleet snapshots (ISO 15143-3) and task files
// (ISO 11783-10). It knows nothing of books: what it gives is what the file says, with the line each thing stands on.
//
// What holds: a file is read as it stands or refused whole with its line and the reason; nothing is guessed where two readings are possible. Files are
// untrusted: their size, depth and number of parts are limited, and a document type, and with it every entity of a file's own, is refused.
//
// Not done here: what a word, a machine or a counter of the file is called in a book.
package intake

import (
	"fmt"
	"unicode/utf8"
)

// Limits of a file. They are the project's own: ample for a farm, and small beside a computer's memory.
const (
	MostBytes = 64 << 20
	MostRows  = 500_000
	mostCells = 500       // of a row of a table
	mostDepth = 32        // of elements inside each other
	mostNodes = 1_000_000 // elements and attributes
)

// Error is a file that cannot be read, with the line; 0 where it is the file as a whole.
type Error struct {
	Line int
	Text string
}

func (e *Error) Error() string {
	if e.Line == 0 {
		return e.Text
	}
	return fmt.Sprintf("line %d: %s", e.Line, e.Text)
}

func refuse(line int, format string, a ...any) error { return &Error{line, fmt.Sprintf(format, a...)} }

// text takes off a byte order mark and refuses what is no UTF-8, naming the line.
func text(data []byte) ([]byte, error) {
	if len(data) > MostBytes {
		return nil, refuse(0, "it is over %d MiB long", MostBytes>>20)
	}
	if len(data) > 1 && (data[0] == 0xff && data[1] == 0xfe || data[0] == 0xfe && data[1] == 0xff) {
		return nil, refuse(0, "it is written in UTF-16: save it as UTF-8")
	}
	if len(data) > 2 && data[0] == 0xef && data[1] == 0xbb && data[2] == 0xbf {
		data = data[3:]
	}
	line := 1
	for rest := data; len(rest) > 0; {
		r, n := utf8.DecodeRune(rest)
		switch {
		case r == utf8.RuneError && n == 1:
			return nil, refuse(line, "the byte %02x is no UTF-8: save it as UTF-8", rest[0])
		case r == 0:
			return nil, refuse(line, "it holds a zero byte: it is no text")
		case r == '\n':
			line++
		}
		rest = rest[n:]
	}
	return data, nil
}
