package rules

import (
	"slices"

	"shedbook/rules/record"
)

// minutes is a time in minutes, from on and before to.
type minutes struct{ from, to int64 }

// forever is after everything.
const forever = 1 << 60

// idleTimes are when a machine did next to nothing: in storage or between the seasons of its work, and, by themselves, those in storage. Both are sorted and
// apart from one another. Where no season of its work is known only storage counts.
func (r *replay) idleTimes(u *unit) (idle, stored []minutes) {
	for _, s := range u.m.Storage {
		to := int64(forever)
		if s.To != "" {
			to = minute(s.To)
		}
		stored = append(stored, minutes{minute(s.From), to})
	}
	stored = apart(stored)
	open := apart(r.openTimes(u))
	if len(open) == 0 {
		return stored, stored
	}
	idle = slices.Clone(stored)
	last := int64(-forever)
	for _, o := range open {
		idle = append(idle, minutes{last, o.from})
		last = o.to
	}
	return apart(append(idle, minutes{last, forever})), stored
}

// openTimes are the seasons of a machine's work as they were opened and closed, each from the start of its first day to the end of its last.
func (r *replay) openTimes(u *unit) []minutes {
	if u.f == nil || len(u.f.Work) == 0 {
		return nil
	}
	type season struct{ work, opened, closed string }
	known := map[string]*season{}
	var names []string
	for _, e := range r.effects {
		s, ok := e.Record.(*record.Season)
		if !ok {
			continue
		}
		n := known[s.Name]
		if n == nil {
			n = &season{}
			known[s.Name] = n
			names = append(names, s.Name)
		}
		if s.Work != "" {
			n.work = s.Work
		}
		switch s.Act {
		case "open":
			n.opened, n.closed = e.Done.Date(), ""
		case "close":
			n.closed = e.Done.Date()
		}
	}
	var out []minutes
	for _, name := range names {
		n := known[name]
		if n.opened == "" || !slices.Contains(u.f.Work, n.work) {
			continue
		}
		to := int64(forever)
		if n.closed != "" {
			to = minute(record.Done(n.closed))
		}
		out = append(out, minutes{minute(record.Done(n.opened)) - minutesADay, to})
	}
	return out
}

// apart sorts spans and joins those that touch; empty ones are dropped.
func apart(all []minutes) []minutes {
	all = slices.DeleteFunc(slices.Clone(all), func(s minutes) bool { return s.to <= s.from })
	slices.SortFunc(all, func(a, b minutes) int {
		if a.from != b.from {
			return int(min(1, max(-1, a.from-b.from)))
		}
		return int(min(1, max(-1, a.to-b.to)))
	})
	var out []minutes
	for _, s := range all {
		if n := len(out); n > 0 && s.from <= out[n-1].to {
			out[n-1].to = max(out[n-1].to, s.to)
			continue
		}
		out = append(out, s)
	}
	return out
}

// awake is how many minutes from one to another lie outside the spans.
func awake(from, to int64, idle []minutes) int64 {
	n := to - from
	for _, s := range idle {
		if a, b := max(from, s.from), min(to, s.to); b > a {
			n -= b - a
		}
	}
	return n
}
