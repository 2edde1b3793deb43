package schedule

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func TestSuggest(t *testing.T) {
	known := []string{"grease", "depth", "disc", "discs", "drag-check", "area", "hours"}
	for _, c := range []struct {
		word string
		want []string
	}{
		{"greese", []string{"grease"}}, {"graese", []string{"grease"}}, {"Grease", []string{"grease"}}, {"dsic", []string{"disc", "discs"}}, {"disk", []string{"disc", "discs"}},
		{"depht", []string{"depth"}}, {"hour", []string{"hours"}}, {"x", nil}, {"hydraulics", nil}, {"grease", nil}, {"", nil}, {"ara", []string{"area"}}, {"acres", []string{"area"}}, {"barn", nil},
	} {
		if diff := cmp.Diff(c.want, Suggest(c.word, known)); diff != "" {
			t.Errorf("%q: %s", c.word, diff)
		}
	}
	if got := Suggest("aa", []string{"ab", "ac", "ad", "ae"}); len(got) != 3 || got[0] != "ab" {
		t.Errorf("of four alike: %v", got)
	}
}

// The distances follow from the definition (F. J. Damerau, Communications of the ACM 7 (1964) 171-176: one for a letter wrong, missing, extra or a pair
// of letters exchanged); "ca" and "abc" tell the optimal string alignment form (3) from the unrestricted one (2).
func TestDistance(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{{"", "", 0}, {"a", "", 1}, {"ab", "ba", 1}, {"abc", "abd", 1}, {"abc", "abcd", 1}, {"ca", "abc", 3}, {"kitten", "sitten", 1}, {"äb", "bä", 1}, {"abcd", "badc", 2}} {
		if got := distance(c.a, c.b); got != c.want {
			t.Errorf("%q to %q: %d, want %d", c.a, c.b, got, c.want)
		}
	}
}

// Law: the distance is the same both ways, and nothing only for the same word.
func TestDistanceIsSymmetric(t *testing.T) {
	word := rapid.StringMatching(`[a-c]{0,6}`)
	rapid.Check(t, func(t *rapid.T) {
		a, b := word.Draw(t, "a"), word.Draw(t, "b")
		if distance(a, b) != distance(b, a) || (distance(a, b) == 0) != (a == b) {
			t.Fatalf("%q, %q: %d and %d", a, b, distance(a, b), distance(b, a))
		}
	})
}
