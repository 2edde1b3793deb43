package main

import (
	"encoding/json"

	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// The shapes that several commands' --json share. Members that do not apply are absent. Quantities stand in the unit they were recorded in, unless --units
// is given: a program's input must not change with what a person likes to read.

// amountJSON is {"value":"5.25","unit":"in"}; a bare count has no unit.
type amountJSON struct{ q quantity.Quantity }

func (a amountJSON) IsZero() bool { return a.q.IsZero() }

func (a amountJSON) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		Value string `json:"value"`
		Unit  string `json:"unit,omitempty"`
	}{a.q.Number(), a.q.Unit().String()})
}

// valueJSON is an amount, or {"word":"watch"}.
type valueJSON struct{ v record.Value }

func (v valueJSON) IsZero() bool { return v.v.IsZero() }

func (v valueJSON) MarshalJSON() ([]byte, error) {
	if q, ok := v.v.Quantity(); ok {
		return amountJSON{q}.MarshalJSON()
	}
	return json.Marshal(struct {
		Word string `json:"word"`
	}{v.v.Word()})
}

// useJSON is an amount on a named counter.
type useJSON struct {
	Counter string `json:"counter"`
	Value   string `json:"value"`
	Unit    string `json:"unit,omitempty"`
}

// pointJSON is a point on the calendar or a counter, or a distance: {"date":"2026-04-01"}, {"counter":"area","value":"1900","unit":"ac"},
// {"value":"12","unit":"d"}; {} where there is none.
type pointJSON struct {
	Date    string `json:"date,omitempty"`
	Counter string `json:"counter,omitempty"`
	Value   string `json:"value,omitempty"`
	Unit    string `json:"unit,omitempty"`
}

// doneJSON is the last time something was done; {} where it never was.
type doneJSON struct {
	Entry record.ID   `json:"entry,omitempty"`
	Done  record.Done `json:"done,omitempty"`
	// Assumed says that it was taken as done by a starting line.
	Assumed bool `json:"assumed,omitempty"`
}

// problemJSON is something that cannot be judged or does not fit.
type problemJSON struct {
	Code    string      `json:"code"`
	Machine string      `json:"machine,omitempty"` // its name
	Entries []record.ID `json:"entries"`
	Message string      `json:"message"`
}

// shown is an amount in the units asked for with --units.
func (c *call) shown(q quantity.Quantity) quantity.Quantity {
	if c.units == "" {
		return q
	}
	return q.Usual(c.system)
}

// usual is an amount as text shows it: in the units asked for with --units, else in those of the book.
func (c *call) usual(q quantity.Quantity) quantity.Quantity { return q.Usual(c.system) }

// apart is a difference of two amounts, or a rate of change, in the units asked for with --units.
func (c *call) apart(q quantity.Quantity) quantity.Quantity {
	if c.units == "" {
		return q
	}
	return q.UsualDifference(c.system)
}

// usualValue is a value as text shows it.
func (c *call) usualValue(v record.Value) record.Value {
	if q, ok := v.Quantity(); ok {
		return record.Amount(c.usual(q))
	}
	return v
}

// usualApart is a difference or a rate as text shows it.
func (c *call) usualApart(q quantity.Quantity) quantity.Quantity { return q.UsualDifference(c.system) }

func (c *call) amountApart(q quantity.Quantity) amountJSON { return amountJSON{c.apart(q)} }

func (c *call) amount(q quantity.Quantity) amountJSON { return amountJSON{c.shown(q)} }

func (c *call) value(v record.Value) valueJSON {
	if q, ok := v.Quantity(); ok {
		return valueJSON{record.Amount(c.shown(q))}
	}
	return valueJSON{v}
}

func (c *call) use(counter string, q quantity.Quantity) useJSON {
	q = c.shown(q)
	return useJSON{counter, q.Number(), q.Unit().String()}
}

func (c *call) point(a rules.Amount) pointJSON {
	if a.Date != "" || a.Counter == "" && a.Value.IsZero() {
		return pointJSON{Date: a.Date}
	}
	q := c.shown(a.Value)
	return pointJSON{Counter: a.Counter, Value: q.Number(), Unit: q.Unit().String()}
}

// problemsOf are the problems of some machines and of none, in the state's order.
func problemsOf(st *rules.State, problems []rules.Problem, about func(*rules.Machine) bool) []problemJSON {
	out := []problemJSON{}
	for _, p := range problems {
		name := ""
		if p.Machine != "" {
			m := st.MachineByID(p.Machine)
			if m == nil || !about(m) {
				continue
			}
			name = m.Name
		}
		out = append(out, problemJSON{p.Code, name, p.Entries, p.Message})
	}
	return out
}

// strs is a list that is [] in JSON when empty.
func strs[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}
