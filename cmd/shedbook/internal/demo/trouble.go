package demo

import (
	"time"

	"shedbook/ledger"
	"shedbook/rules/record"
)

// trouble plans what went wrong: faults opened and repaired, some still open, mistakes corrected and struck.
func (t *teller) trouble() {
	at := func(date string) (time.Time, time.Time) { d := day(date); return t.evening(d), d }
	drill, creek, big, hill, sprayer := t.machines["drill"], t.machines["creek-drill"], t.machines["big-tractor"], t.machines["hill-tractor"], t.machines["sprayer"]
	for _, f := range []struct {
		m                    *machine
		opened, closed       string
		by                   string
		name, severity, text string
		where                record.Positions
		tiedUp               bool
		repair, cost         string
		used                 []record.Need
	}{
		{drill, "2024-04-17", "2024-04-17", wren, "hub 9", "stop", "hub out, bearing gone", openers(9, 9), true, "new hub from the shelf", "88.40", []record.Need{{What: "hub", Count: 1}}},
		{drill, "2024-05-06", "2025-01-14", wren, "arm 31", "winter", "scraper arm bent", openers(31, 31), false, "arm straightened and welded", "", nil},
		{drill, "2025-04-22", "2025-04-23", tab, "hose", "stop", "left wing hose weeps at the fold", record.Positions{}, false, "hose replaced", "64.00", []record.Need{{What: "hydraulic hose", Count: 1}}},
		{creek, "2025-04-28", "2025-12-18", ash, "boot 14", "winter", "seed boot cracked", openers(14, 14), false, "boot replaced", "41.75", []record.Need{{What: "seed boot", Count: 1}}},
		{big, "2025-07-03", "2025-07-05", wren, "alternator", "soon", "battery light flickers", record.Positions{}, false, "alternator belt replaced", "32.10", []record.Need{{What: "belt", Count: 1}}},
		{hill, "2025-11-20", "2026-01-20", sam, "brake", "stop", "left brake pulls", record.Positions{}, false, "brakes evened by the shop", "410.00", nil},
		{sprayer, "2026-06-02", "2026-06-03", sam, "boom", "soon", "right boom hangs low", record.Positions{}, false, "boom cable shortened", "", nil},
		// Still open on the last day.
		{drill, "2026-09-24", "", wren, "hub 23", "winter", "hub rough, runs warm", openers(23, 23), false, "", "", nil},
		{drill, "2026-09-29", "", tab, "opener 41", "stop", "arm pin sheared, tied up to finish the field", openers(41, 41), true, "", "", nil},
		{creek, "2026-09-22", "", ash, "lights", "soon", "rear lights dead on the road side", record.Positions{}, false, "", "", nil},
		{hill, "2026-08-11", "", sam, "seat", "tidy", "seat cover torn", record.Positions{}, false, "", "", nil},
	} {
		when, d := at(f.opened)
		t.fault(when, f.by, f.m, d, f.name, f.severity, f.text, f.where, f.tiedUp)
		if f.closed == "" {
			continue
		}
		when2, d2 := at(f.closed)
		if !when2.After(when) {
			when2 = when.Add(40 * time.Minute)
		}
		t.repair(when2, f.by, f.m, d2, f.name, f.repair, f.cost, f.where, f.used...)
	}
	t.mistakes(drill)
	t.autumn()
}

