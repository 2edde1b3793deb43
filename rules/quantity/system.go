package quantity

import (
	"fmt"
	"math/big"
)

// System is the family of units a person wants to read.
type System uint8

// AsWritten leaves every amount in the unit it was recorded in.
const (
	AsWritten System = iota
	US
	Metric
)

// ParseSystem reads "us" or "metric", in any case; "" is AsWritten.
func ParseSystem(s string) (System, error) {
	switch lower(s) {
	case "":
		return AsWritten, nil
	case "us":
		return US, nil
	case "metric":
		return Metric, nil
	}
	return AsWritten, fmt.Errorf("unknown units %q: write us or metric", s)
}

// String is "us", "metric" or "as written".
func (s System) String() string {
	switch s {
	case US:
		return "us"
	case Metric:
		return "metric"
	}
	return "as written"
}

// Usual is the unit in which people of system s read amounts in u: mm for in, ha for ac, bar for psi, degC for degF. It is u itself for
// AsWritten, for units of that system and for units that serve both. Bushels (a measure of grain by mass or volume, as the crop has it) and
// imperial gallons stay as they are.
func (u Unit) Usual(s System) Unit {
	d := &units[u.index]
	if s == AsWritten || d.system == AsWritten || d.system == s {
		return u
	}
	return byName[d.usual.name]
}

// Usual is the amount in the usual unit of system s, rounded for reading: to the decimals that suit the unit (0.1 mm, 0.1 ha, 1 N.m), or more
// where that leaves fewer than three figures (0.001 in is 0.0254 mm). An amount whose unit does not change is not rounded.
func (q Quantity) Usual(s System) Quantity {
	u := q.unit.Usual(s)
	if u == q.unit {
		return q
	}
	r, err := q.expressed(u)
	if err != nil {
		return q // the table pairs units of one dimension: a test holds it to that
	}
	return q.rounded(r, u)
}

// UsualDifference is Usual for how far apart two amounts are, or how fast one changes: of temperatures the zero is left out, 20 degC apart is 36 degF.
func (q Quantity) UsualDifference(s System) Quantity {
	u := q.unit.Usual(s)
	if u == q.unit {
		return q
	}
	r := q.Rat()
	r.Mul(r, units[q.unit.index].factor)
	r.Quo(r, units[u.index].factor)
	return held(r, u, max(units[q.unit.index].usual.places, placesFor(r, 3)))
}

// rounded is r of u, as suits an amount that was q.
func (q Quantity) rounded(r *big.Rat, u Unit) Quantity {
	places := units[q.unit.index].usual.places
	if u.Dimension() != Temperature {
		places = max(places, placesFor(r, 3))
	}
	return held(r, u, places)
}

// Show is the amount for a person who reads units of system s: String of Usual.
func (q Quantity) Show(s System) string { return q.Usual(s).String() }

// placesFor is how many decimals give r the wanted figures: 3 for 5.81, 4 for 0.127 with four figures.
func placesFor(r *big.Rat, figures int) int {
	if r.Sign() == 0 {
		return 0
	}
	size, bound := new(big.Rat).Abs(r), big.NewRat(1, 1)
	places, ten := figures, big.NewRat(10, 1)
	for size.Cmp(bound) >= 0 && places > 0 { // one figure before the point for each power of ten reached
		bound.Mul(bound, ten)
		places--
	}
	for bound.SetInt64(1); places >= figures && places < maxDigits; places++ {
		bound.Quo(bound, ten)
		if size.Cmp(bound) >= 0 {
			break
		}
	}
	return places
}
