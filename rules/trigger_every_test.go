package rules

import (
	"testing"

	"shedbook/rules/record"
)

func TestEveryUse(t *testing.T) {
	const grease = `
[job.grease]
of = "opener"
[[job.grease.when]]
every = "100 ac"
`
	tests := []struct {
		name string
		text string
		do   func(s *shed)
		on   string
		want []string
	}{
		// Done at 500 ac, so due at 500 + 100 = 600 ac.
		{"well before", grease, func(s *shed) {
			s.read("2025-03-01", "area 500ac")
			s.did("2025-03-01", "grease")
			s.read("2025-03-05", "area 580ac")
		},
			"2025-03-05", nil},
		// A tenth of 100 ac is 10 ac: coming from 590 ac on.
		{"a tenth before", grease, func(s *shed) {
			s.read("2025-03-01", "area 500ac")
			s.did("2025-03-01", "grease")
			s.read("2025-03-05", "area 590ac")
		},
			"2025-03-05", []string{"coming grease [all 4 openers]: 600 ac, over -10 ac"}},
		{"exactly there", grease, func(s *shed) {
			s.read("2025-03-01", "area 500ac")
			s.did("2025-03-01", "grease")
			s.read("2025-03-05", "area 600ac")
		},
			"2025-03-05", []string{"due grease [all 4 openers]: 600 ac, over 0 ac"}},
		{"past it", grease, func(s *shed) {
			s.read("2025-03-01", "area 500ac")
			s.did("2025-03-01", "grease")
			s.read("2025-03-05", "area 643.5ac")
		},
			"2025-03-05", []string{"overdue grease [all 4 openers]: 600 ac, over 43.5 ac"}},
		// 1 and 2 at 500 ac, 3 at 560 ac (the straight line between 500 on the 1st and 620 on the 7th passes 560 at the end of the 4th), 4 never.
		{"places apart", grease, func(s *shed) {
			s.read("2025-03-01", "area 500ac")
			s.did("2025-03-01", "grease", "opener/1-2")
			s.did("2025-03-04", "grease", "opener/3")
			s.read("2025-03-07", "area 620ac")
		}, "2025-03-07", []string{"overdue grease [openers 1, 2]: 600 ac, over 20 ac", "overdue grease [opener 4]: 600 ac, over 20 ac"}},
		{"a skip does not count", grease, func(s *shed) {
			s.read("2025-03-01", "area 500ac")
			s.add(&record.Did{Work: s.work("2025-03-01"), Job: "grease", Positions: s.at("opener/1", "opener/3-4"), Skipped: s.at("opener/2")})
		}, "2025-03-01", []string{"unknown grease [opener 2]"}},
		{"never read", grease, func(s *shed) { s.did("2025-03-01", "grease") }, "2025-03-05", []string{"unknown grease [all 4 openers]"}},
		{"old machine, never recorded", grease, func(s *shed) { s.read("2025-03-01", "area 812ac") }, "2025-03-01", []string{"unknown grease [all 4 openers]"}},
		// Whatever was done before: since 812 ac a whole interval has gone by, to 912 ac.
		{"old machine, an interval later", grease, func(s *shed) { s.read("2025-03-01", "area 812ac"); s.read("2025-03-05", "area 920ac") },
			"2025-03-05", []string{"overdue grease [all 4 openers]: 912 ac, over 8 ac"}},
		{"new machine", grease, func(s *shed) { s.read("2025-03-01", "area 3ac") }, "2025-03-01", nil},
		{"new machine, coming", grease, func(s *shed) { s.read("2025-03-01", "area 3ac"); s.read("2025-03-05", "area 95ac") },
			"2025-03-05", []string{"coming grease [all 4 openers]: 100 ac, over -5 ac"}},
		{"taken as good", grease, func(s *shed) {
			s.read("2025-03-01", "area 812ac")
			s.add(&record.Assume{Work: s.work("2025-03-01"), Good: true})
			s.read("2025-03-05", "area 915ac")
		}, "2025-03-05", []string{"overdue grease [all 4 openers]: 912 ac, over 3 ac"}},
		// Oil: first at 50 h, then every 500 h or 12 months.
		{"the first differs", oil, func(s *shed) { s.read("2025-03-01", "hours 5h"); s.read("2025-03-05", "hours 51h") },
			"2025-03-05", []string{"overdue oil: 50 h, over 1 h"}},
		{"after the first", oil, func(s *shed) {
			s.read("2025-03-01", "hours 5h")
			s.read("2025-03-05", "hours 51h")
			s.did("2025-03-05", "oil")
			s.read("2025-09-01", "hours 549h")
		}, "2025-09-01", []string{"coming oil: 551 h, over -2 h"}},
		// 12 months from 2025-03-05; 200 h only of 500.
		{"months before hours", oil, func(s *shed) {
			s.read("2025-03-01", "hours 5h")
			s.did("2025-03-05", "oil")
			s.read("2026-03-07", "hours 205h")
		}, "2026-03-07", []string{"overdue oil: 2026-03-05, over 2 d"}},
		// The grid has points at 250, 500, 750 h. Done at 240 h, 10 h early (a tenth of 250 is 25): counts for 250, next 500.
		{"grid, done a little early", grid, func(s *shed) {
			s.read("2025-03-01", "hours 240h")
			s.did("2025-03-01", "check")
			s.read("2025-03-09", "hours 510h")
		},
			"2025-03-09", []string{"overdue check: 500 h, over 10 h"}},
		// Done at 300 h, 50 h late: the next point is 500 all the same.
		{"grid, done late", grid, func(s *shed) {
			s.read("2025-03-01", "hours 300h")
			s.did("2025-03-01", "check")
			s.read("2025-03-09", "hours 500h")
		},
			"2025-03-09", []string{"due check: 500 h, over 0 h"}},
		// 200 h is 50 h before the point, more than the 25 h that count for it.
		{"grid, done too early", grid, func(s *shed) {
			s.read("2025-03-01", "hours 200h")
			s.did("2025-03-01", "check")
			s.read("2025-03-09", "hours 260h")
		},
			"2025-03-09", []string{"overdue check: 250 h, over 10 h"}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			s := newShed(t, kind(test.text))
			test.do(s)
			same(t, "due", lines(s.due(test.on)), test.want)
		})
	}
}

