package rules

import (
	"flag"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	gocmp "github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"shedbook/rules/record"
)

// lawful is a schedule with every kind of trigger.
const lawful = `
[option.dust]
type = "yes-no"
default = "no"
[place.wheel]
names = ["left", "right"]
[part.disc]
of = "opener"
handed = true
[setting.depth]
of = "opener"
type = "steps"
min = 1
max = 9
agree = true
[setting.fuel]
type = "choice"
choices = ["plain", "bio"]
[reading.reach]
of = "opener"
handed = true
unit = "in"
part = "disc"
limit = { min = "5 in", neighbours = "2 in" }
[reading.tip]
of = "opener"
unit = "L/min"
limit = { max = "2 L/min", k = 2 }
[job.oil]
includes = ["level"]
[[job.oil.when]]
every = ["250 h", "12 mo"]
first = "50 h"
factors = [{ by = "1/2", while = [{ setting = "fuel", is = "bio" }] }]
[job.level]
[[job.level.when]]
worked = 2
[[job.level.when]]
every = "10 h"
[job.grid]
[[job.grid.when]]
every = "100 h"
grid = true
[job.grease]
of = "opener"
[[job.grease.when]]
every = "100 ac"
[[job.grease.when]]
season = "before"
[[job.grease.when]]
season = "after"
[job.preset]
of = "opener"
next = ["drag"]
[[job.preset.when]]
season = "before"
[job.drag]
of = "opener"
[job.run-in]
[[job.run-in.when]]
idle = 30
[job.nuts]
of = "wheel"
results = ["moved", "none-moved"]
torques = [{ what = "nut", value = "200 lbf.ft" }]
[[job.nuts.when]]
after = "loosened:nuts"
series = ["1 h", "10 h"]
then = "10 h"
until_result = "none-moved"
finally = "100 h"
[job.change]
of = "wheel"
loosens = ["nuts"]
[job.replace]
of = "opener"
swaps = "disc"
[[job.replace.when]]
past = "reach"
[[job.replace.when]]
every = "800 ac"
[job.tips]
of = "opener"
[[job.tips.when]]
past = "tip"
[job.scraper]
of = "opener"
[[job.scraper.when]]
after = "swap:disc"
[[job.scraper.when]]
after = "adjust:depth"
series = ["3 d", "20 d"]
then = "30 d"
[job.tag]
[[job.tag.when]]
every = "1 mo"
stored = "run"
`

// drawn is a made-up year: up to n entries on any days of 2025 and early 2026, in a random order of writing.
func drawn(rt *rapid.T, t testing.TB, n int) *shed {
	s := newShed(t, kind(lawful))
	day := rapid.IntRange(0, 400)
	opener := rapid.SampledFrom([]string{"opener/1", "opener/2", "opener/1-2", "opener/2-4", "opener/1-4"})
	wheel := rapid.SampledFrom([]string{"wheel/left", "wheel/right"})
	var faults []ID
	season := 0
	for range rapid.IntRange(0, n).Draw(rt, "entries") {
		k := day.Draw(rt, "day")
		on := record.Done(calendarDay("2025-01-01").AddDate(0, 0, k).Format("2006-01-02"))
		if rapid.Bool().Draw(rt, "timed") {
			on += record.Done(fmt.Sprintf("T%02d:00", rapid.IntRange(0, 23).Draw(rt, "hour")))
		}
		w := s.work(string(on))
		switch rapid.SampledFrom([]string{"read", "read", "read", "job", "job", "wheel", "opener", "opener", "swap", "reach", "tip", "depth", "fuel", "store", "season", "season",
			"fault", "repair", "assume", "torque"}).Draw(rt, "kind") {
		case "read": // counters grow with the days, so that most readings are in order
			s.read(string(on), fmt.Sprintf("hours %dh", 20+k*2+rapid.IntRange(0, 30).Draw(rt, "h")), fmt.Sprintf("area %dac", 300+k*8+rapid.IntRange(0, 99).Draw(rt, "ac")))
		case "job":
			s.add(&record.Did{Work: w, Job: rapid.SampledFrom([]string{"oil", "level", "grid", "run-in", "tag"}).Draw(rt, "job")})
		case "wheel":
			s.add(&record.Did{Work: w, Job: "change", Positions: s.at(wheel.Draw(rt, "wheel"))})
		case "torque":
			d := &record.Did{Work: w, Job: "nuts"}
			if rapid.Bool().Draw(rt, "moved") {
				d.Results = []record.Result{{Positions: s.at(wheel.Draw(rt, "wheel")), Word: "moved"}}
			}
			s.add(d)
		case "opener":
			s.add(&record.Did{Work: w, Job: rapid.SampledFrom([]string{"grease", "preset", "drag", "replace", "tips", "scraper"}).Draw(rt, "job"), Positions: s.at(opener.Draw(rt, "at"))})
		case "swap":
			act := rapid.SampledFrom([]string{"new", "new", "turned", "exchange"}).Draw(rt, "act")
			sw := &record.Swap{Work: w, Part: "disc", Act: act, Positions: s.at("opener/1")}
			if act == "exchange" {
				sw.With = s.at("opener/3")
			}
			s.add(sw)
		case "reach", "tip":
			m := &record.Measure{Work: w, Reading: "reach"}
			value := fmt.Sprintf("%d.%d in", rapid.IntRange(4, 7).Draw(rt, "in"), rapid.IntRange(1, 9).Draw(rt, "tenth"))
			if rapid.Bool().Draw(rt, "tip") {
				m.Reading, value = "tip", fmt.Sprintf("%d.1 L/min", rapid.IntRange(1, 2).Draw(rt, "flow"))
			}
			v, err := record.ParseValue(value)
			if err != nil {
				t.Fatal(err)
			}
			m.Values = []record.Measured{{Positions: s.at(opener.Draw(rt, "at")), Found: v}}
			s.add(m)
		case "depth":
			v := record.Amount(amount(t, fmt.Sprint(rapid.IntRange(1, 9).Draw(rt, "step"))))
			s.add(&record.Adjust{Work: w, Changes: []record.Change{{Setting: "depth", Positions: s.at(opener.Draw(rt, "at")), To: v}}})
		case "fuel":
			s.add(&record.Adjust{Work: w, Changes: []record.Change{{Setting: "fuel", To: record.Word(rapid.SampledFrom([]string{"plain", "bio"}).Draw(rt, "fuel"))}}})
		case "store":
			s.add(&record.Store{Work: w, Act: rapid.SampledFrom([]string{"in", "out"}).Draw(rt, "act")})
		case "season":
			season++
			s.add(&record.Season{Act: rapid.SampledFrom([]string{"plan", "open", "close"}).Draw(rt, "act"), Name: fmt.Sprint("season ", season%3), Work: "seeding",
				From: on.Date(), Done: on})
		case "fault":
			faults = append(faults, s.add(&record.Fault{Work: w, Severity: "soon", Positions: s.at(opener.Draw(rt, "at")), TiedUp: rapid.Bool().Draw(rt, "tied")}))
		case "repair":
			if len(faults) > 0 {
				w.Closes = []ID{rapid.SampledFrom(faults).Draw(rt, "fault")}
				s.add(&record.Repair{Work: w})
			}
		case "assume":
			s.add(&record.Assume{Work: w, Good: true})
		}
	}
	return s
}

