package rules

import (
	"testing"

	"shedbook/rules/record"
)

// Days on which it worked: those on which its counter grew.
func TestWorked(t *testing.T) {
	s := newShed(t, kind("[job.clean]\n[[job.clean.when]]\nworked = 1\n[job.tighten]\n[[job.tighten.when]]\nworked = 3\n"))
	s.read("2025-08-01", "hours 10h")
	same(t, "no work yet", lines(s.due("2025-08-01")), nil)
	s.read("2025-08-02", "hours 20h")
	same(t, "worked today", lines(s.due("2025-08-02")), []string{"due clean: 2025-08-02, over 0 d"})
	same(t, "worked yesterday", lines(s.due("2025-08-03")), []string{"overdue clean: 2025-08-02, over 1 d"})
	s.did("2025-08-02", "clean")
	same(t, "parked for a year", lines(s.due("2026-08-02")), nil)
	s.read("2025-08-04", "hours 30h")
	same(t, "the second day of three", lines(s.due("2025-08-04")), []string{"due clean: 2025-08-04, over 0 d", "coming tighten"})
	s.read("2025-08-05", "hours 40h")
	items := s.due("2025-08-05")
	same(t, "the third", lines(items), []string{"overdue clean: 2025-08-04, over 1 d", "due tighten: 2025-08-05, over 0 d"})
	if want := "last done 2025-08-02, every 1 day it works: worked on 2 days since: due on 2025-08-04"; items[0].Why != want {
		t.Errorf("why is %q, want %q", items[0].Why, want)
	}
}

func TestIdle(t *testing.T) {
	s := newShed(t, kind("[job.run-in]\n[[job.run-in.when]]\nidle = 30\n"))
	s.read("2025-08-01", "hours 10h")
	s.read("2025-08-02", "hours 20h")
	same(t, "4 days before", lines(s.due("2025-08-28")), nil)
	same(t, "3 days before", lines(s.due("2025-08-29")), []string{"coming run-in: 2025-09-01, over -3 d"})
	same(t, "31 days", lines(s.due("2025-09-02")), []string{"overdue run-in: 2025-09-01, over 1 d"})
	s.did("2025-09-03", "run-in")
	same(t, "done once in this stretch", lines(s.due("2026-09-02")), nil)
	s.read("2026-09-03", "hours 30h")
	s.did("2026-09-03", "run-in") // on the last day of work: before that day's work, for all anyone knows
	same(t, "the next stretch", lines(s.due("2026-10-04")), []string{"overdue run-in: 2026-10-03, over 1 d"})
}

func TestUntil(t *testing.T) {
	s := newShed(t, kind("[job.certificate]\nfails = \"stop\"\n[[job.certificate.when]]\nuntil = \"certificate\"\n"))
	same(t, "never", lines(s.due("2025-03-01")), []string{"unknown certificate"})
	s.add(&record.Did{Work: s.work("2025-03-01"), Job: "certificate", Outcome: "pass", Until: "2026-03-15"})
	same(t, "15 days before", lines(s.due("2026-02-28")), nil)
	same(t, "14 days before", lines(s.due("2026-03-01")), []string{"coming certificate: 2026-03-15, over -14 d"})
	i := only(t, s.due("2026-03-16"), "certificate")
	if got, want := line(i), "overdue certificate: 2026-03-15, over 1 d"; got != want || i.Cause != ByDate {
		t.Errorf("got %q (%s), want %q", got, i.Cause, want)
	}
	if want := "valid until 2026-03-15 as written on 2025-03-01: due on 2026-03-15"; i.Why != want {
		t.Errorf("why is %q, want %q", i.Why, want)
	}
	s.add(&record.Did{Work: s.work("2026-03-17"), Job: "certificate", Outcome: "fail"})
	i = only(t, s.due("2026-03-18"), "certificate")
	if i.State != Open || i.Severity != "stop" || i.Cause != ByFault || i.Why != "failed on 2026-03-17: put it right and check it again" {
		t.Errorf("failed: %q %s %s %q", line(i), i.Severity, i.Cause, i.Why)
	}
}

// From the day a part was fitted, else from the machine's year of make; each point of the grid wants a doing.
func TestMade(t *testing.T) {
	text := kind("[part.hose]\nmake = true\n[job.new-hose]\nswaps = \"hose\"\n[[job.new-hose.when]]\nmade = \"hose\"\nevery = \"6 yr\"\n" +
		"[job.test]\n[[job.test.when]]\nmade = \"hose\"\nevery = \"1 yr\"\n")
	s := newShed(t, text)
	same(t, "nobody knows", lines(s.due("2025-03-01")), []string{"unknown new-hose", "unknown test"})
	s.swap("2025-03-10", "hose", "new")
	s.did("2025-03-10", "test")
	same(t, "a year on", lines(s.due("2026-03-11")), []string{"overdue test: 2026-03-10, over 1 d"})
	s.did("2026-05-10", "test") // two months late: the next is due in March all the same
	same(t, "two years on", lines(s.due("2027-03-11")), []string{"overdue test: 2027-03-10, over 1 d"})
	s.did("2027-02-26", "test") // 12 days early
	same(t, "done early", lines(s.due("2027-03-11")), nil)
	i := only(t, s.due("2031-03-12"), "new-hose")
	if got, want := line(i), "overdue new-hose: 2031-03-10, over 2 d"; got != want || i.Cause != ByDate {
		t.Errorf("got %q (%s), want %q", got, i.Cause, want)
	}

	s = newShed(t, text)
	m := s.entries[3].Record.(*record.Machine)
	m.Year = 2018
	items := s.due("2025-03-01")
	// From 2018-01-01: six years were over on 2024-01-01 and the first on 2019-01-01, both before the book knew the machine.
	same(t, "year of make", lines(items), []string{"unknown new-hose: 2024-01-01", "unknown test: 2019-01-01"})
	if want := "counted from the machine's year of make, 2018, every 6 yr, was due on 2024-01-01; " + neverDone; items[0].Why != want {
		t.Errorf("why is %q, want %q", items[0].Why, want)
	}
	// A year and a day after 2025-01-01, when the machine came, a yearly test has certainly been missed.
	same(t, "a year later", lines(s.due("2026-01-02")), []string{"overdue test: 2019-01-01, over 2558 d", "unknown new-hose: 2024-01-01"})
}
