package table

import (
	"testing"
	"unicode/utf8"
)

// Control sequences a terminal acts on begin with ESC or a C1 control (ECMA-48, 5.3 and 5.4); the bidi controls are those of the Unicode Standard, 23.2.
func TestClean(t *testing.T) {
	for _, test := range []struct{ name, in, want string }{
		{"plain", "hub rough", "hub rough"},
		{"letters of any script", "Moyeu usé, 世界, عربى", "Moyeu usé, 世界, عربى"},
		{"line ends", "a\nb\r\nc\td", "a b c d"},
		{"lone carriage return", "good\rbad", `good\x0dbad`},
		{"colour sequence", "\x1b[31mred", `\x1b[31mred`},
		{"window title", "\x1b]0;x\x07", `\x1b]0;x\x07`},
		{"one-byte CSI as UTF-8", "\u009b31m", `\x9b31m`},
		{"one-byte CSI as a byte", "\x9b31m", `\x9b31m`},
		{"delete and bell", "\x7f\x07", `\x7f\x07`},
		{"bidi override", "a\u202eb", `a\u202eb`},
		{"bidi isolate and mark", "\u2066x\u2069\u200f\u061c", `\u2066x\u2069\u200f\u061c`},
		{"separators", "a\u2028b\u2029", `a\u2028b\u2029`},
		{"zero width space and byte order mark", "a\u200b\ufeff", `a\u200b\ufeff`},
		{"tags", "\U000e0041", `\U000e0041`},
		{"joiner stays", "a\u200db", "a\u200db"},
		{"replacement character typed", "\ufffd", "\ufffd"},
	} {
		t.Run(test.name, func(t *testing.T) {
			if got := Clean(test.in); got != test.want {
				t.Errorf("got %q, want %q", got, test.want)
			}
		})
	}
}

func FuzzClean(f *testing.F) {
	f.Add("a\x1b[0m\u202e\n")
	f.Fuzz(func(t *testing.T, s string) {
		got := Clean(s)
		if !utf8.ValidString(got) {
			t.Fatalf("%q is no UTF-8", got)
		}
		for _, r := range got {
			if hostile(r) || r == '\n' {
				t.Fatalf("%q holds %q", got, r)
			}
		}
		if again := Clean(got); again != got {
			t.Fatalf("cleaned twice %q is %q", got, again)
		}
	})
}
