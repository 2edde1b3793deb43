package rules

import (
	"fmt"
	"testing"

	"shedbook/rules/record"
)

// busy is a notebook with n entries on a drill of 48 openers: a third readings, the rest settings, greasing, measurements and a few swaps, as a family
// enters them.
func busy(t testing.TB, n int) *notebook {
	b := newNotebook(t)
	b.machine("wide", "drill", "2000-01-01", record.Option{Name: "openers", Value: "48"})
	all := b.at("opener/1-48")
	for i := range n {
		day := fmt.Sprintf("%04d-%02d-%02d", 2000+i/336%80, 1+i/28%12, 1+i%28)
		w := b.of("wide", day)
		switch i % 9 {
		case 0, 3, 6:
			b.counts("wide", day, fmt.Sprintf("area at %d ac", 10*i))
		case 1, 4:
			b.add(&record.Did{Work: w, Job: "grease", Positions: all})
		case 2:
			b.add(&record.Adjust{Work: w, Changes: []record.Change{{Setting: "depth", Positions: b.at("opener/1-24"), To: steps(fmt.Sprint(1 + i%12))}}})
		case 5:
			m := &record.Measure{Work: w, Reading: "gap"}
			for _, p := range all.All() {
				m.Values = append(m.Values, record.Measured{Positions: record.NewPositions(p), Found: steps("0.25 in")})
			}
			b.add(m)
		case 7:
			b.add(&record.Swap{Work: w, Part: "disc", Act: record.SwapNew, Positions: b.at(fmt.Sprintf("opener/%d", 1+i%48))})
		case 8:
			b.add(&record.Note{Work: w})
		}
	}
	return b
}

func BenchmarkReplay(bench *testing.B) {
	for _, n := range []int{1000, 10000} {
		b := busy(bench, n)
		bench.Run(fmt.Sprint(n), func(bench *testing.B) {
			for bench.Loop() {
				b.state("2099-12-31")
			}
		})
	}
}
