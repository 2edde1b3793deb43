package rules

import (
	"slices"
	"testing"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// newTractor is a shed with the built-in tractor, added new on 2025-01-10 at 5 h.
func newTractor(t testing.TB, options ...record.Option) *shed {
	t.Helper()
	kind, ok := schedule.Builtin("tractor")
	if !ok {
		t.Fatal("no built-in tractor")
	}
	s := &shed{t: t}
	s.farm = s.add(&record.Farm{Name: "creek"})
	s.yard = s.add(&record.Yard{Name: "home", Farm: s.farm})
	s.add(&record.Schedule{Name: "tractor", Text: kind.Text})
	s.machine = s.add(&record.Machine{Work: record.Work{Done: "2025-01-10"}, Name: "green", Schedule: "tractor", Yard: s.yard, Key: testKey("green"), Options: options})
	s.read("2025-01-10", "hours 5h")
	return s
}

// of are the lines of some jobs only.
func of(items []Item, jobs ...string) []string {
	return lines(slices.DeleteFunc(items, func(i Item) bool { return !slices.Contains(jobs, i.Job) }))
}

// Hard rule 1, common practice, no source: oil first at 100 h, then every 400 h or 12 months; bigger services take it with them, and it takes level and
// water drain with it.
func TestHardOilSeason(t *testing.T) {
	s := newTractor(t)
	oil := func(what, on string, want ...string) {
		t.Helper()
		same(t, what, of(s.due(on), "oil-change"), want)
	}
	at := func(day, hours string) { t.Helper(); s.read(day, "hours "+hours) }

	at("2025-04-10", "89h") // a tenth of 100 h is 10 h: coming from 90 h
	oil("11 h before the first", "2025-04-10")
	at("2025-04-11", "90h")
	oil("10 h before", "2025-04-11", "coming oil-change: 100 h, over -10 h")
	at("2025-04-14", "100h")
	oil("the first", "2025-04-14", "due oil-change: 100 h, over 0 h")
	at("2025-04-15", "104h")
	same(t, "with the level and the water, which it takes with it", of(s.due("2025-04-15"), "oil-change", "oil-level", "water-drain"), []string{"overdue oil-change: 100 h, over 4 h"})
	s.did("2025-04-15", "oil-change")
	s.did("2025-04-15", "oil-filter-change")
	at("2025-05-20", "150h")
	same(t, "the water from 104 h: due at 154", of(s.due("2025-05-20"), "oil-change", "water-drain"), []string{"coming water-drain: 154 h, over -4 h"})

	// then every 400 h: 104 + 400 = 504, coming from 464
	at("2025-07-01", "400h")
	same(t, "the 400 h service comes first, and takes the oil with it", of(s.due("2025-07-01"), "oil-change", "service-400", "oil-filter-change"),
		[]string{"due service-400: 400 h, over 0 h"})
	at("2025-07-02", "410h")
	s.did("2025-07-02", "service-400")
	at("2025-08-04", "605h")
	oil("from the service: 410 + 400 = 810", "2025-08-04")
}

// Heavy dust and much biodiesel halve, each or both: 400 h after the change at 410 h is 810, halved 610. Two good samples make 400 h 500. The farm goes by
// the oil alone: its services are set to 4,000 h, or they would come first and take the oil with them.
func TestHardOilStretched(t *testing.T) {
	s := newTractor(t)
	for _, job := range []string{"service-400", "service-800", "service-1600"} {
		s.add(&record.Override{Work: s.work("2025-01-10"), Path: "job." + job + ".when.1.every", Value: `"4000 h"`, Page: "p. 1"})
	}
	oil := func(what, on string, want ...string) {
		t.Helper()
		same(t, what, of(s.due(on), "oil-change"), want)
	}
	s.read("2025-07-02", "hours 410h")
	s.did("2025-07-02", "oil-change")
	s.read("2025-08-04", "hours 605h")
	oil("usual", "2025-08-04")
	set(s, "2025-08-04T12:00", "dust", "heavy")
	oil("heavy dust, 5 h before: coming from 590", "2025-08-04", "coming oil-change: 610 h, over -5 h")
	s.read("2025-08-05", "hours 612h")
	oil("heavy dust", "2025-08-05", "overdue oil-change: 610 h, over 2 h")
	set(s, "2025-08-05T12:00", "dust", "usual")
	oil("the dust is over", "2025-08-05")
	set(s, "2025-08-05T13:00", "fuel", "biodiesel-high")
	oil("biodiesel", "2025-08-05", "overdue oil-change: 610 h, over 2 h")
	set(s, "2025-08-05T14:00", "dust", "heavy")
	oil("both are one reason, not two: not 510", "2025-08-05", "overdue oil-change: 610 h, over 2 h")

	s.read("2025-08-12", "hours 620h")
	s.did("2025-08-12", "oil-change")
	set(s, "2025-08-13", "dust", "usual")
	set(s, "2025-08-13", "fuel", "diesel")
	s.read("2026-03-01", "hours 1025h")
	oil("400 h from 620", "2026-03-01", "overdue oil-change: 1020 h, over 5 h")
	s.measure("2025-07-02", "oil-sample", "=ok")
	oil("one good sample is not two", "2026-03-01", "overdue oil-change: 1020 h, over 5 h")
	s.measure("2025-08-12", "oil-sample", "=ok")
	oil("two: 620 + 500 = 1120, coming from 1070", "2026-03-01")
	s.read("2026-05-01", "hours 1121h")
	oil("500 h", "2026-05-01", "overdue oil-change: 1120 h, over 1 h")
	set(s, "2026-05-01T12:00", "dust", "heavy")
	oil("good samples in heavy dust: 620 + 400 x 1/2 x 5/4 = 870", "2026-05-01", "overdue oil-change: 870 h, over 251 h")
	set(s, "2026-05-01T13:00", "dust", "usual")
	s.measure("2026-05-01", "oil-sample", "=watch")
	oil("the last sample was not", "2026-05-01", "overdue oil-change: 1020 h, over 101 h")
}

// The year is never stretched: 12 months from 2025-04-15 at few hours, whatever the samples say; halved it is 6.
func TestHardOilYear(t *testing.T) {
	s := newTractor(t)
	s.read("2025-04-15", "hours 104h")
	s.did("2025-04-15", "oil-change")
	s.measure("2025-04-15", "oil-sample", "=ok")
	s.measure("2025-06-15", "oil-sample", "=ok")
	s.read("2025-10-16", "hours 130h")
	same(t, "half a year", of(s.due("2025-10-16"), "oil-change"), nil)
	same(t, "14 days before", of(s.due("2026-04-01"), "oil-change"), []string{"coming oil-change: 2026-04-15, over -14 d"})
	same(t, "a year", of(s.due("2026-04-15"), "oil-change"), []string{"due oil-change: 2026-04-15, over 0 d"})
	set(s, "2025-10-16", "fuel", "biodiesel-high")
	same(t, "half a year on biodiesel", of(s.due("2025-10-16"), "oil-change"), []string{"overdue oil-change: 2025-10-15, over 1 d"})
}

// A tractor bought new and hardly used: its first year runs from the day it came, 2025-01-10, for 100 h have not passed since it was new. Of one that
// came with 3,100 h nobody knows, until the year is over.
func TestHardOilFirstYear(t *testing.T) {
	s := newTractor(t)
	s.read("2025-12-01", "hours 60h")
	same(t, "new", of(s.due("2026-01-09"), "oil-change"), []string{"coming oil-change: 2026-01-10, over -1 d"})
	same(t, "overdue", of(s.due("2026-01-12"), "oil-change"), []string{"overdue oil-change: 2026-01-10, over 2 d"})
	old := newTractor(t)
	old.entries = slices.DeleteFunc(old.entries, func(e Entry) bool { return e.Kind == "counter" })
	old.read("2025-01-10", "hours 3100h")
	old.read("2025-12-01", "hours 3150h")
	same(t, "old: not known", of(old.due("2025-12-01"), "oil-change"), []string{"unknown oil-change"})
	same(t, "old, after a year", of(old.due("2026-01-12"), "oil-change"), []string{"overdue oil-change: 2026-01-10, over 2 d"})
}

// Bigger services satisfy what they include, and only the biggest stands in the list: without that an 800 h service leaves four lines that are not so.
func TestHardOilNested(t *testing.T) {
	s := newTractor(t)
	small := []string{"service-400", "oil-change", "oil-filter-change", "fuel-filter-change", "cab-filter-change", "hydraulic-filter-change", "grease"}
	all := append([]string{"service-800", "service-1600"}, small...)
	s.read("2025-04-15", "hours 100h")
	for _, job := range []string{"oil-change", "oil-filter-change", "hydraulic-filter-change", "grease"} {
		s.did("2025-04-15", job)
	}
	s.read("2025-08-01", "hours 400h")
	s.did("2025-08-01", "service-400")
	s.read("2025-12-01", "hours 800h")
	s.did("2025-12-01", "grease")
	same(t, "800 h: one line", of(s.due("2025-12-01"), all...), []string{"due service-800: 800 h, over 0 h"})
	s.did("2025-12-01", "service-800")
	same(t, "done: none of the smaller ones is left", of(s.due("2025-12-02"), all...), nil)
	s.read("2026-03-01", "hours 1201h")
	same(t, "1200 h: the smaller one again", of(s.due("2026-03-01"), all...), []string{"overdue service-400: 1200 h, over 1 h"})
}

// Hours on this oil, and is it using any: filled with 20 L at 620 h, 1 L added at 700 h and 1.5 L at 800 h; at 830 h it has 210 h and took 2.5 L.
func TestHardOilFillings(t *testing.T) {
	s := newTractor(t)
	fill := func(day, hours, job, amount string, topUp bool) {
		t.Helper()
		s.read(day, "hours "+hours)
		s.add(&record.Did{Work: s.work(day), Job: job, Fills: []record.Fill{{Of: "engine oil", Amount: quantity.MustParse(amount), TopUp: topUp}}})
	}
	oil := func(day string) *Part { t.Helper(); return s.state(day).Machine("green").Slots["engine-oil"][""].Part }
	fill("2025-03-01", "90h", "oil-level", "0.5 L", true)
	if p := oil("2025-03-02"); p.In != "" || len(p.Fillings) != 1 {
		t.Errorf("the oil it came with: %+v", p)
	}
	fill("2025-08-12", "620h", "oil-change", "20 L", false)
	fill("2025-09-01", "700h", "oil-level", "1 L", true)
	fill("2025-10-01", "800h", "walk-round", "1500 mL", true)
	s.read("2025-10-10", "hours 830h")
	p := oil("2025-10-10")
	wantQ(t, "hours on this oil", p.Use["hours"], "210 h")
	sum, fits := p.ToppedUp()
	if wantQ(t, "topped up", sum, "2.5 L"); !fits || p.In != "2025-08-12" {
		t.Errorf("in since %s, fits %v", p.In, fits)
	}
	for i, want := range []string{"0 h", "80 h", "180 h"} {
		if i >= len(p.Fillings) {
			t.Fatalf("%d fillings, want 3", len(p.Fillings))
		}
		wantQ(t, "use at a filling", p.Fillings[i].Use["hours"], want)
	}
	// a service that includes the change has new oil in too, once; the old oil is gone and keeps its hours
	s.read("2025-12-01", "hours 1000h")
	s.did("2025-12-01", "service-400")
	s.read("2025-12-20", "hours 1010h")
	wantQ(t, "the service's oil", oil("2025-12-20").Use["hours"], "10 h")
	if n := len(oil("2025-12-20").Fillings); n != 0 {
		t.Errorf("the new oil has %d fillings", n)
	}
	for _, q := range s.state("2025-12-20").Parts {
		if q.ID == p.ID {
			if wantQ(t, "the old oil", q.Use["hours"], "380 h"); q.Gone != "scrapped" {
				t.Errorf("the old oil is %q", q.Gone)
			}
		}
	}
	// a swap of the fluid is the same, and does not do it twice
	s.swap("2025-12-22", "engine-oil", "new")
	wantQ(t, "swapped", oil("2025-12-22").Use["hours"], "0 h")
	if got := of(s.due("2025-12-22"), "oil-change"); len(got) != 0 {
		t.Errorf("after the swap %v", got)
	}
	filters := s.state("2025-12-22").Machine("green").Slots["oil-filter"][""]
	if !filters.Unknown {
		t.Error("a filter is no fluid: the service alone does not say that it is new")
	}
}
