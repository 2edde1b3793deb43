package quantity_test

import (
	"encoding/json"
	"math/big"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"shedbook/rules/quantity"
)

const most = 999_999_999_999_999

// anyUnit draws every unit and the bare number.
func anyUnit() *rapid.Generator[quantity.Unit] {
	return rapid.SampledFrom(append(quantity.Units(), quantity.Unit{}))
}

// anyNumber draws every coefficient and number of decimals an amount may have.
func anyNumber(u quantity.Unit) *rapid.Generator[quantity.Quantity] {
	return rapid.Custom(func(t *rapid.T) quantity.Quantity {
		return quantity.New(rapid.Int64Range(-most, most).Draw(t, "coefficient"), uint8(rapid.IntRange(0, 15).Draw(t, "decimals")), u)
	})
}

// shedNumber draws what is written in a shed: up to six digits, up to four of them decimals.
func shedNumber(u quantity.Unit) *rapid.Generator[quantity.Quantity] {
	return rapid.Custom(func(t *rapid.T) quantity.Quantity {
		return quantity.New(rapid.Int64Range(-999_999, 999_999).Draw(t, "coefficient"), uint8(rapid.IntRange(0, 4).Draw(t, "decimals")), u)
	})
}

func anyAmount() *rapid.Generator[quantity.Quantity] {
	return rapid.Custom(func(t *rapid.T) quantity.Quantity { return anyNumber(anyUnit().Draw(t, "unit")).Draw(t, "amount") })
}

// sibling draws a unit that u converts into.
func sibling(u quantity.Unit) *rapid.Generator[quantity.Unit] {
	var us []quantity.Unit
	for _, v := range append(quantity.Units(), quantity.Unit{}) {
		if u.Converts(v) {
			us = append(us, v)
		}
	}
	return rapid.SampledFrom(us)
}

// Law: what is formatted parses to the same value, typed or stored, as text or inside JSON.
func TestLawFormatThenParse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := anyAmount().Draw(t, "q")
		if back, err := quantity.Parse(q.String()); err != nil || back != q {
			t.Fatalf("Parse(%q) = %s, %v", q, back, err)
		}
		var stored quantity.Quantity
		if err := stored.UnmarshalText([]byte(q.String())); err != nil || stored != q {
			t.Fatalf("stored %q reads as %s, %v", q, stored, err)
		}
		text, err := json.Marshal(q)
		if err != nil {
			t.Fatal(err)
		}
		var inJSON quantity.Quantity
		if err := json.Unmarshal(text, &inJSON); err != nil || inJSON != q {
			t.Fatalf("%s reads as %s, %v", text, inJSON, err)
		}
		if n, ok := new(big.Rat).SetString(q.Number()); !ok || n.Cmp(q.Rat()) != 0 {
			t.Fatalf("%s: Number is %s, Rat is %s", q, q.Number(), q.Rat())
		}
	})
}

// Law: other ways of writing the same number parse to the same value: trailing zeros, a plus, a decimal comma, no blank.
func TestLawOtherSpellings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := shedNumber(anyUnit().Draw(t, "unit")).Draw(t, "q")
		number := q.Number()
		if strings.Contains(number, ".") {
			if rapid.Bool().Draw(t, "zero") {
				number += "0"
			}
			if _, after, _ := strings.Cut(number, "."); len(after) != 3 && rapid.Bool().Draw(t, "comma") {
				number = strings.Replace(number, ".", ",", 1)
			}
		}
		if q.Sign() >= 0 && rapid.Bool().Draw(t, "plus") {
			number = "+" + number
		}
		typed := number + rapid.SampledFrom([]string{"", " ", "  ", "\u00a0"}).Draw(t, "blank") + q.Unit().String()
		if got, err := quantity.Parse(typed); err != nil || got != q {
			t.Fatalf("Parse(%q) = %s, %v, want %s", typed, got, err, q)
		}
	})
}

// Law: of one unit, a + b - b = a, and a + b is the sum of the numbers, whenever 15 digits hold it. Temperatures are no exception.
func TestLawAddThenSub(t *testing.T) {
	sums := 0
	rapid.Check(t, func(t *rapid.T) {
		a := anyAmount().Draw(t, "a")
		b := rapid.OneOf(anyNumber(a.Unit()), shedNumber(a.Unit())).Draw(t, "b")
		sum, err := a.Add(b)
		want := new(big.Rat).Add(a.Rat(), b.Rat())
		if fits := fifteenDigits(want); fits != (err == nil) {
			t.Fatalf("%s + %s: %v, but the sum %s", a, b, err, want.FloatString(16))
		}
		if err != nil {
			return
		}
		sums++
		if sum.Rat().Cmp(want) != 0 || sum.Unit() != a.Unit() {
			t.Fatalf("%s + %s = %s", a, b, sum)
		}
		if back, err := sum.Sub(b); err != nil || back != a {
			t.Fatalf("%s + %s - %s = %s, %v", a, b, b, back, err)
		}
	})
	if sums == 0 {
		t.Error("no sum was exact: the law was not tried")
	}
}

// Law: across units of one dimension too, where both steps are exact.
func TestLawAddThenSubAcrossUnits(t *testing.T) {
	sums := 0
	rapid.Check(t, func(t *rapid.T) {
		a := shedNumber(anyUnit().Draw(t, "unit")).Draw(t, "a")
		b := shedNumber(sibling(a.Unit()).Draw(t, "other unit")).Draw(t, "b")
		sum, err := a.Add(b)
		if err != nil {
			return
		}
		if back, err := sum.Sub(b); err != nil || back != a {
			t.Fatalf("%s + %s - %s = %s, %v", a, b, b, back, err)
		}
		if a.Unit() != b.Unit() {
			sums++
		}
	})
	if sums == 0 {
		t.Error("no sum across units was exact: the law was not tried")
	}
}

