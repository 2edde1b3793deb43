package rules

import (
	"encoding/json"
	"flag"
	"fmt"
	"math/big"
	"os"
	"slices"
	"sort"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// Laws that hold for any history. Histories are drawn at random: two drills, a shelf, a few days with and without times, so that much falls on one
// moment; swaps that contradict one another, corrections and strikes among them.

// story draws a history into a notebook.
type story struct {
	*notebook
	rt    *rapid.T
	shelf ID
	named []ID // work entries, to be corrected, struck or closed
}

const lawDays = 6

func drawStory(t *testing.T, rt *rapid.T) *story {
	b := newNotebook(t)
	b.machine("second", "drill", "2024-01-01")
	s := &story{notebook: b, rt: rt, shelf: b.add(&record.Shelf{Work: record.Work{Done: "2024-01-01"}, Key: testKey("shelf"), Yard: b.yards["home"]})}
	for range rapid.IntRange(1, 18).Draw(rt, "entries") {
		s.draw()
		if e := s.last(); rapid.Bool().Draw(rt, "beside") { // written at the same depth as the one before it
			e.Depth = max(1, e.Depth-1)
		}
	}
	return s
}

func pick[T any](s *story, name string, from ...T) T { return rapid.SampledFrom(from).Draw(s.rt, name) }

func (s *story) done() record.Done {
	d := fmt.Sprintf("2026-04-%02d", rapid.IntRange(1, lawDays).Draw(s.rt, "day"))
	if rapid.Bool().Draw(s.rt, "timed") {
		d += pick(s, "time", "T00:00", "T08:00", "T23:59")
	}
	return record.Done(d)
}

func (s *story) work() record.Work {
	w := record.Work{Machine: s.names[pick(s, "machine", "drill", "second")], Done: s.done()}
	if pick(s, "reads", 0, 0, 1) == 1 {
		w.Counters = []record.CounterAt{{Counter: "area", At: s.acres()}}
	}
	if len(s.named) > 0 && pick(s, "closes", 0, 0, 1) == 1 {
		w.Closes = []ID{pick(s, "closed", s.named...)}
	}
	return w
}

func (s *story) acres() quantity.Quantity {
	return quantity.Whole(int64(rapid.IntRange(0, 40).Draw(s.rt, "tens"))*10, quantity.MustUnit("ac"))
}

func (s *story) places() record.Positions {
	return s.at(pick(s, "places", "opener/1", "opener/2", "opener/1-2", "opener/2,opener/4", "opener/1-4", "opener/4-5"))
}

// draw writes one entry.
func (s *story) draw() {
	rec := s.record()
	if rec == nil {
		rec = &record.Note{Work: s.work()}
	}
	if rec.Check() != nil { // an exchange of a place with itself and the like: a person is told so before it is written
		rec = &record.Note{Work: s.work()}
	}
	id := s.write(pick(s, "writer", ada, bo), true, rec, nil)
	switch rec.(type) {
	case *record.Correct, *record.Strike:
	default:
		s.named = append(s.named, id)
	}
}

func (s *story) record() record.Record {
	switch pick(s, "kind", "counter", "counter", "adjust", "swap", "swap", "swap", "did", "fault", "measure", "assume", "stock", "store", "season", "move", "correct", "strike") {
	case "counter":
		return &record.Counter{Work: s.work(), Acts: []record.CounterAct{{Counter: pick(s, "counter", "area", "field"), Act: pick(s, "act", "at", "at", "add", "reset", "replaced"), Value: s.acres()}}}
	case "adjust":
		c := record.Change{Setting: "depth", Positions: s.places()}
		switch pick(s, "how", "to", "by", "both") {
		case "to":
			c.To = steps(pick(s, "to", "3", "6", "12"))
		case "by":
			c.By = pick(s, "by", "+1", "-1")
		default:
			c.To, c.By = steps("6"), "+1"
		}
		return &record.Adjust{Work: s.work(), Changes: []record.Change{c}}
	case "swap":
		return s.drawSwap()
	case "did":
		return &record.Did{Work: s.work(), Job: pick(s, "job", "grease", "hub-open"), Positions: s.places(), Skipped: s.at(pick(s, "skipped", "", "opener/2"))}
	case "fault":
		return &record.Fault{Work: s.work(), Positions: s.places(), Severity: "stop", TiedUp: rapid.Bool().Draw(s.rt, "tied"), Unfit: rapid.Bool().Draw(s.rt, "unfit")}
	case "measure":
		return &record.Measure{Work: s.work(), Reading: "disc-size", Values: []record.Measured{{Positions: s.places(), Hand: pick(s, "hand", "", "left"), Found: steps("5.5 in")}}}
	case "assume":
		return &record.Assume{Work: s.work(), Good: true, Items: []record.Assumed{{Name: "disc", Positions: s.places(), Used: s.acres()}}}
	case "stock":
		return &record.Stock{Work: record.Work{Machine: s.shelf, Done: s.done()}, Schedule: "drill", Part: "disc", Hand: pick(s, "hand", "left", "right"), Act: pick(s, "act", "add", "count"), Count: 3}
	case "store":
		return &record.Store{Work: s.work(), Act: pick(s, "act", "in", "out")}
	case "season":
		return &record.Season{Act: pick(s, "act", "open", "close"), Name: "spring", Work: "seeding", Done: s.done()}
	case "move":
		return &record.Move{Work: s.work(), Yard: s.yards[pick(s, "yard", "home", "creek")]}
	case "correct":
		if len(s.named) > 0 {
			id := pick(s, "corrected", s.named...)
			rec, err := record.Decode(s.entry(id).Kind, encode(s.t, s.entry(id).Record))
			if err != nil {
				s.t.Fatal(err)
			}
			switch r := rec.(type) {
			case *record.Season:
				r.Done = s.done()
			default:
				record.Base(r).Done = s.done()
			}
			return amend(s.t, s.entry(id), rec)
		}
	case "strike":
		if len(s.named) > 0 {
			id := pick(s, "struck", s.named...)
			return &record.Strike{Machine: machineOf(s.entry(id)), Entry: id}
		}
	}
	return nil
}

func (s *story) drawSwap() *record.Swap {
	r := &record.Swap{Work: s.work(), Part: pick(s, "part", "disc", "disc", "scraper", "packer", "arm"), Act: pick(s, "act", record.SwapNew, record.SwapExchange, record.SwapOut, record.SwapIn, record.SwapTurned), Positions: s.places()}
	if r.Part == "disc" {
		r.Hand = pick(s, "hand", "", "left")
	}
	if r.Act != record.SwapTurned && r.Act != record.SwapExchange && rapid.Bool().Draw(s.rt, "shelved") {
		r.To = s.shelf
	}
	switch r.Act {
	case record.SwapExchange:
		r.With = s.at(pick(s, "with", "opener/3", "opener/1,opener/3", "opener/3-4"))
	case record.SwapIn:
		for range rapid.IntRange(1, 3).Draw(s.rt, "count") {
			r.Parts = append(r.Parts, s.partID(r.Part))
		}
	}
	return r
}

// partID names an original part or one that some swap brought.
func (s *story) partID(part string) string {
	slot := pick(s, "slot", "opener/1", "opener/2", "opener/3")
	if part == "disc" {
		slot += " left"
	}
	if len(s.named) > 0 && rapid.Bool().Draw(s.rt, "bought") {
		return string(pick(s, "by", s.named...)) + "/" + slot
	}
	return originalID(s.names[pick(s, "from", "drill", "second")], part, slot)
}

// told is all that a State says but schedules and the list of entries, as JSON.
func told(t testing.TB, s *State) string {
	t.Helper()
	v := *view(s)
	v.Kinds, v.Machines = nil, nil
	for _, m := range s.Machines {
		c := *m
		c.Fitted = nil
		v.Machines = append(v.Machines, &c)
	}
	b, err := json.MarshalIndent(v, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// fates lists what became of each entry, in order of effect.
func fates(s *State) string {
	var out strings.Builder
	for _, e := range s.Effective {
		fmt.Fprintln(&out, e.Entry.ID, e.Done, e.CorrectedBy, e.StruckBy, e.Ignored)
	}
	return out.String()
}

func replayed(t testing.TB, entries []Entry, on string) *State {
	t.Helper()
	s, err := Replay(entries, Options{On: on})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func differs(rt *rapid.T, what, want, got string) {
	rt.Helper()
	if want == got {
		return
	}
	a, b := strings.Split(want, "\n"), strings.Split(got, "\n")
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			from := max(0, i-12)
			rt.Fatalf("%s: line %d\n%s\n--- is\n%s", what, i, strings.Join(a[from:min(len(a), i+4)], "\n"), strings.Join(b[from:min(len(b), i+4)], "\n"))
		}
	}
	rt.Fatalf("%s: %d lines, want %d", what, len(b), len(a))
}

// checkLaw holds a law on fixed seeds, or on many more histories with SHEDBOOK_TEST=full.
func checkLaw(t *testing.T, law func(rt *rapid.T, s *story)) {
	t.Helper()
	flags := map[string]string{"rapid.checks": "60", "rapid.seed": "20260401", "rapid.shrinktime": "10s"}
	if os.Getenv("SHEDBOOK_TEST") == "full" {
		flags = map[string]string{"rapid.checks": "3000"}
	}
	for name, value := range flags {
		old := flag.Lookup(name).Value.String()
		if err := flag.Set(name, value); err != nil {
			t.Fatal(err)
		}
		defer flag.Set(name, old)
	}
	rapid.Check(t, func(rt *rapid.T) { law(rt, drawStory(t, rt)) })
}

const lawEnd = "2026-12-31"

// The same entries in any order of arrival give the same state.
func TestLawOrderOfArrival(t *testing.T) {
	checkLaw(t, func(rt *rapid.T, s *story) {
		on := string(s.done()[:10])
		one := replayed(t, s.entries, on)
		two := replayed(t, rapid.Permutation(s.entries).Draw(rt, "arrival"), on)
		differs(rt, "state", told(t, one), told(t, two))
		differs(rt, "fates", fates(one), fates(two))
	})
}

// Correcting an entry to what it says changes nothing.
func TestLawCorrectToItself(t *testing.T) {
	checkLaw(t, func(rt *rapid.T, s *story) {
		id := pick(s, "corrected", s.named...)
		for _, e := range replayed(t, s.entries, lawEnd).Effective {
			if e.Entry.ID == id {
				before := told(t, replayed(t, s.entries, lawEnd))
				s.add(amend(t, e.Entry, e.Record))
				differs(rt, "state", before, told(t, replayed(t, s.entries, lawEnd)))
			}
		}
	})
}

// A struck entry is as if it had never been written, with what corrects and strikes it.
func TestLawStrike(t *testing.T) {
	checkLaw(t, func(rt *rapid.T, s *story) {
		id := pick(s, "struck", s.named...)
		without := slices.DeleteFunc(slices.Clone(s.entries), func(e Entry) bool { return e.ID == id || amends(e.Record) == id })
		s.strike(id)
		differs(rt, "state", told(t, replayed(t, without, lawEnd)), told(t, replayed(t, s.entries, lawEnd)))
	})
}

func amends(rec record.Record) ID {
	switch r := rec.(type) {
	case *record.Correct:
		return r.Entry
	case *record.Strike:
		return r.Entry
	}
	return ""
}

// What is so on a day rests on what was done by then, whatever was done later.
func TestLawOn(t *testing.T) {
	checkLaw(t, func(rt *rapid.T, s *story) {
		on := string(s.done()[:10])
		late := map[ID]bool{}
		for _, e := range replayed(t, s.entries, on).Effective {
			late[e.Entry.ID] = e.Done.Date() > on
		}
		by := slices.DeleteFunc(slices.Clone(s.entries), func(e Entry) bool { return late[e.ID] || late[amends(e.Record)] })
		differs(rt, "state", told(t, replayed(t, by, on)), told(t, replayed(t, s.entries, on)))
	})
}

// Two exchanges one after the other put every part back.
func TestLawExchangeTwice(t *testing.T) {
	checkLaw(t, func(rt *rapid.T, s *story) {
		before := replayed(t, s.entries, lawEnd)
		part, hand := pick(s, "part", "disc", "scraper", "arm"), ""
		if part == "disc" {
			hand = pick(s, "hand", "", "right")
		}
		for range 2 {
			s.swap(record.SwapExchange, "2026-05-01", "opener/1-2", func(r *record.Swap) { r.Part, r.Hand, r.With = part, hand, s.at("opener/3-4") })
		}
		after := replayed(t, s.entries, lawEnd)
		for i, m := range before.Machines {
			differs(rt, "slots", seated(m), seated(after.Machines[i]))
		}
		for i, p := range before.Parts {
			for counter, q := range after.Parts[i].Use {
				if rat(q).Cmp(rat(p.Use[counter])) != 0 {
					rt.Fatalf("use of %s: %s, want %s", p.ID, q, p.Use[counter])
				}
			}
		}
	})
}

// seated is what sits in each slot.
func seated(m *Machine) string {
	var out []string
	for part, slots := range m.Slots {
		for name, s := range slots {
			line := part + " " + name + ": "
			if s.Part != nil {
				line += s.Part.ID
			}
			out = append(out, fmt.Sprint(line, s.Disputed))
		}
	}
	for place := range m.Out {
		out = append(out, "out of use: "+place)
	}
	sort.Strings(out)
	return strings.Join(out, "\n")
}

// A part's use is that of its stays, and what all parts of one place gathered there is what the machine did while that place worked: reckoned here
// another way, interval by interval.
func TestLawUse(t *testing.T) {
	checkLaw(t, func(rt *rapid.T, s *story) {
		s.entries = slices.DeleteFunc(s.entries, func(e Entry) bool {
			swap, ok := e.Record.(*record.Swap)
			return e.Kind == "assume" || ok && swap.Part == "packer" // claimed use was not used here; packers serve two places
		})
		st := replayed(t, s.entries, lawEnd)
		got := map[string]*big.Rat{}
		for _, p := range st.Parts {
			total := new(big.Rat)
			for _, y := range p.Stays {
				used := rat(y.Use["area"])
				total.Add(total, used)
				key := string(y.Machine) + " " + p.Kind + " " + y.Slot
				if got[key] == nil {
					got[key] = new(big.Rat)
				}
				got[key].Add(got[key], used)
			}
			if total.Cmp(rat(p.Use["area"])) != 0 {
				rt.Fatalf("%s: its stays make %s, its use is %s", p.ID, total.FloatString(3), p.Use["area"])
			}
		}
		if len(problems(st, "part-disputed"))+len(problems(st, "part-kind")) > 0 {
			return
		}
		want := s.reckon(st)
		for key, w := range want {
			if g := got[key]; g == nil || g.Cmp(w) != 0 {
				rt.Fatalf("%s: parts gathered %v, the machine did %s there\n%s", key, g, w.FloatString(3), s.retold(st))
			}
		}
	})
}

// retold is the story in order of effect, for whoever has to find out what went wrong.
func (s *story) retold(st *State) string {
	var out strings.Builder
	for _, e := range st.Effective {
		if e.Done != "" {
			fmt.Fprintln(&out, e.Done, e.Entry.ID.Short(), e.Entry.Kind, string(encode(s.t, e.Record)), e.StruckBy.Short(), e.Ignored)
		}
	}
	return out.String()
}

func rat(q quantity.Quantity) *big.Rat { return q.Rat() }

// reckon follows the discs' and scrapers' slots through the entries in their order with nothing but "is something there" and "is the place free".
func (s *story) reckon(st *State) map[string]*big.Rat {
	want := map[string]*big.Rat{}
	for _, m := range st.Machines {
		full := map[string]bool{}
		blocked := map[string]map[ID]bool{}
		slots := map[string][]string{"disc": nil, "scraper": nil}
		for place := 1; place <= 4; place++ {
			p := fmt.Sprintf("opener/%d", place)
			slots["disc"] = append(slots["disc"], "disc "+p+" left", "disc "+p+" right")
			slots["scraper"] = append(slots["scraper"], "scraper "+p)
			blocked[p] = map[ID]bool{}
		}
		all := append(slices.Clone(slots["disc"]), slots["scraper"]...)
		for _, x := range all {
			full[x] = true
			want[string(m.ID)+" "+x] = new(big.Rat)
		}
		place := func(slot string) string { return strings.Fields(slot)[1] }
		free := func(p string) bool {
			if len(blocked[p]) > 0 {
				return false
			}
			for _, x := range all {
				if place(x) == p && !full[x] {
					return false
				}
			}
			return true
		}
		c := m.Counters["area"]
		if len(c.Points) == 0 {
			continue
		}
		tied := map[ID]record.Positions{}
		closed := map[ID]bool{}
		at := rat(c.Points[0].Life)
		step := func(to *big.Rat) {
			if to.Cmp(at) <= 0 {
				return
			}
			for _, x := range all {
				if full[x] && free(place(x)) {
					w := want[string(m.ID)+" "+x]
					w.Add(w, new(big.Rat).Sub(to, at))
				}
			}
			at = to
		}
		for _, e := range st.Effective {
			w := record.Base(e.Record)
			if e.Done == "" || e.Ignored != "" || e.StruckBy != "" || w == nil || w.Machine != m.ID {
				continue
			}
			step(use(c, e))
			switch r := e.Record.(type) {
			case *record.Fault:
				if r.TiedUp && !closed[e.Entry.ID] {
					tied[e.Entry.ID] = r.Positions
					for _, p := range r.Positions.All() {
						if blocked[p.String()] != nil {
							blocked[p.String()][e.Entry.ID] = true
						}
					}
				}
			case *record.Swap:
				for _, part := range []string{"disc", "scraper"} {
					if r.Part != part && r.Part != "arm" {
						continue
					}
					hand := func(x string) bool { return r.Hand == "" || strings.HasSuffix(x, " "+r.Hand) }
					var here []string
					for _, p := range r.Positions.All() {
						for _, x := range slots[part] {
							if place(x) == p.String() && hand(x) {
								here = append(here, x)
							}
						}
					}
					switch r.Act {
					case record.SwapNew:
						for _, x := range here {
							full[x] = true
						}
					case record.SwapOut:
						for _, x := range here {
							full[x] = false
						}
					}
				}
				if r.Act == record.SwapIn || r.Act == record.SwapExchange {
					s.follow(m, e, r, slots, full)
				}
			}
			for _, id := range w.Closes {
				closed[id] = true
				if p, ok := tied[id]; ok {
					for _, q := range p.All() {
						delete(blocked[q.String()], id)
					}
				}
			}
		}
		step(rat(c.Life))
	}
	return want
}

// use is the counter at an entry: its own reading's, else by the curve.
func use(c *Counter, e *Effective) *big.Rat {
	for i := len(c.Points) - 1; i >= 0; i-- {
		if c.Points[i].Entry == e.Entry.ID {
			return rat(c.Points[i].Life)
		}
	}
	q, _ := c.recorded(e.Done)
	return rat(q)
}

// follow fills and empties slots by exchanges and parts put in.
func (s *story) follow(m *Machine, e *Effective, r *record.Swap, slots map[string][]string, full map[string]bool) {
	hand := func(x string) bool { return r.Hand == "" || strings.HasSuffix(x, " "+r.Hand) }
	list := func(at record.Positions) []string {
		var out []string
		for _, p := range at.All() {
			for _, part := range []string{"disc", "scraper"} {
				if r.Part != part && r.Part != "arm" {
					continue
				}
				for _, x := range slots[part] {
					if strings.Fields(x)[1] == p.String() && hand(x) {
						out = append(out, x)
					}
				}
			}
		}
		return out
	}
	here := list(r.Positions)
	if r.Act == record.SwapIn {
		for i, x := range here {
			if i < len(r.Parts) {
				full[x] = true
			}
		}
		return
	}
	there := list(r.With)
	if len(here) != len(there) {
		return
	}
	for i := range here {
		full[here[i]], full[there[i]] = full[there[i]], full[here[i]]
	}
}
