package rules

import (
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// published reads a published table of rules/stats; its source stands at its head.
func published(t testing.TB, name string) [][]float64 {
	t.Helper()
	text, err := os.ReadFile("stats/testdata/" + name + ".txt")
	if err != nil {
		t.Fatal(err)
	}
	var rows [][]float64
	for line := range strings.Lines(string(text)) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		var row []float64
		for _, w := range strings.Fields(line) {
			v, err := strconv.ParseFloat(w, 64)
			if err != nil {
				t.Fatal(err)
			}
			row = append(row, v)
		}
		rows = append(rows, row)
	}
	return rows
}

func plain(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

func near(t testing.TB, what string, got, want, relative float64) {
	t.Helper()
	if !(math.Abs(got-want) <= relative*math.Abs(want)) {
		t.Errorf("%s: got %.10g, want %.10g", what, got, want)
	}
}

// lifeBook is a drill whose counter begins at nothing, with as many openers as asked, and so many scrapers, all known from new.
func lifeBook(t testing.TB, openers int) *notebook {
	b := newNotebook(t)
	b.machine("new", "drill", "2024-01-01", record.Option{Name: "openers", Value: fmt.Sprint(openers)})
	b.counts("new", "2024-01-01", "area at 0 ac")
	return b
}

// scraper writes a swap of a scraper at a reading of the counter.
func (b *notebook) scraper(machine, done, act string, opener int, area, why string, edit func(*record.Swap)) ID {
	b.t.Helper()
	s := &record.Swap{Work: b.of(machine, done), Part: "scraper", Act: act, Positions: b.at(fmt.Sprintf("opener/%d", opener)), Why: why}
	if area != "" {
		s.Work = b.of(machine, done, "area "+area)
	}
	if edit != nil {
		edit(s)
	}
	return b.add(s)
}

func (b *notebook) life(on, part string, edit func(*LifeAsk)) *PartLife {
	b.t.Helper()
	s := b.state(on)
	ask := LifeAsk{Kind: "drill", Part: part, Counter: "area", Unit: quantity.MustUnit("ac")}
	if edit != nil {
		edit(&ask)
	}
	return s.Life(ask)
}

// dayOf is the n-th day from the start of the book on.
func dayOf(n int) string { return calendarDay("2024-01-02").AddDate(0, 0, n).Format("2006-01-02") }

// Shock absorbers, entered as a drill's scrapers: taken off worn out, or in good time, at the kilometres of the table. Estimates as the R package weibulltools prints
// them (mu 10.2298631, sigma 0.3164092, log-likelihood -123.9954) and, with standard errors, as survreg gives them; the survival as R's survfit gives it.
func TestLifeOfShockAbsorbers(t *testing.T) {
	b := lifeBook(t, 38)
	for i, row := range published(t, "shock") {
		why := EndInTime
		if row[1] == 1 {
			why = EndWorn
		}
		b.scraper("new", dayOf(i), record.SwapOut, i+1, plain(row[0])+" ac", why, nil)
	}
	l := b.life("2026-01-01", "scraper", func(a *LifeAsk) { a.Machine = b.state("2026-01-01").Machine("new") })
	f := l.All
	wantEqual(t, "lives", f.Parts, 38)
	wantEqual(t, "worn out", f.Worn, 11)
	w := f.Weibull
	if w == nil {
		t.Fatal(f.Not)
	}
	near(t, "mu as printed", w.Mu, 10.2298631, 1e-7)
	near(t, "sigma as printed", w.Sigma, 0.3164092, 1e-5)
	near(t, "log-likelihood as printed", w.LogLik, -123.9954, 1e-6)
	near(t, "eta", w.Eta, 27718.71812852, 1e-8)
	near(t, "standard error of eta", w.EtaSE, 3046.023183, 1e-6)
	near(t, "beta", w.Beta, 3.1604703145, 1e-8)
	near(t, "standard error of beta", w.BetaSE, 0.73081839, 1e-6)
	near(t, "B10", f.B10.Value, 13600.034715, 1e-8)
	near(t, "half last", f.Median.Value, 27718.71812852*math.Pow(math.Ln2, 1/3.1604703145), 1e-8)
	want := published(t, "shock_km")
	wantEqual(t, "steps", len(l.Curve), len(want))
	for i, s := range l.Curve {
		near(t, fmt.Sprint("still good at ", s.Time), s.Share, want[i][3], 1e-8)
		near(t, fmt.Sprint("Greenwood at ", s.Time), s.SE, want[i][4], 1e-8)
	}
}

// Ball bearings, all of them worn out (Lieblein and Zelen 1956): eta 81.87, beta 2.102 as survreg gives them; 81.9 and 2.10 (Lawless 1982, from memory). The same lives come out
// of two drills of one kind, and of discs put in anew as the old ones went: then those put in last are in use.
func TestLifeOfBallBearings(t *testing.T) {
	b := lifeBook(t, 23)
	b.machine("other", "drill", "2024-01-01", record.Option{Name: "openers", Value: "23"})
	b.counts("other", "2024-01-01", "area at 0 ac")
	for i, row := range published(t, "ballbearing") {
		b.scraper([]string{"new", "other"}[i%2], dayOf(i), record.SwapOut, i+1, plain(row[0])+" ac", EndWorn, nil)
	}
	l := b.life("2026-01-01", "scraper", nil)
	l.Lives = slices.DeleteFunc(l.Lives, func(v Lived) bool { return v.End == EndInUse })
	f := fitLives("", l.used(), asTold)
	wantEqual(t, "worn out", f.Worn, 23)
	near(t, "eta", f.Weibull.Eta, 81.87455872, 1e-8)
	near(t, "beta", f.Weibull.Beta, 2.1018468638, 1e-8)
	near(t, "B10", f.B10.Value, 28.065089, 1e-7)
}

// Valve seats replaced again and again, each engine entered as a machine with its batteries (Nelson and Doganaksoy 1989; Nelson, Technometrics 37, 1995).
func TestLifePlacesOfValveSeats(t *testing.T) {
	b := newNotebook(t)
	rows := published(t, "valveseat")
	ages := map[string][]float64{}
	end := map[string]float64{}
	var names []string
	for _, row := range rows {
		name := fmt.Sprintf("engine-%02.0f", row[0])
		if !slices.Contains(names, name) {
			names = append(names, name)
			b.machine(name, "drill", "2024-01-01")
			b.counts(name, "2024-01-01", "area at 0 ac")
		}
		if row[2] == 1 {
			ages[name] = append(ages[name], row[1])
		} else {
			end[name] = row[1]
		}
	}
	for _, name := range names {
		slices.Sort(ages[name])
		for i, age := range ages[name] {
			b.add(&record.Swap{Work: b.of(name, dayOf(i), "area "+plain(age)+" ac"), Part: "battery", Act: record.SwapNew, Why: EndWorn})
		}
		b.counts(name, dayOf(30), "area at "+plain(end[name])+" ac")
	}
	l := b.life("2026-01-01", "battery", nil)
	want := published(t, "valveseat_mcf")
	wantEqual(t, "engines, and the notebook's drill, whose counter was never read", l.Places.Places, 42)
	wantEqual(t, "steps", len(l.Places.Mean), len(want))
	for i, r := range l.Places.Mean {
		wantEqual(t, "age", r.Age, want[i][0])
		wantEqual(t, "at risk", float64(r.AtRisk), want[i][1])
		near(t, fmt.Sprint("mean at ", r.Age), r.Mean, want[i][3], 1e-9)
	}
}

// What counts and what does not, on paper. The drill came into the book at 1,000 ac, so its own scrapers' earlier use is not known:
//
//	1,000 ac  1: somebody says it had done 300 ac
//	1,200 ac  1 worn out: it did 300 + 200 = 500, first watched at 300; 2 worn out: not known how old
//	1,300 ac  1 again, worn out after 100; 3 swapped without a reason: not known how old
//	1,500 ac  1 once more, broken after 200
//	1,600 ac  1 in use, 100; 2 in use, 400; 3 in use, 300; 4 as it came, 600 at least
func TestLifeOnPaper(t *testing.T) {
	b := newNotebook(t)
	b.reads("2024-02-01", "area at 1000 ac")
	b.add(&record.Assume{Work: b.on("2024-02-01"), Items: []record.Assumed{{Name: "scraper", Positions: b.at("opener/1"), Used: quantityOf("300 ac")}}})
	first := b.scraper("drill", "2024-03-01", record.SwapNew, 1, "1200 ac", EndWorn, nil)
	b.scraper("drill", "2024-03-01", record.SwapNew, 2, "1200 ac", EndWorn, nil)
	second := b.scraper("drill", "2024-04-01", record.SwapNew, 1, "1300 ac", EndWorn, nil)
	b.scraper("drill", "2024-04-01", record.SwapNew, 3, "1300 ac", "", nil)
	broke := b.scraper("drill", "2024-05-01", record.SwapNew, 1, "1500 ac", EndBroken, nil)
	b.reads("2024-06-01", "area at 1600 ac")
	l := b.life("2024-06-01", "scraper", nil)
	var got []string
	for _, v := range l.Lives {
		got = append(got, fmt.Sprintf("%s %s %.0f from %.0f%s", strings.TrimPrefix(v.Slot, "opener/"), v.End, v.Use, v.From, iffy(v.Without != "", ", not known")))
	}
	slices.Sort(got)
	wantList(t, "lives", got, "1 broken 200 from 0", "1 in use 100 from 0", "1 worn 100 from 0", "1 worn 500 from 300", "2 in use 400 from 0", "2 worn 200 from 0, not known", "3 in use 300 from 0", "3 not said 300 from 0, not known", "4 in use 600 from 0, not known")
	wantEqual(t, "lives that count", l.All.Parts, 6)
	wantEqual(t, "worn out", l.All.Worn, 2)
	wantEqual(t, "late", l.Late, 1)
	wantEqual(t, "why not", l.All.Not, "2 have worn out whose whole life is known")
	wantEqual(t, "more", l.All.More, 1)
	wantList(t, "entries", l.All.Entries, sorted(first, second)...)
	wantEqual(t, "broken", l.Broken.Count, 1)
	wantList(t, "by", l.Broken.Entries, broke)
	// all use within the book: 4 places of 600 ac each
	near(t, "exposure", l.Broken.Use, 2400, 1e-12)
	near(t, "rate", l.Broken.Rate/l.Broken.Each, 1/2400.0, 1e-12)
	wantEqual(t, "replaced", l.Places.Replaced, 5)
	wantEqual(t, "most", l.Places.Most, 3)
	wantEqual(t, "most at", l.Places.MostAt, "opener/1")
	// ahead by the rate: five went in 2,400 ac; the last twelve months took 600 ac, four places will do 2,400. Of a negative binomial of shape 5.5 and share 1/2 none come with
	// 0.5^5.5 = 0.0221, 1 with x 5.5/2 = 0.0608, 2 with x 6.5/4 = 0.0988, 3 with x 7.5/6 = 0.1235; 4 or more is all four
	c := l.Coming
	if c == nil {
		t.Fatal(l.NotAhead)
	}
	wantEqual(t, "by the rate", fmt.Sprint(c.ByRate, c.Parts, c.Count.Low, c.Count.Likely, c.Count.High), "true 4 2 4 4")
	near(t, "mean", c.Count.Mean, 0.0608+2*0.0988+3*0.1235+4*0.6948, 1e-4)
	wantEqual(t, "use of the season", fmt.Sprint(c.Seasons[0].Use, " ", c.Seasons[0].From), "600 the use of the last twelve months")
	// with one more worn out there is an estimate
	b.scraper("drill", "2024-07-01", record.SwapNew, 2, "1700 ac", EndWorn, nil)
	if l = b.life("2024-07-02", "scraper", nil); l.All.Weibull == nil || l.All.Worn != 3 {
		t.Errorf("%+v", l.All)
	}
}

func sorted(ids ...ID) []ID { slices.Sort(ids); return ids }

func iffy(is bool, s string) string {
	if is {
		return s
	}
	return ""
}

// lifeDump is what a life says, without pointers.
func lifeDump(t testing.TB, l *PartLife) string {
	t.Helper()
	c := *l
	c.Ask.Machine, c.Ask.Season = nil, nil
	if l.Coming != nil {
		k := *l.Coming
		k.Seasons = slices.Clone(k.Seasons)
		for i := range k.Seasons {
			k.Seasons[i].Machine, k.Seasons[i].Season = nil, nil
		}
		c.Coming = &k
	}
	text, err := json.MarshalIndent(c, "", " ") // fails on NaN and on what is infinite
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// drawSwaps draws a drill's scrapers over some years: swapped for any reason, moved, turned, taken off and put back, at counters that go on.
func drawSwaps(t *testing.T, rt *rapid.T) (*notebook, []ID) {
	b := lifeBook(t, 6)
	if rapid.Bool().Draw(rt, "old") {
		b = newNotebook(t)
		b.names["new"] = b.names["drill"]
		b.counts("new", "2024-01-01", "area at 500 ac")
	}
	area := 1000
	var swaps []ID
	n := rapid.IntRange(0, 25).Draw(rt, "swaps")
	step := rapid.SampledFrom([]int{0, 1, 100}).Draw(rt, "step")
	for i := range n {
		area += step * rapid.IntRange(0, 4).Draw(rt, "more")
		why := rapid.SampledFrom([]string{"worn", "worn", "worn", "in-time", "with-set", "broken", ""}).Draw(rt, "why")
		act := rapid.SampledFrom([]string{record.SwapNew, record.SwapNew, record.SwapNew, record.SwapOut, record.SwapTurned, record.SwapExchange}).Draw(rt, "act")
		at := rapid.IntRange(1, 4).Draw(rt, "opener")
		swaps = append(swaps, b.scraper("new", dayOf(i*10), act, at, fmt.Sprint(area, " ac"), iffy(act == record.SwapNew || act == record.SwapOut, why), func(s *record.Swap) {
			if act == record.SwapExchange {
				s.With = b.at(fmt.Sprintf("opener/%d", at%4+1))
			}
			if act == record.SwapNew && rapid.IntRange(0, 5).Draw(rt, "used") == 0 {
				s.Used = quantityOf("150 ac")
			}
		}))
	}
	b.counts("new", dayOf(n*10+10), fmt.Sprint("area at ", area+100, " ac"))
	b.add(&record.Season{Act: "plan", Name: "next", Work: "seeding", From: "2027-04-01", Done: "2024-01-01", Use: []record.PlannedUse{{Kind: "drill", Counter: "area", Amount: quantityOf("250 ac")}}})
	return b, swaps
}

// Laws of a part's life: whatever the order of arrival it is the same; a struck swap is as if it had never been written; every number is finite; those counted as worn
// out, and all others, are as many as there are; a harder season takes no fewer; limits hold their estimate.
func TestLawLife(t *testing.T) {
	checks := "60"
	if os.Getenv("SHEDBOOK_TEST") == "full" {
		checks = "5000"
	}
	for name, value := range map[string]string{"rapid.checks": checks, "rapid.seed": "20260402"} {
		old := flag.Lookup(name).Value.String()
		if err := flag.Set(name, value); err != nil {
			t.Fatal(err)
		}
		defer flag.Set(name, old)
	}
	fitted, ahead := 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		b, swaps := drawSwaps(t, rt)
		ask := LifeAsk{Kind: "drill", Part: "scraper", Counter: "area", Unit: quantity.MustUnit("ac"), By: rapid.SampledFrom([]string{"", "hand", "group", "machine"}).Draw(rt, "by")}
		const on = "2026-12-31"
		l := replayed(t, b.entries, on).Life(ask)
		dump := lifeDump(t, l)
		differs(rt, "another order of arrival", dump, lifeDump(t, replayed(t, rapid.Permutation(b.entries).Draw(rt, "arrival"), on).Life(ask)))
		if f := l.All; f.Weibull != nil {
			fitted++
			for _, s := range []LifeSpan{f.Median, f.B10, f.Shape} {
				if s.Low > s.Value || !s.Open && s.High < s.Value {
					rt.Fatalf("limits %+v", s)
				}
			}
		} else if f.Not == "" {
			rt.Fatal("no estimate and no reason")
		}
		worn, all := 0, 0
		for _, v := range l.used() {
			if v.Use > v.From {
				all++
				worn += count(asTold[v.End])
			}
		}
		if worn != l.All.Worn || all != l.All.Parts {
			rt.Fatalf("%d of %d worn out, told %d of %d", worn, all, l.All.Worn, l.All.Parts)
		}
		if c := l.Coming; c != nil {
			ahead++
			if c.Count.Low > c.Count.Likely || c.Count.Likely > c.Count.High || c.Count.High > c.Parts || c.Harsh.Mean < c.Count.Mean || c.Harsh.High < c.Count.High {
				rt.Fatalf("%+v", c)
			}
		}
		if len(swaps) > 0 {
			id := rapid.SampledFrom(swaps).Draw(rt, "struck")
			without := slices.DeleteFunc(slices.Clone(b.entries), func(e Entry) bool { return e.ID == id })
			b.strike(id)
			differs(rt, "struck", lifeDump(t, replayed(t, without, on).Life(ask)), lifeDump(t, replayed(t, b.entries, on).Life(ask)))
		}
	})
	if fitted < 10 || ahead < 10 {
		t.Errorf("only %d fits and %d looks ahead were seen", fitted, ahead)
	}
}

