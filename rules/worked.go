package rules

import "sort"

// finishWorked lists the days on which the machine is known to have worked: those with a reading or addition by which one of its own counters grew
// (the use was booked on that day; a reading taken only to close off a counter before a reset does not count), and those on which work was written
// down with its crop, field or ground. Days of work that nobody wrote anything on are not known, so it is a least number.
func (r *replay) finishWorked(u *unit) {
	for day := range u.worked {
		u.m.Worked = append(u.m.Worked, day)
	}
	sort.Strings(u.m.Worked)
}
