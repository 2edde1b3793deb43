package rules

import (
	"slices"
	"sort"
	"strings"

	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// eventsFor are the events that any follow-on of a job may count from, in order of effect.
func (k *keeper) eventsFor(job *schedule.Job) []*Event {
	var out []*Event
	for _, kind := range k.followed(job) {
		out = append(out, k.eventsOf(kind)...)
	}
	return out
}

// followed are what the follow-ons of a job name: its own triggers, jobs that ask for it next, and work that loosens it.
func (k *keeper) followed(job *schedule.Job) []string {
	var out []string
	own := false
	for i := range job.When {
		if t := &job.When[i]; t.After != "" {
			out = append(out, eventKind(t))
			own = own || strings.HasPrefix(t.After, "loosened:")
		}
	}
	return append(out, k.chainedKinds(job, own)...)
}

func eventKind(t *schedule.Trigger) string {
	if t.Work != "" && !strings.Contains(t.After, ":") {
		return t.After + ":" + t.Work
	}
	return t.After
}

func (k *keeper) chainedKinds(job *schedule.Job, own bool) []string {
	var out []string
	for i := range k.m.Fitted.Jobs {
		if by := &k.m.Fitted.Jobs[i]; slices.Contains(by.Next, job.Name) {
			out = append(out, "did:"+by.Name)
		}
	}
	if !own {
		out = append(out, "loosened:"+job.Name)
	}
	return out
}

func (k *keeper) eventsOf(kind string) []*Event {
	k.j.latest(kind, record.Position{}) // fills byKind
	return k.j.byKind[kind]
}

// chained judges what other jobs ask for at once.
func (w *keptWalk) chained() {
	own := slices.ContainsFunc(w.job.When, func(t schedule.Trigger) bool { return strings.HasPrefix(t.After, "loosened:") })
	for _, kind := range w.chainedKinds(w.job, own) {
		w.each(kind, func(e *Event, limit string) { w.atOnce(e, limit) })
	}
}

// events judges the follow-ons of a trigger.
func (w *keptWalk) events(t *schedule.Trigger) {
	once := len(t.Series) == 0 && t.Then == nil && t.Finally == nil
	w.each(eventKind(t), func(e *Event, limit string) {
		if once {
			w.atOnce(e, limit)
			return
		}
		w.series(t, e, limit)
	})
}

// each goes through the events of a kind at the place, those of one day as one (the last of it), with the day of the next, "" where there is none.
func (w *keptWalk) each(kind string, judge func(e *Event, limit string)) {
	var here []*Event
	for _, e := range w.eventsOf(kind) {
		if !e.covers(w.p) || e.Done.Date() > w.until {
			continue
		}
		if n := len(here); n > 0 && here[n-1].Done.Date() == e.Done.Date() {
			here[n-1] = e
			continue
		}
		here = append(here, e)
	}
	w.judge = w.judge || len(here) > 0
	for i, e := range here {
		limit := ""
		if i+1 < len(here) {
			limit = here[i+1].Done.Date()
		}
		judge(e, limit)
	}
}

// follows reports a doing after an event, as judge.since has it.
func (w *keptWalk) follows(e *Event, d *Doing) bool {
	day := d.Done.Date()
	switch {
	case d.Assumed && day == e.Done.Date():
		return false
	case day == e.Done.Date() && (string(d.Done) == day || string(e.Done) == day):
		return true
	}
	return d.Entry == e.Entry || !w.j.earlier(d.Done, d.Entry, e.Done, e.Entry)
}

// following are the doings after an event and before the day of the next.
func (w *keptWalk) following(e *Event, limit string) []*Doing {
	i := sort.Search(len(w.did), func(i int) bool { return w.did[i].Done.Date() >= e.Done.Date() })
	for i < len(w.did) && !w.follows(e, w.did[i]) {
		i++
	}
	k := i
	for k < len(w.did) && (limit == "" || w.did[k].Done.Date() < limit) && w.did[k].Done.Date() <= w.until {
		k++
	}
	return w.did[i:k]
}

// atOnce judges what is due on the day of an event. One that is followed by another before it could be late is taken with that.
func (w *keptWalk) atOnce(e *Event, limit string) {
	day := e.Done.Date()
	late := dayAfter(day)
	var d *Doing
	if all := w.following(e, limit); len(all) > 0 {
		d = all[0]
	} else if limit != "" && limit <= late {
		return
	}
	w.answer(ByFollowOn, Amount{Date: day}, day, late, limit, d, dayBefore(day), e.Entry)
}

// series judges the steps after an event, then what repeats until a result, then what repeats for good.
func (w *keptWalk) series(t *schedule.Trigger, e *Event, limit string) {
	doings := w.following(e, limit)
	from := &Doing{Done: e.Done, Counters: e.Counters, Estimated: e.Estimated, Entry: e.Entry}
	next := 0
	for _, iv := range t.Series {
		at, ok := w.stepMark(t, iv, from)
		if !ok {
			return // at a count that nobody knows
		}
		if !w.step(at, from, doings, &next, limit) {
			return
		}
	}
	for range mostPoints {
		iv := t.Finally
		if t.Then != nil && !(next > 0 && w.ended(t, doings[next-1])) {
			iv = t.Then
		}
		if iv == nil {
			return
		}
		if next > 0 {
			from = doings[next-1]
		}
		at, ok := w.stepMark(t, *iv, from)
		if !ok || !w.step(at, from, doings, &next, limit) {
			return
		}
	}
}

// ended reports the result that a repetition is kept up for, at all places that the entry names: where one nut had moved, all are torqued again.
func (w *keptWalk) ended(t *schedule.Trigger, d *Doing) bool {
	if t.UntilResult == "" {
		return false
	}
	bad, known := w.bad[t.UntilResult]
	if !known {
		none, negative := strings.CutPrefix(t.UntilResult, "none-")
		bad = map[ID]bool{}
		for _, all := range w.m.Jobs[w.job.Name].Done {
			for _, x := range all {
				if !x.Skipped && x.Result != t.UntilResult && (!negative || x.Result == none) {
					bad[x.Entry] = true
				}
			}
		}
		w.bad[t.UntilResult] = bad
	}
	return !bad[d.Entry]
}

func (w *keptWalk) stepMark(t *schedule.Trigger, iv schedule.Interval, from *Doing) (mark, bool) {
	if iv.Calendar() {
		return w.dateMark(due{t, iv, iv}, from)
	}
	return w.countMark(due{t, iv, iv}, from)
}

// step judges one point of a series: the first doing late enough answers it, those before it do not. False ends the series: the point has not come, or nothing
// answered it.
func (w *keptWalk) step(at mark, from *Doing, doings []*Doing, next *int, limit string) bool {
	if at.wait == "" || at.wait > w.until || limit != "" && at.wait >= limit {
		return false
	}
	for k := max(0, *next-1); k < len(doings); k++ { // the doing that took the step before may take this one too
		over, order := w.against(at, doings[k])
		if order < 0 {
			continue
		}
		state := KeptOnTime
		if order > 0 {
			state = KeptLate
		}
		if !doings[k].Assumed {
			w.add(state, ByFollowOn, at.amountOf(), at.date, doings[k], over, from.Done.Date(), from.Entry)
		}
		*next = k + 1
		return true
	}
	if limit != "" {
		w.add(KeptMissed, ByFollowOn, at.amountOf(), at.date, nil, Amount{}, from.Done.Date(), from.Entry)
	} else {
		w.add(KeptOpen, ByFollowOn, at.amountOf(), at.date, nil, w.overNow(at), from.Done.Date(), from.Entry)
	}
	return false
}
