package rules_test

import (
	"encoding/json"
	"os"
	"reflect"
	"slices"
	"testing"

	gocmp "github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"shedbook/rules"
	"shedbook/rules/record"
)

// glimpses are entries as a book's bytes show them.
func glimpses(t testing.TB, entries []rules.Entry) []rules.Glimpse {
	out := make([]rules.Glimpse, len(entries))
	for i, e := range entries {
		raw, err := record.Encode(e.Record)
		if err != nil {
			t.Fatal(err)
		}
		out[i] = rules.Glimpse{ID: e.ID, Kind: e.Kind, Record: raw}
	}
	return out
}

func chosen(entries []rules.Entry, lists ...[]int) []rules.Entry {
	var out []rules.Entry
	for _, n := range slices.Concat(lists...) {
		out = append(out, entries[n])
	}
	return out
}

// A book replayed portion by portion gives for every machine what a replay of the whole gives: the machine itself, the parts that ever sat in it, its
// problems, and the whole list of work, word for word.
func TestPortionsAreTheWhole(t *testing.T) {
	checks, most := "300", 30
	if os.Getenv("SHEDBOOK_TEST") == "full" {
		checks, most = "5000", 60
	} else {
		fixFlag(t, "rapid.seed", "20260508")
	}
	fixFlag(t, "rapid.checks", checks)
	divided := 0
	rapid.Check(t, func(rt *rapid.T) {
		d := newDice(rt)
		b := drawBook(d, most)
		on := dayAfter(firstDay, between(d, "on", 60, 460))
		known := choose(d, "known", "", "", dayAfter(firstDay, between(d, "known day", 10, 140)))
		if n := samePortions(rt, t, b.entries, rules.Options{On: on, Known: known}); n > 1 {
			divided++
		}
	})
	if divided == 0 {
		t.Error("no book was divided")
	}
	t.Logf("%d books were of more than one portion", divided)
}

// samePortions holds the portions of a history to the whole of it and returns how many there are.
func samePortions(rt *rapid.T, t *testing.T, entries []rules.Entry, o rules.Options) int {
	whole, err := rules.Replay(entries, o)
	if err != nil {
		rt.Fatal(err)
	}
	p := rules.Divide(glimpses(t, entries))
	if data, err := p.AppendBinary(nil); err != nil {
		rt.Fatal(err)
	} else if again, ok := rules.ReadPortions(data, len(entries)); !ok || !reflect.DeepEqual(p, again) {
		rt.Fatalf("portions that were kept:\n%+v\nwant\n%+v", again, p)
	}
	outline, err := rules.Replay(chosen(entries, p.Common, p.Outline), o)
	if err != nil {
		rt.Fatal(err)
	}
	answers := map[bool][]rules.Answer{}
	seen := map[rules.ID]bool{}
	states, withOutline := map[rules.ID]*rules.State{}, map[rules.ID]*rules.State{} // by the first machine of a portion
	var replay func(one rules.Portion) *rules.State
	replay = func(one rules.Portion) *rules.State {
		if s := states[one.Machines[0]]; s != nil {
			return s
		}
		others := func(id rules.ID) func() map[string]*rules.Counter {
			if other, ok := p.Of(id); ok && !slices.Contains(one.Machines, id) {
				if !slices.Contains(one.Carriers, id) {
					rt.Fatalf("asks for %s, which the portion does not name", id.Short())
				}
				if m := replay(other).MachineByID(id); m != nil {
					return func() map[string]*rules.Counter { return m.Counters }
				}
			}
			return nil
		}
		s, err := rules.ReplayPortion(chosen(entries, p.Common, one.Entries), o, one.Machines, others)
		if err != nil {
			rt.Fatal(err)
		}
		places := slices.Concat(p.Common, p.Outline, one.Entries)
		slices.Sort(places)
		full, err := rules.ReplayPortion(chosen(entries, slices.Compact(places)), o, one.Machines, others)
		if err != nil {
			rt.Fatal(err)
		}
		for _, id := range one.Machines {
			sameMachine(rt, whole, full, id)
		}
		states[one.Machines[0]], withOutline[one.Machines[0]] = s, full
		return s
	}
	for i, one := range p.Each {
		s := replay(one)
		for _, id := range one.Machines {
			if seen[id] {
				rt.Fatalf("machine %s is of two portions", id.Short())
			}
			seen[id] = true
			sameMachine(rt, whole, s, id)
		}
		if i%2 == 1 { // an answer is the same with the outline of the others
			s = withOutline[one.Machines[0]]
		}
		for _, all := range []bool{true, false} {
			answers[all] = append(answers[all], rules.AnswerOf(s, one.Machines, rules.Filter{All: all}))
		}
	}
	for _, m := range whole.Machines {
		if !seen[m.ID] {
			rt.Fatalf("%s is of no portion", m.Name)
		}
		n := outline.MachineByID(m.ID)
		if n == nil || n.Name != m.Name || n.Yard != m.Yard || n.Farm != m.Farm || n.Sold != m.Sold || n.Lent != m.Lent || n.Stored != m.Stored || n.Carrier != m.Carrier ||
			!reflect.DeepEqual(n.Fitted, m.Fitted) {
			rt.Fatalf("%s is another one in the outline:\n%+v\n%+v", m.Name, n, m)
		}
	}
	for _, all := range []bool{true, false} {
		f := rules.Filter{All: all}
		items, problems := rules.JoinAnswers(outline, answers[all], f)
		if x, y := inWords(rules.Due(whole, f)), inWords(append([]rules.Item(nil), items...)); x != y {
			rt.Fatalf("due (all %v) on %s, known %q (-whole +portions):\n%s", all, o.On, o.Known, gocmp.Diff(x, y))
		}
		if x, y := inWords(ofMachines(whole)), inWords(append([]rules.Problem{}, problems...)); x != y {
			rt.Fatalf("problems on %s, known %q (-whole +portions):\n%s", o.On, o.Known, gocmp.Diff(x, y))
		}
	}
	return len(p.Each)
}

// ofMachines are the problems of machines in the book, and those of none.
func ofMachines(s *rules.State) []rules.Problem {
	out := []rules.Problem{}
	for _, p := range s.Problems {
		if p.Machine == "" || s.MachineByID(p.Machine) != nil {
			out = append(out, p)
		}
	}
	return out
}

func sameMachine(rt *rapid.T, whole, s *rules.State, id rules.ID) {
	m, n := whole.MachineByID(id), s.MachineByID(id)
	if m == nil && n == nil { // struck
		return
	}
	if !reflect.DeepEqual(m, n) {
		rt.Fatalf("machine (-whole +portion):\n%s", gocmp.Diff(inWords(m), inWords(n)))
	}
	here := func(s *rules.State) []*rules.Part {
		var out []*rules.Part
		for _, p := range s.Parts {
			if slices.ContainsFunc(p.Stays, func(stay rules.Stay) bool { return stay.Machine == id }) {
				out = append(out, p)
			}
		}
		return out
	}
	if x, y := inWords(here(whole)), inWords(here(s)); x != y {
		rt.Fatalf("parts (-whole +portion):\n%s", gocmp.Diff(x, y))
	}
}

func inWords(x any) string {
	text, err := json.MarshalIndent(x, "", " ")
	if err != nil {
		panic(err)
	}
	return string(text)
}
