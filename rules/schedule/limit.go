package schedule

import (
	"fmt"
	"math/big"
	"strings"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// Against is what a reading is judged against besides fixed limits; what is not known is the zero Value and judges nothing.
type Against struct {
	New    record.Value // the value of the part when new; absent: the reading's own New
	Last   record.Value // the reading before, of the same part at the same place
	Median record.Value // of the other places, read on the same occasion
}

// Past reports whether a value is past the reading's limit, and why in words: "5 1/16 in is past the lower limit 5 1/8 in". A value exactly at a
// limit is not past it. Comparison is exact. Grades go by BadFrom.
func (r *Reading) Past(v record.Value, a Against) (past bool, why string) {
	if len(r.Grades) > 0 {
		if r.BadFrom == "" || v.IsZero() {
			return false, ""
		}
		bad := false
		for _, g := range r.Grades {
			bad = bad || g == r.BadFrom
			if g == v.Word() && bad {
				return true, fmt.Sprintf("%s is %s", r.Title, g)
			}
		}
		return false, ""
	}
	if r.Limit == nil {
		return false, ""
	}
	return r.Limit.Past(v, r.filled(a))
}

// Past reports whether an amount is past any of the limits, and why. Words are never past.
func (l *Limit) Past(v record.Value, a Against) (past bool, why string) {
	var reasons []string
	for _, b := range l.passed(v, a) {
		reasons = append(reasons, b.why)
	}
	return len(reasons) > 0, strings.Join(reasons, "; ")
}

// Bound is what an amount is past, in its shortest form. What is "limit", or what the amount is held against: "last time", "neighbours".
type Bound struct {
	What string
	At   quantity.Quantity

	why string
}

// Bound is the first limit that a value is past; ok is false where it is past none, and for grades. A share of the value when new is given as the amount
// it comes to.
func (r *Reading) Bound(v record.Value, a Against) (b Bound, ok bool) {
	if r.Limit == nil {
		return Bound{}, false
	}
	all := r.Limit.passed(v, r.filled(a))
	if len(all) == 0 {
		return Bound{}, false
	}
	return all[0], true
}

// filled is what a reading is judged against, with the reading's own value when new where the part's is not known.
func (r *Reading) filled(a Against) Against {
	if a.New.IsZero() && r.HasNew {
		a.New = record.Amount(r.New)
	}
	return a
}

// passed lists the limits that an amount is past.
func (l *Limit) passed(v record.Value, a Against) []Bound {
	q, ok := v.Quantity()
	if !ok {
		return nil
	}
	var all []Bound
	say := func(what string, at quantity.Quantity, format string, args ...any) {
		all = append(all, Bound{what, at, fmt.Sprintf(format, args...)})
	}
	if l.HasMin {
		if c, err := q.Cmp(l.Min); err == nil && c < 0 {
			say("limit", l.Min, "%s is past the %slimit %s", inWords(q), either("lower ", l.HasMax), inWords(l.Min))
		}
	}
	if l.HasMax {
		if c, err := q.Cmp(l.Max); err == nil && c > 0 {
			say("limit", l.Max, "%s is past the %slimit %s", inWords(q), either("upper ", l.HasMin), inWords(l.Max))
		}
	}
	if n, ok := a.New.Quantity(); ok && l.HasShare {
		if c, err := compareShare(q, n, l.Share); err == nil && (l.Falls && c < 0 || !l.Falls && c > 0) {
			s, _ := ratio(l.Share) // compared just now
			say("limit", n.Mul(s, 4), "%s is %s %s of the %s when new", inWords(q), map[bool]string{true: "less than", false: "more than"}[l.Falls], l.Share, inWords(n))
		}
	}
	if b, ok := a.Last.Quantity(); ok && l.HasStep {
		if beyond(q, b, l.Step) {
			say("last time", b, "%s is a step of more than %s from the last reading, %s", inWords(q), inWords(l.Step), inWords(b))
		}
	}
	if m, ok := a.Median.Quantity(); ok && l.HasNeighbours {
		if beyond(q, m, l.Neighbours) {
			say("neighbours", m, "%s is more than %s from the median of its neighbours, %s", inWords(q), inWords(l.Neighbours), inWords(m))
		}
	}
	return all
}

func either(word string, yes bool) string {
	if yes {
		return word
	}
	return ""
}

// compareShare compares q with share of n.
func compareShare(q, n, share quantity.Quantity) (int, error) {
	if _, err := q.Cmp(n); err != nil {
		return 0, err
	}
	s, err := ratio(share)
	if err != nil {
		return 0, err
	}
	if q.Unit() == n.Unit() {
		return q.Rat().Cmp(s.Mul(s, n.Rat())), nil
	}
	return exactRat(q, n).Cmp(s.Mul(s, n.Rat())), nil
}

// ratio is a share as a plain number: 85 % is 17/20.
func ratio(share quantity.Quantity) (*big.Rat, error) {
	if share.Dimension() != quantity.Ratio {
		return nil, fmt.Errorf("%s is no share", share)
	}
	percent := quantity.MustUnit("%")
	if share.Unit() == percent {
		return new(big.Rat).Quo(share.Rat(), big.NewRat(100, 1)), nil
	}
	return new(big.Rat).Quo(share.Rat(), big.NewRat(1000000, 1)), nil // ppm
}

// beyond reports |q - base| > by, exactly. By is a difference in any unit of the dimension, or a share of base.
func beyond(q, base, by quantity.Quantity) bool {
	if _, err := q.Cmp(base); err != nil {
		return false
	}
	difference := exactRat(q, base)
	difference.Sub(difference, base.Rat()).Abs(difference)
	if by.Dimension() == quantity.Ratio && base.Dimension() != quantity.Ratio {
		s, err := ratio(by)
		if err != nil {
			return false
		}
		s.Mul(s, base.Rat()).Abs(s)
		return difference.Cmp(s) > 0
	}
	return difference.Cmp(span(by, base)) > 0
}

// exactRat is q's number in the unit of like, exactly: what no decimal holds (1 mm in inches) is a fraction of what the other way round is exact.
func exactRat(q, like quantity.Quantity) *big.Rat {
	if q.Unit() == like.Unit() {
		return q.Rat()
	}
	if e, err := q.Exact(like.Unit()); err == nil {
		return e.Rat()
	}
	if back, err := quantity.Whole(1, like.Unit()).Exact(q.Unit()); err == nil && back.Sign() != 0 && q.Dimension() != quantity.Temperature {
		return new(big.Rat).Quo(q.Rat(), back.Rat())
	}
	e, _ := q.In(like.Unit(), 9)
	return e.Rat()
}

// span is the number of a difference in the unit of like; a difference of temperatures has no zero to shift.
func span(by, like quantity.Quantity) *big.Rat {
	if by.Dimension() != quantity.Temperature || by.Unit() == like.Unit() {
		return exactRat(by, like)
	}
	if by.Unit() == quantity.MustUnit("degC") {
		return new(big.Rat).Mul(by.Rat(), big.NewRat(9, 5))
	}
	return new(big.Rat).Mul(by.Rat(), big.NewRat(5, 9))
}
