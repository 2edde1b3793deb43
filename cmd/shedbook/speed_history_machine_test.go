package main

import (
	"slices"
	"time"

	"shedbook/ledger"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// historySeasons are the stretches of work of every year, with their first and last days.
var historySeasons = []struct{ name, work, from, to string }{
	{"spring seeding", "seeding", "04-05", "05-10"},
	{"planting", "planting", "04-25", "05-30"},
	{"spraying", "spraying", "05-10", "07-15"},
	{"mowing", "mowing", "06-01", "06-30"},
	{"baling", "baling", "06-05", "07-20"},
	{"harvest", "harvest", "07-25", "10-20"},
	{"hauling", "hauling", "08-01", "10-25"},
	{"autumn seeding", "seeding", "09-10", "10-15"},
}

// historyMachine is a machine with what the teller knows of it; of a shelf only its key.
type historyMachine struct {
	name       string
	id         record.ID
	key        ledger.MachineKey
	home, yard int // numbers of the device that mostly writes for it, and of its yard
	fitted     *schedule.Fitted
	counters   []*historyCounter
	worked     []float64 // share of a full day's work, by day
	jobs       []*historyJob
	readings   []*schedule.Reading
	settings   []*schedule.Setting
	parts      []*schedule.Part
	factor     map[string]float64 // how fast a place wears against the others
	renewed    map[string]float64 // part at a place -> days worked when it was new
	faults     []*historyFault
	stored     bool
	lent       bool
}

type historyFault struct {
	id        record.ID
	done      int // day
	device    *historyDevice
	positions record.Positions
}

// historyJob is a job with how often it comes, roughly, in days, and when it was last done.
type historyJob struct {
	*schedule.Job
	days, last float64
}

// historyCounter counts a machine's work from a start; on the days of zeroed it goes back to nothing in the evening.
type historyCounter struct {
	*schedule.Counter
	start, perDay float64
	total         []float64 // days worked up to the evening of a day
	zeroed        []int
}

// perDay is what a full day's work adds to a counter of a unit.
var perDay = map[string]float64{"h": 7, "ac": 90, "bales": 180, "ton": 150, "bu": 9000}

func (h *longHistory) newMachine(name string, f *schedule.Fitted) *historyMachine {
	n := len(h.machines)
	m := &historyMachine{name: name, home: n % historyWriters, yard: n % len(h.yards), fitted: f, factor: map[string]float64{}, renewed: map[string]float64{}}
	h.machines = append(h.machines, m)
	total := make([]float64, historyDays+1) // one ahead: the first is the state before the first day
	for day := range historyDays {
		share := 0.0
		if inSeason(f.Schedule, historyDay(day)) && historyDay(day).Weekday() != time.Sunday && h.dice.IntN(10) < 7 {
			share = 0.4 + 0.6*h.dice.Float64()
		}
		m.worked = append(m.worked, share)
		total[day+1] = total[day] + share
	}
	for i := range f.Counters {
		c := &f.Counters[i]
		if c.Derive != nil || perDay[c.Unit.String()] == 0 {
			continue
		}
		k := &historyCounter{Counter: c, perDay: perDay[c.Unit.String()], total: total}
		switch {
		case c.Trip && n%10 != 0:
			continue // most do not write them down
		case c.Trip:
			for day := range historyDays {
				if d := historyDay(day); d.Month() == time.March && d.Day() == 1 {
					k.zeroed = append(k.zeroed, day)
				}
			}
		default:
			k.start = float64(h.dice.IntN(3000))
		}
		if name == "tractor-3" && c.Main { // this one's went dark after five years, and a new one was fitted
			k.zeroed = []int{5*365 + 60}
		}
		m.counters = append(m.counters, k)
	}
	for i := range f.Jobs {
		j := &f.Jobs[i]
		if p, _ := f.Part(j.Swaps); j.Turns != "" || j.Swaps != "" && (p == nil || !p.Fluid) {
			continue // done by the swap itself
		}
		m.jobs = append(m.jobs, &historyJob{Job: j, days: daysApart(j), last: -float64(h.dice.IntN(60))})
	}
	for i := range f.Readings {
		if f.Readings[i].Computed == nil {
			m.readings = append(m.readings, &f.Readings[i])
		}
	}
	for i := range f.Settings {
		if x := &f.Settings[i]; !anySetting(x, 0.5).IsZero() {
			m.settings = append(m.settings, x)
		}
	}
	for i := range f.Parts {
		if !f.Parts[i].Fluid {
			m.parts = append(m.parts, &f.Parts[i])
		}
	}
	for _, p := range f.Places {
		for _, at := range f.All(p.Noun).All() {
			m.factor[at.String()] = 0.7 + 0.6*h.dice.Float64()
		}
	}
	return m
}

// inSeason reports whether machines of a kind work on a day.
func inSeason(s *schedule.Schedule, d time.Time) bool {
	for _, x := range historySeasons {
		if md := d.Format("01-02"); x.from <= md && md <= x.to && slices.Contains(s.Work, x.work) {
			return true
		}
	}
	return false
}

// daysApart is roughly how many days lie between two doings of a job.
func daysApart(j *schedule.Job) float64 {
	days := 365.0
	for _, t := range j.When {
		for _, i := range t.Every {
			n := i.Amount.Float64()
			switch {
			case i.Counter != "":
				days = min(days, n/max(perDay[i.Amount.Unit().String()], 1)*3) // it works every third day or so
			case i.Amount.Unit().String() == "mo":
				days = min(days, n*30)
			case i.Amount.Unit().String() == "d":
				days = min(days, n)
			}
		}
		if t.Worked > 0 {
			days = min(days, float64(t.Worked)*3)
		}
		if t.After != "" || t.Past != "" {
			days = min(days, 200)
		}
	}
	return max(days, 1)
}

// face is what a counter shows at a moment of a day, given as the share of the day's work that is behind it.
func (c *historyCounter) face(day int, share float64) (quantity.Quantity, bool) {
	worked := c.total[day] + share*(c.total[day+1]-c.total[day])
	n := c.start + worked*c.perDay
	for _, z := range c.zeroed {
		if z < day {
			n = (worked - c.total[z+1]) * c.perDay
		}
	}
	return quantity.Whole(int64(n), c.Unit), !c.Trip || day > c.zeroed[0]
}

// reads gives the counters as they stand at a moment.
func (m *historyMachine) reads(day int, share float64) []record.CounterAt {
	var out []record.CounterAt
	for _, c := range m.counters {
		if q, ok := c.face(day, share); ok {
			out = append(out, record.CounterAt{Counter: c.Name, At: q})
		}
	}
	return out
}

// days is how many full days the machine has worked by the evening of a day.
func (m *historyMachine) days(day int) float64 {
	if len(m.counters) == 0 {
		return float64(day) / 3
	}
	return m.counters[0].total[day+1]
}

func doneOn(day int) record.Done { return record.Done(historyDay(day).Format("2006-01-02")) }

// anySetting is a value that the setting can have, at a share of its range; zero where the schedule knows no range.
func anySetting(s *schedule.Setting, share float64) record.Value {
	var v record.Value
	low, high := s.Min.Float64(), s.Max.Float64()
	switch {
	case s.Type == "choice":
		v = record.Word(s.Choices[int(share*float64(len(s.Choices)-1)+0.5)])
	case high <= low:
		return v
	case s.Step.Sign() > 0 && s.Step.Unit() == s.Unit && s.Min.Unit() == s.Unit:
		steps := int((high - low) / s.Step.Float64() * share)
		q, err := s.Min.Add(s.Step.Mul(quantity.Whole(int64(steps), quantity.Unit{}).Rat(), 6))
		if err != nil {
			return v
		}
		v = record.Amount(q)
	default:
		v = record.Amount(quantity.Whole(int64(low+(high-low)*share+0.5), s.Unit))
	}
	if s.Check(v) != nil {
		return record.Value{}
	}
	return v
}
