package quantity_test

import (
	"errors"
	"math/big"
	"strings"
	"testing"

	"shedbook/rules/quantity"
)

// Spellings of the trade, each with its one stored spelling. Common practice, no source.
var spellings = map[string]string{
	"in": "in inch inches \" ″ ” '' IN Inches in.", "ft": "ft foot feet ' ′ ’ FT ft.", "yd": "yd yds yard yards", "mi": "mi mile miles MI",
	"mil": "mil mils thou", "mm": "mm MM millimetre millimeters", "cm": "cm CM", "m": "m metre meters", "km": "km KM", "um": "um µm μm micron",
	"ac": "ac acre acres Ac ACRES", "ha": "ha hectare Hectares", "ft2": "ft2 ft² ft^2 sq_ft sqft square_feet", "m2": "m2 m²",
	"s": "s sec secs seconds", "min": "min mins minutes", "h": "h hr hrs hour hours H h. hrs.", "d": "d day days", "wk": "wk week weeks",
	"mo": "mo month months", "yr": "yr year years",
	"lbf.ft": "lbf.ft ft.lbf ft.lb lb.ft ft-lb lb-ft ft_lb ft-lbs lb·ft lbf·ft ft*lb ftlb lbft foot-pounds pound-feet pound_foot FT-LB",
	"lbf.in": "lbf.in in.lb in-lb lb-in inlb inch-pounds", "N.m": "N.m Nm N-m N·m nm NM newton_metres",
	"psi": "psi PSI psig lbf/in2 lb/in²", "bar": "bar BAR", "kPa": "kPa kpa KPA", "MPa": "MPa mpa", "mbar": "mbar hPa", "inH2O": "inH2O in_H2O inches_of_water",
	"lbf": "lbf LBF", "N": "N newtons", "kN": "kN kn", "lb": "lb lbs pound pounds LB", "oz": "oz ounces", "kg": "kg KG kilos", "g": "g grams",
	"t": "t tonne tonnes", "ton": "ton tons short_ton TON", "gal": "gal gals gallon gallons US_gal", "qt": "qt quarts", "pt": "pt pints",
	"floz": "floz fl_oz fl._oz. fluid_ounces", "L": "L l litre liters", "mL": "mL ml millilitres", "bu": "bu bushels", "cm3": "cm3 cc cm³",
	"gal/min": "gal/min gpm gallons_per_minute", "L/min": "L/min l/min lpm L_/_min litres/minute", "gal/ac": "gal/ac gpa GPA gallons_per_acre",
	"L/ha": "L/ha l/ha litres_per_hectare", "lb/ac": "lb/ac lbs/acre pounds_per_acre", "kg/ha": "kg/ha", "mi/h": "mi/h mph MPH miles_per_hour",
	"km/h": "km/h kph kmh km/hr", "ac/h": "ac/h ac/hr acres_per_hour", "ha/h": "ha/h ha/hr",
	"degC": "degC °C ℃ deg_C °_C C c celsius ºC", "degF": "degF °F deg_F F f fahrenheit", "V": "V v volts", "A": "A amps",
	"%": "% percent per_cent pct", "ppm": "ppm PPM", "seeds/ac": "seeds/ac seeds_per_acre seeds/acre", "plants/ha": "plants/ha plants_per_hectare",
	"bales": "bales bale", "rpm": "rpm RPM rev/min revs_per_minute", "Hz": "Hz hz", "hp": "hp HP", "kW": "kW kw", "deg": "deg ° degrees",
}

func TestParseUnitSpellings(t *testing.T) {
	for want, line := range spellings {
		for _, typed := range strings.Fields(line) {
			typed = strings.ReplaceAll(typed, "_", " ")
			u, err := quantity.ParseUnit(typed)
			if err != nil {
				t.Errorf("ParseUnit(%q): %v", typed, err)
			} else if u.String() != want {
				t.Errorf("ParseUnit(%q) = %q, want %q", typed, u, want)
			}
		}
	}
}

func TestParseUnitErrors(t *testing.T) {
	const list = ": write one such as in, mm, ac, ha, h, lbf.ft, psi"
	for _, c := range []struct{ typed, want string }{
		{"inchs", `unknown unit "inchs": did you mean "inch"?`},
		{"Acers", `unknown unit "Acers": did you mean "acres"?`},
		{"galons", `unknown unit "galons": did you mean "gallons"?`},
		{"lbf.fg", `unknown unit "lbf.fg": did you mean "lbf.ft"?`},
		{"furlongs", `unknown unit "furlongs"` + list},
		{"xx", `unknown unit "xx"` + list},
		{"q", `unknown unit "q"` + list},
		{"a", `unknown unit "a"` + list},
		{"/", `unknown unit "/"` + list},
		{".", `unknown unit "."` + list},
		{"/h", `unknown unit "/h": did you mean "L/h"?`},
		{"in/", `unknown unit "in/": did you mean "in"?`},
		{"\u212Ag", "unknown unit \"\u212Ag\": did you mean \"kg\"?"}, // the kelvin sign is no k
		{"T", `unit "T" can be read two ways: write t for tonnes or ton for tons of 2,000 lb`},
		{"M", `unit "M" can be read two ways: write m for metres, min for minutes or mo for months`},
		{"GPa", `unit "GPa" can be read two ways: write gal/ac for gallons an acre, or MPa`},
		{"in\x1b[31m", `"in\x1b[31m" holds a control or invisible character: type it again`},
	} {
		u, err := quantity.ParseUnit(c.typed)
		if err == nil {
			t.Errorf("ParseUnit(%q) = %q, want an error", c.typed, u)
		} else if got := err.Error(); got != c.want {
			t.Errorf("ParseUnit(%q)\n got %s\nwant %s", c.typed, got, c.want)
		}
	}
}

