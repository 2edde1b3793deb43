package rules

import (
	"fmt"
	"math/big"
	"testing"

	"pgregory.net/rapid"
)

// The drill's acres: 0 on 2024-01-01, 400 on 2024-12-31, 1,130 on 2025-12-31 (2025 has 365 days: 2 ac a day), then the counter was replaced at 1,200 ac on
// 2026-02-04 (35 days on) and reads 50 ac on 2026-03-01.
func TestUsePerYear(t *testing.T) {
	b := newNotebook(t)
	b.reads("2023-12-31", "area at 0 ac")
	b.reads("2024-12-31", "area at 400 ac")
	b.reads("2025-12-31", "area at 1130 ac")
	b.reads("2026-02-04", "area replaced 0 ac last 1200 ac")
	b.reads("2026-03-01", "area at 50 ac")
	st := b.state("2026-06-01")
	all := UsePerYear(st, st.Machine("drill"))
	wantEqual(t, "counters", len(all), 2)
	area, hours := all[0], all[1]
	wantEqual(t, "counter", fmt.Sprint(area.Counter, area.Main, area.Derived, area.Trip), "areatrue false false")
	wantQ(t, "total", area.Total, "1250 ac")
	var years []string
	for _, y := range area.Years {
		years = append(years, fmt.Sprintf("%d %s read %d part %t", y.Year, y.Use, y.Readings, y.Part))
	}
	wantList(t, "years", years, "2023 0 ac read 1 part true", "2024 400 ac read 1 part false", "2025 730 ac read 1 part false", "2026 120 ac read 2 part true")
	wantEqual(t, "turns", len(area.Turns), 1)
	turn := area.Turns[0]
	wantEqual(t, "turn", fmt.Sprint(turn.Act, " ", turn.Done, " ", turn.Before, " ", turn.Told, " ", turn.Start), "replaced 2026-02-04 1200 ac true 0 ac")
	wantEqual(t, "gaps", len(area.Gaps), 1) // 366 days of 2024; 365 of 2025 are no more than 365
	wantEqual(t, "gap", fmt.Sprint(area.Gaps[0].From, " ", area.Gaps[0].To, " ", area.Gaps[0].Days, " ", area.Gaps[0].Use), "2023-12-31 2024-12-31 366 400 ac")
	wantEqual(t, "hours are worked out", hours.Derived, true)
	wantEqual(t, "and have no gaps of their own", len(hours.Gaps), 0)
}

// A season in which nobody read the counter, and one in which it was not read for 91 days.
func TestUsePerYearSeasons(t *testing.T) {
	s := newShed(t, kind(""))
	s.season("open", "2025-04-01", "", "")
	s.read("2025-04-01", "area 0 ac")
	s.read("2025-07-01", "area 100 ac") // 91 days
	s.season("close", "2025-08-01", "", "")
	s.season("open", "2026-04-01", "", "")
	s.season("close", "2026-05-01", "", "")
	s.read("2026-06-01", "area 180 ac")
	st := s.state("2026-07-01")
	y := UsePerYear(st, st.Machine("rig"))
	wantEqual(t, "counters", len(y), 1)
	var gaps []string
	for _, g := range y[0].Gaps {
		gaps = append(gaps, fmt.Sprintf("%s %s %d d %s %q", g.From, g.To, g.Days, g.Use, g.Season))
	}
	// from the end of 1 April: 91 days; all of spring 2026: 30 days and one
	wantList(t, "gaps", gaps, `2025-04-01 2025-07-01 91 d 100 ac ""`, `2025-07-01 2026-06-01 31 d 80 ac "spring 2026"`)
}

// The years of a counter add up to all it moved, whatever the history, and the same in any order of arrival.
func TestLawYearsAddUp(t *testing.T) {
	checkLaw(t, func(rt *rapid.T, s *story) {
		st := replayed(t, s.entries, lawEnd)
		again := replayed(t, rapid.Permutation(s.entries).Draw(rt, "arrival"), lawEnd)
		for i, m := range st.Machines {
			all := UsePerYear(st, m)
			if got, want := fmt.Sprintf("%+v", UsePerYear(again, again.Machines[i])), fmt.Sprintf("%+v", all); got != want {
				rt.Fatalf("in another order of arrival: %s, want %s", got, want)
			}
			for _, y := range all {
				sum := new(big.Rat)
				for _, of := range y.Years {
					sum.Add(sum, of.Use.Rat())
				}
				if sum.Cmp(y.Total.Rat()) != 0 {
					rt.Fatalf("%s: the years make %s, in all %s", y.Counter, sum.FloatString(3), y.Total)
				}
				heldEntries(rt, st, y.Entries)
			}
		}
	})
}
