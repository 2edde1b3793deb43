package rules

import (
	"cmp"
	"slices"
	"sort"

	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// mostPoints bounds how many points one trigger of one place may have: an interval of a minute on a machine kept for ten years is a mistake in its schedule.
const mostPoints = 5000

// keptWalk goes through the history of one job at one place after the other.
type keptWalk struct {
	*keeper
	job   *schedule.Job
	from  string    // the first day on which a point counts
	notes *[]string // of the job, each once
	p     record.Position
	until string
	did   []*Doing // the times it was done or taken as done, in order of effect
	skips []*Doing
	found []Lapse
	judge bool // any trigger could be judged
	// unasked and waited are KeptJob.NotAsked and Stored of this history.
	unasked, waited int
	bad             map[string]map[ID]bool // result wanted -> entries that found it otherwise somewhere; see ended
}

func (w *keptWalk) note(text string) {
	if !slices.Contains(*w.notes, text) {
		*w.notes = append(*w.notes, text)
	}
}

// walk gives the points of a history, those answered by one doing joined, and how many doings answered none.
func (w *keptWalk) walk(p record.Position, h keptHistory) (points []Lapse, early int) {
	w.p, w.until, w.did, w.skips, w.found, w.judge = p, h.until, nil, nil, nil, false
	w.unasked, w.waited = 0, 0
	if len(w.job.Only) > 0 {
		return nil, 0
	}
	for _, d := range h.doings {
		if d.Skipped {
			w.skips = append(w.skips, d)
		} else {
			w.did = append(w.did, d)
		}
	}
	var counted []due
	for i := range w.job.When {
		t := &w.job.When[i]
		switch {
		case len(t.While) > 0:
			w.note("asked for only" + conditionWords(t.While) + ": not judged in hindsight")
			continue
		case len(t.Factors) > 0:
			w.note("judged by its plain interval: when its conditions stretched or shortened it is not kept day by day")
		}
		w.judge = w.judge || t.Made == "" && t.Past == "" && t.Forecast == "" && t.After == ""
		switch {
		case t.Made != "":
			w.note("due by a date of make: not judged in hindsight")
		case len(t.Every) > 0:
			for n, iv := range t.Every {
				first := iv
				if n < len(t.First) {
					first = t.First[n]
				}
				counted = append(counted, due{t, iv, first})
			}
		case t.Worked > 0:
			w.worked(t)
		case t.Idle > 0:
			w.idle(t)
		case t.Season == "before":
			w.beforeSeasons(t)
		case t.Season == "after":
			w.afterSeasons(t)
		case t.After != "":
			w.events(t)
		case t.Until != "":
			w.untils(t)
		case t.Past != "":
			w.note("due by what is measured there: not judged in hindsight; see what is left")
		case t.Forecast != "":
			w.note("due by a forecast: not judged in hindsight")
		}
	}
	if len(counted) > 0 {
		w.intervals(counted)
	}
	w.chained()
	return w.merged()
}

// due is one interval of a trigger.
type due struct {
	t         *schedule.Trigger
	iv, first schedule.Interval
}

// merged drops points before the first day, keeps of those that one doing answers, and of those open, the one that came first, and sorts them.
func (w *keptWalk) merged() (points []Lapse, early int) {
	slices.SortStableFunc(w.found, func(a, b Lapse) int { return cmp.Compare(a.DueOn, b.DueOn) })
	answers := map[ID]bool{}
	open := false
	for _, p := range w.found {
		by := ID("")
		if p.Done != "" {
			by = p.Entries[len(p.Entries)-1]
		}
		if p.DueOn < w.from || by != "" && answers[by] || p.State == KeptOpen && open {
			answers[by] = true
			w.unasked += b2i(p.DueOn < w.from)
			continue
		}
		answers[by], open = true, open || p.State == KeptOpen
		points = append(points, p)
	}
	for _, d := range w.did {
		if w.judge && !d.Assumed && !answers[d.Entry] {
			early++
		}
	}
	return points, early
}

// add keeps a point. The doing that answered it is the last of its entries.
func (w *keptWalk) add(state, cause string, at Amount, on string, d *Doing, over Amount, since string, rests ...ID) {
	if state == KeptOpen && w.until < w.end {
		return // out of use by now: nobody waits for it
	}
	p := Lapse{Job: w.job.Name, State: state, Cause: cause, Due: at, DueOn: on, Over: over}
	to := w.until
	if d != nil {
		p.Done, to = d.Done, d.Done.Date()
	}
	for _, s := range w.skips {
		if s.Done.Date() > since && s.Done.Date() <= to && state != KeptOnTime {
			p.Skipped = s.Entry
		}
	}
	for _, id := range append(rests, p.Skipped) {
		if id != "" && (d == nil || id != d.Entry) {
			p.Entries = append(p.Entries, id)
		}
	}
	if p.Entries = unique(p.Entries); d != nil {
		p.Entries = append(p.Entries, d.Entry)
	}
	if len(p.Entries) == 0 {
		p.Entries = []ID{w.m.ID}
	}
	w.found = append(w.found, p)
}

// answer judges one point by a day: done by the last day on time, later but before the next point (next, "" where there is none to come by the end), or not. A doing
// taken as given leaves the point out.
func (w *keptWalk) answer(cause string, at Amount, on, onTime, next string, d *Doing, since string, rests ...ID) {
	past := func(day string) Amount { return inDays(daysBetween(calendarDay(at.Date), calendarDay(day))) }
	switch {
	case d != nil && d.Assumed:
	case d != nil && d.Done.Date() <= onTime:
		w.add(KeptOnTime, cause, at, on, d, past(d.Done.Date()), since, rests...)
	case d != nil:
		w.add(KeptLate, cause, at, on, d, past(d.Done.Date()), since, rests...)
	case next != "" && next <= w.until:
		w.add(KeptMissed, cause, at, on, nil, Amount{}, since, rests...)
	case on <= w.until:
		w.add(KeptOpen, cause, at, on, nil, past(w.until), since, rests...)
	}
}

// doneIn is the first doing on a day from one (counted) to another (not counted; "": up to the last day).
func (w *keptWalk) doneIn(from, before string) *Doing {
	i := sort.Search(len(w.did), func(i int) bool { return w.did[i].Done.Date() >= from })
	if i < len(w.did) && (before == "" || w.did[i].Done.Date() < before) && w.did[i].Done.Date() <= w.until {
		return w.did[i]
	}
	return nil
}

// lastIn is the last doing on a day from one (counted) to another (not counted).
func (w *keptWalk) lastIn(from, before string) *Doing {
	i := sort.Search(len(w.did), func(i int) bool { return w.did[i].Done.Date() >= before })
	if i > 0 && w.did[i-1].Done.Date() >= from {
		return w.did[i-1]
	}
	return nil
}
