package rules

import (
	"slices"
	"testing"

	"shedbook/rules/record"

	"pgregory.net/rapid"
)

// What hindsight calls late, missed or open was overdue on the days in between, and nothing else was: asked day by day, the due list had the job overdue by more
// than its notice exactly when a point had passed by more than that and the job was not done since. Held for a job due every month, in storage too; its notice is
// a tenth of 31 days. Starting lines are left out: what they take as given, hindsight does not count.
func TestLawKeptIsWhatWasDue(t *testing.T) {
	const notice = 3
	laws(t, func(rt *rapid.T, n int) {
		s := drawn(rt, t, n)
		s.entries = slices.DeleteFunc(s.entries, func(e Entry) bool { _, ok := e.Record.(*record.Assume); return ok })
		for range rapid.IntRange(0, 6).Draw(rt, "tags") {
			s.did(dateOf(calendarDay("2025-01-05").AddDate(0, 0, rapid.IntRange(0, 400).Draw(rt, "tag"))), "tag")
		}
		st := s.replayed("2026-04-15")
		m := st.Machine("rig")
		k := KeptOf(st, m)
		tag := k.Jobs[slices.IndexFunc(k.Jobs, func(j KeptJob) bool { return j.Job.Name == "tag" })]
		var done []string
		if log := m.Jobs["tag"]; log != nil {
			for _, d := range log.Done[""] {
				done = append(done, d.Done.Date())
			}
		}
		for range 12 {
			day := onDay(rt)
			if day > "2026-04-15" {
				continue
			}
			hindsight := slices.ContainsFunc(tag.Lapses, func(l Lapse) bool {
				answered := slices.ContainsFunc(done, func(d string) bool { return d > l.DueOn && d <= day })
				return daysBetween(calendarDay(l.DueOn), calendarDay(day)) > notice && !answered
			})
			then := s.replayed(day)
			overdue := slices.ContainsFunc(Due(then, Filter{}), func(i Item) bool {
				return i.Job == "tag" && i.State == Overdue && i.Over.Value.Float64() > notice
			})
			if overdue != hindsight {
				rt.Fatalf("on %s overdue by more than its notice: %t on the due list, %t in hindsight (done %v; %v)", day, overdue, hindsight, done, lapseLines(tag.Lapses))
			}
		}
	})
}
