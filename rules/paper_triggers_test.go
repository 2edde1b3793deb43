package rules

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"shedbook/rules/record"
)

// Each trigger worked out on paper: its dates, readings and points stand in the comment of the test. What holds is in rules/schedule/GRAMMAR.md ("How use is
// counted", "When a job comes due"); a second reading of it runs against the engine in oracle_agree_test.go.
const workedOnPaper = `
every, on a counter             TestEveryUse
every, first differs            TestEveryUse
every, never read               TestEveryUse TestPaperNeverRead
every, estimated                TestEveryEstimated TestPaperEstimate TestEstimate
every, notice                   TestSoonOfATrigger
every, factors                  TestFactors TestPaperThird
every, on a grid                TestEveryUse TestPaperGridIsTheCounters
every, goes with the part       TestIntervalGoesWithThePart TestIntervalOfTwoHands
every, whichever first          TestWhicheverFirst
every, on the calendar          TestEverySpan
every, leap days                TestPaperLeapDays
every, in storage               TestPaperStorage
every, replaced counter         TestPaperReplacedCounter
every, hours from an area       TestPaperDerivedAtOwnReading TestHoursFromArea
every, hours of a carrier       TestPaperHeader TestHoursOfTheCarrier
days, change of the clocks      TestPaperClocks
trip counter                    TestPaperTripCounter
worked                          TestWorked TestPaperWorkedAndIdle
idle                            TestIdle TestPaperWorkedAndIdle
season, before                  TestBeforeSeason TestBeforeSeasonOfANewcomer
season, after                   TestAfterSeason
season, before and after        TestBeforeAndAfterWantTwoDoings TestBeforeAndAfterInAShortGap
season, over New Year           TestPaperSeasonOverNewYear
season, of one day              TestPaperSeasonOfOneDay
after, at once                  TestAtOnce TestAtOnceWithinADay TestAtOnceOnTheDayOfAStartingLine
after, equal times              TestPaperOneMinute
after, an assembly              TestPaperAssembly
after, nothing measured         TestPaperNothingRead
after, a series                 TestSeries TestSeriesSteps TestSeriesInDays
next, loosens                   TestChain
past, limits                    TestPast TestPastLimits TestPastGradesOnTheMachine
past, follows the part          TestPastFollowsThePart
past, answered                  TestPastFoundLeftAndDone TestMeasuringIsNoAnswer
made                            TestMade TestPaperMade
until                           TestUntil
`

// Every test the table names is there, and every one of the paper tests stands in it.
func TestTableOfPaperTests(t *testing.T) {
	files, err := filepath.Glob("*_test.go")
	if err != nil || len(files) == 0 {
		t.Fatal(files, err)
	}
	there := map[string]bool{}
	for _, f := range files {
		text, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range regexp.MustCompile(`(?m)^func (Test\w+)\(`).FindAllStringSubmatch(string(text), -1) {
			there[m[1]] = true
			if strings.HasPrefix(m[1], "TestPaper") && m[1] != "TestPaperRateFromMidnight" && !strings.Contains(workedOnPaper, m[1]) {
				t.Errorf("%s is not in the table", m[1])
			}
		}
	}
	for _, name := range regexp.MustCompile(`Test\w+`).FindAllString(workedOnPaper, -1) {
		if !there[name] {
			t.Errorf("the table names %s, and there is none", name)
		}
	}
}

// each is one day a job was done and the day it is due again.
type each struct{ every, done, due string }

