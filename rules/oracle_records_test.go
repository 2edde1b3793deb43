package rules_test

import (
	"fmt"

	"pgregory.net/rapid"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// record draws one of a kind about a machine. What does not hold by itself is not written.
func (b *book) record(kind string, machine record.ID) record.Record {
	rt := b.rt
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
		return &record.Fault{Work: b.work(machine), Positions: b.places(choose(rt, "noun", "", "opener", "opener")), Severity: "soon",
			Part: choose(rt, "part", "", "disc"), TiedUp: rapid.Bool().Draw(rt, "tied"), Unfit: chance(rt, "unfit", 3)}
	case "repair":
		return &record.Repair{Work: b.work(machine), Part: choose(rt, "part", "", "belt"), Temporary: chance(rt, "temporary", 4)}
	case "store":
		return &record.Store{Work: b.work(machine), Act: choose(rt, "act", "in", "out")}
	case "season":
		s := &record.Season{Act: choose(rt, "act", "plan", "open", "close", "close"), Name: choose(rt, "season", "spring", "fall", "next spring"), Work: "seeding", Done: b.done()}
		s.Done = record.Done(s.Done.Date())
		if s.Act == "plan" {
			s.From = dayAfter(string(s.Done), rapid.IntRange(0, 60).Draw(rt, "ahead"))
		}
		return s
	case "hitch":
		return &record.Hitch{Work: b.work(machine), Carrier: choose(rt, "carrier", b.machines[2], b.machines[2], "")}
	case "move":
		return &record.Move{Work: b.work(machine), Yard: choose(rt, "yard", b.yards...)}
	case "assume":
		return b.assume(machine)
	}
	return &record.Note{Work: b.work(machine)}
}

func (b *book) counter(machine record.ID) record.Record {
	rt := b.rt
	c := &record.Counter{Work: b.work(machine)}
	c.Counters = nil
	counter := choose(rt, "counter", "hours", "hours", "area", "area", "field")
	if machine == b.machines[2] {
		counter = "hours"
	}
	a := record.CounterAct{Counter: counter, Act: choose(rt, "act", "at", "at", "at", "at", "at", "add", "reset", "replaced"), Value: b.count(counter, c.Done)}
	switch a.Act {
	case "add":
		a.Value = quantity.Whole(int64(rapid.IntRange(1, 30).Draw(rt, "more")), a.Value.Unit())
	case "reset", "replaced":
		if chance(rt, "last", 2) {
			a.Last = a.Value
		}
		a.Value = choose(rt, "anew", quantity.Quantity{}, quantity.Whole(5, a.Value.Unit()))
	}
	c.Acts = []record.CounterAct{a}
	return c
}

func (b *book) did(machine record.ID) record.Record {
	rt := b.rt
	j := choose(rt, "job", b.jobs...)
	d := &record.Did{Work: b.work(machine), Job: j.name, Positions: b.places(j.of)}
	if j.of == "opener" && chance(rt, "skips", 4) {
		d.Skipped = openers("opener/2")
	}
	if chance(rt, "result", 3) {
		d.Results = []record.Result{{Word: choose(rt, "word", "moved", "none-moved")}}
		if j.of == "opener" {
			d.Results[0].Positions = b.places(j.of)
		}
	}
	if chance(rt, "outcome", 6) {
		d.Outcome = choose(rt, "outcome", "pass", "fail", "advice")
	}
	if chance(rt, "until", 3) {
		d.Until = dayAfter(d.Done.Date(), rapid.IntRange(0, 200).Draw(rt, "valid"))
	}
	return d
}

func (b *book) adjust(machine record.ID) record.Record {
	rt := b.rt
	c := record.Change{Setting: choose(rt, "setting", "depth", "depth", "fuel", "fan")}
	switch c.Setting {
	case "depth":
		c.Positions = b.places("opener")
		switch choose(rt, "how", "to", "by", "both") {
		case "to":
			c.To = value(fmt.Sprint(rapid.IntRange(1, 9).Draw(rt, "step")))
		case "by":
			c.By = choose(rt, "by", "+1", "-1", "+2")
		default:
			c.To, c.By = value("6"), "+1"
		}
	case "fuel":
		if c.To = value(choose(rt, "fuel", "plain", "bio")); chance(rt, "next", 4) {
			c.To, c.By = record.Value{}, "+1"
		}
	case "fan":
		if c.To = value(fmt.Sprintf("%d rpm", rapid.IntRange(30, 40).Draw(rt, "fan")*100)); chance(rt, "more", 3) {
			c.To, c.By = record.Value{}, "+150 rpm"
		}
	}
	return &record.Adjust{Work: b.work(machine), Changes: []record.Change{c}}
}

