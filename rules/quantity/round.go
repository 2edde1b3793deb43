package quantity

import (
	"errors"
	"fmt"
	"math/big"
)

// ErrInexact is wrapped by errors about a number that no decimal of 15 digits equals.
var ErrInexact = errors.New("no decimal of 15 digits is exactly that")

// ErrRange is wrapped by errors about a number of more than 15 digits before the point.
var ErrRange = errors.New("amounts have at most 15 digits")

// pow10 is 10^n.
func pow10(n int) *big.Int { return new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(n)), nil) }

// ratOf is coef / 10^dec.
func ratOf(coef int64, dec int) *big.Rat { return new(big.Rat).SetFrac(big.NewInt(coef), pow10(dec)) }

// FromRat is r in unit u, rounded half to even at the given decimal places (0 to 15; fewer where 15 digits leave no room for them). A whole
// part of more than 15 digits is an error that wraps ErrRange.
func FromRat(r *big.Rat, u Unit, places int) (Quantity, error) {
	if q, ok := rounded(r, u, places); ok {
		return q, nil
	}
	return Quantity{}, fmt.Errorf("%s %s is too large: %w", r.FloatString(0), u.named(), ErrRange)
}

// rounded rounds once, at places or the last place that 15 digits allow; false where the whole part alone has more.
func rounded(r *big.Rat, u Unit, places int) (Quantity, bool) {
	for places = min(max(places, 0), maxDigits); places >= 0; places-- {
		n := halfEven(r, places)
		if !n.IsInt64() {
			continue
		}
		if c := n.Int64(); -limit < c && c < limit {
			return New(c, uint8(places), u), true
		}
	}
	return Quantity{}, false
}

// held is rounded, with what is too large held at the greatest amount.
func held(r *big.Rat, u Unit, places int) Quantity {
	if q, ok := rounded(r, u, places); ok {
		return q
	}
	return Quantity{int64(r.Sign()) * (limit - 1), 0, u}
}

// halfEven is r x 10^places rounded to a whole number, halves to the even one.
func halfEven(r *big.Rat, places int) *big.Int {
	num := new(big.Int).Mul(r.Num(), pow10(places))
	den := r.Denom()
	n, rest := new(big.Int), new(big.Int)
	n.QuoRem(num, den, rest) // toward zero
	switch twice := rest.Lsh(rest.Abs(rest), 1).Cmp(den); {
	case twice > 0, twice == 0 && n.Bit(0) == 1:
		n.Add(n, big.NewInt(int64(num.Sign())))
	}
	return n
}

// exact is r in unit u where a decimal of 15 digits equals it.
func exact(r *big.Rat, u Unit) (Quantity, bool) {
	q, ok := rounded(r, u, maxDigits)
	return q, ok && q.Rat().Cmp(r) == 0
}
