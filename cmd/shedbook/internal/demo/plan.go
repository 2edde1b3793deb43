package demo

import (
	_ "embed"
	"fmt"
	"time"

	"shedbook/ledger"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

//go:embed sprayer.toml
var sprayerText string

// lastDay is the day the story ends on: the autumn seeding is open.
const lastDay = "2026-10-02"

// season is one of the story's seedings.
type season struct {
	name     string
	from, to string  // "" to: still open
	soil     float64 // how hard the ground was on the discs
	fields   []string
	perDay   float64 // acres a day of the big drill
}

var seedings = []season{
	{"spring seeding 2024", "2024-04-08", "2024-05-04", 1.0, []string{"north flat", "river field", "barn field"}, 74},
	{"spring seeding 2025", "2025-04-10", "2025-05-07", 1.5, []string{"north flat", "long hill", "river field"}, 70},
	{"spring seeding 2026", "2026-04-06", "2026-05-02", 0.9, []string{"barn field", "long hill", "north flat"}, 78},
	{"autumn seeding 2026", "2026-09-14", "", 1.2, []string{"river field", "barn field"}, 72},
}

// plan lays out the whole story; nothing is signed yet.
func (t *teller) plan() error {
	t.story.LastDay = lastDay
	if err := t.holding(); err != nil {
		return err
	}
	for i, s := range seedings {
		t.seeding(i, s)
		t.winter(i)
	}
	t.shared(day("2026-09-27").Add(20*time.Hour), wren, "plan spring seeding 2027", func(*teller) record.Record {
		return &record.Season{Act: "plan", Name: "spring seeding 2027", Work: "seeding", From: "2027-04-05", Done: "2026-09-27",
			Use: []record.PlannedUse{{Kind: "disc-drill", Counter: "area", Amount: q("1400 ac")}}}
	}, nil)
	for k, name := range []string{"big-tractor", "hill-tractor", "creek-tractor"} {
		t.tractor(k, t.machines[name])
	}
	t.spraying()
	t.trouble()
	return nil
}

// holding plans farms, yards, schedules, people without devices and the six machines.
func (t *teller) holding() error {
	at := day("2024-02-13").Add(18 * time.Hour)
	next := func() time.Time { at = at.Add(3 * time.Minute); return at }
	for _, f := range []string{"Alder Farm", "Creekside"} {
		t.shared(next(), wren, f, func(*teller) record.Record { return &record.Farm{Name: f} }, nil)
	}
	for _, y := range []struct{ name, farm string }{{"home", "Alder Farm"}, {"hill", "Alder Farm"}, {"creek", "Creekside"}} {
		t.shared(next(), wren, "yard "+y.name, func(t *teller) record.Record { return &record.Yard{Name: y.name, Farm: t.ids[y.farm]} }, nil)
		t.adds(next(), "shelf "+y.name, func(t *teller, w record.Work, key string) record.Record {
			return &record.Shelf{Work: w, Key: key, Yard: t.ids["yard "+y.name]}
		})
	}
	t.shared(next(), wren, "shop", func(*teller) record.Record { return &record.Person{} }, &record.Private{Name: "Tern Valley Repairs (made up)"})
	texts := map[string]*schedule.Schedule{}
	for _, name := range []string{"disc-drill", "tractor"} {
		s, ok := schedule.Builtin(name)
		if !ok {
			return fmt.Errorf("demo: no built-in schedule %q", name)
		}
		texts[name] = s
	}
	own, err := schedule.Parse("sprayer.toml", []byte(sprayerText))
	if err != nil {
		return fmt.Errorf("demo: %w", err)
	}
	texts[own.Name] = own
	for _, name := range []string{"disc-drill", "tractor", "field-sprayer"} {
		t.shared(next(), wren, "schedule "+name, func(*teller) record.Record { return &record.Schedule{Name: name, Text: texts[name].Text} }, nil)
	}
	for _, m := range []*machine{
		{name: "drill", kind: "disc-drill", yard: "home", device: wren, options: []record.Option{{Name: "openers", Value: "48"}}, face: map[string]float64{"area": 1600, "trip-area": 0}},
		{name: "creek-drill", kind: "disc-drill", yard: "creek", device: ash, options: []record.Option{{Name: "openers", Value: "24"}}, face: map[string]float64{"area": 840, "trip-area": 0}},
		{name: "big-tractor", kind: "tractor", yard: "home", device: wren, year: 2021, face: map[string]float64{"hours": 3120}},
		{name: "hill-tractor", kind: "tractor", yard: "hill", device: sam, year: 2017, face: map[string]float64{"hours": 7805}},
		{name: "creek-tractor", kind: "tractor", yard: "creek", device: ash, year: 2020, face: map[string]float64{"hours": 1510}},
		{name: "sprayer", kind: "field-sprayer", yard: "hill", device: sam, options: []record.Option{{Name: "nozzles", Value: "36"}}, face: map[string]float64{"area": 9200, "hours": 640}},
	} {
		if m.fitted, err = texts[m.kind].Fit(m.options, nil, nil); err != nil {
			return fmt.Errorf("demo, %s: %w", m.name, err)
		}
		t.machines[m.name] = m
		for range m.fitted.All("opener").All() {
			m.discs = append(m.discs, 6.3)
		}
		var faces []record.CounterAt
		for _, c := range m.fitted.Counters {
			if n, ok := m.face[c.Name]; ok {
				faces = append(faces, record.CounterAt{Counter: c.Name, At: amount(n, c.Unit.String())})
			}
		}
		t.adds(next(), m.name, func(t *teller, w record.Work, key string) record.Record {
			w.Counters = faces
			return &record.Machine{Work: w, Key: key, Name: m.name, Schedule: m.kind, Yard: t.ids["yard "+m.yard], Options: m.options, Title: "made up for this demo", Year: m.year}
		})
		// A starting line: taken as good on the first of March, nothing proved.
		t.work(t.evening(day("2024-03-01")), wren, m.name, "2024-03-01", words("looked over in the shop; taken as good"), func(_ *teller, w record.Work) record.Record {
			a := &record.Assume{Work: w, Good: true}
			if m.kind == "disc-drill" {
				a.Items = []record.Assumed{{Name: "disc", Positions: m.fitted.All("opener"), Worn: q("20 %")}}
			}
			return a
		}, nil)
	}
	t.overrides(next)
	return nil
}

// adds plans an entry that brings a machine or shelf into the book, with a key of its own.
func (t *teller) adds(at time.Time, name string, build func(*teller, record.Work, string) record.Record) {
	t.plans(at, wren, func(t *teller) (ledger.Draft, error) {
		key, err := ledger.NewMachineKey(t.random)
		if err != nil {
			return ledger.Draft{}, err
		}
		text, err := key.MarshalText()
		if err != nil {
			return ledger.Draft{}, err
		}
		t.keys[name] = key
		r := build(t, record.Work{Done: done(at)}, string(text))
		return ledger.Draft{Class: ledger.Work, Kind: r.Kind(), Record: r, Machine: &key}, nil
	}, func(t *teller, e *ledger.Entry) { t.ids[name] = idOf(e) })
}

// overrides plans the single values that this family took from its machines' manuals.
func (t *teller) overrides(next func() time.Time) {
	t.work(next(), wren, "big-tractor", "2024-02-13", nil, func(_ *teller, w record.Work) record.Record {
		return &record.Override{Work: w, Path: "job.oil-change.when.1.every", Value: `["400 h", "12 mo"]`, Page: "operator's manual, page 212 (made up)"}
	}, nil)
}
