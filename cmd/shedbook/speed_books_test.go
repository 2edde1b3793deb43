package main

import (
	"fmt"
	"testing"
)

// BenchmarkBooks times due over three books of 3,000 entries each, the size of the made-up family's, beside due over one book that holds the same three
// drills and as many entries of each.
func BenchmarkBooks(b *testing.B) {
	const entries = 3_000
	s := newSpeed(b)
	for b.Loop() {
		var dirs []string
		for range 3 {
			d := newTestBook(b)
			d.must("machine", "add", "drill", "disc-drill", "--options", "openers=48")
			s.write(d, entries/10, 10, true)
			dirs = append(dirs, "--book", d.dir)
		}
		one := newTestBook(b)
		for n := range 3 {
			one.must("machine", "add", fmt.Sprint("drill", n+1), "disc-drill", "--options", "openers=48")
		}
		for n := range 3 {
			s.writeOf(one, n, entries/10, 10, true)
		}
		for range timedRounds {
			s.shedbook("three books", one, append([]string{"due"}, dirs...)...)
			s.shedbook("one book", one, "due")
		}
	}
	ours, one := median(s.walls["three books"]), median(s.walls["one book"])
	b.ReportMetric(ours.Seconds()/one.Seconds(), "three/one")
	b.Logf("due: three books of %d entries %.1f ms, one book of %d %.1f ms: %.2f times; medians of %d", entries, ours.Seconds()*1e3, 3*entries, one.Seconds()*1e3,
		ours.Seconds()/one.Seconds(), len(s.walls["one book"]))
}
