package schedule

import (
	"testing"

	"pgregory.net/rapid"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

func TestLimits(t *testing.T) {
	for _, c := range []struct {
		name, limit, unit, value string
		against                  Against
		why                      string // "" not past
	}{
		{"at the lower", `min = "5 in"`, "in", "5 in", Against{}, ""},
		{"below the lower", `min = "5 in"`, "in", "4.99 in", Against{}, "4.99 in is past the limit 5 in"},
		{"at the upper", `max = "5 in"`, "in", "127 mm", Against{}, ""},
		{"above the upper", `max = "5 in"`, "in", "127.01 mm", Against{}, "127.01 mm is past the limit 5 in"},
		{"in the band", `min = "1 1/2 in", max = "2 1/2 in"`, "in", "2 in", Against{}, ""},
		{"below the band", `min = "1 1/2 in", max = "2 1/2 in"`, "in", "1 7/16 in", Against{}, "1 7/16 in is past the lower limit 1 1/2 in"},
		{"above the band", `min = "1 1/2 in", max = "2 1/2 in"`, "in", "3 in", Against{}, "3 in is past the upper limit 2 1/2 in"},
		{"at the share when new", `share = "85 %", falls = true`, "in", "12.75 in", Against{New: amount("15 in")}, ""},
		{"below the share when new", `share = "85 %", falls = true`, "in", "12.7 in", Against{New: amount("15 in")}, "12.7 in is less than 85 % of the 15 in when new"},
		{"share in other units", `share = "85 %", falls = true`, "in", "323.84 mm", Against{New: amount("15 in")}, "323.84 mm is less than 85 % of the 15 in when new"},
		{"share in other units, at it", `share = "85 %", falls = true`, "in", "323.85 mm", Against{New: amount("15 in")}, ""},
		{"at the share above new", `share = "110 %"`, "mL/min", "880 mL/min", Against{New: amount("800 mL/min")}, ""},
		{"above the share above new", `share = "110 %"`, "mL/min", "880.1 mL/min", Against{New: amount("800 mL/min")}, "880.1 mL/min is more than 110 % of the 800 mL/min when new"},
		{"new not known", `share = "85 %", falls = true`, "in", "1 in", Against{}, ""},
		{"a small step", `step = "1/8 in"`, "in", "5 in", Against{Last: amount("5.125 in")}, ""},
		{"a big step", `step = "1/8 in"`, "in", "5 in", Against{Last: amount("5.13 in")}, "5 in is a step of more than 1/8 in from the last reading, 5.13 in"},
		{"a step in ppm", `step = "15 ppm"`, "ppm", "36 ppm", Against{Last: amount("20 ppm")}, "36 ppm is a step of more than 15 ppm from the last reading, 20 ppm"},
		{"near the neighbours", `neighbours = "20 degC"`, "degC", "65 degC", Against{Median: amount("45 degC")}, ""},
		{"far from the neighbours", `neighbours = "20 degC"`, "degC", "85 degC", Against{Median: amount("45 degC")}, "85 degC is more than 20 degC from the median of its neighbours, 45 degC"},
		{"neighbours in degrees of another size", `neighbours = "20 degC"`, "degC", "150 degF", Against{Median: amount("113 degF")}, "150 degF is more than 20 degC from the median of its neighbours, 113 degF"},
		{"just near", `neighbours = "20 degC"`, "degC", "149 degF", Against{Median: amount("113 degF")}, ""},
		{"share of the neighbours", `neighbours = "5 %"`, "L/min", "1.051 L/min", Against{Median: amount("1 L/min")}, "1.051 L/min is more than 5 % from the median of its neighbours, 1 L/min"},
		{"at the share of the neighbours", `neighbours = "5 %"`, "L/min", "0.95 L/min", Against{Median: amount("1 L/min")}, ""},
		{"two at once", `min = "5 in", step = "1 in"`, "in", "4 in", Against{Last: amount("6 in")},
			"4 in is past the limit 5 in; 4 in is a step of more than 1 in from the last reading, 6 in"},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := mustFit(t, header+"[reading.r]\nunit = \""+c.unit+"\"\nlimit = { "+c.limit+" }\n")
			r, _ := f.Reading("r")
			past, why := r.Past(amount(c.value), c.against)
			if past != (c.why != "") || why != c.why {
				t.Errorf("%v %q, want %q", past, why, c.why)
			}
			if _, ok := r.Bound(amount(c.value), c.against); ok != past {
				t.Errorf("a bound %v, past %v", ok, past)
			}
		})
	}
}

