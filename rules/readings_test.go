package rules

import (
	"testing"

	"shedbook/rules/record"
)

func (b *notebook) size(done, at, hand, size string, readings ...string) ID {
	b.t.Helper()
	return b.add(&record.Measure{Work: b.on(done, readings...), Reading: "disc-size", Values: []record.Measured{{Positions: b.at(at), Hand: hand, Found: steps(size)}}})
}

// A disc measured in two places carries its readings: at opener 1 with 300 acres behind it, at opener 2 with 500, turned there, and then with 40 of 540.
func TestReadingFollowsThePart(t *testing.T) {
	b := newNotebook(t)
	b.reads("2026-04-01", "area at 1000 ac")
	fitted := b.swap(record.SwapNew, "2026-04-01", "opener/1", func(s *record.Swap) { s.Hand = "left" })
	b.size("2026-04-05", "opener/1", "left", "5.9 in", "area 1300 ac")
	b.swap(record.SwapExchange, "2026-04-05", "opener/1", func(s *record.Swap) { s.Hand, s.With = "left", b.at("opener/2") })
	b.size("2026-04-09", "opener/2", "left", "5.75 in", "area 1500 ac")
	b.swap(record.SwapSharpened, "2026-04-09", "opener/2", func(s *record.Swap) { s.Hand = "left" })
	b.size("2026-04-12", "opener/2", "left", "5.6 in", "area 1540 ac")
	m := b.drill("2026-04-12")
	id := string(fitted) + "/opener/1 left"
	type want struct {
		use, segment string
		number       int
	}
	check := func(slot string, i int, w want) {
		t.Helper()
		r := m.Readings["disc-size"][slot][i]
		wantEqual(t, slot+" part", r.Part, id)
		wantQ(t, slot+" use", r.Use["area"], w.use)
		wantQ(t, slot+" use of the segment", r.SegmentUse["area"], w.segment)
		wantEqual(t, slot+" segment", r.Segment, w.number)
	}
	check("opener/1 left", 0, want{"300 ac", "300 ac", 1})
	check("opener/2 left", 0, want{"500 ac", "500 ac", 1})
	check("opener/2 left", 1, want{"540 ac", "40 ac", 2})
}

func TestReadingOfAnOriginalPart(t *testing.T) {
	b := newNotebook(t)
	b.reads("2026-04-01", "area at 1000 ac")
	b.size("2026-04-05", "opener/1", "left", "5.9 in", "area 1300 ac")
	r := b.drill("2026-04-05").Readings["disc-size"]["opener/1 left"][0]
	wantEqual(t, "part", r.Part, "original/"+string(b.names["drill"])+"/disc/opener/1 left")
	wantQ(t, "since the first reading", r.Use["area"], "300 ac")
}

// A reading that is no size of a part goes with the machine's use.
func TestReadingOfThePlace(t *testing.T) {
	b := newNotebook(t)
	b.reads("2026-04-01", "area at 1000 ac")
	b.add(&record.Measure{Work: b.on("2026-04-05", "area 1300 ac"), Reading: "gap", With: "feeler gauge",
		Condition: []record.Condition{{Name: "raised", Value: quantityOf("2 in")}},
		Values:    []record.Measured{{Positions: b.at("opener/1"), Found: steps("0.2 in"), Left: steps("0.15 in")}, {Positions: b.at("opener/2"), Cannot: "reach"}}})
	m := b.drill("2026-04-05")
	r := m.Readings["gap"]["opener/1"][0]
	wantEqual(t, "part", r.Part, "")
	wantQ(t, "use", r.Use["area"], "1300 ac")
	wantEqual(t, "left", r.Left.String(), "0.15 in")
	wantEqual(t, "with", r.With, "feeler gauge")
	wantEqual(t, "condition", r.Condition[0].Value.String(), "2 in")
	wantEqual(t, "cannot", m.Readings["gap"]["opener/2"][0].Cannot, "reach")
}

func TestReadingOfAnEmptySlot(t *testing.T) {
	b := newNotebook(t)
	out := b.swap(record.SwapOut, "2026-04-01", "opener/1", nil)
	id := b.size("2026-04-05", "opener/1", "left", "5.9 in")
	s := b.state("2026-04-05")
	wantList(t, "problems", codes(s), "reading-empty")
	wantList(t, "entries", s.Problems[0].Entries, out, id)
	wantEqual(t, "kept", s.Machine("drill").Readings["disc-size"]["opener/1 left"][0].Part, "")
}

