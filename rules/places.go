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
	all := u.f.All(noun)
	if p.IsZero() {
		return u.walk(all)
	}
	if extra := p.Without(all); !extra.IsZero() {
		r.problem("unknown-position", u.m.ID, []ID{e.Entry.ID}, "%s: %s entry %s names %s, which this machine has not", u.m.Name, e.Entry.Kind, e.Entry.ID.Short(), extra)
		p = p.Without(extra)
	}
	return u.walk(p)
}

// loose are the places of any noun that p names, the machine as a whole where it names none.
func (u *unit) loose(p record.Positions) []record.Position {
	if p.IsZero() {
		return []record.Position{{}}
	}
	return p.All()
}

func (u *unit) walk(p record.Positions) []record.Position {
	key := p.String()
	if w, ok := u.walks[key]; ok {
		return w
	}
	w := u.f.Walk(p)
	u.walks[key] = w
	return w
}

// jobPlaces are all places where a job is done.
func (u *unit) jobPlaces(j *schedule.Job) record.Positions {
	if j.Group != "" {
		if p, ok := u.f.GroupPositions(j.Group); ok {
			return p
		}
	}
	return u.f.All(j.Of)
}

// hands are the names of the like things in one place of noun, left hand first; one without a name where handed is false.
func (u *unit) hands(noun string, handed bool) []string {
	if !handed {
		return []string{""}
	}
	if p, _, ok := u.f.Noun(noun); ok && len(p.Hands) > 0 {
		return p.Hands
	}
	return []string{"left", "right"}
}
