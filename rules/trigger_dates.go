package rules

import (
	"math/big"
	"slices"
	"strconv"
	"time"

	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// worked judges a number of days on which the machine worked. Doing the job on a day counts for that day.
func (j *judge) worked(job *schedule.Job, p record.Position, t *schedule.Trigger) []verdict {
	last := j.last(job, p)
	days := j.m.Worked
	why := "never recorded done"
	var entries []ID
	if last != nil {
		days = slices.DeleteFunc(slices.Clone(days), func(d string) bool { return d <= last.Done.Date() })
		why, entries = doneWords(last, ""), []ID{last.Entry}
	}
	by, because := j.factor(t, p)
	every := max(1, ceil(by.Mul(by, big.NewRat(int64(t.Worked), 1))))
	how := "every " + plural(t.Worked, "day", "days") + " it works" + because
	why += ", " + how + ": worked on " + plural(len(days), "day", "days") + " since"
	v := verdict{state: Later, cause: ByInterval, entries: entries}
	if len(days) >= every {
		return []verdict{j.reachDate(t, calendarDay(days[every-1]), every, ByInterval, why, entries)}
	}
	if len(days) > 0 && every-len(days) <= max(1, every/10) {
		v.state = Coming
	}
	v.brief, v.why = "after "+plural(every-len(days), "more day", "more days")+" of work", why
	return []verdict{v}
}

// idle judges days without work: due once after each such stretch, counted from the last day worked (else from the day the machine came).
func (j *judge) idle(job *schedule.Job, p record.Position, t *schedule.Trigger) []verdict {
	since, from := j.m.Added.Date(), "came to the book"
	if n := len(j.m.Worked); n > 0 {
		since, from = j.m.Worked[n-1], "last worked"
	}
	by, because := j.factor(t, p)
	idle := max(1, ceil(by.Mul(by, big.NewRat(int64(t.Idle), 1))))
	last := j.last(job, p)
	why := "it " + from + " on " + since + ", due after " + plural(t.Idle, "day", "days") + " without work" + because
	if last != nil && last.Done.Date() > since {
		return []verdict{{state: Later, cause: ByInterval, entries: []ID{last.Entry}, why: why + "; " + doneWords(last, "")}}
	}
	return []verdict{j.reachDate(t, calendarDay(since).AddDate(0, 0, idle), idle, ByInterval, why, nil)}
}

// until judges a valid-until date written on a job's last doing.
func (j *judge) until(job *schedule.Job, p record.Position, t *schedule.Trigger) []verdict {
	of, ok := j.m.Fitted.Job(t.Until)
	if !ok {
		return nil
	}
	last := j.last(of, p)
	switch {
	case last == nil:
		return []verdict{{state: Unknown, cause: ByDate, brief: "no valid-until date", why: "no valid-until date written: record it with the next " + jobTitle(of)}}
	case last.Until == "":
		return []verdict{{state: Unknown, cause: ByDate, entries: []ID{last.Entry}, brief: "no valid-until date",
			why: doneWords(last, "") + " without a valid-until date: write it with the next one"}}
	}
	if own := j.last(job, p); own != nil && own.Entry != last.Entry && own.Done.Date() >= last.Until {
		return []verdict{{state: Later, cause: ByDate, why: doneWords(own, ""), entries: []ID{own.Entry}}}
	}
	return []verdict{j.reachDate(t, calendarDay(last.Until), 365, ByDate, "valid until "+last.Until+" as written on "+last.Done.Date(), []ID{last.Entry})}
}

// made judges years from a part's date of make. The book holds none: the machine's year of make stands for an original part, the day it was fitted for a
// later one, and the sentence says so. Each point of that grid wants a doing.
func (j *judge) made(job *schedule.Job, p record.Position, t *schedule.Trigger) []verdict {
	from, why, entries := j.dateOfMake(t.Made, p)
	if from.IsZero() {
		return []verdict{{state: Unknown, cause: ByDate, brief: "date of make not known", why: "the " + t.Made + "'s date of make is not known: record its swap, or the machine's year of make"}}
	}
	last := j.last(job, p)
	by, because := j.factor(t, p)
	var all []verdict
	for _, iv := range t.Every {
		if !iv.Calendar() {
			continue
		}
		span := scaled(iv.Amount, by)
		due := j.gridDate(from, span, t, last)
		words := why + ", every " + iv.String() + because
		rests := entries
		if last != nil {
			words, rests = doneWords(last, "")+", "+words, append(slices.Clone(entries), last.Entry)
		}
		v := j.reachDate(t, due, spanDays(span), ByDate, words, rests)
		if last == nil && v.state == Overdue && !laterBy(j.m.Added.Day(), span).Before(j.on) && !due.After(j.m.Added.Day()) {
			// it came due before the book knew the machine
			v = verdict{state: Unknown, cause: ByDate, due: v.due, entries: rests, brief: neverBrief, why: words + ", was due on " + v.due.Date + "; " + neverDone}
		}
		all = append(all, v)
	}
	return all
}

func (j *judge) dateOfMake(part string, p record.Position) (time.Time, string, []ID) {
	var from time.Time
	var why string
	var entries []ID
	for _, s := range j.slots(part, p) {
		if s.Part == nil || s.Disputed || s.Unknown || s.Part.In == "" {
			continue
		}
		if d := s.Part.In.Day(); from.IsZero() || d.Before(from) {
			from, entries = d, s.Reason.Entries
			why = "counted from the day the " + part + " was fitted, " + s.Part.In.Date() + ", for want of its date of make"
		}
	}
	if from.IsZero() && j.m.Year > 0 {
		from = time.Date(j.m.Year, 1, 1, 0, 0, 0, 0, time.UTC)
		why, entries = "counted from the machine's year of make, "+strconv.Itoa(j.m.Year), []ID{j.m.ID}
	}
	return from, why, entries
}