// 2028 is a leap year (divisible by 4, not by 100; ISO 8601 counts the proleptic Gregorian calendar). A month later is the same day of it, or its last.
func TestPaperLeapDays(t *testing.T) {
	for _, test := range []each{
		{"12 mo", "2028-02-29", "2029-02-28"}, // 2029 has no 29 February
		{"12 mo", "2027-02-28", "2028-02-28"}, // the same day, not the last of the month
		{"12 mo", "2027-03-01", "2028-03-01"},
		{"4 yr", "2028-02-29", "2032-02-29"},
		{"1 mo", "2028-01-31", "2028-02-29"},
		{"1 mo", "2027-01-31", "2027-02-28"},
		{"1 mo", "2028-02-29", "2028-03-29"},
		{"1 d", "2028-02-28", "2028-02-29"},
		{"1 d", "2027-02-28", "2027-03-01"},
		{"14 d", "2028-02-20", "2028-03-05"}, // 29 - 20 = 9 days to the 29th, 5 more
		{"2 wk", "2027-02-20", "2027-03-06"},
		{"365 d", "2028-01-01", "2028-12-31"}, // a year of 366 days
		{"6 mo", "2027-08-31", "2028-02-29"},
	} {
		s := newShed(t, kind("[job.look]\n[[job.look.when]]\nevery = \""+test.every+"\"\n"))
		s.did(test.done, "look")
		same(t, test.every+" from "+test.done, lines(s.due(test.due)), []string{"due look: " + test.due + ", over 0 d"})
	}
}

// Wall time only. On 30 March 2025 the clocks of Europe went forward (a day of 23 hours), on 26 October back (25 hours): a day stays a day, and noon to noon is
// 24 hours: 24 h more by then are 1 h each hour, and midnight, half way, is at 112 h.
func TestPaperClocks(t *testing.T) {
	for _, day := range []string{"2025-03-30", "2025-10-26"} {
		before, next := calendarDay(day).AddDate(0, 0, -1), calendarDay(day).AddDate(0, 0, 1)
		s := newShed(t, kind("[job.look]\n[[job.look.when]]\nevery = \"1 d\"\n"))
		s.read(dateOf(before)+"T12:00", "hours 100 h")
		s.read(day+"T12:00", "hours 124 h")
		s.did(dateOf(before), "look")
		same(t, "the day of "+day, lines(s.due(day)), []string{"due look: " + day + ", over 0 d"})
		same(t, "the day after "+day, lines(s.due(dateOf(next))), []string{"overdue look: " + day + ", over 1 d"})
		if got, _ := s.state(day).Machine("rig").UseAt("hours", record.Done(day+"T00:00")); got.String() != "112 h" {
			t.Errorf("midnight before %s: %s, want 112 h", day, got)
		}
	}
}

// Every 6 months, done on 1 September: due on 1 March. It lies in storage from 1 November to 1 April: nobody is asked on 15 March, and on 1 April it is 31 days
// over (the months went on). What runs on in storage is 14 days over on 15 March.
func TestPaperStorage(t *testing.T) {
	for _, test := range []struct{ stored, march, april string }{
		{"", "", "overdue look: 2026-03-01, over 31 d"},
		{"stored = \"run\"\n", "overdue look: 2026-03-01, over 14 d", "overdue look: 2026-03-01, over 31 d"},
	} {
		s := newShed(t, kind("[job.look]\n[[job.look.when]]\nevery = \"6 mo\"\n"+test.stored))
		s.did("2025-09-01", "look")
		s.add(storing(s, "2025-11-01", "in"))
		s.add(storing(s, "2026-04-01", "out"))
		var march []string
		if test.march != "" {
			march = []string{test.march}
		}
		same(t, "in storage "+test.stored, lines(s.due("2026-03-15")), march)
		same(t, "out again "+test.stored, lines(s.due("2026-04-01")), []string{test.april})
	}
}

