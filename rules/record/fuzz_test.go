package record

import (
	"slices"
	"strings"
	"testing"
	"time"
)

// FuzzPositions: places that are read are written out as they were read, one by one come to as many, and go back into the same ranges.
func FuzzPositions(f *testing.F) {
	for _, s := range []string{"opener/1-48", "opener/1-12,opener/14", "opener/7", "wheel/left-front", "opener/001", "opener/3-1", "opener/1-99999999", "/", "opener/1-2-3", ""} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		texts := strings.Split(text, ",")
		p, err := ParsePositions(texts)
		if err != nil {
			return
		}
		all := p.All()
		if p.Len() != len(all) || len(all) == 0 || !slices.IsSortedFunc(all, Position.Compare) || len(slices.Compact(slices.Clone(all))) != len(all) {
			t.Fatalf("%q has %d places: %v", text, p.Len(), all)
		}
		if got := p.String(); got != text {
			t.Fatalf("%q is written out as %q", text, got)
		}
		if back := NewPositions(all...); !back.Equal(p) {
			t.Fatalf("%q, one by one and together again: %s", text, back)
		}
	})
}

// FuzzDone: a day or minute is read where package time reads it, from 1900 on, and no other way of writing it.
func FuzzDone(f *testing.F) {
	for _, s := range []string{"2026-02-28", "2024-02-29", "2026-02-29", "2026-04-12T06:30", "2026-04-12T24:00", "1899-12-31", "2026-4-1", "2026-04-12T06:30:00", "+2026-04-12", "２026-04-12"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		want := false
		for _, form := range []string{dateForm, minuteForm} {
			at, err := time.Parse(form, text)
			want = want || err == nil && at.Format(form) == text && at.Year() >= 1900
		}
		d, err := ParseDone(text)
		if (err == nil) != want {
			t.Fatalf("%q: %q, %v; package time reads it: %v", text, d, err, want)
		}
		if err == nil && (string(d) != text || d.Day().Format(dateForm) != text[:10]) {
			t.Fatalf("%q is read as %q, of %v", text, d, d.Day())
		}
	})
}
