package rules

import "testing"

// Hard rule 2, common practice, no source: a wheel that was off has its nuts torqued again after 1 h and after 10 h, then every 10 h until none has moved,
// then every 250 h. On the built-in tractor four jobs loosen them: wheel-off, hub-open, axle-move and tyre-change, that is a new tyre.
func TestHardWheelSeries(t *testing.T) {
	s := newTractor(t)
	check := func(day, hours string, want []string, moved ...string) {
		t.Helper()
		s.read(day, "hours "+hours)
		same(t, "at "+hours, of(s.due(day), "wheel-torque"), want)
		if len(want) > 0 {
			checked(s, day, "wheel-torque", moved...)
			same(t, "checked at "+hours, of(s.due(day), "wheel-torque"), nil)
		}
	}
	s.read("2025-02-01", "hours 20h")
	checked(s, "2025-02-01", "wheel-torque") // all four: next at 270 h
	s.read("2025-03-01", "hours 100h")
	s.did("2025-03-01", "wheel-off", "wheel/left-rear")
	one := func(state, at, over string) []string {
		return []string{state + " wheel-torque [wheel left-rear]: " + at + ", over " + over}
	}

	check("2025-03-02", "100.5h", nil)
	checked(s, "2025-03-02", "wheel-torque") // half an hour after is no answer to the first hour
	check("2025-03-03", "101h", one("due", "101 h", "0 h"), "wheel/left-rear")
	check("2025-03-04", "108h", nil) // 10 h after it was off: 110 h, coming a tenth of that before
	s.read("2025-03-05", "hours 109h")
	same(t, "at 109h", of(s.due("2025-03-05"), "wheel-torque"), one("coming", "110 h", "-1 h"))
	check("2025-03-06", "111h", one("overdue", "110 h", "1 h"), "wheel/left-rear") // one moved: in 10 h again, from this check
	check("2025-03-07", "119h", nil)
	check("2025-03-08", "121h", one("due", "121 h", "0 h"), "wheel/left-rear")
	check("2025-03-09", "131h", one("due", "131 h", "0 h")) // none moved: the series is over, then every 250 h
	s.read("2025-03-12", "hours 141h")
	same(t, "10 h on: over", of(s.due("2025-03-12"), "wheel-torque"), nil)
	s.read("2025-07-01", "hours 381h") // all four were checked at 131 h: 131 + 250 = 381
	same(t, "every 250 h", of(s.due("2025-07-01"), "wheel-torque"), []string{
		"due wheel-torque [all 4 wheels but left-rear]: 381 h, over 0 h", "due wheel-torque [wheel left-rear]: 381 h, over 0 h"}) // that one for another reason
}

// Each of the four jobs that loosen begins the series anew at its own wheels, and at no others.
func TestHardWheelLoosenedBy(t *testing.T) {
	for _, c := range []struct {
		name string
		do   func(s *shed)
	}{
		{"wheel-off", func(s *shed) { s.did("2025-03-01", "wheel-off", "wheel/right-front") }},
		{"hub-open", func(s *shed) { s.did("2025-03-01", "hub-open", "wheel/right-front") }},
		{"axle-move", func(s *shed) { s.did("2025-03-01", "axle-move", "wheel/right-front") }},
		{"a new tyre", func(s *shed) { s.swap("2025-03-01", "tyre", "new", "wheel/right-front") }},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := newTractor(t)
			s.read("2025-02-01", "hours 20h")
			checked(s, "2025-02-01", "wheel-torque")
			s.read("2025-03-01", "hours 50h")
			c.do(s)
			s.read("2025-03-02", "hours 52h")
			same(t, "after 2 h", of(s.due("2025-03-02"), "wheel-torque"), []string{"overdue wheel-torque [wheel right-front]: 51 h, over 1 h"})
			if i := only(t, s.due("2025-03-02"), "wheel-torque"); i.Severity != "stop" || i.Cause != ByFollowOn {
				t.Errorf("%s, %s", i.Severity, i.Cause)
			}
			checked(s, "2025-03-02", "wheel-torque")
			// off again at 55 h, before the tenth hour of the first time: 56 h, and then 65 h, not 60
			s.read("2025-03-03", "hours 55h")
			c2 := *s
			c2.did("2025-03-03", "wheel-off", "wheel/right-front")
			c2.read("2025-03-04", "hours 56h")
			same(t, "off again", of(c2.due("2025-03-04"), "wheel-torque"), []string{"due wheel-torque [wheel right-front]: 56 h, over 0 h"})
			checked(&c2, "2025-03-04", "wheel-torque")
			c2.read("2025-03-05", "hours 60h")
			same(t, "not from the first time", of(c2.due("2025-03-05"), "wheel-torque"), nil)
			c2.read("2025-03-06", "hours 65h")
			same(t, "from the second", of(c2.due("2025-03-06"), "wheel-torque"), []string{"due wheel-torque [wheel right-front]: 65 h, over 0 h"})
		})
	}
}

