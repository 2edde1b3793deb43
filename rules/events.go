package rules

import "shedbook/rules/record"

// event lists something a job may follow on. Positions of the zero value are the machine as a whole.
func (r *replay) event(u *unit, e *Effective, kind string, p record.Positions) {
	now := u.at(e)
	u.m.Events = append(u.m.Events, Event{Kind: kind, Positions: p, Done: e.Done, Counters: now.estimated, Estimated: now.beyond, Entry: e.Entry.ID})
}

// context keeps what a person said of field, crop and ground. A day on which any is named is a day of work.
func (r *replay) context(u *unit, e *Effective, w *record.Work) {
	c := &u.m.Context
	if w.Crop == "" && w.Field == "" && w.Ground == "" {
		return
	}
	c.Done = e.Done
	for _, s := range []struct {
		into *string
		said string
	}{{&c.Crop, w.Crop}, {&c.Field, w.Field}, {&c.Ground, w.Ground}} {
		if s.said != "" {
			*s.into = s.said
		}
	}
	u.worked[e.Done.Date()] = true
}
