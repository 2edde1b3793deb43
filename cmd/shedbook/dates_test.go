package main

import (
	"strings"
	"testing"
	"time"
)

// What people say for a day, on Friday 2026-11-27; a date in a country's own way is never guessed, but named as it is to be typed.
func TestParseDay(t *testing.T) {
	t.Parallel()
	e := &env{now: func() time.Time { return time.Date(2026, 11, 27, 9, 0, 0, 0, time.UTC) }}
	for said, want := range map[string]string{
		"today": "2026-11-27", "Yesterday": "2026-11-26", "fri": "2026-11-27", "tuesday": "2026-11-24", "last tuesday": "2026-11-24", "last Sat": "2026-11-21", "last friday": "2026-11-20",
		"3 days ago": "2026-11-24", "1d ago": "2026-11-26", "2026-04-01": "2026-04-01",
	} {
		if got, err := e.parseDay(said); got != want || err != nil {
			t.Errorf("%q: %q, %v, want %s", said, got, err, want)
		}
	}
	for said, want := range map[string]string{
		"26/11/2026": "is 2026-11-26 meant?", "11/26/2026": "is 2026-11-26 meant?", "3/4/2026": "is 2026-04-03 or 2026-03-04 meant?", "20.11.2026": "is 2026-11-20 meant?",
		"4/4/2026": "is 2026-04-04 meant?", "31/11/2026": "write 2026-04-01", "last week": "write 2026-04-01", "spring": "write 2026-04-01", "-3 days ago": "write 2026-04-01",
	} {
		if got, err := e.parseDay(said); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %q, %v, want %s", said, got, err, want)
		}
	}
}