// Oiled at 480 h. At 492 h the counter is replaced by one that shows 3 h: 20 h on that is 492 + 17 = 509 h in all, 21 h before 480 + 50 = 530 h. At 45 h it is
// 492 + 42 = 534 h: 4 h over.
func TestPaperReplacedCounter(t *testing.T) {
	s := newShed(t, kind("[job.oil]\n[[job.oil.when]]\nevery = \"50 h\"\n"))
	s.read("2025-04-01", "hours 480 h")
	s.did("2025-04-01", "oil")
	s.add(&record.Counter{Work: s.work("2025-04-20"), Acts: []record.CounterAct{{Counter: "hours", Act: "replaced", Value: amount(t, "3 h"), Last: amount(t, "492 h")}}})
	s.read("2025-05-10", "hours 20 h")
	same(t, "at 20 h", lines(s.due("2025-05-10", Filter{All: true})), []string{"later oil: 530 h, over -21 h"})
	s.read("2025-06-10", "hours 45 h")
	same(t, "at 45 h", lines(s.due("2025-06-10")), []string{"overdue oil: 530 h, over 4 h"})
}

// A trip counter zeroed in each field. First field: read at 40 ac, zeroed at 55. Second: read at 30 (55 + 30 = 85 in all), zeroed without a look. Third: 12 ac on
// the face, 85 + 12 = 97 in all.
func TestPaperTripCounter(t *testing.T) {
	b := newNotebook(t)
	b.reads("2026-04-01", "field at 40 ac")
	b.reads("2026-04-02", "field reset last 55 ac")
	b.reads("2026-04-03", "field at 30 ac")
	b.reads("2026-04-04", "field reset")
	b.reads("2026-04-05", "field at 12 ac")
	c := b.drill("2026-04-05").Counters["field"]
	wantQ(t, "face", c.Reading, "12 ac")
	wantQ(t, "in all", c.Life, "97 ac")
}

const headerText = `shedbook_schedule = 1
name = "header"
[counter.area]
unit = "ac"
main = true
[counter.hours]
unit = "h"
derive = { carrier = "hours" }
[job.knife]
[[job.knife.when]]
every = "400 ac"
[job.chains]
[[job.chains.when]]
every = "20 h"
`

// A header keeps its own acres and takes the hours of whatever carries it. On the first combine from 1,000 to 1,012 h, on the second from 300 to 309 h: 12 + 9 =
// 21 h, 1 h past 20. What the combines do without it (1,012 to 1,100 h) is not its. Its acres go from 0 to 410: 10 past 400, whoever carried it.
func TestPaperHeader(t *testing.T) {
	b := newNotebook(t)
	b.add(&record.Schedule{Name: "header", Text: headerText})
	for _, m := range []string{"first", "second"} {
		b.machine(m, "tractor", "2025-01-01")
	}
	header := b.machine("header", "header", "2025-01-01")
	hitch := func(done, carrier string) {
		b.add(&record.Hitch{Work: b.of("header", done), Carrier: b.names[carrier]})
	}
	b.counts("header", "2026-07-01", "area at 0 ac")
	b.counts("first", "2026-07-01T07:00", "hours at 1000 h")
	hitch("2026-07-01T07:00", "first")
	b.counts("first", "2026-07-02T20:00", "hours at 1012 h")
	hitch("2026-07-02T20:00", "")
	b.counts("first", "2026-07-20T20:00", "hours at 1100 h")
	b.counts("second", "2026-07-21T07:00", "hours at 300 h")
	hitch("2026-07-21T07:00", "second")
	b.counts("second", "2026-07-21", "hours at 309 h")
	b.counts("header", "2026-07-21", "area at 410 ac")
	s := b.state("2026-07-21")
	wantQ(t, "its hours", s.Machine("header").Counters["hours"].Life, "21 h")
	same(t, "header", lines(Due(s, Filter{Machine: header})), []string{"overdue chains: 20 h, over 1 h", "overdue knife: 400 ac, over 10 ac"})
	// Taken off that night it gains no hours, however long the second combine goes on: still 21 h in September. On it, it would be about 26.
	hitch("2026-07-21", "")
	wantQ(t, "off its carrier", b.state("2026-09-01").Machine("header").Counters["hours"].Estimate, "21 h")
}

