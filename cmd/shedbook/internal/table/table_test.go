package table

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func sample() *Table {
	t := New("state", "places", "why", "count")
	t.Right(3)
	t.Keep(0)
	t.Row("overdue", "openers 1-48", "greased at 812 ac on Wed 2026-04-01; every 100 ac; now 1043 ac", "48")
	t.Row("due", "wheel left-front", "no doing on record", "1")
	return t
}

func TestText(t *testing.T) {
	for _, test := range []struct {
		name  string
		width int
		want  string
	}{
		{"all fits", 120, `
state    places            why                                                             count
overdue  openers 1-48      greased at 812 ac on Wed 2026-04-01; every 100 ac; now 1043 ac     48
due      wheel left-front  no doing on record                                                  1
`},
		{"widest wraps", 60, `
state    places            why                        count
overdue  openers 1-48      greased at 812 ac on Wed      48
                           2026-04-01; every 100 ac;
                           now 1043 ac
due      wheel left-front  no doing on record             1
`},
		{"stacked", 40, `
state: overdue
places: openers 1-48
why: greased at 812 ac on Wed
  2026-04-01; every 100 ac; now 1043 ac
count: 48

state: due
places: wheel left-front
why: no doing on record
count: 1
`},
	} {
		t.Run(test.name, func(t *testing.T) {
			if diff := cmp.Diff(strings.TrimPrefix(test.want, "\n"), sample().Text(test.width)); diff != "" {
				t.Errorf("-want +got\n%s", diff)
			}
		})
	}
}

func TestTextLeavesEmptyColumnsOut(t *testing.T) {
	tb := New("a", "b", "c")
	tb.Row("1", "", "3")
	tb.Row("4", " ", "6")
	if got, want := tb.Text(80), "a  c\n1  3\n4  6\n"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got := New("a").Text(80); got != "" {
		t.Errorf("no rows: got %q", got)
	}
}

// Wide characters take two columns (Unicode Standard Annex 11, East Asian Width W), combining marks none.
func TestTextAlignsByDisplayWidth(t *testing.T) {
	tb := New("who", "what")
	tb.Row("世界", "x")
	tb.Row("e\u0301a", "y")
	if got, want := tb.Text(80), "who   what\n世界  x\ne\u0301a    y\n"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestTextStacksWhereColumnsCannotFit(t *testing.T) {
	tb := New("one", "two", "three")
	tb.Keep(0, 1, 2)
	tb.Row(strings.Repeat("a", 30), strings.Repeat("b", 30), "c")
	if got := tb.Text(62); !strings.HasPrefix(got, "one: aaa") {
		t.Errorf("got %q", got)
	}
}

func TestUnder(t *testing.T) {
	tb := New("job", "where")
	tb.Row("grease", "openers 1-48")
	tb.Under("greased at 812 ac on Wed 2026-04-01; every 100 ac; now\x1b 1043 ac estimated")
	tb.Row("wheel nuts", "")
	want := `job         where
grease      openers 1-48
    greased at 812 ac on Wed 2026-04-01; every 100 ac;
      now\x1b 1043 ac estimated
wheel nuts
`
	if diff := cmp.Diff(want, tb.Text(60)); diff != "" {
		t.Errorf("-want +got\n%s", diff)
	}
	if got := tb.Text(30); !strings.HasPrefix(got, "job: grease\nwhere: openers 1-48\ngreased at 812 ac on Wed\n  2026-04-01;") {
		t.Errorf("stacked: %q", got)
	}
}

func TestMarkTakesNoWidth(t *testing.T) {
	tb := New("state", "what")
	tb.Row("due", "x")
	tb.Mark(func(row, col int, text string) string {
		if row >= 0 && col == 0 {
			return "<b>" + text + "</b>"
		}
		return text
	})
	if got, want := tb.Text(80), "state  what\n<b>due</b>    x\n"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// Law: for any cells and width, every line of columns fits the width, no line ends in a blank, and every word of every cell is printed.
func TestTextFits(t *testing.T) {
	cell := rapid.StringOfN(rapid.RuneFrom([]rune("ab 世\u0301\x1b\n\u202e")), 0, 40, -1)
	rapid.Check(t, func(t *rapid.T) {
		tb := New("state", "machine", "why")
		rows := rapid.SliceOfN(rapid.SliceOfN(cell, 3, 3), 1, 5).Draw(t, "rows")
		for _, r := range rows {
			tb.Row(r...)
		}
		width := rapid.IntRange(20, 130).Draw(t, "width")
		got := tb.Text(width)
		for line := range strings.Lines(got) {
			line = strings.TrimSuffix(line, "\n")
			if Width(line) > width {
				t.Fatalf("line of %d columns in %d: %q", Width(line), width, line)
			}
			if strings.TrimRight(line, " ") != line {
				t.Fatalf("blank at the end: %q", line)
			}
		}
		for _, r := range rows {
			for _, c := range r {
				for _, r := range strings.Fields(Clean(c)) {
					for _, ch := range r {
						if !strings.ContainsRune(got, ch) {
							t.Fatalf("%q is missing from %q", ch, got)
						}
					}
				}
			}
		}
		if i := strings.IndexFunc(got, func(r rune) bool { return r != '\n' && hostile(r) }); i >= 0 {
			t.Fatalf("control character at %d of %q", i, got)
		}
	})
}
