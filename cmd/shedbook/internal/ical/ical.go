// Package ical writes calendars (RFC 5545): all-day events or to-dos with stable ids, so that a calendar somebody subscribed to changes and does not double.
//
// What it promises: lines end in CRLF and are folded at 75 octets between characters; text is escaped; nothing that is no text (control characters, marks
// that are not seen or turn the direction of reading) comes through; the same entries give the same bytes.
package ical

import (
	"fmt"
	"io"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Entry is one thing on one day.
type Entry struct {
	UID         string // stable, the same for the same thing every time
	Day         string // YYYY-MM-DD
	Summary     string
	Description string
	Where       string
	Kinds       []string // CATEGORIES
	Urgent      bool     // PRIORITY 1, else 5
}

// Calendar is a list of entries with a name.
type Calendar struct {
	Name    string
	Stamp   string // YYYY-MM-DD: the day for which it was made (DTSTAMP)
	Entries []Entry
	ToDos   bool // to-dos (VTODO) instead of all-day events (VEVENT)
}

// Write writes the calendar. The error is the writer's, or that of a day that is none.
func Write(w io.Writer, c Calendar) error {
	f := folder{w: w}
	f.line("BEGIN:VCALENDAR")
	f.line("VERSION:2.0")
	f.line("PRODID:-//shedbook//shedbook//EN")
	f.line("CALSCALE:GREGORIAN")
	f.line("METHOD:PUBLISH")
	f.line("X-WR-CALNAME:" + escape(c.Name))
	stamp, err := date(c.Stamp)
	if err != nil {
		return err
	}
	kind, day := "VEVENT", "DTSTART"
	if c.ToDos {
		kind, day = "VTODO", "DUE"
	}
	for _, e := range c.Entries {
		on, err := date(e.Day)
		if err != nil {
			return err
		}
		f.line("BEGIN:" + kind)
		f.line("UID:" + escape(e.UID))
		f.line("DTSTAMP:" + stamp + "T000000Z")
		f.line(day + ";VALUE=DATE:" + on)
		f.line("SUMMARY:" + escape(e.Summary))
		f.text("DESCRIPTION:", e.Description)
		f.text("LOCATION:", e.Where)
		if len(e.Kinds) > 0 {
			kinds := make([]string, len(e.Kinds))
			for i, k := range e.Kinds {
				kinds[i] = escape(k)
			}
			f.line("CATEGORIES:" + strings.Join(kinds, ","))
		}
		if e.Urgent {
			f.line("PRIORITY:1")
		} else {
			f.line("PRIORITY:5")
		}
		if c.ToDos {
			f.line("STATUS:NEEDS-ACTION")
		} else {
			f.line("TRANSP:TRANSPARENT") // it keeps nobody from being booked
		}
		f.line("END:" + kind)
	}
	f.line("END:VCALENDAR")
	return f.err
}

// date is a day as RFC 5545 writes one, section 3.3.4.
func date(day string) (string, error) {
	d := strings.ReplaceAll(day, "-", "")
	if len(day) != 10 || len(d) != 8 || strings.Trim(d, "0123456789") != "" {
		return "", fmt.Errorf("calendar: %q is no day", day)
	}
	return d, nil
}

// escape makes a TEXT value, section 3.3.11.
func escape(s string) string {
	var b strings.Builder
	for _, r := range s {
		switch {
		case r == '\\' || r == ';' || r == ',':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r == '\n':
			b.WriteString(`\n`)
		case r == utf8.RuneError || unseen(r):
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// unseen reports a control or format character, such as one that turns the direction of reading, or a line end that is none in a text.
func unseen(r rune) bool { return unicode.In(r, unicode.Cc, unicode.Cf, unicode.Zl, unicode.Zp) }

// folder writes lines, each folded (section 3.1).
type folder struct {
	w   io.Writer
	err error
}

func (f *folder) text(name, value string) {
	if value != "" {
		f.line(name + escape(value))
	}
}

const octets = 75

func (f *folder) line(s string) {
	if f.err != nil {
		return
	}
	var b strings.Builder
	room := octets
	for _, r := range s {
		if n := utf8.RuneLen(r); n > room {
			b.WriteString("\r\n ")
			room = octets - 1
		}
		b.WriteRune(r)
		room -= utf8.RuneLen(r)
	}
	b.WriteString("\r\n")
	_, f.err = io.WriteString(f.w, b.String())
}
