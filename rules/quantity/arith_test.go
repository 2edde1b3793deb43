package quantity_test

import (
	"errors"
	"math/big"
	"testing"

	"shedbook/rules/quantity"
)

func TestCmp(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{
		{"12 in", "1 ft", 0},
		{"25.4 mm", "1 in", 0},
		{"25.3 mm", "1 in", -1},
		{"0.1 in", "0.10 in", 0},
		{"0.1 in", "0.09 in", 1},
		{"-5 in", "1 mm", -1},
		{"999999999999999 in", "0.000000000000001 in", 1},
		{"100 in", "99.999999999999 in", 1},
		{"1 ac", "43560 ft2", 0},
		{"2.4710538 ac", "1 ha", -1}, // 1 ha = 2.47105381 ac (10000 / 4046.8564224)
		{"2.4710539 ac", "1 ha", 1},
		{"1 wk", "168 h", 0},
		{"12 mo", "1 yr", 0},
		{"100 degC", "212 degF", 0},
		{"0 degC", "0 degF", 1},
		{"3 bales", "2", 1},
		{"2 %", "20000 ppm", 0},
	} {
		a, b := quantity.MustParse(c.a), quantity.MustParse(c.b)
		if got, err := a.Cmp(b); err != nil || got != c.want {
			t.Errorf("%s against %s: %d, %v, want %d", a, b, got, err, c.want)
		}
		if got, err := b.Cmp(a); err != nil || got != -c.want {
			t.Errorf("%s against %s: %d, %v, want %d", b, a, got, err, -c.want)
		}
	}
}

func TestAddSub(t *testing.T) {
	for _, c := range []struct{ a, op, b, want string }{
		{"5.25 in", "+", "0.75 in", "6 in"},
		{"5.25 in", "-", "5.25 in", "0 in"},
		{"1812 ac", "+", "0.5 ac", "1812.5 ac"},
		{"1 ft", "+", "3 in", "1.25 ft"},
		{"1 mm", "+", "1 in", "26.4 mm"},
		{"250 h", "+", "30 min", "250.5 h"},
		{"1 in", "+", "0.00001 in", "1.00001 in"}, // decimals too far apart for the short way
		{"2 bales", "+", "1", "3 bales"},
		{"2", "+", "1 bales", "3"},
		{"10 mo", "+", "1 yr", "22 mo"},
	} {
		a, b := quantity.MustParse(c.a), quantity.MustParse(c.b)
		f := a.Add
		if c.op == "-" {
			f = a.Sub
		}
		if got, err := f(b); err != nil || got.String() != c.want {
			t.Errorf("%s %s %s = %s, %v, want %s", a, c.op, b, got, err, c.want)
		}
	}
}

func TestArithmeticErrors(t *testing.T) {
	q := quantity.MustParse
	in, ac := quantity.MustUnit("in"), quantity.MustUnit("ac")
	fail := func(_ any, err error) error { return err }
	for _, c := range []struct {
		got  error
		want string
		is   error
	}{
		{fail(q("5 in").Cmp(q("3 ac"))), "cannot compare 5 in with 3 ac: in is a length, ac is an area", quantity.ErrMismatch},
		{fail(q("5 bales").Cmp(q("3 seeds"))), "cannot compare 5 bales with 3 seeds: bales are not seeds", quantity.ErrMismatch},
		{fail(q("5 in").Cmp(q("3"))), "cannot compare 5 in with 3: in is a length, a bare number is a count", quantity.ErrMismatch},
		{fail(q("5 in").Add(q("3 ac"))), "cannot work out 5 in + 3 ac: in is a length, ac is an area", quantity.ErrMismatch},
		{fail(q("1 d").Sub(q("1 mo"))), "cannot work out 1 d - 1 mo: d is a time, mo is a calendar span", quantity.ErrMismatch},
		{fail(q("1 in").Add(q("1 mm"))), "1 in + 1 mm in in: no decimal of 15 digits is exactly that", quantity.ErrInexact},
		{fail(q("1 ft").Sub(q("14 in"))), "1 ft - 14 in in ft: no decimal of 15 digits is exactly that", quantity.ErrInexact},
		{fail(q("999999999999999").Add(q("1"))), "999999999999999 + 1 in a bare number: no decimal of 15 digits is exactly that", quantity.ErrInexact},
		{fail(q("5 in").In(ac, 2)), "cannot give 5 in in ac: in is a length, ac is an area", quantity.ErrMismatch},
		{fail(q("1 mm").Exact(in)), "1 mm in in: no decimal of 15 digits is exactly that", quantity.ErrInexact},
		{fail(q("1 mm").Exact(ac)), "cannot give 1 mm in ac: mm is a length, ac is an area", quantity.ErrMismatch},
		{fail(q("999999999999999 mi").In(in, 2)), "63359999999999936640 in is too large: amounts have at most 15 digits", quantity.ErrRange},
	} {
		if c.got == nil || c.got.Error() != c.want || !errors.Is(c.got, c.is) {
			t.Errorf("got %v\nwant %s", c.got, c.want)
		}
	}
}

