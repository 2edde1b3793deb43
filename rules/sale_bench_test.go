package rules

import (
	"fmt"
	"testing"

	"shedbook/rules/record"
)

// used is a built-in disc drill of 48 openers with n entries of twenty springs and autumns, as a family enters them.
func used(t testing.TB, n int) *shed {
	s := builtinShed(t, "disc-drill", record.Option{Name: "openers", Value: "48"})
	const years = 20
	perYear := n / years
	for y := range years {
		s.add(&record.Season{Act: "open", Name: fmt.Sprint("spring ", 2025+y), Work: "seeding", Done: record.Done(fmt.Sprintf("%d-04-01", 2025+y))})
		for i := range perYear {
			k := y*perYear + i
			day := fmt.Sprintf("%d-%02d-%02d", 2025+y, 4+i*2/perYear, 1+i*56/perYear%28)
			w := s.work(day)
			switch k % 9 {
			case 0, 3, 6:
				w.Counters = []record.CounterAt{{Counter: "area", At: quantityOf(fmt.Sprintf("%d ac", 2*k))}}
				s.add(&record.Note{Work: w})
			case 1, 4:
				s.add(&record.Did{Work: w, Job: []string{"grease", "torque-check", "preset", "depth-check"}[k%4]})
			case 2:
				s.add(&record.Adjust{Work: w, Changes: []record.Change{{Setting: "depth", Positions: s.at("opener/1-24"), To: steps(fmt.Sprint(1 + i%6))}}})
			case 5:
				if i%243 != 5 && i%243 != 8 && i%243 != 2 { // four or five times a year
					s.add(&record.Note{Work: w})
					continue
				}
				m := &record.Measure{Work: w, Reading: "disc-reach"}
				for o := 1; o <= 48; o++ {
					m.Values = append(m.Values, record.Measured{Positions: s.at(fmt.Sprintf("opener/%d", o)), Found: steps(fmt.Sprintf("%d.%d in", 6-i/perYear, 1+(o+i)%8))})
				}
				s.add(m)
			case 7:
				if k%63 != 7 {
					s.add(&record.Did{Work: w, Job: "scraper-height"})
					continue
				}
				s.add(&record.Swap{Work: w, Part: "disc", Act: record.SwapNew, Positions: s.at(fmt.Sprintf("opener/%d", 1+k%48))})
			case 8:
				s.add(&record.Note{Work: w})
			}
		}
		s.add(&record.Season{Act: "close", Name: fmt.Sprint("spring ", 2025+y), Work: "seeding", Done: record.Done(fmt.Sprintf("%d-05-30", 2025+y))})
	}
	return s
}

// What a buyer asks of twenty years of one drill.
func BenchmarkSale(bench *testing.B) {
	s := used(bench, 20000)
	st := s.replayed("2045-01-01")
	m := st.Machines[0]
	left := LeftOf(st, m)
	for _, ask := range []struct {
		name string
		of   func()
	}{
		{"honesty", func() { HonestyOf(st, m) }},
		{"kept", func() { KeptOf(st, m) }},
		{"years", func() { UsePerYear(st, m) }},
		{"big-jobs", func() { BigJobsOf(st, m) }},
		{"left", func() { LeftOf(st, m) }},
		{"spot", func() { SpotCheckOf(st, m, SpotAsk{Left: left}) }},
		{"whereabouts", func() { WhereaboutsOf(st, m) }},
	} {
		bench.Run(ask.name, func(bench *testing.B) {
			for bench.Loop() {
				ask.of()
			}
		})
	}
}
