package demo

import (
	"fmt"
	"time"

	"shedbook/rules/record"
)

// busy reports whether a day lies in one of the seedings.
func busy(d time.Time) bool {
	for _, s := range seedings {
		if !d.Before(day(s.from)) && (s.to == "" || !d.After(day(s.to))) {
			return true
		}
	}
	return false
}

// tractor plans the hours of one tractor: daily in the seedings, every third day else, seldom in winter; the walk round it each day, services by hours, the
// yearly and fortnightly jobs. The hill tractor's hour counter is replaced once, and its last service is late.
func (t *teller) tractor(k int, m *machine) {
	wheels := m.fitted.All("wheel")
	none := record.Positions{}
	service, greased, dusted := m.face["hours"], m.face["hours"], m.face["hours"]
	services := 0
	for d := day("2024-03-04"); !d.After(day(lastDay)); d = d.AddDate(0, 0, 1) {
		t.calendar(k, m, d)
		winter := d.Month() == time.December || d.Month() <= time.February
		if d.Weekday() == time.Sunday || winter && d.Day() != 10+k || !busy(d) && d.YearDay()%3 != k {
			continue
		}
		hours := float64(2 + t.dice.IntN(4))
		if busy(d) {
			hours = float64(6 + t.dice.IntN(5))
		}
		m.face["hours"] += hours
		at, device := t.evening(d), m.device
		if device == ash && t.dice.IntN(5) == 0 && d.Before(day(lastDay).AddDate(0, 0, -14)) {
			at = t.evening(d.AddDate(0, 0, 3+t.dice.IntN(10)))
		}
		if m.name == "big-tractor" && t.dice.IntN(3) == 0 {
			device = tab
		}
		read := m.read("hours")
		t.did(at.Add(-10*time.Minute), device, m, d, "walk-round", none, none, nil, 5)
		t.reads(at, m, d, record.CounterAct{Counter: "hours", Act: "at", Value: read[0].At})
		if m.name == "hill-tractor" && d.Equal(firstAfter("2025-08-18", k)) {
			old := m.face["hours"]
			t.work(at.Add(30*time.Minute), m.device, m.name, done(d), words("display went dark, new one fitted by the shop"), func(t *teller, w record.Work) record.Record {
				w.By = []record.ID{t.ids["shop"]}
				return &record.Counter{Work: w, Acts: []record.CounterAct{{Counter: "hours", Act: "replaced", Last: amount(old, "h")}}}
			}, nil)
			m.face["hours"], service, greased, dusted = 0, service-old, greased-old, dusted-old
		}
		now := m.face["hours"]
		late := d.After(day("2026-07-01"))
		if now-greased > 42 && !(m.name == "creek-tractor" && late) {
			t.did(at.Add(time.Hour), m.device, m, d, "grease", none, none, nil, 25)
			t.did(at.Add(time.Hour+2*time.Minute), m.device, m, d, "water-drain", none, none, nil, 5)
			greased = now
		}
		if now-dusted > 45 {
			t.did(at.Add(time.Hour+4*time.Minute), m.device, m, d, "fire-clean", none, none, nil, 10)
			t.did(at.Add(time.Hour+6*time.Minute), m.device, m, d, "wheel-torque", wheels, none, nil, 20, record.Result{Positions: wheels, Word: "none-moved"})
			dusted = now
		}
		if now-service > 370 && !(m.name == "hill-tractor" && late) {
			services++
			job := "service-400"
			switch {
			case services%4 == 0:
				job = "service-1600"
			case services%2 == 0:
				job = "service-800"
			}
			t.did(at.Add(2*time.Hour), m.device, m, d, job, none, none, nil, 120)
			service = now
		}
	}
}

