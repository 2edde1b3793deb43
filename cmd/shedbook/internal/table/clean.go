// Package table lays text out for a terminal or a pipe: words wrapped to a width, columns aligned by what a terminal shows of them, and one record
// below the other where the width is too small for columns.
//
// What holds: widths count terminal cells, not bytes or runes; no line ends in a space; nothing is ever cut off; text that goes through Clean (every
// table cell does) holds no byte or character that a terminal could take for a command, and none that turns the order of what is read around.
//
// It knows nothing of machines, colours or the terminal: the caller gives the width and may mark cells once they are laid out.
package table

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Clean makes text from an entry safe to print on one line. Line ends and tabs become one space each; other control characters (C0, DEL, C1), bidi and
// other invisible controls, line and paragraph separators and bytes that are no UTF-8 are shown as \x1b or \u202e. The joiners that scripts and
// emoji need (U+200C, U+200D) stay.
func Clean(s string) string {
	if plain(s) {
		return s
	}
	var b strings.Builder
	for i := 0; i < len(s); {
		r, n := utf8.DecodeRuneInString(s[i:])
		switch {
		case r == utf8.RuneError && n == 1:
			fmt.Fprintf(&b, `\x%02x`, s[i])
		case r == '\r' && strings.HasPrefix(s[i:], "\r\n"): // one line end
		case r == '\n' || r == '\t':
			b.WriteByte(' ')
		case !hostile(r):
			b.WriteRune(r)
		case r < 0x100:
			fmt.Fprintf(&b, `\x%02x`, r)
		case r < 0x10000:
			fmt.Fprintf(&b, `\u%04x`, r)
		default:
			fmt.Fprintf(&b, `\U%08x`, r)
		}
		i += n
	}
	return b.String()
}

// plain reports printable ASCII only, the usual case.
func plain(s string) bool {
	for i := 0; i < len(s); i++ {
		if s[i] < ' ' || s[i] > '~' {
			return false
		}
	}
	return true
}

func hostile(r rune) bool {
	if r == '\u200c' || r == '\u200d' {
		return false
	}
	return unicode.In(r, unicode.Cc, unicode.Cf, unicode.Zl, unicode.Zp) || 0xE0000 <= r && r <= 0xE007F
}
