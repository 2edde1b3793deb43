package quantity

import (
	"fmt"
	"math/big"
	"math/bits"
)

// Decimals are the digits after the point of its number: 2 for 5.25 in.
func (q Quantity) Decimals() int { return int(q.dec) }

// Between is a + (b - a) x part/all, worked out exactly and rounded half to even at the given decimal places as FromRat rounds; all is above nothing.
// Both are in one unit: others, even if they convert, are an error that wraps ErrMismatch.
func Between(a, b Quantity, part, all int64, places int) (Quantity, error) {
	if a.unit != b.unit {
		return Quantity{}, fmt.Errorf("cannot work out what lies between %s and %s: %w", a, b, ErrMismatch)
	}
	if q, ok := between(a, b, part, all, places); ok {
		return q, nil
	}
	y := new(big.Rat).Sub(b.Rat(), a.Rat())
	y.Mul(y, big.NewRat(part, all)).Add(y, a.Rat())
	return FromRat(y, a.unit, places)
}

// between is Between in whole numbers of machine words: a replay asks it for every counter at every entry, and fractions of any size take ten times as
// long. false where it does not fit, or where places rounds a itself.
func between(a, b Quantity, part, all int64, places int) (Quantity, bool) {
	if places > maxDigits || int(a.dec) > places || int(b.dec) > places || part < 0 || all <= 0 {
		return Quantity{}, false
	}
	from, ok := scaled(a.coef, places-int(a.dec))
	to, also := scaled(b.coef, places-int(b.dec))
	if !ok || !also || to < from {
		return Quantity{}, false
	}
	high, low := bits.Mul64(uint64(to-from), uint64(part))
	if high >= uint64(all) {
		return Quantity{}, false
	}
	more, rest := bits.Div64(high, low, uint64(all))
	if more >= limit {
		return Quantity{}, false
	}
	sum := from + int64(more) // rest/all above it: rest is below all, so the half is told without doubling
	if half := uint64(all) - rest; rest > half || rest == half && sum&1 != 0 {
		sum++
	}
	if sum <= -limit || sum >= limit {
		return Quantity{}, false
	}
	return New(sum, uint8(places), a.unit), true
}

// scaled is n x 10^by; false where that is no amount.
func scaled(n int64, by int) (int64, bool) {
	for range by {
		if n *= 10; n <= -limit || n >= limit {
			return 0, false
		}
	}
	return n, true
}
