package rules

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"shedbook/rules/quantity"
	"shedbook/rules/record"

	"pgregory.net/rapid"
)

// wrote sets when and on which device the entry written last was written.
func (b *notebook) wrote(at, device string) {
	b.last().At, b.last().Writer = at, device
}

// Work on 1 May written on 1 May, 2 May, 4 May, 5 May and 31 May lags 0, 1, 3, 4 and 30 days: three of five are near, the middle one is 3. A clock ahead of the
// day done (2 May in the shed, 1 May in universal time) lags nothing.
func TestHonestyLags(t *testing.T) {
	b := newNotebook(t)
	var ids []ID
	for _, at := range []string{"2025-05-01T20:00:00Z", "2025-05-02T01:00:00Z", "2025-05-04T20:00:00Z", "2025-05-05T20:00:00Z", "2025-05-31T20:00:00Z"} {
		ids = append(ids, b.reads("2025-05-01", "area at 10 ac"))
		b.wrote(at, "a")
	}
	b.add(&record.Assume{Work: b.on("2024-06-01"), Good: true}) // the starting line is no work, nor is the machine's own entry
	st := b.state("2025-06-30")
	h := HonestyOf(st, st.Machine("drill"))
	wantEqual(t, "sum", fmt.Sprint(h.Entries, h.Near, h.Median, h.Longest), "5 3 3 30")
	wantEqual(t, "longest", h.LongestEntry, ids[4])
	wantEqual(t, "stretch", fmt.Sprint(h.First.Date(), " ", h.Last.Date()), "2025-05-01 2025-05-01")
	var late []string
	for _, l := range h.Lags {
		late = append(late, fmt.Sprint(l.Days, " ", l.Written, " ", l.Entry == ids[4] || l.Entry == ids[3]))
	}
	wantList(t, "late", late, "30 2025-05-31 true", "4 2025-05-05 true")
	wantEqual(t, "recent", len(h.Recent), 0)

	b.reads("2025-05-02", "area at 12 ac")
	b.wrote("2025-05-01T23:30:00Z", "a")
	old := b.reads("2024-05-01", "area at 1 ac")
	b.wrote("2025-06-20T08:00:00Z", "a") // 415 days after, and 10 before the day asked about
	st = b.state("2025-06-30")
	h = HonestyOf(st, st.Machine("drill"))
	wantEqual(t, "sum", fmt.Sprint(h.Entries, h.Near, h.Median, h.Longest), "7 4 3 415")
	wantEqual(t, "recent", fmt.Sprint(len(h.Recent), h.Recent[0].Entry == old, h.Recent[0].Days), "1 true 415")
	st = b.state("2025-07-21") // a month later it is no longer of the last days
	wantEqual(t, "recent later", len(HonestyOf(st, st.Machine("drill")).Recent), 0)
}

// Nine entries typed at one go, from 20:00 on and ten minutes apart, about work of nine days from 1 to 17 May: a sitting. Eight about one week are none, nor are
// eight with an hour between two of them.
func TestHonestySittings(t *testing.T) {
	b := newNotebook(t)
	var ids []ID
	for i := range 9 {
		ids = append(ids, b.reads(fmt.Sprintf("2025-05-%02d", 1+2*i), "area at 10 ac"))
		b.wrote(fmt.Sprintf("2025-06-01T%02d:%02d:00Z", 20+i/6, i%6*10), "a")
	}
	for i := range 8 {
		b.reads(fmt.Sprintf("2025-05-%02d", 1+i), "area at 10 ac")
		b.wrote(fmt.Sprintf("2025-06-02T20:%02d:00Z", i), "a")
		b.reads(fmt.Sprintf("2025-05-%02d", 1+3*i), "area at 10 ac")
		b.wrote(fmt.Sprintf("2025-06-03T%02d:00:00Z", 10+i), "b")
	}
	st := b.state("2025-06-30")
	h := HonestyOf(st, st.Machine("drill"))
	wantEqual(t, "sittings", len(h.Sittings), 1)
	s := h.Sittings[0]
	wantEqual(t, "sitting", fmt.Sprint(s.Device, " ", s.Written, " ", s.From, " ", s.To, " ", s.Days), "a 2025-06-01 2025-05-01 2025-05-17 9")
	wantList(t, "its entries", s.Entries, ids...)
}

