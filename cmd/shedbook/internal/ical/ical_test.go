package ical

import (
	"bytes"
	"strings"
	"testing"
	"unicode/utf8"

	ics "github.com/arran4/golang-ical"
)

// A to-do of RFC 5545, section 3.6.2, its first example, in our order of properties: UID, DUE as a date, SUMMARY, CATEGORIES, STATUS. DTSTAMP is the day's own.
func TestToDo(t *testing.T) {
	var b bytes.Buffer
	err := Write(&b, Calendar{Name: "home", Stamp: "2007-03-13", ToDos: true, Entries: []Entry{{UID: "20070313T123432Z-456553@example.com", Day: "2007-05-01", Summary: "Submit Quebec Income Tax Return for 2006", Kinds: []string{"FAMILY", "FINANCE"}}}})
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range []string{"BEGIN:VTODO", "UID:20070313T123432Z-456553@example.com", "DTSTAMP:20070313T000000Z", "DUE;VALUE=DATE:20070501", "SUMMARY:Submit Quebec Income Tax Return for 2006", "CATEGORIES:FAMILY,FINANCE", "STATUS:NEEDS-ACTION", "END:VTODO"} {
		if !strings.Contains(b.String(), "\r\n"+line+"\r\n") {
			t.Errorf("no line %q in %q", line, b.String())
		}
	}
}

// No line is longer than 75 octets, none is broken within a character, and another parser reads the same text back: section 3.1 and 3.3.11.
func TestAnotherParserReadsItBack(t *testing.T) {
	long := strings.Repeat("Öpener 12; scräper, disc\\hub ", 12) + "\nnext line"
	for _, todos := range []bool{false, true} {
		var b bytes.Buffer
		if err := Write(&b, Calendar{Name: "home, creek", Stamp: "2026-10-02", ToDos: todos, Entries: []Entry{{UID: "a/b@c", Day: "2028-02-29", Summary: "grease; openers 1-48, but 41", Description: long, Where: "home"}}}); err != nil {
			t.Fatal(err)
		}
		for _, l := range strings.Split(strings.TrimSuffix(b.String(), "\r\n"), "\r\n") {
			if len(l) > 75 || !utf8.ValidString(l) || strings.ContainsAny(l, "\r\n") {
				t.Errorf("line %q", l)
			}
		}
		cal, err := ics.ParseCalendar(bytes.NewReader(b.Bytes()))
		if err != nil {
			t.Fatal(err)
		}
		get := func(p ics.ComponentProperty) string {
			if todos {
				return ics.FromText(cal.Todos()[0].GetProperty(p).Value)
			}
			return ics.FromText(cal.Events()[0].GetProperty(p).Value)
		}
		if got := get(ics.ComponentPropertyDescription); got != long {
			t.Errorf("description %q", got)
		}
		if got := get(ics.ComponentPropertySummary); got != "grease; openers 1-48, but 41" {
			t.Errorf("summary %q", got)
		}
		if got := get(ics.ComponentPropertyUniqueId); got != "a/b@c" {
			t.Errorf("uid %q", got)
		}
	}
}

func TestNoDay(t *testing.T) {
	if err := Write(&bytes.Buffer{}, Calendar{Stamp: "2026-10-02", Entries: []Entry{{Day: "soon"}}}); err == nil {
		t.Error("a word is no day")
	}
}

// Whatever is in a note, the calendar has the lines it would have without it: no text begins a line of its own, and no control character comes through.
func FuzzText(f *testing.F) {
	for _, s := range []string{"a\r\nEND:VEVENT\r\nBEGIN:VEVENT", "\x1b[31m", "\u202e", "\\n", ";,", strings.Repeat("€", 90)} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		var b bytes.Buffer
		if err := Write(&b, Calendar{Name: s, Stamp: "2026-10-02", Entries: []Entry{{UID: s, Day: "2026-10-03", Summary: s, Description: s, Where: s, Kinds: []string{s}}}}); err != nil {
			t.Fatal(err)
		}
		begun := 0
		for _, l := range strings.Split(strings.TrimSuffix(b.String(), "\r\n"), "\r\n") {
			if len(l) > 75 {
				t.Errorf("%d octets: %q", len(l), l)
			}
			if strings.HasPrefix(l, "BEGIN:") {
				begun++
			}
			for _, r := range l {
				if r < 0x20 || r == 0x7f || unseen(r) {
					t.Errorf("%q lets %U through", s, r)
				}
			}
		}
		if begun != 2 {
			t.Errorf("%q begins %d components", s, begun)
		}
	})
}

// What is not seen does not come through: general categories Cc, Cf, Zl and Zp of the Unicode Standard.
func TestUnseen(t *testing.T) {
	for _, mark := range []string{"\u200b", "\u00ad", "\u2060", "\u202e", "\u2066", "\u2028", "\ufeff", "\U000e0041", "\x1b"} {
		if got := escape("gre" + mark + "ase"); got != "grease" {
			t.Errorf("%+q comes through: %q", mark, got)
		}
	}
}
