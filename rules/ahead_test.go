package rules

import (
	"fmt"
	"testing"

	"shedbook/rules/quantity"
)

// Worked out on paper. Oil: first at 50 h, done at 51 h, then every 500 h or 12 months: 551, 1051 and 1551 h within 1,600. On the grid of 250 h, done at 240
// (counts for 250) and read at 510: overdue since 500, then 750 and 1000, wherever it is done.
func TestAhead(t *testing.T) {
	for _, x := range []struct {
		name, text string
		do         func(*shed)
		on, job    string
		to         string
		want       []string
	}{
		{"after the first", oil, func(s *shed) {
			s.read("2025-03-01", "hours 5h")
			s.read("2025-03-05", "hours 51h")
			s.did("2025-03-05", "oil")
		}, "2025-03-06", "oil", "1600 h", []string{"551 h", "1051 h", "1551 h"}},
		{"overdue is counted on from now", oil, func(s *shed) {
			s.read("2025-03-01", "hours 5h")
			s.read("2025-03-05", "hours 5h")
			s.did("2025-03-05", "oil")
			s.read("2025-03-09", "hours 600h")
		}, "2025-03-09", "oil", "1700 h", []string{"505 h", "1100 h", "1600 h"}},
		{"grid", grid, func(s *shed) {
			s.read("2025-03-01", "hours 240h")
			s.did("2025-03-01", "check")
			s.read("2025-03-09", "hours 510h")
		}, "2025-03-09", "check", "1000 h", []string{"500 h", "750 h", "1000 h"}},
	} {
		s := newShed(t, kind(x.text))
		x.do(s)
		st := s.state(x.on)
		m := st.MachineByID(s.machine)
		r := Reach{Day: "2025-12-31", Uses: map[string]quantity.Quantity{"hours": quantity.MustParse(x.to)}}
		var got []string
		for _, d := range Ahead(st, m, r) {
			if d.Job == x.job {
				for _, p := range d.Points {
					got = append(got, p.Value.String())
				}
			}
		}
		if fmt.Sprint(got) != fmt.Sprint(x.want) {
			t.Errorf("%s: %v, want %v", x.name, got, x.want)
		}
	}
}

// Law: done at each point, it is due at the next: what the chart promises is what the due list says when that day comes.
func TestLawAheadIsWhenDueSays(t *testing.T) {
	for name, text := range map[string]string{"oil": oil, "check": grid} {
		s := newShed(t, kind(text))
		s.read("2025-03-01", "hours 240h")
		s.did("2025-03-01", name)
		s.read("2025-03-02", "hours 245h")
		st := s.state("2025-03-02")
		var points []Amount
		for _, d := range Ahead(st, st.MachineByID(s.machine), Reach{Day: "2025-12-31", Uses: map[string]quantity.Quantity{"hours": quantity.MustParse("3000 h")}}) {
			if d.Job == name {
				points = d.Points
			}
		}
		if len(points) < 5 {
			t.Fatalf("%s: %d points", name, len(points))
		}
		for i, p := range points {
			day := fmt.Sprintf("2025-04-%02d", i+1)
			s.read(day, "hours "+p.Value.String())
			due := false
			for _, it := range Due(s.state(day), Filter{}) {
				due = due || it.Job == name && it.State == DueNow && it.Due.Value == p.Value
			}
			if !due {
				t.Errorf("%s: at %s it is not due", name, p.Value)
			}
			s.did(day, name)
		}
	}
}
