// Package quantity holds exact decimal amounts with a unit: what a person in the shed writes down ("14 3/4 in", "1812 ac", "250 h").
//
// A [Quantity] is a value: a decimal of at most 15 digits and a [Unit]. It is normal (no trailing zeros after the point, one spelling of each
// unit), so == means "the same number in the same unit", and String is the one form that is stored and signed:
//
//	5.25 in    1812 ac    -1    2 %    75 lbf.ft    12 mo
//
// [Parse] takes what people type (fractions, a decimal comma, many spellings of a unit) and refuses what could be read two ways; UnmarshalText
// takes the stored form only. For every q, Parse(q.String()) == q.
//
// Nothing here is a float until Float64 is called for statistics. Conversion between units of one [Dimension] uses exact rational factors
// (inch = 25.4 mm; acre = 43,560 ft2 of the international foot, not the survey foot, retired by NIST at the end of 2022) and rounds, half to
// even, only where a caller names the decimal places. Factors are those of UCUM 2.2 and NIST SP 811.
//
// Four things to know:
//
//   - A number without a unit is a count. Counts of named things (bales, seeds) compare and add with bare numbers, never with one another.
//   - The month and the year are calendar spans, of a dimension of their own: "12 mo" is no number of days, and whoever needs a date adds
//     months on the calendar. Days and weeks are times of exactly 24 h and 168 h.
//   - Temperatures have a zero that is not nothing: In, Exact and Cmp know it; Add and Sub take their argument as a difference.
//   - Graded words (ok, watch, bad) are not quantities, and a reading's test condition ("at 40 psi") is a second quantity beside the first.
//
// Arithmetic across dimensions goes through [Product], which is told the unit of its result; field capacity, the one product the trade uses daily, and
// the time an area takes are functions of their own. It holds no limit, rate or setting of any machine: the operator's manual does.
package quantity

import (
	"fmt"
	"strconv"
)

// maxDigits is the greatest number of digits of an amount, and of decimals: 15 decimal digits survive a float64 (IEEE 754 binary64), so a
// reader in another language that uses one still gets the number that was signed.
const maxDigits = 15

// limit is 10^maxDigits: every coefficient is smaller in size.
const limit = 1_000_000_000_000_000

// Quantity is an exact decimal with a unit: coefficient / 10^decimals. It is comparable: == and Equal hold for the same number in the same
// unit, so 1 ft != 12 in; use Cmp for size. The zero Quantity is the number 0 without a unit, a valid count; where "none given" must be told
// from a count of 0, hold a pointer.
type Quantity struct {
	coef int64 // size below limit
	dec  uint8 // decimals, at most maxDigits; 0 or coef not divisible by 10
	unit Unit
}

// New returns coef / 10^decimals in the given unit. What does not fit in 15 digits is rounded, half to even, to the decimals that fit; a
// whole part of more than 15 digits is held at 999999999999999.
func New(coef int64, decimals uint8, u Unit) Quantity {
	for decimals > 0 && coef%10 == 0 && coef != 0 {
		coef /= 10
		decimals--
	}
	if coef == 0 {
		return Quantity{unit: u}
	}
	if decimals <= maxDigits && -limit < coef && coef < limit {
		return Quantity{coef, decimals, u}
	}
	return held(ratOf(coef, int(decimals)), u, maxDigits)
}

// Whole returns n in the given unit, held at 15 digits as New does.
func Whole(n int64, u Unit) Quantity { return New(n, 0, u) }

// String is the stored and signed form: the number, and where there is a unit one space and its one spelling. "5.25 in", "2 %", "6".
func (q Quantity) String() string {
	if q.unit == (Unit{}) {
		return q.Number()
	}
	return q.Number() + " " + q.unit.String()
}

// Number is the number alone, with a point and without trailing zeros or an exponent: "5.25", "-0.5", "1812".
func (q Quantity) Number() string {
	if q.dec == 0 {
		return strconv.FormatInt(q.coef, 10)
	}
	var buf [maxDigits + 3]byte
	i, n := len(buf), q.coef
	if n < 0 {
		n = -n
	}
	for d := 0; d <= int(q.dec) || n > 0; d++ {
		if d == int(q.dec) {
			i--
			buf[i] = '.'
		}
		i--
		buf[i] = byte('0' + n%10)
		n /= 10
	}
	if q.coef < 0 {
		i--
		buf[i] = '-'
	}
	return string(buf[i:])
}

// Unit is the unit the amount is written in.
func (q Quantity) Unit() Unit { return q.unit }

// Dimension is what kind of quantity it is: q.Unit().Dimension().
func (q Quantity) Dimension() Dimension { return q.unit.Dimension() }

// IsZero reports whether q is the zero Quantity, the bare number 0. "0 in" is not: see Sign.
func (q Quantity) IsZero() bool { return q == Quantity{} }

// Equal reports q == o: the same number in the same unit.
func (q Quantity) Equal(o Quantity) bool { return q == o }

// Sign is -1, 0 or 1 as the number is below, at or above 0 of its unit.
func (q Quantity) Sign() int {
	switch {
	case q.coef < 0:
		return -1
	case q.coef > 0:
		return 1
	}
	return 0
}

// Neg is the amount with the other sign.
func (q Quantity) Neg() Quantity { return Quantity{-q.coef, q.dec, q.unit} }

// Abs is the amount without its sign.
func (q Quantity) Abs() Quantity {
	if q.coef < 0 {
		return q.Neg()
	}
	return q
}

// MarshalText gives the stored form, String. It never fails.
func (q Quantity) MarshalText() ([]byte, error) { return []byte(q.String()), nil }

// UnmarshalText reads the stored form and nothing else: signed data has one spelling. What Parse would take in another form is refused with
// the form that is right.
func (q *Quantity) UnmarshalText(text []byte) error {
	if p, ok := parseStored(string(text)); ok {
		*q = p
		return nil
	}
	p, err := Parse(string(text))
	if err != nil {
		return fmt.Errorf("stored amount: %w", err)
	}
	return fmt.Errorf("stored amount %q is not in its one form: that is %q", text, p.String())
}