// Law: an exact conversion there and back changes nothing, and both amounts compare as equal.
func TestLawExactThereAndBack(t *testing.T) {
	there := 0
	rapid.Check(t, func(t *rapid.T) {
		q := shedNumber(anyUnit().Draw(t, "unit")).Draw(t, "q")
		u := sibling(q.Unit()).Draw(t, "other unit")
		x, err := q.Exact(u)
		if err != nil {
			return
		}
		if u != q.Unit() {
			there++
		}
		if back, err := x.Exact(q.Unit()); err != nil || back != q {
			t.Fatalf("%s = %s = %s, %v", q, x, back, err)
		}
		if n, err := q.Cmp(x); err != nil || n != 0 {
			t.Fatalf("%s against %s: %d, %v", q, x, n, err)
		}
	})
	if there == 0 {
		t.Error("no conversion was exact: the law was not tried")
	}
}

// Law: a rounded amount is within half of its last place of the truth, and a tie ends in an even digit.
func TestLawRoundingIsHalfEven(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := big.NewRat(rapid.Int64Range(-99_999_999, 99_999_999).Draw(t, "num"), rapid.Int64Range(1, 9_999).Draw(t, "den"))
		places := rapid.IntRange(0, 6).Draw(t, "places")
		q, err := quantity.FromRat(r, quantity.MustUnit("in"), places)
		if err != nil {
			t.Fatal(err)
		}
		step := new(big.Rat).SetFrac(big.NewInt(1), new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(places)), nil))
		steps := new(big.Rat).Quo(q.Rat(), step)
		if !steps.IsInt() {
			t.Fatalf("%s at %d places: %s", r, places, q)
		}
		off := new(big.Rat).Sub(r, q.Rat())
		switch off.Abs(off).Cmp(step.Quo(step, big.NewRat(2, 1))) {
		case 1:
			t.Fatalf("%s at %d places: %s is further off than half a step", r, places, q)
		case 0:
			if steps.Num().Bit(0) == 1 {
				t.Fatalf("%s at %d places: the tie went to odd %s", r, places, q)
			}
		}
	})
}

// Law: Cmp is a total order within a dimension: antisymmetric, transitive, and in one unit that of the numbers.
func TestLawCmpIsAnOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		either := func(u quantity.Unit) *rapid.Generator[quantity.Quantity] {
			return rapid.OneOf(shedNumber(u), anyNumber(u))
		}
		a := either(rapid.SampledFrom(quantity.Units()).Draw(t, "unit")).Draw(t, "a")
		b := either(sibling(a.Unit()).Draw(t, "unit b")).Draw(t, "b")
		c := either(sibling(b.Unit()).Draw(t, "unit c")).Draw(t, "c")
		if !a.Unit().Converts(c.Unit()) { // bales, a bare number, seeds
			return
		}
		order := func(x, y quantity.Quantity) int {
			n, err := x.Cmp(y)
			if err != nil {
				t.Fatalf("%s against %s: %v", x, y, err)
			}
			return n
		}
		if order(a, b) != -order(b, a) {
			t.Fatalf("%s and %s: %d and %d", a, b, order(a, b), order(b, a))
		}
		if order(a, b) <= 0 && order(b, c) <= 0 && order(a, c) > 0 {
			t.Fatalf("%s <= %s <= %s, but not %s <= %s", a, b, c, a, c)
		}
		if a.Unit() == b.Unit() && order(a, b) != a.Rat().Cmp(b.Rat()) {
			t.Fatalf("%s and %s compare as %d, their numbers do not", a, b, order(a, b))
		}
	})
}

// Law: what is shown to people of either system parses, is of a unit that system reads, and is within 1 % of what was stored or, for
// temperatures and the smallest amounts, within half of its last place.
func TestLawShowIsNear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := shedNumber(anyUnit().Draw(t, "unit")).Draw(t, "q")
		s := rapid.SampledFrom([]quantity.System{quantity.US, quantity.Metric}).Draw(t, "system")
		shown, err := quantity.Parse(q.Show(s))
		if err != nil {
			t.Fatal(err)
		}
		if got := shown.Unit().System(); got != quantity.AsWritten && got != s {
			t.Fatalf("%s in %s units: %s", q, s, shown)
		}
		if q.Dimension() == quantity.Temperature {
			back, err := shown.In(q.Unit(), 15)
			off, err2 := back.Sub(q)
			if tenth := quantity.MustParse("0.1").Rat(); err != nil || err2 != nil || off.Abs().Rat().Cmp(tenth) > 0 {
				t.Fatalf("%s in %s units: %s, %s off", q, s, shown, off)
			}
			return
		}
		back, err := shown.In(q.Unit(), 15)
		if err != nil {
			t.Fatal(err)
		}
		off := new(big.Rat).Sub(back.Rat(), q.Rat())
		if off.Abs(off).Cmp(new(big.Rat).Mul(q.Abs().Rat(), big.NewRat(1, 100))) > 0 {
			t.Fatalf("%s in %s units: %s", q, s, shown)
		}
	})
}

// fifteenDigits reports whether a decimal of 15 digits equals r, by its printed form.
func fifteenDigits(r *big.Rat) bool {
	s := strings.TrimLeft(new(big.Rat).Abs(r).FloatString(40), "0")
	s = strings.TrimRight(s, "0")
	whole, after, _ := strings.Cut(s, ".")
	if len(after) > 15 {
		return false
	}
	if whole == "" { // 0.0001234
		return true
	}
	return len(whole)+len(after) <= 15
}
