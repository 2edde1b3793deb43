package rules

import (
	"testing"

	"shedbook/rules/record"
)

// Worked on paper: what falls on one day, one minute or one entry. (GRAMMAR.md, "How use is counted" and "When a job comes due".)

// Two entries of one minute go by the order in which they were written (depth, then id): sealed at 10:00 and opened at 10:00, the hub is to be sealed
// again where the opening was written later, and not where the sealing was.
func TestPaperOneMinute(t *testing.T) {
	text := kind("[job.hub-open]\n[job.seal]\n[[job.seal.when]]\nafter = \"did:hub-open\"\n")
	s := newShed(t, text)
	s.did("2025-04-01T10:00", "hub-open")
	s.did("2025-04-01T10:00", "seal")
	same(t, "sealed after it was opened", lines(s.due("2025-04-02")), nil)

	s = newShed(t, text)
	s.did("2025-04-01T10:00", "seal")
	s.did("2025-04-01T10:00", "hub-open")
	same(t, "opened after it was sealed", lines(s.due("2025-04-02")), []string{"overdue seal: 2025-04-01, over 1 d"})

	// written at one depth on two devices: the ids decide, the same on both
	s = newShed(t, text)
	s.did("2025-04-01T10:00", "seal") // ids of a shed rise as they are written
	s.did("2025-04-01T10:00", "hub-open")
	n := len(s.entries)
	s.entries[n-1].Depth = s.entries[n-2].Depth
	same(t, "of one depth, the opening of the greater id", lines(s.due("2025-04-02")), []string{"overdue seal: 2025-04-01, over 1 d"})
	s.entries[n-1].ID = ID("0" + string(s.entries[n-1].ID)[:63])
	s.entries[n-2].ID = ID("f" + string(s.entries[n-2].ID)[:63])
	same(t, "of one depth, the sealing of the greater id", lines(s.due("2025-04-02")), nil)
}

// 10 h and 15 h were read at the first moment of 2 January, 25 h ten days later: the rate is (25 - 15) h / 10 d = 1 h a day, and a day later it is
// about 26 h. It is the same with both at 08:00, for midnight is a moment as any other.
func TestPaperRateFromMidnight(t *testing.T) {
	for _, at := range []string{"T00:00", "T08:00"} {
		s := newShed(t, kind(""))
		s.read("2025-01-02"+at, "hours 10 h")
		s.read("2025-01-02"+at, "hours 15 h")
		s.read("2025-01-12"+at, "hours 25 h")
		got, ok := s.state("2025-01-20").Machine("rig").UseAt("hours", record.Done("2025-01-13"+at))
		if !ok || got.String() != "26 h" {
			t.Errorf("read at %s: %s, want 26 h", at, got)
		}
	}
}

// 33 ft x 5 mi/h at 100 % are 33 x 5 / 8.25 = 20 ac an hour. Oiled at 100 ac (5 h) on a day that ended at 200 ac (10 h): 20 h later is 25 h, for the oiling
// brought its own reading. At 540 ac (27 h) it is 2 h over.
func TestPaperDerivedAtOwnReading(t *testing.T) {
	s := newShed(t, `shedbook_schedule = 1
name = "rig"
[counter.area]
unit = "ac"
main = true
[counter.hours]
unit = "h"
derive = { from = "area", width = "33 ft", speed = "5 mph", efficiency = "100 %" }
[job.oil]
[[job.oil.when]]
every = "20 h"
`)
	w := s.work("2025-04-01")
	w.Counters = []record.CounterAt{{Counter: "area", At: amount(t, "100 ac")}}
	s.add(&record.Did{Work: w, Job: "oil"})
	s.read("2025-04-01", "area 200 ac")
	s.read("2025-05-01", "area 540 ac")
	same(t, "oil", lines(s.due("2025-05-01")), []string{"overdue oil: 25 h, over 2 h"})
}

// A disc with 250 ac on it goes in at 2 ac. On a fixed grid of 100 ac the next change is at 100 ac of the counter, whatever the disc has run; from the
// last time it would be 100 - 250 = 150 ac ago, at -148 ac.
func TestPaperGridIsTheCounters(t *testing.T) {
	for _, test := range []struct{ grid, want string }{
		{"grid = true", "later change [opener 1]: 100 ac, over -98 ac"},
		{"", "overdue change [opener 1]: -148 ac, over 150 ac"},
	} {
		s := newShed(t, kind("[part.disc]\nof = \"opener\"\n[job.change]\nof = \"opener\"\nswaps = \"disc\"\n[[job.change.when]]\nevery = \"100 ac\"\n"+test.grid+"\n"))
		s.read("2025-04-01", "area 2 ac")
		s.add(&record.Swap{Work: s.work("2025-04-01"), Part: "disc", Act: record.SwapNew, Positions: s.at("opener/1"), Used: amount(t, "250 ac")})
		same(t, "with "+test.grid, lines(standingAt(s.due("2025-04-01", Filter{All: true}), "opener 1")), []string{test.want})
	}
}

// standingAt are the items at one place.
func standingAt(items []Item, where string) []Item {
	var out []Item
	for _, i := range items {
		if i.Where == where {
			out = append(out, i)
		}
	}
	return out
}

// Taking the arm off swaps its disc and its scraper too; a new disc is no new arm.
func TestPaperAssembly(t *testing.T) {
	text := kind(`
[part.disc]
of = "opener"
[part.scraper]
of = "opener"
[assembly.arm]
of = "opener"
parts = ["disc", "scraper"]
[job.pivot]
of = "opener"
[[job.pivot.when]]
after = "swap:arm"
[job.gap]
of = "opener"
[[job.gap.when]]
after = "swap:disc"
`)
	s := newShed(t, text)
	s.swap("2025-04-01", "disc", record.SwapNew, "opener/1")
	same(t, "a disc", lines(s.due("2025-04-01")), []string{"due gap [opener 1]: 2025-04-01, over 0 d"})
	s.swap("2025-04-01", "arm", record.SwapNew, "opener/2")
	same(t, "an arm", lines(s.due("2025-04-01")), []string{"due gap [opener 1]: 2025-04-01, over 0 d", "due gap [opener 2]: 2025-04-01, over 0 d",
		"due pivot [opener 2]: 2025-04-01, over 0 d"})
}

// Opener 1 could not be reached: nothing was measured, so nothing follows on measuring, there or anywhere. Opener 2 was read beside it: only there.
func TestPaperNothingRead(t *testing.T) {
	s := newShed(t, kind("[reading.gap]\nof = \"opener\"\nunit = \"in\"\n[job.shim]\nof = \"opener\"\n[[job.shim.when]]\nafter = \"measure:gap\"\n"))
	unread := record.Measured{Positions: s.at("opener/1"), Cannot: "reach"}
	s.add(&record.Measure{Work: s.work("2025-04-01"), Reading: "gap", Values: []record.Measured{unread}})
	same(t, "nothing read", lines(s.due("2025-04-02")), nil)
	read := record.Measured{Positions: s.at("opener/2"), Found: record.Amount(amount(t, "0.25 in"))}
	s.add(&record.Measure{Work: s.work("2025-04-03"), Reading: "gap", Values: []record.Measured{unread, read}})
	same(t, "opener 2 read", lines(s.due("2025-04-03")), []string{"due shim [opener 2]: 2025-04-03, over 0 d"})
}
