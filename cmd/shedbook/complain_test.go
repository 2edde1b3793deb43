package main

import (
	"bytes"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"shedbook/cmd/shedbook/internal/table"
)

func TestBetweenWords(t *testing.T) {
	long := "/media/stick/" + strings.Repeat("long", 12)
	for _, test := range []struct{ name, text, want string }{
		{"short", "no book here", "no book here"},
		{"two lines", "the book in the folder does not verify: line 14", "the book in the folder does not\n    verify: line 14"},
		{"a path stays whole", "open " + long + " now", "open\n    " + long + "\n    now"},
		{"each line by itself", "drill.toml:3:1: no part\ndrill.toml:9:12: no such place in it at all", "drill.toml:3:1: no part\ndrill.toml:9:12: no such place\n    in it at all"},
		{"a hint keeps its place", "  next: name one with --book DIR or start one", "  next: name one with --book DIR\n    or start one"},
	} {
		t.Run(test.name, func(t *testing.T) {
			if got := betweenWords(test.text, 32); got != test.want {
				t.Errorf("got\n%s\nwant\n%s", got, test.want)
			}
		})
	}
}

// Nothing is lost, no word is broken, and a line is too wide only where it is one word.
func TestBetweenWordsKeepsEveryWord(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := strings.Join(rapid.SliceOfN(rapid.StringMatching(`[a-zé/]{1,30}`), 0, 20).Draw(t, "words"), " ")
		width := rapid.IntRange(20, 60).Draw(t, "width")
		got := betweenWords(text, width)
		if strings.Join(strings.Fields(got), " ") != text {
			t.Fatalf("words changed: %q", got)
		}
		for _, l := range strings.Split(got, "\n") {
			if table.Width(l) > width && len(strings.Fields(l)) > 1 {
				t.Fatalf("too wide for %d: %q", width, l)
			}
		}
	})
}

// Only a terminal has its errors broken: a program reads them a line each.
func TestErrorsAreBrokenOnATerminalOnly(t *testing.T) {
	b := newTestBook(t)
	b.vars["COLUMNS"] = "40"
	for _, terminal := range []bool{false, true} {
		var out, said bytes.Buffer
		e := b.env(&out, &said)
		e.wraps = terminal
		if code := run(e, []string{"due", "no-such-machine-in-this-book"}); code != exitFailed {
			t.Fatalf("exit %d", code)
		}
		if broken := strings.Contains(said.String(), "\n    "); broken != terminal {
			t.Errorf("terminal %v: %q", terminal, said.String())
		}
	}
}
