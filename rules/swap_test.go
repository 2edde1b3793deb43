package rules

import (
	"fmt"
	"testing"

	"shedbook/rules/record"
)

// stays is where a part has been: "machine slot from to".
func stays(s *State, p *Part) []string {
	var out []string
	for _, st := range p.Stays {
		out = append(out, fmt.Sprintf("%s %s %s..%s", s.MachineByID(st.Machine).Name, st.Slot, st.From, st.To))
	}
	return out
}

// A disc's life on paper. The drill's counter:  1,000 on 1 April, 1,200 on the 5th, 1,500 on the 10th, 1,800 on the 20th, 1,900 on the 30th.
//
//	5 April   new at opener 12, right        0
//	10 April  exchanged with opener 30       1,500 - 1,200 = 300
//	20 April  to the shelf                   + 300 = 600
//	a year on the second drill at 300 .. 700 + 400 = 1,000
//
// The original disc of opener 30 sat at 12 from the 10th: 1,500 - 1,000 at 30, and 400 more at 12: 900 by the 30th.
func TestDiscKeepsItsAcres(t *testing.T) {
	b := newNotebook(t)
	b.machine("wide", "drill", "2024-01-01", record.Option{Name: "openers", Value: "48"})
	b.machine("second", "drill", "2024-01-01", record.Option{Name: "openers", Value: "48"})
	shelf := b.add(&record.Shelf{Work: record.Work{Done: "2024-01-01"}, Key: testKey("shelf"), Yard: b.yards["home"]})
	swap := func(machine, done, reading string, s record.Swap) ID {
		s.Work, s.Part, s.Hand = b.of(machine, done, "area "+reading), "disc", "right"
		return b.add(&s)
	}
	b.counts("wide", "2026-04-01", "area at 1000 ac")
	fitted := swap("wide", "2026-04-05", "1200 ac", record.Swap{Act: record.SwapNew, Positions: b.at("opener/12"), Why: "worn", Serials: []string{"A17"}})
	swap("wide", "2026-04-10", "1500 ac", record.Swap{Act: record.SwapExchange, Positions: b.at("opener/12"), With: b.at("opener/30")})
	swap("wide", "2026-04-20", "1800 ac", record.Swap{Act: record.SwapNew, Positions: b.at("opener/30"), To: shelf})
	b.counts("wide", "2026-04-30", "area at 1900 ac")
	id := string(fitted) + "/opener/12 right"
	b.counts("second", "2027-04-01", "area at 300 ac")
	b.add(&record.Swap{Work: b.of("second", "2027-04-01"), Part: "disc", Hand: "right", Act: record.SwapIn, Positions: b.at("opener/5"), From: shelf, Parts: []string{id}})
	b.counts("second", "2027-04-20", "area at 700 ac")

	s := b.state("2026-04-12")
	p := s.Machine("wide").Slots["disc"]["opener/30 right"].Part
	wantEqual(t, "part at 30", p.ID, id)
	wantQ(t, "on the 12th, by its last reading", p.Use["area"], "300 ac")

	s = b.state("2026-04-30")
	line := s.Shelves[0].Stock[0]
	wantEqual(t, "on the shelf", line.Count, 1)
	wantEqual(t, "the part on the shelf", line.Parts[0].ID, id)
	wantQ(t, "on the shelf", line.Parts[0].Use["area"], "600 ac")
	wantEqual(t, "gone", line.Parts[0].Gone, "shelf")
	old := s.Machine("wide").Slots["disc"]["opener/12 right"].Part
	wantEqual(t, "at 12", old.ID, "original/"+string(b.names["wide"])+"/disc/opener/30 right")
	wantQ(t, "its acres", old.Use["area"], "900 ac")

	s = b.state("2027-12-31")
	p = s.Machine("second").Slots["disc"]["opener/5 right"].Part
	wantEqual(t, "on the second drill", p.ID, id)
	wantQ(t, "in the end", p.Use["area"], "1000 ac")
	wantQ(t, "of them at opener 30", s.Part(id).Stays[1].Use["area"], "300 ac")
	wantEqual(t, "scrapped or not, every part is kept", s.Part(originalID(b.names["wide"], "disc", "opener/12 right")).Gone, "scrapped")
	wantEqual(t, "why", s.Part(originalID(b.names["wide"], "disc", "opener/12 right")).Stays[0].Why, "worn")
	wantEqual(t, "serial", p.Serial, "A17")
	wantEqual(t, "first fitted", p.In, "2026-04-05")
	wantList(t, "stays", stays(s, p),
		"wide opener/12 right 2026-04-05..2026-04-10",
		"wide opener/30 right 2026-04-10..2026-04-20",
		"second opener/5 right 2027-04-01..")
	wantEqual(t, "shelf", s.Shelves[0].Stock[0].Count, 0)
	wantList(t, "problems", codes(s))
}

