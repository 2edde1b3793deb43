package quantity_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"shedbook/rules/quantity"
)

func amounts(list ...string) []quantity.Quantity {
	var out []quantity.Quantity
	for _, s := range list {
		out = append(out, quantity.MustParse(s))
	}
	return out
}

// Spacing and drill calibration as extension services print them. exact is worked out on paper from the definitions (43,560 ft2 an acre, 453.59237 g a
// pound); printed is the page's own figure, with within what its rounding allows.
func TestProductsInPrint(t *testing.T) {
	for _, c := range []struct {
		source          string
		times, by       []quantity.Quantity
		unit            string
		exact           string
		printed, within float64
	}{
		// Southeast Farm Press, "Cover crop mixtures require properly calibrated grain drill".
		{"24 openers at 7.5 in", amounts("24", "7.5 in"), nil, "ft", "15", 15, 0},
		{"the same in inches", amounts("24", "7.5 in"), nil, "in", "180", 180, 0},
		{"a twentieth of an acre", amounts("0.05 ac"), nil, "ft2", "2178", 2178, 0},
		{"and 15 ft wide", amounts("0.05 ac"), amounts("15 ft"), "ft", "145.2", 145.2, 0},
		// Soil Health Labs (South Dakota), "How to calibrate a grain drill", part 5: 8 ft round the wheel, 0.625 ft of row, 20 turns, 25 lb/ac. With the page's
		// 454 g to the pound it is 26.056 g.
		{"test area", amounts("20 turns", "8 ft", "0.625 ft"), nil, "ft2", "100", 100, 0},
		{"grams in it at 25 lb/ac", amounts("100 ft2", "25 lb/ac"), nil, "g", "26.0326", 26.056, 0.03},
		{"and back", amounts("26.0326 g"), amounts("20 turns", "8 ft", "0.625 ft"), "lb/ac", "25", 25, 0.0001},
		// University of Kentucky, wheat seeding: 50 ft on a wheel of 60 in (turns worked out), row inches for a square foot, seeds for a foot of row.
		{"turns in 50 ft", amounts("50 ft"), amounts("60 in"), "turns", "10", 10, 0},
		{"1 ft2 of 4 in rows", amounts("1 ft2"), amounts("4 in"), "in", "36", 36, 0},
		{"1 ft2 of 6 in rows", amounts("1 ft2"), amounts("6 in"), "in", "24", 24, 0},
		{"1 ft2 of 7 in rows", amounts("1 ft2"), amounts("7 in"), "in", "20.5714", 20.6, 0.05},
		{"1 ft2 of 8 in rows", amounts("1 ft2"), amounts("8 in"), "in", "18", 18, 0},
		{"1 ft2 of 10 in rows", amounts("1 ft2"), amounts("10 in"), "in", "14.4", 14.4, 0},
		{"35 seeds/ft2, 4 in", amounts("35 seeds/ft2", "4 in"), nil, "seeds/ft", "11.6667", 12, 0.5},
		{"35 seeds/ft2, 6 in", amounts("35 seeds/ft2", "6 in"), nil, "seeds/ft", "17.5", 18, 0.5},
		{"35 seeds/ft2, 7 in", amounts("35 seeds/ft2", "7 in"), nil, "seeds/ft", "20.4167", 20, 0.5},
		{"35 seeds/ft2, 8 in", amounts("35 seeds/ft2", "8 in"), nil, "seeds/ft", "23.3333", 23, 0.5},
		{"35 seeds/ft2, 10 in", amounts("35 seeds/ft2", "10 in"), nil, "seeds/ft", "29.1667", 29, 0.5},
		{"30 seeds/ft2, 7 in", amounts("30 seeds/ft2", "7 in"), nil, "seeds/ft", "17.5", 17, 0.5},
		// The page's table of pounds an acre is rough: it is off by up to 2.5.
		{"10,000 seeds a pound", amounts("35 seeds/ft2", "1 lb"), amounts("10000 seeds"), "lb/ac", "152.46", 150, 3},
		{"16,000 seeds a pound", amounts("35 seeds/ft2", "1 lb"), amounts("16000 seeds"), "lb/ac", "95.2875", 95, 3},
		{"20,000 seeds a pound", amounts("30 seeds/ft2", "1 lb"), amounts("20000 seeds"), "lb/ac", "65.34", 65, 3},
		{"samples of 20 g in a pound", amounts("1 lb"), amounts("20 g"), "", "22.6796", 22.68, 0.005},
		// No-Till Farmer (University of Kentucky): grams from one row in 150 ft for each lb/ac.
		{"6 in rows", amounts("150 ft", "6 in", "1 lb/ac"), nil, "g", "0.781", 0.78, 0.006},
		{"7 in rows", amounts("150 ft", "7 in", "1 lb/ac"), nil, "g", "0.9111", 0.91, 0.006},
		{"7.5 in rows", amounts("150 ft", "7.5 in", "1 lb/ac"), nil, "g", "0.9762", 0.98, 0.006},
		{"8 in rows", amounts("150 ft", "8 in", "1 lb/ac"), nil, "g", "1.0413", 1.04, 0.006},
		// Penn State: 30 in rows; the page says "approximately 30,000" plants.
		{"row feet in an acre", amounts("1 ac"), amounts("30 in"), "ft", "17424", 17424, 0},
		{"1.7 plants a foot", amounts("1.7 plants/ft"), amounts("30 in"), "plants/ac", "29620.8", 30000, 400},
		// A thousandth of an acre: University of Tennessee (ft and in), Nebraska CropWatch (decimals; its 13.2 ft for 40 in is a misprint of 13.07).
		{"1/1000 ac, 15 in", amounts("0.001 ac"), amounts("15 in"), "ft", "34.848", 34 + 10.0/12, 1.0 / 24},
		{"1/1000 ac, 20 in", amounts("0.001 ac"), amounts("20 in"), "ft", "26.136", 26 + 2.0/12, 1.0 / 24},
		{"1/1000 ac, 28 in", amounts("0.001 ac"), amounts("28 in"), "ft", "18.6686", 18.7, 0.05},
		{"1/1000 ac, 30 in", amounts("0.001 ac"), amounts("30 in"), "ft", "17.424", 17 + 5.0/12, 1.0 / 24},
		{"1/1000 ac, 36 in", amounts("0.001 ac"), amounts("36 in"), "ft", "14.52", 14 + 6.0/12, 1.0 / 24},
		{"1/1000 ac, 38 in", amounts("0.001 ac"), amounts("38 in"), "ft", "13.7558", 13 + 9.0/12, 1.0 / 24},
		// University of Kentucky AEN-81 rounds its 448.5 to 450.
		{"375 plants a square yard", amounts("375 plants"), amounts("1 yd", "1 yd"), "plants/m2", "448.4963", 450, 1.6},
	} {
		u, err := quantity.ParseUnit(c.unit)
		if err != nil {
			t.Fatal(err)
		}
		got, err := quantity.Product(c.times, c.by, u, 4)
		if want := strings.TrimSpace(c.exact + " " + c.unit); err != nil || got.String() != want {
			t.Errorf("%s: %s, %v, want %s", c.source, got, err, want)
		}
		if diff := math.Abs(got.Float64() - c.printed); diff > c.within+1e-9 {
			t.Errorf("%s: %s, the page prints %g", c.source, got, c.printed)
		}
	}
}