const oil = `
[job.oil]
[[job.oil.when]]
every = ["500 h", "12 mo"]
first = "50 h"
`

const grid = `
[job.check]
[[job.check.when]]
every = "250 h"
grid = true
`

func TestEveryWhy(t *testing.T) {
	s := newShed(t, kind(oil))
	s.read("2025-03-01", "hours 100h")
	did := s.did("2025-03-01", "oil")
	read := s.read("2025-05-01", "hours 601.5h")
	i := only(t, s.due("2025-05-01"), "oil")
	if want := "last done 2025-03-01 at 100 h, every 500 h: due at 600 h, now 601.5 h"; i.Why != want {
		t.Errorf("why is %q, want %q", i.Why, want)
	}
	if i.Last != (LastDone{Entry: did, Done: "2025-03-01"}) {
		t.Errorf("last is %v", i.Last)
	}
	if len(i.Entries) != 2 || i.Entries[0] != did || i.Entries[1] != read {
		t.Errorf("entries are %v, want the doing and the last reading", i.Entries)
	}
	if i.Cause != ByInterval || i.Severity != "soon" {
		t.Errorf("cause %q, severity %q", i.Cause, i.Severity)
	}
}

// 100 h on 1 March, 160 h on 31 March: 2 h a day. On 10 April, 20 h later, about 180 h; 200 h is reached on 20 April.
func TestEveryEstimated(t *testing.T) {
	s := newShed(t, kind("[job.grease]\n[[job.grease.when]]\nevery = \"100 h\"\n"))
	s.read("2025-03-01", "hours 100h")
	s.did("2025-03-01", "grease")
	s.read("2025-03-31", "hours 160h")
	same(t, "nothing near", lines(s.due("2025-04-10")), nil)
	i := only(t, s.due("2025-04-10", Filter{Within: 10}), "grease")
	if got, want := line(i), "coming grease: 200 h, over -20 h"; got != want {
		t.Errorf("within 10 days: %q, want %q", got, want)
	}
	if i.Expected != "2025-04-20" {
		t.Errorf("expected on %q, want 2025-04-20", i.Expected)
	}
	if want := "last done 2025-03-01 at 100 h, every 100 h: due at 200 h, now about 180 h (estimated: last read 2025-03-31)"; i.Why != want {
		t.Errorf("why is %q, want %q", i.Why, want)
	}
	same(t, "within 9 days", lines(s.due("2025-04-10", Filter{Within: 9})), nil)
	i = only(t, s.due("2025-04-21"), "grease")
	if got, want := line(i), "overdue grease: 200 h, over 2 h"; got != want {
		t.Errorf("on the 21st: %q, want %q", got, want)
	}
}

