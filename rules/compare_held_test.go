package rules

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// sets writes a setting of all openers of the drill.
func (b *notebook) sets(done, depth string, readings ...string) ID {
	b.t.Helper()
	return b.add(&record.Adjust{Work: b.on(done, readings...), Changes: []record.Change{{Setting: "depth", To: steps(depth)}}})
}

// told is a season's depth as "2 for 300 ac from 2026-04-01; 3 for 100 ac from 2026-05-14; mostly 2, last 3".
func (f Found) told() string {
	var out []string
	for _, h := range f.Held {
		out = append(out, fmt.Sprintf("%s for %s from %s", h.Value, h.Use, h.From))
	}
	if len(out) == 0 {
		return f.Value.String()
	}
	return strings.Join(append(out, fmt.Sprintf("mostly %s, last %s", f.Value, f.Last)), "; ")
}

// A season of May 2026, beside a May 2025 at depth 2 throughout, worked out on paper. Depth 2 stands before the season.
func TestHeldDuringASeason(t *testing.T) {
	for _, c := range []struct {
		name  string
		write func(b *notebook)
		want  string // of the season; "": the lines of depth are not there at all
	}{
		{"never changed", func(b *notebook) {}, ""},
		// 1000 ac at its beginning, 1300 where it was set, 1400 at its end
		{"changed on a reading", func(b *notebook) {
			b.reads("2026-04-30", "area at 1000 ac")
			b.sets("2026-05-14", "3", "area 1300 ac")
			b.reads("2026-05-31", "area at 1400 ac")
		}, "2 for 300 ac from 2026-05-01; 3 for 100 ac from 2026-05-14; mostly 2, last 3"},
		// three quarters of the days at 3, four fifths of the acres at 2
		{"most of the acres, not of the days", func(b *notebook) {
			b.reads("2026-04-30", "area at 1000 ac")
			b.reads("2026-05-07", "area at 1400 ac")
			b.sets("2026-05-07T23:00", "3")
			b.reads("2026-05-31", "area at 1500 ac")
		}, "2 for 398 ac from 2026-05-01; 3 for 102 ac from 2026-05-07T23:00; mostly 2, last 3"},
		// between the readings of 4 May and 8 May, 100 ac a day: 7 May at noon lies 2.5 days after the first. Whole acres, as the readings are
		{"changed between readings", func(b *notebook) {
			b.reads("2026-04-30", "area at 1000 ac")
			b.reads("2026-05-04", "area at 1001 ac")
			b.sets("2026-05-06T12:00", "4")
			b.reads("2026-05-08", "area at 1402 ac")
			b.reads("2026-06-01", "area at 1402 ac")
		}, "2 for 151 ac from 2026-05-01; 4 for 251 ac from 2026-05-06T12:00; mostly 4, last 4"},
		{"no counter read: days", func(b *notebook) {
			b.sets("2026-05-10", "3")
		}, "2 for 10 d from 2026-05-01; 3 for 21 d from 2026-05-10; mostly 3, last 3"},
		// first read during the season: what was done before that is not known, so days are told
		{"counter first read during it", func(b *notebook) {
			b.reads("2026-05-05", "area at 1000 ac")
			b.sets("2026-05-10T12:00", "3")
			b.reads("2026-05-31", "area at 1100 ac")
		}, "2 for 9.5 d from 2026-05-01; 3 for 21.5 d from 2026-05-10T12:00; mostly 3, last 3"},
		{"did not work: days", func(b *notebook) {
			b.reads("2026-04-30", "area at 1000 ac")
			b.sets("2026-05-30", "3")
			b.reads("2026-05-31", "area at 1000 ac")
		}, "2 for 30 d from 2026-05-01; 3 for 1 d from 2026-05-30; mostly 2, last 3"},
		{"set on the last day, after its work", func(b *notebook) {
			b.reads("2026-04-30", "area at 1000 ac")
			b.reads("2026-05-31", "area at 1400 ac")
			b.sets("2026-05-31", "3")
		}, "2 for 400 ac from 2026-05-01; 3 for 0 ac from 2026-05-31; mostly 2, last 3"},
		{"set on the first day, before its work", func(b *notebook) {
			b.reads("2026-04-30", "area at 1000 ac")
			b.sets("2026-05-01", "3")
			b.reads("2026-05-31", "area at 1400 ac")
		}, "3"},
		{"set after the first day's 40 acres", func(b *notebook) {
			b.reads("2026-04-30", "area at 1000 ac")
			b.sets("2026-05-01", "3", "area 1040 ac")
			b.reads("2026-05-31", "area at 1400 ac")
		}, "2 for 40 ac from 2026-05-01; 3 for 360 ac from 2026-05-01; mostly 3, last 3"},
		{"tried in the yard and set back", func(b *notebook) {
			b.reads("2026-04-30", "area at 1000 ac")
			b.sets("2026-05-10T07:00", "9")
			b.reads("2026-05-10T07:30", "area at 1000 ac")
			b.sets("2026-05-10T07:30", "2")
			b.reads("2026-05-31", "area at 1400 ac")
		}, ""},
		{"set again to what it was", func(b *notebook) {
			b.reads("2026-04-30", "area at 1000 ac")
			b.sets("2026-05-10", "2", "area 1100 ac")
			b.reads("2026-05-31", "area at 1400 ac")
		}, ""},
		// 3 for 150 and 150, 2 for 200: 3 in all
		{"to and fro", func(b *notebook) {
			b.reads("2026-04-30", "area at 1000 ac")
			b.sets("2026-05-01", "3", "area 1000 ac")
			b.sets("2026-05-10", "2", "area 1150 ac")
			b.sets("2026-05-20", "3", "area 1350 ac")
			b.reads("2026-05-31", "area at 1500 ac")
		}, "3 for 150 ac from 2026-05-01; 2 for 200 ac from 2026-05-10; 3 for 150 ac from 2026-05-20; mostly 3, last 3"},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newNotebook(t)
			b.sets("2025-04-20", "2")
			c.write(b)
			later := b.state("2026-12-31")
			side := func(from, to string) Side {
				st := b.state(to)
				return Side{State: st, Machine: st.Machine("drill"), From: from, To: to, Later: later}
			}
			got := ""
			for _, x := range Compare(side("2025-05-01", "2025-05-31"), side("2026-05-01", "2026-05-31")) {
				if x.What == "setting" {
					wantEqual(t, "the year before", x.From.told(), "2")
					wantEqual(t, "places", x.Positions.String(), "opener/1-4")
					got += x.To.told()
				}
			}
			wantEqual(t, "depth", got, c.want)
			// a day has no beginning: what stood then, and nothing of what stood before
			for _, x := range Compare(side("", "2025-05-31"), side("", "2026-05-31")) {
				if x.What == "setting" && len(x.To.Held)+len(x.From.Held) > 0 {
					t.Errorf("of days: %s beside %s", x.From.told(), x.To.told())
				}
			}
		})
	}
}

