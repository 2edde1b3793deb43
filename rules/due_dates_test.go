package rules

import "testing"

// The days of whole centuries follow from the rule of the Gregorian calendar (ISO 8601-1:2019): 400 years are 146097 days, 100 years without a leap day at their end 36524.
func TestDaysBetween(t *testing.T) {
	for _, c := range []struct {
		from, to string
		want     int
	}{
		{"2026-04-01", "2026-04-01", 0}, {"2026-04-01", "2026-05-01", 30}, {"2026-05-01", "2026-04-01", -30}, {"2001-01-01", "2101-01-01", 36524},
		{"2000-01-01", "2400-01-01", 146097}, {"2400-01-01", "2000-01-01", -146097}, {"2000-01-01", "9200-01-01", 18 * 146097},
	} {
		if got := daysBetween(calendarDay(c.from), calendarDay(c.to)); got != c.want {
			t.Errorf("%s to %s: %d days, want %d", c.from, c.to, got, c.want)
		}
	}
}
