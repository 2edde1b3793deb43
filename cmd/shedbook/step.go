package main

import (
	"strings"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// move changes a setting by so much from what stands at each place.
func (a *adjustPlan) move(plan *settingPlan, at []record.Position, by, said string) error {
	l := a.l
	by = strings.TrimSpace(by)
	if err := possible(plan.def, by); err != nil {
		return failed("bad-value", "", "%s: %v", l.m.Name, err)
	}
	var stuck, unknown []record.Position
	var why error
	for _, p := range at {
		from := l.standing(plan.def.Name, p)
		if s, ok := plan.sets[p]; ok && l.old == nil {
			from = s.to
		}
		words := said
		if words == "" {
			words = plan.sets[p].said
		}
		if from.IsZero() {
			unknown = append(unknown, p)
			plan.put(p, set{by: by, said: words})
			continue
		}
		to, err := plan.def.Move(from, by)
		if err != nil {
			stuck, why = append(stuck, p), err
			continue
		}
		plan.put(p, set{to: to, by: by, said: words})
	}
	if len(stuck) > 0 {
		return failed("bad-value", "name the others, or write the value itself", "%s: %s: %v", l.m.Name, l.describe(stuck, plan.def.Of), why)
	}
	if len(unknown) > 0 {
		l.note("%s was not known on %s: recorded as %s, the value stays unknown; say it with %s=VALUE", plan.def.Name, l.describe(unknown, plan.def.Of), by, plan.def.Name)
	}
	return nil
}

// possible reports why a change can be made from no value of the setting.
func possible(def *schedule.Setting, by string) error {
	var from []record.Value
	for _, q := range []quantity.Quantity{def.Min, def.Max} {
		if q.IsZero() {
			q = quantity.Whole(0, def.Unit) // an end that is not given is no end
		}
		from = append(from, record.Amount(q))
	}
	if def.Type == "choice" {
		from = nil
		for _, w := range def.Choices {
			from = append(from, record.Word(w))
		}
	}
	var first error
	for _, v := range from {
		_, err := def.Move(v, by)
		if err == nil {
			return nil
		}
		if first == nil {
			first = err
		}
	}
	return first
}

func (l *line) describe(at []record.Position, noun string) string {
	if len(at) == 1 && at[0].Noun == "" {
		return l.m.Name
	}
	return l.m.Fitted.Describe(record.NewPositions(at...), noun)
}

// standing is a setting's value at a place just before the line's work: later work of the same day does not count, nor does the entry corrected.
func (l *line) standing(name string, p record.Position) record.Value {
	now := l.m.Settings[name][p.String()]
	if now == nil {
		return record.Value{}
	}
	if l.old == nil && now.Since.Compare(l.done) <= 0 {
		if now.Unknown {
			return record.Value{}
		}
		return now.Value
	}
	var v record.Value
	for _, e := range l.st.Effective {
		if e.Record == nil || e.Ignored != "" || e.StruckBy != "" || record.MachineOf(e.Record) != l.m.ID || l.old != nil && e.Entry.ID == l.old.Entry.ID || e.Done.Compare(l.done) > 0 {
			continue
		}
		switch r := e.Record.(type) {
		case *record.Adjust:
			for _, c := range r.Changes {
				if c.Setting == name && (c.Positions.IsZero() || c.Positions.Has(p)) {
					v = c.To
				}
			}
		case *record.Assume:
			for _, i := range r.Items {
				if i.Name == name && (i.Positions.IsZero() || i.Positions.Has(p)) {
					v = i.Value
				}
			}
		}
	}
	return v
}
