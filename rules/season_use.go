package rules

import (
	"fmt"

	"shedbook/rules/record"
)

// What a season takes, in the counter's own unit: one reckoning for all forecasts.

// ran is the recorded use from the end of one day to the end of another; "" is the beginning.
func (c *Counter) ran(from, to string) float64 {
	b, ok := c.recorded(record.Done(to))
	if !ok {
		return 0
	}
	a := c.Points[0].Life
	if from != "" {
		a, _ = c.recorded(record.Done(from))
	}
	return number(b, c.Unit) - number(a, c.Unit)
}

// worked is the use in a season up to a day: since the first reading of its opening day, or else the last one before it.
func (c *Counter) worked(opened, last string) float64 {
	after, ok := c.recorded(record.Done(last))
	if !ok {
		return 0
	}
	n := 0
	for n+1 < len(c.Points) && (c.Points[n].Done.Date() < opened && c.Points[n+1].Done.Date() <= opened) {
		n++
	}
	return max(0, number(after, c.Unit)-number(c.Points[n].Life, c.Unit))
}

// pastUse is what the machine does in a season: the mean of the closed ones of these, else its use of the last twelve months; from says which, and entries are those
// seasons'. 0 where neither is known.
func (j *judge) pastUse(c *Counter, seasons []*Season) (use float64, from string, entries []ID) {
	n, total := 0, 0.0
	for _, s := range seasons {
		if s.Closed == "" {
			continue
		}
		if u := c.worked(s.Opened, s.Closed); u > 0 {
			n, total = n+1, total+u
			entries = append(entries, s.Reason.Entries...)
		}
	}
	switch {
	case n == 1:
		return total, "what the last season took", entries
	case n > 1:
		return total / float64(n), fmt.Sprintf("the mean of %d seasons", n), entries
	}
	return c.ran(dateOf(calendarDay(j.s.On).AddDate(-1, 0, 0)), j.s.On), "the use of the last twelve months", c.Reason.Entries
}
