package rules

import (
	"cmp"
	"slices"

	"shedbook/rules/record"
)

// minutes is a time in minutes, from on and before to.
type minutes struct{ from, to int64 }

// forever is after everything.
const forever = 1 << 60

// idleTimes are when a machine did next to nothing: in storage or between the seasons of its work, and, by themselves, those in storage. Both are sorted and
// apart from one another. Where no season of its work is known only storage counts.
func (u *unit) idleTimes(seasons []*Season) (idle, stored []minutes) {
	for _, s := range u.m.Storage {
		to := int64(forever)
		if s.To != "" {
			to = minute(s.To)
		}
		stored = append(stored, minutes{minute(s.From), to})
	}
	stored = apart(stored)
	open := apart(u.openTimes(seasons))
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

// openTimes are the seasons of a machine's work, on whichever farm, as they were opened and closed: each from the start of its first day to the end of its last.
func (u *unit) openTimes(seasons []*Season) []minutes {
	var out []minutes
	for _, n := range seasons {
		if u.f == nil || n.Opened == "" || !slices.Contains(u.f.Work, n.Work) {
			continue
		}
		to := int64(forever)
		if n.Closed != "" {
			to = minute(record.Done(n.Closed))
		}
		out = append(out, minutes{minute(record.Done(n.Opened)) - minutesADay, to})
	}
	return out
}

// apart sorts spans and joins those that touch; empty ones are dropped.
func apart(all []minutes) []minutes {
	all = slices.DeleteFunc(slices.Clone(all), func(s minutes) bool { return s.to <= s.from })
	slices.SortFunc(all, func(a, b minutes) int { return cmp.Or(cmp.Compare(a.from, b.from), cmp.Compare(a.to, b.to)) })
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
