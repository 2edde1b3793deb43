package rules

import (
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// did notes a job done at some places, with what was found there, and every smaller job that it includes.
func (r *replay) did(u *unit, e *Effective, d *record.Did) {
	job, noun := (*schedule.Job)(nil), nounOf(d.Positions.Union(d.Skipped))
	positions := d.Positions
	if u.f != nil {
		if j, ok := u.f.Job(d.Job); ok {
			job, noun = j, j.Of
			if positions.IsZero() && noun != "" {
				positions = u.jobPlaces(j)
			}
		} else {
			r.once(u, "unknown-name", e.Entry.ID, "%s has no job %q in its schedule", u.m.Name, d.Job)
		}
	}
	skipped := places(nil)
	if !d.Skipped.IsZero() {
		skipped = r.places(u, e, noun, d.Skipped)
		positions = positions.Without(d.Skipped)
	}
	done := places(nil)
	if !positions.IsZero() || noun == "" {
		done = r.places(u, e, noun, positions)
	}
	base := r.doing(u, e)
	base.Torque, base.Outcome, base.Until = d.Torque, d.Outcome, d.Until
	for _, p := range done {
		if len(d.Results) == 0 {
			u.log(d.Job, p, base)
			continue
		}
		n := clonedDoing(base)
		for _, res := range d.Results {
			if res.Positions.IsZero() || res.Positions.Has(p) {
				if res.Word != "" {
					n.Result = res.Word
				}
				if res.Value != (record.Quantity{}) {
					n.Value = res.Value
				}
			}
		}
		u.log(d.Job, p, n)
	}
	for _, p := range skipped {
		n := clonedDoing(base)
		n.Skipped, n.Torque, n.Outcome, n.Until = true, record.Quantity{}, "", ""
		u.log(d.Job, p, n)
	}
	if len(done) > 0 {
		r.followDone(u, e, d.Job, job, done, d.Job, map[string]bool{d.Job: true})
	}
	r.filled(u, e, d)
}

// doing is what all places of one entry have in common.
func (r *replay) doing(u *unit, e *Effective) *Doing {
	now := u.at(e)
	return &Doing{Done: e.Done, Counters: now.estimated, Estimated: now.beyond, Person: by(e), Entry: e.Entry.ID}
}

func clonedDoing(d *Doing) *Doing {
	n := *d
	return &n
}

// log notes a doing at a place. Places where it was alike may share one: a Doing is not changed once logged.
func (u *unit) log(job string, p record.Position, n *Doing) {
	l := u.m.Jobs[job]
	if l == nil {
		l = &JobLog{Job: job, Done: map[string][]*Doing{}}
		u.m.Jobs[job] = l
	}
	l.Done[u.name(p)] = append(l.Done[u.name(p)], n)
}

// followDone lists a job as done, refilling the fluid it replaces and loosening what it loosens, and notes the jobs it includes, at the places of theirs that it covers. Top is the
// job that a person reported; seen keeps schedules that include in a circle from going round.
func (r *replay) followDone(u *unit, e *Effective, name string, job *schedule.Job, done places, top string, seen map[string]bool) {
	at := done.positions()
	if job == nil {
		r.event(u, e, "did:"+name, at)
		return
	}
	r.follow(u, e, job, at)
	r.refill(u, e, job, done)
	for _, name := range job.Includes {
		smaller, ok := u.f.Job(name)
		if !ok || seen[name] {
			continue
		}
		seen[name] = true
		covered := u.covers(job.Of, at, smaller)
		n := r.doing(u, e)
		n.Via = top
		for _, p := range covered {
			u.log(name, p, n)
		}
		if len(covered) > 0 {
			r.followDone(u, e, name, smaller, covered, top, seen)
		}
	}
}

// follow lists what other jobs may follow on: the job itself, and what it loosens.
func (r *replay) follow(u *unit, e *Effective, job *schedule.Job, at record.Positions) {
	r.event(u, e, "did:"+job.Name, at)
	for _, l := range job.Loosens {
		r.event(u, e, "loosened:"+l, at)
	}
}

// covers are the places of job that work on noun at done takes care of: the same places where both are about one noun; all of them when the work was
// on the machine as a whole or on every place of its noun; else none.
func (u *unit) covers(noun string, done record.Positions, job *schedule.Job) places {
	want := u.jobPlaces(job)
	switch {
	case noun == job.Of && noun != "":
		return u.walk(want.Common(done))
	case noun != "" && !u.f.All(noun).Without(done).IsZero():
		return nil
	case job.Of == "":
		return places{{}}
	}
	return u.walk(want)
}
