package rules

import "shedbook/rules/record"

// A place can be out of use for several reasons at once: tied up by a fault, or without one of its parts. Its parts' use stops with the first and
// goes on when the last is gone. The machine as a whole (tied up without naming places) stops every part.

// stop takes a place out of use for a reason, and halts the parts there.
func (r *replay) stop(u *unit, e *Effective, p record.Position, reason, why string) {
	place := u.name(p)
	if u.out[place] == nil {
		u.out[place] = map[string]OutOfUse{}
	}
	if _, already := u.out[place][reason]; already {
		return
	}
	u.out[place][reason] = OutOfUse{Since: e.Done, Why: why, Entry: e.Entry.ID}
	r.recheck(u, e, place)
}

// start takes a reason back.
func (r *replay) start(u *unit, e *Effective, p record.Position, reason string) {
	place := u.name(p)
	if _, there := u.out[place][reason]; !there {
		return
	}
	delete(u.out[place], reason)
	if len(u.out[place]) == 0 {
		delete(u.out, place)
		r.recheck(u, e, place)
	}
}

// recheck halts or starts the parts a place's state matters to.
func (r *replay) recheck(u *unit, e *Effective, place string) {
	check := func(s *slot) {
		p := s.holds
		switch {
		case p == nil || s.disputed || p.Disputed:
		case s.runs() && p.since == nil:
			p.since = u.at(e).recorded
		case !s.runs() && p.since != nil:
			r.halt(p, e)
		}
	}
	if place != "" {
		for _, s := range u.byPlace[place] {
			check(s)
		}
		return
	}
	for _, slots := range u.slots {
		for _, s := range slots {
			check(s)
		}
	}
}

// runs reports whether a part in the slot would gather use: any of the places it serves is in use, and so is the machine.
func (s *slot) runs() bool {
	if s.disputed || len(s.u.out[""]) > 0 {
		return false
	}
	for _, p := range s.served {
		if len(s.u.out[s.u.name(p)]) == 0 {
			return true
		}
	}
	return false
}

// empty takes the places of an emptied slot out of use. A part of the whole machine that is off (a battery in winter) is no such reason: there the
// machine's counter says whether it worked.
func (r *replay) empty(s *slot, e *Effective) {
	for _, p := range s.served {
		if p != (record.Position{}) {
			r.stop(s.u, e, p, "empty "+s.part+" "+s.name, "empty")
		}
	}
}

// fill takes that back.
func (r *replay) fill(s *slot, e *Effective) {
	for _, p := range s.served {
		if p != (record.Position{}) {
			r.start(s.u, e, p, "empty "+s.part+" "+s.name)
		}
	}
}

// finishOut writes out what is out of use, with the reason that began first.
func (r *replay) finishOut(u *unit) {
	for place, reasons := range u.out {
		var first *OutOfUse
		for _, o := range reasons {
			if first == nil || o.Since.Compare(first.Since) < 0 || o.Since.Compare(first.Since) == 0 && o.Entry < first.Entry {
				first = &o
			}
		}
		u.m.Out[place] = first
	}
}