// What is past is said in its shortest form by the first limit it is past; a share of the value when new by what it comes to: 85 % of 15 in are 12.75 in.
func TestBound(t *testing.T) {
	for _, c := range []struct {
		name, limit, unit, value string
		against                  Against
		what, at                 string
	}{
		{"lower", `min = "5 in"`, "in", "4.99 in", Against{}, "limit", "5 in"},
		{"upper", `max = "5 in"`, "in", "127.01 mm", Against{}, "limit", "5 in"},
		{"share when new", `share = "85 %", falls = true`, "in", "12.7 in", Against{New: amount("15 in")}, "limit", "12.75 in"},
		{"step", `step = "1/8 in"`, "in", "5 in", Against{Last: amount("5.13 in")}, "last time", "5.13 in"},
		{"neighbours", `neighbours = "20 degC"`, "degC", "85 degC", Against{Median: amount("45 degC")}, "neighbours", "45 degC"},
		{"the first of two", `min = "5 in", step = "1 in"`, "in", "4 in", Against{Last: amount("6 in")}, "limit", "5 in"},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := mustFit(t, header+"[reading.r]\nunit = \""+c.unit+"\"\nlimit = { "+c.limit+" }\n")
			r, _ := f.Reading("r")
			b, ok := r.Bound(amount(c.value), c.against)
			if !ok || b.What != c.what || b.At.String() != c.at {
				t.Errorf("%v %q %s, want %q %s", ok, b.What, b.At, c.what, c.at)
			}
		})
	}
}

func TestGradesPast(t *testing.T) {
	f := mustFit(t, valuesKind)
	r, _ := f.Reading("play")
	for word, want := range map[string]bool{"none": false, "slight": false, "loose": true, "rough": true} {
		if past, _ := r.Past(record.Word(word), Against{}); past != want {
			t.Errorf("%s: past %v", word, past)
		}
	}
	if past, why := r.Past(record.Value{}, Against{}); past {
		t.Errorf("nothing is past: %s", why)
	}
}

// The reading's own value when new stands in where the part's is not known.
func TestShareOfOwnNew(t *testing.T) {
	f := mustFit(t, header+"[reading.r]\nunit = \"mm\"\nnew = \"100 mm\"\nlimit = { share = \"70 %\", falls = true }\n")
	r, _ := f.Reading("r")
	if past, _ := r.Past(amount("69.9 mm"), Against{}); !past {
		t.Error("69.9 mm of 100 mm is not past 70 %")
	}
	if past, _ := r.Past(amount("69.9 mm"), Against{New: amount("99 mm")}); past {
		t.Error("the part's own 99 mm does not rule")
	}
}

// Law: the unit a reading was written in does not change whether it is past: 25.4 mm are 1 in exactly.
func TestPastInAnyUnit(t *testing.T) {
	f := mustFit(t, header+"[reading.r]\nunit = \"in\"\nlimit = { min = \"5 in\", max = \"5.5 in\", step = \"0.1 in\", neighbours = \"0.2 in\", share = \"80 %\", falls = true }\n")
	r, _ := f.Reading("r")
	value := func(t *rapid.T, name string) (in, mm record.Value) {
		n := int64(rapid.IntRange(480, 570).Draw(t, name)) // hundredths of an inch
		return record.Amount(quantity.New(n, 2, quantity.MustUnit("in"))), record.Amount(quantity.New(n*254, 3, quantity.MustUnit("mm")))
	}
	rapid.Check(t, func(t *rapid.T) {
		v, vm := value(t, "value")
		a, am := value(t, "last")
		b, bm := value(t, "median")
		n, nm := value(t, "new")
		inches, _ := r.Past(v, Against{New: n, Last: a, Median: b})
		for _, o := range []struct {
			v record.Value
			a Against
		}{{vm, Against{New: n, Last: a, Median: b}}, {v, Against{New: nm, Last: am, Median: bm}}, {vm, Against{New: nm, Last: am, Median: bm}}} {
			if past, why := r.Past(o.v, o.a); past != inches {
				t.Fatalf("%s: past %v, in inches %v: %s", o.v, past, inches, why)
			}
		}
	})
}