func TestEverySpan(t *testing.T) {
	text := kind("[job.look]\n[[job.look.when]]\nevery = \"1 mo\"\n")
	s := newShed(t, text)
	same(t, "on the day it came", lines(s.due("2025-01-01")), []string{"unknown look"})
	same(t, "a month and a day later", lines(s.due("2025-02-02")), []string{"overdue look: 2025-02-01, over 1 d"})
	s.did("2025-01-31", "look")
	// January has 31 days and February 28: a month after the 31st is the 28th. A tenth of a month is 3 days.
	same(t, "4 days before", lines(s.due("2025-02-24")), nil)
	same(t, "3 days before", lines(s.due("2025-02-25")), []string{"coming look: 2025-02-28, over -3 d"})
	same(t, "on the day", lines(s.due("2025-02-28")), []string{"due look: 2025-02-28, over 0 d"})
	same(t, "a day after", lines(s.due("2025-03-01")), []string{"overdue look: 2025-02-28, over 1 d"})
}

func TestSoonOfATrigger(t *testing.T) {
	s := newShed(t, kind("[job.look]\n[[job.look.when]]\nevery = \"1 yr\"\nsoon = \"1 mo\"\n"))
	s.did("2025-01-10", "look")
	same(t, "31 days before", lines(s.due("2025-12-10")), []string{"coming look: 2026-01-10, over -31 d"})
	same(t, "32 days before", lines(s.due("2025-12-09")), nil)
}

func TestFactors(t *testing.T) {
	s := newShed(t, kind(`
[setting.fuel]
type = "choice"
choices = ["plain", "bio"]
[job.oil]
[[job.oil.when]]
every = "500 h"
factors = [{ by = "1/2", while = [{ setting = "fuel", is = "bio" }] }, { by = "1/2", while = [{ ground = "dusty" }] }]
`))
	s.read("2025-03-01", "hours 100h")
	s.did("2025-03-01", "oil")
	s.read("2025-04-01", "hours 360h")
	same(t, "plain: due at 600 h", lines(s.due("2025-04-01")), nil)
	s.add(&record.Adjust{Work: s.work("2025-04-01"), Changes: []record.Change{{Setting: "fuel", To: record.Word("bio")}}})
	same(t, "halved: 100 + 250", lines(s.due("2025-04-01")), []string{"overdue oil: 350 h, over 10 h"})
	w := s.work("2025-04-01")
	w.Ground = "dusty"
	s.add(&record.Note{Work: w})
	items := s.due("2025-04-01")
	same(t, "halved twice: 100 + 125", lines(items), []string{"overdue oil: 225 h, over 135 h"})
	if want := "last done 2025-03-01 at 100 h, every 500 h, times 1/2 while fuel is bio, times 1/2 while ground is dusty: due at 225 h, now 360 h"; items[0].Why != want {
		t.Errorf("why is %q, want %q", items[0].Why, want)
	}
}

