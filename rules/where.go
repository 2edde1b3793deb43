package rules

import "shedbook/rules/record"

// move takes a machine to another yard.
func (r *replay) move(u *unit, e *Effective, m *record.Move) { r.settle(u, m.Yard, e) }

// lend notes a machine lent out or hired in, and back.
func (r *replay) lend(u *unit, e *Effective, l *record.Lend) {
	u.because("lent", e)
	switch l.Act {
	case "lent", "hired-in":
		u.m.Lent = l.Act
	default:
		u.m.Lent = ""
	}
}

// store puts a machine into storage or takes it out. What was slackened or drained stays listed until it is taken out, and after that what is said
// to be so still.
func (r *replay) store(u *unit, e *Effective, s *record.Store) {
	u.m.Stored, u.m.Slack = s.Act == "in", s.Slack
	u.because("stored", e)
	r.event(u, e, "store-"+s.Act, record.Positions{})
}

// hitch joins a machine to its carrier.
func (r *replay) hitch(u *unit, e *Effective, h *record.Hitch) {
	if h.Carrier != "" && (!r.holds(h.Carrier) || h.Carrier == u.m.ID) {
		r.problem("unknown-machine", u.m.ID, []ID{e.Entry.ID}, "%s is said to be hitched to a machine that is not in the book", u.m.Name)
		return
	}
	u.m.Carrier = h.Carrier
	u.because("hitched", e)
}

// holds reports a machine of the book, of this portion or another.
func (r *replay) holds(machine ID) bool { return r.units[machine] != nil || r.others(machine) != nil }

// because keeps the entry that something about the machine as a whole rests on.
func (u *unit) because(what string, e *Effective) {
	u.m.Reasons[what] = Reason{Entries: []ID{e.Entry.ID}}
}
