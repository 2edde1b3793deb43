package rules

import (
	"testing"

	"shedbook/rules/record"
)

func TestGroupAllBut(t *testing.T) {
	text := `shedbook_schedule = 1
name = "rig"
[counter.hours]
unit = "h"
main = true
[option.openers]
type = "count"
default = 48
min = 1
max = 60
[place.opener]
count = "=openers"
[caution.zerk]
text = "wipe the fitting first"
[job.grease]
title = "grease the openers"
of = "opener"
minutes = "1/2"
cautions = ["zerk"]
[[job.grease.when]]
every = "10 h"
`
	s := newShed(t, text)
	s.read("2025-03-01", "hours 100h")
	first := s.did("2025-03-01", "grease")
	s.read("2025-03-02", "hours 105h")
	s.did("2025-03-02", "grease", "opener/14", "opener/31")
	s.read("2025-03-03", "hours 111h")
	items := s.due("2025-03-03")
	same(t, "due", lines(items), []string{"overdue grease [openers 1-48 but 14, 31]: 110 h, over 1 h"})
	i := items[0]
	if got := i.Positions.String(); got != "opener/1-13,opener/15-30,opener/32-48" {
		t.Errorf("positions %s", got)
	}
	if i.ID != s.machine.Short()+"/grease/interval/opener/1" || i.Last.Entry != first || i.Title != "grease the openers" || i.Name != "rig" || i.Farm != s.farm || i.Yard != s.yard {
		t.Errorf("item %+v", i)
	}
	// Half a minute for each of 46.
	if i.Minutes == nil || i.Minutes.RatString() != "23" {
		t.Errorf("minutes %v, want 23", i.Minutes)
	}
	if n := len(i.Cautions); n == 0 || i.Cautions[n-1] != "wipe the fitting first" {
		t.Errorf("cautions %q", i.Cautions)
	}
	tomorrow := s.due("2025-03-04")
	if tomorrow[0].ID != i.ID {
		t.Errorf("the id changed from %q to %q", i.ID, tomorrow[0].ID)
	}
}

func TestOutOfUseWaits(t *testing.T) {
	s := newShed(t, kind("[job.grease]\nof = \"opener\"\n[[job.grease.when]]\nevery = \"10 h\"\n"))
	s.read("2025-03-01", "hours 100h")
	s.did("2025-03-01", "grease")
	hub := s.add(&record.Fault{Work: s.work("2025-03-01"), Severity: "soon", TiedUp: true, Positions: s.at("opener/2")})
	s.read("2025-03-02", "hours 111h")
	same(t, "tied up", lines(s.due("2025-03-02")), []string{"overdue grease [openers 1, 3, 4]: 110 h, over 1 h", "open fault [opener 2]: 2025-03-01"})
	s.add(&record.Repair{Work: record.Work{Machine: s.machine, Done: "2025-03-02", Closes: []ID{hub}}})
	same(t, "in use again", lines(s.due("2025-03-02")), []string{"overdue grease [all 4 openers]: 110 h, over 1 h"})
}

// The bigger job is done with the smaller ones in it; it hides them only where it stands at least as badly.
func TestIncludes(t *testing.T) {
	s := newShed(t, kind(`
[job.service-500]
title = "500 h service"
includes = ["service-250"]
[[job.service-500.when]]
every = "500 h"
[job.service-250]
title = "250 h service"
severity = "stop"
includes = ["level"]
[[job.service-250.when]]
every = "250 h"
[job.level]
[[job.level.when]]
every = "10 h"
`))
	s.read("2025-03-01", "hours 1000h")
	s.did("2025-03-01", "service-500") // does all three
	s.read("2025-03-02", "hours 1011h")
	same(t, "the smallest", lines(s.due("2025-03-02")), []string{"overdue level: 1010 h, over 1 h"})
	s.read("2025-04-02", "hours 1250h")
	same(t, "the middle one is due, the smallest overdue", lines(s.due("2025-04-02")), []string{"due service-250: 1250 h, over 0 h", "overdue level: 1010 h, over 240 h"})
	s.read("2025-04-03", "hours 1460h")
	items := s.due("2025-04-03")
	same(t, "the biggest is only coming", lines(items), []string{"overdue service-250: 1250 h, over 210 h", "coming service-500: 1500 h, over -40 h"})
	s.read("2025-04-04", "hours 1501h")
	items = s.due("2025-04-04")
	same(t, "all three", lines(items), []string{"overdue service-500: 1500 h, over 1 h"})
	if want := "last done 2025-03-01 at 1000 h, every 500 h: due at 1500 h, now 1501 h; includes 250 h service and level"; items[0].Why != want {
		t.Errorf("why is %q, want %q", items[0].Why, want)
	}
	if items[0].Severity != "stop" {
		t.Errorf("severity is %s: a job takes the worst of those it includes", items[0].Severity)
	}
	s.did("2025-04-04", "service-500")
	same(t, "done", lines(s.due("2025-04-04")), nil)
}

