package quantity_test

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"shedbook/rules/quantity"
)

func TestNew(t *testing.T) {
	in := quantity.MustUnit("in")
	for _, c := range []struct {
		coef     int64
		decimals uint8
		want     string
	}{
		{525, 2, "5.25 in"},
		{5250, 3, "5.25 in"},
		{5, 0, "5 in"},
		{500, 0, "500 in"},
		{500, 2, "5 in"},
		{0, 0, "0 in"},
		{0, 200, "0 in"},
		{-5, 1, "-0.5 in"},
		{5, 3, "0.005 in"},
		{1, 15, "0.000000000000001 in"},
		{5, 16, "0 in"},                  // a half at the 15th decimal goes to the even digit
		{15, 16, "0.000000000000002 in"}, // and so does this one
		{-25, 16, "-0.000000000000002 in"},
		{1, 255, "0 in"},
		{1_000_000_000_000_000_000, 18, "1 in"},
		{1_234_567_890_123_456_789, 9, "1234567890.12346 in"},
		{999_999_999_999_999, 0, "999999999999999 in"},
		{1_000_000_000_000_000, 0, "999999999999999 in"}, // held
		{math.MaxInt64, 0, "999999999999999 in"},
		{math.MinInt64, 0, "-999999999999999 in"},
		{math.MinInt64, 10, "-922337203.685478 in"},
	} {
		q := quantity.New(c.coef, c.decimals, in)
		if q.String() != c.want {
			t.Errorf("New(%d, %d) = %s, want %s", c.coef, c.decimals, q, c.want)
		}
		if back, err := quantity.Parse(q.String()); err != nil || back != q {
			t.Errorf("New(%d, %d) = %s reads back as %s, %v", c.coef, c.decimals, q, back, err)
		}
	}
}

func TestZero(t *testing.T) {
	var q quantity.Quantity
	if !q.IsZero() || q.String() != "0" || q.Sign() != 0 || q.Unit() != (quantity.Unit{}) || q.Dimension() != quantity.Count {
		t.Errorf("the zero Quantity is %s", q)
	}
	if z := quantity.MustParse("0 in"); z.IsZero() || z.Sign() != 0 || z.Number() != "0" {
		t.Errorf("0 in: IsZero %t, Sign %d, Number %s", z.IsZero(), z.Sign(), z.Number())
	}
	if one := quantity.Whole(1, quantity.Unit{}); one.IsZero() {
		t.Error("1 is zero")
	}
}

func TestSign(t *testing.T) {
	for typed, want := range map[string]struct {
		sign     int
		neg, abs string
	}{"-5.25 in": {-1, "5.25 in", "5.25 in"}, "0 in": {0, "0 in", "0 in"}, "0.01 in": {1, "-0.01 in", "0.01 in"}} {
		q := quantity.MustParse(typed)
		if q.Sign() != want.sign || q.Neg().String() != want.neg || q.Abs().String() != want.abs {
			t.Errorf("%s: Sign %d, Neg %s, Abs %s", typed, q.Sign(), q.Neg(), q.Abs())
		}
	}
}

func TestMustParsePanics(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("MustParse(\"x\") does not panic")
		}
	}()
	quantity.MustParse("x")
}

// Stored text has one spelling: everything else is refused, with the right one where there is one.
func TestUnmarshalTextIsStrict(t *testing.T) {
	for _, s := range []string{"5.25 in", "6", "-1", "0", "0 in", "2 %", "-0.5 degC", "75 lbf.ft", "999999999999999", "0.000000000000001 ac", "-999999999999999 in", "10 gal/ac"} {
		var q quantity.Quantity
		if err := q.UnmarshalText([]byte(s)); err != nil || q.String() != s {
			t.Errorf("%q reads as %s, %v", s, q, err)
		}
	}
	other := func(typed, right string) string {
		return "stored amount \"" + typed + "\" is not in its one form: that is \"" + right + "\""
	}
	for s, want := range map[string]string{
		"5.250 in":          other("5.250 in", "5.25 in"),
		"5.0":               other("5.0", "5"),
		"05":                other("05", "5"),
		"00":                other("00", "0"),
		"-0":                other("-0", "0"),
		"+5":                other("+5", "5"),
		".5 in":             other(".5 in", "0.5 in"),
		"5,25 in":           other("5,25 in", "5.25 in"),
		"5.25in":            other("5.25in", "5.25 in"),
		"5.25  in":          other("5.25  in", "5.25 in"),
		" 5.25 in":          other(" 5.25 in", "5.25 in"),
		"5.25 in ":          other("5.25 in ", "5.25 in"),
		"5 ":                other("5 ", "5"),
		"5.25 inch":         other("5.25 inch", "5.25 in"),
		"5.25 IN":           other("5.25 IN", "5.25 in"),
		"3/4 in":            other("3/4 in", "0.75 in"),
		"5. in":             `stored amount: "5. in" has nothing after the point: write 5`,
		"-":                 `stored amount: "-" does not start with a number: write a number and a unit, such as 5.25 in`,
		"":                  `stored amount: no amount given: write a number and a unit, such as 5.25 in`,
		"5.25 in\n":         `stored amount: "5.25 in\n" holds a control or invisible character: type it again`,
		"1000000000000000":  `stored amount: "1000000000000000" has more than 15 digits: round it to what was measured`,
		"1.000000000000001": `stored amount: "1.000000000000001" has more than 15 digits: round it to what was measured`,
	} {
		q := quantity.MustParse("1 ac")
		if err := q.UnmarshalText([]byte(s)); err == nil || err.Error() != want {
			t.Errorf("UnmarshalText(%q)\n got %v\nwant %s", s, err, want)
		}
		if q != quantity.MustParse("1 ac") {
			t.Errorf("UnmarshalText(%q) fails, but changes the amount to %s", s, q)
		}
	}
}

func TestJSON(t *testing.T) {
	type record struct {
		Depth quantity.Quantity  `json:"depth"`
		Gap   *quantity.Quantity `json:"gap,omitempty"`
		Unit  quantity.Unit      `json:"unit"`
	}
	gap := quantity.MustParse("3/16 in")
	want := record{quantity.MustParse("5.25 in"), &gap, quantity.MustUnit("lbf.ft")}
	text, err := json.Marshal(want)
	if err != nil {
		t.Fatal(err)
	}
	if got := string(text); got != `{"depth":"5.25 in","gap":"0.1875 in","unit":"lbf.ft"}` {
		t.Errorf("got %s", got)
	}
	var got record
	if err := json.Unmarshal(text, &got); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	if err := json.Unmarshal([]byte(`{"depth":5.25}`), &got); err == nil {
		t.Error("a JSON number is taken for an amount")
	}
}
