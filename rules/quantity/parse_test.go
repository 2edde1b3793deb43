package quantity_test

import (
	"errors"
	"math/big"
	"strings"
	"testing"

	"shedbook/rules/quantity"
)

func TestParse(t *testing.T) {
	for _, c := range []struct{ typed, want string }{
		{"5.25 in", "5.25 in"},
		{"14 3/4 in", "14.75 in"},
		{"14-3/4 in", "14.75 in"},
		{"14  3/4in", "14.75 in"},
		{"14¾ in", "14.75 in"},
		{"14 ¾ in", "14.75 in"},
		{"14 3⁄4 in", "14.75 in"},
		{"3/4in", "0.75 in"},
		{"5/4 in", "1.25 in"},
		{"1/4\"", "0.25 in"},
		{"1/32\"", "0.03125 in"},
		{"63/64 in", "0.984375 in"},
		{"½", "0.5"},
		{"-¼ in", "-0.25 in"},
		{"-5 1/4 in", "-5.25 in"},
		{"−5 1/4 in", "-5.25 in"},
		{"0 1/4 in", "0.25 in"},
		{"5 0/4 in", "5 in"},
		{"2/5 ha", "0.4 ha"},
		{"1812ac", "1812 ac"},
		{"-1", "-1"},
		{"+1", "1"},
		{"-0", "0"},
		{"-0,0 mm", "0 mm"},
		{"5,25 in", "5.25 in"},
		{"5,2500 in", "5.25 in"},
		{"1.200 ac", "1.2 ac"},
		{",5 in", "0.5 in"},
		{".5 in", "0.5 in"},
		{"007 in", "7 in"},
		{"250 h", "250 h"},
		{"10\u00a0h", "10 h"},
		{"  10 h  ", "10 h"},
		{"20 degC", "20 degC"},
		{"20°C", "20 degC"},
		{"2 %", "2 %"},
		{"2%", "2 %"},
		{"75 ft-lb", "75 lbf.ft"},
		{"75ft-lb", "75 lbf.ft"},
		{"10 gallons per acre", "10 gal/ac"},
		{"5 L/min", "5 L/min"},
		{"3 sq ft", "3 ft2"},
		{"12 bales", "12 bales"},
		{"1 bale", "1 bales"},
		{"999999999999999 ac", "999999999999999 ac"},
		{"0.000000000000001 in", "0.000000000000001 in"},
		{"00000000000000000000001 in", "1 in"},
	} {
		q, err := quantity.Parse(c.typed)
		if err != nil {
			t.Errorf("Parse(%q): %v", c.typed, err)
		} else if q.String() != c.want {
			t.Errorf("Parse(%q) = %s, want %s", c.typed, q, c.want)
		}
	}
}

// What is really measured and set in the shed must be writable: one amount for each line of the trade's list of wear and life quantities
// (common practice, no source), with its dimension.
func TestTradeQuantities(t *testing.T) {
	for typed, want := range map[string]quantity.Dimension{
		"14 3/4 in": quantity.Length, "1/32 in": quantity.Length, "3 mil": quantity.Length, "0.001 in": quantity.Length, "25 mm": quantity.Length,
		"1900 mi": quantity.Length, "12 lbf.in": quantity.Torque, "266 lbf.ft": quantity.Torque, "85 degC": quantity.Temperature, "185 degF": quantity.Temperature,
		"12.6 V": quantity.Voltage, "99.5 %": quantity.Ratio, "15 ppm": quantity.Ratio, "7": quantity.Count, "48 teeth": quantity.Count,
		"1.51 L/min": quantity.Flow, "0.4 gal/min": quantity.Flow, "40 psi": quantity.Pressure, "3 bar": quantity.Pressure, "60 s": quantity.Time,
		"250 h": quantity.Time, "1812 ac": quantity.Area, "1900 ha": quantity.Area, "12 mo": quantity.Calendar, "12 yr": quantity.Calendar,
		"3000 bales": quantity.Count, "1200 lbf": quantity.Force, "6 t": quantity.Mass, "40 bu": quantity.Volume, "2 L": quantity.Volume,
		"22 mL": quantity.Volume, "10 gal/ac": quantity.VolumePerArea, "120 lb/ac": quantity.MassPerArea, "32000 seeds/ac": quantity.CountPerArea,
		"28000 plants/ac": quantity.CountPerArea, "1.7 plants/ft": quantity.CountPerLength, "5.5 mi/h": quantity.Speed, "540 rpm": quantity.Rotation,
		"20 inH2O": quantity.Pressure, "10.5 ac/h": quantity.AreaRate, "7 deg": quantity.Angle, "3 holes": quantity.Count, "180 hp": quantity.Power,
	} {
		q, err := quantity.Parse(typed)
		if err != nil || q.Dimension() != want {
			t.Errorf("Parse(%q) = %s (%s), %v, want a %s", typed, q, q.Dimension(), err, want)
		}
	}
}

