package rules

import (
	"fmt"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// LifeSeason is the use a machine is expected to have in the season looked to.
type LifeSeason struct {
	Machine *Machine
	Season  *Season // nil: one like those past
	Use     float64 // still to come, in the counter's unit; 0 where it is not known
	From    string  // where Use comes from, in words
	Entries []ID
}

// lifeSeason is what a machine will do: as asked; else what is left of the season's plan for its kind; else as much as its past seasons took on the mean.
func (s *State) lifeSeason(m *Machine, ask LifeAsk) LifeSeason {
	out := LifeSeason{Machine: m, Season: ask.Season}
	if m.Fitted == nil {
		return out
	}
	j := &judge{s: s, m: m}
	target, _ := j.season("")
	if out.Season == nil {
		out.Season = target
	}
	if !ask.Use.IsZero() {
		out.Use, _ = lifeAmount(ask.Use, ask.Unit)
		out.From = "as asked"
		return out
	}
	if n := out.Season; n != nil {
		for _, u := range n.Use {
			if planned, ok := lifeAmount(u.Amount, ask.Unit); ok && u.Kind == m.Kind && u.Counter == ask.Counter {
				out.Use, out.From, out.Entries = planned, "planned", n.Reason.Entries
			}
		}
	}
	if out.From == "" {
		out.past(j, ask)
	}
	if n := out.Season; n != nil && n.Opened != "" && n.Closed == "" && out.From != "" {
		if done := m.moved(ask.Counter, n.Opened, s.On, ask.Unit); done > 0 {
			out.Use = max(0, out.Use-done)
			out.From += ", less what it did so far"
		}
	}
	return out
}

// past takes the mean of the seasons that are over and in which the machine worked.
func (l *LifeSeason) past(j *judge, ask LifeAsk) {
	n, total := 0, 0.0
	for _, x := range j.seasons("") {
		if x.Opened == "" || x.Closed == "" || x == l.Season {
			continue
		}
		if did := l.Machine.moved(ask.Counter, x.Opened, x.Closed, ask.Unit); did > 0 {
			n, total = n+1, total+did
			l.Entries = unique(append(l.Entries, x.Reason.Entries...))
		}
	}
	switch n {
	case 0:
	case 1:
		l.Use, l.From = total, "as in the one season past"
	default:
		l.Use, l.From = total/float64(n), fmt.Sprintf("the mean of %d seasons past", n)
	}
}

// moved is what a counter moved from the first day to the last, both counted; 0 where it is not known.
func (m *Machine) moved(counter, first, last string, unit quantity.Unit) float64 {
	c := m.Counters[counter]
	if c == nil || len(c.Points) == 0 {
		return 0
	}
	end, _ := c.recorded(record.Done(last))
	start, _ := c.recorded(record.Done(dateOf(calendarDay(first).AddDate(0, 0, -1))))
	did, ok := lifeAmount(minus(end, start), unit)
	if !ok {
		return 0
	}
	return max(0, did)
}
