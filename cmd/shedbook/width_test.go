package main

import (
	"regexp"
	"strconv"
	"strings"
	"testing"

	"shedbook/cmd/shedbook/internal/table"
)

// demoReads are the reading commands on the made-up family's book, which has long names, many places and three seasons in it.
var demoReads = []string{
	"show", "show drill", "show drill opener/5", "show drill --why", "show drill left-wing depth", "due", "due --why", "due drill --all", "due --all --why", "history --last 200", "history drill --last 30", "history drill opener/12",
	"schedule list", "schedule show drill", "schedule show disc-drill", "schedule show drill job --paths", "machine list", "people list", "people list --fingerprints", "shelf list",
	"compare drill 2026-04-01 today", "compare drill 2026-04-01 today --why", "wear drill disc", "wear drill disc --all --why", "spec drill", "spec drill torque", "prepare --before 2027-03-01", "prepare drill --before 2027-03-01 --why",
	"life drill disc", "life drill disc --by group --use 100ac --curve --why", "cost", "cost drill --why", "cost --classes", "cost --shops",
}

// Law: on the demo book no line of what is read is wider than the terminal, wide letters counted, down to a phone's 40 columns; none ends in a blank; and
// no line begins with a colon, as a heading without words would leave one.
func TestDemoFitsTheWidth(t *testing.T) {
	b, widths := demoBook(t), []int{40}
	if fullTests {
		widths = []int{40, 60, 80, 120}
	}
	for _, width := range widths {
		b.vars["COLUMNS"] = strconv.Itoa(width)
		for _, line := range demoReads {
			for text := range strings.Lines(b.must(strings.Fields(line)...)) {
				text = strings.TrimSuffix(text, "\n")
				switch {
				case table.Width(text) > width:
					t.Errorf("%s at %d: %d columns: %q", line, width, table.Width(text), text)
				case strings.TrimRight(text, " ") != text:
					t.Errorf("%s at %d: blank at the end: %q", line, width, text)
				case strings.HasPrefix(strings.TrimSpace(text), ": "):
					t.Errorf("%s at %d: no word before the colon: %q", line, width, text)
				}
			}
		}
	}
}

// Law: colour adds nothing to the words. What is read with it is the same, character for character, once the colours are taken out; and none is there
// where it is not wanted, whatever the terminal.
func TestColourIsNeverAlone(t *testing.T) {
	b, _ := season2026(t)
	codes := regexp.MustCompile("\x1b\\[[0-9;]*m")
	painted := 0
	for _, line := range reads {
		args := strings.Fields(line)
		plain, coloured := b.must(append(args, "--color", "never")...), b.must(append(args, "--color", "always")...)
		if strings.Contains(plain, "\x1b") {
			t.Errorf("%s: colour with --color never", line)
		}
		if coloured != plain {
			painted++
		}
		if got := codes.ReplaceAllString(coloured, ""); got != plain {
			t.Errorf("%s: other words in colour:\n%s\n%s", line, got, plain)
		}
	}
	if painted < 5 {
		t.Errorf("only %d of the commands use colour: the law is held to nothing", painted)
	}
	for _, v := range []string{"TERM=xterm", "NO_COLOR=1", "TERM=dumb"} {
		name, value, _ := strings.Cut(v, "=")
		b.vars[name], b.vars["SHEDBOOK_PAGER"] = value, "cat"
		var out strings.Builder
		e := b.env(&out, &out)
		e.shows = true
		if code := run(e, []string{"due"}); code != 0 || strings.Contains(out.String(), "\x1b") != (v == "TERM=xterm") {
			t.Errorf("%s: exit %d, %.80q", v, code, out.String())
		}
		delete(b.vars, name)
	}
}
