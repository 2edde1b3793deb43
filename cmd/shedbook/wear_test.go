package main

import (
	"testing"

	"shedbook/rules/quantity"
)

// A difference of temperatures goes by the ratio of the units alone, 9 to 5 (by definition of the two scales, whose zeros differ); other amounts as ever.
func TestShownApart(t *testing.T) {
	for _, test := range []struct {
		system         quantity.System
		q, apart, size string
	}{
		{quantity.US, "5 degC", "9 degF", "41 degF"},
		{quantity.US, "0 degC", "0 degF", "32 degF"},
		{quantity.US, "0.02 degC", "0.036 degF", "32 degF"},
		{quantity.Metric, "-9 degF", "-5 degC", "-22.8 degC"},
		{quantity.Metric, "9 degC", "9 degC", "9 degC"},
		{quantity.Metric, "0.5 in", "12.7 mm", "12.7 mm"},
	} {
		c := &call{common: &common{units: "asked"}, system: test.system}
		q := quantity.MustParse(test.q)
		if got := c.apart(q).String(); got != test.apart {
			t.Errorf("%s apart: %s, want %s", test.q, got, test.apart)
		}
		if got := c.shown(q).String(); got != test.size {
			t.Errorf("%s: %s, want %s", test.q, got, test.size)
		}
	}
}
