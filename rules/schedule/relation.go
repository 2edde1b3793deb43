package schedule

import (
	"math/big"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// Row is the row that holds where the thing it depends on has the value; rows with conditions are left to the caller (see RowsFor). ok is false outside
// the table. From counts, To does not, but in the row that reaches highest: there the table ends.
func (x *Relation) Row(by record.Value) (row RelationRow, ok bool) {
	for _, r := range x.RowsFor(by) {
		if len(r.Only) == 0 {
			return r, true
		}
	}
	return RelationRow{}, false
}

// RowsFor are the rows that hold at the value, in their order, whatever their conditions say.
func (x *Relation) RowsFor(by record.Value) []RelationRow {
	var out []RelationRow
	q, amount := by.Quantity()
	for _, r := range x.Rows {
		if r.Is != "" || !amount {
			if r.Is != "" && r.Is == by.Word() {
				out = append(out, r)
			}
			continue
		}
		from, e1 := q.Cmp(r.From)
		to, e2 := q.Cmp(r.To)
		if e1 == nil && e2 == nil && from >= 0 && (to < 0 || to == 0 && x.highest(r)) {
			out = append(out, r)
		}
	}
	return out
}

// highest reports that no row goes on where this one ends.
func (x *Relation) highest(r RelationRow) bool {
	for _, o := range x.Rows {
		if c, err := o.From.Cmp(r.To); err == nil && c == 0 {
			return false
		}
	}
	return true
}

// Past reports whether a value lies outside what the row allows, and why.
func (r RelationRow) Past(v record.Value) (past bool, why string) {
	l := Limit{Min: r.Min, Max: r.Max, HasMin: true, HasMax: true}
	return l.Past(v, Against{})
}

// Range is what a torque may be: Min to Max, or within 5 % of Value.
func (t *Torque) Range() (low, high quantity.Quantity) {
	if t.Min.Sign() != 0 || t.Max.Sign() != 0 {
		return t.Min, t.Max
	}
	return t.Value.Mul(big.NewRat(19, 20), 3), t.Value.Mul(big.NewRat(21, 20), 3)
}

// Before reports whether the job is done before the other when both are due: by Order, jobs without one last.
func (j *Job) Before(o *Job) bool {
	switch {
	case j.Order == o.Order:
		return false
	case j.Order == 0:
		return false
	case o.Order == 0:
		return true
	}
	return j.Order < o.Order
}
