package rules

import (
	"slices"

	"shedbook/rules/record"
)

// closing is a fault named by work that puts it right.
type closing struct {
	fault     ID
	u         *unit
	e         *Effective
	temporary bool
}

// fault opens one. Where work done by then has put it right already (its day was written wrong, mostly), it is closed as it opens.
func (r *replay) fault(u *unit, e *Effective, f *record.Fault) {
	n := &Fault{
		ID: e.Entry.ID, Done: e.Done, Positions: f.Positions, Part: f.Part, Severity: f.Severity, Text: text(e), TiedUp: f.TiedUp, Unfit: f.Unfit,
		Needs: f.Needs, Lost: f.Lost, Person: by(e),
	}
	r.faults[n.ID] = n
	u.m.Faults = append(u.m.Faults, n)
	r.event(u, e, "fault", f.Positions)
	if n.TiedUp {
		for _, p := range u.loose(f.Positions) {
			r.stop(u, e, p, "fault "+string(n.ID), "tied up")
		}
	}
	for _, c := range r.closes {
		if c.fault == n.ID && c.u == u {
			r.shut(u, e, n, c.e.Entry.ID, c.temporary)
		}
	}
}

// close notes the faults an entry puts right.
func (r *replay) close(u *unit, e *Effective, w *record.Work) {
	repair, ok := e.Record.(*record.Repair)
	temporary := ok && repair.Temporary
	for _, id := range w.Closes {
		r.closes = append(r.closes, closing{fault: id, u: u, e: e, temporary: temporary})
		if f := r.faults[id]; f != nil && slices.Contains(u.m.Faults, f) {
			r.shut(u, e, f, e.Entry.ID, temporary)
		}
	}
}

func (r *replay) shut(u *unit, e *Effective, f *Fault, by ID, temporary bool) {
	switch {
	case temporary:
		f.Temporary = append(f.Temporary, by)
		return
	case f.Closed != "":
		return // the first closing stands
	}
	f.Closed, f.ClosedBy = e.Done, by
	if f.TiedUp {
		for _, p := range u.loose(f.Positions) {
			r.start(u, e, p, "fault "+string(f.ID))
		}
	}
}

// unclosed says which closings named no fault of their machine by the day, and sets what open faults mean for their machines.
func (r *replay) unclosed() {
	for _, c := range r.closes {
		if f := r.faults[c.fault]; f == nil || !slices.Contains(c.u.m.Faults, f) {
			r.problem("unknown-fault", c.u.m.ID, []ID{c.e.Entry.ID}, "%s entry %s puts right fault %s, which is no fault of %s by then", c.e.Entry.Kind, c.e.Entry.ID.Short(), c.fault.Short(), c.u.m.Name)
		}
	}
	for _, u := range r.order {
		for _, f := range u.m.Faults {
			if f.Unfit && f.Closed == "" {
				u.m.Unfit = true
			}
		}
	}
}