// calendar plans the jobs that come by the date: extinguisher and tyres monthly and fortnightly, the rest each January and July.
func (t *teller) calendar(k int, m *machine, d time.Time) {
	wheels := m.fitted.All("wheel")
	none := record.Positions{}
	at := d.Add(17*time.Hour + time.Duration(k)*time.Minute)
	if d.Day() == 2 || d.Day() == 15 {
		t.did(at, m.device, m, d, "tyre-pressure-check", wheels, none, nil, 12)
	}
	if d.Day() == 1 {
		t.did(at, m.device, m, d, "extinguisher-look", none, none, nil, 1)
	}
	if d.Day() == 20 && (d.Month() == time.January || d.Month() == time.July) {
		t.did(at, m.device, m, d, "battery-test", none, none, nil, 15)
	}
	if d.Day() == 21 && d.Month() == time.January {
		t.did(at, m.device, m, d, "brake-test", none, none, nil, 60)
		t.did(at.Add(2*time.Minute), m.device, m, d, "coolant-test", none, none, nil, 5)
		t.did(at.Add(4*time.Minute), m.device, m, d, "tread-check", wheels, none, nil, 12)
		if !(m.name == "creek-tractor" && d.Year() == 2026) { // its tag ran out in January
			t.work(at.Add(6*time.Minute), m.device, m.name, done(d), nil, func(t *teller, w record.Work) record.Record {
				w.By = []record.ID{t.ids["shop"]}
				return &record.Did{Work: w, Job: "extinguisher-tag", Outcome: "pass", Until: d.AddDate(1, 0, 0).Format("2006-01-02")}
			}, nil)
		}
	}
	if d.Format("2006-01-02") == "2026-02-10" {
		t.did(at, m.device, m, d, "air-filter-change", none, none, nil, 15)
	}
}

// firstAfter is the first day from a date on which tractor k has an entry outside the seedings.
func firstAfter(date string, k int) time.Time {
	d := day(date)
	for d.Weekday() == time.Sunday || d.YearDay()%3 != k {
		d = d.AddDate(0, 0, 1)
	}
	return d
}

// spraying plans the sprayer's year: a season of its own, counters by the day, a catch test before each.
func (t *teller) spraying() {
	m := t.machines["sprayer"]
	nozzles := m.fitted.All("nozzle").All()
	for _, year := range []int{2024, 2025, 2026} {
		name := fmt.Sprintf("spraying %d", year)
		from, to := day(fmt.Sprintf("%d-05-12", year)), day(fmt.Sprintf("%d-07-08", year))
		t.shared(from.Add(6*time.Hour), juno, "open "+name, func(*teller) record.Record {
			return &record.Season{Act: "open", Name: name, Work: "spraying", Done: done(from)}
		}, nil)
		test := from.AddDate(0, 0, -3)
		t.work(t.evening(test), sam, m.name, done(test), nil, func(t *teller, w record.Work) record.Record {
			r := &record.Measure{Work: w, Reading: "catch", With: "jug and watch", Condition: []record.Condition{{Name: "pressure", Value: q("40 psi")}}}
			for i, p := range nozzles {
				v := record.Measured{Positions: record.NewPositions(p), Found: record.Amount(q(fmt.Sprintf("%d.%d floz", 22+(year-2024)/2, (i*3+year)%10)))}
				if i == 3 && year == 2025 { // plugged, then cleaned
					v.Found, v.Left = record.Amount(q("15.5 floz")), record.Amount(q("22.4 floz"))
				}
				if i == 20 && year == 2026 {
					v.Found = record.Amount(q("25.1 floz"))
				}
				r.Values = append(r.Values, v)
			}
			return r
		}, nil)
		for d := from; !d.After(to); d = d.AddDate(0, 0, 1) {
			if t.dice.IntN(2) == 0 {
				continue
			}
			m.face["area"] += float64(60 + t.dice.IntN(80))
			m.face["hours"] += float64(3 + t.dice.IntN(4))
			t.reads(t.evening(d), m, d, record.CounterAct{Counter: "area", Act: "at", Value: amount(m.face["area"], "ac")},
				record.CounterAct{Counter: "hours", Act: "at", Value: amount(m.face["hours"], "h")})
		}
		t.shared(to.Add(21*time.Hour), juno, "close "+name, func(*teller) record.Record {
			return &record.Season{Act: "close", Name: name, Work: "spraying", Done: done(to)}
		}, nil)
		if year < 2026 { // this year nobody flushed it yet
			t.did(t.evening(to.AddDate(0, 0, 2)), sam, m, to.AddDate(0, 0, 2), "flush", record.Positions{}, record.Positions{}, m.read("area"), 45)
			t.did(t.evening(to.AddDate(0, 0, 3)), sam, m, to.AddDate(0, 0, 3), "pump-oil", record.Positions{}, record.Positions{}, m.read("hours"), 30)
		}
	}
}
