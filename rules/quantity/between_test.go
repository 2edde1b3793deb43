package quantity_test

import (
	"errors"
	"math/big"
	"testing"

	"pgregory.net/rapid"

	"shedbook/rules/quantity"
)

// Law: Between is the fraction itself, worked out in fractions of any size and rounded once.
func TestLawBetweenIsTheFraction(t *testing.T) {
	u := quantity.MustUnit("ac")
	rapid.Check(t, func(t *rapid.T) {
		draw := rapid.OneOf(shedNumber(u), anyNumber(u))
		a, b := draw.Draw(t, "a"), draw.Draw(t, "b")
		if rapid.Bool().Draw(t, "rising") {
			if n, _ := a.Cmp(b); n > 0 {
				a, b = b, a
			}
		}
		all := rapid.OneOf(rapid.Int64Range(1, 16), rapid.Int64Range(1, 60_000_000), rapid.Int64Min(1)).Draw(t, "all")
		part := rapid.OneOf(rapid.Int64Range(0, all), rapid.Just(all/2), rapid.Int64()).Draw(t, "part")
		places := rapid.IntRange(-1, 16).Draw(t, "places")

		y := new(big.Rat).Sub(b.Rat(), a.Rat())
		y.Mul(y, big.NewRat(part, all)).Add(y, a.Rat())
		want, wantErr := quantity.FromRat(y, u, places)
		got, err := quantity.Between(a, b, part, all, places)
		if got != want || (err == nil) != (wantErr == nil) {
			t.Fatalf("Between(%s, %s, %d/%d, %d places) = %s, %v; the fraction is %s, %v", a, b, part, all, places, got, err, want, wantErr)
		}
	})
}

func TestBetweenRoundsHalvesToEven(t *testing.T) {
	for _, c := range []struct {
		a, b      string
		part, all int64
		places    int
		want      string
	}{
		{"10 ac", "20 ac", 1, 2, 1, "15 ac"},
		{"0 ac", "1 ac", 1, 20, 1, "0 ac"},     // 0.05
		{"0 ac", "1 ac", 3, 20, 1, "0.2 ac"},   // 0.15
		{"-1 ac", "0 ac", 1, 20, 1, "-1 ac"},   // -0.95: the even tenth is -1.0
		{"-1 ac", "0 ac", 3, 20, 1, "-0.8 ac"}, // -0.85
		{"0 ac", "1 ac", 2, 3, 1, "0.7 ac"},
		{"1.25 ac", "1.75 ac", 1, 2, 1, "1.5 ac"}, // rounds the ends' own decimals too
		{"20 ac", "10 ac", 1, 4, 1, "17.5 ac"},
	} {
		a, b := quantity.MustParse(c.a), quantity.MustParse(c.b)
		if got, err := quantity.Between(a, b, c.part, c.all, c.places); err != nil || got.String() != c.want {
			t.Errorf("Between(%s, %s, %d/%d) = %s, %v; want %s", a, b, c.part, c.all, got, err, c.want)
		}
	}
	if _, err := quantity.Between(quantity.MustParse("1 ac"), quantity.MustParse("1 h"), 1, 2, 1); !errors.Is(err, quantity.ErrMismatch) {
		t.Errorf("an area and a time have something between them: %v", err)
	}
}