func TestZeroUnit(t *testing.T) {
	u, err := quantity.ParseUnit("")
	if err != nil || u != (quantity.Unit{}) || u.String() != "" || u.Dimension() != quantity.Count {
		t.Errorf("ParseUnit(\"\") = %q (%s), %v", u, u.Dimension(), err)
	}
}

func TestUnitText(t *testing.T) {
	for _, u := range append(quantity.Units(), quantity.Unit{}) {
		text, err := u.MarshalText()
		if err != nil {
			t.Fatal(err)
		}
		back := quantity.MustUnit("in")
		if err := back.UnmarshalText(text); err != nil || back != u {
			t.Errorf("%q reads back as %q, %v", text, back, err)
		}
		typed, err := quantity.ParseUnit(string(text))
		if err != nil || typed != u {
			t.Errorf("ParseUnit(%q) = %q, %v", text, typed, err)
		}
	}
	for typed, want := range map[string]string{
		"inch": `stored unit "inch" is not in its one form: that is "in"`,
		"IN":   `stored unit "IN" is not in its one form: that is "in"`,
		"x":    `stored unit "x" is unknown`,
	} {
		var u quantity.Unit
		if err := u.UnmarshalText([]byte(typed)); err == nil || err.Error() != want {
			t.Errorf("UnmarshalText(%q): %v, want %s", typed, err, want)
		}
	}
}

// TestExactFactors holds every factor to the definitions of UCUM essence 2.2 (2024-06-17), as exact SI values, and to the seven figures that
// NIST SP 811 (2008) Appendix B prints (from memory; SP 811 has no international acre).
func TestExactFactors(t *testing.T) {
	seen := map[string]bool{"degF": true, "degC": true} // TestTemperature
	for _, c := range []struct{ unit, si, ucum, sp811 string }{
		{"in", "m", "0.0254", "0.0254"},
		{"ft", "m", "0.3048", "0.3048"},
		{"yd", "m", "0.9144", "0.9144"},
		{"mi", "m", "1609.344", "1609.344"},
		{"mi/h", "m/s", "0.44704", "0.44704"},
		{"mil", "m", "0.0000254", "0.0000254"},
		{"lb", "kg", "0.45359237", "0.4535924"},
		{"oz", "kg", "0.028349523125", "0.02834952"},
		{"ton", "kg", "907.18474", "907.1847"},
		{"lbf", "N", "4.4482216152605", "4.448222"},
		{"lbf.ft", "N.m", "1.3558179483314004", "1.355818"},
		{"lbf.in", "N.m", "0.1129848290276167", "0.1129848"},
		{"psi", "kPa", "6.894757293168361", "6.894757"},
		{"gal", "m3", "0.003785411784", "0.003785412"},
		{"qt", "m3", "0.000946352946", "0.0009463529"},
		{"floz", "m3", "0.0000295735295625", "0.00002957353"},
		{"bu", "m3", "0.03523907016688", "0.03523907"},
		{"impgal", "m3", "0.00454609", "0.00454609"},
		{"hp", "kW", "0.7456998715822702", "0.7456999"},
		{"ft2", "m2", "0.09290304", "0.09290304"},
		{"ha", "m2", "10000", "10000"},
		{"ac", "m2", "4046.8564224", ""},
		{"ac", "ft2", "43560", ""},
		{"bar", "kPa", "100", "100"},
		{"gal", "in3", "231", ""},
		{"kgf", "N", "9.80665", "9.80665"},
		{"inH2O", "kPa", "0.24908891", "0.2490889"},
		// By definition: SI prefixes and powers, parts of the gallon, the day.
		{"km", "m", "1000", ""}, {"cm", "m", "0.01", ""}, {"mm", "m", "0.001", ""}, {"um", "m", "0.000001", ""},
		{"cm2", "m2", "0.0001", ""}, {"in2", "m2", "0.00064516", ""}, {"in3", "m3", "0.000016387064", ""}, {"ft3", "m3", "0.028316846592", ""},
		{"L", "m3", "0.001", ""}, {"mL", "m3", "0.000001", ""}, {"cm3", "m3", "0.000001", ""}, {"pt", "qt", "0.5", ""},
		{"kg", "g", "1000", ""}, {"t", "kg", "1000", ""}, {"kN", "N", "1000", ""},
		{"mbar", "kPa", "0.1", ""}, {"MPa", "kPa", "1000", ""}, {"V", "mV", "1000", ""}, {"A", "mA", "1000", ""}, {"kohm", "ohm", "1000", ""},
		{"min", "s", "60", ""}, {"h", "s", "3600", ""}, {"d", "h", "24", ""}, {"wk", "d", "7", ""}, {"yr", "mo", "12", ""}, {"%", "ppm", "10000", ""},
		{"Hz", "Hz", "1", ""}, {"rpm", "rpm", "1", ""}, {"deg", "deg", "1", ""}, // alone in their dimension
	} {
		seen[c.unit], seen[c.si] = true, true
		u, si := quantity.MustUnit(c.unit), quantity.MustUnit(c.si)
		got, err := quantity.Whole(1, u).In(si, 15)
		if err != nil {
			t.Errorf("1 %s in %s: %v", u, si, err)
			continue
		}
		// The published values have up to 17 figures, an amount 15: both are rounded at the same place.
		want, err := quantity.FromRat(number(t, c.ucum), si, 15)
		if err != nil {
			t.Fatal(err)
		}
		if got != want {
			t.Errorf("1 %s = %s, UCUM has %s", u, got, want)
		}
		if c.sp811 == "" {
			continue
		}
		printed := quantity.MustParse(c.sp811 + " " + c.si)
		if rounded := got.Mul(big.NewRat(1, 1), decimals(c.sp811)); rounded != printed {
			t.Errorf("1 %s = %s, SP 811 prints %s", u, rounded, printed)
		}
	}
	for _, u := range quantity.Units() { // rates are recomputed from their parts by TestTableRates
		if s := u.String(); !seen[s] && !strings.Contains(s, "/") && u.Dimension() != quantity.Count {
			t.Errorf("the factor of %s is held to nothing", s)
		}
	}
}