func TestOptionsSettingsAndStates(t *testing.T) {
	text := kind(`
[option.fertiliser]
type = "yes-no"
default = "no"
[setting.mode]
type = "choice"
choices = ["till", "carry"]
[job.tank]
only = [{ option = "fertiliser", is = "yes" }]
[[job.tank.when]]
every = "1 mo"
[job.till]
[[job.till.when]]
every = "1 mo"
while = [{ setting = "mode", is = "till" }]
[job.look]
[[job.look.when]]
every = "1 mo"
while = [{ any = [{ crop = "barley" }, { ground = "wet" }] }]
`)
	s := newShed(t, text)
	for _, job := range []string{"till", "look"} {
		s.did("2025-01-01", job)
	}
	same(t, "without", lines(s.due("2025-02-02")), nil)
	set(s, "2025-01-15", "mode", "till")
	w := s.work("2025-01-20")
	w.Crop = "barley"
	s.add(&record.Note{Work: w})
	same(t, "with", lines(s.due("2025-02-02")), []string{"overdue look: 2025-02-01, over 1 d", "overdue till: 2025-02-01, over 1 d"})
	set(s, "2025-02-01", "mode", "carry")
	same(t, "carried", lines(s.due("2025-02-02")), []string{"overdue look: 2025-02-01, over 1 d"})

	s = newShed(t, text, record.Option{Name: "fertiliser", Value: "yes"})
	same(t, "with a tank", lines(s.due("2025-02-02")), []string{"overdue tank: 2025-02-01, over 1 d"})
}

func TestFilterAndOrder(t *testing.T) {
	s := newShed(t, kind("[job.b-tidy]\nseverity = \"tidy\"\n[[job.b-tidy.when]]\nevery = \"1 mo\"\n[job.c-late]\norder = 2\n[[job.c-late.when]]\nevery = \"1 mo\"\n"+
		"[job.d-first]\norder = 1\n[[job.d-first.when]]\nevery = \"1 mo\"\n[job.e-stop]\nseverity = \"stop\"\n[[job.e-stop.when]]\nevery = \"1 yr\"\n"))
	rig := s.machine
	barge := s.addMachine("barge", "2025-01-01")
	for _, m := range []ID{rig, barge} {
		s.machine = m
		for _, job := range []string{"b-tidy", "c-late", "d-first", "e-stop"} {
			s.did("2025-01-01", job)
		}
	}
	names := func(items []Item) []string {
		var out []string
		for _, i := range items {
			out = append(out, i.Name+" "+i.State+" "+i.Job)
		}
		return out
	}
	// Severity before the machine, the machine before the order of jobs; what must stop the machine is coming only, so it waits its turn.
	same(t, "order", names(s.due("2025-12-31")), []string{"barge overdue d-first", "barge overdue c-late", "rig overdue d-first", "rig overdue c-late",
		"barge overdue b-tidy", "rig overdue b-tidy", "barge coming e-stop", "rig coming e-stop"})
	same(t, "a year on", names(s.due("2026-01-01", Filter{Machine: rig})), []string{"rig due e-stop", "rig overdue d-first", "rig overdue c-late", "rig overdue b-tidy"})
	same(t, "another farm", names(s.due("2026-01-01", Filter{Farm: "none"})), nil)
	same(t, "another yard", names(s.due("2026-01-01", Filter{Yard: "none"})), nil)
	same(t, "in January", names(s.due("2025-01-10", Filter{Machine: rig})), nil)
	same(t, "all", names(s.due("2025-01-10", Filter{Machine: rig, All: true})), []string{"rig later e-stop", "rig later d-first", "rig later c-late", "rig later b-tidy"})
	s.add(&record.Sell{Work: s.work("2025-12-30")}) // barge
	same(t, "sold", names(s.due("2025-12-31"))[:1], []string{"rig overdue d-first"})
}
