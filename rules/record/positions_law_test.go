package record

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// anySet draws up to twelve places of two nouns, numbered and named ones.
func anySet() *rapid.Generator[Positions] {
	place := rapid.Custom(func(t *rapid.T) Position {
		noun := rapid.SampledFrom([]string{"opener", "wheel"}).Draw(t, "noun")
		if rapid.IntRange(0, 3).Draw(t, "named") == 0 {
			return Position{Noun: noun, Name: rapid.SampledFrom([]string{"left", "rear", "right"}).Draw(t, "name")}
		}
		return Position{Noun: noun, Number: rapid.IntRange(1, 12).Draw(t, "number")}
	})
	return rapid.Custom(func(t *rapid.T) Positions { return NewPositions(rapid.SliceOfN(place, 0, 12).Draw(t, "places")...) })
}

// Law: what sets leave over and have in common is told place by place, in the one merged form.
func TestLawSetsArePlaceByPlace(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := anySet().Draw(t, "a"), anySet().Draw(t, "b")
		var without, common, either []Position
		for _, p := range a.All() {
			if either = append(either, p); b.Has(p) {
				common = append(common, p)
			} else {
				without = append(without, p)
			}
		}
		either = append(either, b.All()...)
		slices.Reverse(either)
		for _, c := range []struct {
			what      string
			got, want Positions
		}{
			{"without", a.Without(b), NewPositions(without...)},
			{"common", a.Common(b), NewPositions(common...)},
			{"union", a.Union(b), NewPositions(either...)},
		} {
			if !slices.Equal(c.got.Ranges(), c.want.Ranges()) || c.got.Len() != len(c.got.All()) {
				t.Fatalf("%s %s %s = %s, want %s", a, c.what, b, c.got, c.want)
			}
		}
		if back, err := ParsePositions(a.Strings()); err != nil || !back.Equal(a) {
			t.Fatalf("%s reads back as %s, %v", a, back, err)
		}
	})
}

// Places given to NewPositions stay as they were: it sorts a copy.
func TestNewPositionsLeavesItsPlacesAlone(t *testing.T) {
	given := []Position{{Noun: "opener", Number: 9}, {Noun: "opener", Number: 2}, {Noun: "opener", Number: 9}}
	kept := slices.Clone(given)
	if got := NewPositions(given...).String(); got != "opener/2,opener/9" || !slices.Equal(given, kept) {
		t.Fatalf("%s; the places are now %v", got, given)
	}
}