// A disc that moves takes its acres along: replacing goes by the disc, not by the place.
func TestIntervalGoesWithThePart(t *testing.T) {
	s := newShed(t, kind(`
[part.disc]
of = "opener"
[job.replace]
of = "opener"
swaps = "disc"
[[job.replace.when]]
every = "1000 ac"
`))
	s.read("2025-03-01", "area 2000ac")
	s.swap("2025-03-01", "disc", "new", "opener/1-4")
	s.read("2025-06-01", "area 2600ac")
	s.swap("2025-06-01", "disc", "new", "opener/2") // at 2600 ac
	s.add(&record.Swap{Work: s.work("2025-06-02"), Part: "disc", Act: "exchange", Positions: s.at("opener/1"), With: s.at("opener/2")})
	s.read("2025-09-01", "area 3050ac")
	// The discs of 3 and 4, and the one of 1 that sits in 2 now, came at 2000 ac: 1050 ac on them. The new one sits in 1 with 450 ac.
	same(t, "due", lines(s.due("2025-09-01")), []string{"overdue replace [opener 2]: 3000 ac, over 50 ac", "overdue replace [openers 3, 4]: 3000 ac, over 50 ac"})
	i := only(t, s.due("2025-09-01"), "replace")
	if want := "the disc there, fitted 2025-03-01, has 1050 ac on it, every 1000 ac: due at 3000 ac, now 3050 ac"; i.Why != want {
		t.Errorf("why is %q, want %q", i.Why, want)
	}
}

// Both are overdue, and the one that is over by the greater share of its interval speaks: 20 h of 100 h is a fifth, 100 ac of 1000 ac a tenth.
func TestWhicheverFirst(t *testing.T) {
	s := newShed(t, kind("[job.grease]\n[[job.grease.when]]\nevery = [\"1000 ac\", \"100 h\"]\n"))
	s.read("2025-03-01", "hours 500h", "area 2000ac")
	s.did("2025-03-01", "grease")
	s.read("2025-04-01", "hours 620h", "area 3100ac")
	same(t, "due", lines(s.due("2025-04-01")), []string{"overdue grease: 600 h, over 20 h"})
	// 105 h over of 100 h against 2000 ac over of 1000 ac: the acres are further gone.
	s.read("2025-05-01", "hours 705h", "area 5000ac")
	same(t, "later", lines(s.due("2025-05-01")), []string{"overdue grease: 3000 ac, over 2000 ac"})
}

// Of two hands the disc that has run longer rules; a hand that nobody knows leaves it to the last doing.
func TestIntervalOfTwoHands(t *testing.T) {
	s := newShed(t, kind("[part.disc]\nof = \"opener\"\nhanded = true\n[job.replace]\nof = \"opener\"\nswaps = \"disc\"\n[[job.replace.when]]\nevery = \"1000 ac\"\n"))
	left := func(done, hand, place string) {
		s.add(&record.Swap{Work: s.work(done), Part: "disc", Act: "new", Positions: s.at(place), Hand: hand})
	}
	s.read("2025-03-01", "area 2000ac")
	left("2025-03-01", "right", "opener/1")
	s.read("2025-04-01", "area 2600ac")
	left("2025-04-01", "left", "opener/1")
	left("2025-04-01", "left", "opener/2")
	s.read("2025-05-01", "area 3010ac")
	// Opener 1: the right one ran 1010 ac, the left one 410. Of 2 to 4 the right one is the one it came with, and none was ever recorded replaced; since
	// the book knows the machine it has run 1010 ac.
	same(t, "due", lines(s.due("2025-05-01")), []string{"overdue replace [opener 1]: 3000 ac, over 10 ac", "overdue replace [openers 2-4]: 3000 ac, over 10 ac"})
	i := s.due("2025-05-01")[0]
	if want := "the disc there, fitted 2025-03-01, has 1010 ac on it, every 1000 ac: due at 3000 ac, now 3010 ac"; i.Why != want {
		t.Errorf("why is %q, want %q", i.Why, want)
	}
}
