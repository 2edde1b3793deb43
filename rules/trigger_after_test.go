package rules

import (
	"testing"

	"shedbook/rules/record"
)

func farmNamed(name string) *record.Farm { return &record.Farm{Name: name} }

func seasonFor(name, work, opened string, farms ...ID) *record.Season {
	return &record.Season{Act: "open", Name: name, Work: work, Farms: farms, Done: record.Done(opened)}
}

func storing(s *shed, done, act string, slack ...string) *record.Store {
	return &record.Store{Work: s.work(done), Act: act, Slack: slack}
}

// checked records a torque check with the places that moved.
func checked(s *shed, done, job string, moved ...string) {
	d := &record.Did{Work: s.work(done), Job: job}
	if len(moved) > 0 {
		d.Results = []record.Result{{Positions: s.at(moved...), Word: "moved"}}
	}
	s.add(d)
}

// torque is the series of common practice: at 1 h and 10 h after the wheel came off, then every 10 h until none moved, then every 250 h.
const torque = `
[place.wheel]
count = 4
[job.nuts]
of = "wheel"
severity = "stop"
results = ["moved", "none-moved"]
torques = [{ what = "nuts", value = "200 lbf.ft" }]
[[job.nuts.when]]
after = "loosened:nuts"
series = ["1 h", "10 h"]
then = "10 h"
until_result = "none-moved"
finally = "250 h"
[job.change]
of = "wheel"
loosens = ["nuts"]
`

func TestSeries(t *testing.T) {
	s := newShed(t, kind(torque))
	step := func(name string, on string, want ...string) {
		t.Helper()
		same(t, name, lines(s.due(on)), want)
	}
	s.read("2025-04-01", "hours 100h")
	step("nothing loosened", "2025-04-01")
	s.did("2025-04-01", "change", "wheel/1-2")
	step("just changed: at 101 h", "2025-04-01")
	s.read("2025-04-02", "hours 100.9h")
	step("a tenth of the hour before", "2025-04-02", "coming nuts [wheels 1, 2]: 101 h, over -0.1 h")
	s.read("2025-04-03", "hours 102h")
	step("an hour late", "2025-04-03", "overdue nuts [wheels 1, 2]: 101 h, over 1 h")
	checked(s, "2025-04-03", "nuts", "wheel/1")
	step("checked at 102 h: next at 110 h", "2025-04-03")
	s.read("2025-04-04", "hours 110h")
	step("10 h after the change", "2025-04-04", "due nuts [wheels 1, 2]: 110 h, over 0 h")
	checked(s, "2025-04-04", "nuts", "wheel/2")
	s.read("2025-04-05", "hours 121h")
	// One of the two moved, so both are checked again 10 h after 110 h.
	step("moved: again after 10 h", "2025-04-05", "overdue nuts [wheels 1, 2]: 120 h, over 1 h")
	checked(s, "2025-04-05", "nuts")
	s.read("2025-04-30", "hours 340h")
	step("none moved at 121 h: next at 371 h, a tenth of 250 h before", "2025-04-30")
	s.read("2025-05-05", "hours 372h")
	step("250 h later", "2025-05-05", "overdue nuts [wheels 1, 2]: 371 h, over 1 h")
	s.did("2025-05-05", "change", "wheel/3")
	s.read("2025-05-06", "hours 373h")
	step("another wheel has its own series", "2025-05-06", "overdue nuts [wheels 1, 2]: 371 h, over 2 h", "due nuts [wheel 3]: 373 h, over 0 h")
}

func TestSeriesWhy(t *testing.T) {
	s := newShed(t, kind(torque))
	s.read("2025-04-01", "hours 100h")
	change := s.did("2025-04-01", "change", "wheel/1")
	read := s.read("2025-04-03", "hours 102h")
	i := only(t, s.due("2025-04-03"), "nuts")
	if want := "loosened by change on 2025-04-01, check at 1 h after it, counted from 100 h: due at 101 h, now 102 h"; i.Why != want {
		t.Errorf("why is %q, want %q", i.Why, want)
	}
	if i.Cause != ByFollowOn || i.Severity != "stop" || len(i.Entries) != 2 || i.Entries[0] != change || i.Entries[1] != read {
		t.Errorf("cause %q, severity %q, entries %v", i.Cause, i.Severity, i.Entries)
	}
}

