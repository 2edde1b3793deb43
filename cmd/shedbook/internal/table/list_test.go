package table

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func sampleList() *List {
	l := NewList("machine", "job", "where", "due")
	l.Line("do not run until done", "arm pin sheared, tied up to finish the field", "drill", "fault", "opener 41")
	l.MayCut()
	l.Line("overdue", "before autumn seeding 2026", "drill", "packer-check", "openers 1-48 but 41")
	l.Line("overdue", "overdue by 639 d", "creek-tractor", "brake-hose-change")
	return l
}

func TestListText(t *testing.T) {
	for _, test := range []struct {
		name  string
		width int
		want  string
	}{
		{"room for all", 120, `
do not run until done
  drill          fault              opener 41            arm pin sheared, tied up to finish the field
overdue
  drill          packer-check       openers 1-48 but 41  before autumn seeding 2026
  creek-tractor  brake-hose-change                       overdue by 639 d
`},
		// 2 + 13 + 1 + 17 + 1 + 19 + 1 leave 26 columns: enough for the season, not for the fault
		{"one blank between columns saves a line, a fault's words are cut", 80, `
do not run until done
  drill         fault             opener 41           arm pin sheared, tied ...
overdue
  drill         packer-check      openers 1-48 but 41 before autumn seeding 2026
  creek-tractor brake-hose-change                     overdue by 639 d
`},
		{"remarks below, whole again", 60, `
do not run until done
  drill          fault              opener 41
    arm pin sheared, tied up to finish the field
overdue
  drill          packer-check       openers 1-48 but 41
    before autumn seeding 2026
  creek-tractor  brake-hose-change
    overdue by 639 d
`},
		{"stacked", 40, `
do not run until done
machine: drill
job: fault
where: opener 41
due: arm pin sheared, tied up to finish
  the field

overdue
machine: drill
job: packer-check
where: openers 1-48 but 41
due: before autumn seeding 2026

machine: creek-tractor
job: brake-hose-change
due: overdue by 639 d
`},
	} {
		t.Run(test.name, func(t *testing.T) {
			if diff := cmp.Diff(strings.TrimPrefix(test.want, "\n"), sampleList().Text(test.width)); diff != "" {
				t.Errorf("-want +got\n%s", diff)
			}
		})
	}
	if got := NewList("job", "due").Text(80); got != "" {
		t.Errorf("no lines: %q", got)
	}
}

// Long places wrap where that takes fewer lines than remarks below.
func TestListWrapsPlaces(t *testing.T) {
	l := NewList("job", "where", "due")
	l.Line("overdue", "overdue by about 2150 ac", "scraper-height", "openers 3-11, 13-19, 21-32, 35-47")
	l.Line("overdue", "since the disc of 2026-02-22", "drag-check", "opener 12")
	l.Under("the whole sentence stands below, over all columns, as wide as there is room")
	want := `overdue
  scraper-height  openers 3-11, 13-19,  overdue by about 2150
                  21-32, 35-47          ac
  drag-check      opener 12             since the disc of
                                        2026-02-22
    the whole sentence stands below, over all columns, as wide
      as there is room
`
	if diff := cmp.Diff(want, l.Text(62)); diff != "" {
		t.Errorf("-want +got\n%s", diff)
	}
}

func TestListMark(t *testing.T) {
	l := sampleList()
	l.Mark(func(line, cell int, text string) string {
		if cell < 0 {
			return "<" + text + ">"
		}
		return text
	})
	if got := l.Text(80); !strings.HasPrefix(got, "<do not run until done>\n  drill ") || !strings.Contains(got, "\n<overdue>\n  drill ") {
		t.Errorf("got\n%s", got)
	}
}

func TestCut(t *testing.T) {
	for _, test := range []struct {
		in    string
		width int
		want  string
	}{
		{"hub rough", 9, "hub rough"},
		{"hub rough, runs warm", 20, "hub rough, runs warm"},
		{"hub rough, runs warm", 19, "hub rough, runs ..."},
		{"hub rough, runs warm", 18, "hub rough, ..."},
		{"electrohydraulic", 10, "electro..."},
		{"世界世界", 7, "世界..."},
		{"", 3, ""},
	} {
		if got := Cut(test.in, test.width); got != test.want || Width(got) > test.width {
			t.Errorf("%q to %d: %q, want %q", test.in, test.width, got, test.want)
		}
	}
}

// Law: for any texts and width no line is wider, none ends in a blank, and nothing that may not be cut is lost.
func TestListFits(t *testing.T) {
	cell := rapid.StringOfN(rapid.RuneFrom([]rune("ab 世\u0301\x1b\n\u202e")), 0, 40, -1)
	rapid.Check(t, func(t *rapid.T) {
		l := NewList("machine", "job", "where", "due")
		var texts []string
		for range rapid.IntRange(1, 5).Draw(t, "lines") {
			cells := rapid.SliceOfN(cell, 5, 5).Draw(t, "cells")
			section := rapid.SampledFrom([]string{"overdue", "open"}).Draw(t, "section")
			l.Line(section, cells[3], cells[:3]...)
			texts = append(texts, cells[:3]...)
			if rapid.Bool().Draw(t, "cut") {
				l.MayCut()
			} else {
				texts = append(texts, cells[3])
			}
			l.Under(cells[4])
			texts = append(texts, cells[4])
		}
		width := rapid.IntRange(20, 130).Draw(t, "width")
		got := l.Text(width)
		for line := range strings.Lines(got) {
			line = strings.TrimSuffix(line, "\n")
			if Width(line) > width {
				t.Fatalf("line of %d columns in %d: %q", Width(line), width, line)
			}
			if strings.TrimRight(line, " ") != line {
				t.Fatalf("blank at the end: %q", line)
			}
		}
		count := func(s string) map[rune]int {
			n := map[rune]int{}
			for _, r := range s {
				n[r]++
			}
			return n
		}
		have := count(got)
		for r, n := range count(Clean(strings.Join(texts, ""))) {
			if r != ' ' && have[r] < n {
				t.Fatalf("%q stands %d times, %d are wanted:\n%s", r, have[r], n, got)
			}
		}
		if i := strings.IndexFunc(got, func(r rune) bool { return r != '\n' && hostile(r) }); i >= 0 {
			t.Fatalf("control character at %d of %q", i, got)
		}
	})
}
