package ledger

import "fmt"

// refusedRune reports whether a code point may not stand in any text of an
// entry. The list is fixed by FORMAT.md section "Refused code points": what
// could steer a terminal, reverse the reading direction, hide, or is no
// character at all. Surrogates cannot occur in valid UTF-8.
func refusedRune(r rune) bool {
	switch {
	case r == '\n':
		return false
	case r < 0x20, 0x7f <= r && r <= 0x9f: // controls
		return true
	case r < 0x61c:
		return false
	case r == 0x61c, r == 0x200e, r == 0x200f, 0x2066 <= r && r <= 0x2069: // bidi marks, isolates
		return true
	case 0x2028 <= r && r <= 0x202e: // line and paragraph separator, bidi embeddings
		return true
	case 0xd800 <= r && r <= 0xdfff: // surrogates
		return true
	case 0xfdd0 <= r && r <= 0xfdef, r&0xfffe == 0xfffe: // noncharacters
		return true
	case r == 0xfeff, 0xfff0 <= r && r <= 0xfffb: // byte order mark, specials
		return true
	case 0xe0000 <= r && r <= 0xe007f: // tags
		return true
	}
	return false
}

// codePoint names r the way Unicode does, so that nothing refused is printed.
func codePoint(r rune) string { return fmt.Sprintf("U+%04X", r) }

// validName reports whether s can be a member name: [a-z][a-z0-9_]*. Such names
// sort alike by bytes and by UTF-16 code units (RFC 8785 section 3.2.3).
func validName(s string) bool {
	if s == "" || len(s) > MaxName || s[0] < 'a' || s[0] > 'z' {
		return false
	}
	for i := 1; i < len(s); i++ {
		if nameByte[s[i]] == 0 {
			return false
		}
	}
	return true
}

// validKind reports whether s can be a kind: as a member name, but shorter.
func validKind(s string) bool { return len(s) <= MaxKind && validName(s) }

var nameByte = func() (table [256]byte) {
	for c := 'a'; c <= 'z'; c++ {
		table[c] = 1
	}
	for c := '0'; c <= '9'; c++ {
		table[c] = 1
	}
	table['_'] = 1
	return table
}()
