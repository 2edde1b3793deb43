package rules

import (
	"testing"

	"shedbook/rules/record"
)

const reach = `
[part.disc]
of = "opener"
handed = true
[reading.reach]
title = "edge to hub"
of = "opener"
handed = true
unit = "in"
part = "disc"
limit = { min = "5 in" }
[job.replace]
of = "opener"
swaps = "disc"
measures = ["reach"]
[[job.replace.when]]
past = "reach"
`

func TestPast(t *testing.T) {
	s := newShed(t, kind(reach))
	same(t, "never measured", lines(s.due("2025-03-01")), nil)
	s.measure("2025-03-01", "reach", "opener/1 left=5 in", "opener/1 right=5.25 in", "opener/2 left=4.9375 in", "opener/2 right=5.1 in")
	items := s.due("2025-03-01")
	same(t, "exactly at the limit is not past it", lines(items), []string{"due replace [opener 2]: 2025-03-01, over 0 d"})
	if want := "edge to hub measured 2025-03-01: left 4 15/16 in is past the limit 5 in"; items[0].Why != want || items[0].Cause != ByLimit {
		t.Errorf("why is %q (%s), want %q", items[0].Why, items[0].Cause, want)
	}
	s.measure("2025-03-04", "reach", "opener/2 right=4.875 in")
	items = s.due("2025-03-05")
	same(t, "both hands: due since the first", lines(items), []string{"overdue replace [opener 2]: 2025-03-01, over 4 d"})
	if want := "edge to hub measured 2025-03-01: left 4 15/16 in is past the limit 5 in; right 4 7/8 in is past the limit 5 in"; items[0].Why != want {
		t.Errorf("why is %q, want %q", items[0].Why, want)
	}
}

func TestPastFollowsThePart(t *testing.T) {
	s := newShed(t, kind(reach))
	s.measure("2025-03-01", "reach", "opener/2 left=4.9 in", "opener/2 right=5.5 in")
	s.add(&record.Swap{Work: s.work("2025-03-02"), Part: "disc", Act: "exchange", Positions: s.at("opener/2"), With: s.at("opener/3"), Hand: "left"})
	same(t, "moved", lines(s.due("2025-03-02")), []string{"overdue replace [opener 3]: 2025-03-01, over 1 d"})
	s.swap("2025-03-03", "disc", "new", "opener/3")
	same(t, "new ones", lines(s.due("2025-03-03")), nil)
	s.measure("2025-03-03", "reach", "opener/3 left=4.8 in", "opener/3 right=5.5 in")
	same(t, "a new one, measured after all", lines(s.due("2025-03-03")), []string{"due replace [opener 3]: 2025-03-03, over 0 d"})
	s.add(&record.Swap{Work: s.work("2025-03-04"), Part: "disc", Act: "sharpened", Positions: s.at("opener/3"), Hand: "left"})
	same(t, "sharpened: a new segment", lines(s.due("2025-03-04")), nil)
	s.add(&record.Swap{Work: s.work("2025-03-05"), Part: "disc", Act: "out", Positions: s.at("opener/2")})
	s.measure("2025-03-06", "reach", "opener/4 left=4 in", "opener/4 right=5 in")
	same(t, "an empty place waits", lines(s.due("2025-03-06")), []string{"due replace [opener 4]: 2025-03-06, over 0 d"})
}

// Left as found counts where nothing else is said; what was left counts where it is. A doing answers the reading, the measuring itself does not.
func TestPastFoundLeftAndDone(t *testing.T) {
	text := kind(`
[reading.contact]
of = "opener"
unit = "in"
limit = { min = "1.5 in", max = "2.5 in" }
[job.shim]
of = "opener"
measures = ["contact"]
try = ["clean"]
[[job.shim.when]]
past = "contact"
[job.clean]
of = "opener"
`)
	s := newShed(t, text)
	s.measure("2025-03-01", "contact", "opener/1=1.25 in", "opener/2=3 in")
	items := s.due("2025-03-02")
	same(t, "below and above", lines(items), []string{"overdue shim [opener 1]: 2025-03-01, over 1 d", "overdue shim [opener 2]: 2025-03-01, over 1 d"})
	if want := "contact measured 2025-03-01: 1 1/4 in is past the lower limit 1 1/2 in; try clean first"; items[0].Why != want {
		t.Errorf("why is %q, want %q", items[0].Why, want)
	}
	s.did("2025-03-02", "shim", "opener/1")
	m := &record.Measure{Work: s.work("2025-03-02"), Reading: "contact", Values: []record.Measured{{Positions: s.at("opener/2"),
		Found: record.Amount(amount(t, "3 in")), Left: record.Amount(amount(t, "2 in"))}}}
	s.add(m)
	same(t, "done, and put right", lines(s.due("2025-03-02")), nil)
	s.measure("2025-03-02", "contact", "opener/1=1.3 in")
	same(t, "measured again, still past", lines(s.due("2025-03-02")), []string{"due shim [opener 1]: 2025-03-02, over 0 d"})
}

