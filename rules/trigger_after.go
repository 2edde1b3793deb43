package rules

import (
	"slices"
	"strings"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// covers reports whether an event concerns a place: it names the place, or is about the machine, or the job is, or it names places of another noun only.
func (e *Event) covers(p record.Position) bool {
	if e.Positions.IsZero() || p.Noun == "" || e.Positions.Has(p) {
		return true
	}
	return !slices.ContainsFunc(e.Positions.Ranges(), func(r record.Range) bool { return r.Noun == p.Noun })
}

// latest is the last event that a trigger names, at a place; nil if none.
func (j *judge) latest(kind string, p record.Position) *Event {
	all, ok := j.byKind[kind]
	if !ok {
		for i := range j.events {
			if j.named(&j.events[i], kind) {
				all = append(all, &j.events[i])
			}
		}
		j.byKind[kind] = all
	}
	for i := len(all) - 1; i >= 0; i-- {
		if all[i].covers(p) {
			return all[i]
		}
	}
	return nil
}

// named reports whether an event is what a trigger's after means: "swap:disc", "fault", "fault:disc", "season-open:seeding", "storage-out".
func (j *judge) named(e *Event, kind string) bool {
	verb, of, _ := strings.Cut(kind, ":")
	got, thing, _ := strings.Cut(e.Kind, ":")
	if verb == "storage-in" || verb == "storage-out" {
		verb = strings.Replace(verb, "storage", "store", 1)
	}
	switch {
	case got != verb:
		return false
	case of == "" || of == thing:
		return true
	case verb == "season-open" || verb == "season-close":
		return slices.ContainsFunc(j.s.Seasons, func(s *Season) bool { return s.Work == of && slices.Contains(s.Reason.Entries, e.Entry) })
	case verb == "fault":
		return slices.ContainsFunc(j.m.Faults, func(f *Fault) bool { return f.ID == e.Entry && f.Part == of })
	case verb == "repair":
		return j.parts[e.Entry] == of
	}
	return false
}

// since are the doings of a job at a place after an event in the order of effect, skips left out; what one entry says of both counts. On a day where one
// of the two has no time of day, the job counts as done after; but a machine taken as good that day was so before the work of the day, whatever the times.
func (j *judge) since(e *Event, job *schedule.Job, p record.Position) []*Doing {
	all := j.doings(job.Name, p)
	from := len(all)
	for from > 0 && all[from-1].Done.Date() >= e.Done.Date() {
		from--
	}
	return slices.DeleteFunc(slices.Clone(all[from:]), func(d *Doing) bool {
		day := d.Done.Date()
		switch {
		case d.Skipped, d.Assumed && day == e.Done.Date():
			return true
		case day == e.Done.Date() && (string(d.Done) == day || string(e.Done) == day):
			return false
		}
		return d.Entry != e.Entry && j.earlier(d.Done, d.Entry, e.Done, e.Entry)
	})
}

// chained judges what other jobs ask for: the next ones of a chain, and torque jobs that a job loosens and that say nothing of it themselves.
func (j *judge) chained(job *schedule.Job, p record.Position) []verdict {
	var all []verdict
	for i := range j.m.Fitted.Jobs {
		by := &j.m.Fitted.Jobs[i]
		if at := slices.Index(by.Next, job.Name); at >= 0 {
			text := "to be done at once"
			if at > 0 {
				text = "to be done at once, after " + inWords(j.titles(by.Next[:at]))
			}
			all = append(all, j.atOnce(job, p, nil, "did:"+by.Name, text)...)
		}
	}
	if !slices.ContainsFunc(job.When, func(t schedule.Trigger) bool { return strings.HasPrefix(t.After, "loosened:") }) {
		all = append(all, j.atOnce(job, p, nil, "loosened:"+job.Name, "to be done at once")...)
	}
	return all
}

// atOnce judges a job that is due on the day of an event, until it is done.
func (j *judge) atOnce(job *schedule.Job, p record.Position, t *schedule.Trigger, kind, text string) []verdict {
	e := j.latest(kind, p)
	if e == nil {
		return nil
	}
	why := j.eventWords(e) + ", " + text
	if done := j.since(e, job, p); len(done) > 0 {
		return []verdict{{state: Later, cause: ByFollowOn, entries: []ID{e.Entry}, why: why + "; " + doneWords(done[len(done)-1], "")}}
	}
	v := j.reachDate(t, e.Done.Day(), 1, ByFollowOn, "", []ID{e.Entry})
	v.brief, v.why = "since "+j.eventBrief(e), why
	return []verdict{v}
}

// after judges what follows on an event: at once, or a series of steps, each once, then every so much until a result is reported, then every so much.
func (j *judge) after(job *schedule.Job, p record.Position, t *schedule.Trigger) []verdict {
	kind := t.After
	if t.Work != "" && !strings.Contains(kind, ":") {
		kind += ":" + t.Work
	}
	if len(t.Series) == 0 && t.Then == nil && t.Finally == nil {
		return j.atOnce(job, p, t, kind, "to be done at once")
	}
	e := j.latest(kind, p)
	if e == nil {
		return j.foundLoose(job, p, t)
	}
	by, because := j.factor(t, p)
	from := origin{done: e.Done, counters: e.Counters, entry: e.Entry}
	done := j.since(e, job, p)
	text := j.eventWords(e)
	step := 0
	var lastUsed *Doing
	for _, d := range done {
		took := false
		if step == 0 && len(t.Series) > 0 && !j.counted(from, t.Series[0]) && j.counted(origin{done: d.Done, counters: d.Counters}, t.Series[0]) {
			// how much was worked between the two nobody knows: it answers the first step, and the others count from it
			from = origin{done: d.Done, counters: d.Counters, entry: d.Entry}
			step, took = 1, true
		}
		for step < len(t.Series) && j.reached(t, from, d, t.Series[step], scaled(t.Series[step].Amount, by)) {
			step, took = step+1, true
		}
		if took {
			lastUsed = d
		}
	}
	if step < len(t.Series) {
		iv := t.Series[step]
		v := j.fromOrigin(t, from, iv, scaled(iv.Amount, by), text+", check at "+iv.String()+" after it"+because, ByFollowOn)
		if v.brief == CountNotKnown && len(done) == 0 { // the time for it may have passed long ago
			v.state, v.why = DueNow, v.why+", so it is time now"
		}
		return []verdict{v}
	}
	// The series is over: what repeats counts from the last doing, or from the event where there was no series.
	var last *Doing
	if n := len(done); n > 0 && (lastUsed != nil || len(t.Series) == 0) {
		last = done[n-1]
		from = origin{done: last.Done, counters: last.Counters, entry: last.Entry}
		text += ", " + doneWords(last, "")
	}
	ended := last != nil && j.resulted(job, p, e, t.UntilResult)
	switch {
	case t.Then != nil && !ended:
		how := ", every " + t.Then.String() + because
		if t.UntilResult != "" {
			how += " until " + resultWords(t.UntilResult)
			if last != nil {
				text += j.foundWords(job, p, e, t.UntilResult)
			}
		}
		return []verdict{j.fromOrigin(t, from, *t.Then, scaled(t.Then.Amount, by), text+how, ByFollowOn)}
	case t.Finally != nil:
		how := ", then every " + t.Finally.String() + because
		return []verdict{j.fromOrigin(t, from, *t.Finally, scaled(t.Finally.Amount, by), text+how, ByFollowOn)}
	}
	return []verdict{{state: Later, cause: ByFollowOn, why: text, entries: []ID{e.Entry, from.entry}}}
}

// foundLoose judges a job that repeats until none has moved where nothing had been loosened and its last doing found that it had: it is repeated there as after
// the series of a loosening, until it has not.
func (j *judge) foundLoose(job *schedule.Job, p record.Position, t *schedule.Trigger) []verdict {
	bad, ok := strings.CutPrefix(t.UntilResult, "none-")
	d := j.last(job, p)
	if !ok || t.Then == nil || d == nil || d.Result != bad {
		return nil
	}
	by, because := j.factor(t, p)
	from := origin{done: d.Done, counters: d.Counters, entry: d.Entry}
	why := "found " + resultWords(bad) + " on " + d.Done.Date() + ", every " + t.Then.String() + because + " until " + resultWords(t.UntilResult)
	return []verdict{j.fromOrigin(t, from, *t.Then, scaled(t.Then.Amount, by), why, ByFollowOn)}
}

// origin is where a step is counted from: an event or a doing.
type origin struct {
	done     record.Done
	counters map[string]quantity.Quantity
	entry    ID
}

// counted reports an origin whose count is known; of an interval in days every one is.
func (j *judge) counted(o origin, iv schedule.Interval) bool {
	if iv.Calendar() {
		return true
	}
	_, ok := j.lifeAt(o, iv.Counter)
	return ok
}

func (j *judge) lifeAt(o origin, counter string) (quantity.Quantity, bool) {
	if q, ok := o.counters[counter]; ok {
		return q, true
	}
	return j.m.UseAt(counter, o.done)
}

// reached reports whether a doing answers a step: it was done at the step, or as much before as the trigger's notice allows.
func (j *judge) reached(t *schedule.Trigger, from origin, d *Doing, iv schedule.Interval, amount quantity.Quantity) bool {
	if iv.Calendar() {
		due := laterBy(from.done.Day(), amount)
		return daysBetween(d.Done.Day(), due) <= j.noticeFor(t, spanDays(amount))
	}
	c := j.m.Counters[iv.Counter]
	if c == nil || !c.Known {
		return false
	}
	start, ok := j.lifeAt(from, iv.Counter)
	if !ok {
		start = c.Points[0].Life // the event was before the counter was first read
	}
	then, ok := j.lifeAt(origin{done: d.Done, counters: d.Counters}, iv.Counter)
	if !ok {
		return false
	}
	amount = onCounter(c, amount)
	least := minus(plus(onCounter(c, start), amount), j.notice(t, iv.Counter, amount))
	return onCounter(c, then).Rat().Cmp(least.Rat()) >= 0
}

// fromOrigin judges an interval counted from an event or a doing.
func (j *judge) fromOrigin(t *schedule.Trigger, from origin, iv schedule.Interval, amount quantity.Quantity, why, cause string) verdict {
	if iv.Calendar() {
		return j.reachDate(t, laterBy(from.done.Day(), amount), spanDays(amount), cause, why, []ID{from.entry})
	}
	c := j.m.Counters[iv.Counter]
	if c == nil || !c.Known {
		v := j.unread(iv.Counter, why)
		v.cause, v.entries = cause, []ID{from.entry}
		return v
	}
	amount = onCounter(c, amount)
	start, ok := j.lifeAt(from, iv.Counter)
	if !ok {
		// the count then is not known: certain only once that much has passed since the counter's first known point
		v := j.reach(c, t, plus(c.Points[0].Life, amount), amount, why, []ID{from.entry})
		if v.cause = cause; v.state != Overdue {
			v = verdict{state: Unknown, cause: cause, brief: CountNotKnown, why: why + ": the count of " + iv.Counter + " then is not known", entries: []ID{from.entry}}
		}
		return v
	}
	v := j.reach(c, t, plus(onCounter(c, start), amount), amount, why+", counted from "+c.say(onCounter(c, start)), []ID{from.entry})
	v.cause = cause
	return v
}

// resulted reports whether the latest doings at all places of the event (and of the job) had a result. "none-moved" means that none had "moved".
func (j *judge) resulted(job *schedule.Job, p record.Position, e *Event, result string) bool {
	if result == "" {
		return false
	}
	none, negative := strings.CutPrefix(result, "none-")
	for _, q := range j.placesOf(job) {
		if q != p && (p.Noun == "" || !e.covers(q)) {
			continue
		}
		done := j.since(e, job, q)
		if len(done) == 0 {
			return false
		}
		got := done[len(done)-1].Result
		if got != result && (!negative || got == none) {
			return false
		}
	}
	return true
}

// foundWords is where the latest doings since an event found what a series is repeated for: " (moved: openers 14, 31)"; "" where nothing is said of it.
func (j *judge) foundWords(job *schedule.Job, p record.Position, e *Event, until string) string {
	found, negative := strings.CutPrefix(until, "none-")
	if !negative {
		return ""
	}
	var at []record.Position
	for _, q := range j.placesOf(job) {
		if q != p && (p.Noun == "" || !e.covers(q)) {
			continue
		}
		if done := j.since(e, job, q); len(done) > 0 && done[len(done)-1].Result == found {
			at = append(at, q)
		}
	}
	switch {
	case len(at) == 0:
		return ""
	case p.Noun == "":
		return " (" + resultWords(found) + ")"
	}
	return " (" + resultWords(found) + ": " + j.m.Fitted.Describe(record.NewPositions(at...), job.Of) + ")"
}

func resultWords(result string) string { return strings.ReplaceAll(result, "-", " ") }

// eventBrief is an event by the words one types: "the disc of 2026-04-02", "preset on 2026-04-02"; else as eventWords has it.
func (j *judge) eventBrief(e *Event) string {
	verb, what, _ := strings.Cut(e.Kind, ":")
	switch verb {
	case "swap":
		return "the " + what + " of " + e.Done.Date()
	case "did", "adjust", "measure":
		return what + " on " + e.Done.Date()
	case "loosened":
		if by := j.loosener(e, what); by != nil {
			return by.Name + " on " + e.Done.Date()
		}
	}
	return j.eventWords(e)
}

// loosener is the job that loosened another, where one did.
func (j *judge) loosener(e *Event, what string) *schedule.Job {
	for i := range j.m.Fitted.Jobs {
		by := &j.m.Fitted.Jobs[i]
		did := func(o Event) bool { return o.Entry == e.Entry && o.Kind == "did:"+by.Name }
		if slices.Contains(by.Loosens, what) && slices.ContainsFunc(j.events, did) {
			return by
		}
	}
	return nil
}

// eventWords says what happened and when: "bearing preset done on 2026-04-02", "loosened by wheel change on 2026-04-02".
func (j *judge) eventWords(e *Event) string {
	verb, what, _ := strings.Cut(e.Kind, ":")
	words := e.Kind
	switch verb {
	case "swap":
		words = what + " put in"
	case "turn":
		words = what + " turned"
	case "did":
		words = j.titles([]string{what})[0] + " done"
	case "loosened":
		words = "loosened"
		if by := j.loosener(e, what); by != nil {
			words = "loosened by " + jobTitle(by)
		}
	case "adjust":
		if def, ok := j.m.Fitted.Setting(what); ok {
			words = settingTitle(def) + " set"
		}
	case "measure":
		if def, ok := j.m.Fitted.Reading(what); ok {
			words = readingTitle(def) + " measured"
		}
	case "fault":
		words = "fault found"
	case "repair":
		words = "repaired"
	case "season-open":
		words = "season opened"
	case "season-close":
		words = "season closed"
	case "store-in":
		words = "put into storage"
	case "store-out":
		words = "taken out of storage"
	case "move":
		words = "moved to another yard"
	case "hitch":
		words = "hitched"
	}
	return words + " on " + e.Done.Date()
}
