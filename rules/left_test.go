package rules

import (
	"cmp"
	"fmt"
	"math"
	"testing"

	"shedbook/rules/record"

	"pgregory.net/rapid"
)

const wornText = `shedbook_schedule = 1
name = "rig"
work = ["seeding"]
[counter.area]
unit = "ac"
main = true
[place.opener]
count = 8
[group.left-half]
of = "opener"
from = "0"
to = "1/2"
[part.disc]
of = "opener"
[setting.depth]
of = "opener"
type = "steps"
min = 1
max = 12
step = 1
[reading.disc-size]
of = "opener"
unit = "in"
part = "disc"
wears = ["area"]
new = "16 in"
limit = { min = "14 in" }
how = "edge to hub"
[reading.gap]
of = "opener"
unit = "in"
`

// Discs are 16 in new and done at 14 in. At 1,000 ac they read 15.5 in (of 2 in to wear 1.5 are left: three quarters), 15 in (half), 14 in (at the limit: nothing
// left, and not past it) and 13.75 in (past it by an eighth of the way); four were never measured. Then 200 ac more were worked.
func TestLeft(t *testing.T) {
	s := newShed(t, wornText)
	s.read("2025-01-01", "area 0 ac")
	read := s.measure("2025-05-01", "disc-size", "opener/1=15.5 in", "opener/2=15 in", "opener/3=14 in", "opener/4=13.75 in")
	s.read("2025-05-01", "area 1000 ac")
	s.read("2025-06-01", "area 1200 ac")
	st := s.state("2025-06-02")
	all := LeftOf(st, st.Machine("rig"))
	wantEqual(t, "readings", len(all), 1) // a gap wears with nothing
	l := all[0]
	wantEqual(t, "sum", fmt.Sprint(l.Part, " ", l.Limit, " ", l.Falls, " ", l.Counter, " never ", l.Never, " past ", l.Past, " worst ", l.Worst), "disc 14 in true area never 4 past 1 worst 3")
	wantEqual(t, "middle", l.Middle, (0.5+0)/2)
	var got []string
	for _, p := range l.Places[:5] {
		got = append(got, fmt.Sprintf("%s %s %s since %s share %.3f %t past %t", p.Position, p.New, p.Size, p.Since, p.Share, p.Known, p.Past))
	}
	wantList(t, "places", got,
		"opener/1 16 in 15.5 in since 200 ac share 0.750 true past false",
		"opener/2 16 in 15 in since 200 ac share 0.500 true past false",
		"opener/3 16 in 14 in since 200 ac share 0.000 true past false",
		"opener/4 16 in 13.75 in since 200 ac share -0.125 true past true",
		"opener/5 16 in 0 since 0 share 0.000 false past false")
	wantList(t, "rests on", l.Places[0].Entries, read)
}

// A rig of 3,000 ac comes into the book on 1 May: discs 1 and 2 are measured at 15 and 14.5 in, and only then, later the same day, is it written down that the
// discs are as old as the rig. That is so of the day they were measured on too: nothing was worked between, and today's size is the size measured. A month and
// 400 ac later that is what was worked since; 3,000 ac at the reading, 3,400 now. Said only then, of discs 3 and 4, that they are 3,400 ac old, comes to the same.
func TestLeftOfAssumedAge(t *testing.T) {
	for _, first := range []bool{true, false} {
		s := newShed(t, wornText)
		s.read("2024-05-01", "area 2000 ac")
		s.swap("2024-05-01", "disc", record.SwapNew, "opener/5-8") // half an inch in their 1,000 ac: the rate
		s.read("2025-05-01", "area 3000 ac")
		s.measure("2025-05-01", "disc-size", "opener/5=15.5 in", "opener/6=15.53 in", "opener/7=15.47 in", "opener/8=15.5 in")
		age := func(day, used string, places ...string) {
			s.add(&record.Assume{Work: s.work(day), Items: []record.Assumed{{Name: "disc", Positions: s.at(places...), Used: quantityOf(used)}}})
		}
		if first {
			age("2025-05-01", "3000 ac", "opener/1-2")
		}
		s.measure("2025-05-01", "disc-size", "opener/1=15 in", "opener/2=14.5 in", "opener/3=15 in", "opener/4=14.5 in")
		if !first {
			age("2025-05-01", "3000 ac", "opener/1-2")
		}
		st := s.state("2025-05-01")
		for _, p := range LeftOf(st, st.Machine("rig"))[0].Places[:2] {
			wantQ(t, "worked since, the same day", p.Since, "0 ac")
			if !p.NowKnown || math.Abs(p.NowSize.Float64()-p.Size.Float64()) > 0.1 { // 3,000 ac more would have cost an inch and a half
				t.Errorf("%s: measured %s today and now %s", p.Position, p.Size, p.NowSize)
			}
		}
		s.read("2025-06-01", "area 3400 ac")
		age("2025-06-01", "3400 ac", "opener/3-4")
		st = s.state("2025-06-01")
		m := st.Machine("rig")
		for i, p := range LeftOf(st, m)[0].Places[:4] {
			wantQ(t, "worked since", p.Since, "400 ac")
			wantQ(t, "age now", p.Part.Use["area"], "3400 ac")
			r := m.Readings["disc-size"][p.Position][0]
			wantQ(t, fmt.Sprint("age at the reading of ", i+1), r.Use["area"], "3000 ac")
			wantQ(t, fmt.Sprint("of the segment ", i+1), r.SegmentUse["area"], "3000 ac")
		}
	}
}

