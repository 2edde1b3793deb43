package rules

import (
	"time"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// hitching is a machine joined to another (or unhitched, with no carrier) from an entry on.
type hitching struct {
	from    *Effective
	carrier ID
}

// derive works out the counters that were never read from others, where the schedule says how.
func (r *replay) derive(u *unit) {
	if u.f == nil || !r.isWhole(u) {
		return
	}
	for _, c := range u.f.Counters {
		if c.Derive != nil {
			r.deriveOne(u, c)
		}
	}
}

// deriveOne draws one derived counter. Counters may rest on one another, also on another machine's; one that comes to rest on itself stays unknown.
func (r *replay) deriveOne(u *unit, def schedule.Counter) {
	c := u.m.Counters[def.Name]
	if c == nil || c.Known || u.deriven[def.Name] {
		return
	}
	u.deriven[def.Name] = true
	if def.Derive.From != "" {
		r.fromOwn(u, c, def.Derive)
	}
	if def.Derive.Carrier != "" && len(c.Points) == 0 {
		r.fromCarrier(u, c, def.Derive.Carrier)
	}
	if n := len(c.Points); n > 0 {
		last := c.Points[n-1]
		c.Derived, c.Known = true, true
		c.Reading, c.Life, c.ReadOn = last.Life, last.Life, last.Done.Date()
	}
}

// curveOf is the curve of another machine's counter: of another portion, or drawn here; nil where there is none.
func (r *replay) curveOf(machine ID, name string) *Counter {
	if counters := r.others(machine); counters != nil {
		r.s.Carriers = append(r.s.Carriers, machine)
		return counters()[name]
	}
	if u := r.units[machine]; u != nil {
		return r.needs(u, name)
	}
	return nil
}

// needs makes sure that a counter which another rests on is drawn.
func (r *replay) needs(u *unit, name string) *Counter {
	if u.f != nil {
		for _, def := range u.f.Counters {
			if def.Name == name && def.Derive != nil {
				r.deriveOne(u, def)
			}
		}
	}
	return u.m.Counters[name]
}

// fromOwn turns area into hours: area / field capacity (width x speed x field efficiency).
func (r *replay) fromOwn(u *unit, c *Counter, d *schedule.Derive) {
	source := r.needs(u, d.From)
	if source == nil || len(source.Points) == 0 {
		return
	}
	capacity, err := quantity.FieldCapacity(d.Width, d.Speed, d.Efficiency)
	if err != nil {
		r.once(u, "derive", u.m.ID, "%s: counter %s cannot be worked out: %v", u.m.Name, c.Name, err)
		return
	}
	for _, p := range source.Points {
		worked, err := quantity.WorkTime(p.Life, capacity)
		if err == nil {
			worked, err = worked.In(c.Unit, 2)
		}
		if err != nil {
			r.once(u, "derive", p.Entry, "%s: counter %s cannot be worked out: %v", u.m.Name, c.Name, err)
			return
		}
		c.Points = append(c.Points, CounterPoint{Done: p.Done, Face: worked, Life: worked, Act: "derived", Entry: p.Entry})
		u.keepOwn(p.Entry, c.Name, worked)
	}
	c.source, c.WorkedOut = source, d.From
	c.Reason = Reason{Entries: source.Reason.Entries, Rule: "worked out: " + d.From + " at " + capacity.String() + " (" + d.Width.String() + " x " + d.Speed.String() + " x " + d.Efficiency.String() + ")"}
}

// fromCarrier counts what the carrier's counter moved while this machine was hitched to it.
func (r *replay) fromCarrier(u *unit, c *Counter, name string) {
	total := quantity.Whole(0, c.Unit)
	var entries []ID
	put := func(done record.Done, entry ID) {
		c.Points = append(c.Points, CounterPoint{Done: done, Face: total, Life: total, Act: "derived", Entry: entry})
	}
	for i, h := range u.hitched {
		source := r.curveOf(h.carrier, name)
		if source == nil || len(source.Points) == 0 {
			continue
		}
		from, to := h.from.Done, record.Done("")
		if i+1 < len(u.hitched) {
			to = u.hitched[i+1].from.Done
		}
		c.source, c.WorkedOut = source, OfCarrier
		entries = append(entries, h.from.Entry.ID)
		start, _ := source.recorded(from)
		base := total
		grow := func(life quantity.Quantity) bool {
			grown, ok := inUnit(minus(life, start), c.Unit)
			if ok {
				total = plus(base, grown)
			}
			return ok
		}
		put(from, h.from.Entry.ID)
		for _, p := range source.Points {
			if p.Done.Compare(from) > 0 && (to == "" || p.Done.Compare(to) < 0) && grow(p.Life) {
				put(p.Done, p.Entry)
			}
		}
		if to != "" {
			if end, _ := source.recorded(to); grow(end) {
				put(to, u.hitched[i+1].from.Entry.ID)
			}
		}
	}
	if n := len(u.hitched); n > 0 && len(c.Points) > 0 {
		c.Unhitched = u.hitched[n-1].carrier == ""
	}
	c.Reason = Reason{Entries: unique(entries), Rule: "that of the machine it is hitched to"}
}

func dayText(day int64) string { return time.Unix(day*24*60*60, 0).UTC().Format("2006-01-02") }
