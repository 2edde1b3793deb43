package demo

import (
	"fmt"
	"time"

	"shedbook/ledger"
	"shedbook/rules/record"
)

// winter plans the shop work after the i-th seeding: discs bought and swapped, one moved on to the other drill, two changed over.
func (t *teller) winter(i int) {
	switch i {
	case 0:
		t.buys(day("2024-12-03"), 30)
		for k, n := range []int{3, 4, 11, 12, 17, 23, 24, 31, 32, 40, 47} {
			t.swaps(day("2025-01-08").AddDate(0, 0, 3*k), wren, t.machines["drill"], n, "worn")
		}
	case 1:
		t.buys(day("2025-12-09"), 12)
		for k, n := range []int{1, 2, 20, 33, 34, 48} {
			t.swaps(day("2026-01-12").AddDate(0, 0, 4*k), tab, t.machines["drill"], n, "in-time")
		}
		t.movesOn(day("2026-02-20"))
	}
}

// buys plans new discs for the home yard's shelf.
func (t *teller) buys(d time.Time, count int) {
	t.work(t.evening(d), wren, "shelf home", done(d), &record.Private{Costs: []record.Cost{{For: "discs", Amount: fmt.Sprintf("%d.00", 31*count)}}},
		func(_ *teller, w record.Work) record.Record {
			return &record.Stock{Work: w, Schedule: "disc-drill", Part: "disc", Act: "add", Count: count}
		}, nil)
}

// swaps plans one opener's new disc from the shelf, with the scraper jobs it asks for.
func (t *teller) swaps(d time.Time, device string, m *machine, opener int, why string) {
	where := openers(opener, opener)
	m.discs[opener-1] = 6.5
	t.work(t.evening(d), device, m.name, done(d), nil, func(t *teller, w record.Work) record.Record {
		w.Minutes = 25
		return &record.Swap{Work: w, Part: "disc", Positions: where, Act: record.SwapNew, Why: why, From: t.ids["shelf home"]}
	}, func(t *teller, e *ledger.Entry) { t.ids["swap "+m.name+" "+where.String()] = idOf(e) })
	next := d.AddDate(0, 0, 1)
	at := t.evening(next)
	t.did(at, device, m, next, "scraper-height", where, record.Positions{}, nil, 3)
	t.did(at.Add(5*time.Minute), device, m, next, "scraper-face", where, record.Positions{}, nil, 3)
	t.did(at.Add(10*time.Minute), device, m, next, "drag-check", where, record.Positions{}, nil, 3)
}

// movesOn plans a disc's second home: a year old at opener 12 of the drill, it goes to opener 5 of the creek drill. Then two discs of that drill change
// places to even out their wear.
func (t *teller) movesOn(d time.Time) {
	drill, creek := t.machines["drill"], t.machines["creek-drill"]
	t.work(t.evening(d), wren, "drill", done(d), words("half worn, good enough for the stony corner at the creek"), func(_ *teller, w record.Work) record.Record {
		return &record.Swap{Work: w, Part: "disc", Positions: openers(12, 12), Act: record.SwapOut, Why: "in-time"}
	}, nil)
	second := d.AddDate(0, 0, 1)
	t.work(t.evening(second), juno, "creek-drill", done(second), nil, func(t *teller, w record.Work) record.Record {
		id := string(t.ids["swap drill opener/12"]) + "/opener/12"
		return &record.Swap{Work: w, Part: "disc", Positions: openers(5, 5), Act: record.SwapIn, Parts: []string{id}, Why: "worn"}
	}, nil)
	creek.discs[4], drill.discs[11] = drill.discs[11], 6.5
	third := d.AddDate(0, 0, 2)
	t.work(t.evening(third), wren, "drill", done(third), nil, func(t *teller, w record.Work) record.Record {
		return &record.Swap{Work: w, Part: "disc", Positions: openers(12, 12), Act: record.SwapNew, From: t.ids["shelf home"]}
	}, nil)
	t.work(t.evening(third), juno, "creek-drill", done(third), nil, func(_ *teller, w record.Work) record.Record {
		return &record.Swap{Work: w, Part: "disc", Positions: openers(8, 8), With: openers(19, 19), Act: record.SwapExchange}
	}, nil)
	creek.discs[7], creek.discs[18] = creek.discs[18], creek.discs[7]
}
