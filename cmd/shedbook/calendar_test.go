package main

import (
	"testing"

	"shedbook/rules"
)

// What is late stands on the day asked about; what is due past the year 9999, in which a date has more than ten characters, stands on none.
func TestDayOf(t *testing.T) {
	for _, c := range []struct {
		item rules.Item
		want string
	}{
		{rules.Item{State: rules.Overdue, Due: rules.Amount{Date: "2026-03-01"}}, "2026-04-01"},
		{rules.Item{State: rules.Later, Due: rules.Amount{Date: "2026-05-01"}}, "2026-05-01"},
		{rules.Item{State: rules.Later, Expected: "2026-06-01"}, "2026-06-01"},
		{rules.Item{State: rules.Later, Expected: "2026-03-01"}, "2026-04-01"},
		{rules.Item{State: rules.Later, Due: rules.Amount{Date: "275817-02-10"}}, ""},
		{rules.Item{State: rules.Later}, ""},
	} {
		if got := dayOf(c.item, "2026-04-01"); got != c.want {
			t.Errorf("%+v: got %q, want %q", c.item, got, c.want)
		}
	}
}
