package main

import (
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// thingName is a thing of a machine's schedule that an entry speaks of.
type thingName struct{ what, name string }

// positionsOf are the places an entry is about; none where it is about the machine as a whole. What has a noun and names no place is about all of its
// places, as replay takes it.
func positionsOf(f *schedule.Fitted, r record.Record) record.Positions {
	all := func(p record.Positions, what, name string) record.Positions {
		if p.IsZero() && f != nil {
			return f.All(nounOf(f, schedule.Name{Word: name, What: what}))
		}
		return p
	}
	var p record.Positions
	switch r := r.(type) {
	case *record.Adjust:
		for _, c := range r.Changes {
			p = p.Union(all(c.Positions, "setting", c.Setting))
		}
	case *record.Measure:
		for _, v := range r.Values {
			p = p.Union(all(v.Positions, "reading", r.Reading))
		}
	case *record.Swap:
		p = all(r.Positions, "part", r.Part).Union(r.With)
	case *record.Did:
		p = all(r.Positions, "job", r.Job).Union(r.Skipped)
	case *record.Fault:
		p = r.Positions
	case *record.Repair:
		p = r.Positions
	case *record.Note:
		p = r.Positions
	case *record.Assume:
		for _, it := range r.Items {
			p = p.Union(it.Positions)
		}
	}
	return p
}

// thingsOf are the settings, readings, parts, jobs and counters an entry is about. An assumed thing may be any of them.
func thingsOf(r record.Record) []thingName {
	var out []thingName
	add := func(what, name string) {
		if name != "" {
			out = append(out, thingName{what, name})
		}
	}
	switch r := r.(type) {
	case *record.Counter:
		for _, a := range r.Acts {
			add("counter", a.Counter)
		}
	case *record.Adjust:
		for _, c := range r.Changes {
			add("setting", c.Setting)
		}
		add("setup", r.Setup)
	case *record.Measure:
		add("reading", r.Reading)
	case *record.Swap:
		add("part", r.Part)
	case *record.Did:
		add("job", r.Job)
	case *record.Fault:
		add("part", r.Part)
	case *record.Repair:
		add("part", r.Part)
	case *record.Assume:
		for _, it := range r.Items {
			for _, what := range []string{"setting", "reading", "part", "job"} {
				add(what, it.Name)
			}
		}
	}
	if r != nil {
		if w := record.Base(r); w != nil {
			for _, c := range w.Counters {
				add("counter", c.Counter)
			}
		}
	}
	return out
}
