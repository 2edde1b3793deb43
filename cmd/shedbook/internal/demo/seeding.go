package demo

import (
	"fmt"
	"time"

	"shedbook/rules/record"
)

// seeding plans one season of both drills: opened, set alike, run day by day with counters read each evening, reset for conditions, closed.
func (t *teller) seeding(i int, s season) {
	from := day(s.from)
	last := day(lastDay)
	if s.to != "" {
		last = day(s.to)
	}
	t.shared(from.AddDate(0, 0, -45).Add(20*time.Hour), wren, "plan "+s.name, func(*teller) record.Record {
		return &record.Season{Act: "plan", Name: s.name, Work: "seeding", From: s.from, Done: done(from.AddDate(0, 0, -45)),
			Use: []record.PlannedUse{{Kind: "disc-drill", Counter: "area", Amount: q("1500 ac")}}}
	}, nil)
	t.shared(from.Add(6*time.Hour), wren, "open "+s.name, func(*teller) record.Record {
		return &record.Season{Act: "open", Name: s.name, Work: "seeding", Done: done(from)}
	}, nil)
	for _, name := range []string{"drill", "creek-drill"} {
		t.drillSeason(t.machines[name], i, s, from, last)
	}
	if s.to != "" {
		t.shared(last.Add(20*time.Hour), wren, "close "+s.name, func(*teller) record.Record {
			return &record.Season{Act: "close", Name: s.name, Work: "seeding", Done: done(last)}
		}, nil)
	}
}

// drillSeason runs one drill through one season.
func (t *teller) drillSeason(m *machine, i int, s season, from, last time.Time) {
	all := m.fitted.All("opener")
	n := all.Len()
	shop := from.AddDate(0, 0, -8)
	// The trip counter is zeroed each spring; the lifetime counter goes on.
	trip := amount(m.face["trip-area"], "ac")
	t.work(t.evening(shop), m.device, m.name, done(shop), nil, func(_ *teller, w record.Work) record.Record {
		return &record.Counter{Work: w, Acts: []record.CounterAct{{Counter: "trip-area", Act: "reset", Last: trip}}}
	}, nil)
	tripAtReset := m.face["area"]
	// Set alike in the shop.
	t.work(t.evening(shop), m.device, m.name, done(shop), words("all openers set alike on the concrete"), func(_ *teller, w record.Work) record.Record {
		return &record.Adjust{Work: w, Changes: []record.Change{
			{Setting: "depth", Positions: all, To: record.Amount(q("6"))},
			{Setting: "gauge-shims", Positions: all, To: record.Amount(q("2"))},
		}}
	}, nil)
	t.discs(m, shop)
	t.preseason(m, i, shop)
	perDay := s.perDay * float64(n) / 48
	worked := 0
	for d := from; !d.After(last); d = d.AddDate(0, 0, 1) {
		if i == 3 && d.Equal(day("2026-09-26")) { // before the day's acres
			morning := d.Add(7*time.Hour + 10*time.Minute)
			t.scrapers(m, morning, record.Done(morning.Format("2006-01-02T15:04")))
		}
		if d.Weekday() == time.Sunday || t.dice.IntN(4) == 0 { // rain, and Sundays
			continue
		}
		worked++
		acres := float64(int(perDay * (0.7 + 0.6*t.dice.Float64())))
		m.face["area"] += acres
		m.wears(acres, s.soil)
		m.face["trip-area"] = m.face["area"] - tripAtReset
		at := t.evening(d)
		if m.device == ash && t.dice.IntN(3) == 0 { // Ash writes some evenings up days later
			at = t.evening(d.AddDate(0, 0, 2+t.dice.IntN(9)))
		}
		if !at.Before(day(lastDay).AddDate(0, 0, 1)) {
			at = t.evening(d)
		}
		t.reads(at, m, d, record.CounterAct{Counter: "area", Act: "at", Value: amount(m.face["area"], "ac")},
			record.CounterAct{Counter: "trip-area", Act: "at", Value: amount(m.face["trip-area"], "ac")})
		field := s.fields[worked/7%len(s.fields)]
		if worked%4 == 1 {
			t.resets(m, d, field, worked)
		}
		t.torque(m, i, d, worked)
		if worked%3 == 2 {
			t.did(t.evening(d), m.device, m, d, "depth-check", all, record.Positions{}, nil, n/2)
		}
		if worked%6 == 0 && !(i == 3 && (m.name == "creek-drill" || hurried(d))) {
			t.did(t.evening(d), m.device, m, d, "grease", all, record.Positions{}, m.read("area"), 2*n)
		}
		if m.face["area"]-m.scraped > 320 && !hurried(d) {
			t.scrapers(m, t.evening(d), done(d))
		}
		if worked%5 == 2 {
			t.note(t.evening(d), m.device, m, d, fmt.Sprintf("%s: stand looks even behind %s", field, m.name))
		}
	}
	if s.to != "" {
		wash := last.AddDate(0, 0, 3)
		sloppy := i == 2 && m.name == "creek-drill" // last spring the creek drill was left standing with seed in it, and no grease
		if !sloppy {
			t.did(t.evening(wash), m.device, m, wash, "grease", all, record.Positions{}, m.read("area"), 2*n)
		}
		t.discs(m, wash.AddDate(0, 0, 10))
		t.did(t.evening(wash.AddDate(0, 0, 10)), m.device, m, wash.AddDate(0, 0, 10), "disc-wear", all, record.Positions{}, nil, n)
		t.did(t.evening(wash.AddDate(0, 0, 11)), m.device, m, wash.AddDate(0, 0, 11), "boot-check", all, record.Positions{}, nil, n/2)
		if !sloppy {
			t.did(t.evening(wash.AddDate(0, 0, 1)), m.device, m, wash.AddDate(0, 0, 1), "put-away", record.Positions{}, record.Positions{}, nil, 240)
		}
	}
}

