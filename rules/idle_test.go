package rules

import (
	"testing"

	"shedbook/rules/record"
)

// Between two readings a machine worked in the seasons of its work and out of storage. Read at 800 ac when one spring closed and at 1700 ac when the next one did:
// the winter adds nothing, and the 41 days of the second spring (10 April to 20 May) add 900 ac, of which its first 21 days 900 x 21 / 41 = 461.0.
func TestUseBetweenReadings(t *testing.T) {
	s := newShed(t, kind(""))
	s.read("2025-01-01", "area 0 ac", "hours 0 h")
	s.season("open", "2025-04-10", "", "")
	s.read("2025-05-20", "area 800 ac")
	s.season("close", "2025-05-20", "", "")
	s.season("open", "2026-04-10", "", "")
	s.read("2026-05-20", "area 1700 ac")
	s.season("close", "2026-05-20", "", "")
	m := s.state("2026-06-01").Machine("rig")
	for _, c := range []struct{ on, want string }{
		{"2025-03-01", "0 ac"}, {"2025-04-09", "0 ac"}, {"2025-05-20", "800 ac"}, {"2025-12-31", "800 ac"}, {"2026-04-09", "800 ac"}, {"2026-04-30", "1261 ac"}, {"2026-05-20", "1700 ac"},
	} {
		got, ok := m.UseAt("area", record.Done(c.on))
		if !ok || got.String() != c.want {
			t.Errorf("%s: %s, want %s", c.on, got, c.want)
		}
	}
}

// Without a season storage alone counts: 100 h from the end of 1 January to that of 31 January, in storage from the end of the 11th to that of the 21st: 20 days
// worked, half of them by the 11th. Where all the time between lies in storage use is spread over all of it: 10 h from 31 January to 10 February.
func TestUseBetweenReadingsInStorage(t *testing.T) {
	s := newShed(t, kind(""))
	s.read("2025-01-01", "hours 0 h")
	s.add(&record.Store{Work: s.work("2025-01-11"), Act: "in"})
	s.add(&record.Store{Work: s.work("2025-01-21"), Act: "out"})
	s.read("2025-01-31", "hours 100 h")
	s.add(&record.Store{Work: s.work("2025-01-31"), Act: "in"})
	s.read("2025-02-10", "hours 110 h")
	m := s.state("2025-02-10").Machine("rig")
	for _, c := range []struct{ on, want string }{{"2025-01-11", "50 h"}, {"2025-01-15", "50 h"}, {"2025-01-21", "50 h"}, {"2025-01-26", "75 h"}, {"2025-02-05", "105 h"}} {
		if got, _ := m.UseAt("hours", record.Done(c.on)); got.String() != c.want {
			t.Errorf("%s: %s, want %s", c.on, got, c.want)
		}
	}
}

// Two stretches that touch are one, and one that goes on has no end.
func TestApart(t *testing.T) {
	got := apart([]minutes{{20, forever}, {5, 10}, {10, 12}, {7, 7}})
	if len(got) != 2 || got[0] != (minutes{5, 12}) || got[1] != (minutes{20, forever}) {
		t.Errorf("%v", got)
	}
}