// replayed replays without minding Problems: a drawn history has impossible things in it.
func (s *shed) replayed(on string) *State {
	st, err := Replay(s.entries, Options{On: on})
	if err != nil {
		s.t.Fatal(err)
	}
	return st
}

// laws runs a property: plain runs try the same few histories each time, SHEDBOOK_TEST=full many longer ones. Flags given to go test win.
func laws(t *testing.T, property func(rt *rapid.T, n int)) {
	n := 25
	if os.Getenv("SHEDBOOK_TEST") == "full" {
		n = 60
		fix(t, "rapid.checks", "5000")
	} else {
		fix(t, "rapid.checks", "100")
		fix(t, "rapid.seed", "20260401")
	}
	rapid.Check(t, func(rt *rapid.T) { property(rt, n) })
}

// fix sets a flag for one test, unless it was given.
func fix(t *testing.T, name, value string) {
	given := false
	flag.Visit(func(f *flag.Flag) { given = given || f.Name == name })
	if given {
		return
	}
	before := flag.Lookup(name).Value.String()
	if err := flag.Lookup(name).Value.Set(value); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = flag.Lookup(name).Value.Set(before) })
}

func onDay(rt *rapid.T) string {
	return calendarDay("2025-03-01").AddDate(0, 0, rapid.IntRange(0, 400).Draw(rt, "on")).Format("2006-01-02")
}

// The list depends on what was done, not on the order in which word of it arrived.
func TestDueInAnyOrderOfArrival(t *testing.T) {
	laws(t, func(rt *rapid.T, n int) {
		s := drawn(rt, t, n)
		on := onDay(rt)
		want := Due(s.replayed(on), Filter{All: true})
		s.entries = rapid.Permutation(s.entries).Draw(rt, "arrival")
		got := Due(s.replayed(on), Filter{All: true})
		if d := gocmp.Diff(show(want), show(got)); d != "" {
			rt.Fatalf("another order of arrival (-want +got):\n%s", d)
		}
	})
}

// show is everything an item says.
func show(items []Item) []string {
	var out []string
	for _, i := range items {
		out = append(out, fmt.Sprintf("%s %s %q %s %s %s %s %v %v %q %v", i.ID, line(i), i.Why, i.Severity, i.Cause, i.Positions, i.Expected, i.Last, i.Entries, i.Includes, i.Minutes))
	}
	return out
}

