package rules

import (
	"strings"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// assume lays a starting line: what is taken to be so, unproved. Taken as good means every job as done at each of its places on that day and every
// part as fit, its use unknown but for what an item says. All of it is marked Assumed.
func (r *replay) assume(u *unit, e *Effective, a *record.Assume) {
	u.m.Assumed = e.Entry.ID
	if a.Good && u.f != nil {
		for i := range u.f.Jobs {
			job := &u.f.Jobs[i]
			for _, p := range r.places(u, e, job.Of, u.jobPlaces(job)) {
				r.assumeDone(u, e, job.Name, p)
			}
		}
		for _, slots := range u.slots {
			for _, s := range slots {
				if p := s.holds; p != nil && !s.disputed {
					p.Assumed = true
					p.Reason.Entries = unique(append(p.Reason.Entries, e.Entry.ID))
				}
			}
		}
	}
	for _, it := range a.Items {
		r.assumeItem(u, e, it)
	}
}

func (r *replay) assumeDone(u *unit, e *Effective, job string, p record.Position) {
	n := r.doing(u, e)
	n.Assumed = true
	u.log(job, p, n)
}

// PutIn reports a part that an entry put onto the machine: it did not sit there when the record began.
func (p *Part) PutIn(machine ID) bool {
	return !strings.HasPrefix(p.ID, "original/"+string(machine)+"/")
}

// assumeItem takes one thing as given: a setting or reading at a value, a part worn by a share or used so far, a job done. Of a part whose places are left
// out it speaks of those that were there when the record began: what was put in since has a record of its own.
func (r *replay) assumeItem(u *unit, e *Effective, it record.Assumed) {
	if u.f == nil {
		return
	}
	if def, ok := u.f.Setting(it.Name); ok {
		for _, p := range r.places(u, e, def.Of, it.Positions) {
			r.set(u, e, record.Change{Setting: it.Name, To: it.Value}, def, p)
			u.m.Settings[it.Name][u.name(p)].Assumed = true
		}
		return
	}
	if def, ok := u.f.Reading(it.Name); ok {
		for _, p := range r.places(u, e, def.Of, it.Positions) {
			for _, hand := range u.readingHands(def, it.Hand) {
				n := r.reading(u, e, def, p, hand)
				n.Found, n.Assumed = it.Value, true
				u.keep(it.Name, u.slotName(p, hand), n)
			}
		}
		return
	}
	if def, ok := u.f.Part(it.Name); ok {
		for _, s := range r.slotsOf(u, e, it.Name, it.Positions, it.Hand) {
			p := s.holds
			if p == nil || s.disputed || it.Positions.IsZero() && def.Of != "" && p.PutIn(u.m.ID) {
				continue
			}
			p.Assumed, p.Worn = true, it.Worn
			p.Reason.Entries = unique(append(p.Reason.Entries, e.Entry.ID))
			if it.Used != (quantity.Quantity{}) {
				r.assumeUse(u, p, e, it.Used)
			}
		}
		return
	}
	if job, ok := u.f.Job(it.Name); ok {
		at := it.Positions
		if at.IsZero() {
			at = u.jobPlaces(job)
		}
		for _, p := range r.places(u, e, job.Of, at) {
			r.assumeDone(u, e, it.Name, p)
		}
		return
	}
	r.once(u, "unknown-name", e.Entry.ID, "%s has no %q in its schedule", u.m.Name, it.Name)
}