// autumn plans what this autumn's hurry left behind, each small and none of it put right by the last day: on the creek drill a depth tried deeper on one
// opener, on the drill a disc changed in the field without its scraper, and a hub greased before its bearing was preset; on the sprayer a hose that was
// bound up in June and stayed so.
func (t *teller) autumn() {
	drill, creek, sprayer := t.machines["drill"], t.machines["creek-drill"], t.machines["sprayer"]
	at := func(date, clock string) time.Time { return day(date).Add(span(clock)) }
	none := record.Positions{}
	t.work(at("2026-09-28", "20h40m"), tab, drill.name, "2026-09-28", words("broken on a stone, changed at the field's edge"), func(t *teller, w record.Work) record.Record {
		return &record.Swap{Work: w, Part: "disc", Positions: openers(9, 9), Act: record.SwapNew, Why: "broken", From: t.ids["shelf home"]}
	}, nil)
	t.did(at("2026-09-28", "20h45m"), tab, drill, day("2026-09-28"), "drag-check", openers(9, 9), none, nil, 3)
	t.work(at("2026-09-30", "20h50m"), wren, drill.name, "2026-09-30", words("ran hot, new bearing and seal"), func(_ *teller, w record.Work) record.Record {
		return &record.Swap{Work: w, Part: "hub-bearing", Positions: openers(30, 30), Act: record.SwapNew, Why: "worn"}
	}, nil)
	t.did(at("2026-09-30", "20h55m"), wren, drill, day("2026-09-30"), "grease", openers(30, 30), none, nil, 2)
	t.did(at("2026-10-01", "20h55m"), wren, drill, day("2026-10-01"), "preset", openers(30, 30), none, nil, 6)
	t.work(at("2026-10-02", "20h50m"), ash, creek.name, "2026-10-02T12:10", words("all back to 6"), func(_ *teller, w record.Work) record.Record {
		return &record.Adjust{Work: w, Changes: []record.Change{{Setting: "depth", Positions: creek.fitted.All("opener"), To: record.Amount(q("6"))}}}
	}, nil)
	t.work(at("2026-10-02", "20h52m"), ash, creek.name, "2026-10-02T14:30", words("one row shallow in the stubble, tried two holes deeper"), func(_ *teller, w record.Work) record.Record {
		return &record.Adjust{Work: w, Changes: []record.Change{{Setting: "depth", Positions: openers(17, 17), To: record.Amount(q("8"))}}}
	}, nil)
	t.did(at("2026-10-02", "20h54m"), ash, creek, day("2026-10-02"), "depth-check", creek.fitted.All("opener"), none, nil, 12)
	t.fault(at("2026-06-18", "21h05m"), sam, sprayer, day("2026-06-18"), "boom hose", "soon", "left boom hose weeps at the fold", none, false)
	t.work(at("2026-06-18", "21h10m"), sam, sprayer.name, "2026-06-18", words("bound up with tape and a clamp"), func(t *teller, w record.Work) record.Record {
		w.Closes, w.Minutes = []record.ID{t.ids["boom hose"]}, 15
		return &record.Repair{Work: w, Temporary: true}
	}, nil)
}

// span is a time of day as a length; the texts are this package's own.
func span(clock string) time.Duration {
	d, err := time.ParseDuration(clock)
	if err != nil {
		panic("demo: " + err.Error())
	}
	return d
}

// mistakes plans entries that were wrong and put right: a depth typed for the wrong wing, a reading with a slipped point, a job struck altogether.
func (t *teller) mistakes(drill *machine) {
	d := day("2025-04-15")
	when := t.evening(d)
	wrong := func(to, with string) func(*teller, record.Work) record.Record {
		return func(_ *teller, w record.Work) record.Record {
			where := openers(1, 16)
			if with == "right" {
				where = openers(33, 48)
			}
			return &record.Adjust{Work: w, Changes: []record.Change{{Setting: "depth", Positions: where, To: record.Amount(q(to))}}}
		}
	}
	t.work(when, tab, "drill", done(d), nil, wrong("8", "left"), func(t *teller, e *ledger.Entry) { t.ids["wrong wing"] = idOf(e) })
	t.correct(when.Add(10*time.Minute), tab, "drill", "wrong wing", done(d), wrong("8", "right"))

	d = day("2026-03-20")
	when = t.evening(d)
	gap := func(v string) func(*teller, record.Work) record.Record {
		return func(_ *teller, w record.Work) record.Record {
			return &record.Measure{Work: w, Reading: "disc-reach", Values: []record.Measured{{Positions: openers(20, 20), Found: record.Amount(q(v))}}}
		}
	}
	t.work(when, wren, "drill", done(d), nil, gap("3.2 in"), func(t *teller, e *ledger.Entry) { t.ids["slipped point"] = idOf(e) })
	t.correct(when.AddDate(0, 0, 2), wren, "drill", "slipped point", done(d), gap("6.2 in"))

	d = day("2026-04-20")
	t.work(t.evening(d), ash, "creek-drill", done(d), nil, func(_ *teller, w record.Work) record.Record {
		return &record.Did{Work: w, Job: "torque-check", Positions: openers(1, 24)}
	}, func(t *teller, e *ledger.Entry) { t.ids["not done"] = idOf(e) })
	t.plans(t.evening(d.AddDate(0, 0, 1)), juno, func(t *teller) (ledger.Draft, error) {
		key := t.keys["creek-drill"]
		return ledger.Draft{Class: ledger.Work, Kind: "strike", Record: &record.Strike{Machine: t.ids["creek-drill"], Entry: t.ids["not done"]},
			Private: &record.Private{Text: "meant for tomorrow, then it rained"}, Machine: &key}, nil
	}, nil)
}

// correct plans a whole new record for an earlier entry.
func (t *teller) correct(at time.Time, device, machine, entry string, done record.Done, build func(*teller, record.Work) record.Record) {
	t.plans(at, device, func(t *teller) (ledger.Draft, error) {
		key := t.keys[machine]
		r := build(t, record.Work{Machine: t.ids[machine], Done: done})
		raw, err := record.Encode(r)
		if err != nil {
			return ledger.Draft{}, err
		}
		return ledger.Draft{Class: ledger.Work, Kind: "correct", Machine: &key,
			Record: &record.Correct{Machine: t.ids[machine], Entry: t.ids[entry], As: r.Kind(), Record: raw}}, nil
	}, nil)
}
