package rules

import (
	"fmt"
	"math/big"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Laws of preparing: its work is the due list looking that far ahead, nothing left out or said twice; what is to be bought is what is wanted and not there; the
// hours are the sum of the tasks'; tasks of one machine that open the same stand together; and the order of arrival does not matter.
func TestLawPrepare(t *testing.T) {
	tasks := 0
	checkLaw(t, func(rt *rapid.T, s *story) {
		on, ahead := string(s.done()[:10]), rapid.IntRange(1, 400).Draw(rt, "ahead")
		before := calendarDay(on).AddDate(0, 0, ahead).Format("2006-01-02")
		st := replayed(t, s.entries, on)
		p := Prepare(st, Filter{}, before)
		tasks += len(p.Work)
		want := map[string]int{}
		for _, it := range Due(st, Filter{Within: ahead}) {
			if it.State != Unknown && it.State != Later {
				want[it.ID+it.Positions.String()]++
			}
		}
		total := new(big.Rat)
		left := map[string]bool{} // machine and opening that the list has come to the end of
		last := ""
		for _, w := range p.Work {
			want[w.ID+w.Positions.String()]--
			if w.Minutes != nil {
				total.Add(total, new(big.Rat).Mul(w.Minutes, big.NewRat(int64(w.Hands), 1)))
			}
			if key := string(w.Machine) + " " + w.Opens; key != last {
				if left[key] {
					rt.Fatalf("%s is opened twice", key)
				}
				left[key] = true
				last = key
			}
		}
		for id, n := range want {
			if n != 0 {
				rt.Fatalf("%s is in the list %d times too few", id, n)
			}
		}
		for _, h := range p.Hours {
			total.Sub(total, h.Minutes)
		}
		if total.Sign() != 0 {
			rt.Fatalf("hours and tasks differ by %s min", total)
		}
		for _, n := range p.Parts {
			if n.Buy != max(0, n.Count-n.Shelf) || n.Pack > 1 && (n.Packs*n.Pack < n.Buy || (n.Packs-1)*n.Pack >= n.Buy && n.Buy > 0) {
				rt.Fatalf("%+v", n)
			}
		}
		again := Prepare(replayed(t, rapid.Permutation(s.entries).Draw(rt, "arrival"), on), Filter{}, before)
		differs(rt, "another order of arrival", preparation(p), preparation(again))
	})
	if tasks < 20 {
		t.Errorf("only %d tasks were looked at", tasks)
	}
}

func preparation(p Preparation) string {
	var out strings.Builder
	for _, w := range p.Work {
		fmt.Fprintf(&out, "%s %s %s %s\n", w.ID, w.Positions, w.Opens, w.Who)
	}
	fmt.Fprintf(&out, "%+v\n%+v\n%+v\n", p.Parts, p.Uses, p.Tools)
	for _, h := range p.Hours {
		fmt.Fprintf(&out, "%s %s %s %d\n", h.Yard, h.Who, h.Minutes, h.Untimed)
	}
	return out.String()
}
