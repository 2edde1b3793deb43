package rules

import (
	"slices"
	"sort"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// counterAct is one act on one counter, in order of effect.
type counterAct struct {
	record.CounterAct
	e *Effective
}

// point is the use so far at one entry's own reading.
type point struct{ life quantity.Quantity }

// drawCurves gathers every reading of every counter up to the day and joins them: a later entry may rest on use that only a still later reading
// settles.
func (r *replay) drawCurves() {
	for _, e := range r.effects {
		w := record.Base(e.Record)
		if w == nil {
			continue
		}
		u := r.units[w.Machine]
		if _, adds := e.Record.(*record.Machine); adds {
			u = r.units[e.Entry.ID]
		}
		if u == nil {
			continue
		}
		for _, c := range w.Counters {
			u.act(e, record.CounterAct{Counter: c.Counter, Act: "at", Value: c.At})
		}
		switch rec := e.Record.(type) {
		case *record.Counter:
			for _, a := range rec.Acts {
				u.act(e, a)
			}
		case *record.Store:
			u.stretch(e.Done, rec.Act == "in")
		case *record.Hitch:
			u.hitched = append(u.hitched, hitching{from: e, carrier: rec.Carrier})
		}
	}
	seasons := r.toldSeasons()
	for _, u := range r.order {
		u.idle, u.stored = u.idleTimes(seasons)
		for _, c := range u.m.Counters {
			c.idle, c.stored = u.idle, u.stored
		}
		names := make([]string, 0, len(u.acts))
		for name := range u.acts {
			names = append(names, name)
		}
		sort.Strings(names)
		for _, name := range names {
			r.draw(u, name)
		}
	}
	for _, u := range r.order {
		r.derive(u)
	}
	for _, u := range r.order {
		for _, c := range u.m.Counters {
			r.estimate(u, c)
		}
	}
}

func (u *unit) act(e *Effective, a record.CounterAct) {
	u.acts[a.Counter] = append(u.acts[a.Counter], counterAct{a, e})
}

// stretch begins or ends a time in storage.
func (u *unit) stretch(done record.Done, in bool) {
	n := len(u.m.Storage)
	open := n > 0 && u.m.Storage[n-1].To == ""
	switch {
	case in && !open:
		u.m.Storage = append(u.m.Storage, Stretch{From: done})
	case !in && open:
		u.m.Storage[n-1].To = done
	}
}

// draw joins one counter's acts into its curve.
//
//   - at: the face shows the value; use grows by what the face grew.
//   - add: so much use more.
//   - reset, replaced: the use up to the last reading before, if it is told, then the face starts anew at the value (0 when absent); use goes on.
//
// A value below what the face shows, without a reset or replacement in between, is a Problem and no point of the curve. Readings of one and the
// same moment (a day without a time, mostly) have no order among themselves that a person chose: they are taken from the least up.
func (r *replay) draw(u *unit, name string) {
	acts := u.acts[name]
	sortSameMoment(acts)
	c := u.m.Counters[name]
	if c == nil {
		unit := acts[0].Value.Unit()
		c = &Counter{Name: name, Unit: unit, Reading: quantity.Whole(0, unit), Life: quantity.Whole(0, unit), Estimate: quantity.Whole(0, unit)}
		c.idle, c.stored = u.idle, u.stored
		u.m.Counters[name] = c
		if u.f != nil {
			r.once(u, "unknown-name", acts[0].e.Entry.ID, "%s has no counter %q in its schedule", u.m.Name, name)
		}
	}
	for _, a := range acts {
		if a.Span != "" {
			c.Trip = a.Span == "trip"
		}
		r.take(u, c, a)
	}
}

func sortSameMoment(acts []counterAct) {
	for i := 0; i < len(acts); {
		j := i + 1
		for j < len(acts) && acts[i].Act == "at" && acts[j].Act == "at" && acts[i].e.Done.Compare(acts[j].e.Done) == 0 {
			j++
		}
		slices.SortStableFunc(acts[i:j], func(a, b counterAct) int {
			n, _ := a.Value.Cmp(b.Value)
			return n
		})
		i = j
	}
}

// take adds one act to the curve.
func (r *replay) take(u *unit, c *Counter, a counterAct) {
	id := a.e.Entry.ID
	value, ok := inUnit(a.Value, c.Unit)
	last, okLast := inUnit(a.Last, c.Unit)
	if !ok || !okLast {
		r.problem("counter-unit", u.m.ID, []ID{id}, "%s: counter %s counts in %q, and %s does not convert into that: left out", u.m.Name, c.Name, c.Unit, a.Value)
		return
	}
	switch a.Act {
	case "at":
		if r.forward(u, c, a, value) {
			r.point(u, c, a, value, "at")
			c.Reason = Reason{Entries: []ID{id}, Rule: "as read"}
		}
	case "add":
		sum, err := c.Reading.Add(value)
		if err != nil {
			r.problem("counter-unit", u.m.ID, []ID{id}, "%s: counter %s: %v", u.m.Name, c.Name, err)
			return
		}
		r.point(u, c, a, sum, "add")
		c.Reason.Entries, c.Reason.Rule = append(c.Reason.Entries, id), "as read, with what was added since"
	case "reset", "replaced":
		if a.Last != (quantity.Quantity{}) && r.forward(u, c, a, last) {
			r.point(u, c, a, last, "last")
		}
		c.Reading, c.ReadOn = value, a.e.Done.Date()
		if len(c.Points) == 0 {
			c.Life = value
		}
		c.Known = true
		r.add(u, c, a, a.Act)
		c.Reason = Reason{Entries: []ID{id}, Rule: "starts anew after " + map[string]string{"reset": "being set back", "replaced": "the counter was replaced"}[a.Act]}
	}
}

// forward reports that a reading is not below the one before; else it says so.
func (r *replay) forward(u *unit, c *Counter, a counterAct, value quantity.Quantity) bool {
	if len(c.Points) == 0 {
		return true
	}
	if n, _ := value.Cmp(c.Reading); n >= 0 {
		return true
	}
	prev := c.Points[len(c.Points)-1]
	r.problem("counter-backwards", u.m.ID, []ID{prev.Entry, a.e.Entry.ID}, "%s: counter %s showed %s on %s and is said to show %s on %s: the later one is left out; correct whichever is wrong, or record that the counter was reset or replaced",
		u.m.Name, c.Name, c.Reading, prev.Done.Date(), value, a.e.Done.Date())
	return false
}

// point takes the face to a value that is not below the present one; use grows with it, and begins with the first face ever seen.
func (r *replay) point(u *unit, c *Counter, a counterAct, face quantity.Quantity, act string) {
	if len(c.Points) == 0 {
		c.Life = face
	} else {
		grown := minus(face, c.Reading)
		c.Life = plus(c.Life, grown)
		if grown.Sign() > 0 && act != "last" {
			u.worked[a.e.Done.Date()] = true
		}
	}
	c.Reading, c.ReadOn, c.Known = face, a.e.Done.Date(), true
	r.add(u, c, a, act)
}

func (r *replay) add(u *unit, c *Counter, a counterAct, act string) {
	c.Points = append(c.Points, CounterPoint{Done: a.e.Done, Face: c.Reading, Life: c.Life, Act: act, Entry: a.e.Entry.ID})
	u.keepOwn(a.e.Entry.ID, c.Name, c.Life)
}

// keepOwn notes what a counter stood at by an entry's own reading, or by what is worked out from it.
func (u *unit) keepOwn(entry ID, counter string, life quantity.Quantity) {
	if u.own[entry] == nil {
		u.own[entry] = map[string]point{}
	}
	u.own[entry][counter] = point{life: life}
}

// inUnit is q in a counter's unit, to three decimals where it does not convert exactly. An absent amount is nothing of it.
func inUnit(q quantity.Quantity, u quantity.Unit) (quantity.Quantity, bool) {
	if q == (quantity.Quantity{}) {
		return quantity.Whole(0, u), true
	}
	if v, err := q.Exact(u); err == nil {
		return v, true
	}
	v, err := q.In(u, 3)
	return v, err == nil
}

// plus and minus are sums of one unit; what leaves the range of a Quantity stays at its edge.
func plus(a, b quantity.Quantity) quantity.Quantity {
	if s, err := a.Add(b); err == nil {
		return s
	}
	return a
}

func minus(a, b quantity.Quantity) quantity.Quantity {
	if s, err := a.Sub(b); err == nil {
		return s
	}
	return quantity.Whole(0, a.Unit())
}
