package record

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// Law: dates are read as package time reads them, whatever the text: every day of 800 years, and texts one byte away from a date.
func TestLawDoneIsReadAsTimeReadsIt(t *testing.T) {
	agree := func(s string) error {
		ok := false
		for _, form := range []string{dateForm, minuteForm} {
			v, err := time.Parse(form, s)
			ok = ok || err == nil && v.Format(form) == s && v.Year() >= 1900
		}
		if d, err := ParseDone(s); (err == nil) != ok || ok && string(d) != s {
			return fmt.Errorf("ParseDone(%q) = %q, %v; package time takes it: %v", s, d, err, ok)
		}
		day, _ := time.Parse(dateForm, Done(s).Date())
		if got := Done(s).Day(); got != day {
			return fmt.Errorf("day of %q is %v; package time says %v", s, got, day)
		}
		return nil
	}
	for day := time.Date(1700, 1, 1, 0, 0, 0, 0, time.UTC); day.Year() < 2500; day = day.AddDate(0, 0, 1) {
		if err := agree(day.Format(dateForm)); err != nil {
			t.Fatal(err)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		s := fmt.Sprintf("%04d-%02d-%02dT%02d:%02d", rapid.IntRange(0, 9999).Draw(t, "year"), rapid.IntRange(0, 13).Draw(t, "month"),
			rapid.IntRange(0, 32).Draw(t, "day"), rapid.IntRange(0, 25).Draw(t, "hour"), rapid.IntRange(0, 61).Draw(t, "minute"))
		s = s[:rapid.SampledFrom([]int{10, 16, 16, 15, 11, 9, 0}).Draw(t, "length")]
		if at := rapid.IntRange(-40, 15).Draw(t, "at"); at >= 0 && at < len(s) {
			s = s[:at] + string(rapid.SampledFrom([]byte("0 9-T:+.a/")).Draw(t, "byte")) + s[at+1:]
		}
		if err := agree(s); err != nil {
			t.Fatal(err)
		}
	})
}

// Law: Compare orders as the texts of day and clock do, what is no date included.
func TestLawDoneComparesDayThenClock(t *testing.T) {
	any := rapid.SampledFrom([]Done{"", "2026", "2026-04-01", "2026-04-01T00:00", "2026-04-01T16:05", "2026-04-01T23:59", "2026-04-02", "2026-04-02T00:00",
		"2025-12-31", "2026-04-01T1", "1900-01-01"})
	rapid.Check(t, func(t *rapid.T) {
		a, b := any.Draw(t, "a"), any.Draw(t, "b")
		if got, want := a.Compare(b), strings.Compare(a.Date()+a.Clock(), b.Date()+b.Clock()); got != want {
			t.Fatalf("%q against %q: %d, want %d", a, b, got, want)
		}
	})
}
