package rules

import (
	"shedbook/rules/record"
)

// warrant keeps the warranty of work that is no swap: a swap's goes with its parts.
func (u *unit) warrant(e *Effective, w *record.Work) {
	if w.Warranty == "" {
		return
	}
	n := Warranty{Until: w.Warranty, Done: e.Done, Entry: e.Entry.ID}
	switch r := e.Record.(type) {
	case *record.Did:
		n.Job, n.Positions = r.Job, r.Positions
	case *record.Repair:
		n.Part, n.Positions = r.Part, r.Positions
	default:
		return
	}
	u.m.Warranted = append(u.m.Warranted, n)
}

// UnderWarranty is what is still warranted on a day of a part ("": any) at some places (none: the machine as a whole): the parts that sit there, then the work
// done there. Parts of places that were not named are left out, so that a fault of the machine does not name every part of it.
func (m *Machine) UnderWarranty(day, part string, at record.Positions) []Warranty {
	var out []Warranty
	for _, name := range names(m.Slots, m.Slots) {
		if part != "" && name != part && !m.inAssembly(part, name) || part == "" && at.IsZero() {
			continue
		}
		for _, slot := range names(m.Slots[name], m.Slots[name]) {
			s := m.Slots[name][slot]
			p, hand := SplitSlot(slot)
			if s.Part == nil || s.Disputed || s.Part.Warranty < day || !at.IsZero() && p != (record.Position{}) && !at.Has(p) || part == "" && p == (record.Position{}) {
				continue
			}
			w := Warranty{Until: s.Part.Warranty, Part: handed(name, hand), Done: s.Since}
			if p != (record.Position{}) {
				w.Positions = record.NewPositions(p)
			}
			if n := len(s.Part.Reason.Entries); n > 0 {
				w.Entry = s.Part.Reason.Entries[0]
			}
			out = append(out, w)
		}
	}
	for _, w := range m.Warranted {
		elsewhere := !at.IsZero() && !w.Positions.IsZero() && at.Without(w.Positions).Len() == at.Len()
		if w.Until >= day && !elsewhere && (part == "" || w.Part == "" || part == w.Part) && !(at.IsZero() && part == "" && !w.Positions.IsZero()) {
			out = append(out, w)
		}
	}
	return out
}

func (m *Machine) inAssembly(assembly, part string) bool {
	if m.Fitted == nil {
		return false
	}
	a, ok := m.Fitted.Assembly(assembly)
	if !ok {
		return false
	}
	for _, p := range a.Parts {
		if p == part {
			return true
		}
	}
	return false
}