// Halves go to the even digit, by hand (NIST SP 811 B.7.1 has the rule).
func TestRoundHalfEven(t *testing.T) {
	for _, c := range []struct {
		num, den int64
		places   int
		want     string
	}{
		{1, 2, 0, "0"}, {3, 2, 0, "2"}, {5, 2, 0, "2"}, {7, 2, 0, "4"},
		{-1, 2, 0, "0"}, {-3, 2, 0, "-2"}, {-5, 2, 0, "-2"},
		{125, 1000, 2, "0.12"}, {375, 1000, 2, "0.38"}, {-125, 1000, 2, "-0.12"},
		{1251, 10000, 2, "0.13"}, {1249, 10000, 2, "0.12"},
		{1, 3, 3, "0.333"}, {2, 3, 3, "0.667"}, {-2, 3, 3, "-0.667"},
		{1, 3, 15, "0.333333333333333"}, {1, 3, 99, "0.333333333333333"}, {2, 3, -3, "1"},
		{1234567, 3, 15, "411522.333333333"}, // 15 digits leave 9 decimals
		{999999, 1000000, 2, "1"},
		{9999999999999984, 10, 0, "999999999999998"},
	} {
		q, err := quantity.FromRat(big.NewRat(c.num, c.den), quantity.Unit{}, c.places)
		if err != nil || q.String() != c.want {
			t.Errorf("%d/%d at %d places = %s, %v, want %s", c.num, c.den, c.places, q, err, c.want)
		}
	}
}

// A whole part of 16 digits is an error, also where only the rounding makes it one.
func TestFromRatRange(t *testing.T) {
	for _, r := range []*big.Rat{big.NewRat(1_000_000_000_000_000, 1), big.NewRat(9_999_999_999_999_995, 10), big.NewRat(-1_000_000_000_000_000, 1)} {
		if q, err := quantity.FromRat(r, quantity.Unit{}, 2); !errors.Is(err, quantity.ErrRange) {
			t.Errorf("%s = %s, %v, want ErrRange", r.RatString(), q, err)
		}
	}
}

func TestMul(t *testing.T) {
	for _, c := range []struct {
		q        string
		num, den int64
		places   int
		want     string
	}{
		{"250 h", 11, 10, 0, "275 h"},
		{"250 h", 1, 2, 0, "125 h"},
		{"15 in", 85, 100, 2, "12.75 in"},
		{"5 in", 1, 2, 0, "2 in"},
		{"-5 in", 1, 2, 0, "-2 in"},
		{"1 ac", 0, 1, 3, "0 ac"},
		{"999999999999999 ac", 2, 1, 0, "999999999999999 ac"},
		{"-999999999999999 ac", 2, 1, 0, "-999999999999999 ac"},
		{"0.123456789012345 ac", 1, 1, 3, "0.123 ac"},
	} {
		if got := quantity.MustParse(c.q).Mul(big.NewRat(c.num, c.den), c.places); got.String() != c.want {
			t.Errorf("%s x %d/%d = %s, want %s", c.q, c.num, c.den, got, c.want)
		}
	}
}

func TestIn(t *testing.T) {
	for _, c := range []struct {
		q, unit string
		places  int
		want    string
	}{
		{"14 3/4 in", "mm", 2, "374.65 mm"},
		{"5.25 in", "in", 1, "5.2 in"}, // its own unit is rounded too, half to even
		// Recommended practice RP 618 of the trucking trade's maintenance council, wheel bearing end play, prints 0.001-0.005 in as
		// 0.0254-0.127 mm. A unit example only: it is no limit for a farm machine.
		{"0.001 in", "mm", 4, "0.0254 mm"},
		{"0.005 in", "mm", 4, "0.127 mm"},
		{"1 ac", "ha", 6, "0.404686 ha"},
		{"1 ha", "ac", 4, "2.4711 ac"},
		{"266 lbf.ft", "N.m", 0, "361 N.m"},
		{"644 lbf.ft", "lbf.in", 0, "7728 lbf.in"},
		{"1 gal/ac", "L/ha", 3, "9.354 L/ha"}, // 3.785411784 / 0.40468564224 = 9.35396
		{"1 lb/ac", "kg/ha", 3, "1.121 kg/ha"},
		{"540 rpm", "rpm", 0, "540 rpm"},
		{"5 bales", "", 0, "5"},
	} {
		if got, err := quantity.MustParse(c.q).In(quantity.MustUnit(c.unit), c.places); err != nil || got.String() != c.want {
			t.Errorf("%s in %s = %s, %v, want %s", c.q, c.unit, got, err, c.want)
		}
	}
}

func TestFloat64(t *testing.T) {
	for s, want := range map[string]float64{"5.25 in": 5.25, "-0.1": -0.1, "999999999999999": 999999999999999, "0.000000000000001": 1e-15, "0": 0} {
		if got := quantity.MustParse(s).Float64(); got != want {
			t.Errorf("%s is %v, want %v", s, got, want)
		}
	}
}
