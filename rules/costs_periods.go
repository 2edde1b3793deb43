package rules

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// periods cuts the days asked about into the seasons that the machine works in and the times before, between and after them, or into calendar years. Each day
// is in one period: of seasons that overlap the later takes up where the earlier ends, and one that lies wholly in another shares its line.
func (c *counting) periods(m *Machine) []CostPeriod {
	seasons := c.seasons(m)
	if c.q.ByYear || len(seasons) == 0 {
		return c.years(m)
	}
	var out []CostPeriod
	next := "" // the first day not yet in a period
	for _, s := range seasons {
		end := c.st.On
		if s.Closed != "" {
			end = max(s.Closed, s.Opened)
		}
		if s.Opened > next {
			out = append(out, CostPeriod{Name: "before " + s.Name, From: next, To: dayBefore(s.Opened), Between: true})
			next = s.Opened
		}
		if end < next {
			last := &out[len(out)-1]
			last.Name += " and " + s.Name
			continue
		}
		out = append(out, CostPeriod{Name: s.Name, From: next, To: end})
		next = dayAfter(end)
	}
	if next <= c.st.On {
		out = append(out, CostPeriod{Name: "after " + out[len(out)-1].Name, From: next, To: c.st.On, Between: true})
	}
	return c.clipped(out)
}

// clipped holds periods to the days asked about.
func (c *counting) clipped(all []CostPeriod) []CostPeriod {
	var out []CostPeriod
	for _, p := range all {
		p.From, p.To = max(p.From, c.q.From), min(p.To, c.q.To)
		if p.From <= p.To {
			out = append(out, p)
		}
	}
	return out
}

// seasons are those begun in which the machine works, by their first day.
func (c *counting) seasons(m *Machine) []*Season {
	var out []*Season
	for _, s := range c.st.Seasons {
		if s.Opened != "" && m.Fitted != nil && slices.Contains(m.Fitted.Work, s.Work) && (len(s.Farms) == 0 || slices.Contains(s.Farms, m.Farm)) {
			out = append(out, s)
		}
	}
	slices.SortStableFunc(out, func(a, b *Season) int {
		return cmp.Or(strings.Compare(a.Opened, b.Opened), strings.Compare(a.Name, b.Name))
	})
	return out
}

// years are the calendar years from the first entry of the machine on.
func (c *counting) years(m *Machine) []CostPeriod {
	first := c.q.To
	for _, e := range c.work[m.ID] {
		first = min(first, e.Done.Date())
	}
	from, err := strconv.Atoi(first[:4])
	if err != nil {
		return nil
	}
	to, _ := strconv.Atoi(c.q.To[:4])
	var out []CostPeriod
	for y := from; y <= to; y++ {
		out = append(out, CostPeriod{Name: strconv.Itoa(y), From: fmt.Sprintf("%04d-01-01", y), To: fmt.Sprintf("%04d-12-31", y)})
	}
	return c.clipped(out)
}