// Worn half an inch on 1,000 ac, a disc of 15.5 in has 3,000 ac to 14 in: with readings at three counts on a line the forecast says so within its limits.
func TestLeftForecast(t *testing.T) {
	s := newShed(t, wornText)
	s.read("2024-12-31", "area 0 ac")
	for i, day := range []string{"2025-03-01", "2025-06-01", "2025-09-01"} {
		s.read(day, fmt.Sprintf("area %d ac", 1000*(i+1)))
		var values []string
		for o := 1; o <= 8; o++ { // every opener half an inch a thousand acres, give or take a 64th
			v := 16 - 0.5*float64(i+1) + float64((o*7+i*3)%3-1)/64
			values = append(values, fmt.Sprintf("opener/%d=%g in", o, v))
		}
		s.measure(day, "disc-size", values...)
	}
	st := s.state("2025-09-02")
	l := LeftOf(st, st.Machine("rig"))[0]
	for _, p := range l.Places {
		if !p.Forecast || p.Low > p.Likely || p.High < p.Likely || math.Abs(p.Likely-1000) > 120 {
			t.Errorf("%s: %.0f to %.0f, likely %.0f ac; by the line 1000", p.Position, p.Low, p.High, p.Likely)
		}
	}
}

// Worn on a line, half an inch a thousand acres, discs that measured 14.5 in at 3,000 ac stand at 14.2 in after 600 ac more: a tenth of the two inches from new to
// the limit. None is past it today; after 1,000 ac more than these all are. The reading of the last day alone would say a quarter.
func TestLeftToday(t *testing.T) {
	s := newShed(t, wornText)
	s.read("2024-12-31", "area 0 ac")
	for i, day := range []string{"2025-03-01", "2025-06-01", "2025-09-01"} {
		s.read(day, fmt.Sprintf("area %d ac", 1000*(i+1)))
		var values []string
		for o := 1; o <= 8; o++ {
			values = append(values, fmt.Sprintf("opener/%d=%g in", o, 16-0.5*float64(i+1)+float64((o*7+i*3)%3-1)/64))
		}
		s.measure(day, "disc-size", values...)
	}
	s.read("2025-09-20", "area 3600 ac")
	st := s.state("2025-09-21")
	l := LeftOf(st, st.Machine("rig"))[0]
	for _, p := range l.Places {
		if now, ok := p.Today(); !ok || math.Abs(now-0.1) > 0.05 || math.Abs(p.NowSize.Float64()-14.2) > 0.1 || math.Abs(p.Share-0.25) > 0.02 {
			t.Errorf("%s: today %.3f of it, %s; when measured %.3f", p.Position, now, p.NowSize, p.Share)
		}
	}
	least := l.Least()
	for i := 1; i < len(least); i++ {
		if a, b := least[i-1], least[i]; a.NowShare > b.NowShare {
			t.Errorf("%s (%.4f) stands before %s (%.4f)", a.Position, a.NowShare, b.Position, b.NowShare)
		}
	}
	if len(least) != 8 || least[0] != &l.Places[l.Now] || l.Forecasted() != 8 {
		t.Errorf("%d places, the first not the least, of %d", len(least), l.Forecasted())
	}
	now, ok := l.Wear.Within(0)
	later, _ := l.Wear.Within(1600)
	if !ok || now.Likely != 0 || later.Likely != 8 || later.Low < now.High {
		t.Errorf("past the limit today %+v, after 1600 ac more %+v", now, later)
	}
}

