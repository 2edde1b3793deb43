package record

import (
	"fmt"
	"strings"
	"time"
)

// Done is when work was done: farm-local wall time, "2026-04-01" or "2026-04-01T16:05". It has no offset: a shed has one clock on its wall.
type Done string

const (
	dateForm   = "2006-01-02"
	minuteForm = "2006-01-02T15:04"
)

// ParseDone takes exactly the two stored forms.
func ParseDone(s string) (Done, error) {
	if year, _, _, ok := civil(s); ok && year >= 1900 && (len(s) == len(dateForm) || len(s) == len(minuteForm) && isClock(s[len(dateForm):])) {
		return Done(s), nil
	}
	for _, form := range []string{dateForm, minuteForm} {
		if t, err := time.Parse(form, s); err == nil && t.Format(form) == s && t.Year() >= 1900 {
			return Done(s), nil
		}
	}
	return "", fmt.Errorf("%q is no date: write 2026-04-01 or 2026-04-01T16:05", s)
}

// Date is the day, "2026-04-01".
func (d Done) Date() string {
	if len(d) < len(dateForm) {
		return string(d)
	}
	return string(d[:len(dateForm)])
}

// Clock is "16:05", or "24:00" where only the day is known: such work counts as done at the day's end.
func (d Done) Clock() string {
	if len(d) == len(minuteForm) {
		return string(d[len(dateForm)+1:])
	}
	return "24:00"
}

// Day is the day as midnight UTC, for counting days between two dates only.
func (d Done) Day() time.Time {
	if year, month, day, ok := civil(string(d)); ok {
		return time.Date(year, time.Month(month), day, 0, 0, 0, 0, time.UTC)
	}
	t, _ := time.Parse(dateForm, d.Date())
	return t
}

// Compare orders by day, then clock.
func (d Done) Compare(o Done) int {
	if len(d) < len(dateForm) || len(o) < len(dateForm) { // no stored form: "" above all
		return strings.Compare(d.Date()+d.Clock(), o.Date()+o.Clock())
	}
	if n := strings.Compare(d.Date(), o.Date()); n != 0 {
		return n
	}
	return strings.Compare(d.Clock(), o.Clock())
}

// civil reads the date that s begins with; ok is false for one that the calendar has not. A replay asks for millions, and time.Parse takes some twenty
// times as long.
func civil(s string) (year, month, day int, ok bool) {
	if len(s) < len(dateForm) || s[4] != '-' || s[7] != '-' {
		return 0, 0, 0, false
	}
	for i := range len(dateForm) {
		if i != 4 && i != 7 && !isDigit(s[i]) {
			return 0, 0, 0, false
		}
	}
	two := func(i int) int { return int(s[i]-'0')*10 + int(s[i+1]-'0') }
	year, month, day = two(0)*100+two(2), two(5), two(8)
	if month < 1 || month > 12 || day < 1 || day > 31 {
		return 0, 0, 0, false
	}
	if day > 28 && time.Date(year, time.Month(month), day, 0, 0, 0, 0, time.UTC).Day() != day {
		return 0, 0, 0, false
	}
	return year, month, day, true
}

// isClock is "T00:00" to "T23:59".
func isClock(s string) bool {
	return len(s) == len("T15:04") && s[0] == 'T' && s[3] == ':' && isDigit(s[1]) && isDigit(s[2]) && isDigit(s[4]) && isDigit(s[5]) &&
		s[1:3] <= "23" && s[4:6] <= "59"
}

func isDigit(c byte) bool { return '0' <= c && c <= '9' }

// UnmarshalJSON refuses anything but the stored forms.
func (d *Done) UnmarshalJSON(b []byte) error {
	s, err := textOf(b)
	if err != nil {
		return err
	}
	v, err := ParseDone(s)
	if err != nil {
		return err
	}
	*d = v
	return nil
}

// checkDate takes "YYYY-MM-DD" only.
func checkDate(member, s string) error {
	if d, err := ParseDone(s); err != nil || len(d) != len(dateForm) {
		return fmt.Errorf("%s: %q is no date: write 2026-04-01", member, s)
	}
	return nil
}
