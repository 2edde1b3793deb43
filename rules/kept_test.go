package rules

import (
	"fmt"
	"slices"
	"testing"

	"shedbook/rules/quantity"
	"shedbook/rules/record"

	"pgregory.net/rapid"
)

// at records a job done with a reading of hours, at places "opener/1-2", none for all.
func (s *shed) didAt(done, job, hours string, places ...string) ID {
	s.t.Helper()
	w := s.work(done)
	w.Counters = []record.CounterAt{{Counter: "hours", At: quantity.MustParse(hours)}}
	return s.add(&record.Did{Work: w, Job: job, Positions: s.at(places...)})
}

// kept is one job of the machine in hindsight.
func (s *shed) kept(on, job string) KeptJob {
	s.t.Helper()
	st := s.state(on)
	k := KeptOf(st, st.Machine("rig"))
	i := slices.IndexFunc(k.Jobs, func(j KeptJob) bool { return j.Job.Name == job })
	if i < 0 {
		s.t.Fatalf("no job %q", job)
	}
	return k.Jobs[i]
}

func counted(t Tallied) string {
	return fmt.Sprintf("due %d: %d on time, %d late, %d missed, %d open", t.Due, t.OnTime, t.Late, t.Missed, t.Open)
}

func lapseLines(all []Lapse) (out []string) {
	for _, l := range all {
		point := l.Due.Date
		if point == "" {
			point = l.Due.Value.String()
		}
		line := l.State + " " + point
		if l.State != KeptMissed {
			line += ", over " + l.Over.Value.String()
		}
		if !l.Positions.IsZero() {
			line += " at " + l.Positions.String()
		}
		if l.Skipped != "" {
			line += ", left out"
		}
		out = append(out, line)
	}
	return out
}

const oiled = "[job.oil]\n[[job.oil.when]]\nevery = \"50 h\"\n"

// Every 50 h, with a notice of 5 h, from new. Due at 50, done at 50: on time. Due at 100, done at 104: on time, within the notice. Done at 130, when it was due
// at 154: early. Due at 180, done at 190: late by 10. Due at 240, 290 and 340 and not done: missed; at 390, done at 398: late by 8. Due at 448, now 452: open.
func TestKeptHours(t *testing.T) {
	s := newShed(t, kind(oiled))
	s.read("2025-01-01", "hours 0 h")
	for i, at := range []string{"50 h", "104 h", "130 h", "190 h", "398 h"} {
		s.didAt(fmt.Sprintf("2025-%02d-01", 2+i), "oil", at)
	}
	s.read("2025-07-01", "hours 452 h")
	j := s.kept("2025-07-02", "oil")
	wantEqual(t, "count", counted(j.Total), "due 8: 2 on time, 2 late, 3 missed, 1 open")
	wantEqual(t, "early", j.Early, 1)
	wantEqual(t, "times", j.Times, 5)
	wantEqual(t, "last", j.Last.Done, record.Done("2025-06-01"))
	wantList(t, "lapses", lapseLines(j.Lapses), "late 180 h, over 10 h", "missed 240 h", "missed 290 h", "missed 340 h", "late 390 h, over 8 h", "open 448 h, over 4 h")
	// 190 h on 1 May, 398 h on 1 June: 208 h in 31 days, so 240 h were reached after 50/208 of them: in the eighth day
	wantEqual(t, "missed on", j.Lapses[1].DueOn, "2025-05-09")
	wantEqual(t, "years", fmt.Sprint(len(j.Periods), " ", j.Periods[0].Name), "1 2025")
}

// An old machine, first read at 1,000 h. Oiled at 1,090 h it may have been in time by what was done before the book: not counted. Oiled first at 1,190 h it came
// due at 1,050 h at the latest, which was missed, as 1,100 h and 1,150 h were... but for 1,150 h, done 40 h late.
func TestKeptOldMachine(t *testing.T) {
	for _, c := range []struct{ first, want string }{
		{"1050 h", "due 0: 0 on time, 0 late, 0 missed, 0 open"},
		{"1090 h", "due 1: 0 on time, 1 late, 0 missed, 0 open"},
		{"1190 h", "due 3: 0 on time, 1 late, 2 missed, 0 open"},
	} {
		s := newShed(t, kind(oiled))
		s.read("2025-01-01", "hours 1000 h")
		s.didAt("2025-02-01", "oil", c.first)
		wantEqual(t, "first at "+c.first, counted(s.kept("2025-03-01", "oil").Total), c.want)
	}
	// what came due before a starting line is taken as given: of 1,350 h only is known what became of it
	s := newShed(t, kind(oiled))
	s.read("2025-01-01", "hours 1000 h")
	s.add(&record.Assume{Work: s.work("2025-02-01"), Good: true})
	s.read("2025-02-01", "hours 1300 h")
	s.didAt("2025-03-01", "oil", "1352 h")
	wantEqual(t, "taken as good at 1,300 h, done at 1,352 h", counted(s.kept("2025-03-02", "oil").Total), "due 1: 1 on time, 0 late, 0 missed, 0 open")
}

