package rules

import (
	"slices"
	"strings"

	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// afterSeasonDays is how long work after a season may wait before it is overdue: our own round figure.
const afterSeasonDays = 30

// start is the season's first day: opened, else planned; "" where neither is known.
func (s *Season) start() string {
	if s.Opened != "" {
		return s.Opened
	}
	return s.PlanFrom
}

// seasons are those the machine takes part in, of the trigger's kind of work or any of its kind's, in order of their first day.
func (j *judge) seasons(work string) []*Season {
	var found []*Season
	for _, s := range j.s.Seasons {
		mine := slices.Contains(j.m.Fitted.Work, s.Work) || len(j.m.Fitted.Work) == 0
		if work != "" {
			mine = s.Work == work
		}
		if mine && s.start() != "" && (len(s.Farms) == 0 || slices.Contains(s.Farms, j.m.Farm)) {
			found = append(found, s)
		}
	}
	slices.SortStableFunc(found, func(a, b *Season) int {
		if d := strings.Compare(a.start(), b.start()); d != 0 {
			return d
		}
		return strings.Compare(a.Name, b.Name)
	})
	return found
}

// season finds the season work before is asked for (open now, else the next planned) and the one closed last before it.
func (j *judge) season(work string) (target, closed *Season) {
	all := j.seasons(work)
	for _, s := range all {
		if s.Closed != "" && (closed == nil || s.Closed >= closed.Closed) {
			closed = s
		}
	}
	for _, s := range all {
		if s.Closed != "" || closed != nil && s.start() < closed.start() {
			continue
		}
		if s.Opened != "" || target == nil {
			target = s // the last one opened, else the first planned
		}
	}
	return target, closed
}

// beforeSeason judges work before each season of a kind of work. It counts when done since the last such season closed (the last twelve months where
// none is known); where the same job is asked for after the season too, only in the half of that time that is nearer to the new season, so that one
// doing does not answer both.
func (j *judge) beforeSeason(job *schedule.Job, p record.Position, t *schedule.Trigger) []verdict {
	target, closed := j.season(t.Work)
	if target == nil {
		return nil
	}
	start := calendarDay(target.start())
	from := start.AddDate(-1, 0, 0)
	window := "in the twelve months before"
	if closed != nil {
		from, window = calendarDay(closed.Closed), "since "+closed.Name+" closed on "+closed.Closed
	}
	if hasAfter(job, t) { // but never later than it is asked for
		half := min(daysBetween(from, start)/2, max(0, daysBetween(from, start)-j.noticeFor(t, 365)))
		from = from.AddDate(0, 0, half)
		window = "since " + dateOf(from)
	}
	last := j.last(job, p)
	entries := slices.Clone(target.Reason.Entries)
	if last != nil {
		entries = append(entries, last.Entry)
		if !last.Done.Day().Before(from) {
			return []verdict{{state: Later, cause: BySeason, entries: entries, why: "to be done before " + target.Name + "; " + doneWords(last, "")}}
		}
	}
	if last == nil && target.Opened != "" && j.m.Added.Date() > target.Opened {
		return []verdict{{state: Unknown, cause: BySeason, brief: neverBrief, why: neverDone + " (before " + target.Name + ")", entries: entries}}
	}
	v := j.reachDate(t, start, 365, BySeason, "", entries)
	v.brief = "before " + target.Name
	v.why = "not done " + window + "; to be done " + v.brief
	switch {
	case target.Opened != "":
		if v.state != DueNow { // on the opening day itself there is still the morning for it
			v.state = Overdue
		}
		v.why += ", which opened on " + target.Opened
	case v.state == Overdue:
		v.state = DueNow
		fallthrough
	default:
		v.why += ", planned from " + target.PlanFrom
	}
	return []verdict{v}
}

// hasAfter reports whether the job is asked for after seasons of the same work too.
func hasAfter(job *schedule.Job, before *schedule.Trigger) bool {
	return slices.ContainsFunc(job.When, func(t schedule.Trigger) bool { return t.Season == "after" && t.Work == before.Work })
}

// afterSeason judges work after each season: due from the day it closed, overdue after 30 days.
func (j *judge) afterSeason(job *schedule.Job, p record.Position, t *schedule.Trigger) []verdict {
	_, closed := j.season(t.Work)
	if closed == nil || j.m.Added.Date() > closed.Closed {
		return nil
	}
	entries := slices.Clone(closed.Reason.Entries)
	brief := "after " + closed.Name
	why := "to be done " + brief + ", closed on " + closed.Closed
	if last := j.last(job, p); last != nil {
		entries = append(entries, last.Entry)
		if last.Done.Date() >= closed.Closed {
			return []verdict{{state: Later, cause: BySeason, entries: entries, why: why + "; " + doneWords(last, "")}}
		}
	}
	v := j.reachDate(t, calendarDay(closed.Closed).AddDate(0, 0, afterSeasonDays), 365, BySeason, "", entries)
	v.brief, v.why = brief, why+", not done since; overdue after 30 days, on "+v.due.Date
	if v.state != Overdue {
		v.state = DueNow
	}
	return []verdict{v}
}
