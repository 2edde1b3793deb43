package rules

import (
	"strings"
	"testing"
)

// What makes work due, in the few words that a list has room for.
func TestBrief(t *testing.T) {
	s := newShed(t, kind(reach+`
[setting.depth]
of = "opener"
type = "steps"
min = 1
max = 9
agree = true
[setting.edge]
unit = "in"
type = "amount"
[relation.edge]
thing = "edge"
by = "play"
rows = [{ from = "0 in", to = "1 in", min = "2 in", max = "3 in" }]
[reading.play]
unit = "in"
[reading.hub]
of = "opener"
grades = ["none", "loose"]
bad_from = "loose"
[job.preset]
of = "opener"
loosens = ["torque"]
next = ["grease"]
[[job.preset.when]]
season = "before"
[job.torque]
torques = [{ what = "nut", value = "100 N.m" }]
of = "opener"
[job.grease]
of = "opener"
[job.drag]
of = "opener"
[[job.drag.when]]
after = "swap:disc"
[job.open]
of = "opener"
[[job.open.when]]
past = "hub"
[job.look]
[[job.look.when]]
every = "1 yr"
[job.wash]
[[job.wash.when]]
season = "after"
[job.walk]
[[job.walk.when]]
worked = 3
[job.oil]
[[job.oil.when]]
every = "50 h"
`))
	s.season("open", "2025-03-20", "", "")
	s.season("close", "2025-05-20", "", "")
	brief := func(on, job string, want ...string) {
		t.Helper()
		var got []string
		for _, i := range Due(s.state(on), Filter{All: true}) {
			name := i.Job
			if name == "" {
				name = i.About
			}
			if name == job {
				got = append(got, strings.TrimSpace(i.Where+": "+i.Brief))
			}
		}
		same(t, job, got, want)
	}
	brief("2025-06-01", "preset")
	brief("2025-06-01", "wash", ": after spring 2025")
	brief("2025-06-01", "oil", ": hours never read")
	brief("2025-06-01", "look", ": never recorded")
	s.did("2025-06-01", "look")
	brief("2025-07-01", "look", ":")
	s.did("2025-06-02", "preset")
	brief("2025-06-03", "torque", "all 4 openers: since preset on 2025-06-02")
	brief("2025-06-03", "grease", "all 4 openers: since preset on 2025-06-02")
	s.swap("2025-06-04", "disc", "new", "opener/2")
	brief("2025-06-05", "drag", "opener 2: since the disc of 2025-06-04")
	set(s, "2025-06-06", "depth", "6")
	set(s, "2025-06-06", "depth", "5", "opener/3")
	brief("2025-06-07", "depth", "opener 3: at 5, the rest 6")
	set(s, "2025-06-06", "depth", "4", "opener/1")
	brief("2025-06-07", "depth", "openers 1, 3: opener 1 at 4, opener 3 at 5, the rest 6")
	s.fault("2025-06-08", "soon", "hub out", "opener/1")
	brief("2025-06-08", "", "opener 1: hub out")
	s.did("2025-06-09", "walk")
	brief("2025-06-09", "walk", ": after 3 more days of work")
	s.read("2025-06-09", "hours 5 h")
	s.read("2025-06-10", "hours 10 h")
	s.read("2025-06-11", "hours 20 h")
	brief("2025-06-11", "walk", ": after 1 more day of work")
	set(s, "2025-06-12", "edge", "1 in")
	s.measure("2025-06-12", "play", "=0.5 in")
	brief("2025-06-12", "edge", ": 1 in, should be 2 in to 3 in")
}

// Readings past their limit are given as they were judged, with what they are past.
func TestBriefOfLimits(t *testing.T) {
	s := newShed(t, kind(reach+"[reading.hub]\nof = \"opener\"\ngrades = [\"none\", \"loose\"]\nbad_from = \"loose\"\n[job.open]\n[[job.open.when]]\npast = \"hub\"\n"))
	s.measure("2025-03-01", "reach", "opener/1 left=4.9 in", "opener/1 right=5.25 in", "opener/2 left=4.5 in", "opener/2 right=4.25 in")
	s.measure("2025-03-01", "hub", "opener/3=loose", "opener/4=loose", "opener/1=none")
	said := map[string]string{}
	for _, i := range s.due("2025-03-01") {
		var words []string
		for _, v := range i.Found {
			words = append(words, v.String())
		}
		bound := ""
		if i.Bound.What != "" {
			bound = ", " + i.Bound.What + " " + i.Bound.At.String()
		}
		said[strings.TrimSpace(i.Job+" "+i.Where)] = strings.Join(words, " ") + bound
	}
	for job, want := range map[string]string{"replace opener 1": "4.9 in, limit 5 in", "replace opener 2": "4.5 in 4.25 in, limit 5 in", "open": "loose loose"} {
		if said[job] != want {
			t.Errorf("%s: %q, want %q of %q", job, said[job], want, said)
		}
	}
}

// Hours worked out from acres are said to a tenth of an hour, for a hundredth is more than anybody knows; what is compared stays exact. By hand:
// 40 ft x 6 mi/h x 70 % / 8.25 = 20.3636 ac/h, so 1000 ac are 49.107 h and 1030 ac are 50.580 h; every 50 h.
func TestDerivedHoursAreSaidToATenth(t *testing.T) {
	text := kind("[job.grease]\n[[job.grease.when]]\nevery = \"50 h\"\n")
	text = strings.Replace(text, "unit = \"h\"\nmain = true", "unit = \"h\"\nderive = { from = \"area\", width = \"40 ft\", speed = \"6 mph\", efficiency = \"70 %\" }", 1)
	s := newShed(t, strings.Replace(text, "unit = \"ac\"", "unit = \"ac\"\nmain = true", 1))
	s.read("2025-02-01", "area 0 ac")
	s.did("2025-02-01", "grease")
	s.read("2025-04-01", "area 1000 ac")
	s.did("2025-04-01", "grease")
	s.read("2025-06-01", "area 2030 ac")
	items := s.due("2025-06-01")
	if len(items) != 1 {
		t.Fatalf("%q", lines(items))
	}
	if want := "last done 2025-04-01 at 49.1 h, every 50 h: due at 99.1 h, now 99.7 h"; items[0].Why != want {
		t.Errorf("why is %q, want %q", items[0].Why, want)
	}
	if want := "0.58 h"; items[0].Over.Value.String() != want {
		t.Errorf("over by %s, want %s", items[0].Over.Value, want)
	}
}
