package main

import (
	"strings"
	"testing"

	"shedbook/rules/quantity"
	"shedbook/rules/schedule"
)

// Written by hand from the triggers of trade rules.
func TestTriggerWords(t *testing.T) {
	for _, test := range []struct{ when, want string }{
		{`{ every = "100 ac" }`, "every 100 ac"},
		{`{ every = ["400 h", "12 mo"], first = "50 h" }`, "every 400 h or 12 mo, the first time 50 h"},
		{`{ every = "100 h", factors = [{ by = "1/2", while = { ground = "wet" } }] }`, "every 100 h, halved while the ground is wet"},
		{`{ every = "100 h", grid = true }`, "every 100 h of the counter"},
		{`{ every = "12 mo", soon = "1 mo", stored = "run" }`, "every 12 mo, coming 1 mo before, in storage too"},
		{`{ worked = 1 }`, "every day it works"},
		{`{ worked = 3 }`, "every 3 days on which it works"},
		{`{ idle = 30 }`, "after 30 days without work"},
		{`{ season = "before", work = "seeding" }`, "before each season of seeding"},
		{`{ after = "swap:disc" }`, "after a new disc"},
		{`{ after = "loosened", series = ["1 h", "10 h"], then = "10 h", until_result = "none-moved", finally = "250 h" }`,
			"after work that loosens it, at 1 h and 10 h, then every 10 h until none moved, from then on every 250 h"},
		{`{ after = "adjust:depth" }`, "after depth is set"},
		{`{ after = "adjust:depth", series = ["1 h"], soon = "10 h" }`, "after depth is set, at 1 h, coming at once"},
		{`{ after = "adjust:depth", series = ["20 h"], soon = "10 h" }`, "after depth is set, at 20 h, coming 10 h before"},
		{`{ after = "season-open:seeding" }`, "after a season of seeding is opened"},
		{`{ after = "fault:disc" }`, "after a fault of the disc"},
		{`{ after = "repair" }`, "after a repair"},
		{`{ after = "storage-in" }`, "after it is put into storage"},
		{`{ after = "storage-out" }`, "after it is taken out of storage"},
		{`{ after = "hitch" }`, "after it is hitched"},
		{`{ after = "move" }`, "after it is moved to another yard"},
		{`{ past = "reach" }`, "when reach is past its limit"},
		{`{ past = "reach", k = 2, of = 8 }`, "when reach is past its limit at 2 of 8"},
		{`{ forecast = "reach" }`, "when reach is likely to pass its limit before the season ends"},
	} {
		t.Run(test.when, func(t *testing.T) {
			s, err := schedule.Parse("test.toml", []byte(`shedbook_schedule = 1
name = "test"
title = "test"
source = "made up"
work = ["seeding"]
[counter.hours]
unit = "h"
main = true
[counter.area]
unit = "ac"
[place.opener]
count = 8
[part.disc]
of = "opener"
[setting.depth]
title = "depth"
of = "opener"
type = "steps"
min = 1
max = 12
[reading.reach]
title = "reach"
of = "opener"
unit = "in"
limit = { min = "5 in" }
[job.other]
title = "other"
of = "opener"
loosens = ["check"]
when = [{ every = "1 yr" }]
[job.check]
title = "check"
of = "opener"
results = ["moved", "none-moved"]
torques = [{ what = "nut", value = "100 N.m" }]
when = [`+test.when+`]
`))
			if err != nil {
				t.Fatal(err)
			}
			f, err := s.Fit(nil, nil, nil)
			if err != nil {
				t.Fatal(err)
			}
			j, _ := f.Job("check")
			if got := triggerWords(&j.When[0]); got != test.want {
				t.Errorf("got %q, want %q", got, test.want)
			}
		})
	}
}

// Every trigger, limit, torque and option of the built-in kinds has words, and none shows a name the program uses inside.
func TestBuiltinsHaveWords(t *testing.T) {
	said := 0
	check := func(where, s string) {
		said++
		if strings.TrimSpace(s) == "" || strings.Contains(s, "  ") || strings.Contains(s, "%!") || strings.HasPrefix(s, ",") {
			t.Errorf("%s: %q", where, s)
		}
	}
	for _, s := range schedule.Builtins() {
		f, err := s.Fit(nil, nil, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, j := range f.Jobs {
			for i := range j.When {
				check(s.Name+" "+j.Name, triggerWords(&j.When[i]))
			}
			for i := range j.Torques {
				check(s.Name+" "+j.Name, (&call{common: &common{}}).torqueWords(f, &j, i))
			}
		}
		for _, r := range f.Readings {
			if r.Limit != nil {
				check(s.Name+" "+r.Name, limitWords(r.Limit, quantity.Quantity.String))
			}
		}
		for i := range f.Options {
			check(s.Name+" "+f.Options[i].Name, optionWords(&f.Options[i]))
		}
	}
	if said < 50 {
		t.Fatalf("only %d looked at", said)
	}
}

// Limits in the other system: sizes and temperatures are converted, how far two temperatures may be apart is not.
func TestLimitWordsInOtherUnits(t *testing.T) {
	c := &call{common: &common{}, system: quantity.US}
	q := quantity.MustParse
	for _, test := range []struct {
		limit schedule.Limit
		want  string
	}{
		{schedule.Limit{Min: q("70 mm"), HasMin: true}, "at least 2.76 in (70 mm)"},
		{schedule.Limit{Max: q("-30 degC"), HasMax: true}, "at most -22 degF (-30 degC)"},
		{schedule.Limit{Neighbours: q("20 degC"), HasNeighbours: true}, "at most 20 degC from the median of the others"},
		{schedule.Limit{Step: q("3 mm"), HasStep: true}, "at most 0.118 in (3 mm) from the last reading"},
		{schedule.Limit{Max: q("3 in"), HasMax: true, Share: q("85 %"), HasShare: true, Falls: true}, "at most 3 in, at least 85 % of new"},
	} {
		if got := limitWords(&test.limit, c.both); got != test.want {
			t.Errorf("%q, want %q", got, test.want)
		}
	}
}
