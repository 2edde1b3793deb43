package rules

import (
	"testing"

	"shedbook/rules/record"
)

func TestUseAt(t *testing.T) {
	b := newNotebook(t)
	b.reads("2026-04-01", "area at 1800 ac")
	b.reads("2026-04-11", "area at 1900 ac") // ten days, 10 ac each
	b.reads("2026-04-14", "area at 1910 ac") // three days, 3 1/3 ac each
	m := b.drill("2026-04-14")
	for _, c := range []struct {
		at, want string
	}{
		{"2026-03-31", ""},
		{"2026-04-01T23:59", ""},
		{"2026-04-01", "1800 ac"},
		{"2026-04-06", "1850 ac"},
		{"2026-04-04T12:00", "1825 ac"}, // two and a half days
		{"2026-04-04T12:36", "1825.2 ac"},
		{"2026-04-12", "1903.3 ac"},
		{"2026-04-13", "1906.7 ac"},
		{"2026-04-14", "1910 ac"},
	} {
		got, ok := m.UseAt("area", record.Done(c.at))
		if ok != (c.want != "") || ok && got.String() != c.want {
			t.Errorf("%s: got %s %v, want %s", c.at, got, ok, c.want)
		}
	}
	if _, ok := m.UseAt("bales", "2026-04-14"); ok {
		t.Error("a counter it has not is known")
	}
	if _, ok := m.UseAt("field", "2026-04-14"); ok {
		t.Error("a counter never read is known")
	}
}

func TestUseAtMidnight(t *testing.T) {
	b := newNotebook(t)
	b.reads("2026-04-01", "area at 1800 ac")
	b.reads("2026-04-02T00:00", "area at 1800 ac") // the same moment
	b.reads("2026-04-03", "area at 1820 ac")
	m := b.drill("2026-04-03")
	got, _ := m.UseAt("area", "2026-04-02")
	wantQ(t, "half of two days", got, "1810 ac")
}

func TestEstimate(t *testing.T) {
	for _, c := range []struct {
		name   string
		write  func(b *notebook)
		on     string
		want   string
		beyond bool
		perDay float64
		from   string
	}{
		{"one reading says no rate", func(b *notebook) {
			b.reads("2026-04-01", "area at 1000 ac")
		}, "2026-05-01", "1000 ac", false, 0, ""},
		// 365 ac in 365 days; ten days on.
		{"a year", func(b *notebook) {
			b.reads("2025-04-01", "area at 1000 ac")
			b.reads("2026-04-01", "area at 1365 ac")
		}, "2026-04-11", "1375 ac", true, 1, "2025-04-01"},
		// What went before the last 365 days does not matter.
		{"the last year only", func(b *notebook) {
			b.reads("2020-04-01", "area at 0 ac")
			b.reads("2025-04-01", "area at 1000 ac")
			b.reads("2026-04-01", "area at 1365 ac")
		}, "2026-04-11", "1375 ac", true, 1, "2025-04-01"},
		// 50 ac a day, but seen for two days only: carried on for two.
		{"a short stretch is not carried on for long", func(b *notebook) {
			b.reads("2026-04-01", "area at 1000 ac")
			b.reads("2026-04-03", "area at 1100 ac")
		}, "2026-05-01", "1200 ac", true, 50, "2026-04-01"},
		// 40 ac in two hours of one morning are 40 ac a day, not 480; two and a half days on that is carried on for the one day it stands for.
		{"two readings of one day", func(b *notebook) {
			b.reads("2026-04-01T08:00", "area at 1000 ac")
			b.reads("2026-04-01T10:00", "area at 1040 ac")
		}, "2026-04-03", "1080 ac", true, 40, "2026-04-01"},
		// 14 of 24 hours later: 40 ac x 14/24 = 23.3 ac.
		{"two readings of one day, that evening", func(b *notebook) {
			b.reads("2026-04-01T08:00", "area at 1000 ac")
			b.reads("2026-04-01T10:00", "area at 1040 ac")
		}, "2026-04-01", "1063.3 ac", true, 40, "2026-04-01"},
		{"on the day of the reading", func(b *notebook) {
			b.reads("2026-04-01", "area at 1000 ac")
			b.reads("2026-04-03", "area at 1100 ac")
		}, "2026-04-03", "1100 ac", false, 50, "2026-04-01"},
		// In storage from 1 October to 15 March, 165 days: 200 ac in 200 days. Then four days until it is stored again.
		{"storage counts for nothing", func(b *notebook) {
			b.reads("2025-04-01", "area at 1000 ac")
			b.add(&record.Store{Work: b.on("2025-10-01"), Act: "in"})
			b.add(&record.Store{Work: b.on("2026-03-15"), Act: "out"})
			b.reads("2026-04-01", "area at 1200 ac")
			b.add(&record.Store{Work: b.on("2026-04-05"), Act: "in"})
		}, "2026-05-01", "1204 ac", true, 1, "2025-04-01"},
		{"no use, no rate", func(b *notebook) {
			b.reads("2025-04-01", "area at 1000 ac")
			b.reads("2026-04-01", "area at 1000 ac")
		}, "2026-05-01", "1000 ac", false, 0, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newNotebook(t)
			c.write(b)
			n := b.drill(c.on).Counters["area"]
			wantQ(t, "estimate", n.Estimate, c.want)
			wantEqual(t, "goes beyond", n.Estimated, c.beyond)
			if c.perDay == 0 {
				if n.PerDay != nil {
					t.Errorf("rate %v, want none", *n.PerDay)
				}
				return
			}
			if n.PerDay == nil {
				t.Fatal("no rate")
			}
			wantEqual(t, "a day", n.PerDay.PerDay, c.perDay)
			wantEqual(t, "from", n.PerDay.From, c.from)
		})
	}
}