// The spot check is six of eight places in walking order, with the worst and the one whose disc was changed last among them, and says what was last measured less
// what was expected to wear since.
func TestSpotCheck(t *testing.T) {
	s := newShed(t, wornText)
	s.read("2024-12-31", "area 0 ac")
	sized := func(day string, size float64) {
		var values []string
		for o := 1; o <= 8; o++ {
			v := size + float64((o*5)%3-1)/16
			if o == 3 {
				v -= 0.25
			}
			values = append(values, fmt.Sprintf("opener/%d=%g in", o, v))
		}
		s.measure(day, "disc-size", values...)
	}
	s.read("2025-03-01", "area 1000 ac")
	sized("2025-03-01", 15.5)
	s.read("2025-06-01", "area 2000 ac")
	sized("2025-06-01", 15)
	s.swap("2025-06-02", "disc", record.SwapNew, "opener/6")
	s.entries[len(s.entries)-1].Record.(*record.Swap).Serials = []string{"D6"}
	s.measure("2025-06-02", "disc-size", "opener/6=16 in")
	set(s, "2025-06-03", "depth", "5")
	s.read("2025-07-01", "area 2400 ac")
	st := s.state("2025-07-02")
	m := st.Machine("rig")
	c := SpotCheckOf(st, m, SpotAsk{})
	wantEqual(t, "places", fmt.Sprint(c.Noun, len(c.Places), c.Of, len(c.Seed)), "opener6 8 10")
	last := 0
	why := map[string]string{}
	for _, p := range c.Places {
		if p.Place.Number <= last {
			t.Errorf("opener %d after %d: out of walking order", p.Place.Number, last)
		}
		last = p.Place.Number
		why[p.Place.String()] = p.Why
	}
	wantEqual(t, "worst", why["opener/3"], SpotWorst)
	wantEqual(t, "changed", why["opener/6"], SpotChanged)
	for _, p := range c.Places {
		x := p.Expected[0]
		wantEqual(t, "depth", p.Settings[0].Value.String(), "5")
		if p.Place.Number == 6 { // fitted and measured a day into the 30 in which 400 ac were worked
			wantQ(t, "worked since", x.Worked, "386.7 ac")
		} else {
			wantQ(t, "worked since", x.Worked, "400 ac")
		}
		wantEqual(t, "how", x.How, "edge to hub")
		if !x.Forecast || x.Expected.Rat().Cmp(minus(x.Last, x.WornSince).Rat()) != 0 {
			t.Errorf("%s: last %s less %s is not %s", p.Place, x.Last, x.WornSince, x.Expected)
		}
		// half an inch a thousand acres is 0.2 in in 400 ac; within a sixteenth or two and the spread
		if w := x.WornSince.Float64(); math.Abs(w-0.2) > 0.06 {
			t.Errorf("%s: %s worn in 400 ac, by the line 0.2 in", p.Place, x.WornSince)
		}
		if w := x.Within.Float64(); w < 0.125 || w > 0.6 || math.Abs(w*16-math.Round(w*16)) > 1e-9 {
			t.Errorf("%s: within %s", p.Place, x.Within)
		}
		if p.Place.Number == 6 {
			wantEqual(t, "serial", fmt.Sprint(p.Serials), "[{disc  D6 2025-06-02}]")
		}
	}
	wantEqual(t, "faces", fmt.Sprint(len(c.Faces), c.Faces[0].Least), "1 2400 ac")

	// the buyer's word and a further entry each draw other places; the same words the same ones
	at := func(c *Spot) (out string) {
		for _, p := range c.Places {
			out += fmt.Sprint(p.Place.Number, " ")
		}
		return out
	}
	wantEqual(t, "again", at(SpotCheckOf(st, m, SpotAsk{})), at(c))
	wantEqual(t, "case and spaces of a word", at(SpotCheckOf(st, m, SpotAsk{Word: " Barn"})), at(SpotCheckOf(st, m, SpotAsk{Word: "barn "})))
	drawn := map[string]bool{}
	for i := range 20 {
		drawn[at(SpotCheckOf(st, m, SpotAsk{Word: fmt.Sprint("word ", i)}))] = true
	}
	if len(drawn) < 6 { // of the nine ways to draw two of three others in each half
		t.Errorf("twenty words drew %d cards only", len(drawn))
	}
	wantEqual(t, "asked for more than there are", len(SpotCheckOf(st, m, SpotAsk{Places: 40}).Places), 8)
	wantEqual(t, "asked for one", at(SpotCheckOf(st, m, SpotAsk{Places: 1})), "3 ")
}