// An arm put in anew because something on it was worn: of its scraper nobody said so, and what an arm takes with it in good time is in good time.
func TestLifeOfAssemblies(t *testing.T) {
	b := lifeBook(t, 4)
	arm := func(done, area, why string, opener int) {
		b.add(&record.Swap{Work: b.of("new", done, "area "+area), Part: "arm", Act: record.SwapNew, Positions: b.at(fmt.Sprintf("opener/%d", opener)), Why: why})
	}
	arm("2024-02-01", "100 ac", EndWorn, 1)
	arm("2024-02-02", "200 ac", "", 2)
	arm("2024-02-03", "300 ac", EndInTime, 3)
	b.scraper("new", "2024-02-04", record.SwapNew, 4, "400 ac", EndWorn, nil)
	got := map[string]string{}
	for _, v := range b.life("2024-03-01", "scraper", nil).Lives {
		if v.End != EndInUse {
			got[v.Slot] = fmt.Sprint(v.End, " ", v.Use, " ", v.Without)
		}
	}
	for slot, want := range map[string]string{"opener/1": "with-set 100 ", "opener/2": "with-set 200 ", "opener/3": "in-time 300 ", "opener/4": "worn 400 "} {
		wantEqual(t, slot, got[slot], want)
	}
}

// Both hands and the wings by themselves. Left discs last 100 to 320 ac, each replaced as it goes, up to 3,200 ac; right ones last ten times as long. Which opener has the long
// ones has nothing to do with the wings.
func TestLifeByHand(t *testing.T) {
	b := lifeBook(t, 12)
	worn := map[string]int{}
	for i := range 12 {
		for hand, times := range map[string]int{"left": 1, "right": 10} {
			life := times * (100 + 20*(i*5%12))
			for area := life; area < 3200; area += life {
				worn[hand]++
				s := &record.Swap{Part: "disc", Hand: hand, Act: record.SwapNew, Positions: b.at(fmt.Sprintf("opener/%d", i+1)), Why: EndWorn}
				s.Work = b.of("new", dayOf(area), fmt.Sprint("area ", area, " ac"))
				b.add(s)
			}
		}
	}
	b.counts("new", dayOf(3200), "area at 3200 ac")
	s := b.state("2034-01-01")
	life := func(by string) *PartLife {
		return s.Life(LifeAsk{Kind: "drill", Part: "disc", Counter: "area", Unit: quantity.MustUnit("ac"), By: by, Machine: s.Machine("new")})
	}
	l := life("hand")
	wantEqual(t, "hands", len(l.By), 2)
	for i, want := range []struct {
		name           string
		shortest, most float64
	}{{"left", 130, 250}, {"right", 1900, 2400}} {
		f := l.By[i]
		wantEqual(t, "name", f.Name, want.name)
		wantEqual(t, want.name+" worn out", f.Worn, worn[want.name])
		if f.Median.Value < want.shortest || f.Median.Value > want.most {
			t.Errorf("%s: half last %v", want.name, f.Median)
		}
		if !(f.Differs > 0 && f.Differs < 1e-6) {
			t.Errorf("%s differs by chance with %v", want.name, f.Differs)
		}
	}
	l = life("group")
	wantEqual(t, "groups", fmt.Sprint(len(l.By), " ", l.By[0].Name), "1 left-wing")
	if p := l.By[0].Differs; p < 0.05 {
		t.Errorf("the wing differs by chance with %v", p)
	}
	l = life("year")
	all := 0
	for _, f := range l.By {
		all += f.Parts
	}
	wantEqual(t, "as they came, first year", l.By[len(l.By)-1].Name+" "+l.By[0].Name, "as it came 2024")
	wantEqual(t, "all years together", all, l.All.Parts)
}