// A job done after the last reading is placed where the counter is thought to have been, so that what has been used since is not overstated.
func TestDoingAfterLastReading(t *testing.T) {
	b := newNotebook(t)
	b.reads("2025-04-01", "area at 1000 ac")
	b.reads("2026-04-01", "area at 1365 ac")
	b.add(&record.Did{Work: b.on("2026-04-06"), Job: "fan-check"})
	d := b.drill("2026-04-11").Jobs["fan-check"].Done[""][0]
	wantQ(t, "five days on", d.Counters["area"], "1370 ac")
	wantEqual(t, "marked", d.Estimated, true)
}

// An entry's own reading is its use, also where another reading of that day was higher.
func TestDoingAtOwnReading(t *testing.T) {
	b := newNotebook(t)
	b.reads("2026-04-01", "area at 1000 ac")
	b.add(&record.Did{Work: b.on("2026-04-06", "area 1040 ac"), Job: "fan-check"})
	b.reads("2026-04-06", "area at 1070 ac")
	d := b.drill("2026-04-11").Jobs["fan-check"].Done[""][0]
	wantQ(t, "own reading", d.Counters["area"], "1040 ac")
	wantEqual(t, "marked", d.Estimated, false)
}

func TestWorkedDays(t *testing.T) {
	b := newNotebook(t)
	b.reads("2026-04-01", "area at 1000 ac") // the first reading says nothing of that day
	b.reads("2026-04-02", "area at 1040 ac")
	b.reads("2026-04-03", "area at 1040 ac") // stood still
	b.reads("2026-04-04", "area add 30 ac")
	adjust := &record.Adjust{Work: b.on("2026-04-06"), Changes: []record.Change{{Setting: "depth", To: steps("3")}}}
	adjust.Field = "north of the road"
	b.add(adjust)
	b.reads("2026-05-01", "field reset last 20 ac")
	wantList(t, "worked", b.drill("2026-12-31").Worked, "2026-04-02", "2026-04-04", "2026-04-06")
}
