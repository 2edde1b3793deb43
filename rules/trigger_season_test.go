package rules

import (
	"strings"
	"testing"
)

func TestBeforeSeason(t *testing.T) {
	text := kind("[job.look]\n[[job.look.when]]\nseason = \"before\"\n")
	tests := []struct {
		name string
		do   func(s *shed)
		on   string
		want []string
	}{
		{"no season known", func(s *shed) {}, "2025-03-01", nil},
		{"15 days before the plan", func(s *shed) { s.season("plan", "2025-02-01", "2025-04-10", "2025-05-10") }, "2025-03-26", nil},
		{"14 days before the plan", func(s *shed) { s.season("plan", "2025-02-01", "2025-04-10", "2025-05-10") },
			"2025-03-27", []string{"coming look: 2025-04-10, over -14 d"}},
		{"planned day reached", func(s *shed) { s.season("plan", "2025-02-01", "2025-04-10", "2025-05-10") },
			"2025-04-10", []string{"due look: 2025-04-10, over 0 d"}},
		{"planned day gone, not open", func(s *shed) { s.season("plan", "2025-02-01", "2025-04-10", "2025-05-10") },
			"2025-04-13", []string{"due look: 2025-04-10, over 3 d"}},
		{"opening day", func(s *shed) {
			s.season("plan", "2025-02-01", "2025-04-10", "2025-05-10")
			s.season("open", "2025-04-12", "", "")
		}, "2025-04-12", []string{"due look: 2025-04-12, over 0 d"}},
		{"open", func(s *shed) {
			s.season("plan", "2025-02-01", "2025-04-10", "2025-05-10")
			s.season("open", "2025-04-12", "", "")
		}, "2025-04-13", []string{"overdue look: 2025-04-12, over 1 d"}},
		{"open, done before", func(s *shed) {
			s.did("2025-03-20", "look")
			s.season("open", "2025-04-12", "", "")
		}, "2025-04-13", nil},
		{"open, done late", func(s *shed) {
			s.season("open", "2025-04-12", "", "")
			s.did("2025-04-14", "look")
		}, "2025-04-14", nil},
		{"done before the season before", func(s *shed) {
			s.did("2025-03-20", "look")
			s.season("open", "2025-04-12", "", "")
			s.season("close", "2025-05-20", "", "")
			s.season("plan", "2026-02-01", "2026-04-10", "")
		}, "2026-04-11", []string{"due look: 2026-04-10, over 1 d"}},
		{"done since the season before closed", func(s *shed) {
			s.season("open", "2025-04-12", "", "")
			s.season("close", "2025-05-20", "", "")
			s.did("2025-05-20", "look")
			s.season("open", "2026-04-10", "", "")
		}, "2026-04-11", nil},
		{"closed: nothing more to do before it", func(s *shed) {
			s.season("open", "2025-04-12", "", "")
			s.season("close", "2025-05-20", "", "")
		}, "2025-05-21", nil},
		{"stored: waits", func(s *shed) {
			s.add(storing(s, "2025-01-02", "in"))
			s.season("open", "2025-04-12", "", "")
		}, "2025-04-13", nil},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			s := newShed(t, text)
			test.do(s)
			same(t, "due", lines(s.due(test.on)), test.want)
		})
	}
}

// A season that was open when the machine came: nobody knows whether the work was done.
func TestBeforeSeasonOfANewcomer(t *testing.T) {
	s := newShed(t, kind("[job.look]\n[[job.look.when]]\nseason = \"before\"\n"))
	s.season("open", "2025-04-01", "", "")
	s.machine = s.addMachine("second", "2025-04-20")
	second := s.machine
	items := s.due("2025-04-21", Filter{Machine: second})
	same(t, "second", lines(items), []string{"unknown look"})
	same(t, "first", lines(s.due("2025-04-21", Filter{Yard: s.yard}))[:1], []string{"overdue look: 2025-04-01, over 20 d"})
}

func TestAfterSeason(t *testing.T) {
	text := kind("[job.wash]\n[[job.wash.when]]\nseason = \"after\"\n")
	tests := []struct {
		name string
		done string
		on   string
		want []string
	}{
		{"still open", "", "2025-05-19", nil},
		{"closed today", "", "2025-05-20", []string{"due wash: 2025-06-19, over -30 d"}},
		{"30 days later", "", "2025-06-19", []string{"due wash: 2025-06-19, over 0 d"}},
		{"31 days later", "", "2025-06-20", []string{"overdue wash: 2025-06-19, over 1 d"}},
		{"done before it closed", "2025-05-19", "2025-06-20", []string{"overdue wash: 2025-06-19, over 1 d"}},
		{"done on the day", "2025-05-20", "2025-06-20", nil},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			s := newShed(t, text)
			s.season("open", "2025-04-12", "", "")
			s.season("close", "2025-05-20", "", "")
			if test.done != "" {
				s.did(test.done, "wash")
			}
			same(t, "due", lines(s.due(test.on)), test.want)
		})
	}
	s := newShed(t, text)
	s.season("open", "2025-04-12", "", "")
	s.season("close", "2025-05-20", "", "")
	i := only(t, s.due("2025-05-21"), "wash")
	if want := "to be done after spring 2025, closed on 2025-05-20, not done since; overdue after 30 days, on 2025-06-19"; i.Why != want {
		t.Errorf("why is %q, want %q", i.Why, want)
	}
}