func TestParseErrors(t *testing.T) {
	const such = ": write a number and a unit, such as 5.25 in"
	const nothing, control = "no amount given" + such, " holds a control or invisible character: type it again"
	const digits, exponent = " has more than 15 digits: round it to what was measured", " has an exponent: write the number out, with at most 15 digits"
	const points = " has more than one point or comma: write the number with one point and without thousands separators, such as 1200.5"
	const bar = " has a fraction bar with no number after it: write a fraction such as 1/4"
	const numbers = " has two numbers: write one, without blanks in it (1200), or a fraction such as 5 1/4"
	const exact = " has no exact decimal of 15 digits: write it as finely as it was measured, such as "
	for _, c := range []struct{ typed, want string }{
		{"", nothing},
		{"   ", nothing},
		{"NaN", `"NaN" does not start with a number` + such},
		{"+Inf", `"+Inf" does not start with a number` + such},
		{"-infinity in", `"-infinity in" does not start with a number` + such},
		{"in", `"in" does not start with a number` + such},
		{"-", `"-" does not start with a number` + such},
		{".", `"." does not start with a number` + such},
		{"٣ in", `"٣ in" does not start with a number` + such},
		{"1e400", `"1e400"` + exponent},
		{"1E5 in", `"1E5 in"` + exponent},
		{"2.5e-3 in", `"2.5e-3 in"` + exponent},
		{"1e+2", `"1e+2"` + exponent},
		{"1234567890123456 in", `"1234567890123456 in"` + digits},
		{"1.234567890123456", `"1.234567890123456"` + digits},
		{"0.0000000000000001", `"0.0000000000000001"` + digits},
		{"1/1234567890123456", `"1/1234567890123456"` + digits},
		{"999999999999999 1/2 in", `"999999999999999 1/2 in"` + digits},
		{"5\x07 in", `"5\a in"` + control},
		{"5\tin", `"5\tin"` + control},
		{"5 in\n", `"5 in\n"` + control},
		{"5\u200b in", `"5\u200b in"` + control},
		{"5 in\u202e", `"5 in\u202e"` + control},
		{"5 \xff", `"5 \xff"` + control},
		{strings.Repeat("9", 81), `"99999999999999999999"... is 81 characters long: write one amount, such as 5.25 in`},
		{"--5", `"--5" has two signs: write one, such as -5`},
		{"-+5", `"-+5" has two signs: write one, such as -5`},
		{"- 5", `"- 5" has a blank after the sign: write it without, such as -5`},
		{"5..2", `"5..2"` + points},
		{"1,200.5 ac", `"1,200.5 ac"` + points},
		{"1.200,5 ac", `"1.200,5 ac"` + points},
		{"1,200,000", `"1,200,000"` + points},
		{"1,200", `"1,200" could be 1200 or 1.2: write the one that is meant`},
		{"-1,250 ac", `"-1,250 ac" could be -1250 or -1.25: write the one that is meant`},
		{"0,125 in", `"0,125 in" has a comma before three digits, as in thousands: write 0.125`},
		{"5.", `"5." has nothing after the point: write 5`},
		{"5, in", `"5, in" has nothing after the comma: write 5`},
		{"1/0 in", `"1/0 in" divides by zero: write a fraction such as 1/4`},
		{"5 1/0 in", `"5 1/0 in" divides by zero: write a fraction such as 1/4`},
		{"1/3 in", `"1/3 in"` + exact + "0.333 in"},
		{"-5 ⅔ in", `"-5 ⅔ in"` + exact + "-5.667 in"},
		{"1/1048576 in", `"1/1048576 in"` + exact + "0.000000954 in"},
		{"5 5/4 in", `"5 5/4 in" has a fraction of one or more after a whole number: write one such as 5 1/4`},
		{"5 4/4 in", `"5 4/4 in" has a fraction of one or more after a whole number: write one such as 5 1/4`},
		{"1.5/2 in", `"1.5/2 in" has a point or comma in a fraction: write whole numbers, such as 3/4, or one decimal`},
		{"5 1/2.5 in", `"5 1/2.5 in" has a point or comma in a fraction: write whole numbers, such as 3/4, or one decimal`},
		{"5.5 1/4 in", `"5.5 1/4 in" has a decimal and a fraction: write one of them, such as 5.25 or 5 1/4`},
		{"1/2/3", `"1/2/3" has two fraction bars: write one amount, such as 3/4 in`},
		{"1/", `"1/"` + bar},
		{"1/x in", `"1/x in"` + bar},
		{"1 200 ac", `"1 200 ac"` + numbers},
		{"½½", `"½½"` + numbers},
		{"½5 in", `"½5 in"` + numbers},
		{"1/2½", `"1/2½"` + numbers},
		{"5-6 in", `"5-6 in" has two numbers: write one, such as 5.25 in`},
		{"5 + 6 in", `"5 + 6 in" has two numbers: write one, such as 5.25 in`},
		{"2026-04-01", `"2026-04-01" has two numbers: write one, such as 5.25 in`},
		{"5 ft 3 in", `"5 ft 3 in" has two units: write 63 in`},
		{"5' 3 1/2\"", `"5' 3 1/2\"" has two units: write 63.5 in`},
		{"-5 ft 3 in", `"-5 ft 3 in" has two units: write -63 in`},
		{"1 h 30 min", `"1 h 30 min" has two units: write 90 min`},
		{"5 in 3 ac", `"5 in 3 ac" has two units: write one number with one unit, such as 63 in`},
		{"5 in ft", `"5 in ft" has two units: write one number with one unit, such as 63 in`},
		{"5 ft 3", `"5 ft 3" has two numbers: write one number with one unit, such as 63 in`},
		{"5 inchs", `"5 inchs": unknown unit "inchs": did you mean "inch"?`},
		{"5 T", `"5 T": unit "T" can be read two ways: write t for tonnes or ton for tons of 2,000 lb`},
		{"0x10", `"0x10": unknown unit "x10": write one such as in, mm, ac, ha, h, lbf.ft, psi`},
		{"1_000", `"1_000": unknown unit "_000": write one such as in, mm, ac, ha, h, lbf.ft, psi`},
	} {
		q, err := quantity.Parse(c.typed)
		if err == nil {
			t.Errorf("Parse(%q) = %s, want an error", c.typed, q)
			continue
		}
		if got := err.Error(); got != c.want {
			t.Errorf("Parse(%q)\n got %s\nwant %s", c.typed, got, c.want)
		}
		if q != (quantity.Quantity{}) {
			t.Errorf("Parse(%q) returns %s beside its error", c.typed, q)
		}
	}
}

