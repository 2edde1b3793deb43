package rules_test

import (
	"math/big"
	"strings"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// stands is what a setting stands at somewhere; unknown where a relative change went from a value nobody knew.
type stands struct {
	value   record.Value
	since   record.Done
	unknown bool
	entry   record.ID
}

// setting goes through all entries for the last that set it at the place. What a relative change came to when it was written rules over what replay
// would make of it.
func (o *oracle) setting(machine record.ID, name string, p record.Position) *stands {
	def, ok := o.fit(machine).Setting(name)
	if !ok {
		return nil
	}
	var now *stands
	for _, t := range o.about(machine) {
		switch r := t.rec.(type) {
		case *record.Adjust:
			for _, c := range r.Changes {
				if c.Setting != name || !c.Positions.IsZero() && !c.Positions.Has(p) {
					continue
				}
				next := &stands{value: c.To, since: t.done, entry: t.id}
				if c.To.IsZero() {
					next.unknown = now == nil || now.unknown
					if !next.unknown {
						next.value, ok = relative(now.value, c.By, def)
						next.unknown = !ok
					}
				}
				now = next
			}
		case *record.Assume:
			for _, it := range r.Items {
				if it.Name == name && (it.Positions.IsZero() || it.Positions.Has(p)) {
					now = &stands{value: it.Value, since: t.done, entry: t.id}
				}
			}
		}
	}
	return now
}

// relative is a value with what was said put to it; what the setting cannot be is unknown: "+1",
// "-0.5 in", of a choice so many words on.
func relative(v record.Value, by string, def *schedule.Setting) (record.Value, bool) {
	more := quantity.MustParse(strings.TrimPrefix(by, "+"))
	if q, ok := v.Quantity(); ok {
		sum, err := q.Add(more)
		if err != nil {
			sum, err = q.Add(quantity.New(more.Rat().Num().Int64(), 0, q.Unit()))
		}
		beyond := err != nil
		for _, end := range []struct {
			at   quantity.Quantity
			sign int
		}{{def.Min, -1}, {def.Max, 1}} {
			if c, err := sum.Cmp(end.at); err == nil && def.Max.Sign() > 0 && c == end.sign {
				beyond = true
			}
		}
		return record.Amount(sum), !beyond
	}
	for i, c := range def.Choices {
		k := new(big.Rat).Add(ratInt(int64(i)), more.Rat())
		if c == v.Word() && k.Sign() >= 0 && k.Num().Int64() < int64(len(def.Choices)) {
			return record.Word(def.Choices[k.Num().Int64()]), true
		}
	}
	return record.Value{}, false
}
