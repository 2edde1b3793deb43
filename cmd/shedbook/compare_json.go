package main

import (
	"shedbook/rules"
	"shedbook/rules/record"
)

type comparedJSON struct {
	Format  int          `json:"format"`
	From    sideJSON     `json:"from"`
	To      sideJSON     `json:"to"`
	Changes []changeJSON `json:"changes"`
}

type sideJSON struct {
	Machine string `json:"machine"`
	Name    string `json:"name"` // of the season, the set-up, the day
	Since   string `json:"since,omitempty"`
	Until   string `json:"until"`
}

type changeJSON struct {
	What      string    `json:"what"`
	Name      string    `json:"name"`
	Positions []string  `json:"positions"`
	Hand      string    `json:"hand,omitempty"`
	From      foundJSON `json:"from"`
	To        foundJSON `json:"to"`
}

type foundJSON struct {
	Value   valueJSON   `json:"value,omitzero"`
	Count   int         `json:"count,omitempty"`
	Low     valueJSON   `json:"low,omitzero"`
	Middle  valueJSON   `json:"middle,omitzero"`
	High    valueJSON   `json:"high,omitzero"`
	Mean    valueJSON   `json:"mean,omitzero"`
	Held    []heldJSON  `json:"held,omitempty"` // of a setting changed during the season
	Last    valueJSON   `json:"last,omitzero"`  // of such a setting: what stood at the end
	Part    string      `json:"part,omitempty"`
	Use     amountJSON  `json:"use,omitzero"`
	Worked  string      `json:"worked_out_from,omitempty"`
	Change  amountJSON  `json:"change,omitzero"`     // of a rate: all parts together
	Per     amountJSON  `json:"per,omitzero"`        // of a rate: the use that its value is for
	Reasons []string    `json:"reasons,omitempty"`   // of jobs overdue
	At      []string    `json:"positions,omitempty"` // of jobs overdue
	First   record.Done `json:"first,omitempty"`
	Since   record.Done `json:"since,omitempty"`
	By      string      `json:"by,omitempty"`
	Entries []record.ID `json:"entries"`
}

type heldJSON struct {
	Value    valueJSON   `json:"value,omitzero"`
	From     record.Done `json:"from"`
	To       record.Done `json:"to"`
	Use      amountJSON  `json:"use"` // days where no counter tells
	Entries  []record.ID `json:"entries"`
	Readings []record.ID `json:"readings"`
}

func (c *call) compareJSON(sides [2]sideOf, changes []rules.Change) comparedJSON {
	side := func(s sideOf) sideJSON {
		return sideJSON{Machine: s.Machine.Name, Name: s.label, Since: s.From, Until: s.To}
	}
	out := comparedJSON{Format: 1, From: side(sides[0]), To: side(sides[1]), Changes: []changeJSON{}}
	for _, x := range changes {
		out.Changes = append(out.Changes, changeJSON{What: x.What, Name: x.Name, Positions: strs(x.Positions.Strings()), Hand: x.Hand, From: c.foundJSON(sides[0], x.What, x.From), To: c.foundJSON(sides[1], x.What, x.To)})
	}
	return out
}

func (c *call) foundJSON(s sideOf, what string, f rules.Found) foundJSON {
	j := foundJSON{Value: c.value(f.Value), Count: f.Count, Low: c.value(f.Low), Middle: c.value(f.Mid), High: c.value(f.High), Mean: c.value(f.Mean), Part: f.Part, Use: c.amount(f.Use),
		Reasons: f.Reasons, At: f.Positions.Strings(), First: f.First, Since: f.Since, By: personName(s.State, f.Person), Entries: strs(f.Entries)}
	j.Worked = f.WorkedOut
	if len(f.Held) > 0 {
		j.Last = c.value(f.Last)
	}
	for _, h := range f.Held {
		use := amountJSON{h.Use}
		if h.Use.Unit().String() != "d" {
			use = c.amount(h.Use)
		}
		j.Held = append(j.Held, heldJSON{Value: c.value(h.Value), From: h.From, To: h.To, Use: use, Entries: strs(h.Entries), Readings: strs(h.Readings)})
	}
	if q, ok := f.Value.Quantity(); ok && what == "rate" {
		j.Value, j.Change, j.Per = valueJSON{record.Amount(c.apart(q))}, amountJSON{c.apart(f.Change)}, c.amount(rateOver(f))
	}
	return j
}