// Whichever first of 100 h and 6 mo (notice 14 days of 181): done on 10 January; 100 h came on 1 March, done that day; then 6 mo came on 1 September, when
// the machine was in storage until 1 December: done on 10 December, nine days after, is on time, and late by 100 days for a job that runs on in storage.
func TestKeptStorage(t *testing.T) {
	text := func(stored string) string {
		return kind("[job.oil]\n[[job.oil.when]]\nevery = [\"100 h\", \"6 mo\"]\n" + stored)
	}
	for _, c := range []struct{ stored, want string }{
		{"", "due 2: 2 on time, 0 late, 0 missed, 0 open"},
		{"stored = \"run\"\n", "due 2: 1 on time, 1 late, 0 missed, 0 open"},
	} {
		s := newShed(t, text(c.stored))
		s.read("2025-01-10", "hours 0 h")
		s.didAt("2025-01-10", "oil", "0 h")
		s.didAt("2025-03-01", "oil", "100 h")
		s.add(&record.Store{Work: s.work("2025-06-01"), Act: "in"})
		s.add(&record.Store{Work: s.work("2025-12-01"), Act: "out"})
		s.didAt("2025-12-10", "oil", "110 h")
		j := s.kept("2025-12-31", "oil")
		wantEqual(t, c.stored, counted(j.Total), c.want)
		if c.stored != "" {
			wantList(t, "lapses", lapseLines(j.Lapses), "late 2025-09-01, over 100 d")
		}
	}
	// still in storage: it waits
	s := newShed(t, text(""))
	s.didAt("2025-01-10", "oil", "0 h")
	s.add(&record.Store{Work: s.work("2025-02-01"), Act: "in"})
	j := s.kept("2025-12-31", "oil")
	wantEqual(t, "waits", counted(j.Total), "due 0: 0 on time, 0 late, 0 missed, 0 open")
	wantEqual(t, "waiting", j.Stored, 1)
}

// Before each season: in 2026 done before it opened, in 2027 five days after, in 2028 not at all; in 2025 the book had only begun. After each: in 2025 within the
// month, in 2026 40 days after the close (the point is its 30th), in 2027 not before 2028 opened, in 2028 open.
func TestKeptSeasons(t *testing.T) {
	s := newShed(t, kind("[job.check]\n[[job.check.when]]\nseason = \"before\"\n[job.wash]\n[[job.wash.when]]\nseason = \"after\"\n"))
	for _, y := range []string{"2025", "2026", "2027", "2028"} {
		s.season("open", y+"-04-01", "", "")
		s.season("close", y+"-05-01", "", "")
	}
	s.did("2026-03-01", "check")
	s.did("2027-04-06", "check")
	s.did("2025-05-20", "wash")
	s.did("2026-06-10", "wash")
	check := s.kept("2028-06-15", "check")
	wantEqual(t, "before", counted(check.Total), "due 3: 1 on time, 1 late, 1 missed, 0 open")
	wantList(t, "before", lapseLines(check.Lapses), "late 2027-04-01, over 5 d", "missed 2028-04-01")
	wantEqual(t, "what cannot be told", len(check.Notes), 1)
	wash := s.kept("2028-06-15", "wash")
	wantEqual(t, "after", counted(wash.Total), "due 4: 1 on time, 1 late, 1 missed, 1 open")
	wantList(t, "after", lapseLines(wash.Lapses), "late 2026-05-31, over 10 d", "missed 2027-05-31", "open 2028-05-31, over 15 d")
	var periods []string
	for _, p := range check.Periods {
		periods = append(periods, p.Name+" "+counted(p.Count))
	}
	wantList(t, "by season", periods, "spring 2026 due 1: 1 on time, 0 late, 0 missed, 0 open", "spring 2027 due 1: 0 on time, 1 late, 0 missed, 0 open", "spring 2028 due 1: 0 on time, 0 late, 1 missed, 0 open")
}

