package main

import (
	"fmt"
	"math/big"

	"shedbook/cmd/shedbook/internal/sentence"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// tapeStep is the finest line of a common tape in inches.
const tapeStep = 16

// onTape is a number of inches in whole ones and sixteenths, as a tape shows them: "5 7/16". up rounds up to the next line, below 0 down, 0 to the nearest one.
func onTape(q quantity.Quantity, up int) string {
	n := new(big.Rat).Mul(q.Rat(), big.NewRat(tapeStep, 1))
	switch {
	case up == 0:
		n.Add(n, big.NewRat(1, 2))
	case up > 0:
		n.Neg(n)
	}
	lines := new(big.Int).Div(n.Num(), n.Denom()).Int64() // Euclidean: down
	if up > 0 {
		lines = -lines
	}
	sign := ""
	if lines < 0 {
		sign, lines = "-", -lines
	}
	whole, part := lines/tapeStep, big.NewRat(lines%tapeStep, tapeStep)
	switch {
	case part.Sign() == 0:
		return sign + fmt.Sprint(whole)
	case whole == 0:
		return sign + part.String()
	}
	return sign + fmt.Sprint(whole, " ", part)
}

// inInches reports an amount that the page shows in inches.
func (s *saleFile) inInches(q quantity.Quantity) (quantity.Quantity, bool) {
	q = q.Usual(s.c.system)
	return q, q.Unit().String() == "in"
}

// size is a size as a tape shows it where it lies on a line of one, else as it is written.
func (s *saleFile) size(q quantity.Quantity) string {
	if x, ok := s.inInches(q); ok && onTape(x, 1) == onTape(x, -1) {
		return onTape(x, 0) + " in"
	}
	return sentence.Value(record.Amount(q), s.c.system)
}

// about is a size that was worked out, to what a tape shows.
func (s *saleFile) about(q quantity.Quantity) string {
	if x, ok := s.inInches(q); ok {
		return onTape(x, 0) + " in"
	}
	return sentence.Value(record.Amount(asOnTape(q)), s.c.system)
}

// limit is a limit with the line of a tape nearest to it, where it lies on none.
func (s *saleFile) limit(q quantity.Quantity) string {
	x, ok := s.inInches(q)
	if !ok || onTape(x, 1) == onTape(x, -1) {
		return s.size(q)
	}
	return s.size(q) + ", a little " + iff(onTape(x, 0) == onTape(x, -1), "over ") + iff(onTape(x, 0) != onTape(x, -1), "under ") + onTape(x, 0)
}

// between is what a tape may show: from and to, rounded outwards.
func (s *saleFile) between(expected, within quantity.Quantity) string {
	low, errLow := expected.Sub(within)
	high, errHigh := expected.Add(within)
	if errLow != nil || errHigh != nil {
		return s.about(expected)
	}
	x, inches := s.inInches(low)
	y, _ := s.inInches(high)
	if inches {
		return onTape(x, -1) + " to " + onTape(y, 1) + " in"
	}
	return sentence.Value(record.Amount(asOnTape(low)), s.c.system) + " to " + sentence.Value(record.Amount(asOnTape(high)), s.c.system)
}
