package rules

import (
	"slices"

	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// Some entries count as doing a job without naming it: putting in the part a job swaps (in every hand there), turning the one it turns, else reading all that a job measures,
// else setting all that a job sets. Where that takes several entries they must be of one day. A job that swaps a part is not done by reading or
// setting, nor one that measures by setting.

// tally is what of a job was done at one place on one day.
type tally struct {
	day string
	got []string
}

type tallyKey struct {
	job string
	at  record.Position
}

// tick notes one of the things a job needs at a place, and reports whether they are all there now.
func (u *unit) tick(job string, p record.Position, day, item string, need int) bool {
	key := tallyKey{job, p}
	if need <= 1 { // nothing to wait for, mostly
		delete(u.tallies, key)
		return true
	}
	t := u.tallies[key]
	if t == nil || t.day != day {
		t = &tally{day: day}
		u.tallies[key] = t
	}
	if !slices.Contains(t.got, item) {
		t.got = append(t.got, item)
	}
	if len(t.got) < need {
		return false
	}
	delete(u.tallies, key)
	return true
}

// through notes a job as done at some places by an entry of another kind, with all that follows from it.
func (r *replay) through(u *unit, e *Effective, job *schedule.Job, at places, via string) {
	if len(at) == 0 {
		return
	}
	base := r.doing(u, e)
	base.Via = via
	for _, p := range at {
		u.log(job.Name, p, base)
	}
	r.followDone(u, e, job.Name, job, at, via, map[string]bool{job.Name: true})
}

// tallySwap notes the jobs that putting in parts does, or turning them, as part says which part a job is about: all the parts of the assembly where a job swaps
// one. A new part in one hand of two is not yet the
// whole job there, but the place was opened: what the job loosens and asks for next follows all the same.
func (r *replay) tallySwap(u *unit, e *Effective, slots []*slot, part func(*schedule.Job) string) {
	if u.f == nil {
		return
	}
	for i := range u.f.Jobs {
		job := &u.f.Jobs[i]
		if part(job) == "" {
			continue
		}
		defs, noun, _ := u.partsOf(part(job))
		need := 0
		for _, d := range defs {
			need += len(u.hands(d.Of, d.Handed))
		}
		var done, opened places
		for _, s := range slots {
			if !slices.Contains(defs, s.def) {
				continue
			}
			for _, p := range s.served {
				if u.tick(job.Name, p, e.Done.Date(), s.part+" "+s.hand, need) {
					done = append(done, p)
				} else if len(defs) == 1 {
					opened = append(opened, p)
				}
			}
		}
		if opened = slices.DeleteFunc(opened, func(p record.Position) bool { return slices.Contains(done, p) }); len(opened) > 0 {
			r.follow(u, e, job, opened.positions())
		}
		r.through(u, e, job, u.covers(noun, done.positions(), job).only(len(done) > 0), "swap")
	}
}

// opened notes the jobs that swap parts which changed places: none of them is new, so none of the jobs is done, but what they loosen and ask for follows.
func (r *replay) opened(u *unit, e *Effective, slots []*slot) {
	if u.f == nil {
		return
	}
	for i := range u.f.Jobs {
		job := &u.f.Jobs[i]
		if job.Swaps == "" {
			continue
		}
		defs, _, _ := u.partsOf(job.Swaps)
		if len(defs) != 1 {
			continue
		}
		var at places
		for _, s := range slots {
			if s.def == defs[0] {
				at = append(at, s.served...)
			}
		}
		if len(at) > 0 {
			r.follow(u, e, job, at.positions())
		}
	}
}

// only is the list, or none.
func (l places) only(yes bool) places {
	if yes {
		return l
	}
	return nil
}

// tallyReading notes the jobs that reading a value does.
func (r *replay) tallyReading(u *unit, e *Effective, def *schedule.Reading, read []handAt) {
	for i := range u.f.Jobs {
		job := &u.f.Jobs[i]
		if job.Swaps != "" || job.Turns != "" || !slices.Contains(job.Measures, def.Name) {
			continue
		}
		need := 0
		for _, name := range job.Measures {
			if m, ok := u.f.Reading(name); ok && m.Computed == nil && m.Of == def.Of {
				need += len(u.hands(m.Of, m.Handed))
			}
		}
		var done places
		for _, h := range read {
			if u.tick(job.Name, h.at, e.Done.Date(), def.Name+" "+h.hand, need) {
				done = append(done, h.at)
			}
		}
		r.through(u, e, job, u.covers(def.Of, done.positions(), job).only(len(done) > 0), "measure")
	}
}

// tallySetting notes the jobs that setting a value does.
func (r *replay) tallySetting(u *unit, e *Effective, setting string, at places) {
	if u.f == nil {
		return
	}
	def, ok := u.f.Setting(setting)
	if !ok {
		return
	}
	for i := range u.f.Jobs {
		job := &u.f.Jobs[i]
		if job.Swaps != "" || job.Turns != "" || len(job.Measures) > 0 || !slices.Contains(job.Sets, setting) {
			continue
		}
		need := 0
		for _, name := range job.Sets {
			if s, ok := u.f.Setting(name); ok && s.Of == def.Of {
				need++
			}
		}
		var done places
		for _, p := range at {
			if u.tick(job.Name, p, e.Done.Date(), setting, need) {
				done = append(done, p)
			}
		}
		r.through(u, e, job, u.covers(def.Of, done.positions(), job).only(len(done) > 0), "adjust")
	}
}
