package quantity

import (
	"fmt"
	"math/big"
)

// rateDecimals are the decimals of a computed field capacity or work time: finer than any width or speed in the field is known.
const rateDecimals = 4

// FieldCapacity is the area a machine of the given working width covers in an hour of work at the given speed, with the given field
// efficiency (a ratio above 0 and up to 100 %): width x speed x efficiency, in ac/h where the width is in a US unit and else in ha/h, rounded
// half to even at four decimals.
//
// With the width in ft and the speed in mi/h it is the handbooks' width x speed x efficiency / 8.25 (43,560 ft2 an acre / 5,280 ft a mile =
// 8.25 exactly; Iowa State University Extension A3-24, "Estimating the Field Capacity of Farm Machines").
func FieldCapacity(width, speed, efficiency Quantity) (Quantity, error) {
	if err := positive("working width", width, Length, "40 ft"); err != nil {
		return Quantity{}, err
	}
	if err := positive("speed", speed, Speed, "5 mi/h"); err != nil {
		return Quantity{}, err
	}
	if err := positive("field efficiency", efficiency, Ratio, "70 %"); err != nil {
		return Quantity{}, err
	}
	share := efficiency.inBase()
	if share.Cmp(one) > 0 {
		return Quantity{}, fmt.Errorf("field efficiency %s is more than 100 %%: give the share of the time spent working, such as 70 %%", efficiency)
	}
	u := haPerHour
	if width.unit.System() == US {
		u = acPerHour
	}
	r := new(big.Rat).Mul(width.inBase(), speed.inBase())
	r.Mul(r, share).Quo(r, units[u.index].factor)
	return FromRat(r, u, rateDecimals)
}

// WorkTime is the time, in h, that an area takes at a field capacity: area / capacity, rounded half to even at four decimals. Area may be 0.
func WorkTime(area, capacity Quantity) (Quantity, error) {
	if area.Dimension() != Area || area.Sign() < 0 {
		return Quantity{}, fmt.Errorf("area %s: give an area of 0 or more, such as 160 ac", area)
	}
	if err := positive("field capacity", capacity, AreaRate, "15 ac/h"); err != nil {
		return Quantity{}, err
	}
	r := area.inBase()
	r.Quo(r, capacity.inBase()).Quo(r, hour)
	return FromRat(r, hours, rateDecimals)
}

var acPerHour, haPerHour, hours = byName["ac/h"], byName["ha/h"], byName["h"]

// positive refuses an amount that is not above 0 of its dimension, or of another one.
func positive(what string, q Quantity, d Dimension, such string) error {
	if q.Dimension() != d {
		return misfit{fmt.Sprintf("%s %s is %s: give %s, such as %s", what, q, q.Dimension().article(), d.article(), such)}
	}
	if q.Sign() <= 0 {
		return fmt.Errorf("%s %s: give more than 0, such as %s", what, q, such)
	}
	return nil
}