// preseason plans the shop work before a season. In the last autumn some of it was left undone: the drill's packers were not looked at, and the creek
// drill went out with neither preset nor grease.
func (t *teller) preseason(m *machine, i int, shop time.Time) {
	all := m.fitted.All("opener")
	n := all.Len()
	left := map[string]bool{}
	if i == 3 {
		left = map[string]bool{"drill packer-check": true, "creek-drill preset": true, "creek-drill grease": true}
	}
	for k, job := range []string{"depth-reset", "packer-check", "drag-check", "scraper-height", "scraper-face", "preset", "grease", "torque-check"} {
		if left[m.name+" "+job] {
			continue
		}
		d := shop.AddDate(0, 0, k/2)
		where, skipped := all, record.Positions{}
		if missed := map[int]int{1: 31, 3: 9}[i]; job == "grease" && missed > 0 && missed <= n { // a fitting that took no grease
			skipped = openers(missed, missed)
			where = all.Without(skipped)
		}
		t.did(t.evening(d), m.device, m, d, job, where, skipped, m.read("area"), 2*n)
	}
	m.scraped = m.face["area"]
}

// scrapers plans a round of setting the scrapers to the discs' size, written down at a time.
func (t *teller) scrapers(m *machine, at time.Time, when record.Done) {
	all, read := m.fitted.All("opener"), m.read("area")
	t.work(at, m.device, m.name, when, nil, func(_ *teller, w record.Work) record.Record {
		w.Counters, w.Minutes = read, 2*all.Len()
		return &record.Did{Work: w, Job: "scraper-height", Positions: all}
	}, nil)
	m.scraped = m.face["area"]
}

// hurried reports the last days of the open autumn, in which only what could not wait was done.
func hurried(d time.Time) bool { return !d.Before(day("2026-09-27")) }

// torque plans the checks of what the preset loosened: after the first hours, after 20 h, when two have moved, and once more, when none has. This autumn
// the drill's was not done once more.
func (t *teller) torque(m *machine, i int, d time.Time, worked int) {
	all := m.fitted.All("opener")
	moved := openers(3+i, 3+i).Union(openers(17, 17))
	var results []record.Result
	switch {
	case worked == 4:
		results = []record.Result{{Positions: moved, Word: "moved"}, {Positions: all.Without(moved), Word: "none-moved"}}
	case worked == 8 && !(i == 3 && m.name == "drill"):
		results = []record.Result{{Positions: all, Word: "none-moved"}}
	case worked != 1:
		return
	}
	t.did(t.evening(d), m.device, m, d, "torque-check", all, record.Positions{}, m.read("area"), all.Len(), results...)
}

// resets plans a change for conditions: a wing deeper on the tracks, everything back at the next field.
func (t *teller) resets(m *machine, d time.Time, field string, worked int) {
	n := m.fitted.All("opener").Len()
	where, to := openers(1, n/3), "7"
	if worked%8 == 5 {
		where, to = m.fitted.All("opener"), "6"
	}
	t.work(t.evening(d), m.device, m.name, record.Done(d.Format("2006-01-02")+"T07:40"), nil, func(_ *teller, w record.Work) record.Record {
		w.Field, w.Crop = field, "barley"
		return &record.Adjust{Work: w, Changes: []record.Change{{Setting: "depth", Positions: where, To: record.Amount(q(to))}}}
	}, nil)
}

// wears takes a day's acres off every disc, each at its own rate in this season's soil.
func (m *machine) wears(acres, soil float64) {
	for i := range m.discs {
		m.discs[i] -= acres * soil * 0.00017 * (0.8 + 0.4*float64(i*7%11)/10)
	}
}

// discs plans a round of measuring: every opener, one or two out of reach.
func (t *teller) discs(m *machine, d time.Time) {
	read := m.read("area")
	r := &record.Measure{Reading: "disc-reach", With: "steel tape"}
	for i, p := range m.fitted.All("opener").All() {
		v := record.Measured{Positions: record.NewPositions(p)}
		if t.dice.IntN(30) == 0 {
			v.Cannot = "reach"
		} else {
			v.Found = record.Amount(sixteenth(int(m.discs[i]*16 + 0.5)))
		}
		r.Values = append(r.Values, v)
	}
	t.work(t.evening(d), m.device, m.name, done(d), nil, func(_ *teller, w record.Work) record.Record {
		w.Counters = read
		r.Work = w
		return r
	}, nil)
}

// sixteenth is n/16 of an inch.
func sixteenth(n int) record.Quantity { return q(fmt.Sprintf("%d %d/16 in", n/16, n%16)) }

// read is the main counter as it stands when the act is planned.
func (m *machine) read(counter string) []record.CounterAt { return m.readAt(counter, m.face[counter]) }

func (m *machine) readAt(counter string, n float64) []record.CounterAt {
	c, ok := m.fitted.Counter(counter)
	if !ok {
		return nil
	}
	return []record.CounterAt{{Counter: counter, At: amount(n, c.Unit.String())}}
}
