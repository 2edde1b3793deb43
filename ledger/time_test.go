package ledger

import (
	"testing"
	"time"

	"pgregory.net/rapid"
)

// Of the examples of RFC 3339 section 5.8 and its neighbours we read only the one
// form that FORMAT.md section "Head" allows: UTC with Z, whole seconds, no leap
// second. The instants of the examples themselves, so written, are read right.
func TestRFC3339(t *testing.T) {
	for _, c := range []struct {
		text string
		unix int64 // where it is read
		ours bool
	}{
		{"1985-04-12T23:20:50.52Z", 0, false},
		{"1985-04-12T23:20:50Z", 482196050, true},
		{"1996-12-19T16:39:57-08:00", 0, false},
		{"1996-12-20T00:39:57Z", 851042397, true},
		{"1990-12-31T23:59:60Z", 0, false},
		{"1990-12-31T15:59:60-08:00", 0, false},
		{"1937-01-01T12:00:27.87+00:20", 0, false},
		{"1990-13-31T23:59:00Z", 0, false},
		{"2026-02-29T00:00:00Z", 0, false},
		{"2028-02-29T00:00:00Z", 1835395200, true},
		{"2026-05-02 08:00:00Z", 0, false},
		{"2026-05-02t08:00:00Z", 0, false},
		{"2026-05-02T08:00:00z", 0, false},
		{"2026-05-02T08:00:00", 0, false},
		{"2026-05-02T24:00:00Z", 0, false},
		{"2026-00-02T08:00:00Z", 0, false},
		{"2026-05-00T08:00:00Z", 0, false},
		{"+026-05-02T08:00:00Z", 0, false},
		{"", 0, false},
	} {
		got, ok := parseTime([]byte(c.text))
		if ok != c.ours || ok && got.Unix() != c.unix {
			t.Errorf("%q: %v %v", c.text, got, ok)
		}
	}
	// Any instant of the years 0 to 9999 comes back.
	rapid.Check(t, func(t *rapid.T) {
		first, last := time.Date(0, 1, 1, 0, 0, 0, 0, time.UTC), time.Date(9999, 12, 31, 23, 59, 59, 0, time.UTC)
		want := time.Unix(rapid.Int64Range(first.Unix(), last.Unix()).Draw(t, "unix"), 0).UTC()
		if got, ok := parseTime([]byte(want.Format(time.RFC3339))); !ok || !got.Equal(want) {
			t.Fatalf("%s: %v %v", want.Format(time.RFC3339), got, ok)
		}
	})
}