// Two people, three devices: Ada wrote two entries on one and one on another, Bo one that Ada did. A correction moves one from June to May; one entry is struck.
func TestHonestyWho(t *testing.T) {
	b := newNotebook(t)
	b.reads("2025-05-01", "area at 10 ac")
	b.wrote("2025-05-01T20:00:00Z", "a")
	moved := b.reads("2025-06-02", "area at 20 ac")
	b.wrote("2025-06-02T20:00:00Z", "a")
	b.reads("2025-06-03", "area at 30 ac")
	b.wrote("2025-06-03T20:00:00Z", "b")
	w := b.on("2025-06-04", "area 40 ac")
	w.By = []ID{ada}
	b.worker(&record.Note{Work: w})
	b.wrote("2025-06-04T20:00:00Z", "c")
	gone := b.reads("2025-06-05", "area at 35 ac")
	b.wrote("2025-06-05T20:00:00Z", "a")
	fix := b.correct(moved, &record.Counter{Work: b.on("2025-05-02"), Acts: []record.CounterAct{{Counter: "area", Act: "at", Value: quantity.MustParse("20 ac")}}})
	b.wrote("2025-06-12T20:00:00Z", "a")
	b.last().Private = &record.Private{Text: "wrong month"}
	strike := b.strike(gone)
	b.wrote("2025-06-05T21:00:00Z", "a")

	st := b.state("2025-06-30")
	h := HonestyOf(st, st.Machine("drill"))
	wantEqual(t, "entries", h.Entries, 4)
	wantList(t, "hands", h.Hands, Share{Person: ada, Count: 4, Of: 4})
	wantList(t, "writers", h.Writers, Share{Person: ada, Count: 3, Of: 4}, Share{Person: bo, Count: 1, Of: 4})
	wantList(t, "devices", h.Devices, Share{Person: ada, Device: "a", Count: 2, Of: 4}, Share{Person: ada, Device: "b", Count: 1, Of: 4}, Share{Person: bo, Device: "c", Count: 1, Of: 4})
	wantEqual(t, "corrections", len(h.Corrections), 1)
	c := h.Corrections[0]
	wantEqual(t, "correction", fmt.Sprint(c.Entry == fix, c.Of == moved, " ", c.Kind, " ", c.Done, " ", c.NewDone, " ", c.After, " ", c.Text), "true true counter 2025-06-02 2025-05-02 10 wrong month")
	wantEqual(t, "strikes", len(h.Strikes), 1)
	wantEqual(t, "strike", h.Strikes[0].Entry == strike && h.Strikes[0].Of == gone && h.Strikes[0].Now == nil, true)
	// by the day it was corrected to, the entry was written 31 days after
	wantEqual(t, "longest", h.Longest, 31)
}

const discsText = `shedbook_schedule = 1
name = "rig"
[counter.area]
unit = "ac"
main = true
[place.opener]
count = 10
[part.disc]
of = "opener"
[reading.disc-size]
of = "opener"
unit = "in"
part = "disc"
[reading.gap]
of = "opener"
unit = "in"
`

func sizes(values ...string) (out []string) {
	for i, v := range values {
		out = append(out, fmt.Sprintf("opener/%d=%s in", i+1, v))
	}
	return out
}

