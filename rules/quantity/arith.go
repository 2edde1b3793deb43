package quantity

import (
	"cmp"
	"fmt"
	"math/big"
)

// Rat is the number, exactly; the unit is not in it.
func (q Quantity) Rat() *big.Rat { return ratOf(q.coef, int(q.dec)) }

// Float64 is the float nearest to the number. For statistics and drawing only: never for a limit, an interval or a sum that is kept.
func (q Quantity) Float64() float64 {
	f, _ := q.Rat().Float64()
	return f
}

// Cmp is -1, 0 or 1 as q is less than, as much as or more than o, exactly, whatever the units: 12 in and 1 ft are as much. Units that do not
// convert are an error that wraps ErrMismatch.
func (q Quantity) Cmp(o Quantity) (int, error) {
	if err := mismatch(q.unit, o.unit); err != nil {
		return 0, fmt.Errorf("cannot compare %s with %s: %w", q, o, err)
	}
	if a, b, _, ok := aligned(q, o); ok {
		return cmp.Compare(a, b), nil
	}
	return q.inBase().Cmp(o.inBase()), nil
}

// Add is q + o in q's unit, exactly. Units that do not convert are an error that wraps ErrMismatch; a sum that has no exact decimal of 15
// digits in q's unit is one that wraps ErrInexact (1 ft + 1 mm has one, 1 in + 1 mm has not): convert one of them first, with In.
//
// Of temperatures o is a difference: 20 degC + 18 degF = 30 degC.
func (q Quantity) Add(o Quantity) (Quantity, error) { return q.sum(o, "+") }

// Sub is q - o in q's unit, as Add. Of two temperatures in one unit that is their difference; of two in different units convert one first,
// for o is read as a difference: 85 degC - 45 degF = 60 degC.
func (q Quantity) Sub(o Quantity) (Quantity, error) { return q.sum(o, "-") }

func (q Quantity) sum(o Quantity, op string) (Quantity, error) {
	if err := mismatch(q.unit, o.unit); err != nil {
		return Quantity{}, fmt.Errorf("cannot work out %s %s %s: %w", q, op, o, err)
	}
	add := o
	if op == "-" {
		add = o.Neg()
	}
	if a, b, dec, ok := aligned(q, add); ok {
		if c := a + b; -limit < c && c < limit {
			return New(c, dec, q.unit), nil
		}
	}
	r := add.Rat()
	if q.unit != o.unit {
		r.Mul(r, units[o.unit.index].factor)
		r.Quo(r, units[q.unit.index].factor)
	}
	if s, ok := exact(r.Add(r, q.Rat()), q.unit); ok {
		return s, nil
	}
	return Quantity{}, fmt.Errorf("%s %s %s in %s: %w", q, op, o, q.unit.named(), ErrInexact)
}

// Mul is q scaled by r, rounded half to even at the given decimal places (0 to 15; fewer where 15 digits leave no room for them). A result of
// more than 15 digits is held at 999999999999999, so that no amount, however made, can stop a replay; where that matters use FromRat, which
// fails instead.
func (q Quantity) Mul(r *big.Rat, places int) Quantity {
	return held(new(big.Rat).Mul(q.Rat(), r), q.unit, places)
}

// In is q expressed in u, rounded half to even at the given decimal places (0 to 15; fewer where 15 digits leave no room for them). q's own
// unit is rounded too. Units that do not convert are an error that wraps ErrMismatch.
func (q Quantity) In(u Unit, places int) (Quantity, error) {
	r, err := q.expressed(u)
	if err != nil {
		return Quantity{}, err
	}
	return FromRat(r, u, places)
}

// Exact is q expressed in u without rounding. Units that do not convert are an error that wraps ErrMismatch; what has no exact decimal of 15
// digits there is one that wraps ErrInexact.
func (q Quantity) Exact(u Unit) (Quantity, error) {
	if q.unit == u {
		return q, nil
	}
	r, err := q.expressed(u)
	if err != nil {
		return Quantity{}, err
	}
	if x, ok := exact(r, u); ok {
		return x, nil
	}
	return Quantity{}, fmt.Errorf("%s in %s: %w", q, u.named(), ErrInexact)
}

// aligned gives both coefficients at the same number of decimals, where the units are the same and the decimals differ by three at most: then
// both stay below 10^18 and their sum fits an int64. It spares the common sums and comparisons of a replay the big numbers.
func aligned(q, o Quantity) (a, b int64, dec uint8, ok bool) {
	a, b, dec = q.coef, o.coef, max(q.dec, o.dec)
	if q.unit != o.unit || dec > min(q.dec, o.dec)+3 {
		return 0, 0, 0, false
	}
	for d := q.dec; d < dec; d++ {
		a *= 10
	}
	for d := o.dec; d < dec; d++ {
		b *= 10
	}
	return a, b, dec, true
}

// expressed is q's number in u.
func (q Quantity) expressed(u Unit) (*big.Rat, error) {
	if err := mismatch(q.unit, u); err != nil {
		return nil, fmt.Errorf("cannot give %s in %s: %w", q, u.named(), err)
	}
	if q.unit == u {
		return q.Rat(), nil
	}
	r, d := q.inBase(), &units[u.index]
	if d.offset != nil {
		r.Sub(r, d.offset)
	}
	return r.Quo(r, d.factor), nil
}

// inBase is q in the base unit of its dimension.
func (q Quantity) inBase() *big.Rat {
	r, d := q.Rat(), &units[q.unit.index]
	r.Mul(r, d.factor)
	if d.offset != nil {
		r.Add(r, d.offset)
	}
	return r
}
