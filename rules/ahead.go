package rules

import (
	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// Reach is how far somebody looks ahead on one machine: to a day, and on each counter to the use it is expected to have by then.
type Reach struct {
	Day   string // YYYY-MM-DD
	Uses  map[string]quantity.Quantity
	From  map[string]string // where each use comes from, in words
	Notes []string          // counters for which nobody can tell
}

// DueAhead is a line of the due list with the points at which it comes due within a reach, if it is done at each of them.
type DueAhead struct {
	Item
	// Each is what lies between two points; zero where it comes once. Grid: the points lie on a fixed grid of the counter, whenever it is done.
	Each quantity.Quantity
	Grid bool
	// Points are in order. The first is where it is or was due; what is overdue is taken as done now, and counted on from there.
	Points []Amount
}

// mostAhead is how many points of a job are listed: a chart with more would not be read, and a list without an end helps nobody.
const mostAhead = 40

// ReachOf is the reach to the last day of a season: on each counter the season's plan, else the mean of past seasons of its work, added to what the counter
// showed when it opened, or shows now.
func ReachOf(s *State, m *Machine, season *Season, day string) Reach {
	r := Reach{Day: day, Uses: map[string]quantity.Quantity{}, From: map[string]string{}}
	if m.Fitted == nil {
		return r
	}
	j := newJudge(s, m, Filter{}, newHistory(s))
	var past []*Season
	for _, n := range j.seasons("") {
		if season == nil || n.Work == season.Work {
			past = append(past, n)
		}
	}
	for i := range m.Fitted.Counters {
		c := m.Counters[m.Fitted.Counters[i].Name]
		if c == nil || !c.Known {
			r.Notes = append(r.Notes, m.Fitted.Counters[i].Name+": never read")
			continue
		}
		whole, from, _ := j.pastUse(c, past)
		if season != nil {
			for _, u := range season.Use {
				if u.Kind == m.Kind && u.Counter == c.Name {
					whole, from = number(u.Amount, c.Unit), "the season's plan"
				}
			}
		}
		if whole <= 0 {
			r.Notes = append(r.Notes, c.Name+": nobody can tell what the season takes")
			continue
		}
		if season != nil && season.Opened != "" && season.Closed == "" {
			whole = max(0, whole-c.worked(season.Opened, s.On))
		}
		r.Uses[c.Name], r.From[c.Name] = plus(c.Estimate, quantity.Whole(int64(whole+.5), c.Unit)), from
	}
	return r
}

// Ahead lists what comes due on a machine within a reach: every line that Due has or will have, with the points of its interval. Jobs that hang on a reading,
// a season or another job stand once, where Due has them; who does a bigger job has done those it includes.
func Ahead(s *State, m *Machine, r Reach) []DueAhead {
	j := newJudge(s, m, Filter{Machine: m.ID, All: true}, newHistory(s))
	var out []DueAhead
	for _, it := range Due(s, Filter{Machine: m.ID, All: true}) {
		if it.State == Unknown {
			continue
		}
		d := DueAhead{Item: it}
		d.Each, d.Grid = j.eachOf(&it)
		end, inReach := r.Uses[it.Due.Counter]
		switch {
		case it.State == Open: // it has a day on which it was found, none on which it comes due
		case it.Due.Date != "" && it.Cause != BySeason:
			d.dates(s.On, r.Day)
		case it.Due.Counter != "" && inReach:
			d.uses(m.Counters[it.Due.Counter], end)
		case it.State != Later:
			d.Points = []Amount{it.Due}
		}
		if len(d.Points) > 0 || it.State != Later {
			out = append(out, d)
		}
	}
	return out
}

// eachOf is the interval by which a line repeats, stretched by what holds today; zero for what does not repeat.
func (j *judge) eachOf(it *Item) (each quantity.Quantity, grid bool) {
	job, ok := j.m.Fitted.Job(it.Job)
	if !ok || it.Cause != ByInterval {
		return each, false
	}
	p := record.Position{}
	if all := it.Positions.All(); len(all) > 0 {
		p = all[0]
	}
	for i := range job.When {
		t := &job.When[i]
		by, _ := j.factor(t, p)
		for _, iv := range t.Every {
			amount := scaled(iv.Amount, by)
			switch {
			case it.Due.Counter != "" && iv.Counter == it.Due.Counter:
				amount = onCounter(j.m.Counters[iv.Counter], amount)
			case it.Due.Date != "" && iv.Calendar():
			default:
				continue
			}
			if n, err := amount.Cmp(each); each.IsZero() || err == nil && n < 0 {
				each, grid = amount, t.Grid
			}
		}
	}
	return each, grid
}

func (d *DueAhead) uses(c *Counter, end quantity.Quantity) {
	next := d.Due
	for len(d.Points) < mostAhead {
		if n, err := next.Value.Cmp(end); err != nil || n > 0 {
			return
		}
		d.Points = append(d.Points, next)
		if d.Each.Sign() <= 0 {
			return
		}
		from := next.Value
		if n, err := from.Cmp(c.Estimate); err == nil && n < 0 {
			from = c.Estimate
		}
		if d.Grid {
			for from = next.Value; ; from = plus(from, d.Each) {
				if n, err := plus(from, d.Each).Cmp(c.Estimate); err != nil || n > 0 {
					break
				}
			}
		}
		next = Amount{Counter: d.Due.Counter, Value: plus(from, d.Each)}
	}
}

func (d *DueAhead) dates(on, end string) {
	next := d.Due.Date
	for len(d.Points) < mostAhead && next <= end {
		d.Points = append(d.Points, Amount{Date: next})
		if d.Each.Sign() <= 0 {
			return
		}
		next = dateOf(laterBy(calendarDay(max(next, on)), d.Each))
	}
}

// SeasonAhead is the season a machine is in or will be in next, nil where none is planned; day is its last day, by its plan or by the last one of its work.
func SeasonAhead(s *State, m *Machine) (season *Season, day string) {
	if m.Fitted == nil {
		return nil, ""
	}
	j := newJudge(s, m, Filter{}, newHistory(s))
	all := j.seasons("")
	for _, n := range all {
		if n.Closed == "" && (n.Opened != "" || n.PlanFrom > s.On) {
			if season == nil || n.start() < season.start() {
				season = n
			}
		}
	}
	if season == nil {
		return nil, ""
	}
	if day = season.PlanTo; day == "" {
		var last *Season
		for _, n := range all {
			if n.Work == season.Work && n.Closed != "" && (last == nil || n.Closed > last.Closed) {
				last = n
			}
		}
		if last != nil {
			span := daysBetween(calendarDay(last.Opened), calendarDay(last.Closed))
			day = dateOf(calendarDay(season.start()).AddDate(0, 0, int(span)))
		}
	}
	return season, max(day, s.On)
}
