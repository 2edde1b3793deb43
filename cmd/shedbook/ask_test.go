package main

import (
	"io"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"shedbook/cmd/shedbook/internal/table"
)

// echoing is a keyboard on a terminal: each line typed shows where the talk is.
type echoing struct {
	lines []string
	talk  io.Writer
}

func (k *echoing) Read(p []byte) (int, error) {
	if len(k.lines) == 0 {
		return 0, io.EOF
	}
	line := k.lines[0] + "\n"
	k.lines = k.lines[1:]
	_, _ = io.WriteString(k.talk, line)
	return copy(p, line), nil
}

// Law: what a round says and asks is no wider than the terminal, with what is typed, at 60, 80 and 120 columns; and every line is said at every width.
func TestAskFitsTheWidth(t *testing.T) {
	keys := []string{"=", "5.9", "loose", "59", "59", "?", "x hose in the way, to be moved", "x", "list", "", "out", "to 99", "to left-wing", "back", "5 1/4", "n", "stop"}
	more := []string{"", "5.125", "end", "list", "again", ""}
	words := map[string]bool{}
	for _, width := range []int{60, 80, 120} {
		b := newTestBook(t)
		b.must("machine", "add", "drill", "disc-drill", "--options", "openers=48", "--counter", "area=1600ac")
		b.must("measure", "drill", "disc-reach", "6", "--yes", "--done", "2025-12-01")
		b.vars["COLUMNS"] = strconv.Itoa(width)
		var out, talk strings.Builder
		for n, typed := range [][]string{keys, more} {
			e := b.env(&out, &talk)
			e.stdin = &echoing{typed, &talk}
			if code := run(e, []string{"measure", "drill", "disc-reach", "hub-play", "--ask"}); code != 0 {
				t.Fatalf("%d: exit %d\n%s", n, code, talk.String())
			}
		}
		for line := range strings.Lines(talk.String()) {
			if n := table.Width(strings.TrimSuffix(line, "\n")); n > width {
				t.Errorf("at %d: %d columns: %q", width, n, line)
			}
		}
		words[strings.Join(strings.Fields(regexp.MustCompile(` \(6 in( on 2025-12-01)?\)|\[[0-9a-f]{8}\]|(correct|strike) [0-9a-f]{8}`).ReplaceAllString(talk.String(), "")), " ")] = true
		for _, part := range []string{"Type it again if it is right", "nothing was said of the place before", "hose in the way, to be moved", "Kept for later", "is not finished: disc-reach 4 of 48 openers"} {
			if !strings.Contains(strings.Join(strings.Fields(talk.String()), " "), part) {
				t.Errorf("at %d: %q is not said:\n%s", width, part, talk.String())
			}
		}
	}
	if len(words) != 1 {
		t.Errorf("the words differ with the width: %v", words)
	}
}

// What can be typed at a question; a grade of the reading is a value whatever the word means elsewhere.
func TestReadTyped(t *testing.T) {
	grades := []string{"none", "slight", "loose", "stop", "back-lash"}
	for _, test := range []struct {
		line   string
		grades []string
		want   typed
	}{
		{"", nil, typed{act: actLeave}}, {"  ", nil, typed{act: actLeave}}, {"=", nil, typed{act: actSame}}, {"+", nil, typed{act: actSame}},
		{"back", nil, typed{act: actBack}}, {"<", nil, typed{act: actBack}}, {"Back", grades, typed{act: actBack}}, {"stop", nil, typed{act: actStop}},
		{"stop", grades, typed{actValue, "stop"}}, {"l", grades, typed{actValue, "loose"}}, {"s", grades, typed{actValue, "s"}}, {"NONE", grades, typed{actValue, "NONE"}},
		{"to 14", nil, typed{actTo, "14"}}, {"to  opener  14", nil, typed{actTo, "opener 14"}}, {"5 1/4", nil, typed{actValue, "5 1/4"}}, {"-", nil, typed{actValue, "-"}},
		{"x", nil, typed{act: actCannot}}, {"X Mud, Deep", nil, typed{actCannot, "Mud, Deep"}}, {"x: mud", nil, typed{actCannot, "mud"}}, {"can't reach", nil, typed{act: actCannot}},
		{"Cannot reach hose", nil, typed{actCannot, "hose"}}, {"can’t reach it", nil, typed{actCannot, "it"}}, {"xylem", nil, typed{actValue, "xylem"}},
		{"out", nil, typed{act: actOut}}, {"end", nil, typed{act: actEnd}}, {"list", nil, typed{act: actList}}, {"?", nil, typed{act: actHelp}},
	} {
		if got := readTyped(test.line, test.grades); got != test.want {
			t.Errorf("%q: %q, want %q", test.line, got, test.want)
		}
	}
}

// Law: a value as a draft keeps it is read back as the same value.
func TestAnswerReadBack(t *testing.T) {
	b := newTestBook(t)
	b.must("machine", "add", "drill", "disc-drill", "--options", "openers=4")
	m := b.state().Machine("drill")
	for reading, values := range map[string][]string{"disc-reach": {"5.9", "5 7/8", "132mm", "5.2>5.9", "-", "not-fitted", "cannot-read"}, "hub-play": {"none", "loose>none"}} {
		def, _ := m.Fitted.Reading(reading)
		g := &gauge{def: def}
		for _, text := range values {
			v, err := g.parse(text)
			if err != nil {
				t.Fatal(err)
			}
			again, err := g.parse(answer{got: v}.asText())
			if err != nil || !alike(v, again) {
				t.Errorf("%s: %q is kept as %q: %v", reading, text, answer{got: v}.asText(), err)
			}
			if diff := cmp.Diff(v.Found.String(), again.Found.String()); diff != "" {
				t.Error(diff)
			}
		}
	}
}