// A doing early in the series answers only the step it was meant for; one at 11 h answers both.
func TestSeriesSteps(t *testing.T) {
	for _, test := range []struct {
		name string
		at   []string // hours of the checks
		want []string // at 120 h
	}{
		{"at once, which is no step", []string{"100.0h"}, []string{"overdue nuts [wheel 1]: 101 h, over 19 h"}},
		{"at half an hour, too early", []string{"100.5h"}, []string{"overdue nuts [wheel 1]: 101 h, over 19 h"}},
		{"at 1 h", []string{"101h"}, []string{"overdue nuts [wheel 1]: 110 h, over 10 h"}},
		{"twice at 1 h", []string{"101h", "101.2h"}, []string{"overdue nuts [wheel 1]: 110 h, over 10 h"}},
		{"once at 11 h", []string{"111h"}, nil},
	} {
		t.Run(test.name, func(t *testing.T) {
			s := newShed(t, kind(torque))
			s.read("2025-04-01", "hours 100h")
			s.did("2025-04-01", "change", "wheel/1")
			for i, at := range test.at {
				day := "2025-04-0" + string(rune('2'+i))
				s.read(day, "hours "+at)
				checked(s, day, "nuts")
			}
			s.read("2025-04-09", "hours 120h")
			same(t, "due", lines(s.due("2025-04-09")), test.want)
		})
	}
}

// A skipped place is no doing; and a series in days needs no counter.
func TestSeriesInDays(t *testing.T) {
	s := newShed(t, kind(`
[part.disc]
of = "opener"
[job.look]
of = "opener"
[[job.look.when]]
after = "swap:disc"
series = ["7 d", "30 d"]
`))
	s.swap("2025-04-01", "disc", "new", "opener/2")
	same(t, "6 days", lines(s.due("2025-04-07")), nil)
	same(t, "7 days", lines(s.due("2025-04-08")), []string{"due look [opener 2]: 2025-04-08, over 0 d"})
	s.add(&record.Did{Work: s.work("2025-04-08"), Job: "look", Skipped: s.at("opener/2")})
	i := only(t, s.due("2025-04-09"), "look")
	if got, want := line(i), "overdue look [opener 2]: 2025-04-08, over 1 d"; got != want {
		t.Errorf("skipped: %q, want %q", got, want)
	}
	if want := "disc put in on 2025-04-01, check at 7 d after it: due on 2025-04-08; skipped on 2025-04-08"; i.Why != want {
		t.Errorf("why is %q, want %q", i.Why, want)
	}
	s.did("2025-04-09", "look", "opener/2")
	same(t, "done", lines(s.due("2025-04-09")), nil)
	same(t, "30 days", lines(s.due("2025-05-02")), []string{"overdue look [opener 2]: 2025-05-01, over 1 d"})
	s.did("2025-05-02", "look", "opener/2")
	same(t, "the series is over", lines(s.due("2026-05-02")), nil)
}

