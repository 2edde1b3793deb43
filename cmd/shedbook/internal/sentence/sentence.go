// Package sentence tells one entry in a short plain sentence, in the trade's words: "set depth to 6 on openers 1-48", "swapped the disc of opener 12
// (worn), at 1812 ac".
//
// A sentence is a function of the record, its private part and the state it is told against (which gives names to ids, and nouns, titles and groups
// to positions). It is one line without control characters, begins with a small letter and ends without a full stop. What is held back, unknown to the
// book or of an unknown schedule is told by its stored form; nothing is left out but the positions as typed, the paper's digests and who did it, which
// the caller shows beside it.
package sentence

import (
	"strconv"
	"strings"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// Record tells one entry. m is the machine it concerns, nil for shared entries and shelves; p is the private part, nil where there is none or it is
// held back. Quantities are shown in the units of sys.
func Record(st *rules.State, m *rules.Machine, r record.Record, p *record.Private, sys quantity.System) string {
	return At(st, m, r, p, record.Positions{}, sys)
}

// At is Record for somebody who looks at some positions only: of readings and settings those at other places are left out. None: all.
func At(st *rules.State, m *rules.Machine, r record.Record, p *record.Private, at record.Positions, sys quantity.System) string {
	t := &teller{st: st, m: m, p: p, at: at, sys: sys}
	if t.p == nil {
		t.p = &record.Private{}
	}
	return table.Clean(strings.TrimSpace(t.tell(r)))
}

type teller struct {
	st  *rules.State
	m   *rules.Machine
	p   *record.Private
	at  record.Positions
	sys quantity.System
}

func (t *teller) tell(r record.Record) string {
	switch r := r.(type) {
	case *record.Correct:
		return t.correct(r)
	case *record.Strike:
		return "struck entry " + r.Entry.Short() + t.words()
	}
	if s, ok := t.shared(r); ok {
		return s
	}
	s, who := t.work(r)
	return s + t.tail(r, who)
}

func (t *teller) correct(c *record.Correct) string {
	r, err := c.Decoded()
	if err != nil {
		return "corrected entry " + c.Entry.Short()
	}
	return "corrected entry " + c.Entry.Short() + " to: " + t.tell(r)
}

// shared tells the entries that concern no single machine.
func (t *teller) shared(r record.Record) (string, bool) {
	switch r := r.(type) {
	case *record.Farm:
		return "added the farm " + r.Name, true
	case *record.Yard:
		return "added the yard " + r.Name + of(t.farm(r.Farm)), true
	case *record.Person:
		return "added " + or(t.p.Name, "a person whose name is held back") + ", who has no device", true
	case *record.Schedule:
		return "put the schedule " + r.Name + " into use" + from(r.From), true
	case *record.Season:
		return t.season(r), true
	}
	return "", false
}

func (t *teller) season(s *record.Season) string {
	verb := map[string]string{"plan": "planned", "open": "opened", "close": "closed"}[s.Act]
	out := verb + " the season " + s.Name
	if s.Work != "" {
		out += " (" + plain(s.Work) + ")"
	}
	if len(s.Farms) > 0 {
		var names []string
		for _, f := range s.Farms {
			names = append(names, or(t.farm(f), f.Short()))
		}
		out += " for " + and(names)
	}
	switch {
	case s.From != "" && s.To != "":
		out += ", " + s.From + " to " + s.To
	case s.From != "":
		out += from(s.From)
	case s.To != "":
		out += ", until " + s.To
	}
	var use []string
	for _, u := range s.Use {
		use = append(use, u.Amount.Show(t.sys)+" with each "+u.Kind)
	}
	if len(use) > 0 {
		out += ", about " + and(use)
	}
	return out
}

// tail is what any work entry may carry besides: counters, context, faults put right, time, shop, costs, papers. who is set where the sentence has
// already named Private.Who.
func (t *teller) tail(r record.Record, who bool) string {
	w := record.Base(r)
	if w == nil {
		return ""
	}
	var out string
	if len(w.Counters) > 0 {
		var at []string
		all := t.counters(r)
		for _, c := range w.Counters {
			at = append(at, t.counterAt(all, c.Counter, c.At))
		}
		out += ", at " + and(at)
	}
	for _, c := range []struct{ name, value string }{{"crop", w.Crop}, {"field", w.Field}, {"ground", w.Ground}} {
		if c.value != "" {
			out += ", " + c.name + " " + c.value
		}
	}
	if len(w.Closes) > 0 {
		var faults []string
		for _, id := range w.Closes {
			faults = append(faults, t.faultName(id))
		}
		out += ", putting right " + and(faults)
	}
	if w.Minutes > 0 {
		out += ", " + Minutes(w.Minutes) + " of work"
	}
	if w.Warranty != "" {
		out += ", warranted until " + w.Warranty
	}
	if t.p.Who != "" && !who {
		out += ", by " + t.p.Who
	}
	for _, c := range t.p.Costs {
		out += ", " + c.Amount + " for " + c.For
	}
	if n := len(t.p.Papers); n > 0 {
		var names []string
		for _, q := range t.p.Papers {
			names = append(names, q.Name)
		}
		out += ", with " + and(names)
	}
	return out
}

// Minutes is a length of work: "40 min", "2 h", "2 h 30 min".
func Minutes(n int) string {
	h, min := n/60, n%60
	switch {
	case h == 0:
		return strconv.Itoa(min) + " min"
	case min == 0:
		return strconv.Itoa(h) + " h"
	}
	return strconv.Itoa(h) + " h " + strconv.Itoa(min) + " min"
}

// counterAt is a counter's amount; a counter other than the main one is named where its unit does not say which it is.
func (t *teller) counterAt(all []schedule.Counter, name string, q quantity.Quantity) string {
	same, main := 0, false
	for _, c := range all {
		if c.Unit.Dimension() == q.Dimension() {
			same++
		}
		main = main || c.Main && c.Name == name
	}
	if same == 1 || main {
		return q.Show(t.sys)
	}
	return plain(name) + " " + q.Show(t.sys)
}

// counters are those of the entry's machine. The entry that adds one may be told before there is a machine: they are its kind's then.
func (t *teller) counters(r record.Record) []schedule.Counter {
	if f := t.fitted(); f != nil {
		return f.Counters
	}
	m, ok := r.(*record.Machine)
	if !ok {
		return nil
	}
	for _, k := range t.st.Kinds {
		if k.Schedule != nil && k.Schedule.Name == m.Schedule {
			return k.Schedule.Counters
		}
	}
	if s, ok := schedule.Builtin(m.Schedule); ok {
		return s.Counters
	}
	return nil
}

func (t *teller) faultName(id record.ID) string {
	for _, m := range t.st.Machines {
		for _, f := range m.Faults {
			if f.ID != id {
				continue
			}
			s := "the fault"
			if !f.Positions.IsZero() {
				s += " on " + Places(m, f.Positions, "")
			}
			if f.Text != "" {
				s += " (" + f.Text + ")"
			}
			return s
		}
	}
	return "fault " + id.Short()
}

// words is the free text, led by a colon.
func (t *teller) words() string {
	if t.p.Text == "" {
		return ""
	}
	return ": " + t.p.Text
}

func (t *teller) fitted() *schedule.Fitted {
	if t.m == nil {
		return nil
	}
	return t.m.Fitted
}

func (t *teller) farm(id record.ID) string {
	if f := t.st.Farm(string(id)); f != nil {
		return f.Name
	}
	return ""
}

func (t *teller) yard(id record.ID) string {
	if y := t.st.Yard(string(id)); y != nil {
		return y.Name
	}
	return id.Short()
}

// shelf is "the shelf of home".
func (t *teller) shelf(id record.ID) string {
	if s := t.st.Shelf(id); s != nil {
		return "the shelf of " + t.yard(s.Yard)
	}
	return "shelf " + id.Short()
}

// machine is the name of the entry's machine.
func (t *teller) machine() string {
	if t.m == nil {
		return "the machine"
	}
	return t.m.Name
}
