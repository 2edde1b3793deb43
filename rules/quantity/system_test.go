package quantity_test

import (
	"testing"

	"shedbook/rules/quantity"
)

func TestShow(t *testing.T) {
	for _, c := range []struct{ stored, us, metric string }{
		{"5.25 in", "5.25 in", "133.4 mm"}, // 133.35, half to even
		{"0.0625 in", "0.0625 in", "1.59 mm"},
		{"0.001 in", "0.001 in", "0.0254 mm"},
		{"3 mil", "3 mil", "0.0762 mm"},
		{"374.7 mm", "14.75 in", "374.7 mm"},
		{"0.127 mm", "0.005 in", "0.127 mm"},
		{"6 mm", "0.236 in", "6 mm"},
		{"12.2 m", "40 ft", "12.2 m"},
		{"1812 ac", "1812 ac", "733.3 ha"}, // x 0.40468564224 = 733.29
		{"-0.5 ac", "-0.5 ac", "-0.202 ha"},
		{"75 lbf.ft", "75 lbf.ft", "102 N.m"}, // x 1.3558 = 101.69
		{"361 N.m", "266 lbf.ft", "361 N.m"},
		{"40 psi", "40 psi", "2.76 bar"},
		{"2500 psi", "2500 psi", "172.4 bar"},
		{"240 kPa", "34.8 psi", "240 kPa"},
		{"20 inH2O", "20 inH2O", "4.98 kPa"},
		{"5.8 gal", "5.8 gal", "22 L"},
		{"22 L", "5.81 gal", "22 L"},
		{"10 gal/ac", "10 gal/ac", "93.5 L/ha"},
		{"0.4 gal/min", "0.4 gal/min", "1.51 L/min"},
		{"5 mi/h", "5 mi/h", "8.05 km/h"},
		{"185 degF", "185 degF", "85 degC"},
		{"85 degC", "185 degF", "85 degC"},
		{"0.3 degF", "0.3 degF", "-17.6 degC"},
		{"33 degF", "33 degF", "0.6 degC"}, // one decimal, also near the zero of the scale
		{"120 lb/ac", "120 lb/ac", "134.5 kg/ha"},
		{"32000 seeds/ac", "32000 seeds/ac", "79074 seeds/ha"},
		{"400 lbf", "400 lbf", "1779 N"},
		{"10.5 ac/h", "10.5 ac/h", "4.25 ha/h"},
		{"0 in", "0 in", "0 mm"},
		{"999999999999999 mi", "999999999999999 mi", "999999999999999 km"}, // held: no amount can stop a report
		// The same in both.
		{"250 h", "250 h", "250 h"},
		{"12 mo", "12 mo", "12 mo"},
		{"2 %", "2 %", "2 %"},
		{"12.6 V", "12.6 V", "12.6 V"},
		{"56 bu", "56 bu", "56 bu"},
		{"1.23456789 bales", "1.23456789 bales", "1.23456789 bales"},
		{"-1", "-1", "-1"},
		// An amount already in the system is not rounded.
		{"5.123456 in", "5.123456 in", "130.1 mm"},
	} {
		q := quantity.MustParse(c.stored)
		if got := q.Show(quantity.AsWritten); got != c.stored {
			t.Errorf("%s as written: %s", c.stored, got)
		}
		if got := q.Show(quantity.US); got != c.us {
			t.Errorf("%s in US units: %s, want %s", c.stored, got, c.us)
		}
		if got := q.Show(quantity.Metric); got != c.metric {
			t.Errorf("%s in metric units: %s, want %s", c.stored, got, c.metric)
		}
	}
}

func TestUnitUsual(t *testing.T) {
	for _, c := range []struct {
		unit string
		s    quantity.System
		want string
	}{{"in", quantity.Metric, "mm"}, {"in", quantity.US, "in"}, {"in", quantity.AsWritten, "in"}, {"ha", quantity.US, "ac"}, {"h", quantity.US, "h"}, {"", quantity.Metric, ""}} {
		if got := quantity.MustUnit(c.unit).Usual(c.s); got.String() != c.want {
			t.Errorf("%q in %s: %q, want %q", c.unit, c.s, got, c.want)
		}
	}
}

func TestParseSystem(t *testing.T) {
	for typed, want := range map[string]quantity.System{"us": quantity.US, "US": quantity.US, "metric": quantity.Metric, "Metric": quantity.Metric, "": quantity.AsWritten} {
		if got, err := quantity.ParseSystem(typed); err != nil || got != want {
			t.Errorf("ParseSystem(%q) = %s, %v", typed, got, err)
		}
	}
	if _, err := quantity.ParseSystem("imperial"); err == nil || err.Error() != `unknown units "imperial": write us or metric` {
		t.Errorf("got %v", err)
	}
}