// Both wheels of an axle moved at 200 h: as long as one nut on either has moved, both are checked every 10 h.
func TestHardWheelPair(t *testing.T) {
	s := newTractor(t)
	s.read("2025-03-01", "hours 190h")
	checked(s, "2025-03-01", "wheel-torque")
	s.read("2025-04-01", "hours 200h")
	s.did("2025-04-01", "axle-move", "wheel/left-rear", "wheel/right-rear")
	for _, step := range []struct{ day, hours, due, moved string }{
		{"2025-04-02", "201h", "201 h", "wheel/left-rear"},
		{"2025-04-03", "210h", "210 h", "wheel/left-rear"},
		{"2025-04-04", "220h", "220 h", "wheel/right-rear"}, // the other one
		{"2025-04-05", "230h", "230 h", ""},
	} {
		s.read(step.day, "hours "+step.hours)
		same(t, "at "+step.hours, of(s.due(step.day), "wheel-torque"), []string{"due wheel-torque [rear wheels]: " + step.due + ", over 0 h"})
		if step.moved == "" {
			checked(s, step.day, "wheel-torque")
		} else {
			checked(s, step.day, "wheel-torque", step.moved)
		}
	}
	s.read("2025-04-20", "hours 260h")
	same(t, "none moved at 230 h: over", of(s.due("2025-04-20"), "wheel-torque"), nil)
}

// A check that comes late answers every step it has passed: at 12 h those of 1 h and of 10 h; with none moved the series is over.
func TestHardWheelLate(t *testing.T) {
	s := newTractor(t)
	s.read("2025-03-01", "hours 100h")
	checked(s, "2025-03-01", "wheel-torque")
	s.did("2025-03-01", "wheel-off", "wheel/left-front")
	s.read("2025-03-04", "hours 112h")
	same(t, "late", of(s.due("2025-03-04"), "wheel-torque"), []string{"overdue wheel-torque [wheel left-front]: 101 h, over 11 h"})
	checked(s, "2025-03-04", "wheel-torque", "wheel/left-front")
	s.read("2025-03-05", "hours 122h")
	same(t, "one moved: 10 h on", of(s.due("2025-03-05"), "wheel-torque"), []string{"due wheel-torque [wheel left-front]: 122 h, over 0 h"})
	checked(s, "2025-03-05", "wheel-torque")
	s.read("2025-03-09", "hours 150h")
	same(t, "none moved", of(s.due("2025-03-09"), "wheel-torque"), nil)
	s.did("2025-03-10", "wheel-off", "wheel/left-front") // between 150 h the day before and 152 h the day after: 151 h
	s.read("2025-03-11", "hours 152h")
	s.did("2025-03-11", "wheel-torque", "wheel/right-front")
	same(t, "another wheel checked", of(s.due("2025-03-11"), "wheel-torque"), []string{"due wheel-torque [wheel left-front]: 152 h, over 0 h"})
}