func TestHonestyReadings(t *testing.T) {
	s := newShed(t, discsText)
	s.read("2025-01-01", "area 0 ac")
	ten := strings.Fields("15 15 15 15 15 15 15 15 15 14.5")
	alike := s.measure("2025-03-01", "gap", sizes(ten...)...) // 9 of 10 alike
	s.read("2025-04-01", "area 0 ac")
	s.measure("2025-03-02", "gap", sizes("15", "15", "15", "15", "15", "15", "15", "15", "14", "14.5")...)
	first := s.measure("2025-04-01", "gap", sizes(strings.Fields("1 2 3 4 5 6 7 8 9 10")...)...)
	s.measure("2025-05-01", "gap", sizes(strings.Fields("1 2 3 4 5 6 7 8 9 11")...)...) // one differs
	s.read("2025-05-02", "area 300 ac")
	again := s.measure("2025-06-01", "gap", sizes(strings.Fields("1 2 3 4 5 6 7 8 9 10")...)...) // as on 1 April
	short := s.measure("2025-06-02", "gap", sizes(strings.Fields("1 2 3 4 5 6 7 8")...)...)      // eight of them
	s.measure("2025-06-03", "gap", sizes(strings.Fields("1 2 3 4 5 6 7")...)...)                 // too few
	// new discs are alike, and no wonder
	s.swap("2025-07-01", "disc", record.SwapNew)
	s.measure("2025-07-01", "disc-size", sizes("15", "15", "15", "15", "15", "15", "15", "15", "15", "15")...)

	st := s.state("2025-12-31")
	h := HonestyOf(st, st.Machine("rig"))
	var got []string
	for _, a := range h.Alike {
		got = append(got, fmt.Sprintf("%s %s %s %d of %d %t", a.Reading, a.Done, a.Value, a.Same, a.Places, a.Entry == alike))
	}
	wantList(t, "alike", got, "gap 2025-03-01 15 in 9 of 10 true")
	got = nil
	for _, r := range h.Repeated {
		got = append(got, fmt.Sprintf("%s %d places %s %s, %s, %t %t", r.Reading, r.Places, r.EarlierDone, r.LaterDone, r.WorkedBetween, r.Earlier == first || r.Earlier == again, r.Later == again || r.Later == short))
	}
	wantList(t, "repeated", got, "gap 10 places 2025-04-01 2025-06-01, 300 ac, true true") // a day later nothing was worked: the same is right
}

// Oil is due every 250 h: at 250 h exactly; at 507.5 h, and 250 h after that at 757.5 h exactly; at 1,010 h neither.
func TestHonestyExactServices(t *testing.T) {
	s := newShed(t, kind("[job.oil]\n[[job.oil.when]]\nevery = \"250 h\"\n[job.grease]\n[[job.grease.when]]\nevery = \"12 mo\"\n"))
	did := func(done, job, at string) ID {
		w := s.work(done)
		if at != "" {
			w.Counters = []record.CounterAt{{Counter: "hours", At: amount(t, at)}}
		}
		return s.add(&record.Did{Work: w, Job: job})
	}
	s.read("2025-01-01", "hours 0 h")
	if n := len(exactOf(t)); n != 0 {
		t.Errorf("%d exact services at the reading that the book begins with", n)
	}
	a := did("2025-02-01", "oil", "250 h")
	did("2025-03-01", "oil", "507.5 h")
	c := did("2025-04-01", "oil", "757.5 h")
	did("2025-05-01", "oil", "1010 h")
	did("2025-06-01", "oil", "")          // by no reading of its own
	did("2025-06-01", "grease", "1500 h") // due by the calendar
	st := s.state("2025-12-31")
	h := HonestyOf(st, st.Machine("rig"))
	wantEqual(t, "services", h.Services, 4)
	var got []string
	for _, x := range h.Exact {
		got = append(got, fmt.Sprint(x.Job, " ", x.At, " ", x.Interval, " ", x.Grid, " ", x.Entry == a || x.Entry == c))
	}
	wantList(t, "exact", got, "oil 250 h 250 h true true", "oil 757.5 h 250 h false true")
}

