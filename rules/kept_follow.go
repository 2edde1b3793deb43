package rules

import (
	"slices"

	"shedbook/rules/schedule"
)

// worked judges every so many days on which the machine worked, counted from each doing.
func (w *keptWalk) worked(t *schedule.Trigger) {
	days, base, next := w.m.Worked, "", 0
	var rests []ID
	grace := max(1, t.Worked/10)
	for range mostPoints {
		i, _ := slices.BinarySearch(days, base)
		if i < len(days) && days[i] == base {
			i++
		}
		for {
			due := i + t.Worked - 1
			if due >= len(days) || days[due] > w.until {
				return
			}
			on, after := days[due], ""
			if due+t.Worked < len(days) && days[due+t.Worked] <= w.until {
				after = days[due+t.Worked]
			}
			for next < len(w.did) && w.did[next].Done.Date() <= base {
				next++
			}
			var d *Doing
			if next < len(w.did) && w.did[next].Done.Date() <= w.until && (after == "" || w.did[next].Done.Date() < after) {
				d = w.did[next]
			}
			if d != nil && d.Done.Date() < on { // before it was due: a day or so counts for it, more starts anew
				if n, _ := slices.BinarySearch(days, d.Done.Date()); due-n > grace {
					base, rests = d.Done.Date(), []ID{d.Entry}
					break
				}
			}
			late := days[min(due+grace, len(days)-1)]
			w.answer(ByInterval, Amount{Date: on}, on, late, after, d, base, rests...)
			if d != nil {
				base, rests = d.Done.Date(), []ID{d.Entry}
				break
			}
			if after == "" {
				return
			}
			i += t.Worked
		}
	}
}

// idle judges work that is due after so many days without work, once in each such stretch.
func (w *keptWalk) idle(t *schedule.Trigger) {
	days := append([]string{w.m.Added.Date()}, w.m.Worked...)
	for i, day := range days {
		next := ""
		if i+1 < len(days) {
			next = days[i+1]
		}
		on := w.outOfStorage(t, dateOf(calendarDay(day).AddDate(0, 0, t.Idle)))
		if on == "" || on > w.until || next != "" && on >= next {
			continue
		}
		late := dateOf(calendarDay(on).AddDate(0, 0, w.j.noticeFor(t, t.Idle)))
		w.answer(ByInterval, Amount{Date: on}, on, late, next, w.doneIn(dayAfter(day), next), day)
	}
}

// seasonsOf are the seasons of a trigger that were opened by the end.
func (w *keptWalk) seasonsOf(t *schedule.Trigger) []*Season {
	return slices.DeleteFunc(w.j.seasons(t.Work), func(s *Season) bool { return s.Opened == "" || s.Opened > w.until })
}

// beforeSeasons judges work before each season, as Due does: since the last one closed, or in the twelve months before; in the later half of that time where the
// job is asked for after seasons too.
func (w *keptWalk) beforeSeasons(t *schedule.Trigger) {
	all := w.seasonsOf(t)
	for i, s := range all {
		from := dateOf(calendarDay(s.Opened).AddDate(-1, 0, 0))
		closed := ""
		for _, o := range all[:i] {
			if o.Closed != "" && o.Closed < s.Opened {
				closed = max(closed, o.Closed)
			}
		}
		if closed != "" {
			from = closed
		}
		if hasAfter(w.job, t) {
			n := daysBetween(calendarDay(from), calendarDay(s.Opened))
			from = dateOf(calendarDay(from).AddDate(0, 0, min(n/2, max(0, n-w.j.noticeFor(t, 365)))))
		}
		next := s.Closed
		if i+1 < len(all) && (next == "" || all[i+1].Opened < next) {
			next = all[i+1].Opened
		}
		d := w.lastIn(from, dayAfter(s.Opened))
		if d == nil && from < w.m.Added.Date() {
			w.note("before " + s.Name + ": the book began too short a time before to tell")
			continue
		}
		if d == nil {
			d = w.doneIn(s.Opened, next)
		}
		w.answer(BySeason, Amount{Date: s.Opened}, s.Opened, s.Opened, next, d, from, s.Reason.Entries...)
	}
}

// afterSeasons judges work after each season that closed, until the next one opens.
func (w *keptWalk) afterSeasons(t *schedule.Trigger) {
	all := w.seasonsOf(t)
	for i, s := range all {
		if s.Closed == "" || s.Closed > w.until || s.Closed < w.m.Added.Date() {
			continue
		}
		next := ""
		for _, o := range all[i+1:] {
			if o.Opened > s.Closed {
				next = o.Opened
				break
			}
		}
		late := dateOf(calendarDay(s.Closed).AddDate(0, 0, afterSeasonDays))
		w.answer(BySeason, Amount{Date: late}, s.Closed, late, next, w.doneIn(s.Closed, next), s.Closed, s.Reason.Entries...)
	}
}

// untils judges a valid-until date written on a doing: the next one is due by it.
func (w *keptWalk) untils(t *schedule.Trigger) {
	of, ok := w.m.Fitted.Job(t.Until)
	if !ok {
		return
	}
	all := slices.DeleteFunc(slices.Clone(w.j.doings(of.Name, w.p)), func(d *Doing) bool { return d.Skipped })
	for i, d := range all {
		if d.Until == "" || d.Until > w.until {
			continue
		}
		var next *Doing
		if of.Name == w.job.Name && i+1 < len(all) {
			next = all[i+1]
		} else if of.Name != w.job.Name {
			next = w.doneIn(dayAfter(d.Done.Date()), "")
		}
		late := dateOf(calendarDay(d.Until).AddDate(0, 0, w.j.noticeFor(t, 365)))
		w.answer(ByDate, Amount{Date: d.Until}, d.Until, late, "", next, d.Done.Date(), d.Entry)
	}
}