func TestAtOnce(t *testing.T) {
	text := kind(`
[part.disc]
of = "opener"
[setting.depth]
of = "opener"
type = "steps"
min = 1
max = 9
[job.hub-open]
of = "opener"
[job.seal]
of = "opener"
[[job.seal.when]]
after = "did:hub-open"
[job.scraper]
of = "opener"
[[job.scraper.when]]
after = "swap:disc"
[job.level]
[[job.level.when]]
after = "adjust:depth"
[job.flush]
[[job.flush.when]]
after = "storage-out"
[job.report]
[[job.report.when]]
after = "fault"
`)
	s := newShed(t, text)
	same(t, "nothing happened", lines(s.due("2025-04-01")), nil)
	s.did("2025-04-01", "hub-open", "opener/2-3")
	s.swap("2025-04-02", "disc", "new", "opener/1")
	same(t, "follow-ons", lines(s.due("2025-04-02")),
		[]string{"overdue seal [openers 2, 3]: 2025-04-01, over 1 d", "due scraper [opener 1]: 2025-04-02, over 0 d"})
	s.did("2025-04-02", "seal", "opener/2")
	s.did("2025-04-02", "scraper", "opener/1")
	same(t, "one seal left", lines(s.due("2025-04-02")), []string{"overdue seal [opener 3]: 2025-04-01, over 1 d"})
	s.did("2025-04-02", "seal", "opener/3")
	s.add(&record.Adjust{Work: s.work("2025-04-03"), Changes: []record.Change{{Setting: "depth", Positions: s.at("opener/1"), To: record.Amount(amount(t, "5"))}}})
	same(t, "a setting", lines(s.due("2025-04-03")), []string{"due level: 2025-04-03, over 0 d"})
	s.did("2025-04-03", "level")
	s.add(storing(s, "2025-05-01", "in"))
	s.add(storing(s, "2025-09-01", "out"))
	same(t, "out of storage", lines(s.due("2025-09-01")), []string{"due flush: 2025-09-01, over 0 d"})
	s.did("2025-09-01", "flush")
	fault := s.fault("2025-09-02", "tidy", "paint")
	items := s.due("2025-09-02")
	same(t, "a fault", lines(items), []string{"due report: 2025-09-02, over 0 d", "open paint: 2025-09-02"})
	if items[0].Entries[0] != fault {
		t.Errorf("report rests on %v, want the fault", items[0].Entries)
	}
}

// With times of day the order within a day counts; where one of the two has none, the job counts as done after.
func TestAtOnceWithinADay(t *testing.T) {
	for _, test := range []struct {
		event, done string
		want        []string
	}{
		{"2025-04-01T10:00", "2025-04-01T09:00", []string{"overdue seal [all 4 openers]: 2025-04-01, over 1 d"}},
		{"2025-04-01T10:00", "2025-04-01T11:00", nil},
		{"2025-04-01", "2025-04-01T09:00", nil},
		{"2025-04-01T10:00", "2025-04-01", nil},
		{"2025-04-01", "2025-04-01", nil},
		{"2025-04-01", "2025-03-31", []string{"overdue seal [all 4 openers]: 2025-04-01, over 1 d"}},
	} {
		s := newShed(t, kind("[job.hub-open]\nof = \"opener\"\n[job.seal]\nof = \"opener\"\n[[job.seal.when]]\nafter = \"did:hub-open\"\n"))
		s.did(test.event, "hub-open")
		s.did(test.done, "seal")
		same(t, "event "+test.event+", done "+test.done, lines(s.due("2025-04-02")), test.want)
	}
}

// Taken as good and worked on the same day: what the work asks for is not taken as done with the rest, whatever the times of day.
func TestAtOnceOnTheDayOfAStartingLine(t *testing.T) {
	for _, test := range []struct{ good, work string }{
		{"2025-04-01", "2025-04-01"}, {"2025-04-01T09:00", "2025-04-01T09:00"}, {"2025-04-01T10:00", "2025-04-01T09:00"}, {"2025-04-01T10:00", "2025-04-01"},
	} {
		s := newShed(t, kind("[job.hub-open]\nof = \"opener\"\n[job.seal]\nof = \"opener\"\n[[job.seal.when]]\nafter = \"did:hub-open\"\n"))
		s.did(test.work, "hub-open", "opener/2")
		s.add(&record.Assume{Work: s.work(test.good), Good: true})
		same(t, "good "+test.good+", work "+test.work, lines(s.due("2025-04-02")), []string{"overdue seal [opener 2]: 2025-04-01, over 1 d"})
		s.add(&record.Assume{Work: s.work("2025-04-03"), Good: true})
		same(t, "taken as good later", lines(s.due("2025-04-04")), nil)
	}
}