// What a spell rests on: the entry that set the value, and the readings at its bounds.
func TestHeldNamesItsEntries(t *testing.T) {
	b := newNotebook(t)
	before := b.sets("2025-04-20", "2")
	start := b.reads("2026-04-30", "area at 1000 ac")
	b.reads("2026-05-04", "area at 1010 ac")
	left := b.reads("2026-05-10T06:00", "area at 1400 ac")
	set := b.sets("2026-05-10T07:00", "3")
	right := b.reads("2026-05-12", "area at 1410 ac")
	b.reads("2026-05-20", "area at 1450 ac")
	end := b.reads("2026-05-31", "area at 1500 ac")
	st := b.state("2026-05-31")
	s := Side{State: st, Machine: st.Machine("drill"), From: "2026-05-01", To: "2026-05-31"}
	f := s.heldAt(s.Machine.Settings["depth"]["opener/1"], nil)
	if len(f.Held) != 2 {
		t.Fatalf("%+v", f)
	}
	wantList(t, "both", f.Entries, before, set)
	wantList(t, "first, set by", f.Held[0].Entries, before)
	wantList(t, "first, read by", f.Held[0].Readings, start, left, right)
	wantList(t, "second, set by", f.Held[1].Entries, set)
	wantList(t, "second, read by", f.Held[1].Readings, left, right, end)
	pair := SettingPairs(s, s, "depth")[0]
	wantEqual(t, "the drawing's value rests on", pair.From.Entry, before)
	wantEqual(t, "the drawing's value", pair.From.Value.String()+", "+pair.From.Last.String(), "2, 3")
}

