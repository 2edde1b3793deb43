package rules_test

import (
	"fmt"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// record draws one of a kind about a machine. What does not hold by itself is not written.
func (b *book) record(kind string, machine record.ID) record.Record {
	d := b.d
	switch kind {
	case "counter":
		return b.counter(machine)
	case "did":
		return b.did(machine)
	case "adjust":
		return b.adjust(machine)
	case "measure":
		return b.measure(machine)
	case "swap":
		return b.swap(machine)
	case "fault":
		return &record.Fault{Work: b.work(machine), Positions: b.places(choose(d, "noun", "", "opener", "opener")), Severity: "soon",
			Part: choose(d, "part", "", "disc"), TiedUp: chance(d, "tied", 2), Unfit: chance(d, "unfit", 3)}
	case "repair":
		return &record.Repair{Work: b.work(machine), Part: choose(d, "part", "", "belt"), Temporary: chance(d, "temporary", 4)}
	case "store":
		return &record.Store{Work: b.work(machine), Act: choose(d, "act", "in", "out")}
	case "season":
		s := &record.Season{Act: choose(d, "act", "plan", "open", "close", "close"), Name: choose(d, "season", "spring", "fall", "next spring"), Work: "seeding", Done: b.done()}
		s.Done = record.Done(s.Done.Date())
		if s.Act == "plan" {
			s.From = dayAfter(string(s.Done), between(d, "ahead", 0, 60))
		}
		return s
	case "hitch":
		return &record.Hitch{Work: b.work(machine), Carrier: choose(d, "carrier", b.machines[2], b.machines[2], "")}
	case "move":
		return &record.Move{Work: b.work(machine), Yard: choose(d, "yard", b.yards...)}
	case "assume":
		return b.assume(machine)
	}
	return &record.Note{Work: b.work(machine)}
}

func (b *book) counter(machine record.ID) record.Record {
	d := b.d
	c := &record.Counter{Work: b.work(machine)}
	c.Counters = nil
	counter := choose(d, "counter", "hours", "hours", "area", "area", "field")
	if machine == b.machines[2] {
		counter = "hours"
	}
	a := record.CounterAct{Counter: counter, Act: choose(d, "act", "at", "at", "at", "at", "at", "add", "reset", "replaced"), Value: b.count(counter, c.Done)}
	switch a.Act {
	case "add":
		a.Value = quantity.Whole(int64(between(d, "more", 1, 30)), a.Value.Unit())
	case "reset", "replaced":
		if chance(d, "last", 2) {
			a.Last = a.Value
		}
		a.Value = choose(d, "anew", quantity.Quantity{}, quantity.Whole(5, a.Value.Unit()))
	}
	c.Acts = []record.CounterAct{a}
	return c
}

func (b *book) did(machine record.ID) record.Record {
	d := b.d
	j := choose(d, "job", b.jobs...)
	r := &record.Did{Work: b.work(machine), Job: j.name, Positions: b.places(j.of)}
	if j.of == "opener" && chance(d, "skips", 4) {
		r.Skipped = openers("opener/2")
	}
	if chance(d, "result", 3) {
		r.Results = []record.Result{{Word: choose(d, "word", "moved", "none-moved")}}
		if j.of == "opener" {
			r.Results[0].Positions = b.places(j.of)
		}
	}
	if chance(d, "outcome", 6) {
		r.Outcome = choose(d, "outcome", "pass", "fail", "advice")
	}
	if chance(d, "until", 3) {
		r.Until = dayAfter(r.Done.Date(), between(d, "valid", 0, 200))
	}
	return r
}

func (b *book) adjust(machine record.ID) record.Record {
	d := b.d
	c := record.Change{Setting: choose(d, "setting", "depth", "depth", "fuel", "fan")}
	switch c.Setting {
	case "depth":
		c.Positions = b.places("opener")
		switch choose(d, "how", "to", "by", "both") {
		case "to":
			c.To = value(fmt.Sprint(between(d, "step", 1, 9)))
		case "by":
			c.By = choose(d, "by", "+1", "-1", "+2")
		default:
			c.To, c.By = value("6"), "+1"
		}
	case "fuel":
		if c.To = value(choose(d, "fuel", "plain", "bio")); chance(d, "next", 4) {
			c.To, c.By = record.Value{}, "+1"
		}
	case "fan":
		if c.To = value(fmt.Sprintf("%d rpm", between(d, "fan", 30, 40)*100)); chance(d, "more", 3) {
			c.To, c.By = record.Value{}, "+150 rpm"
		}
	}
	return &record.Adjust{Work: b.work(machine), Changes: []record.Change{c}}
}

func (b *book) measure(machine record.ID) record.Record {
	d := b.d
	m := &record.Measure{Work: b.work(machine), Reading: choose(d, "reading", "reach", "reach", "reach", "flow", "flow", "slack", "oil")}
	one := func() record.Measured {
		v := record.Measured{}
		switch m.Reading {
		case "reach":
			v.Found, v.Hand = value(fmt.Sprintf("%d.%d in", between(d, "in", 4, 6), between(d, "tenth", 1, 9))), choose(d, "hand", "", "left", "right")
		case "flow":
			v.Found = value(fmt.Sprintf("%d.%d L/min", between(d, "flow", 1, 2), between(d, "tenth", 1, 9)))
		case "slack":
			v.Found = value(fmt.Sprintf("%d mm", between(d, "mm", 10, 30)))
		case "oil":
			v.Found = value(choose(d, "grade", "ok", "ok", "watch", "bad"))
		}
		switch {
		case m.Reading != "oil" && chance(d, "left too", 6):
			v.Left = v.Found
			if m.Reading == "reach" {
				v.Left = value("6.5 in")
			}
		case chance(d, "cannot", 8):
			v.Found, v.Cannot = record.Value{}, "reach"
		}
		return v
	}
	if m.Reading == "slack" || m.Reading == "oil" {
		m.Values = []record.Measured{one()}
		return m
	}
	for _, p := range choose(d, "where", []string{"opener/1"}, []string{"opener/1", "opener/2"}, []string{"opener/1-2", "opener/3"}, []string{"opener/1", "opener/2", "opener/3", "opener/4"}) {
		v := one()
		v.Positions = openers(p)
		m.Values = append(m.Values, v)
	}
	return m
}

func (b *book) swap(machine record.ID) record.Record {
	d := b.d
	s := &record.Swap{Work: b.work(machine), Part: choose(d, "part", "disc", "disc", "disc", "arm", "tip", "belt"), Act: choose(d, "act", "new", "new", "new", "exchange", "turned", "out", "in")}
	if s.Part != "belt" {
		s.Positions = openers(choose(d, "places", "opener/1", "opener/2", "opener/1-2", "opener/4"))
	}
	if s.Part == "disc" && s.Act != "exchange" {
		s.Hand = choose(d, "hand", "", "left", "right")
	}
	switch s.Act {
	case "new":
		if chance(d, "used", 4) {
			s.Used = quantity.Whole(int64(between(d, "claimed", 1, 300)), quantity.MustUnit(choose(d, "unit", "ac", "h")))
		}
	case "exchange":
		s.Positions, s.With = openers("opener/1"), openers(choose(d, "with", "opener/3", "opener/4"))
		if s.Part == "belt" {
			s.Part = "disc"
		}
	case "in":
		from := b.outs[choose(d, "from", b.machines[0], b.machines[1])]
		if len(from) == 0 {
			s.Act = "out"
			break
		}
		s.Part, s.Hand, s.Positions, s.Parts = "disc", "left", openers(choose(d, "place", "opener/1", "opener/3")), []string{choose(d, "part", from...)}
	}
	return s
}

func (b *book) assume(machine record.ID) record.Record {
	d := b.d
	a := &record.Assume{Work: b.work(machine), Good: chance(d, "good", 2)}
	switch choose(d, "assumed", "depth", "disc", "reach", "job") {
	case "depth":
		a.Items = []record.Assumed{{Name: "depth", Positions: b.places("opener"), Value: value("4")}}
	case "disc":
		a.Items = []record.Assumed{{Name: "disc", Positions: b.places("opener"), Used: quantity.Whole(int64(between(d, "used", 1, 200)), quantity.MustUnit("ac"))}}
	case "reach":
		a.Items = []record.Assumed{{Name: "reach", Positions: b.places("opener"), Value: value("5.5 in")}}
	case "job":
		j := choose(d, "job", b.jobs...)
		a.Items = []record.Assumed{{Name: j.name, Positions: b.places(j.of)}}
	}
	return a
}