// A filter that the schedule changes every 250 h: changed without a reason it was changed in good time, and only what somebody called worn out was. The belt beside it, changed when it looks
// worn, is taken as worn out.
func TestLifeOfPlannedChanges(t *testing.T) {
	b := newNotebook(t)
	b.add(&record.Schedule{Name: "mower", Text: `shedbook_schedule = 1
name = "mower"
[counter.hours]
unit = "h"
main = true
[part.filter]
[part.belt]
[job.new-filter]
swaps = "filter"
when = [{ every = "250 h" }]
[job.new-belt]
swaps = "belt"
`})
	b.machine("mower", "mower", "2024-01-01")
	b.counts("mower", "2024-01-01", "hours at 0 h")
	for i, hours := range []int{250, 510, 745, 1000} {
		for _, part := range []string{"filter", "belt"} {
			b.add(&record.Swap{Work: b.of("mower", dayOf(i), fmt.Sprint("hours ", hours, " h")), Part: part, Act: record.SwapNew, Why: iffy(i == 3, EndWorn)})
		}
	}
	s := b.state("2024-06-01")
	ask := LifeAsk{Kind: "mower", Part: "filter", Counter: "hours", Unit: quantity.MustUnit("h")}
	l := s.Life(ask)
	wantEqual(t, "filter", fmt.Sprint(l.Planned, " ", l.All.Worn, " ", l.Gone.Count), "true 1 1")
	wantEqual(t, "taken otherwise", fmt.Sprint(l.Ways[0].Name, " ", l.Ways[0].Worn), "those without a reason worn out 4")
	ask.Part = "belt"
	l = s.Life(ask)
	wantEqual(t, "belt", fmt.Sprint(l.Planned, " ", l.All.Worn, " ", l.Gone.Count), "false 4 4")
}
