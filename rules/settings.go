package rules

import (
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// adjust sets settings, place by place.
func (r *replay) adjust(u *unit, e *Effective, a *record.Adjust) {
	for _, c := range a.Changes {
		noun, def := "", (*schedule.Setting)(nil)
		if u.f != nil {
			if s, ok := u.f.Setting(c.Setting); ok {
				def, noun = s, s.Of
			} else {
				r.once(u, "unknown-name", e.Entry.ID, "%s has no setting %q in its schedule", u.m.Name, c.Setting)
				noun = nounOf(c.Positions)
			}
		}
		set := places(r.places(u, e, noun, c.Positions))
		for _, p := range set {
			r.set(u, e, c, def, p)
		}
		r.event(u, e, "adjust:"+c.Setting, set.positions())
		r.tallySetting(u, e, c.Setting, set)
	}
}

// set takes one setting of one place to a value. What a relative change was resolved to when it was written stands, also where replay would resolve
// it otherwise: the person saw that value.
func (r *replay) set(u *unit, e *Effective, c record.Change, def *schedule.Setting, p record.Position) {
	where := u.m.Settings[c.Setting]
	if where == nil {
		where = map[string]*Standing{}
		u.m.Settings[c.Setting] = where
	}
	id := e.Entry.ID
	next := &Standing{Value: c.To, Since: e.Done, Reason: Reason{Entries: []ID{id}}, entry: id}
	place := u.name(p)
	prev := where[place]
	next.prev = prev
	known := prev != nil && !prev.Unknown
	if known {
		next.Before = prev.Value
	}
	if c.By != "" {
		next.Reason.Rule = "changed by " + c.By
		found, ok := record.Value{}, false
		if known && def != nil {
			v, err := def.Move(prev.Value, c.By)
			found, ok = v, err == nil
			if err != nil && c.To.IsZero() {
				r.problem("relative-mismatch", u.m.ID, []ID{id}, "%s: %s %s from %s: %v", u.m.Name, c.Setting, c.By, prev.Value, err)
			}
		}
		switch {
		case !c.To.IsZero():
			if ok && found != c.To {
				r.problem("relative-mismatch", u.m.ID, unique(append(prev.Reason.Entries[:len(prev.Reason.Entries):len(prev.Reason.Entries)], id)),
					"%s: %s %s at %s was written down as giving %s; from %s it gives %s; %s stands", u.m.Name, c.Setting, c.By, placeWords(p), c.To, prev.Value, found, c.To)
			}
		case ok:
			next.Value = found
			next.Reason.Entries = unique(append(prev.Reason.Entries[:len(prev.Reason.Entries):len(prev.Reason.Entries)], id))
			next.Assumed = prev.Assumed
		default:
			next.Unknown = true
		}
	}
	where[place] = next
}

// places is a list of places in walking order.
type places []record.Position

func (l places) positions() record.Positions { return record.NewPositions(l...) }

// nounOf is the noun of the first place, for things the schedule does not know.
func nounOf(p record.Positions) string {
	if rs := p.Ranges(); len(rs) > 0 {
		return rs[0].Noun
	}
	return ""
}

func placeWords(p record.Position) string {
	if p == (record.Position{}) {
		return "the machine"
	}
	return p.String()
}