// Whatever the history: near and late entries are all there are, shares add up, every entry named holds, and the order of arrival does not matter.
func TestLawHonesty(t *testing.T) {
	checkLaw(t, func(rt *rapid.T, s *story) {
		for i := range s.entries {
			s.entries[i].At = fmt.Sprintf("2026-%02d-%02dT%02d:00:00Z", 1+i%12, 1+i*7%28, i%24)
		}
		st := replayed(t, s.entries, lawEnd)
		again := replayed(t, rapid.Permutation(s.entries).Draw(rt, "arrival"), lawEnd)
		for i, m := range st.Machines {
			h := HonestyOf(st, m)
			show := func(h *Honesty) string {
				n := *h
				n.Corrections, n.Strikes = nil, nil // hold records, told by their ids below
				return fmt.Sprintf("%+v", n) + fmt.Sprint(amendedIDs(h))
			}
			if got, want := show(HonestyOf(again, again.Machines[i])), show(h); got != want {
				rt.Fatalf("in another order of arrival: %s, want %s", got, want)
			}
			if h.Near+len(h.Lags) != h.Entries {
				rt.Fatalf("%d near and %d late of %d", h.Near, len(h.Lags), h.Entries)
			}
			for _, shares := range [][]Share{h.Hands, h.Writers, h.Devices} {
				sum := 0
				for _, x := range shares {
					sum += x.Count
				}
				if sum != h.Entries {
					rt.Fatalf("shares of %d, of %d entries", sum, h.Entries)
				}
			}
			var ids []ID
			for _, l := range slices.Concat(h.Lags, h.Recent) {
				ids = append(ids, l.Entry)
			}
			for _, x := range h.Sittings {
				ids = append(ids, x.Entries...)
			}
			heldEntries(rt, st, ids)
		}
	})
}

// exactOf is a service at 500 h, which is what the counter showed when the book began.
func exactOf(t *testing.T) []ExactService {
	s := newShed(t, kind("[job.oil]\n[[job.oil.when]]\nevery = \"250 h\"\n"))
	s.read("2025-01-01", "hours 500 h")
	w := s.work("2025-01-02")
	w.Counters = []record.CounterAt{{Counter: "hours", At: amount(t, "500 h")}}
	s.add(&record.Did{Work: w, Job: "oil"})
	st := s.state("2025-12-31")
	return HonestyOf(st, st.Machine("rig")).Exact
}

// A disc cannot grow. New discs are 16 in: opener 1 reads 15.5, then 15.75 in with acres between; opener 2 grows by one sixteenth, as two readings of a tape may; opener 3 got a new disc in
// between; opener 4 is new and reads 15.5 in before it has worked.
func TestHonestyGrown(t *testing.T) {
	s := newShed(t, wornText)
	s.read("2024-12-31", "area 0 ac")
	s.read("2025-03-01", "area 1000 ac")
	first := s.measure("2025-03-01", "disc-size", "opener/1=15.5 in", "opener/2=15.5 in", "opener/3=15 in", "opener/5=15.4375 in", "opener/6=15.375 in", "opener/7=15.3125 in")
	s.swap("2025-03-02", "disc", record.SwapNew, "opener/3-4")
	second := s.measure("2025-03-02", "disc-size", "opener/4=15.5 in")
	s.read("2025-06-01", "area 2000 ac")
	third := s.measure("2025-06-01", "disc-size", "opener/1=15.75 in", "opener/2=15.5625 in", "opener/3=15.75 in", "opener/4=15 in")
	st := s.state("2025-06-02")
	h := HonestyOf(st, st.Machine("rig"))
	var got []string
	for _, g := range h.Grown {
		got = append(got, fmt.Sprintf("%s %s %s to %s, %s worked, new %t, %t %t", g.Reading, g.Place, g.From, g.To, g.Worked, g.New, g.Earlier == first || g.Earlier == "", g.Later == third || g.Later == second))
	}
	wantList(t, "grown", got, "disc-size opener/4 16 in to 15.5 in, 0 worked, new true, true true", "disc-size opener/1 15.5 in to 15.75 in, 1000 ac worked, new false, true true")
}

func amendedIDs(h *Honesty) (out []ID) {
	for _, a := range slices.Concat(h.Corrections, h.Strikes) {
		out = append(out, a.Entry, a.Of)
	}
	return out
}
