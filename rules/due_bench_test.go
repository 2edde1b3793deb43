package rules

import (
	"fmt"
	"testing"

	"shedbook/rules/record"
)

// fleet is a notebook of ten drills of 48 openers with 200 entries each.
func fleet(t testing.TB) *notebook {
	b := newNotebook(t)
	for k := range 10 {
		name := fmt.Sprintf("wide%d", k)
		b.machine(name, "drill", "2000-01-01", record.Option{Name: "openers", Value: "48"})
		all := b.at("opener/1-48")
		for i := range 200 {
			day := fmt.Sprintf("%04d-%02d-%02d", 2000+i/84, 1+i/7%12, 1+i%28)
			w := b.of(name, day)
			switch i % 4 {
			case 0:
				b.counts(name, day, fmt.Sprintf("area at %d ac", 10*i))
			case 1:
				b.add(&record.Did{Work: w, Job: "grease", Positions: all})
			case 2:
				b.add(&record.Measure{Work: w, Reading: "gap", Values: []record.Measured{{Positions: all, Found: steps("0.25 in")}}})
			case 3:
				b.add(&record.Swap{Work: w, Part: "disc", Act: record.SwapNew, Positions: b.at(fmt.Sprintf("opener/%d", 1+i%48))})
			}
		}
	}
	return b
}

func BenchmarkDue(bench *testing.B) {
	b := fleet(bench)
	s := b.state("2003-01-01")
	for bench.Loop() {
		if len(Due(s, Filter{All: true})) == 0 {
			bench.Fatal("nothing listed")
		}
	}
}
