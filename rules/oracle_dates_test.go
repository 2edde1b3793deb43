package rules_test

import (
	"math/big"
	"time"

	"shedbook/rules"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// byDaysWorked counts the days worked after the day of the last doing, for doing the job on a day counts for that day; due on the day that fills the
// number, coming when a tenth of it, and one day at the least, is to go.
func (c court) byDaysWorked(job *schedule.Job, p record.Position, t *schedule.Trigger) []ruling {
	var since []string
	last := c.lastDone(job.Name, p)
	for _, d := range c.daysWorked(c.machine) {
		if last == nil || d > last.done.Date() {
			since = append(since, d)
		}
	}
	n := timesDays(t.Worked, c.factorOf(t, p))
	switch left := n - len(since); {
	case left <= 0:
		return []ruling{c.onDate(t, record.Done(since[n-1]).Day(), n, rules.ByInterval)}
	case len(since) > 0 && left <= max(1, n/10):
		return []ruling{{state: rules.Coming, cause: rules.ByInterval}}
	}
	return []ruling{{state: rules.Later, cause: rules.ByInterval}}
}

// timesDays is a number of days times a factor, rounded up, one at the least.
func timesDays(n int, by *big.Rat) int {
	days := 1
	for ratInt(int64(days)).Cmp(timesRat(ratInt(int64(n)), by)) < 0 {
		days++
	}
	return days
}

// byIdleness: so many days after the last day worked, else after the machine came; done since then, not again before it has worked.
func (c court) byIdleness(job *schedule.Job, p record.Position, t *schedule.Trigger) []ruling {
	since := c.added().Date()
	for _, d := range c.daysWorked(c.machine) {
		since = d
	}
	if last := c.lastDone(job.Name, p); last != nil && last.done.Date() > since {
		return []ruling{{state: rules.Later, cause: rules.ByInterval}}
	}
	n := timesDays(t.Idle, c.factorOf(t, p))
	return []ruling{c.onDate(t, record.Done(since).Day().AddDate(0, 0, n), n, rules.ByInterval)}
}

// byPaper: the valid-until date of the last doing of the job that has it, unless this job was done on or after that date.
func (c court) byPaper(job *schedule.Job, p record.Position, t *schedule.Trigger) []ruling {
	if _, ok := c.f.Job(t.Until); !ok {
		return nil
	}
	paper := c.lastDone(t.Until, p)
	if paper == nil || paper.until == "" {
		return []ruling{{state: rules.Unknown, cause: rules.ByDate}}
	}
	if own := c.lastDone(job.Name, p); own != nil && own.entry != paper.entry && own.done.Date() >= paper.until {
		return []ruling{{state: rules.Later, cause: rules.ByDate}}
	}
	return []ruling{c.onDate(t, record.Done(paper.until).Day(), 365, rules.ByDate)}
}

// byMake counts from the part's date of make: the day the earliest of the place's parts was fitted, else the first of January of the machine's year of
// make. Each point wants a doing; one within the notice before a point is meant for it. What was due before the book knew the machine is unknown until one
// whole interval has passed.
func (c court) byMake(job *schedule.Job, p record.Position, t *schedule.Trigger) []ruling {
	from := c.madeOn(t.Made, p)
	if from.IsZero() {
		return []ruling{{state: rules.Unknown, cause: rules.ByDate}}
	}
	var all []ruling
	last, added := c.lastDone(job.Name, p), c.added().Day()
	for _, iv := range t.Every {
		if !iv.Calendar() {
			continue
		}
		span := stretched(iv.Amount, c.factorOf(t, p))
		notice := noticeDays(t, about(span))
		due := after(from, span)
		for k := int64(2); last != nil && due.Sub(last.done.Day()).Hours() <= float64(24*notice); k++ {
			due = after(from, stretched(span, ratInt(k)))
		}
		r := c.onDate(t, due, about(span), rules.ByDate)
		if last == nil && r.state == rules.Overdue && !due.After(added) && !after(added, span).Before(record.Done(c.on).Day()) {
			r = ruling{state: rules.Unknown, cause: rules.ByDate, date: r.date}
		}
		all = append(all, r)
	}
	return all
}

func (c court) madeOn(part string, p record.Position) time.Time {
	var from time.Time
	for _, s := range c.w.seats(c.machine, part, p) {
		if s == nil || s.holds == nil || s.disputed || s.holds.in == "" || s.holds.disputed {
			continue
		}
		if d := s.holds.in.Day(); from.IsZero() || d.Before(from) {
			from = d
		}
	}
	for _, t := range c.told {
		if m, ok := t.rec.(*record.Machine); ok && t.id == c.machine && from.IsZero() && m.Year > 0 {
			from = time.Date(m.Year, 1, 1, 0, 0, 0, 0, time.UTC)
		}
	}
	return from
}