func TestComputedReading(t *testing.T) {
	b := newNotebook(t)
	b.size("2026-04-05", "opener/1", "left", "5.9 in")
	wantEqual(t, "one hand only", len(b.drill("2026-04-05").Readings["smaller-disc"]), 0)
	id := b.size("2026-04-05", "opener/1", "right", "5.75 in")
	r := b.drill("2026-04-05").Readings["smaller-disc"]["opener/1"]
	if len(r) != 1 {
		t.Fatalf("%d readings", len(r))
	}
	wantEqual(t, "value", r[0].Found.String(), "5.75 in")
	wantEqual(t, "computed", r[0].Computed, true)
	wantEqual(t, "entry", r[0].Entry, id)
	// Both hands by one entry, the next day: once.
	b.size("2026-04-06", "opener/1", "", "5.5 in")
	r = b.drill("2026-04-06").Readings["smaller-disc"]["opener/1"]
	wantEqual(t, "readings", len(r), 2)
	// One hand on another day says nothing of the pair.
	b.size("2026-04-07", "opener/1", "left", "5.4 in")
	wantEqual(t, "readings", len(b.drill("2026-04-07").Readings["smaller-disc"]["opener/1"]), 2)
}

// A reading of the pair goes with the machine's use where each hand has a part of its own.
func TestReadingOfBothHands(t *testing.T) {
	b := newNotebook(t)
	b.add(&record.Schedule{Name: "drill", Text: drillText + "[reading.contact]\nof = \"opener\"\nunit = \"in\"\npart = \"disc\"\n"})
	b.reads("2026-04-01", "area at 1000 ac")
	b.add(&record.Measure{Work: b.on("2026-04-05", "area 1300 ac"), Reading: "contact", Values: []record.Measured{{Positions: b.at("opener/1"), Found: steps("2 in")}}})
	r := b.drill("2026-04-05").Readings["contact"]["opener/1"][0]
	wantEqual(t, "part", r.Part, "")
	wantQ(t, "use", r.Use["area"], "1300 ac")
}

// Two readings of one place and day, and what is worked out of them: reckoned on paper.
func TestComputedWays(t *testing.T) {
	for _, c := range []struct {
		how, from, unit string
		one, two        string // gap and lift
		want            string // "": cannot be worked out
	}{
		{"difference", `"gap", "lift"`, "in", "5.5 in", "5.25 in", "0.25 in"},
		{"difference", `"lift", "gap"`, "in", "5.5 in", "5.25 in", "-0.25 in"},
		{"difference", `"gap", "lift"`, "mm", "2 in", "1 in", "25.4 mm"},
		{"sum", `"gap", "lift"`, "in", "5.5 in", "1 ft", "17.5 in"},
		{"smaller", `"gap", "lift"`, "in", "5.5 in", "5.25 in", "5.25 in"},
		{"larger", `"gap", "lift"`, "in", "5.5 in", "5.25 in", "5.5 in"},
		{"ratio", `"gap", "lift"`, "%", "1 in", "4 in", "25 %"},
		{"ratio", `"gap", "lift"`, "", "1 in", "0.5 ft", "0.1667"},
		{"ratio", `"gap", "lift"`, "%", "1 in", "0 in", ""},
		// Depth in step 3 of 1/4 in, the first worth nothing: 1/2 in, set before the reading.
		{"difference", `"gap", "step"`, "in", "5.5 in", "", "5 in"},
	} {
		t.Run(c.how+" "+c.from+" "+c.one+" "+c.two, func(t *testing.T) {
			b := newNotebook(t)
			unit := ""
			if c.unit != "" {
				unit = "unit = \"" + c.unit + "\"\n"
			}
			b.add(&record.Schedule{Name: "drill", Text: drillText + "[reading.lift]\nof = \"opener\"\nunit = \"in\"\n[reading.made]\nof = \"opener\"\n" + unit +
				"computed = { how = \"" + c.how + "\", from = [" + c.from + "] }\n[setting.step]\nof = \"opener\"\ntype = \"steps\"\nmin = 1\nmax = 9\nstep = 1\nstep_is = \"1/4 in\"\n"})
			at := b.at("opener/2")
			b.add(&record.Adjust{Work: b.on("2026-03-01"), Changes: []record.Change{{Setting: "step", Positions: at, To: steps("3")}}})
			for _, r := range [][2]string{{"gap", c.one}, {"lift", c.two}} {
				if r[1] != "" {
					b.add(&record.Measure{Work: b.on("2026-04-01"), Reading: r[0], Values: []record.Measured{{Positions: at, Found: steps(r[1])}}})
				}
			}
			s := b.state("2026-04-01")
			got := s.Machine("drill").Readings["made"]["opener/2"]
			if c.want == "" {
				wantEqual(t, "readings", len(got), 0)
				wantList(t, "problems", codes(s), "computed")
				return
			}
			wantList(t, "problems", codes(s))
			if len(got) != 1 {
				t.Fatalf("%d readings", len(got))
			}
			wantEqual(t, "value", got[0].Found.String(), c.want)
		})
	}
}

// What was left counts, not what was found.
func TestComputedFromLeft(t *testing.T) {
	b := newNotebook(t)
	both := record.Measured{Positions: b.at("opener/1"), Found: steps("6 in"), Left: steps("5 in")}
	b.add(&record.Measure{Work: b.on("2026-04-05"), Reading: "disc-size", Values: []record.Measured{both}})
	wantEqual(t, "value", b.drill("2026-04-05").Readings["smaller-disc"]["opener/1"][0].Found.String(), "5 in")
}