func TestSwapExpandsInWalkingOrder(t *testing.T) {
	b := newNotebook(t)
	id := b.add(&record.Swap{Work: b.on("2026-04-01"), Part: "disc", Act: record.SwapNew, Positions: b.at("opener/1-2"), Serials: []string{"a", "b", "c", "d"}})
	m := b.drill("2026-04-01")
	for slot, serial := range map[string]string{"opener/1 left": "a", "opener/1 right": "b", "opener/2 left": "c", "opener/2 right": "d"} {
		p := m.Slots["disc"][slot].Part
		wantEqual(t, slot, p.Serial, serial)
		wantEqual(t, slot, p.ID, string(id)+"/"+slot)
		wantEqual(t, slot+" unknown", m.Slots["disc"][slot].Unknown, false)
	}
	wantEqual(t, "opener 3", m.Slots["disc"]["opener/3 left"].Unknown, true)
}

// One packer wheel serves two openers: naming either means that wheel.
func TestSharedPart(t *testing.T) {
	b := newNotebook(t)
	id := b.add(&record.Swap{Work: b.on("2026-04-01"), Part: "packer", Act: record.SwapNew, Positions: b.at("opener/3-4")})
	m := b.drill("2026-04-01")
	wantEqual(t, "one wheel", m.Slots["packer"]["opener/3"].Part.ID, string(id)+"/opener/3")
	wantEqual(t, "slots", len(m.Slots["packer"]), 2)
}

func TestWholeMachinePart(t *testing.T) {
	b := newNotebook(t)
	id := b.add(&record.Swap{Work: b.on("2026-04-01"), Part: "battery", Act: record.SwapNew})
	wantEqual(t, "battery", b.drill("2026-04-01").Slots["battery"][""].Part.ID, string(id)+"/")
}

func TestAssembly(t *testing.T) {
	b := newNotebook(t)
	b.reads("2026-04-01", "area at 100 ac")
	// The arm of opener 4, with its two discs and its scraper, goes to opener 1; nothing is left at 4.
	b.add(&record.Swap{Work: b.on("2026-04-02"), Part: "arm", Act: record.SwapOut, Positions: b.at("opener/1")})
	b.add(&record.Swap{Work: b.on("2026-04-02"), Part: "arm", Act: record.SwapExchange, Positions: b.at("opener/1"), With: b.at("opener/4")})
	s := b.state("2026-04-02")
	m := s.Machine("drill")
	for part, slots := range map[string][2]string{"disc": {"opener/1 left", "opener/4 left"}, "scraper": {"opener/1", "opener/4"}} {
		wantEqual(t, part, m.Slots[part][slots[0]].Part.ID, "original/"+string(m.ID)+"/"+part+"/"+slots[1])
		if m.Slots[part][slots[1]].Part != nil {
			t.Errorf("%s of opener 4 is not empty", part)
		}
	}
	wantEqual(t, "out of use", m.Out["opener/4"].Why, "empty")
	if m.Out["opener/1"] != nil {
		t.Error("opener 1 is out of use")
	}
	id := b.add(&record.Swap{Work: b.on("2026-04-03"), Part: "arm", Act: record.SwapNew, Positions: b.at("opener/4")})
	m = b.drill("2026-04-03")
	wantEqual(t, "disc", m.Slots["disc"]["opener/4 right"].Part.ID, string(id)+"/opener/4 right/disc")
	wantEqual(t, "scraper", m.Slots["scraper"]["opener/4"].Part.ID, string(id)+"/opener/4/scraper")
	wantList(t, "problems", codes(s))
}

func TestTurned(t *testing.T) {
	b := newNotebook(t)
	b.reads("2026-04-01", "area at 100 ac")
	b.swap(record.SwapNew, "2026-04-02", "opener/1", func(s *record.Swap) { s.Work = b.on("2026-04-02", "area 150 ac") })
	b.swap(record.SwapTurned, "2026-04-10", "opener/1", func(s *record.Swap) { s.Work, s.Hand = b.on("2026-04-10", "area 400 ac"), "left" })
	b.reads("2026-04-20", "area at 520 ac")
	m := b.drill("2026-04-20")
	left, right := m.Slots["disc"]["opener/1 left"].Part, m.Slots["disc"]["opener/1 right"].Part
	wantEqual(t, "segment", left.Segment, 2)
	wantEqual(t, "from", left.SegmentFrom, "2026-04-10")
	wantQ(t, "use", left.Use["area"], "370 ac")
	wantQ(t, "of the segment", left.SegmentUse["area"], "120 ac")
	wantEqual(t, "the other hand", right.Segment, 1)
	wantQ(t, "of its segment", right.SegmentUse["area"], "370 ac")
}

