package rules

import (
	"slices"
	"testing"

	"shedbook/rules/record"
)

// Depth set in the shop cannot be dug up there: it is asked for once the machine has worked two hours, not on the day it was set, and whoever digs on the first day
// has done it. Common practice, no source; the two hours are the schedules' own.
func TestDigInTheField(t *testing.T) {
	for _, x := range []struct{ kind, job, setting, to string }{
		{"disc-drill", "depth-check", "depth", "6"},
		{"hoe-drill", "depth-check", "depth", "6"},
		{"planter", "dig", "depth", "6"},
	} {
		t.Run(x.kind, func(t *testing.T) {
			s := builtinShed(t, x.kind)
			s.read("2026-03-01", "hours 100 h")
			setAt(s, "2026-09-06", x.setting, x.to)
			s.read("2026-09-13", "hours 100 h")
			pressing := func(on string) bool {
				return slices.ContainsFunc(s.due(on), func(i Item) bool {
					return i.Job == x.job && (i.State == DueNow || i.State == Overdue) && i.Cause == ByFollowOn
				})
			}
			if pressing("2026-09-13") {
				t.Error("it is asked for in the shop")
			}
			s.add(&record.Counter{Work: s.work("2026-09-14"), Acts: []record.CounterAct{{Counter: "hours", Act: "at", Value: amount(t, "108 h")}}})
			if !pressing("2026-09-14") {
				t.Error("eight hours worked, and it is not asked for")
			}
			s.did("2026-09-14", x.job)
			if pressing("2026-09-14") {
				t.Error("dug up on the first day, and still asked for")
			}
			j := s.kept("2026-09-15", x.job)
			if j.Total.Late+j.Total.Missed > 0 {
				t.Errorf("dug up on the first day, and counted as %+v", j.Total)
			}
		})
	}
}