// A chain: shims, then contact, then the gauge wheel. Each is due at once where the first was done; a torque job without a series of its own is due at
// once when its nuts were loosened.
func TestChain(t *testing.T) {
	s := newShed(t, kind(`
[job.shim]
of = "opener"
next = ["contact", "touch"]
loosens = ["bolt"]
[job.touch]
of = "opener"
order = 3
[job.contact]
of = "opener"
order = 2
[job.bolt]
of = "opener"
order = 1
torques = [{ what = "bolt", value = "75 lbf.ft" }]
[[job.bolt.when]]
every = "1 yr"
`))
	s.did("2025-03-01", "bolt")
	s.did("2025-04-01", "shim", "opener/1")
	items := s.due("2025-04-01")
	same(t, "all three", lines(items), []string{"due bolt [opener 1]: 2025-04-01, over 0 d", "due contact [opener 1]: 2025-04-01, over 0 d", "due touch [opener 1]: 2025-04-01, over 0 d"})
	for i, want := range []string{"loosened by shim on 2025-04-01, to be done at once", "shim done on 2025-04-01, to be done at once",
		"shim done on 2025-04-01, to be done at once, after contact"} {
		if items[i].Why != want || items[i].Cause != ByFollowOn {
			t.Errorf("why is %q (%s), want %q", items[i].Why, items[i].Cause, want)
		}
	}
	s.did("2025-04-02", "contact", "opener/1")
	s.did("2025-04-02", "bolt", "opener/1")
	same(t, "the last of the chain", lines(s.due("2025-04-02")), []string{"overdue touch [opener 1]: 2025-04-01, over 1 d"})
}

// Nothing was loosened; at 100 h a look at all four finds that wheel 2 had moved. It is looked at again every 10 h until it has not, by itself: 110 h, then, moved
// again at 111 h, 121 h; the others wait for their next loosening.
func TestFoundLooseWithoutALoosening(t *testing.T) {
	s := newShed(t, kind(torque))
	s.read("2025-04-01", "hours 100h")
	checked(s, "2025-04-01", "nuts", "wheel/2")
	s.read("2025-04-02", "hours 105h")
	same(t, "at 105 h", lines(s.due("2025-04-02")), nil)
	s.read("2025-04-03", "hours 111h")
	same(t, "at 111 h", lines(s.due("2025-04-03")), []string{"overdue nuts [wheel 2]: 110 h, over 1 h"})
	checked(s, "2025-04-03", "nuts", "wheel/2")
	s.read("2025-04-04", "hours 120.5h")
	same(t, "moved again", lines(s.due("2025-04-04")), []string{"coming nuts [wheel 2]: 121 h, over -0.5 h"})
	checked(s, "2025-04-04", "nuts")
	s.read("2025-04-05", "hours 140h")
	same(t, "no more", lines(s.due("2025-04-05")), nil)
}

// The wheel was changed in April, and the hours were first read in September, at 300 h: how long ago in hours nobody knows, so the nuts are due, not unknown.
// Checked at 301.5 h, that was the first step, and the second counts from there: 311.5 h.
func TestFirstReadAfterTheLoosening(t *testing.T) {
	s := newShed(t, kind(torque))
	s.did("2025-04-01", "change", "wheel/1-2")
	s.read("2025-09-01", "hours 300h")
	same(t, "first reading", lines(s.due("2025-09-01")), []string{"due nuts [wheels 1, 2]"})
	s.read("2025-09-02", "hours 301.5h")
	same(t, "more than the first step since", lines(s.due("2025-09-02")), []string{"overdue nuts [wheels 1, 2]: 301 h, over 0.5 h"})
	checked(s, "2025-09-02", "nuts")
	same(t, "checked", lines(s.due("2025-09-02")), nil)
	s.read("2025-09-03", "hours 312h")
	same(t, "the second step", lines(s.due("2025-09-03")), []string{"overdue nuts [wheels 1, 2]: 311.5 h, over 0.5 h"})
}
