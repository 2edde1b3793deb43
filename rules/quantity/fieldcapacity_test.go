package quantity_test

import (
	"errors"
	"math"
	"testing"

	"shedbook/rules/quantity"
)

// Iowa State University Extension, "Estimating the Field Capacity of Farm Machines", Table 1: working width in ft, speed in mi/h, field
// efficiency in %, and the printed effective field capacity in ac/h. Editions: AgDM A3-24 and its forerunner PM 696. The capacity is printed
// to 0.1. Widths of knife applicators are knives x 30 in. The last three rows are from a trade article by an engineer of
// the same service.
var fieldCapacities = []struct{ width, speed, efficiency, printed string }{
	{"40", "6", "70", "20.4"}, {"50", "6", "70", "25.5"}, {"60", "6", "68", "29.7"}, {"60", "12", "68", "59.3"}, {"80", "6", "68", "39.6"},
	{"80", "12", "68", "79.1"}, {"10", "5", "63", "3.8"}, {"15", "5", "63", "5.7"}, {"15", "6", "63", "6.9"}, {"20", "6", "63", "9.2"},
	{"30", "6", "60", "13.1"}, {"36", "5", "60", "13.1"}, {"45", "5", "60", "16.4"}, {"22.5", "5", "65", "8.9"}, {"32.5", "5", "65", "12.8"},
	{"42.5", "5", "63", "16.2"}, {"37.5", "6", "65", "17.7"}, {"42.5", "6", "63", "19.5"}, {"57.5", "5", "63", "22.0"},
	{"9.333333", "5", "85", "4.8"}, {"10.666667", "5", "85", "5.5"}, {"12", "5", "85", "6.2"}, {"15", "5", "83", "7.5"}, {"18", "5", "83", "9.1"},
	{"11.25", "5.5", "85", "6.4"}, {"13.75", "5.5", "85", "7.8"}, {"16.25", "5.5", "83", "9.0"},
	{"30", "5", "100", "18.2"}, {"30", "5", "80", "14.5"}, {"30", "5", "60", "10.9"},
}

func TestFieldCapacityTable(t *testing.T) {
	for _, c := range fieldCapacities {
		got, err := quantity.FieldCapacity(quantity.MustParse(c.width+" ft"), quantity.MustParse(c.speed+" mi/h"), quantity.MustParse(c.efficiency+" %"))
		if err != nil {
			t.Error(err)
			continue
		}
		printed := quantity.MustParse(c.printed + " ac/h")
		if diff := math.Abs(got.Float64() - printed.Float64()); got.Unit() != printed.Unit() || diff > 0.06 {
			t.Errorf("%s ft, %s mi/h, %s %%: %s, printed %s", c.width, c.speed, c.efficiency, got, printed)
		}
	}
}

func TestFieldCapacity(t *testing.T) {
	for _, c := range []struct{ width, speed, efficiency, want string }{
		// 43,560 / 5,280 = 8.25 exactly.
		{"8.25 ft", "1 mi/h", "100 %", "1 ac/h"},
		{"33 ft", "5 mi/h", "100 %", "20 ac/h"},
		{"396 in", "5 mi/h", "100 %", "20 ac/h"},
		// GRDC (Grains Research and Development Corporation): 18.33 m at 8 km/h and 80 % work 11.73 ha/h; km/h x m x efficiency / 10.
		{"18.33 m", "8 km/h", "80 %", "11.7312 ha/h"},
		{"10 m", "10 km/h", "100 %", "10 ha/h"},
		// Mixed systems follow the width.
		{"33 ft", "8.04672 km/h", "100 %", "20 ac/h"},
	} {
		got, err := quantity.FieldCapacity(quantity.MustParse(c.width), quantity.MustParse(c.speed), quantity.MustParse(c.efficiency))
		if err != nil || got.String() != c.want {
			t.Errorf("%s, %s, %s: %s, %v, want %s", c.width, c.speed, c.efficiency, got, err, c.want)
		}
	}
}

func TestFieldCapacityErrors(t *testing.T) {
	for _, c := range []struct{ width, speed, efficiency, want string }{
		{"40 ac", "5 mi/h", "70 %", "working width 40 ac is an area: give a length, such as 40 ft"},
		{"0 ft", "5 mi/h", "70 %", "working width 0 ft: give more than 0, such as 40 ft"},
		{"40 ft", "-5 mi/h", "70 %", "speed -5 mi/h: give more than 0, such as 5 mi/h"},
		{"40 ft", "5 mi", "70 %", "speed 5 mi is a length: give a speed, such as 5 mi/h"},
		{"40 ft", "5 mi/h", "0.7", "field efficiency 0.7 is a count: give a ratio, such as 70 %"},
		{"40 ft", "5 mi/h", "101 %", "field efficiency 101 % is more than 100 %: give the share of the time spent working, such as 70 %"},
		{"40 ft", "5 mi/h", "0 %", "field efficiency 0 %: give more than 0, such as 70 %"},
	} {
		q, err := quantity.FieldCapacity(quantity.MustParse(c.width), quantity.MustParse(c.speed), quantity.MustParse(c.efficiency))
		if err == nil || err.Error() != c.want {
			t.Errorf("%s, %s, %s: %s, %v\nwant %s", c.width, c.speed, c.efficiency, q, err, c.want)
		}
	}
	mi := quantity.MustParse("999999999999999 mi")
	if _, err := quantity.FieldCapacity(mi, quantity.MustParse("999999999999999 mi/h"), quantity.MustParse("100 %")); !errors.Is(err, quantity.ErrRange) {
		t.Errorf("got %v, want ErrRange", err)
	}
}

func TestWorkTime(t *testing.T) {
	for _, c := range []struct{ area, capacity, want string }{
		{"160 ac", "20 ac/h", "8 h"},
		{"100 ha", "11.7312 ha/h", "8.5243 h"},
		{"1 ha", "2.5 ac/h", "0.9884 h"}, // 2.47105 ac
		{"0 ac", "20 ac/h", "0 h"},
	} {
		got, err := quantity.WorkTime(quantity.MustParse(c.area), quantity.MustParse(c.capacity))
		if err != nil || got.String() != c.want {
			t.Errorf("%s at %s: %s, %v, want %s", c.area, c.capacity, got, err, c.want)
		}
	}
	for _, c := range []struct{ area, capacity, want string }{
		{"160 h", "20 ac/h", "area 160 h: give an area of 0 or more, such as 160 ac"},
		{"-1 ac", "20 ac/h", "area -1 ac: give an area of 0 or more, such as 160 ac"},
		{"160 ac", "0 ac/h", "field capacity 0 ac/h: give more than 0, such as 15 ac/h"},
		{"160 ac", "20 ac", "field capacity 20 ac is an area: give an area per time, such as 15 ac/h"},
	} {
		if q, err := quantity.WorkTime(quantity.MustParse(c.area), quantity.MustParse(c.capacity)); err == nil || err.Error() != c.want {
			t.Errorf("%s at %s: %s, %v, want %s", c.area, c.capacity, q, err, c.want)
		}
	}
}
