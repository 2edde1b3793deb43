package quantity

import (
	"fmt"
	"math/big"
)

// shape is what a dimension is made of: powers of length, volume, mass, time and, of what has only itself for a base, of that. Volume stands for itself,
// not for a length cubed: nobody works out litres from lengths in a field, and so gallons an acre are never taken for feet.
type shape struct{ length, volume, mass, time int8 }

// shapes are the dimensions that take part in products; counts, ratios and angles are plain numbers. Temperatures (with a zero that is not nothing) and
// calendar spans (of no fixed length) take no part, nor what no rate in the trade is made of.
var shapes = map[Dimension]shape{
	Count: {}, Ratio: {}, Angle: {},
	Length: {length: 1}, Area: {length: 2}, Volume: {volume: 1}, Mass: {mass: 1}, Time: {time: 1},
	Flow: {volume: 1, time: -1}, MassFlow: {mass: 1, time: -1}, VolumePerArea: {volume: 1, length: -2}, MassPerArea: {mass: 1, length: -2},
	CountPerArea: {length: -2}, CountPerLength: {length: -1}, Speed: {length: 1, time: -1}, AreaRate: {length: 2, time: -1}, Rotation: {time: -1}, Frequency: {time: -1},
}

func (s *shape) add(o shape, sign int8) {
	s.length += sign * o.length
	s.volume += sign * o.volume
	s.mass += sign * o.mass
	s.time += sign * o.time
}

// Product multiplies some amounts, divides by others, and gives the result in u, rounded half to even at the given decimal places: 2.4 lb caught, by 20
// turns, 8 ft of wheel a turn and 7.5 in of row, is a rate in lb/ac. Exact but for that one rounding. Errors: amounts that make no such thing as u, a
// dimension that takes no part in products, a division by nothing, a result of more than 15 digits (ErrRange).
func Product(times, by []Quantity, u Unit, places int) (Quantity, error) {
	r, made := big.NewRat(1, 1), shape{}
	for i, q := range append(append([]Quantity(nil), times...), by...) {
		s, ok := shapes[q.Dimension()]
		switch {
		case !ok:
			return Quantity{}, misfit{fmt.Sprintf("%s is %s, which is not multiplied", q, q.Dimension().article())}
		case i < len(times):
			made.add(s, 1)
			r.Mul(r, q.inBase())
		case q.Sign() == 0:
			return Quantity{}, fmt.Errorf("cannot divide by %s", q)
		default:
			made.add(s, -1)
			r.Quo(r, q.inBase())
		}
	}
	want, ok := shapes[u.Dimension()]
	if !ok || want != made {
		return Quantity{}, misfit{fmt.Sprintf("%s is %s, and that is not what these make", u.named(), u.Dimension().article())}
	}
	return FromRat(r.Quo(r, units[u.index].factor), u, places)
}
