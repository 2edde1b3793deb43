package main

import (
	"fmt"
	"math"

	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// did is the job that is most overdue of a few.
func (h *longHistory) did(m *historyMachine, w moment, work record.Work) record.Record {
	var job *historyJob
	for range 6 {
		if j := m.jobs[h.dice.IntN(len(m.jobs))]; job == nil || (float64(w.day)-j.last)/j.days > (float64(w.day)-job.last)/job.days {
			job = j
		}
	}
	job.last = float64(w.day)
	where := m.fitted.All(job.Of)
	if job.Group != "" {
		where, _ = m.fitted.GroupPositions(job.Group)
	}
	work.Minutes = h.minutes(where.Len())
	if h.dice.IntN(3) > 0 {
		work.Counters = m.reads(w.day, w.share)
	}
	r := &record.Did{Work: work, Job: job.Name, Positions: where}
	if where.Len() > 4 && h.dice.IntN(5) == 0 { // one that took no grease
		r.Skipped = h.place(where)
		r.Positions = where.Without(r.Skipped)
		r.Said = "but " + r.Skipped.String()
	}
	if n := len(job.Results); n > 0 {
		word := job.Results[n-1]
		if h.dice.IntN(6) == 0 {
			word = job.Results[0]
		}
		r.Results = []record.Result{{Positions: r.Positions, Word: word}}
	}
	if p, ok := m.fitted.Part(job.Swaps); ok && p.Fluid && len(job.Uses) > 0 {
		r.Fills = []record.Fill{{Of: job.Uses[0].What, Amount: job.Uses[0].Amount}}
	}
	for _, t := range job.When {
		if t.Until != "" {
			r.Until = historyDay(w.day).AddDate(1, 0, 0).Format("2006-01-02")
		}
	}
	return r
}

// place is one of some places.
func (h *longHistory) place(where record.Positions) record.Positions {
	all := where.All()
	return record.NewPositions(all[h.dice.IntN(len(all))])
}

// adjust sets a setting: all places alike, or some of them anew.
func (h *longHistory) adjust(m *historyMachine, work record.Work) record.Record {
	if len(m.settings) == 0 {
		return nil
	}
	s := m.settings[h.dice.IntN(len(m.settings))]
	where := m.fitted.All(s.Of)
	c := record.Change{Setting: s.Name, Positions: where, To: anySetting(s, 0.2+0.6*h.dice.Float64())}
	if c.To.IsZero() {
		return nil
	}
	if n := where.Len(); n > 3 && h.dice.IntN(3) == 0 {
		from := h.dice.IntN(n / 2)
		c.Positions = record.NewPositions(where.All()[from : from+n/3]...)
		c.Said = c.Positions.String()
	}
	return &record.Adjust{Work: work, Changes: []record.Change{c}}
}

// measure goes over all places; one in 30 cannot be reached, and a whole round takes a part of a place's hands.
func (h *longHistory) measure(m *historyMachine, w moment, work record.Work) record.Record {
	if len(m.readings) == 0 {
		return nil
	}
	x := m.readings[h.dice.IntN(len(m.readings))]
	r := &record.Measure{Work: work, Reading: x.Name, With: "tape"}
	for _, c := range x.Correct {
		r.Condition = append(r.Condition, record.Condition{Name: c.Condition, Value: c.Rated})
	}
	hands := []string{""}
	if p, _, ok := m.fitted.Noun(x.Of); ok && x.Handed {
		hands = p.Hands
	}
	r.Counters = m.reads(w.day, w.share)
	places := m.fitted.All(x.Of).All()
	if len(places) == 0 {
		r.Values = []record.Measured{{Found: h.reads(m, x, "", w)}}
		return r
	}
	for _, p := range places {
		for _, hand := range hands {
			v := record.Measured{Positions: record.NewPositions(p), Hand: hand}
			if h.dice.IntN(30) == 0 {
				v.Cannot = "reach"
			} else {
				v.Found = h.reads(m, x, p.String(), w)
			}
			r.Values = append(r.Values, v)
		}
	}
	r.Minutes = h.minutes(len(places))
	return r
}

// reads is what a reading shows at a place: worn with the days worked since its part was new, else about the middle of what is plausible or allowed.
func (h *longHistory) reads(m *historyMachine, x *schedule.Reading, at string, w moment) record.Value {
	if len(x.Grades) > 0 {
		grade := 0
		if n := h.dice.IntN(100); n < 2 {
			grade = len(x.Grades) - 1
		} else if n < 18 {
			grade = min(1, len(x.Grades)-1)
		}
		return record.Word(x.Grades[grade])
	}
	factor := m.factor[at]
	if factor == 0 {
		factor = 1
	}
	low, high := x.Low.Float64(), x.High.Float64()
	n := low + (high-low)*(0.35+0.1*factor)
	l := x.Limit
	switch {
	case x.HasNew:
		n = x.New.Float64()
		worn := 0.2
		if l != nil && l.HasShare {
			worn = math.Abs(1 - l.Share.Float64()/100)
		}
		n *= 1 - worn*min(factor*(m.days(w.day)-m.renewed[x.Part+" "+at])/120, 1.1) // some four seasons
		if l != nil && !l.Falls {
			n = 2*x.New.Float64() - n
		}
	case l != nil && l.HasMin && l.HasMax:
		n = (l.Min.Float64() + l.Max.Float64()) / 2
	case l != nil && l.HasMax && l.Max.Unit() == x.Unit:
		n = l.Max.Float64() * (0.3 + 0.5*factor)
	case l != nil && l.HasMin && l.Min.Unit() == x.Unit:
		n = l.Min.Float64() * (1.02 + 0.2*factor)
	}
	n += n * 0.02 * (h.dice.Float64() - 0.5)
	if x.HasLow {
		n = max(n, low)
	}
	if x.HasHigh {
		n = min(n, high)
	}
	return record.Amount(hundredths(max(n, 0), x.Unit))
}

// swap puts a new part in at a place, or changes two about.
func (h *longHistory) swap(m *historyMachine, w moment, work record.Work) (record.Record, *record.Private) {
	if len(m.parts) == 0 {
		return nil, nil
	}
	x := m.parts[h.dice.IntN(len(m.parts))]
	where := m.fitted.All(x.Of)
	work.Minutes, work.Counters = h.minutes(20), m.reads(w.day, w.share)
	r := &record.Swap{Work: work, Part: x.Name, Act: record.SwapNew, Why: []string{"worn", "worn", "in-time", "broken"}[h.dice.IntN(4)], Positions: where}
	if where.Len() > 0 && !x.Set {
		r.Positions = h.place(where)
		if other := h.place(where); !x.Handed && x.Per <= 1 && h.dice.IntN(8) == 0 && !other.Equal(r.Positions) {
			r.Act, r.Why, r.With = record.SwapExchange, "", other
			return r, nil
		}
	}
	for _, p := range r.Positions.All() {
		m.renewed[x.Name+" "+p.String()] = m.days(w.day)
	}
	return r, &record.Private{Costs: []record.Cost{{For: x.Name, Amount: fmt.Sprintf("%d.40", 15+h.dice.IntN(300))}}}
}

// fault is something wrong, and repair its end: by the same device, so that it knows of it, a day or more later.
func (h *longHistory) fault(d *historyDevice, m *historyMachine, w moment, work record.Work) (record.Record, *record.Private, func(record.ID)) {
	if len(m.faults) > 3 {
		return h.did(m, w, work), nil, nil
	}
	x := m.parts[h.dice.IntN(len(m.parts))]
	f := &historyFault{done: w.day, device: d}
	if where := m.fitted.All(x.Of); where.Len() > 0 {
		f.positions = h.place(where)
	}
	r := &record.Fault{Work: work, Positions: f.positions, Part: x.Name, Severity: record.Severities[h.dice.IntN(4)]}
	return r, &record.Private{Text: h.words()}, func(id record.ID) {
		f.id = id
		m.faults = append(m.faults, f)
	}
}

func (h *longHistory) repair(d *historyDevice, m *historyMachine, w moment, work record.Work) (record.Record, *record.Private) {
	for i, f := range m.faults {
		if f.device != d || f.done >= w.day {
			continue
		}
		m.faults = append(m.faults[:i:i], m.faults[i+1:]...)
		work.Closes, work.Minutes = []record.ID{f.id}, h.minutes(40)
		return &record.Repair{Work: work, Positions: f.positions, Cause: "worn"}, &record.Private{Text: h.words(), Costs: []record.Cost{{For: "parts", Amount: fmt.Sprintf("%d.00", 10+h.dice.IntN(500))}}}
	}
	return nil, nil
}
