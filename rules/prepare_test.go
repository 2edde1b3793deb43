package rules

import (
	"fmt"
	"math/big"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"shedbook/rules/record"
)

// Laws of preparing: its work is the due list looking that far ahead, nothing left out or said twice; what is to be bought is what is wanted and not there; the
// hours are the sum of the tasks'; tasks of one machine that open the same stand together, each after those it follows on; what follows on is said once; and the
// order of arrival does not matter.
func TestLawPrepare(t *testing.T) {
	tasks := 0
	checkLaw(t, func(rt *rapid.T, s *story) {
		on, ahead := string(s.done()[:10]), rapid.IntRange(1, 400).Draw(rt, "ahead")
		before := calendarDay(on).AddDate(0, 0, ahead).Format("2006-01-02")
		st := replayed(t, s.entries, on)
		p := Prepare(st, Filter{}, before, "")
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
		said := map[string]bool{} // machine, job and place
		inTurn(rt, st, p.Work)
		for _, w := range p.Work {
			if len(w.Follows) == 0 {
				want[w.ID+w.Positions.String()]--
			}
			for _, p := range append(w.Positions.All(), record.Position{}) { // the zero one: of a job of the machine
				if at := string(w.Machine) + w.Job + p.String(); w.Job != "" && (p.Noun != "") == !w.Positions.IsZero() {
					if said[at] {
						rt.Fatalf("%s is said twice", at)
					}
					said[at] = true
				}
			}
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
			sum := 0
			for _, l := range n.Lines {
				sum += l.Count
				if n.Named == "" && l.Count != max(1, l.Places.Len()) {
					rt.Fatalf("%d parts at %d places: %+v", l.Count, l.Places.Len(), n)
				}
			}
			if sum != n.Count || n.Buy != max(0, n.Count-n.Shelf) || n.Pack > 1 && (n.Packs*n.Pack < n.Buy || (n.Packs-1)*n.Pack >= n.Buy && n.Buy > 0) {
				rt.Fatalf("%+v", n)
			}
		}
		again := Prepare(replayed(t, rapid.Permutation(s.entries).Draw(rt, "arrival"), on), Filter{}, before, "")
		differs(rt, "another order of arrival", preparation(p), preparation(again))
	})
	if tasks < 20 {
		t.Errorf("only %d tasks were looked at", tasks)
	}
}

// inTurn fails where a task stands before one that it follows on and that opens the same, unless each follows on the other.
func inTurn(rt *rapid.T, st *State, work []Task) {
	for i, b := range work {
		for _, a := range work[i+1:] {
			if a.Machine != b.Machine || a.Opens != b.Opens || a.Job == "" || b.Job == "" {
				continue
			}
			f := newJudge(st, st.MachineByID(a.Machine), Filter{}, newHistory(st)).followers()
			if f[a.Job][b.Job] && !f[b.Job][a.Job] {
				rt.Fatalf("%s before %s, which it follows on", b.Job, a.Job)
			}
		}
	}
}

func preparation(p Preparation) string {
	var out strings.Builder
	for _, w := range p.Work {
		fmt.Fprintf(&out, "%s %s %s %s\n", w.ID, w.Positions, w.Opens, w.Who)
	}
	fmt.Fprintf(&out, "%+v\n%+v\n%+v\n", p.Parts, p.Uses, p.Tools)
	for _, w := range p.Field {
		fmt.Fprintf(&out, "%s %s %s %v\n", w.Machine, w.Job, w.Positions, w.Follows)
	}
	for _, h := range p.Hours {
		fmt.Fprintf(&out, "%s %s %s %d\n", h.Yard, h.Who, h.Minutes, h.Untimed)
	}
	return out.String()
}