func TestProductErrors(t *testing.T) {
	for _, c := range []struct {
		times, by []quantity.Quantity
		unit      string
		want      string
	}{
		{amounts("2 lb"), amounts("0 ft2"), "lb/ac", "cannot divide by 0 ft2"},
		{amounts("2 lb"), amounts("20 turns", "8 ft"), "lb/ac", "lb/ac is a mass per area, and that is not what these make"},
		{amounts("2 lb"), amounts("1 ac"), "gal/ac", "gal/ac is a volume per area, and that is not what these make"},
		{amounts("3 gal"), amounts("1 ft", "1 ft"), "ft", "ft is a length, and that is not what these make"},
		{amounts("3 in", "2 in", "1 in"), nil, "in3", "in3 is a volume, and that is not what these make"},
		{amounts("20 degC"), amounts("1 h"), "", "20 degC is a temperature, which is not multiplied"},
		{amounts("2 mo"), nil, "d", "2 mo is a calendar span, which is not multiplied"},
	} {
		u, err := quantity.ParseUnit(c.unit)
		if err != nil {
			t.Fatal(err)
		}
		if q, err := quantity.Product(c.times, c.by, u, 4); err == nil || err.Error() != c.want {
			t.Errorf("%v by %v in %q: %s, %v\nwant %s", c.times, c.by, c.unit, q, err, c.want)
		}
	}
	huge := quantity.MustParse("999999999999999 mi")
	if _, err := quantity.Product([]quantity.Quantity{huge, huge}, nil, quantity.MustUnit("in2"), 0); !errors.Is(err, quantity.ErrRange) {
		t.Errorf("got %v, want ErrRange", err)
	}
}

