package rules

import (
	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// Beyond is a place where the last reading of what is there now is past the reading's limit, as the due list judges it.
type Beyond struct {
	Reading *schedule.Reading
	Place   record.Position
	Hand    string // "" where the reading has none
	Entry   ID
	Value   record.Value      // as judged: at its rated condition
	Limit   quantity.Quantity // the fixed limit it is past, also where that is a share of the size when new; zero: it is past something else, which Why says
	Why     string            // "5 1/16 in is past the limit 5 in"
}

// PastLimits are the places of a machine past a limit by the readings of these entries, reading by reading in the schedule's order, there in walking order.
func PastLimits(st *State, m *Machine, entries ...ID) []Beyond {
	if m == nil || m.Fitted == nil {
		return nil
	}
	asked := map[ID]bool{}
	for _, id := range entries {
		asked[id] = true
	}
	j := newJudge(st, m, Filter{}, newHistory(st))
	var out []Beyond
	for i := range m.Fitted.Readings {
		def := &m.Fitted.Readings[i]
		for _, b := range j.pastLimit(def) {
			if !asked[b.r.Entry] {
				continue
			}
			x := Beyond{Reading: def, Place: b.at, Hand: b.hand, Entry: b.r.Entry, Value: b.found[0], Why: b.why}
			if b.bound.What == "limit" {
				x.Limit = b.bound.At
			}
			out = append(out, x)
		}
	}
	return out
}