// One greasing in May answers the end of the old season and not the start of the new one: half of the time from 2025-05-20 to 2026-04-10, 325 days, is
// 162 days, so what counts before the new season is done from 2025-10-29 on.
func TestBeforeAndAfterWantTwoDoings(t *testing.T) {
	text := kind("[job.grease]\n[[job.grease.when]]\nseason = \"before\"\n[[job.grease.when]]\nseason = \"after\"\n")
	for _, test := range []struct {
		name string
		done []string
		want []string
	}{
		{"neither", nil, []string{"overdue grease: 2025-06-19, over 296 d"}},
		{"in May", []string{"2025-05-25"}, []string{"overdue grease: 2026-04-10, over 1 d"}},
		{"in May and on 28 October", []string{"2025-05-25", "2025-10-28"}, []string{"overdue grease: 2026-04-10, over 1 d"}},
		{"in May and on 29 October", []string{"2025-05-25", "2025-10-29"}, nil},
		{"once, late enough for both", []string{"2026-03-20"}, nil},
	} {
		t.Run(test.name, func(t *testing.T) {
			s := newShed(t, text)
			s.season("open", "2025-04-12", "", "")
			s.season("close", "2025-05-20", "", "")
			for _, d := range test.done {
				s.did(d, "grease")
			}
			s.season("open", "2026-04-10", "", "")
			same(t, "due", lines(s.due("2026-04-11")), test.want)
		})
	}
}

func TestSeasonOfOtherWorkOrFarm(t *testing.T) {
	s := newShed(t, kind("[job.look]\n[[job.look.when]]\nseason = \"before\"\nwork = \"seeding\"\n"))
	hill := s.add(farmNamed("hill"))
	s.add(seasonFor("harvest 2025", "harvest", "2025-04-01"))
	s.add(seasonFor("seeding hill", "seeding", "2025-04-01", hill))
	same(t, "other work and another farm", lines(s.due("2025-04-02")), nil)
	s.add(seasonFor("seeding creek", "seeding", "2025-04-01", s.farm))
	same(t, "its own", lines(s.due("2025-04-02")), []string{"overdue look: 2025-04-01, over 1 d"})
}

// A short gap: closed on 20 May, the next of its work opens on 5 June. Half of 16 days would be 28 May; but the work is asked for from 22 May on, 14 days
// before, so it counts from then. Closing and a doing on 21 May answer the old season only.
func TestBeforeAndAfterInAShortGap(t *testing.T) {
	for done, want := range map[string][]string{
		"2025-05-21": {"overdue grease: 2025-06-05, over 1 d"},
		"2025-05-22": nil,
	} {
		s := newShed(t, kind("[job.grease]\n[[job.grease.when]]\nseason = \"before\"\n[[job.grease.when]]\nseason = \"after\"\n"))
		s.season("open", "2025-04-12", "", "")
		s.season("close", "2025-05-20", "", "")
		s.did(done, "grease")
		s.add(seasonFor("autumn 2025", "seeding", "2025-06-05"))
		same(t, "done "+done, lines(s.due("2025-06-06")), want)
	}
}

// An event of one kind of work only.
func TestAtOnceAfterSeasonOfItsWork(t *testing.T) {
	text := strings.Replace(kind("[job.look]\n[[job.look.when]]\nafter = \"season-open\"\nwork = \"seeding\"\n[job.dig]\n[[job.dig.when]]\nafter = \"season-open:spraying\"\n"),
		`work = ["seeding"]`, `work = ["seeding", "spraying"]`, 1)
	s := newShed(t, text)
	s.add(seasonFor("spray 2025", "spraying", "2025-04-01"))
	same(t, "spraying", lines(s.due("2025-04-02")), []string{"overdue dig: 2025-04-01, over 1 d"})
	s.add(seasonFor("seed 2025", "seeding", "2025-04-02"))
	s.did("2025-04-02", "dig")
	same(t, "seeding", lines(s.due("2025-04-02")), []string{"due look: 2025-04-02, over 0 d"})
}