// Nuts are torqued 1 h and 10 h after the wheel was off (notice a tenth: 0.1 h and 1 h), then every 10 h until none moved, then every 100 h. Off at 0 h; torqued
// at 1 h, and at 10 h with one moved; at 25 h, when 20 h were due, late by 5; off again at 60 h and not torqued by 90 h: both steps are one thing not done.
func TestKeptSeries(t *testing.T) {
	s := newShed(t, kind(`[job.change]
loosens = ["nuts"]
[job.nuts]
results = ["moved", "none-moved"]
torques = [{ what = "nut", value = "200 lbf.ft" }]
[[job.nuts.when]]
after = "loosened:nuts"
series = ["1 h", "10 h"]
then = "10 h"
until_result = "none-moved"
finally = "100 h"
`))
	s.read("2025-01-01", "hours 0 h")
	s.didAt("2025-01-02", "change", "0 h")
	s.didAt("2025-01-03", "nuts", "1 h")
	s.didAt("2025-01-04", "nuts", "10 h")
	s.entries[len(s.entries)-1].Record.(*record.Did).Results = []record.Result{{Word: "moved"}}
	s.didAt("2025-01-05", "nuts", "25 h")
	s.didAt("2025-01-09", "change", "60 h")
	s.read("2025-01-12", "hours 90 h")
	j := s.kept("2025-01-12", "nuts")
	wantEqual(t, "nuts", counted(j.Total), "due 4: 2 on time, 1 late, 0 missed, 1 open")
	wantList(t, "lapses", lapseLines(j.Lapses), "late 20 h, over 5 h", "open 61 h, over 29 h")
	s.didAt("2025-01-13", "change", "92 h") // taken off once more: what was not done is missed
	wantList(t, "lapses", lapseLines(s.kept("2025-01-13", "nuts").Lapses), "late 20 h, over 5 h", "missed 61 h")
}

// Every day it works: three days worked, done on two of them. Places: openers 1 and 2 were greased, 3 left out and said so, 4 is out of use from the first day.
func TestKeptDaysAndPlaces(t *testing.T) {
	s := newShed(t, kind("[job.look]\n[[job.look.when]]\nworked = 1\n[job.grease]\nof = \"opener\"\n[[job.grease.when]]\nevery = \"10 h\"\n"))
	s.read("2025-01-01", "hours 0 h")
	s.add(&record.Fault{Work: s.work("2025-01-01"), Severity: "soon", Positions: s.at("opener/4"), TiedUp: true})
	for i, day := range []string{"2025-05-01", "2025-05-02", "2025-05-03"} {
		s.read(day, fmt.Sprintf("hours %d h", 4*(i+1)))
	}
	s.did("2025-05-01", "look")
	s.did("2025-05-03", "look")
	s.add(&record.Did{Work: s.work("2025-05-03"), Job: "grease", Positions: s.at("opener/1-2"), Skipped: s.at("opener/3")})
	look := s.kept("2025-05-04", "look")
	wantEqual(t, "look", counted(look.Total), "due 3: 2 on time, 0 late, 1 missed, 0 open")
	wantList(t, "look", lapseLines(look.Lapses), "missed 2025-05-02")
	grease := s.kept("2025-05-04", "grease")
	wantEqual(t, "grease", fmt.Sprint(grease.Places, " places, ", counted(grease.Total)), "4 places, due 3: 0 on time, 2 late, 0 missed, 1 open")
	wantEqual(t, "rounds", counted(grease.Rounds), "due 2: 0 on time, 1 late, 0 missed, 1 open")
	wantList(t, "grease", lapseLines(grease.Lapses), "late 10 h, over 2 h at opener/1-2", "open 10 h, over 2 h at opener/3, left out")
}