// The survey acre (UCUM [acr_us], 4046.872609874252 m2) is 4 ppm larger; farm acres here are 43,560 ft2 of the international foot.
func TestAcreIsInternational(t *testing.T) {
	got, err := quantity.MustParse("1 ac").Exact(quantity.MustUnit("m2"))
	if err != nil || got.String() != "4046.8564224 m2" {
		t.Errorf("1 ac = %s, %v", got, err)
	}
}

// Fixed points of the two scales, and the definition degC = (degF - 32) x 5/9 (UCUM essence 2.2, NIST SP 811 B.9).
func TestTemperature(t *testing.T) {
	for f, c := range map[string]string{"32 degF": "0 degC", "212 degF": "100 degC", "-40 degF": "-40 degC", "98.6 degF": "37 degC", "0 degF": "-17.7778 degC"} {
		if got, err := quantity.MustParse(f).In(quantity.MustUnit("degC"), 4); err != nil || got.String() != c {
			t.Errorf("%s = %s, %v, want %s", f, got, err, c)
		}
		if n, err := quantity.MustParse(f).Cmp(quantity.MustParse(c)); err != nil || (n != 0) != (f == "0 degF") {
			t.Errorf("%s against %s: %d, %v", f, c, n, err)
		}
	}
	got, err := quantity.MustParse("37 degC").Exact(quantity.MustUnit("degF"))
	if err != nil || got.String() != "98.6 degF" {
		t.Errorf("37 degC = %s, %v", got, err)
	}
	for _, c := range []struct{ q, op, o, want string }{
		{"20 degC", "+", "18 degF", "30 degC"},
		{"85 degC", "-", "45 degC", "40 degC"},
		{"85 degC", "-", "45 degF", "60 degC"},
		{"68 degF", "+", "10 degC", "86 degF"},
	} {
		q, o := quantity.MustParse(c.q), quantity.MustParse(c.o)
		f := q.Add
		if c.op == "-" {
			f = q.Sub
		}
		if got, err := f(o); err != nil || got.String() != c.want {
			t.Errorf("%s %s %s = %s, %v, want %s", c.q, c.op, c.o, got, err, c.want)
		}
	}
}

func TestCalendarIsNoTime(t *testing.T) {
	if got, err := quantity.MustParse("2 yr").Exact(quantity.MustUnit("mo")); err != nil || got.String() != "24 mo" {
		t.Errorf("2 yr = %s, %v", got, err)
	}
	if got, err := quantity.MustParse("2 wk").Exact(quantity.MustUnit("d")); err != nil || got.String() != "14 d" {
		t.Errorf("2 wk = %s, %v", got, err)
	}
	_, err := quantity.MustParse("1 mo").In(quantity.MustUnit("d"), 0)
	if want := "cannot give 1 mo in d: mo is a calendar span, d is a time"; !errors.Is(err, quantity.ErrMismatch) || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
}

// number reads a published value.
func number(t *testing.T, s string) *big.Rat {
	t.Helper()
	r, ok := new(big.Rat).SetString(s)
	if !ok {
		t.Fatalf("bad number %q in the table", s)
	}
	return r
}

// decimals counts the digits after the point.
func decimals(s string) int {
	_, after, _ := strings.Cut(s, ".")
	return len(after)
}