// drawnDiscs is a made-up record of the discs of eight openers: acres read, discs measured, changed and moved, depths set, on days in any order.
func drawnDiscs(rt *rapid.T, t testing.TB, n int) *shed {
	s := newShed(t, wornText)
	place := rapid.SampledFrom([]string{"opener/1", "opener/2-3", "opener/4", "opener/5-8", "opener/1-8"})
	for range rapid.IntRange(0, n).Draw(rt, "entries") {
		k := rapid.IntRange(0, 400).Draw(rt, "day")
		day := dateOf(calendarDay("2025-01-01").AddDate(0, 0, k))
		where := place.Draw(rt, "where")
		switch rapid.SampledFrom([]string{"read", "read", "measure", "measure", "measure", "gap", "new", "exchange", "turned", "out", "depth"}).Draw(rt, "kind") {
		case "read":
			s.read(day, fmt.Sprintf("area %d ac", k*10+rapid.IntRange(0, 99).Draw(rt, "ac")))
		case "measure":
			s.measure(day, "disc-size", fmt.Sprintf("%s=%g in", where, float64(1024-k/3-4*rapid.IntRange(0, 16).Draw(rt, "16ths"))/64))
		case "gap":
			s.measure(day, "gap", where+"=0.25 in")
		case "exchange":
			s.add(&record.Swap{Work: s.work(day), Part: "disc", Act: record.SwapExchange, Positions: s.at("opener/1"), With: s.at("opener/4")})
		case "new", "turned", "out":
			act := map[string]string{"new": record.SwapNew, "turned": record.SwapTurned, "out": record.SwapOut}
			s.swap(day, "disc", act[rapid.SampledFrom([]string{"new", "turned", "out"}).Draw(rt, "act")], where)
		case "depth":
			set(s, day, "depth", fmt.Sprint(rapid.IntRange(1, 12).Draw(rt, "step")), where)
		}
	}
	return s
}

// Whatever the history: what is left and what to check are the same in any order of arrival, rest on entries that hold, agree on what is past its limit, and a card
// has no place twice and no more than it was asked for; what it expects is what was last measured less the wear expected since.
func TestLawLeftAndSpot(t *testing.T) {
	laws(t, func(rt *rapid.T, n int) {
		s := drawnDiscs(rt, t, n)
		on := onDay(rt)
		st := s.replayed(on)
		m := st.Machine("rig")
		ask := SpotAsk{Word: rapid.SampledFrom([]string{"", "barn", "gate"}).Draw(rt, "word"), Places: rapid.IntRange(0, 9).Draw(rt, "places")}
		c, all := SpotCheckOf(st, m, ask), LeftOf(st, m)
		show := func(c *Spot, all []Left) (out string) {
			out = fmt.Sprintf("%+v\n", c)
			for _, l := range all {
				out += fmt.Sprintln(l.Never, l.Past, l.Worst, l.Middle)
				for _, p := range l.Places {
					out += fmt.Sprintln(p.Position, p.New, p.Size, p.On, p.Since, p.Share, p.Low, p.Likely, p.High, p.Entries)
				}
			}
			return out
		}
		if want := min(cmp.Or(ask.Places, 6), c.Of); len(c.Places) != want {
			rt.Fatalf("%d places of %d, asked for %d", len(c.Places), c.Of, ask.Places)
		}
		seen := map[record.Position]bool{}
		for _, p := range c.Places {
			if seen[p.Place] {
				rt.Fatalf("%s twice", p.Place)
			}
			seen[p.Place] = true
			heldEntries(rt, st, p.Entries)
			for _, x := range p.Expected {
				worn := x.Last
				if x.Forecast {
					worn = minus(x.Last, x.WornSince)
				}
				if x.Expected.Rat().Cmp(worn.Rat()) != 0 || x.Within.Sign() <= 0 {
					rt.Fatalf("%s: last %s, worn %s, expected %s within %s", p.Place, x.Last, x.WornSince, x.Expected, x.Within)
				}
			}
		}
		past := 0
		for _, l := range all {
			for _, p := range l.Places {
				if p.Known && p.Past != (p.Share < 0) {
					rt.Fatalf("%s: past %t and share %g", p.Position, p.Past, p.Share)
				}
				past += b2i(p.Past)
				heldEntries(rt, st, p.Entries)
			}
			if past != l.Past {
				rt.Fatalf("%d past, counted %d", l.Past, past)
			}
		}
		want := show(c, all)
		s.entries = rapid.Permutation(s.entries).Draw(rt, "arrival")
		st = s.replayed(on)
		m = st.Machine("rig")
		differs(rt, "in another order of arrival", want, show(SpotCheckOf(st, m, ask), LeftOf(st, m)))
	})
}

