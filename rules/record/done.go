package record

import (
	"encoding/json"
	"fmt"
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
	t, _ := time.Parse(dateForm, d.Date())
	return t
}

// Compare orders by day, then clock.
func (d Done) Compare(o Done) int {
	a, b := d.Date()+d.Clock(), o.Date()+o.Clock()
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// UnmarshalJSON refuses anything but the stored forms.
func (d *Done) UnmarshalJSON(b []byte) error {
	var s string
	if err := json.Unmarshal(b, &s); err != nil {
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
