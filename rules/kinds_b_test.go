package rules

import (
	"slices"
	"strings"
	"testing"

	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// Worked seasons of the built-in combine, round baler, disc mower and auger. What is expected is worked out by hand in the comments from the figures of
// those schedules, which are our own round ones: common practice, no source.

// kindShed is a shed with one machine of a built-in kind, that came to the book on a day.
func kindShed(t *testing.T, kind, added string, options ...record.Option) *shed {
	t.Helper()
	k, ok := schedule.Builtin(kind)
	if !ok {
		t.Fatalf("no built-in %s", kind)
	}
	s := &shed{t: t}
	s.farm = s.add(&record.Farm{Name: "creek"})
	s.yard = s.add(&record.Yard{Name: "home", Farm: s.farm})
	s.add(&record.Schedule{Name: kind, Text: k.Text})
	s.machine = s.add(&record.Machine{Work: record.Work{Done: record.Done(added)}, Name: "it", Schedule: kind, Yard: s.yard, Key: testKey(kind), Options: options})
	return s
}

// good takes the machine as good on a day: every job as done, so that only what comes after it is due.
func (s *shed) good(done string) {
	s.t.Helper()
	s.add(&record.Assume{Work: s.work(done), Good: true})
}

// saw records a job with its outcome and the day to which that holds, "" for none.
func (s *shed) saw(done, job, outcome, until string, places ...string) {
	s.t.Helper()
	s.add(&record.Did{Work: s.work(done), Job: job, Positions: s.at(places...), Outcome: outcome, Until: until})
}

// of are the lines of some jobs on a day, in the order of the list.
func (s *shed) of(on string, jobs ...string) []string {
	s.t.Helper()
	var out []string
	for _, i := range s.due(on) {
		if slices.Contains(jobs, i.Job) {
			out = append(out, line(i))
		}
	}
	return out
}

// want compares the lines of some jobs on a day.
func (s *shed) want(on string, jobs string, want ...string) {
	s.t.Helper()
	if got := s.of(on, strings.Fields(jobs)...); !slices.Equal(got, want) {
		s.t.Errorf("on %s\ngot  %q\nwant %q", on, got, want)
	}
}

// An old machine taken as good has nothing due that day, and what is not known of it is a few lines of dates of make and certificates, not one for each
// job; a machine nobody wrote about has no line that is overdue.
func TestOldMachinesOfKindsB(t *testing.T) {
	for _, c := range []struct {
		kind    string
		unknown int // jobs that go by a date of make or a valid-until date, which nobody has written yet
	}{{"combine", 6}, {"round-baler", 5}, {"disc-mower", 1}, {"auger", 1}} {
		t.Run(c.kind, func(t *testing.T) {
			s := kindShed(t, c.kind, "2025-03-01")
			for _, i := range s.due("2025-03-01") {
				if i.State != Unknown {
					t.Errorf("fresh: %s", line(i))
				}
			}
			var counters []string
			for _, c := range s.state("2025-03-01").Machine("it").Fitted.Counters {
				counters = append(counters, c.Name+" 1000 "+c.Unit.String())
			}
			s.read("2025-03-01", counters...)
			s.good("2025-03-01")
			unknown := 0
			for _, i := range s.due("2025-03-01") {
				if i.State != Unknown || i.Cause != ByDate {
					t.Errorf("taken as good: %s (%s)", line(i), i.Why)
				}
				unknown++
			}
			if unknown != c.unknown {
				t.Errorf("%d not known, want %d", unknown, c.unknown)
			}
		})
	}
}

// The combine, taken as good on 1 July 2025 at 1200 h of the engine, 800 h of the separator and 9000 ac.
//
//	25 July  threshes: 809 h on the separator. Clean-down and walk round are due that day; stone trap and knife are part of the round
//	26 July to 20 August: rain. Nothing is due, for it did not work
//	last worked on 25 July: 30 days without work are over on 24 August, "coming" a tenth of them, 3 days, before
//	26 August: 860 h on the separator. 800 + 50 = 850 h, 10 h over. The engine 1290 h: 1200 + 50 = 1250 h, 40 h over; oil 1200 + 250 = 1450 h: not yet,
//	and no tenth (25 h) before it. The knife by acres: 9000 + 1500 = 10500 ac; at 10600 ac 100 ac over
func TestCombineHarvest(t *testing.T) {
	s := kindShed(t, "combine", "2025-06-01")
	s.read("2025-07-01", "hours 1200 h", "separator 800 h", "area 9000 ac")
	s.good("2025-07-01")
	const daily = "fire-clean walk-round oil-level coolant-level stone-trap knife-look"
	s.want("2025-07-24", daily)
	s.read("2025-07-25", "hours 1212 h", "separator 809 h")
	s.want("2025-07-25", daily, "due fire-clean: 2025-07-25, over 0 d", "due walk-round: 2025-07-25, over 0 d")
	if i := only(t, s.due("2025-07-25"), "walk-round"); i.Severity != "stop" || strings.Join(i.Includes, " ") != "oil-level coolant-level stone-trap knife-look" {
		t.Errorf("the round is %s and includes %v", i.Severity, i.Includes) // of the levels, which stop it
	}
	s.want("2025-07-27", daily, "overdue fire-clean: 2025-07-25, over 2 d", "overdue walk-round: 2025-07-25, over 2 d")
	s.did("2025-07-27", "fire-clean")
	s.did("2025-07-27", "walk-round")
	s.want("2025-08-20", daily+" clutch-run-in")
	s.want("2025-08-21", daily+" clutch-run-in", "coming clutch-run-in [all 3 clutches]: 2025-08-24, over -3 d")
	s.want("2025-08-25", daily+" clutch-run-in", "overdue clutch-run-in [all 3 clutches]: 2025-08-24, over 1 d")
	s.did("2025-08-25", "clutch-run-in")
	s.want("2025-08-25", "clutch-run-in")

	s.read("2025-08-26", "hours 1290 h", "separator 860 h", "area 10600 ac")
	s.want("2025-08-26", daily, "due fire-clean: 2025-08-26, over 0 d", "due walk-round: 2025-08-26, over 0 d")
	s.want("2025-08-26", "clutch-run-in week-round week-grease belt-look service-50 oil-change cutter-measure",
		"overdue week-round: 850 h, over 10 h", "overdue service-50: 1250 h, over 40 h", "overdue cutter-measure: 10500 ac, over 100 ac")
	s.did("2025-08-26", "week-round")
	s.did("2025-08-26", "service-50")
	s.want("2025-08-26", "week-round week-grease day-grease chain-look belt-look shoe-look chopper-look conveyor-tension-check service-50 water-drain")
	s.want("2026-07-01", "clutch-run-in", "overdue clutch-run-in [all 3 clutches]: 2025-09-25, over 279 d") // and after this stretch once more
}

// Engine oil first at 50 h, then every 250 h, half of it on much biodiesel, half as long again while the last two samples were good; the bigger service
// takes the smaller ones with it. Oil at 60 h: the next at 310 h, halved 185 h. The 500 h service is all of them.
func TestCombineOil(t *testing.T) {
	s := kindShed(t, "combine", "2025-05-01")
	s.read("2025-05-01", "hours 0 h", "separator 0 h", "area 0 ac")
	s.read("2025-07-01", "hours 60 h")
	s.want("2025-07-01", "oil-change oil-filter-change service-50 service-250", "overdue oil-change: 50 h, over 10 h", "overdue service-50: 50 h, over 10 h")
	s.did("2025-07-01", "oil-change")
	s.did("2025-07-01", "service-50")
	s.want("2025-07-01", "oil-change oil-filter-change service-50")
	s.read("2025-07-20", "hours 200 h")
	s.did("2025-07-20", "service-50")
	s.want("2025-07-20", "oil-change")
	set(s, "2025-07-20", "fuel", "biodiesel-high")
	s.want("2025-07-20", "oil-change", "overdue oil-change: 185 h, over 15 h")
	s.measure("2025-07-18", "oil-sample", "=ok")
	s.measure("2025-07-19", "oil-sample", "=ok")
	s.want("2025-07-20", "oil-change") // 60 + 250 x 1/2 x 3/2 = 247.5 h
	set(s, "2025-07-20", "fuel", "diesel")
	s.read("2025-08-01", "hours 320 h") // 60 + 250 x 3/2 = 435 h; the 250 h service is due without it, with the 50 h one (200 + 50)
	s.want("2025-08-01", "oil-change service-50 service-250", "overdue service-250: 250 h, over 70 h")
	if i := only(t, s.due("2025-08-01"), "service-250"); slices.Contains(i.Includes, "oil-change") || !slices.Contains(i.Includes, "service-50") {
		t.Errorf("it includes %v", i.Includes)
	}
	s.measure("2025-08-01", "oil-sample", "=watch")
	if i := only(t, s.due("2025-08-01"), "service-250"); !slices.Contains(i.Includes, "oil-change") { // 310 h, 10 h over
		t.Errorf("it includes %v", i.Includes)
	}
	s.read("2025-08-20", "hours 505 h")
	s.did("2025-08-20", "service-500")
	s.want("2025-08-20", "service-50 service-250 service-500 oil-change oil-filter-change fuel-filter-change air-filter-change hydraulic-filter-change gear-oil-change water-drain air-check")
}

// Chain stretch: at most 3 %, with N teeth at most 200 / N: 80 teeth 2.5 %; 1.5 % between fixed shafts. A value at the limit is not past it. A new chain
// wants new sprockets, and its tension looked at.
func TestCombineChains(t *testing.T) {
	for _, c := range []struct {
		teeth, centres string
		at, past       string
	}{
		{"50", "sprung", "3 %", "3.01 %"}, {"66", "sprung", "3 %", "3.1 %"}, {"80", "sprung", "2.5 %", "2.6 %"}, {"100", "sprung", "2 %", "2.1 %"},
		{"50", "fixed", "1.5 %", "1.6 %"}, {"80", "fixed", "1.5 %", "1.6 %"},
	} {
		t.Run(c.teeth+" "+c.centres, func(t *testing.T) {
			s := kindShed(t, "combine", "2025-05-01", record.Option{Name: "drive-teeth", Value: c.teeth}, record.Option{Name: "drive-centres", Value: c.centres})
			s.read("2025-06-01", "hours 100 h", "separator 80 h", "area 900 ac")
			s.good("2025-06-01")
			s.measure("2025-08-30", "drive-stretch", "drive/header="+c.at, "drive/feeder="+c.past)
			s.want("2025-08-30", "chain-swap", "due chain-swap [drive feeder]: 2025-08-30, over 0 d")
			s.swap("2025-09-02", "drive-chain", "new", "drive/feeder")
			s.want("2025-09-02", "chain-swap sprocket-swap chain-look",
				"due chain-look [drive feeder]: 2025-09-02, over 0 d", "due sprocket-swap [drive feeder]: 2025-09-02, over 0 d")
			s.swap("2025-09-02", "drive-sprocket", "new", "drive/feeder")
			s.did("2025-09-02", "chain-look", "drive/feeder")
			s.want("2025-09-03", "chain-swap sprocket-swap chain-look")
		})
	}
}

// A chopper knife has two edges: blunt, it is turned, its opposite with it; blunt again, both are new. Of 48 knives 3 stands opposite 46. What was
// loosened at 120 h of the separator is torqued at 2 h and 10 h after, then every 10 h until none moved, from then on every 200 h.
func TestChopperKnife(t *testing.T) {
	s := kindShed(t, "combine", "2025-05-01")
	s.read("2025-06-01", "hours 100 h", "separator 80 h", "area 900 ac")
	s.good("2025-06-01")
	s.read("2025-07-20", "separator 120 h")
	const jobs = "chopper-swap chopper-turn chopper-torque shake-check"
	s.measure("2025-07-20", "chopper-edge", "chopper-knife/2=rounded", "chopper-knife/3=blunt")
	s.did("2025-07-20", "shake-check") // every 25 h
	s.want("2025-07-20", jobs, "due chopper-swap [chopper-knife 3]: 2025-07-20, over 0 d")
	if i := only(t, s.due("2025-07-20"), "chopper-swap"); !strings.HasSuffix(i.Why, "try turn the chopper knife first") {
		t.Errorf("why: %s", i.Why)
	}
	m := s.state("2025-07-20").Machine("it")
	p, ok := m.Fitted.PairOf(record.Position{Noun: "chopper-knife", Number: 3})
	if def, _ := m.Fitted.Part("chopper-blade"); !ok || p.Number != 46 || def.Edges != 2 || def.Partner != "opposite" {
		t.Fatalf("opposite 3 stands %v, %v", p, ok)
	}
	s.swap("2025-07-21", "chopper-blade", record.SwapTurned, "chopper-knife/3", "chopper-knife/46")
	s.read("2025-07-21", "separator 120 h")
	s.did("2025-07-21", "chopper-turn", "chopper-knife/3", "chopper-knife/46")
	s.want("2025-07-21", jobs)
	if seg := s.state("2025-07-21").Machine("it").Slots["chopper-blade"]["chopper-knife/3"].Part.Segment; seg != 2 {
		t.Errorf("turned once, it is in segment %d", seg)
	}
	s.read("2025-07-22", "separator 122 h")
	s.want("2025-07-22", jobs, "due chopper-torque [chopper-knives 3, 46]: 122 h, over 0 h")
	checked(s, "2025-07-22", "chopper-torque")
	s.want("2025-07-22", jobs)
	s.read("2025-07-24", "separator 130 h") // 120 + 10
	s.want("2025-07-24", jobs, "due chopper-torque [chopper-knives 3, 46]: 130 h, over 0 h")
	s.add(&record.Did{Work: s.work("2025-07-24"), Job: "chopper-torque", Positions: s.at("chopper-knife/3", "chopper-knife/46"),
		Results: []record.Result{{Positions: s.at("chopper-knife/3"), Word: "moved"}, {Positions: s.at("chopper-knife/46"), Word: "none-moved"}}})
	s.read("2025-07-26", "separator 141 h")                                                      // 130 + 10, for one of them had moved
	s.want("2025-07-26", jobs, "overdue chopper-torque [chopper-knives 3, 46]: 140 h, over 1 h") // shaking again at 145 h
	s.add(&record.Did{Work: s.work("2025-07-26"), Job: "chopper-torque", Positions: s.at("chopper-knife/3", "chopper-knife/46"), Results: []record.Result{{Word: "none-moved"}}})
	s.did("2025-07-26", "shake-check")
	s.want("2025-07-26", jobs) // the next at 141 + 200 = 341 h

	s.measure("2025-08-10", "chopper-edge", "chopper-knife/3=blunt")
	s.want("2025-08-10", jobs, "due chopper-swap [chopper-knife 3]: 2025-08-10, over 0 d")
	s.swap("2025-08-11", "chopper-blade", "new", "chopper-knife/3", "chopper-knife/46")
	s.want("2025-08-11", jobs, "due shake-check: 2025-08-11, over 0 d")
	s.saw("2025-08-11", "shake-check", "fail", "")
	if i := only(t, s.due("2025-08-12"), "shake-check"); i.State != Open || i.Severity != "stop" {
		t.Errorf("a chopper that shakes: %s, %s", line(i), i.Severity)
	}
	s.saw("2025-08-12", "shake-check", "pass", "")
	s.want("2025-08-12", jobs)
}

// A bearing 25 degC hotter than the median of the others, or hotter than 90 degC, stops the combine. Median of 45, 46, 47: 46; 71 is 25 above it, 72 is 26.
func TestCombineHotBearing(t *testing.T) {
	s := kindShed(t, "combine", "2025-05-01", record.Option{Name: "bearings", Value: "4"})
	s.read("2025-06-01", "hours 100 h", "separator 80 h", "area 900 ac")
	s.good("2025-06-01")
	s.measure("2025-07-20", "bearing-heat", "bearing/1=45 degC", "bearing/2=46 degC", "bearing/3=47 degC", "bearing/4=71 degC")
	s.want("2025-07-20", "bearing-swap")
	s.measure("2025-07-21", "bearing-heat", "bearing/1=45 degC", "bearing/2=46 degC", "bearing/3=47 degC", "bearing/4=72 degC")
	s.want("2025-07-21", "bearing-swap", "due bearing-swap [bearing 4]: 2025-07-21, over 0 d")
	if i := only(t, s.due("2025-07-21"), "bearing-swap"); i.Severity != "stop" {
		t.Errorf("a hot bearing is %s", i.Severity)
	}
	s.swap("2025-07-22", "bearing-insert", "new", "bearing/4")
	s.want("2025-07-22", "bearing-swap bearing-heat-check", "due bearing-heat-check [bearing 4]: 2025-07-22, over 0 d")
}

// Losses are outcomes: more than a bushel an acre behind asks for setting it again, and that for taking the loss again.
func TestCombineLosses(t *testing.T) {
	s := kindShed(t, "combine", "2025-05-01")
	s.good("2025-06-01")
	s.measure("2025-07-20", "loss-behind", "=1 bu/ac")
	s.want("2025-07-20", "loss-mend loss-check")
	s.measure("2025-07-21", "loss-behind", "=2.5 bu/ac")
	s.want("2025-07-21", "loss-mend loss-check", "due loss-mend: 2025-07-21, over 0 d")
	s.did("2025-07-22", "loss-mend")
	s.want("2025-07-22", "loss-mend loss-check", "due loss-check: 2025-07-22, over 0 d")
}

// Two extinguishers fitted new on 1 June 2018. Looked at each month in use; tagged each year by a licensed shop; opened six years and pressure-tested
// twelve years from their date of make, here the day they were fitted. The tag holds until 1 March 2026. In storage from 1 October 2025: looking pauses,
// the dates do not. A failed one stops the combine.
func TestExtinguisher(t *testing.T) {
	s := kindShed(t, "combine", "2018-06-01")
	s.swap("2018-06-01", "extinguisher", "new")
	const jobs = "extinguisher-look extinguisher-tag extinguisher-inside extinguisher-pressure"
	s.good("2018-06-01")
	s.saw("2024-02-20", "extinguisher-tag", "pass", "2025-03-01")
	s.did("2024-05-15", "extinguisher-look")
	s.want("2024-05-17", jobs) // 1 June is 15 days ahead
	s.want("2024-05-18", jobs, "coming extinguisher-inside [all 2 brackets]: 2024-06-01, over -14 d")
	s.want("2024-06-02", jobs, "overdue extinguisher-inside [all 2 brackets]: 2024-06-01, over 1 d")
	s.saw("2024-06-03", "extinguisher-inside", "pass", "")
	s.saw("2025-02-25", "extinguisher-tag", "pass", "2026-03-01")
	s.did("2025-08-30", "extinguisher-look")
	s.want("2025-10-01", jobs, "overdue extinguisher-look [all 2 brackets]: 2025-09-30, over 1 d")
	s.add(storing(s, "2025-10-01", "in"))
	s.want("2025-10-02", jobs)
	s.want("2026-02-01", jobs)
	// A year after 25 February 2025 comes before the valid-until date; both are coming, the one that is further on is said.
	s.want("2026-02-26", jobs, "overdue extinguisher-tag [all 2 brackets]: 2026-02-25, over 1 d")
	s.saw("2026-02-27", "extinguisher-tag", "fail", "", "bracket/2")
	for _, i := range s.due("2026-02-27") {
		if i.Job == "extinguisher-tag" && i.State == Open && (i.Where != "bracket 2" || i.Severity != "stop" || i.Cause != ByFault) {
			t.Errorf("failed: %s, %s", line(i), i.Severity)
		}
	}
	s.want("2026-02-27", jobs, "overdue extinguisher-tag [bracket 1]: 2026-02-25, over 2 d", "open extinguisher-tag [bracket 2]: 2026-02-27")
	s.saw("2026-03-02", "extinguisher-tag", "pass", "2027-03-01")
	s.want("2026-03-02", jobs)
	// Put out in spring 2030, tagged until 1 March 2031: twelve years, and six since the last inside, are over on 1 June. The pressure test takes the
	// look inside with it and wants a new tag.
	s.add(storing(s, "2030-05-01", "out"))
	s.saw("2030-03-01", "extinguisher-tag", "pass", "2031-03-01")
	s.did("2030-05-20", "extinguisher-look")
	s.want("2030-06-02", jobs, "overdue extinguisher-pressure [all 2 brackets]: 2030-06-01, over 1 d")
	s.saw("2030-06-03", "extinguisher-pressure", "pass", "")
	s.did("2030-06-03", "extinguisher-look")
	s.want("2030-06-03", jobs, "due extinguisher-tag [all 2 brackets]: 2030-06-03, over 0 d")
	s.saw("2030-06-04", "extinguisher-tag", "pass", "2031-06-01")
	s.want("2030-06-04", jobs)
	for _, name := range []string{"extinguisher-tag", "extinguisher-inside", "extinguisher-pressure"} {
		if j, _ := s.state("2030-06-03").Machine("it").Fitted.Job(name); j.Who != "licensed" {
			t.Errorf("%s may be done by %s", name, j.Who)
		}
	}
}

// A baler has no hours of its own: it has those of the tractor while it hangs on it. 500 to 520 h hitched, to 600 h without it, to 610 h hitched: 30 h.
// Its jobs go by bales, so that none waits for hours nobody reads.
func TestBalerHours(t *testing.T) {
	s := kindShed(t, "round-baler", "2025-05-01")
	tractor, _ := schedule.Builtin("tractor")
	s.add(&record.Schedule{Name: "tractor", Text: tractor.Text})
	puller := s.add(&record.Machine{Work: record.Work{Done: "2025-05-01"}, Name: "puller", Schedule: "tractor", Yard: s.yard, Key: testKey("puller")})
	hours := func(done, at string) {
		s.add(&record.Counter{Work: record.Work{Machine: puller, Done: record.Done(done)}, Acts: []record.CounterAct{{Counter: "hours", Act: "at", Value: amount(t, at)}}})
	}
	s.read("2025-06-01", "bales 1000 bales")
	s.good("2025-06-01")
	hours("2025-06-10T08:00", "500 h")
	s.add(&record.Hitch{Work: s.work("2025-06-10T08:00"), Carrier: puller})
	s.want("2025-06-10", "shaft-look road-check", "due shaft-look: 2025-06-10, over 0 d", "due road-check: 2025-06-10, over 0 d")
	s.saw("2025-06-10", "road-check", "pass", "")
	s.did("2025-06-10", "shaft-look")
	hours("2025-06-12T20:00", "520 h")
	s.add(&record.Hitch{Work: s.work("2025-06-12T20:00")})
	s.want("2025-06-12", "shaft-look road-check")
	hours("2025-07-01T08:00", "600 h")
	s.add(&record.Hitch{Work: s.work("2025-07-01T08:00"), Carrier: puller})
	hours("2025-07-02T20:00", "610 h")
	wantQ(t, "hours", s.state("2025-07-03").Machine("it").Counters["hours"].Life, "30 h")
	for _, j := range s.state("2025-07-03").Machine("it").Fitted.Jobs {
		for _, w := range j.When {
			for _, iv := range slices.Concat(w.Every, w.First, w.Series) {
				if iv.Counter == "hours" {
					t.Errorf("%s goes by hours", j.Name)
				}
			}
		}
	}
}

// A baling season, taken as good at 4000 bales.
//
//	10 June  4300 bales: it worked, so that the round and the clean-down are due, the shaft wants grease at 4250, 50 over
//	11 June  the gate does not hold on its lock: fail, stop
//	14 June  4520 bales in straw: grease every 500, halved in straw: 4250, 270 over
//	20 June  5010 bales: the weekly round at 5000 takes grease, chains, belts and tines with it
func TestBalingSeason(t *testing.T) {
	s := kindShed(t, "round-baler", "2025-05-01")
	s.read("2025-06-01", "bales 4000 bales")
	s.good("2025-06-01")
	const jobs = "walk-round gate-lock shaft-look oiler-fill fire-clean shaft-grease grease week-round chain-look belt-look tine-look"
	s.want("2025-06-09", jobs)
	s.read("2025-06-10", "bales 4300 bales")
	s.want("2025-06-10", jobs, "due fire-clean: 2025-06-10, over 0 d", "due walk-round: 2025-06-10, over 0 d", "overdue shaft-grease: 4250 bales, over 50 bales")
	s.did("2025-06-10", "fire-clean")
	s.did("2025-06-10", "walk-round")
	s.did("2025-06-10", "shaft-grease")
	s.saw("2025-06-11", "gate-lock", "fail", "")
	i := only(t, s.due("2025-06-11"), "gate-lock")
	if i.State != Open || i.Severity != "stop" {
		t.Errorf("the gate sinks: %s, %s", line(i), i.Severity)
	}
	s.saw("2025-06-12", "gate-lock", "pass", "")
	straw := s.work("2025-06-14")
	straw.Crop = "straw"
	s.add(&record.Counter{Work: straw, Acts: []record.CounterAct{{Counter: "bales", Act: "at", Value: amount(t, "4520 bales")}}})
	s.want("2025-06-14", "grease shaft-grease", "overdue grease: 4250 bales, over 270 bales") // the shaft at 4300 + 250
	s.did("2025-06-14", "fire-clean")
	s.did("2025-06-14", "walk-round")
	hay := s.work("2025-06-20")
	hay.Crop = "hay"
	s.add(&record.Counter{Work: hay, Acts: []record.CounterAct{{Counter: "bales", Act: "at", Value: amount(t, "5010 bales")}}})
	s.did("2025-06-20", "shaft-grease")
	s.want("2025-06-20", "grease week-round chain-look belt-look tine-look", "overdue week-round: 5000 bales, over 10 bales")
	s.did("2025-06-20", "week-round")
	s.want("2025-06-20", "grease week-round chain-look belt-look tine-look")
}

// Belts run as a set: one more than 2 in off the median of the others is brought to their length, or all are new. The median of 500, 500, 500.5 and
// 499.5 in is 500: 502 is at the limit, 503 past it. A belt cut and laced anew is a new segment, of which nothing is measured yet.
func TestBalerBelts(t *testing.T) {
	s := kindShed(t, "round-baler", "2025-05-01")
	s.read("2025-06-01", "bales 4000 bales")
	s.good("2025-06-01")
	s.measure("2025-09-01", "belt-length", "belt/1=500 in", "belt/2=500 in", "belt/3=500.5 in", "belt/4=499.5 in", "belt/5=502 in")
	s.want("2025-09-01", "belt-swap belt-match")
	s.measure("2025-10-01", "belt-length", "belt/1=500 in", "belt/2=500 in", "belt/3=500.5 in", "belt/4=499.5 in", "belt/5=503 in")
	s.want("2025-10-01", "belt-swap belt-match", "due belt-swap [belt 5]: 2025-10-01, over 0 d")
	if i := only(t, s.due("2025-10-01"), "belt-swap"); !strings.HasSuffix(i.Why, "try bring the belt to the length of the others first") {
		t.Errorf("why: %s", i.Why)
	}
	s.swap("2025-10-02", "bale-belt", record.SwapRebuilt, "belt/5")
	s.want("2025-10-02", "belt-swap belt-match")
	s.measure("2025-10-03", "lacing", "belt/2=pulled")
	s.want("2025-10-03", "belt-swap belt-lace", "due belt-lace [belt 2]: 2025-10-03, over 0 d")
	if def, _ := s.state("2025-10-03").Machine("it").Fitted.Part("bale-belt"); !def.Set {
		t.Error("belts are no set")
	}
}

// A roller's left bearing 21 degC above its neighbours stops the baler; its bolts are torqued 50 and 500 bales after, then every 500 until none moved.
func TestBalerBearing(t *testing.T) {
	s := kindShed(t, "round-baler", "2025-05-01", record.Option{Name: "rollers", Value: "3"})
	s.read("2025-06-01", "bales 4000 bales")
	s.good("2025-06-01")
	s.measure("2025-06-10", "roller-heat", "roller/1 left=45 degC", "roller/2 left=66 degC", "roller/3 left=45 degC",
		"roller/1 right=50 degC", "roller/2 right=50 degC", "roller/3 right=50 degC")
	const jobs = "roller-bearing-swap roller-torque"
	s.want("2025-06-10", jobs, "due roller-bearing-swap [roller 2]: 2025-06-10, over 0 d")
	if i := only(t, s.due("2025-06-10"), "roller-bearing-swap"); i.Severity != "stop" || !strings.Contains(i.Why, "left 66 degC is more than 20 degC from the median of its neighbours, 45 degC") {
		t.Errorf("%s: %s", i.Severity, i.Why)
	}
	s.read("2025-06-11", "bales 4000 bales")
	s.add(&record.Swap{Work: s.work("2025-06-11"), Part: "roller-bearing", Hand: "left", Act: "new", Positions: s.at("roller/2")})
	s.want("2025-06-11", jobs)
	s.read("2025-06-12", "bales 4060 bales")
	s.want("2025-06-12", jobs, "overdue roller-torque [roller 2]: 4050 bales, over 10 bales")
	checked(s, "2025-06-12", "roller-torque", "roller/2")
	s.read("2025-06-16", "bales 4500 bales")
	s.want("2025-06-16", jobs, "due roller-torque [roller 2]: 4500 bales, over 0 bales")
	checked(s, "2025-06-16", "roller-torque", "roller/2")
	s.read("2025-06-20", "bales 5000 bales")
	s.want("2025-06-20", jobs, "due roller-torque [roller 2]: 5000 bales, over 0 bales")
	checked(s, "2025-06-20", "roller-torque")
	s.read("2025-06-30", "bales 6000 bales")
	s.want("2025-06-30", jobs)
}

// A new mower, 8.25 ft x 10 mi/h x 80 % / 8.25 = 8 ac an hour, so that 8 ac are an hour.
//
//	20 May  40 ac, 5 h: it mowed. Blades, guards and power shaft are due that day, the bar's oil with the walk round; then it rains until 10 June
//	        the blades of disc 3 are nicked and turned: their bolts at 6 h, at 10 h, then every 5 h until none moved, from then on every 50 h
//	10 June 168 ac, 21 h: the bar's first oil at 20 h, 1 h over; the next 200 h on, in dust half of it: 21 + 100 = 121 h
func TestMowingSeason(t *testing.T) {
	s := kindShed(t, "disc-mower", "2025-05-01", record.Option{Name: "width", Value: "8.25 ft"}, record.Option{Name: "speed", Value: "10 mi/h"},
		record.Option{Name: "efficiency", Value: "80 %"})
	s.read("2025-05-01", "area 0 ac")
	const daily = "blade-check guard-check shaft-look walk-round bar-oil-look"
	s.want("2025-05-19", daily)
	s.read("2025-05-20", "area 40 ac")
	s.want("2025-05-20", daily, "due blade-check [all 8 discs]: 2025-05-20, over 0 d", "due guard-check: 2025-05-20, over 0 d",
		"due shaft-look: 2025-05-20, over 0 d", "due walk-round: 2025-05-20, over 0 d")
	if i := only(t, s.due("2025-05-20"), "walk-round"); i.Severity != "stop" || !slices.Contains(i.Includes, "bar-oil-look") {
		t.Errorf("the round is %s and includes %v", i.Severity, i.Includes)
	}
	for _, j := range []string{"blade-check", "shaft-look", "walk-round"} {
		s.did("2025-05-20", j)
	}
	s.saw("2025-05-20", "guard-check", "fail", "")
	if i := only(t, s.due("2025-05-20"), "guard-check"); i.State != Open || i.Severity != "stop" {
		t.Errorf("a torn curtain: %s, %s", line(i), i.Severity)
	}
	s.saw("2025-05-20", "guard-check", "pass", "")
	s.want("2025-06-09", daily)

	const blades = "blade-swap blade-turn blade-torque"
	s.measure("2025-05-20", "blade-edge", "disc/2=worn", "disc/3=nicked")
	s.want("2025-05-20", blades, "due blade-swap [disc 3]: 2025-05-20, over 0 d")
	s.swap("2025-05-20", "blade-pair", record.SwapTurned, "disc/3")
	s.did("2025-05-20", "blade-turn", "disc/3")
	s.want("2025-05-20", blades)
	s.read("2025-05-21", "area 48 ac")
	s.want("2025-05-21", blades, "due blade-torque [disc 3]: 6 h, over 0 h")
	checked(s, "2025-05-21", "blade-torque", "disc/3")
	s.read("2025-05-22", "area 88 ac") // 11 h
	s.want("2025-05-22", blades, "overdue blade-torque [disc 3]: 10 h, over 1 h")
	checked(s, "2025-05-22", "blade-torque", "disc/3")
	s.read("2025-05-23", "area 128 ac") // 16 h
	s.want("2025-05-23", blades, "due blade-torque [disc 3]: 16 h, over 0 h")
	checked(s, "2025-05-23", "blade-torque")
	s.read("2025-06-10", "area 168 ac") // 21 h; the bolts at 16 + 50 = 66 h
	s.want("2025-06-10", blades)

	s.want("2025-06-10", "bar-oil-change", "overdue bar-oil-change: 20 h, over 1 h")
	s.did("2025-06-10", "bar-oil-change")
	s.read("2025-07-20", "area 976 ac") // 122 h
	s.want("2025-07-20", "bar-oil-change")
	dust := s.work("2025-07-21")
	dust.Ground = "dusty"
	s.add(&record.Counter{Work: dust, Acts: []record.CounterAct{{Counter: "area", Act: "at", Value: amount(t, "976 ac")}}})
	s.want("2025-07-21", "bar-oil-change", "overdue bar-oil-change: 121 h, over 1 h")
}

// Two blades of a disc differ by at most 4 mm and are worn at 85 % of 110 mm, 93.5 mm: both of the disc are new then.
func TestMowerBlades(t *testing.T) {
	for _, c := range []struct {
		left, right string
		due         bool
	}{{"110 mm", "106 mm", false}, {"110 mm", "105 mm", true}, {"105 mm", "110 mm", true}, {"93.5 mm", "94 mm", false}, {"93 mm", "94 mm", true}} {
		s := kindShed(t, "disc-mower", "2025-05-01")
		s.read("2025-06-01", "area 500 ac")
		s.good("2025-06-01")
		s.measure("2025-07-01", "blade-length", "disc/5 left="+c.left, "disc/5 right="+c.right)
		var want []string
		if c.due {
			want = []string{"due blade-swap [disc 5]: 2025-07-01, over 0 d"}
		}
		s.want("2025-07-01", "blade-swap", want...)
		s.swap("2025-07-02", "blade-pair", "new", "disc/5")
		s.want("2025-07-02", "blade-swap")
	}
}

// An auger is looked up from wherever it is set up: after each move and hitching. Broken wires of the cable and a creeping brake stop it. Wheel nuts are
// checked a day and a week after a wheel was off, then each week until none moved, for nobody reads an auger's hours.
func TestAuger(t *testing.T) {
	s := kindShed(t, "auger", "2025-05-01")
	s.read("2025-06-01", "grain 50000 bu")
	s.good("2025-06-01")
	s.want("2025-07-01", "look-up stop-check guard-check")
	s.add(&record.Move{Work: s.work("2025-07-02"), Yard: s.add(&record.Yard{Name: "creek", Farm: s.farm})})
	s.want("2025-07-02", "look-up stop-check guard-check", "due look-up: 2025-07-02, over 0 d", "due stop-check: 2025-07-02, over 0 d")
	s.did("2025-07-02", "look-up")
	s.saw("2025-07-02", "stop-check", "pass", "")
	s.want("2025-07-03", "look-up stop-check")

	const lift = "cable-swap winch-swap"
	s.measure("2025-07-03", "cable-state", "=wires-broken")
	s.measure("2025-07-03", "winch-hold", "=creeps")
	s.want("2025-07-03", lift, "due cable-swap: 2025-07-03, over 0 d", "due winch-swap: 2025-07-03, over 0 d")
	for _, job := range strings.Fields(lift) {
		if i := only(t, s.due("2025-07-03"), job); i.Severity != "stop" || !slices.ContainsFunc(i.Cautions, func(c string) bool { return strings.HasPrefix(c, "Never under a raised tube") }) {
			t.Errorf("%s: %s, %q", job, i.Severity, i.Cautions)
		}
	}
	s.swap("2025-07-04", "lift-cable", "new")
	s.swap("2025-07-04", "lift-winch", "new")
	s.want("2025-07-04", lift+" cable-look", "due cable-look: 2025-07-04, over 0 d")

	s.did("2025-07-04", "wheel-off", "wheel/left")
	s.want("2025-07-05", "wheel-torque", "due wheel-torque [wheel left]: 2025-07-05, over 0 d")
	checked(s, "2025-07-05", "wheel-torque", "wheel/left")
	s.want("2025-07-12", "wheel-torque", "overdue wheel-torque [wheel left]: 2025-07-11, over 1 d")
	checked(s, "2025-07-12", "wheel-torque", "wheel/left")
	s.want("2025-07-19", "wheel-torque", "due wheel-torque [wheel left]: 2025-07-19, over 0 d") // one moved: a week on
	checked(s, "2025-07-19", "wheel-torque")
	s.want("2025-12-01", "wheel-torque")

	s.read("2025-09-01", "grain 251000 bu") // 50,000 + 200,000 and 1,000 over
	s.want("2025-09-01", "flighting-measure", "overdue flighting-measure [all 3 sections]: 250000 bu, over 1000 bu")
	s.measure("2025-09-02", "flighting-edge", "section/1=2.4 mm", "section/2=2.5 mm", "section/3=4 mm") // half of 5 mm
	s.want("2025-09-02", "flighting-swap", "due flighting-swap [section 1]: 2025-09-02, over 0 d")
	s.swap("2025-09-03", "flighting", "new", "section/1")
	s.want("2025-09-04", "flighting-swap flighting-torque", "due flighting-torque [section 1]: 2025-09-04, over 0 d")
}

// The electrician's check holds to the date written on it, in storage too; a failed one stops the auger.
func TestElectricAuger(t *testing.T) {
	s := kindShed(t, "auger", "2025-05-01", record.Option{Name: "drive", Value: "electric"})
	s.good("2025-05-01")
	s.saw("2025-06-01", "electric-check", "pass", "2026-03-01")
	s.add(storing(s, "2025-11-01", "in"))
	s.want("2026-02-14", "electric-check feed-cable-look")
	s.want("2026-02-15", "electric-check feed-cable-look", "coming electric-check: 2026-03-01, over -14 d")
	s.want("2026-03-02", "electric-check", "overdue electric-check: 2026-03-01, over 1 d")
	s.saw("2026-03-03", "electric-check", "fail", "")
	if i := only(t, s.due("2026-03-03"), "electric-check"); i.State != Open || i.Severity != "stop" {
		t.Errorf("failed: %s, %s", line(i), i.Severity)
	}
	if j, _ := s.state("2026-03-03").Machine("it").Fitted.Job("electric-check"); j.Who != "licensed" {
		t.Errorf("done by %s", j.Who)
	}
}