// A used disc with 600 acres by its seller's word: 600 + 50.
func TestUsedPart(t *testing.T) {
	b := newNotebook(t)
	b.reads("2026-04-01", "area at 100 ac")
	b.swap(record.SwapNew, "2026-04-01", "opener/1", func(s *record.Swap) { s.Used = quantityOf("600 ac") })
	b.reads("2026-04-20", "area at 150 ac")
	p := b.drill("2026-04-20").Slots["disc"]["opener/1 left"].Part
	wantQ(t, "use", p.Use["area"], "650 ac")
	wantEqual(t, "assumed", p.Assumed, true)
}

// A part taken out and not put in is in transit; a part that is thrown away is scrapped.
func TestGone(t *testing.T) {
	b := newNotebook(t)
	b.swap(record.SwapOut, "2026-04-01", "opener/1", nil)
	first := b.drill("2026-03-31").Slots["disc"]["opener/1 left"].Part
	wantEqual(t, "before", first.Gone, "")
	m := b.drill("2026-04-01")
	if m.Slots["disc"]["opener/1 left"].Part != nil {
		t.Error("the slot is not empty")
	}
	back := b.swap(record.SwapIn, "2026-04-03", "opener/1", func(s *record.Swap) { s.Hand, s.Parts = "right", []string{first.ID} })
	s := b.state("2026-04-03")
	p := s.Machine("drill").Slots["disc"]["opener/1 right"].Part
	wantEqual(t, "put in", p.ID, first.ID)
	wantList(t, "a left disc on the right", codes(s), "part-kind")
	wantList(t, "reason", p.Reason.Entries[len(p.Reason.Entries)-1:], back)
}

func TestExchangeTwiceRestores(t *testing.T) {
	b := newNotebook(t)
	exchange := func(done string) {
		b.swap(record.SwapExchange, done, "opener/1-2", func(s *record.Swap) { s.With = b.at("opener/3-4") })
	}
	exchange("2026-04-01")
	m := b.drill("2026-04-01")
	wantEqual(t, "at 1", m.Slots["disc"]["opener/1 left"].Part.ID, "original/"+string(m.ID)+"/disc/opener/3 left")
	wantEqual(t, "at 4", m.Slots["disc"]["opener/4 right"].Part.ID, "original/"+string(m.ID)+"/disc/opener/2 right")
	exchange("2026-04-02")
	m = b.drill("2026-04-02")
	for slot, at := range m.Slots["disc"] {
		wantEqual(t, slot, at.Part.ID, "original/"+string(m.ID)+"/disc/"+slot)
	}
}

// disputes

// A disc new at opener 1 on the 2nd is put in at opener 3 on the 10th, though nobody took it out: both entries are named, both slots are in dispute
// and its use stays at 300 - 100 = 200 ac.
func TestPutInWhileItSitsElsewhere(t *testing.T) {
	b := newNotebook(t)
	b.reads("2026-04-02", "area at 100 ac")
	one := b.swap(record.SwapNew, "2026-04-02", "opener/1", func(s *record.Swap) { s.Hand = "left" })
	b.reads("2026-04-10", "area at 300 ac")
	id := string(one) + "/opener/1 left"
	two := b.swap(record.SwapIn, "2026-04-10", "opener/3", func(s *record.Swap) { s.Hand, s.Parts = "left", []string{id} })
	b.reads("2026-04-20", "area at 900 ac")
	s := b.state("2026-04-20")
	m := s.Machine("drill")
	p := problems(s, "part-disputed")
	if len(p) != 1 {
		t.Fatalf("problems %v", codes(s))
	}
	wantList(t, "entries", p[0].Entries, one, two)
	for _, slot := range []string{"opener/1 left", "opener/3 left"} {
		at := m.Slots["disc"][slot]
		wantEqual(t, slot+" disputed", at.Disputed, true)
		wantEqual(t, slot, at.Part.ID, id)
		wantList(t, slot+" reason", at.Reason.Entries, one, two)
	}
	part := m.Slots["disc"]["opener/1 left"].Part
	wantEqual(t, "part disputed", part.Disputed, true)
	wantQ(t, "its acres", part.Use["area"], "200 ac")
	wantEqual(t, "before the dispute", b.drill("2026-04-09").Slots["disc"]["opener/1 left"].Disputed, false)

	// Striking the wrong one settles it.
	b.strike(two)
	s = b.state("2026-04-20")
	wantList(t, "settled", codes(s))
	wantQ(t, "its acres", s.Machine("drill").Slots["disc"]["opener/1 left"].Part.Use["area"], "800 ac")
}