// The disc of opener 6 was changed last and never measured since; a later swap of another part at opener 2 changes nothing that the card measures. 400 ac at half an inch a thousand
// leave 15.8 in of a new one of 16 in.
func TestSpotCheckNewestMeasuredPart(t *testing.T) {
	s := newShed(t, wornText+"[part.bearing]\nof = \"opener\"\n")
	s.read("2024-12-31", "area 0 ac")
	for i, day := range []string{"2025-03-01", "2025-06-01"} {
		s.read(day, fmt.Sprintf("area %d ac", 1000*(i+1)))
		var values []string
		for o := 1; o <= 8; o++ {
			values = append(values, fmt.Sprintf("opener/%d=%g in", o, 15.5-0.5*float64(i)+float64((o*5)%3-1)/16))
		}
		s.measure(day, "disc-size", values...)
	}
	s.swap("2025-06-01", "disc", record.SwapNew, "opener/6")
	s.read("2025-07-01", "area 2400 ac")
	s.swap("2025-07-02", "bearing", record.SwapNew, "opener/2")
	st := s.state("2025-07-03")
	c := SpotCheckOf(st, st.Machine("rig"), SpotAsk{})
	var changed []string
	for _, p := range c.Places {
		if p.Why != SpotChanged {
			continue
		}
		x := p.Expected[0]
		changed = append(changed, fmt.Sprint(p.Place, " as new ", x.AsNew, " ", x.Last, " ", x.On))
		if size := x.Expected.Float64(); math.Abs(size-15.8) > 0.06 {
			t.Errorf("expected %s, by the line 15.8 in", x.Expected)
		}
	}
	wantList(t, "changed", changed, "opener/6 as new true 16 in 2025-06-01")
}

// A disc at a place that is tied up is still one that must be bought: eight discs alike are eight to count, each has the size that it last measured, and the one
// tied up stands where it stood while the others wore on. Half an inch a thousand acres: 14.5 in at 3,000 ac, 14.2 in after 600 ac more but for the one tied up.
func TestLeftOutOfUse(t *testing.T) {
	s := newShed(t, wornText)
	s.read("2024-12-31", "area 0 ac")
	for i, day := range []string{"2025-03-01", "2025-06-01", "2025-09-01"} {
		s.read(day, fmt.Sprintf("area %d ac", 1000*(i+1)))
		var values []string
		for o := 1; o <= 8; o++ {
			values = append(values, fmt.Sprintf("opener/%d=%g in", o, 16-0.5*float64(i+1)+float64((o*7+i*3)%3-1)/64))
		}
		s.measure(day, "disc-size", values...)
	}
	s.add(&record.Fault{Work: s.work("2025-09-02"), Severity: "stop", Positions: s.at("opener/3"), TiedUp: true})
	s.read("2025-09-20", "area 3600 ac")
	st := s.state("2025-09-21")
	l := LeftOf(st, st.Machine("rig"))[0]
	wantEqual(t, "places", fmt.Sprint(len(l.Places), " forecast ", l.Forecasted(), " never measured ", l.Never), "8 forecast 8 never measured 0")
	for _, p := range l.Places {
		want := 14.2
		if (p.Out != nil) != (p.Position == "opener/3") {
			t.Errorf("%s: out of use %v", p.Position, p.Out)
		}
		if p.Out != nil {
			want = 14.5
		}
		if now, ok := p.Today(); !ok || math.Abs(p.NowSize.Float64()-want) > 0.1 || p.On.Date() != "2025-09-01" {
			t.Errorf("%s: today %.3f of it, %s, measured on %s; want about %v in", p.Position, now, p.NowSize, p.On, want)
		}
	}
	wantEqual(t, "last of the places", l.Places[7].Position, "opener/3")
	if all, ok := l.Wear.Within(20_000); !ok || all.Likely != 8 {
		t.Errorf("within 20,000 ac more %+v pass their limit, want all 8", all)
	}
	wantEqual(t, "to change in the field", len(l.Wear.Parts), 7) // what works
	for _, p := range SpotCheckOf(st, st.Machine("rig"), SpotAsk{Places: 8}).Places {
		if p.Place.String() == "opener/3" {
			t.Error("the card asks for a place that is out of use")
		}
	}
}
