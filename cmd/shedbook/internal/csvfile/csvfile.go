// Package csvfile writes tables that spreadsheets read (RFC 4180): CRLF, quotes where needed, and no cell of text that a spreadsheet would take for a formula.
package csvfile

import (
	"encoding/csv"
	"io"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Cell is one cell.
type Cell struct {
	text   string
	number bool
}

// Text is a cell of text. One that a spreadsheet would take for a formula gets a ' in front; control characters but line ends, and marks that
// are not seen, such as those that turn the direction of reading, are left out.
func Text(s string) Cell { return Cell{text: s} }

// Number is a cell with a number as the program writes it: digits, a point, a sign. Anything else is treated as text.
func Number(s string) Cell {
	return Cell{text: s, number: s != "" && strings.Trim(strings.TrimPrefix(s, "-"), "0123456789.") == ""}
}

// Options say how to write.
type Options struct {
	BOM bool // a byte order mark first: some spreadsheets take a file without one for another encoding
}

// Write writes a heading and rows. Rows shorter than the heading are filled up with empty cells.
func Write(w io.Writer, heading []string, rows [][]Cell, o Options) error {
	if o.BOM {
		if _, err := io.WriteString(w, "\ufeff"); err != nil {
			return err
		}
	}
	out := csv.NewWriter(w)
	out.UseCRLF = true
	if err := out.Write(heading); err != nil {
		return err
	}
	for _, row := range rows {
		cells := make([]string, len(heading))
		for i, c := range row {
			if i < len(cells) {
				cells[i] = c.String()
			}
		}
		if err := out.Write(cells); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// String is the cell as written, before quoting.
func (c Cell) String() string {
	if c.number {
		return c.text
	}
	s := strings.Map(func(r rune) rune {
		switch {
		case r == '\n':
			return r
		case unicode.In(r, unicode.Cc, unicode.Cf, unicode.Zl, unicode.Zp):
			return -1
		}
		return r
	}, strings.ToValidUTF8(c.text, ""))
	if formula(s) {
		return "'" + s
	}
	return s
}

// formula reports a text that a spreadsheet may take for a formula: one that begins with a sign for it, in plain or in full width.
func formula(s string) bool {
	first, _ := utf8.DecodeRuneInString(s)
	return s != "" && strings.ContainsRune("=+-@\uff1d\uff0b\uff0d\uff20", first)
}

// Plain takes off the ' that Text puts in front: for reading back what was written.
func Plain(s string) string {
	if rest, ok := strings.CutPrefix(s, "'"); ok && formula(rest) {
		return rest
	}
	return s
}