func TestPutInTwiceByOneEntry(t *testing.T) {
	b := newNotebook(t)
	b.swap(record.SwapOut, "2026-04-01", "opener/1", nil)
	id := b.drill("2026-03-31").Slots["disc"]["opener/1 left"].Part.ID
	b.swap(record.SwapIn, "2026-04-02", "opener/2-3", func(s *record.Swap) { s.Hand, s.Parts = "left", []string{id, id} })
	s := b.state("2026-04-02")
	wantList(t, "problems", codes(s), "part-disputed")
	wantEqual(t, "at 2", s.Machine("drill").Slots["disc"]["opener/2 left"].Disputed, true)
	wantEqual(t, "at 3", s.Machine("drill").Slots["disc"]["opener/3 left"].Disputed, true)
}

func TestTakenOutTwice(t *testing.T) {
	b := newNotebook(t)
	one := b.swap(record.SwapOut, "2026-04-01", "opener/1", func(s *record.Swap) { s.Hand = "left" })
	two := b.swap(record.SwapOut, "2026-04-02", "opener/1", func(s *record.Swap) { s.Hand = "left" })
	s := b.state("2026-04-02")
	p := problems(s, "part-disputed")
	if len(p) != 1 {
		t.Fatalf("problems %v", codes(s))
	}
	wantList(t, "entries", p[0].Entries, one, two)
	if at := s.Machine("drill").Slots["disc"]["opener/1 left"]; at.Part != nil || at.Disputed {
		t.Errorf("the slot is empty whichever is right: %v", at)
	}
}

// Nobody is let write it, but an entry from elsewhere may say so.
func TestExchangedWithItself(t *testing.T) {
	b := newNotebook(t)
	b.reads("2026-04-01", "area at 100 ac")
	id := b.swap(record.SwapExchange, "2026-04-02", "opener/1", func(s *record.Swap) { s.Hand, s.With = "left", b.at("opener/2") })
	b.entry(id).Record.(*record.Swap).With = b.at("opener/1")
	b.reads("2026-04-03", "area at 200 ac")
	s := b.state("2026-04-03")
	wantList(t, "problems", codes(s), "part-disputed")
	wantList(t, "entries", s.Problems[0].Entries, b.names["drill"], id)
	at := s.Machine("drill").Slots["disc"]["opener/1 left"]
	wantEqual(t, "disputed", at.Disputed, true)
	wantQ(t, "by the curve, half of the two days", at.Part.Use["area"], "50 ac")
}

// A disputed part moved on stays in dispute, wherever it is said to be; moved back, all is as before.
func TestExchangeOfADisputedPart(t *testing.T) {
	b := newNotebook(t)
	id := originalID(b.names["drill"], "disc", "opener/1 left")
	b.reads("2026-03-01", "area at 0 ac")
	b.reads("2026-04-01", "area at 100 ac")
	b.swap(record.SwapIn, "2026-04-01", "opener/3", func(s *record.Swap) { s.Hand, s.Parts = "left", []string{id} })
	exchange := func(done string) {
		b.swap(record.SwapExchange, done, "opener/3", func(s *record.Swap) { s.Hand, s.With = "left", b.at("opener/4") })
	}
	b.reads("2026-04-02", "area at 150 ac")
	before := seated(b.drill("2026-04-02"))
	exchange("2026-04-02")
	b.reads("2026-04-03", "area at 210 ac")
	m := b.drill("2026-04-03")
	wantEqual(t, "opener 4", m.Slots["disc"]["opener/4 left"].Disputed, true)
	wantEqual(t, "part at 4", m.Slots["disc"]["opener/4 left"].Part.ID, id)
	wantEqual(t, "opener 1", m.Slots["disc"]["opener/1 left"].Disputed, true)
	wantEqual(t, "opener 3", m.Slots["disc"]["opener/3 left"].Disputed, false)
	wantQ(t, "the disc in dispute", m.Slots["disc"]["opener/4 left"].Part.Use["area"], "100 ac")
	wantQ(t, "the disc that came to 3", m.Slots["disc"]["opener/3 left"].Part.Use["area"], "210 ac")
	exchange("2026-04-03")
	wantEqual(t, "as before", seated(b.drill("2026-04-03")), before)
}