// Law: a product is field capacity where both can tell: width x speed x efficiency.
func TestProductIsFieldCapacity(t *testing.T) {
	for _, c := range fieldCapacities {
		f := amounts(c.width+" ft", c.speed+" mi/h", c.efficiency+" %")
		want, err := quantity.FieldCapacity(f[0], f[1], f[2])
		if err != nil {
			t.Fatal(err)
		}
		if got, err := quantity.Product(f, nil, quantity.MustUnit("ac/h"), 4); err != nil || got != want {
			t.Errorf("%v: %s, %v, want %s", f, got, err, want)
		}
	}
}

// Laws: the order of factors and the unit each is written in are no matter; what is multiplied by and divided by again is no matter; a product of one is
// that amount in the other unit.
func TestLawProduct(t *testing.T) {
	lengths := rapid.SampledFrom([]quantity.Unit{quantity.MustUnit("in"), quantity.MustUnit("ft"), quantity.MustUnit("m"), quantity.MustUnit("yd")})
	ft2, per := quantity.MustUnit("ft2"), quantity.MustUnit("lb/ac")
	rapid.Check(t, func(t *rapid.T) {
		a, b := shedNumber(lengths.Draw(t, "u")).Draw(t, "a"), shedNumber(lengths.Draw(t, "v")).Draw(t, "b")
		caught := shedNumber(quantity.MustUnit("g")).Draw(t, "caught")
		of := func(u quantity.Unit, times, by []quantity.Quantity) quantity.Quantity {
			q, err := quantity.Product(times, by, u, 6)
			if errors.Is(err, quantity.ErrRange) { // a heap of seed on a speck of ground
				t.Skip(err)
			}
			if err != nil {
				t.Fatal(err)
			}
			return q
		}
		list := func(q ...quantity.Quantity) []quantity.Quantity { return q }
		area := of(ft2, list(a, b), nil)
		if other := of(ft2, list(b, a), nil); other != area {
			t.Fatalf("%s x %s is %s, the other way round %s", a, b, area, other)
		}
		inches, err := a.Exact(quantity.MustUnit("mm"))
		if err == nil {
			if other := of(ft2, list(inches, b), nil); other != area {
				t.Fatalf("%s x %s is %s, of %s %s", a, b, area, inches, other)
			}
		}
		if one, err := a.In(b.Unit(), 6); err != nil || of(b.Unit(), list(a), nil) != one {
			t.Fatalf("%s alone is not %s, %v", a, one, err)
		}
		if a.Sign() == 0 || b.Sign() == 0 {
			return
		}
		rate := of(per, list(caught), list(a, b))
		if other := of(per, list(caught, a), list(a, b, a)); other != rate {
			t.Fatalf("%s over %s x %s is %s, with %s in both %s", caught, a, b, rate, a, other)
		}
	})
}