// 30 h in the 30 days of March are 1 h a day. Oiled at 100 h, due at 150 h; the notice is a tenth, 5 h. Ten days on it is about 140 h and will be there in ten
// more. A rate seen for 30 days is carried on for 30: 160 h, and no further.
func TestPaperEstimate(t *testing.T) {
	s := newShed(t, kind("[job.oil]\n[[job.oil.when]]\nevery = \"50 h\"\n"))
	s.read("2025-03-01", "hours 100 h")
	s.did("2025-03-01", "oil")
	s.read("2025-03-31", "hours 130 h")
	for _, test := range []struct{ on, want string }{
		{"2025-04-10", "later oil: 150 h, over -10 h"},
		{"2025-04-15", "coming oil: 150 h, over -5 h"},
		{"2025-04-20", "due oil: 150 h, over 0 h"},
		{"2025-04-21", "overdue oil: 150 h, over 1 h"},
		{"2025-04-30", "overdue oil: 150 h, over 10 h"},
		{"2025-05-30", "overdue oil: 150 h, over 10 h"},
	} {
		items := s.due(test.on, Filter{All: true})
		same(t, test.on, lines(items), []string{test.want})
		if test.on == "2025-04-10" && items[0].Expected != "2025-04-20" {
			t.Errorf("expected on %q, want 2025-04-20", items[0].Expected)
		}
	}
}

// A counter never read says nothing, and what waits for it is not hidden behind the calendar: 250 h unknown, 12 months not yet run out.
func TestPaperNeverRead(t *testing.T) {
	s := newShed(t, kind("[job.oil]\n[[job.oil.when]]\nevery = [\"250 h\", \"12 mo\"]\n"))
	s.did("2025-03-01", "oil")
	items := s.due("2025-06-01")
	same(t, "oil", lines(items), []string{"unknown oil"})
	if items[0].Unread != "hours" {
		t.Errorf("waits for %q, want hours", items[0].Unread)
	}
	same(t, "a year on the calendar speaks", lines(s.due("2026-03-02")), []string{"overdue oil: 2026-03-01, over 1 d"})
}

// A third of 100 h is 33.333333 h, at six decimals: at 34 h it is 0.666667 h over.
func TestPaperThird(t *testing.T) {
	s := newShed(t, kind("[job.filter]\n[[job.filter.when]]\nevery = \"100 h\"\nfactors = [{ by = \"1/3\", while = [{ ground = \"dusty\" }] }]\n"))
	s.read("2025-04-01", "hours 0 h")
	s.did("2025-04-01", "filter")
	w := s.work("2025-05-01")
	w.Ground = "dusty"
	w.Counters = []record.CounterAt{{Counter: "hours", At: amount(t, "34 h")}}
	s.add(&record.Note{Work: w})
	same(t, "filter", lines(s.due("2025-05-01")), []string{"overdue filter: 33.333333 h, over 0.666667 h"})
}

// It worked on 27 and 28 November and on 2 March. Greased on the 27th (which counts for that day), the second day of work after it is 2 March. Thirty idle days
// after 28 November are up on 28 December; turned over on the 30th, not again before it has worked: 30 days after 2 March is 1 April.
func TestPaperWorkedAndIdle(t *testing.T) {
	s := newShed(t, kind("[job.grease]\n[[job.grease.when]]\nworked = 2\n[job.turn-over]\n[[job.turn-over.when]]\nidle = 30\n"))
	for _, day := range []string{"2025-11-27", "2025-11-28"} {
		w := s.work(day)
		w.Field = "north"
		s.add(&record.Note{Work: w})
	}
	s.did("2025-11-27", "grease")
	all := Filter{All: true}
	same(t, "28 December", lines(s.due("2025-12-28", all)), []string{"due turn-over: 2025-12-28, over 0 d", "coming grease"})
	s.did("2025-12-30", "turn-over")
	same(t, "28 February", lines(s.due("2026-02-28", all)), []string{"coming grease", "later turn-over"})
	w := s.work("2026-03-02")
	w.Crop = "oats"
	s.add(&record.Note{Work: w})
	same(t, "3 March", lines(s.due("2026-03-03", all)), []string{"overdue grease: 2026-03-02, over 1 d", "later turn-over: 2026-04-01, over -29 d"})
}