func TestEmptySlots(t *testing.T) {
	b := newNotebook(t)
	for _, at := range []string{"opener/1", "opener/2"} {
		b.swap(record.SwapOut, "2026-04-01", at, func(s *record.Swap) { s.Hand = "left" })
	}
	b.swap(record.SwapExchange, "2026-04-02", "opener/1", func(s *record.Swap) { s.Hand, s.With = "left", b.at("opener/2") })
	b.swap(record.SwapTurned, "2026-04-03", "opener/1", func(s *record.Swap) { s.Hand = "left" })
	wantList(t, "problems", codes(b.state("2026-04-03")), "swap-empty", "swap-empty")
}

// What a seller claims goes on the counter it is told in: hours, not the acres that come first.
func TestUsedPartInHours(t *testing.T) {
	b := newNotebook(t)
	b.reads("2026-04-01", "area at 100 ac", "hours at 10 h")
	b.swap(record.SwapNew, "2026-04-01", "opener/1", func(s *record.Swap) { s.Used = quantityOf("120 h") })
	b.reads("2026-04-20", "area at 150 ac", "hours at 13 h")
	p := b.drill("2026-04-20").Slots["disc"]["opener/1 left"].Part
	wantQ(t, "hours", p.Use["hours"], "123 h")
	wantQ(t, "acres", p.Use["area"], "50 ac")
	b.swap(record.SwapNew, "2026-04-21", "opener/2", func(s *record.Swap) { s.Hand, s.Used = "left", quantityOf("3 t") })
	wantList(t, "no such counter", codes(b.state("2026-04-21")), "counter-unit")
}

// A new part put into a disputed slot settles that slot, not the part.
func TestNewIntoDisputedSlot(t *testing.T) {
	b := newNotebook(t)
	m := b.drill("2026-03-31")
	id := m.Slots["disc"]["opener/1 left"].Part.ID
	b.swap(record.SwapIn, "2026-04-01", "opener/3", func(s *record.Swap) { s.Hand, s.Parts = "left", []string{id} })
	b.swap(record.SwapNew, "2026-04-02", "opener/3", func(s *record.Swap) { s.Hand = "left" })
	m = b.drill("2026-04-02")
	wantEqual(t, "opener 3", m.Slots["disc"]["opener/3 left"].Disputed, false)
	wantEqual(t, "opener 1", m.Slots["disc"]["opener/1 left"].Disputed, true)
	wantEqual(t, "the part", m.Slots["disc"]["opener/1 left"].Part.Disputed, true)
}

func TestSwapProblems(t *testing.T) {
	for _, c := range []struct {
		name  string
		swap  func(b *notebook) *record.Swap
		codes []string
	}{
		{"a part never heard of", func(b *notebook) *record.Swap {
			return &record.Swap{Part: "disc", Hand: "left", Act: record.SwapIn, Positions: b.at("opener/1"), Parts: []string{"somewhere/else"}}
		}, []string{"unknown-part"}},
		{"fewer parts than places", func(b *notebook) *record.Swap {
			return &record.Swap{Part: "disc", Act: record.SwapIn, Positions: b.at("opener/1"), Parts: []string{"somewhere/else"}}
		}, []string{"parts-count", "unknown-part"}},
		{"where the machine has no place", func(b *notebook) *record.Swap {
			return &record.Swap{Part: "disc", Act: record.SwapNew, Positions: b.at("opener/4-5")}
		}, []string{"unknown-position"}},
		{"a part its schedule has not", func(b *notebook) *record.Swap {
			return &record.Swap{Part: "wheel", Act: record.SwapNew, Positions: b.at("opener/1")}
		}, []string{"unknown-name"}},
		{"from a shelf that is none", func(b *notebook) *record.Swap {
			return &record.Swap{Part: "scraper", Act: record.SwapNew, Positions: b.at("opener/1"), From: b.farm, To: b.farm}
		}, []string{"unknown-shelf", "unknown-shelf"}},
		{"what sat there already", func(b *notebook) *record.Swap {
			return &record.Swap{Part: "scraper", Act: record.SwapIn, Positions: b.at("opener/1"), Parts: []string{originalID(b.names["drill"], "scraper", "opener/1")}}
		}, []string{"part-in-place"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newNotebook(t)
			s := c.swap(b)
			s.Work = b.on("2026-04-01")
			b.add(s)
			wantList(t, "problems", codes(b.state("2026-04-01")), c.codes...)
		})
	}
}