// Doing what is asked for where it is asked for leaves nothing of it due there, on that day.
func TestDoingADueJobSettlesIt(t *testing.T) {
	laws(t, func(rt *rapid.T, n int) {
		s := drawn(rt, t, n)
		on := onDay(rt)
		items := slices.DeleteFunc(Due(s.replayed(on), Filter{}), func(i Item) bool { return i.Job == "" || i.State == Unknown })
		for range min(4, len(items)) {
			i := rapid.SampledFrom(items).Draw(rt, "item")
			after := &shed{t: t, entries: slices.Clone(s.entries), machine: s.machine}
			after.add(&record.Did{Work: after.work(on), Job: i.Job, Positions: i.Positions})
			for _, k := range Due(after.replayed(on), Filter{}) {
				if k.Job == i.Job && (k.State == Overdue || k.State == DueNow) && (i.Positions.IsZero() || slices.ContainsFunc(k.Positions.All(), i.Positions.Has)) {
					rt.Fatalf("%s (%s)\ndone on %s, and still %s (%s)", line(i), i.Why, on, line(k), k.Why)
				}
			}
		}
	})
}

// With nothing new written, no work gets less urgent as days pass.
func TestNothingGetsLessOverdue(t *testing.T) {
	rank := map[string]int{Overdue: 3, DueNow: 2, Coming: 1}
	laws(t, func(rt *rapid.T, n int) {
		s := drawn(rt, t, n)
		on := onDay(rt)
		s.entries = slices.DeleteFunc(s.entries, func(e Entry) bool {
			d, ok := record.DoneOf(e.Record)
			return ok && d.Date() > on
		})
		next := calendarDay(on).AddDate(0, 0, rapid.IntRange(1, 60).Draw(rt, "days")).Format("2006-01-02")
		early, late := verdicts(s.replayed(on)), verdicts(s.replayed(next))
		for key, v := range early {
			if w := late[key]; rank[w.state] < rank[v.state] || v.state == Overdue && v.due == w.due && w.over.Value.Rat().Cmp(v.over.Value.Rat()) < 0 {
				rt.Fatalf("%s is %s on %s (%s, over %v) and %s on %s (%s, over %v)", key, v.state, on, v.why, v.over, w.state, next, w.why, w.over)
			}
		}
	})
}

// verdicts judges every job at every place, before any is hidden or joined.
func verdicts(s *State) map[string]verdict {
	out := map[string]verdict{}
	h := newHistory(s)
	for _, m := range s.Machines {
		j := newJudge(s, m, Filter{}, h)
		for i := range m.Fitted.Jobs {
			job := &m.Fitted.Jobs[i]
			for _, p := range j.placesOf(job) {
				if v, ok := j.job(job, p); ok {
					out[job.Name+" "+p.String()] = v
				}
			}
		}
	}
	return out
}

// Joining places loses none and doubles none, and each line's state is that of each of its places.
func TestGroupingKeepsEveryPlace(t *testing.T) {
	laws(t, func(rt *rapid.T, n int) {
		s := drawn(rt, t, n)
		st := s.replayed(onDay(rt))
		want := verdicts(st)
		seen := map[string]bool{}
		ids := map[string]bool{}
		for _, i := range Due(st, Filter{All: true}) {
			if ids[i.ID] {
				rt.Fatalf("two items %s", i.ID)
			}
			ids[i.ID] = true
			if i.Job == "" {
				continue
			}
			places := i.Positions.All()
			if len(places) == 0 {
				places = []record.Position{{}}
			}
			for _, p := range places {
				key := i.Job + " " + p.String()
				if seen[key] {
					rt.Fatalf("%s stands on two lines", key)
				}
				seen[key] = true
				if v := want[key]; v.state != i.State || v.cause != i.Cause || !strings.HasPrefix(i.Why, v.why) {
					rt.Fatalf("%s is %s (%s, %s), its line %s (%s, %s)", key, v.state, v.cause, v.why, i.State, i.Cause, i.Why)
				}
			}
			for _, small := range i.Includes {
				seen[small+" "] = true
			}
		}
		for key, v := range want {
			if !seen[key] {
				rt.Fatalf("%s (%s, %s) stands on no line", key, v.state, v.why)
			}
		}
	})
}

// A year of work on a drill of 60 openers is listed in a moment: a guard against judging places over and over.
func TestDueIsQuick(t *testing.T) {
	s := newShed(t, strings.Replace(kind(lawful), "count = 4", "count = 60", 1))
	for k := range 300 {
		day := calendarDay("2025-01-01").AddDate(0, 0, k).Format("2006-01-02")
		s.read(day, fmt.Sprintf("area %dac", 300+k*8), fmt.Sprintf("hours %dh", 20+k))
		s.did(day, "grease", fmt.Sprintf("opener/%d", 1+k%60))
		s.measure(day, "reach", fmt.Sprintf("opener/%d left=6 in", 1+k%60), fmt.Sprintf("opener/%d right=6 in", 1+k%60))
	}
	st := s.replayed("2025-12-01")
	start := time.Now()
	n := len(Due(st, Filter{}))
	if took := time.Since(start); took > 2*time.Second {
		t.Errorf("%d items took %v", n, took)
	}
}
