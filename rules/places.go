package rules

import (
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// places are the places of noun that p names, in walking order: all of them where p names none; the machine as a whole, the zero Position, where the
// thing spoken of has no noun. Places the machine has not are a Problem and left out.
func (r *replay) places(u *unit, e *Effective, noun string, p record.Positions) []record.Position {
	if u.f == nil {
		if p.IsZero() {
			return []record.Position{{}}
		}
		return p.All()
	}
	if noun == "" {
		if !p.IsZero() {
			r.once(u, "unknown-position", e.Entry.ID, "%s: %s entry %s names %s for something that is one for the whole machine", u.m.Name, e.Entry.Kind, e.Entry.ID.Short(), p)
		}
		return []record.Position{{}}
	}
	w, ok := u.walks[walkKey{noun, p.String()}]
	if !ok {
		all := u.f.All(noun)
		if p.IsZero() {
			w.places = u.f.Walk(all)
		} else {
			w.extra = p.Without(all)
			w.places = u.f.Walk(p.Without(w.extra))
		}
		u.walks[walkKey{noun, p.String()}] = w
	}
	if !w.extra.IsZero() {
		r.problem("unknown-position", u.m.ID, []ID{e.Entry.ID}, "%s: %s entry %s names %s, which this machine has not", u.m.Name, e.Entry.Kind, e.Entry.ID.Short(), w.extra)
	}
	return w.places
}

// walkKey names some places as an entry has them; what they are on this machine is worked out once.
type walkKey struct{ noun, positions string }

type walked struct {
	places []record.Position
	extra  record.Positions
}

// slotName is SlotName, worked out once.
func (u *unit) slotName(p record.Position, hand string) string {
	key := slotKey{p, hand}
	name, ok := u.slotNames[key]
	if !ok {
		name = SlotName(p, hand)
		u.slotNames[key] = name
	}
	return name
}

func (u *unit) name(p record.Position) string { return u.slotName(p, "") }

type slotKey struct {
	p    record.Position
	hand string
}

// loose are the places of any noun that p names, the machine as a whole where it names none.
func (u *unit) loose(p record.Positions) []record.Position {
	if p.IsZero() {
		return []record.Position{{}}
	}
	return p.All()
}

// walk is the places of a set that lie on the machine, in walking order.
func (u *unit) walk(p record.Positions) []record.Position { return u.f.Walk(p) }

// jobPlaces are all places where a job is done.
func (u *unit) jobPlaces(j *schedule.Job) record.Positions {
	if j.Group != "" {
		if p, ok := u.f.GroupPositions(j.Group); ok {
			return p
		}
	}
	return u.f.All(j.Of)
}

// noHand is the one thing in a place that has no like; only read.
var noHand = []string{""}

// hands are the names of the like things in one place of noun, left hand first; one without a name where handed is false.
func (u *unit) hands(noun string, handed bool) []string {
	if !handed {
		return noHand
	}
	if p, _, ok := u.f.Noun(noun); ok && len(p.Hands) > 0 {
		return p.Hands
	}
	return []string{"left", "right"}
}