// A job that a later schedule brought is judged from that day on; what is due by a measurement or a condition is said, not judged.
func TestKeptSchedule(t *testing.T) {
	s := newShed(t, kind(""))
	s.add(&record.Schedule{Name: "rig", From: "2025-06-01", Text: kind(oiled + "[reading.play]\nunit = \"in\"\nlimit = { max = \"1 in\" }\n[job.shim]\n[[job.shim.when]]\npast = \"play\"\n[setting.fuel]\ntype = \"choice\"\nchoices = [\"plain\", \"bio\"]\n[job.drain]\n[[job.drain.when]]\nevery = \"10 h\"\nwhile = [{ setting = \"fuel\", is = \"bio\" }]\n")})
	s.read("2025-01-01", "hours 0 h")
	s.read("2025-05-31", "hours 120 h") // 50 and 100 h came when nobody asked for it
	s.read("2025-07-01", "hours 160 h")
	j := s.kept("2025-07-02", "oil")
	wantEqual(t, "in use", j.InUse, "2025-06-01")
	wantEqual(t, "came before", j.NotAsked, 2)
	wantEqual(t, "oil", counted(j.Total), "due 1: 0 on time, 0 late, 0 missed, 1 open")
	wantList(t, "oil", lapseLines(j.Lapses), "open 150 h, over 10 h")
	st := s.state("2025-07-02")
	wantList(t, "not judged", KeptOf(st, st.Machine("rig")).Unjudged, "shim", "drain")
	wantList(t, "shim", s.kept("2025-07-02", "shim").Notes, "due by what is measured there: not judged in hindsight; see what is left")
	wantList(t, "drain", s.kept("2025-07-02", "drain").Notes, "asked for only while fuel is bio: not judged in hindsight")
}

// Whatever the history: on time, late, missed and open are all that came due, by job, by period and in all; lapses rest on entries that hold; the order of arrival
// does not matter; and what is open is on the due list.
func TestLawKept(t *testing.T) {
	laws(t, func(rt *rapid.T, n int) {
		s := drawn(rt, t, n)
		on := onDay(rt)
		st := s.replayed(on)
		m := st.Machine("rig")
		k := KeptOf(st, m)
		show := func(k *Kept) (out string) {
			for _, j := range k.Jobs {
				out += fmt.Sprint(j.Job.Name, j.Total, j.Early, j.Times, j.Notes, j.Entries, lapseLines(j.Lapses), "\n")
			}
			return out
		}
		want := show(k)
		var all Tallied
		adds := func(what string, t Tallied) {
			if t.OnTime+t.Late+t.Missed+t.Open != t.Due {
				rt.Fatalf("%s: %s", what, counted(t))
			}
		}
		for _, j := range k.Jobs {
			adds(j.Job.Name, j.Total)
			all.add(j.Total, 1)
			adds(j.Job.Name+" by rounds", j.Rounds)
			var periods, rounds Tallied
			for _, p := range j.Periods {
				adds(j.Job.Name+" "+p.Name, p.Count)
				periods.add(p.Count, 1)
				rounds.add(p.Rounds, 1)
			}
			if rounds != j.Rounds || j.Rounds.Due > j.Total.Due || (j.Rounds.Due == 0) != (j.Total.Due == 0) {
				rt.Fatalf("%s: rounds by period %s, in all %s, of %s", j.Job.Name, counted(rounds), counted(j.Rounds), counted(j.Total))
			}
			if periods != j.Total {
				rt.Fatalf("%s: by period %s, in all %s", j.Job.Name, counted(periods), counted(j.Total))
			}
			lapsed := Tallied{Due: j.Total.OnTime, OnTime: j.Total.OnTime}
			for _, l := range j.Lapses {
				lapsed.count(l.State, max(1, l.Positions.Len()))
				heldEntries(rt, st, l.Entries)
			}
			if lapsed != j.Total {
				rt.Fatalf("%s: by lapses %s, in all %s", j.Job.Name, counted(lapsed), counted(j.Total))
			}
			heldEntries(rt, st, j.Entries)
		}
		if all != k.Total {
			rt.Fatalf("jobs make %s, in all %s", counted(all), counted(k.Total))
		}
		for _, job := range []string{"tag"} { // due by one interval, whatever else
			kept := k.Jobs[slices.IndexFunc(k.Jobs, func(j KeptJob) bool { return j.Job.Name == job })]
			due := slices.ContainsFunc(Due(st, Filter{}), func(i Item) bool { return i.Job == job && (i.State == Overdue || i.State == DueNow) })
			if due != (kept.Total.Open > 0) {
				rt.Fatalf("%s on %s: on the due list %t; in hindsight %s", job, on, due, counted(kept.Total))
			}
		}
		s.entries = rapid.Permutation(s.entries).Draw(rt, "arrival")
		st = s.replayed(on)
		differs(rt, "in another order of arrival", want, show(KeptOf(st, st.Machine("rig"))))
	})
}