func TestParseIn(t *testing.T) {
	for _, c := range []struct{ typed, def, want string }{
		{"5", "in", "5 in"},
		{"5 3/4", "in", "5.75 in"},
		{"-1", "holes", "-1 holes"},
		{"5 cm", "in", "5 cm"},
		{"5 in", "in", "5 in"},
		{"5", "", "5"},
		{"5 bales", "", "5 bales"},
		{"0", "mm", "0 mm"},
		{"2 wk", "h", "2 wk"},
		{"0.5 in", "mil", "0.5 in"},
	} {
		q, err := quantity.ParseIn(c.typed, quantity.MustUnit(c.def))
		if err != nil || q.String() != c.want {
			t.Errorf("ParseIn(%q, %q) = %s, %v, want %s", c.typed, c.def, q, err, c.want)
		}
	}
	for _, c := range []struct{ typed, def, want string }{
		{"5 ac", "in", `"5 ac" is an area, but a length is wanted, such as 5 in`},
		{"5 ac", "", `"5 ac" is an area, but a bare number is wanted, such as 5`},
		{"400 lb", "lbf", `"400 lb" is a mass, but a force is wanted, such as 400 lbf; lb is a mass, the force is lbf`},
		{"5 m", "min", `"5 m" is a length, but a time is wanted, such as 5 min; m is the metre, the minute is min`},
		{"12 mo", "h", `"12 mo" is a calendar span, but a time is wanted, such as 12 h; a month has no fixed number of days`},
		{"85°", "degC", `"85°" is an angle, but a temperature is wanted, such as 85 degC; deg is an angle, temperatures are degF or degC`},
		{"5 bales", "seeds", `"5 bales": bales are not seeds: write an amount in seeds, such as 5 seeds`},
		{"5 plants/ac", "seeds/ac", `"5 plants/ac": plants are not seeds: write an amount in seeds/ac, such as 5 seeds/ac`},
	} {
		q, err := quantity.ParseIn(c.typed, quantity.MustUnit(c.def))
		if !errors.Is(err, quantity.ErrMismatch) || err.Error() != c.want {
			t.Errorf("ParseIn(%q, %q) = %s, %v\nwant %s", c.typed, c.def, q, err, c.want)
		}
	}
	if _, err := quantity.ParseIn("x", quantity.MustUnit("in")); err == nil || errors.Is(err, quantity.ErrMismatch) {
		t.Errorf("ParseIn(\"x\"): %v", err)
	}
}

// Every 64th of an inch, in each way of writing it, against big.Rat's own reading of the fraction.
func TestParseFractions(t *testing.T) {
	for n := int64(0); n < 64; n++ {
		f := big.NewRat(n, 64)
		want := new(big.Rat).Add(f, big.NewRat(14, 1))
		for _, typed := range []string{
			"14 " + big.NewInt(n).String() + "/64 in",
			"14-" + big.NewInt(n).String() + "/64\"",
			"14 " + f.String() + " in", // in lowest terms
			want.FloatString(6) + " in",
			strings.Replace(want.FloatString(6), ".", ",", 1) + " inches",
		} {
			q, err := quantity.Parse(typed)
			if err != nil || q.Rat().Cmp(want) != 0 {
				t.Errorf("Parse(%q) = %s, %v, want %s", typed, q, err, want.RatString())
			}
		}
	}
}
