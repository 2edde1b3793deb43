package table

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestWrap(t *testing.T) {
	for _, test := range []struct {
		name, in, indent string
		width            int
		want             string
	}{
		{"short", "one two", "", 80, "one two"},
		{"empty", "", "", 80, ""},
		{"exact", "one two", "", 7, "one two"},
		{"one over", "one two", "", 6, "one\ntwo"},
		{"continuation", "one two three", "    ", 9, "one two\n    three"},
		{"blanks and line ends are one space", "one  \n two", "", 80, "one two"},
		{"blanks at the beginning stay", "  one two", "    ", 8, "  one\n    two"},
		{"long word is broken", "abcdefgh ij", "", 4, "abcd\nefgh\nij"},
		{"long word after another", "a bcdefgh", "", 4, "a\nbcde\nfgh"},
		{"wide characters", "世界世界", "", 5, "世界\n世界"},
		{"no room at all", "世界", "", 1, "世\n界"},
	} {
		t.Run(test.name, func(t *testing.T) {
			if got := Wrap(test.in, test.width, test.indent); got != test.want {
				t.Errorf("got %q, want %q", got, test.want)
			}
		})
	}
}

func TestParagraphs(t *testing.T) {
	text := "\nOne two three.\nFour.\n\n  as it stands, however long\nFive.\n"
	if got, want := Paragraphs(text, 10), "One two\nthree.\nFour.\n\n  as it stands, however long\nFive."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got, want := Indent("one two", 6, 2), "  one\n  two"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// Law: wrapping loses nothing but blanks, and keeps to the width.
func TestWrapKeepsText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.StringOf(rapid.RuneFrom([]rune("abc   世,-"))).Draw(t, "text")
		width := rapid.IntRange(2, 40).Draw(t, "width")
		got := Wrap(strings.TrimLeft(s, " "), width, "")
		if bare(got) != bare(s) {
			t.Fatalf("%q became %q", s, got)
		}
		for line := range strings.Lines(got) {
			if Width(strings.TrimSuffix(line, "\n")) > width {
				t.Fatalf("%q is wider than %d", line, width)
			}
		}
	})
}

func bare(s string) string { return strings.Join(strings.Fields(s), "") }
