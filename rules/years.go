package rules

import (
	"slices"
	"strconv"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// Stretches without a reading that are worth a line: in the seasons of the machine's work, and for a machine whose seasons nobody told. Our own round figures.
const (
	UnreadSeasonDays = 90
	UnreadDays       = 365
)

// CounterYears is what one counter says of a machine's use, calendar year by calendar year.
type CounterYears struct {
	Counter     string
	Unit        quantity.Unit
	Main        bool         // the one meant when none is named
	Derived     bool         // worked out from another counter, not read
	Trip        bool         // zeroed by the driver
	First, Last CounterPoint // the first and last reading; of a derived counter, points worked out
	Total       quantity.Quantity
	Years       []YearUse     // from the year of the first reading to that of the last, none left out
	Turns       []CounterTurn // set back or replaced, oldest first
	Gaps        []CounterGap  // long stretches without a reading, oldest first
	Readings    int           // entries that read it
	Entries     []ID          // those of First, Last and Turns
}

// YearUse is the use of a calendar year: what the counter moved between its first and last day by the readings, on the straight line between those before and
// after. Before the first reading and after the last one nothing is known, and nothing is counted.
type YearUse struct {
	Year     int
	Use      quantity.Quantity
	Readings int  // taken in the year
	Part     bool // the book has no reading from before the year, or none from after it: the rest of it is not counted
}

// CounterTurn is a counter that was set back or replaced.
type CounterTurn struct {
	Done   record.Done
	Act    string            // "reset", "replaced"
	Before quantity.Quantity // the last face known before it
	Told   bool              // Before was read on that occasion; else it is an earlier reading, and what was worked between is not known
	Start  quantity.Quantity // what it showed after
	Entry  ID
}

// CounterGap is a stretch without a reading.
type CounterGap struct {
	From, To string            // days of the readings before and after; To is the day of the state after the last one
	Days     int               // of them in the seasons of its work, or outside storage where no season is known
	Season   string            // a season in which it was never read, from its first day to its last; "" of a long stretch
	Use      quantity.Quantity // what the counter moved over the stretch
}

// UsePerYear is the use of a machine year by year, a counter at a time: those ever read, in the order of the schedule, others after them by name.
func UsePerYear(st *State, m *Machine) []CounterYears {
	var out []CounterYears
	for _, name := range counterNames(m) {
		c := m.Counters[name]
		if !c.Known || len(c.Points) == 0 {
			continue
		}
		y := CounterYears{Counter: name, Unit: c.Unit, Derived: c.Derived, Trip: c.Trip, First: c.Points[0], Last: c.Points[len(c.Points)-1]}
		if m.Fitted != nil {
			main := m.Fitted.MainCounter()
			y.Main = main != nil && main.Name == name
		}
		y.Total = minus(y.Last.Life, y.First.Life)
		y.turns(c)
		y.years(c)
		y.gaps(st, m, c)
		out = append(out, y)
	}
	return out
}

func counterNames(m *Machine) []string {
	var out []string
	if m.Fitted != nil {
		for _, def := range m.Fitted.Counters {
			if m.Counters[def.Name] != nil {
				out = append(out, def.Name)
			}
		}
	}
	for _, name := range names(m.Counters, m.Counters) {
		if !slices.Contains(out, name) {
			out = append(out, name)
		}
	}
	return out
}

// turns finds where the face started anew.
func (y *CounterYears) turns(c *Counter) {
	ids := []ID{y.First.Entry}
	for i, p := range c.Points {
		if i == 0 || p.Entry != c.Points[i-1].Entry {
			y.Readings++
		}
		if p.Act != "reset" && p.Act != "replaced" {
			continue
		}
		turn := CounterTurn{Done: p.Done, Act: p.Act, Start: p.Face, Entry: p.Entry}
		if i > 0 {
			before := c.Points[i-1]
			turn.Before, turn.Told = before.Face, before.Act == "last" && before.Entry == p.Entry
		}
		y.Turns, ids = append(y.Turns, turn), append(ids, p.Entry)
	}
	for _, id := range append(ids, y.Last.Entry) {
		if !slices.Contains(y.Entries, id) {
			y.Entries = append(y.Entries, id)
		}
	}
}

func (y *CounterYears) years(c *Counter) {
	first, last := y.First.Done.Day().Year(), y.Last.Done.Day().Year()
	readings := map[int]int{}
	for i, p := range c.Points {
		if i == 0 || p.Entry != c.Points[i-1].Entry {
			readings[p.Done.Day().Year()]++
		}
	}
	for year := first; year <= last; year++ {
		from, to := strconv.Itoa(year-1)+"-12-31", strconv.Itoa(year)+"-12-31"
		a, _ := c.recorded(record.Done(from))
		b, _ := c.recorded(record.Done(to))
		y.Years = append(y.Years, YearUse{Year: year, Use: minus(b, a), Readings: readings[year],
			Part: y.First.Done.Date() > from || y.Last.Done.Date() < to})
	}
}

// gaps finds long stretches without a reading. Those of a derived counter are the ones of the counter it rests on.
func (y *CounterYears) gaps(st *State, m *Machine, c *Counter) {
	if c.Derived {
		return
	}
	end := st.On
	if m.Sold != "" {
		end = min(end, m.Sold.Date())
	}
	seasons := (&counting{st: st}).seasons(m)
	days := make([]string, 0, len(c.Points)+1)
	for _, p := range c.Points {
		days = append(days, p.Done.Date())
	}
	days = append(days, end)
	least := UnreadSeasonDays
	if len(seasons) == 0 {
		least = UnreadDays
	}
	for i := 1; i < len(days); i++ {
		n := int(awake(minute(record.Done(days[i-1])), minute(record.Done(days[i])), c.idle) / minutesADay)
		if n > least {
			y.Gaps = append(y.Gaps, CounterGap{From: days[i-1], To: days[i], Days: n, Use: c.moved(days[i-1], days[i])})
		}
	}
	for _, s := range seasons {
		to := s.Closed
		if to == "" || to < days[0] || s.Opened > end {
			continue // under way, or before the book reads the counter
		}
		i, _ := slices.BinarySearch(days[:len(days)-1], s.Opened)
		if i < len(days)-1 && days[i] <= to {
			continue
		}
		from := s.Opened
		if i > 0 {
			from = days[i-1]
		}
		until := days[min(i, len(days)-1)]
		covered := slices.ContainsFunc(y.Gaps, func(g CounterGap) bool { return g.From == from && g.To == until })
		if !covered {
			n := daysBetween(calendarDay(s.Opened), calendarDay(to)) + 1
			y.Gaps = append(y.Gaps, CounterGap{From: from, To: until, Days: n, Season: s.Name, Use: c.moved(from, until)})
		}
	}
	slices.SortStableFunc(y.Gaps, func(a, b CounterGap) int { return compareDays(a.From, b.From) })
}

func compareDays(a, b string) int { return record.Done(a).Compare(record.Done(b)) }

// moved is the recorded use from the end of one day to the end of another.
func (c *Counter) moved(from, to string) quantity.Quantity {
	a, _ := c.recorded(record.Done(from))
	b, _ := c.recorded(record.Done(to))
	return minus(b, a)
}
