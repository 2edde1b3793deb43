package rules

import (
	"cmp"
	"math/big"
	"slices"

	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// verdict is what one trigger says of one job at one place.
type verdict struct {
	state     string
	cause     string
	severity  string // "": the job's
	due, over Amount
	expected  string
	share     *big.Rat // by what share of its interval it is over; chooses between triggers; nil: 0
	brief     string   // of the Item
	found     []record.Value
	bound     schedule.Bound
	unread    string // of the Item
	why       string
	entries   []ID
}

// jobs judges every job at every place, then leaves out the smaller jobs that a bigger one includes.
func (j *judge) jobs() []finding {
	var found []finding
	for i := range j.m.Fitted.Jobs {
		job := &j.m.Fitted.Jobs[i]
		for _, p := range j.placesOf(job) {
			if v, ok := j.job(job, p); ok && (v.state != Later || j.f.All) {
				found = append(found, j.finding(job, p, v))
			}
		}
	}
	return j.included(found)
}

// placesOf lists where a job is done: its group, all places of its noun, or the machine (the zero Position). Places out of use wait.
func (j *judge) placesOf(job *schedule.Job) []record.Position {
	if ps, ok := j.places[job.Name]; ok {
		return ps
	}
	ps := []record.Position{{}}
	if job.Of != "" || job.Group != "" {
		set := j.m.Fitted.All(job.Of)
		if job.Group != "" {
			set, _ = j.m.Fitted.GroupPositions(job.Group)
		}
		ps = slices.DeleteFunc(set.All(), func(p record.Position) bool { return j.m.Out[p.String()] != nil })
	}
	j.places[job.Name] = ps
	return ps
}

// job takes a job's triggers together: whichever comes first.
func (j *judge) job(job *schedule.Job, p record.Position) (verdict, bool) {
	if !j.holds(job.Only, p) {
		return verdict{}, false
	}
	if v, failed := j.failed(job, p); failed {
		return v, true
	}
	var all []verdict
	for i := range job.When {
		t := &job.When[i]
		if j.paused(t) || !j.holds(t.While, p) {
			continue
		}
		all = append(all, j.trigger(job, p, t)...)
	}
	if !j.m.Stored {
		all = append(all, j.chained(job, p)...)
	}
	return first(all)
}

// paused reports a trigger that waits while the machine is in storage: all but those that run on and those that ask about storage.
func (j *judge) paused(t *schedule.Trigger) bool {
	return j.m.Stored && t.Stored != "run" && !slices.ContainsFunc(t.While, func(o schedule.Only) bool { return o.State == "stored" })
}

func (j *judge) trigger(job *schedule.Job, p record.Position, t *schedule.Trigger) []verdict {
	switch {
	case t.Made != "":
		return j.made(job, p, t)
	case len(t.Every) > 0:
		return j.every(job, p, t)
	case t.Worked > 0:
		return j.worked(job, p, t)
	case t.Idle > 0:
		return j.idle(job, p, t)
	case t.Season == "before":
		return j.beforeSeason(job, p, t)
	case t.Season == "after":
		return j.afterSeason(job, p, t)
	case t.After != "":
		return j.after(job, p, t)
	case t.Past != "":
		return j.pastReading(job, p, t)
	case t.Until != "":
		return j.until(job, p, t)
	case t.Forecast != "":
		return j.forecastReading(job, p, t)
	}
	return nil
}

// first is the verdict that comes first: the worst state, then the one over by the greatest share of its interval, then the one written first. What
// else is unknown is said with it.
func first(all []verdict) (verdict, bool) {
	if len(all) == 0 {
		return verdict{}, false
	}
	best := all[0]
	for _, v := range all[1:] {
		if d := slices.Index(stateOrder, v.state) - slices.Index(stateOrder, best.state); d < 0 || d == 0 && v.over_().Cmp(best.over_()) > 0 {
			best = v
		}
	}
	if best.state == Coming {
		for _, v := range all {
			if v.state == Unknown {
				best.why += "; besides: " + v.why
				break
			}
		}
	}
	return best, true
}

func (v *verdict) over_() *big.Rat {
	if v.share == nil {
		return new(big.Rat)
	}
	return v.share
}

// finding fills in what the job itself says.
func (j *judge) finding(job *schedule.Job, p record.Position, v verdict) finding {
	f := finding{place: p, of: job.Of, key: job.Name, each: job.Minutes}
	f.Job, f.Title, f.Order = job.Name, jobTitle(job), job.Order
	f.State, f.Cause, f.Severity = v.state, v.cause, v.severity
	if f.Severity == "" {
		f.Severity = jobSeverity(job)
	}
	f.Due, f.Over, f.Expected, f.Why, f.Entries = v.due, v.over, v.expected, v.why, v.entries
	f.Brief, f.Found, f.Bound, f.Unread = v.brief, v.found, v.bound, v.unread
	if d := j.last(job, p); d != nil {
		f.Last = LastDone{Entry: d.Entry, Done: d.Done}
		if !d.Assumed {
			f.By = d.Person
		}
		f.Assumed = d.Assumed && (v.cause == ByInterval || v.cause == ByDate)
		f.Entries = append(f.Entries, d.Entry)
	}
	if s := j.skipped(job, p); s != nil {
		f.Why += "; skipped on " + s.Done.Date()
		f.Entries = append(f.Entries, s.Entry)
	}
	if v.cause == ByLimit && len(job.Try) > 0 {
		f.Why += "; try " + inWords(j.titles(job.Try)) + " first"
	}
	f.Entries = j.inOrder(f.Entries)
	for _, name := range job.Cautions {
		if c, ok := j.m.Fitted.Caution(name); ok {
			f.Cautions = append(f.Cautions, c.Text)
		}
	}
	return f
}

// titles are jobs as people call them.
func (j *judge) titles(names []string) []string {
	words := make([]string, len(names))
	for i, name := range names {
		words[i] = name
		if job, ok := j.m.Fitted.Job(name); ok {
			words[i] = jobTitle(job)
		}
	}
	return words
}

// inOrder drops doubles and empty ids and sorts by order of effect, then id.
func (j *judge) inOrder(ids []ID) []ID {
	ids = slices.DeleteFunc(slices.Clone(ids), func(id ID) bool { return id == "" })
	slices.SortFunc(ids, func(a, b ID) int {
		return cmp.Or(j.order[a]-j.order[b], cmp.Compare(a, b))
	})
	return slices.Compact(ids)
}

// doings are the times a job was recorded at a place, skips included, in order of effect. One recorded for the machine as a whole counts at every place:
// a job may have got its places with a later schedule.
func (j *judge) doings(job string, p record.Position) []*Doing {
	log := j.m.Jobs[job]
	if log == nil {
		return nil
	}
	here := log.Done[p.String()]
	if whole := log.Done[""]; p.Noun != "" && len(whole) > 0 {
		here = append(slices.Clone(here), whole...)
		slices.SortStableFunc(here, func(a, b *Doing) int { return j.compare(a.Done, a.Entry, b.Done, b.Entry) })
	}
	return here
}

// last is the latest time the job was really done there (or taken as done), nil if never.
func (j *judge) last(job *schedule.Job, p record.Position) *Doing {
	all := j.doings(job.Name, p)
	for i := len(all) - 1; i >= 0; i-- {
		if !all[i].Skipped {
			return all[i]
		}
	}
	return nil
}

// skipped is the latest doing where it is a skip.
func (j *judge) skipped(job *schedule.Job, p record.Position) *Doing {
	if all := j.doings(job.Name, p); len(all) > 0 && all[len(all)-1].Skipped {
		return all[len(all)-1]
	}
	return nil
}

// failed is a job whose latest doing found the machine not good: done, but not well.
func (j *judge) failed(job *schedule.Job, p record.Position) (verdict, bool) {
	d := j.last(job, p)
	if d == nil || d.Outcome != "fail" {
		return verdict{}, false
	}
	return verdict{state: Open, cause: ByFault, severity: job.Fails, due: Amount{Date: d.Done.Date()}, entries: []ID{d.Entry},
		brief: "failed on " + d.Done.Date(), why: "failed on " + d.Done.Date() + ": put it right and check it again"}, true
}