// Laws of what a setting stood at during a season: the days' ends agree with the book replayed on that day; the uses of the spells sum to that of the season; no two
// alike stand beside each other; nothing stood for more use than the value told; it rests on entries of the book.
func TestLawHeld(t *testing.T) {
	changed, byCounter := 0, 0
	checkLaw(t, func(rt *rapid.T, s *story) {
		for range 6 {
			s.add(&record.Adjust{Work: s.work(), Changes: []record.Change{{Setting: "depth", Positions: s.places(), To: steps(pick(s, "to", "3", "6"))}}})
		}
		from, to := rapid.IntRange(1, lawDays).Draw(rt, "from"), rapid.IntRange(1, lawDays).Draw(rt, "until")
		from, to = min(from, to), max(from, to)
		day := func(n int) string { return fmt.Sprintf("2026-04-%02d", n) }
		known := map[ID]bool{}
		for _, e := range s.entries {
			known[e.ID] = true
		}
		last, later := replayed(t, s.entries, day(to)), replayed(t, s.entries, lawEnd)
		var days []*State
		for n := from; n <= to; n++ {
			days = append(days, replayed(t, s.entries, day(n)))
		}
		for _, m := range last.Machines {
			side := Side{State: last, Machine: m, From: day(from), To: day(to), Later: later}
			for place, st := range m.Settings["depth"] {
				spells := side.spells(st)
				for n, on := range days {
					want := on.MachineByID(m.ID).Settings["depth"][place]
					var got *Standing
					for _, p := range spells {
						if p.from.Compare(record.Done(on.On)) <= 0 {
							got = p.Standing
						}
					}
					if fmt.Sprint(want != nil, got != nil) != "true true" && (want != nil || got != nil) || want != nil && (want.Value != got.Value || want.Since != got.Since || want.Unknown != got.Unknown) {
						rt.Fatalf("%s on %s: %+v, replayed %+v", place, days[n].On, got, want)
					}
				}
				held, _ := side.held(st)
				f := side.heldAt(st, nil)
				if len(f.Held) == 0 {
					continue
				}
				changed++
				sums := map[record.Value]quantity.Quantity{}
				var all quantity.Quantity
				for i, h := range held {
					all, sums[h.Value] = plusOrFirst(all, h.Use), plusOrFirst(sums[h.Value], h.Use)
					if i > 0 && (held[i-1].Value == h.Value || held[i-1].To.Compare(h.From) > 0) || h.Use.Sign() < 0 {
						rt.Fatalf("%s: %s", place, f.told())
					}
					for _, id := range slices.Concat(h.Entries, h.Readings) {
						if !known[id] {
							rt.Fatalf("%s rests on %s, which is not in the book", place, id)
						}
					}
				}
				for v, sum := range sums {
					if more, _ := sum.Cmp(sums[f.Value]); more > 0 {
						rt.Fatalf("%s stood for more: %s", v, f.told())
					}
				}
				want := quantity.Whole(int64(to-from+1), aDay)
				if all.Unit() != aDay {
					byCounter++
					want = side.moved("area").Use
				}
				if diff, err := all.Sub(want); err != nil || diff.Sign() != 0 {
					rt.Fatalf("%s: %s sums to %s, want %s", place, f.told(), all, want)
				}
			}
		}
	})
	if changed < 20 || byCounter < 5 {
		t.Errorf("only %d changed, %d of them told by a counter", changed, byCounter)
	}
}