func (b *book) measure(machine record.ID) record.Record {
	rt := b.rt
	m := &record.Measure{Work: b.work(machine), Reading: choose(rt, "reading", "reach", "reach", "reach", "flow", "flow", "slack", "oil")}
	one := func() record.Measured {
		v := record.Measured{}
		switch m.Reading {
		case "reach":
			v.Found, v.Hand = value(fmt.Sprintf("%d.%d in", rapid.IntRange(4, 6).Draw(rt, "in"), rapid.IntRange(1, 9).Draw(rt, "tenth"))), choose(rt, "hand", "", "left", "right")
		case "flow":
			v.Found = value(fmt.Sprintf("%d.%d L/min", rapid.IntRange(1, 2).Draw(rt, "flow"), rapid.IntRange(1, 9).Draw(rt, "tenth")))
		case "slack":
			v.Found = value(fmt.Sprintf("%d mm", rapid.IntRange(10, 30).Draw(rt, "mm")))
		case "oil":
			v.Found = value(choose(rt, "grade", "ok", "ok", "watch", "bad"))
		}
		switch {
		case m.Reading != "oil" && chance(rt, "left too", 6):
			v.Left = v.Found
			if m.Reading == "reach" {
				v.Left = value("6.5 in")
			}
		case chance(rt, "cannot", 8):
			v.Found, v.Cannot = record.Value{}, "reach"
		}
		return v
	}
	if m.Reading == "slack" || m.Reading == "oil" {
		m.Values = []record.Measured{one()}
		return m
	}
	for _, p := range choose(rt, "where", []string{"opener/1"}, []string{"opener/1", "opener/2"}, []string{"opener/1-2", "opener/3"}, []string{"opener/1", "opener/2", "opener/3", "opener/4"}) {
		v := one()
		v.Positions = openers(p)
		m.Values = append(m.Values, v)
	}
	return m
}

func (b *book) swap(machine record.ID) record.Record {
	rt := b.rt
	s := &record.Swap{Work: b.work(machine), Part: choose(rt, "part", "disc", "disc", "disc", "arm", "tip", "belt"), Act: choose(rt, "act", "new", "new", "new", "exchange", "turned", "out", "in")}
	if s.Part != "belt" {
		s.Positions = openers(choose(rt, "places", "opener/1", "opener/2", "opener/1-2", "opener/4"))
	}
	if s.Part == "disc" && s.Act != "exchange" {
		s.Hand = choose(rt, "hand", "", "left", "right")
	}
	switch s.Act {
	case "new":
		if chance(rt, "used", 4) {
			s.Used = quantity.Whole(int64(rapid.IntRange(1, 300).Draw(rt, "claimed")), quantity.MustUnit(choose(rt, "unit", "ac", "h")))
		}
	case "exchange":
		s.Positions, s.With = openers("opener/1"), openers(choose(rt, "with", "opener/3", "opener/4"))
		if s.Part == "belt" {
			s.Part = "disc"
		}
	case "in":
		from := b.outs[choose(rt, "from", b.machines[0], b.machines[1])]
		if len(from) == 0 {
			s.Act = "out"
			break
		}
		s.Part, s.Hand, s.Positions, s.Parts = "disc", "left", openers(choose(rt, "place", "opener/1", "opener/3")), []string{choose(rt, "part", from...)}
	}
	return s
}

func (b *book) assume(machine record.ID) record.Record {
	rt := b.rt
	a := &record.Assume{Work: b.work(machine), Good: chance(rt, "good", 2)}
	switch choose(rt, "assumed", "depth", "disc", "reach", "job") {
	case "depth":
		a.Items = []record.Assumed{{Name: "depth", Positions: b.places("opener"), Value: value("4")}}
	case "disc":
		a.Items = []record.Assumed{{Name: "disc", Positions: b.places("opener"), Used: quantity.Whole(int64(rapid.IntRange(1, 200).Draw(rt, "used")), quantity.MustUnit("ac"))}}
	case "reach":
		a.Items = []record.Assumed{{Name: "reach", Positions: b.places("opener"), Value: value("5.5 in")}}
	case "job":
		j := choose(rt, "job", b.jobs...)
		a.Items = []record.Assumed{{Name: j.name, Positions: b.places(j.of)}}
	}
	return a
}
