package schedule

import (
	"testing"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

func TestRowsByWord(t *testing.T) {
	f := mustFit(t, header+`
[place.wheel]
names = ["left", "right"]
[setting.speed]
type = "choice"
choices = ["field", "road"]
[setting.load]
type = "choice"
choices = ["empty", "full"]
[reading.pressure]
of = "wheel"
unit = "psi"
[relation.pressure-by-speed]
thing = "pressure"
by = "speed"
rows = [
  { is = "field", min = "10 psi", max = "15 psi" },
  { is = "road", min = "20 psi", max = "25 psi", only = { setting = "load", is = "empty" } },
  { is = "road", min = "25 psi", max = "30 psi", only = { setting = "load", is = "full" } },
]
`)
	x := f.Relations[0]
	if row, ok := x.Row(record.Word("field")); !ok || row.Max != quantity.MustParse("15 psi") {
		t.Errorf("%+v", row)
	}
	if rows := x.RowsFor(record.Word("road")); len(rows) != 2 || rows[1].Only[0].Setting != "load" {
		t.Errorf("%+v", rows)
	}
	if _, ok := x.Row(record.Word("road")); ok {
		t.Error("a row with conditions holds by itself")
	}
	row, _ := x.Row(record.Word("field"))
	for value, want := range map[string]string{"10 psi": "", "15 psi": "", "9 psi": "9 psi is past the lower limit 10 psi", "16 psi": "16 psi is past the upper limit 15 psi"} {
		if past, why := row.Past(amount(value)); past != (want != "") || why != want {
			t.Errorf("%s: %v %q", value, past, why)
		}
	}
}

func TestBefore(t *testing.T) {
	first, second, last := &Job{Order: 1}, &Job{Order: 2}, &Job{}
	for _, c := range []struct {
		a, b *Job
		want bool
	}{{first, second, true}, {second, first, false}, {second, last, true}, {last, first, false}, {last, last, false}, {first, first, false}} {
		if got := c.a.Before(c.b); got != c.want {
			t.Errorf("order %d before order %d: %v", c.a.Order, c.b.Order, got)
		}
	}
}