// Feeding runs from 20 November to 10 February. Looked over on 10 November: enough for this winter, not for the next, planned from 25 November. After it: due
// from 10 February, overdue 30 days later, past 12 March (18 days to the end of a February of 28, and 12).
func TestPaperSeasonOverNewYear(t *testing.T) {
	s := newShed(t, kind("[job.look]\n[[job.look.when]]\nseason = \"before\"\n[job.wash]\n[[job.wash.when]]\nseason = \"after\"\n"))
	s.did("2025-11-10", "look")
	feeding := func(act, done string) {
		s.add(&record.Season{Act: act, Name: "feeding 2025", Work: "seeding", Done: record.Done(done)})
	}
	feeding("open", "2025-11-20")
	same(t, "New Year", lines(s.due("2026-01-01")), nil)
	feeding("close", "2026-02-10")
	same(t, "the day it closed", lines(s.due("2026-02-10")), []string{"due wash: 2026-03-12, over -30 d"})
	same(t, "30 days later", lines(s.due("2026-03-12")), []string{"due wash: 2026-03-12, over 0 d"})
	same(t, "31 days later", lines(s.due("2026-03-13")), []string{"overdue wash: 2026-03-12, over 1 d"})
	s.did("2026-03-13", "wash")
	s.add(&record.Season{Act: "plan", Name: "feeding 2026", Work: "seeding", From: "2026-11-25", Done: "2026-10-01"})
	same(t, "15 days before the next", lines(s.due("2026-11-10")), nil)
	same(t, "14 days before the next", lines(s.due("2026-11-11")), []string{"coming look: 2026-11-25, over -14 d"})
}

// One field, sown in a day: opened and closed on 1 June. Nothing is asked for before it any more; after it the wash is due from that day, and past 1 July overdue.
func TestPaperSeasonOfOneDay(t *testing.T) {
	s := newShed(t, kind("[job.look]\n[[job.look.when]]\nseason = \"before\"\n[job.wash]\n[[job.wash.when]]\nseason = \"after\"\n"))
	s.season("open", "2025-06-01", "", "")
	same(t, "open", lines(s.due("2025-06-01")), []string{"due look: 2025-06-01, over 0 d"})
	s.season("close", "2025-06-01", "", "")
	same(t, "closed", lines(s.due("2025-06-01")), []string{"due wash: 2025-07-01, over -30 d"})
	same(t, "31 days later", lines(s.due("2025-07-02")), []string{"overdue wash: 2025-07-01, over 1 d"})
	s.did("2025-07-02", "wash")
	same(t, "washed", lines(s.due("2025-07-02")), nil)
}

// A belt fitted on 29 February 2024, looked at every year from then: 28 February 2025, 2026 and 2027, and 29 February 2028, for each is counted from the first day.
// Looked at on 20 February 2026, 8 days early and within the notice of 14, counts for the 28th; on 10 February it would not.
func TestPaperMade(t *testing.T) {
	text := kind("[part.belt]\n[job.look]\n[[job.look.when]]\nmade = \"belt\"\nevery = \"1 yr\"\n")
	for _, test := range []struct{ done, due string }{
		{"2025-02-28", "2026-02-28"}, {"2026-02-20", "2027-02-28"}, {"2026-02-10", "2026-02-28"}, {"2027-02-28", "2028-02-29"},
	} {
		s := newShed(t, text)
		s.machine = s.addMachine("second", "2024-01-01")
		s.swap("2024-02-29", "belt", record.SwapNew)
		s.did(test.done, "look")
		same(t, "done on "+test.done, lines(s.due(test.due, Filter{Machine: s.machine})), []string{"due look: " + test.due + ", over 0 d"})
	}
}
