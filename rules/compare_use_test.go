package rules

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// What a counter moved in May, by hand: the entries cited are the readings at or on either side of both ends.
func TestMovedNamesItsReadings(t *testing.T) {
	b := newNotebook(t)
	b.reads("2026-03-01", "area at 900 ac")
	start := b.reads("2026-04-30", "area at 1000 ac")
	b.reads("2026-05-10", "area at 1200 ac")
	left := b.reads("2026-05-30", "area at 1410 ac")
	right := b.reads("2026-06-01", "area at 1430 ac")
	late := b.reads("2026-07-01", "area at 1500 ac")
	later := b.state("2026-12-31")
	side := func(from, to string) Side {
		st := b.state(to)
		return Side{State: st, Machine: st.Machine("drill"), From: from, To: to, Later: later}
	}
	f := side("2026-05-01", "2026-05-31").moved("area")
	wantQ(t, "May", f.Use, "420 ac") // half way from 1410 to 1430 ac at the month's end
	wantList(t, "May", f.Entries, start, left, right)
	f = side("2026-06-02", "2026-07-01").moved("area")
	wantQ(t, "June", f.Use, "70 ac")
	wantList(t, "June", f.Entries, right, late)
	// before the first reading nothing is known: what its face showed then was not worked in this season
	f = side("2026-02-01", "2026-04-30").moved("area")
	wantQ(t, "the first spring", f.Use, "100 ac")
}

// Hours that are worked out from whole acres are told in whole hours, and say so: 40 ft x 6 mph x 70 % / 8.25 = 20.3636 ac/h, 420 ac take 20.63 h. Of less than an hour a
// tenth is left, 10 ac take 0.49 h.
func TestMovedWorkedOut(t *testing.T) {
	for _, c := range []struct{ area, hours string }{{"1420 ac", "21 h"}, {"1420.5 ac", "20.6 h"}, {"1010 ac", "0.5 h"}} {
		b := newNotebook(t)
		b.reads("2026-04-30", "area at 1000 ac")
		b.reads("2026-05-31", "area at "+c.area)
		st := b.state("2026-05-31")
		f := Side{State: st, Machine: st.Machine("drill"), From: "2026-05-01", To: "2026-05-31"}.moved("hours")
		wantQ(t, c.area, f.Use, c.hours)
		wantEqual(t, c.area, f.WorkedOut, "area")
		b.reads("2026-04-30", "hours at 100 h")
		b.reads("2026-05-31", "hours at 120.25 h")
		st = b.state("2026-05-31")
		f = Side{State: st, Machine: st.Machine("drill"), From: "2026-05-01", To: "2026-05-31"}.moved("hours")
		wantQ(t, "as read", f.Use, "20.25 h")
		wantEqual(t, "as read", f.WorkedOut, "")
	}
	b := newNotebook(t)
	b.machine("cart", "cart", "2026-01-01")
	b.add(&record.Hitch{Work: b.of("cart", "2026-04-01"), Carrier: b.names["drill"]})
	b.reads("2026-04-30", "hours at 100 h")
	b.reads("2026-05-31", "hours at 120 h")
	st := b.state("2026-05-31")
	f := Side{State: st, Machine: st.Machine("cart"), From: "2026-05-01", To: "2026-05-31"}.moved("hours")
	wantQ(t, "behind the drill", f.Use, "20 h")
	wantEqual(t, "behind the drill", f.WorkedOut, OfCarrier)
}

// Law: a book without the readings that are not cited tells the same use.
func TestLawMovedRestsOnWhatItCites(t *testing.T) {
	left := 0
	checkLaw(t, func(rt *rapid.T, _ *story) {
		b := newNotebook(t)
		at, day := 1000, 1
		for range rapid.IntRange(2, 9).Draw(rt, "readings") {
			at, day = at+rapid.IntRange(0, 90).Draw(rt, "acres"), day+rapid.IntRange(1, 9).Draw(rt, "days")
			b.add(&record.Counter{Work: b.on(dateOf(calendarDay("2026-03-01").AddDate(0, 0, day))), Acts: []record.CounterAct{{Counter: "area", Act: "at", Value: quantity.Whole(int64(at), quantity.MustUnit("ac"))}}})
		}
		from, span := rapid.IntRange(1, 60).Draw(rt, "from"), rapid.IntRange(0, 40).Draw(rt, "span")
		moved := func(entries []Entry) Found {
			st := replayed(t, entries, lawEnd)
			begin := calendarDay("2026-03-01").AddDate(0, 0, from)
			return Side{State: st, Machine: st.Machine("drill"), From: dateOf(begin), To: dateOf(begin.AddDate(0, 0, span))}.moved("area")
		}
		all := moved(b.entries)
		cited := map[ID]bool{}
		for _, id := range all.Entries {
			cited[id] = true
		}
		var kept []Entry
		for _, e := range b.entries {
			if _, reads := e.Record.(*record.Counter); !reads || cited[e.ID] {
				kept = append(kept, e)
			}
		}
		left += len(b.entries) - len(kept)
		if got := moved(kept); len(cited) > 0 && fmt.Sprint(got.Use, got.Entries) != fmt.Sprint(all.Use, all.Entries) {
			rt.Fatalf("%s by %v, from these alone %s by %v", all.Use, all.Entries, got.Use, got.Entries)
		}
	})
	if left < 50 {
		t.Errorf("only %d readings were left out", left)
	}
}
