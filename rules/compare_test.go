package rules

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// sides are each machine of a random history on two days, as Compare takes them, or at the ends of two seasons that began some days before (seasons).
func sides(t *testing.T, entries []Entry, m int, a, b string, seasons bool) (Side, Side, bool) {
	one, two := replayed(t, entries, a), replayed(t, entries, b)
	if m >= len(two.Machines) {
		return Side{}, Side{}, false
	}
	y := two.Machines[m]
	x := one.MachineByID(y.ID)
	if x == nil {
		return Side{}, Side{}, false
	}
	last := replayed(t, entries, fmt.Sprintf("2026-04-%02d", lawDays))
	from, to := Side{State: one, Machine: x, To: a, Later: last}, Side{State: two, Machine: y, To: b, Later: last}
	if seasons {
		from.From, to.From = max("2026-04-01", dateOf(calendarDay(a).AddDate(0, 0, -3))), max("2026-04-01", dateOf(calendarDay(b).AddDate(0, 0, -2)))
	}
	return from, to, true
}

// Laws of comparing: nothing differs from itself; turned round, both sides of every change are exchanged; the order of arrival does not matter.
func TestLawCompare(t *testing.T) {
	compared := 0
	checkLaw(t, func(rt *rapid.T, s *story) {
		a, b := string(s.done()[:10]), string(s.done()[:10])
		seasons := rapid.Bool().Draw(rt, "seasons")
		for m := range 3 {
			x, y, ok := sides(t, s.entries, m, a, b, seasons)
			if !ok {
				continue
			}
			if got := Compare(x, x); len(got) > 0 {
				rt.Fatalf("compared with itself: %+v", got)
			}
			there, back := Compare(x, y), Compare(y, x)
			compared += len(there)
			turned := make([]Change, len(back))
			for i, c := range back {
				c.From, c.To = c.To, c.From
				turned[i] = c
			}
			differs(rt, "turned round", changeLines(there), changeLines(turned))
			x2, y2, _ := sides(t, rapid.Permutation(s.entries).Draw(rt, "arrival"), m, a, b, seasons)
			differs(rt, "another order of arrival", changeLines(there), changeLines(Compare(x2, y2)))
		}
	})
	if compared < 100 {
		t.Errorf("only %d changes were looked at", compared)
	}
}

func changeLines(changes []Change) string {
	var out strings.Builder
	for _, c := range changes {
		fmt.Fprintf(&out, "%+v\n", c)
	}
	return out.String()
}

func TestSplitSlot(t *testing.T) {
	for _, slot := range []string{"", "opener/12", "opener/12 left", "wheel/left-front"} {
		p, hand := SplitSlot(slot)
		if diff := cmp.Diff(slot, SlotName(p, hand)); diff != "" {
			t.Error(diff)
		}
	}
}
