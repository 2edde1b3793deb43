package quantity_test

import (
	"math/big"
	"regexp"
	"strings"
	"testing"

	"shedbook/rules/quantity"
)

// plainDecimal is the part of the grammar that math/big reads too.
var plainDecimal = regexp.MustCompile(`^[-+]?[0-9]+(\.[0-9]+)?$`)

// FuzzParse: what parses formats to something that parses to the same, typed and stored; only the canonical spelling is taken as stored; a
// plain decimal is the number math/big reads; an error is one line that cannot move a terminal's cursor. The corpus is testdata/fuzz/FuzzParse.
func FuzzParse(f *testing.F) {
	for _, s := range []string{"5.25 in", "14 3/4 in", "-1", "1/4\"", "5,25 in", "250 h", "2 %", "1,200", "1e400", "5 ft 3 in"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		q, err := quantity.Parse(s)
		var stored quantity.Quantity
		isStored := stored.UnmarshalText([]byte(s)) == nil
		if err != nil {
			if isStored {
				t.Errorf("%q is taken as stored, but does not parse: %v", s, err)
			}
			if q != (quantity.Quantity{}) {
				t.Errorf("%q fails with %s beside the error", s, q)
			}
			for _, r := range err.Error() {
				if r < ' ' || 0x7f <= r && r < 0xa0 || r == 0x202e || r == 0x2028 {
					t.Errorf("%q: the error holds %U: %q", s, r, err)
				}
			}
			if strings.Contains(err.Error(), "%!") && !strings.Contains(s, "%") {
				t.Errorf("%q: badly made error: %v", s, err)
			}
			if plainDecimal.MatchString(s) && digits(s) <= 15 && len(s) <= 80 {
				t.Errorf("%q does not parse: %v", s, err)
			}
			return
		}
		if isStored != (q.String() == s) || isStored && stored != q {
			t.Errorf("%q parses to %q; taken as stored: %t, %q", s, q, isStored, stored)
		}
		if back, err := quantity.Parse(q.String()); err != nil || back != q {
			t.Errorf("%q parses to %q, which parses to %q, %v", s, q, back, err)
		}
		if err := stored.UnmarshalText([]byte(q.String())); err != nil || stored != q {
			t.Errorf("%q parses to %q, which is not taken as stored: %v", s, q, err)
		}
		if n := digits(q.Number()); n > 15 {
			t.Errorf("%q parses to %q, of %d digits", s, q, n)
		}
		if plainDecimal.MatchString(s) {
			if want, ok := new(big.Rat).SetString(strings.TrimPrefix(s, "+")); !ok || want.Cmp(q.Rat()) != 0 || q.Unit() != (quantity.Unit{}) {
				t.Errorf("%q parses to %q", s, q)
			}
		}
		for _, u := range []quantity.System{quantity.US, quantity.Metric} {
			if _, err := quantity.Parse(q.Show(u)); err != nil {
				t.Errorf("%q is shown as %q: %v", s, q.Show(u), err)
			}
		}
	})
}

// digits counts the digits of a plain decimal, without leading zeros of the whole part.
func digits(s string) int {
	whole, after, _ := strings.Cut(strings.TrimLeft(s, "+-"), ".")
	return len(strings.TrimLeft(whole, "0")) + len(after)
}
