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

// tractors plans the hours of the three tractors: daily in the seedings, twice a week else, less in winter; daily checks, oil changes, one hour counter replaced.
func (t *teller) tractors() {
	for k, name := range []string{"big-tractor", "hill-tractor", "creek-tractor"} {
		m := t.machines[name]
		oil, greased := m.face["hours"], m.face["hours"]
		for d := day("2024-03-04"); !d.After(day(lastDay)); d = d.AddDate(0, 0, 1) {
			winter := d.Month() == time.December || d.Month() <= time.February
			switch {
			case d.Weekday() == time.Sunday, winter && d.Day() != 10+k, !busy(d) && d.YearDay()%3 != k:
				continue
			}
			hours := float64(2 + t.dice.IntN(4))
			if busy(d) {
				hours = float64(6 + t.dice.IntN(5))
			}
			m.face["hours"] += hours
			at := t.evening(d)
			if m.device == ash && t.dice.IntN(5) == 0 && d.Before(day(lastDay).AddDate(0, 0, -14)) {
				at = t.evening(d.AddDate(0, 0, 3+t.dice.IntN(10)))
			}
			device := m.device
			if name == "big-tractor" && t.dice.IntN(3) == 0 {
				device = tab
			}
			read := m.read("hours")
			if busy(d) {
				t.did(at.Add(-10*time.Minute), device, m, d, "walk-round", record.Positions{}, record.Positions{}, nil, 5)
			}
			t.reads(at, m, d, record.CounterAct{Counter: "hours", Act: "at", Value: read[0].At})
			if name == "hill-tractor" && d.Equal(firstAfter("2025-08-18", k)) { // the hour counter's display died and was replaced by a new one
				old := m.face["hours"]
				t.work(at.Add(30*time.Minute), m.device, m.name, done(d), words("display went dark, new one fitted by the shop"), func(t *teller, w record.Work) record.Record {
					w.By = []record.ID{t.ids["shop"]}
					return &record.Counter{Work: w, Acts: []record.CounterAct{{Counter: "hours", Act: "replaced", Last: amount(old, "h")}}}
				}, nil)
				m.face["hours"], oil, greased = 0, oil-old, greased-old
			}
			if m.face["hours"]-greased > 55 && !(name == "creek-tractor" && d.After(day("2026-07-01"))) {
				t.did(at.Add(time.Hour), m.device, m, d, "grease", record.Positions{}, record.Positions{}, read, 25)
				greased = m.face["hours"]
			}
			if m.face["hours"]-oil > 380 && !(name == "hill-tractor" && d.After(day("2026-05-01"))) {
				t.did(at.Add(2*time.Hour), m.device, m, d, "service-400", record.Positions{}, record.Positions{}, read, 70)
				oil = m.face["hours"]
			}
		}
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