func TestPastLimits(t *testing.T) {
	tests := []struct {
		name, limit string
		values      [][]string // one measurement a day from 2025-03-01
		on          string
		want        []string
	}{
		// 15 % off 20 in is 17 in.
		{"share of new", `new = "20 in"
limit = { share = "85 %", falls = true }`, [][]string{{"opener/1=17 in", "opener/2=16.99 in"}}, "2025-03-01",
			[]string{"due check [opener 2]: 2025-03-01, over 0 d"}},
		// 2 to 2.5 is a step of 0.5, not more; 2 to 2.6 is more.
		{"step", `limit = { step = "0.5 in" }`, [][]string{{"opener/1=2 in", "opener/2=2 in"}, {"opener/1=2.5 in", "opener/2=2.6 in"}}, "2025-03-02",
			[]string{"due check [opener 2]: 2025-03-02, over 0 d"}},
		// The others of opener 4 read 1, 2 and 3: median 2. Of opener 1 they read 2, 3, 9: median 3, of opener 2: 1, 3, 9, of opener 3: 1, 2, 9.
		{"neighbours", `limit = { neighbours = "2 in" }`, [][]string{{"opener/1=1 in", "opener/2=2 in", "opener/3=3 in", "opener/4=9 in"}}, "2025-03-01",
			[]string{"due check [opener 4]: 2025-03-01, over 0 d"}},
		{"neighbours, one of two", `limit = { neighbours = "2 in" }`, [][]string{{"opener/1=1 in", "opener/2=9 in"}}, "2025-03-01", nil},
		{"one past of a set of two", `limit = { max = "10 in", k = 2 }`, [][]string{{"opener/1=11 in", "opener/2=9 in"}}, "2025-03-01",
			[]string{"due check [opener 1]: 2025-03-01, over 0 d"}},
		{"two of any two in a row", `limit = { max = "10 in", k = 2, of = 2 }`, [][]string{{"opener/1=11 in", "opener/2=9 in", "opener/3=12 in"}}, "2025-03-01",
			[]string{"due check [opener 1]: 2025-03-01, over 0 d", "due check [opener 3]: 2025-03-01, over 0 d"}},
		{"two of any three in a row", `limit = { max = "10 in", k = 2, of = 3 }`, [][]string{{"opener/1=11 in", "opener/2=9 in", "opener/3=12 in"}}, "2025-03-01",
			[]string{"due check [all 4 openers]: 2025-03-01, over 0 d"}},
		{"two past: the whole set", `limit = { max = "10 in", k = 2 }`, [][]string{{"opener/1=11 in", "opener/2=9 in"}, {"opener/4=12 in"}}, "2025-03-02",
			[]string{"overdue check [all 4 openers]: 2025-03-01, over 1 d"}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			s := newShed(t, kind("[reading.size]\nof = \"opener\"\nunit = \"in\"\n"+test.limit+"\n[job.check]\nof = \"opener\"\n[[job.check.when]]\npast = \"size\"\n"))
			for i, v := range test.values {
				s.measure("2025-03-0"+string(rune('1'+i)), "size", v...)
			}
			same(t, "due", lines(s.due(test.on)), test.want)
		})
	}
}

// A job on the whole machine that goes by readings of its places names them; graded readings go by words.
func TestPastGradesOnTheMachine(t *testing.T) {
	s := newShed(t, kind(`
[reading.tyre]
of = "opener"
grades = ["ok", "watch", "bad"]
bad_from = "bad"
[job.order-tyres]
[[job.order-tyres.when]]
past = "tyre"
`))
	s.measure("2025-03-01", "tyre", "opener/1=watch", "opener/2=bad", "opener/4=bad")
	i := only(t, s.due("2025-03-01"), "order-tyres")
	if want := "tyre is past its limit at openers 2, 4; first 2025-03-01: tyre is bad"; i.Why != want {
		t.Errorf("why is %q, want %q", i.Why, want)
	}
	if i.Where != "" || !i.Positions.IsZero() {
		t.Errorf("where is %q", i.Where)
	}
}

func TestLimitWithoutAJob(t *testing.T) {
	s := newShed(t, kind("[reading.size]\nof = \"opener\"\nunit = \"in\"\nlimit = { min = \"5 in\" }\n"))
	s.measure("2025-03-01", "size", "opener/1=4 in", "opener/2=4 in", "opener/3=6 in")
	items := s.due("2025-03-02")
	same(t, "due", lines(items), []string{"open size past its limit [openers 1, 2]: 2025-03-01"})
	if want := "size measured 2025-03-01: 4 in is past the limit 5 in"; items[0].Why != want {
		t.Errorf("why is %q, want %q", items[0].Why, want)
	}
}

// Reading the second of two things a job measures counts as doing the job, but not as putting right what the first one showed.
func TestMeasuringIsNoAnswer(t *testing.T) {
	s := newShed(t, kind("[reading.contact]\nof = \"opener\"\nunit = \"in\"\nlimit = { min = \"1.5 in\" }\n[reading.width]\nof = \"opener\"\nunit = \"in\"\n"+
		"[job.shim]\nof = \"opener\"\nmeasures = [\"contact\", \"width\"]\n[[job.shim.when]]\npast = \"contact\"\n"))
	s.measure("2025-03-01", "contact", "opener/1=1 in")
	s.measure("2025-03-01", "width", "opener/1=2 in")
	if n := len(s.state("2025-03-01").Machine("rig").Jobs["shim"].Done["opener/1"]); n != 1 {
		t.Fatalf("the two readings count as %d doings, want 1", n)
	}
	same(t, "still past", lines(s.due("2025-03-01")), []string{"due shim [opener 1]: 2025-03-01, over 0 d"})
}
