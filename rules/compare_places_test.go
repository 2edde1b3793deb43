package rules

import (
	"fmt"
	"math/big"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// readAt writes readings of a drill with eight openers, one an opener.
func (b *notebook) readAt(done string, values ...string) {
	m := &record.Measure{Work: b.of("long", done), Reading: "gap"}
	for i, v := range values {
		m.Values = append(m.Values, record.Measured{Positions: b.at(fmt.Sprintf("opener/%d", i+1)), Found: record.Amount(quantity.MustParse(v))})
	}
	b.add(m)
}

// Which places stand apart, worked out on paper. All read 6 in in 2025. A year on five have lost 0.1 in, two 0.2 in and opener 8 more: the median is -0.1 in, the
// median distance from it 0, so the least step of the tape counts, 0.1 in: apart is 0.6745 x > 3.5 x 0.1 in, beyond 0.5189 in from the median. At 5.4 in opener 8 lies 0.5 in
// from it, at 5.3 in 0.6 in.
func TestReadingPairs(t *testing.T) {
	for last, apart := range map[string]string{"5.4 in": "", "5.3 in": "opener/8", "134.62 mm": "opener/8"} {
		b := newNotebook(t)
		b.machine("long", "drill", "2024-01-01", record.Option{Name: "openers", Value: "8"})
		b.readAt("2025-03-01", "7 in", "7 in", "7 in", "7 in", "7 in", "7 in", "7 in", "7 in") // before the stretch
		b.readAt("2025-04-01", "5 in")                                                         // the last of a place counts
		b.readAt("2025-04-02", "6 in", "6 in", "6 in", "6 in", "6 in", "6 in", "6 in", "6 in")
		b.readAt("2026-04-02", "5.9 in", "5.9 in", "5.9 in", "5.8 in", "5.8 in", "5.9 in", "5.9 in", last)
		side := func(from, to string) Side {
			st := b.state(to)
			return Side{State: st, Machine: st.Machine("long"), From: from, To: to}
		}
		x, y := side("2025-04-01", "2025-05-01"), side("2026-04-01", "2026-05-01")
		var got []string
		pairs := ReadingPairs(x, y, "gap")
		for _, p := range pairs {
			if p.From.Value.String() != "6 in" || p.From.Entry == "" || p.To.Entry == "" || p.From.Entry == p.To.Entry {
				t.Errorf("%s: %+v", last, p)
			}
			if p.Apart {
				got = append(got, p.Place.String())
			}
		}
		if len(pairs) != 8 || strings.Join(got, " ") != apart {
			t.Errorf("%s: %d pairs, apart %v, want %q", last, len(pairs), got, apart)
		}
		if got := ReadingPairs(x, side("2026-05-02", "2026-06-01"), "gap"); len(got) != 8 || slices.ContainsFunc(got, func(p Pair) bool { return p.Apart || !p.To.Value.IsZero() }) {
			t.Errorf("%s: beside nothing read: %+v", last, got)
		}
	}
}

// Laws: pairs apart in a setting are the places that Compare lists with two values; turned round, both values of every pair are exchanged and the same
// places stand apart; each value rests on an entry of the book.
func TestLawPairs(t *testing.T) {
	seen, moved := 0, 0
	checkLaw(t, func(rt *rapid.T, s *story) {
		for range 3 { // settings are few in a story
			s.add(&record.Adjust{Work: s.work(), Changes: []record.Change{{Setting: "depth", Positions: s.places(), To: steps(pick(s, "to", "3", "6"))}}})
		}
		a, b := string(s.done()[:10]), string(s.done()[:10])
		seasons := rapid.Bool().Draw(rt, "seasons")
		known := map[ID]bool{"": true}
		for _, e := range s.entries {
			known[e.ID] = true
		}
		for m := range 3 {
			x, y, ok := sides(t, s.entries, m, a, b, seasons)
			if !ok {
				continue
			}
			listed := map[string]record.Positions{}
			for _, c := range Compare(x, y) {
				if c.What == "setting" && !c.From.Value.IsZero() && !c.To.Value.IsZero() && c.From.Value != c.To.Value {
					listed[c.Name] = listed[c.Name].Union(c.Positions)
				}
			}
			both := func(name string, of func(a, b Side, name string) []Pair) (apart record.Positions) {
				there, back := of(x, y, name), of(y, x, name)
				for i := range back {
					back[i].From, back[i].To = back[i].To, back[i].From
				}
				differs(rt, name+" turned round", fmt.Sprintf("%+v", there), fmt.Sprintf("%+v", back))
				for _, p := range there {
					seen++
					if !known[p.From.Entry] || !known[p.To.Entry] {
						rt.Fatalf("%s cites what is not in the book: %+v", name, p)
					}
					if p.Apart && p.Place != (record.Position{}) {
						apart = apart.Union(record.NewPositions(p.Place))
					}
				}
				return apart
			}
			for _, name := range names(x.Machine.Settings, y.Machine.Settings) {
				apart := both(name, SettingPairs)
				moved += apart.Len()
				if want := listed[name].String(); apart.String() != want {
					rt.Fatalf("%s: %s apart, %s listed", name, apart, want)
				}
			}
			for _, name := range names(x.Machine.Readings, y.Machine.Readings) {
				both(name, ReadingPairs)
			}
		}
	})
	if seen < 100 || moved < 5 {
		t.Errorf("only %d pairs were looked at, %d of them apart", seen, moved)
	}
}

// Laws of standing apart: it does not matter from where differences are counted, which way they go, or in what order the places come.
func TestLawStandApart(t *testing.T) {
	marked := 0
	pairsOf := func(sixteenths []int, from, sign int) []Pair {
		var out []Pair
		for _, n := range sixteenths {
			amount := func(n int) record.Value {
				return record.Amount(quantity.MustParse("0.0625 in").Mul(big.NewRat(int64(n), 1), 4))
			}
			out = append(out, Pair{From: PairValue{Value: amount(from)}, To: PairValue{Value: amount(from + sign*n)}})
		}
		standApart(out)
		return out
	}
	apart := func(pairs []Pair) (out []bool) {
		for _, p := range pairs {
			out = append(out, p.Apart)
		}
		return out
	}
	checkLaw(t, func(rt *rapid.T, _ *story) {
		n := rapid.SliceOfN(rapid.IntRange(0, 3), 0, 12).Draw(rt, "sixteenths")
		n = append(n, rapid.IntRange(0, 60).Draw(rt, "one"))
		want := apart(pairsOf(n, 96, -1))
		for _, x := range want {
			if x {
				marked++
			}
		}
		if got := apart(pairsOf(n, 80, -1)); !slices.Equal(got, want) {
			rt.Fatalf("counted from elsewhere: %v, %v", got, want)
		}
		if got := apart(pairsOf(n, 96, +1)); !slices.Equal(got, want) {
			rt.Fatalf("the other way: %v, %v", got, want)
		}
		slices.Reverse(n)
		got := apart(pairsOf(n, 96, -1))
		slices.Reverse(got)
		if !slices.Equal(got, want) {
			rt.Fatalf("in another order: %v, %v", got, want)
		}
		if len(n) < fewestToTell && slices.Contains(want, true) {
			rt.Fatalf("one of %d places stands apart", len(n))
		}
	})
	if marked < 10 {
		t.Errorf("only %d stood apart", marked)
	}
}
