package rules

import (
	"testing"

	"shedbook/rules/record"
)

// "Taken as good on 1 March at 1,812 ac, discs about half worn, scrapers 600 ac old, depth 5."
func TestStartingLine(t *testing.T) {
	b := newNotebook(t)
	id := b.add(&record.Assume{Work: b.on("2026-03-01", "area 1812 ac"), Good: true, Items: []record.Assumed{
		{Name: "disc", Worn: quantityOf("50 %")},
		{Name: "scraper", Positions: b.at("opener/1-2"), Used: quantityOf("600 ac")},
		{Name: "depth", Value: steps("5")},
		{Name: "gap", Positions: b.at("opener/3"), Value: steps("0.2 in")},
	}})
	b.reads("2026-04-01", "area at 1900 ac")
	s := b.state("2026-04-01")
	wantList(t, "problems", codes(s))
	m := s.Machine("drill")
	wantEqual(t, "starting line", m.Assumed, id)
	wantList(t, "jobs of each place", doings(m, "wing-check"), "opener/1 2026-03-01 assumed", "opener/2 2026-03-01 assumed")
	wantList(t, "jobs of the machine", doings(m, "service"), " 2026-03-01 assumed")
	wantQ(t, "counter then", m.Jobs["service"].Done[""][0].Counters["area"], "1812 ac")
	disc := m.Slots["disc"]["opener/2 left"]
	wantEqual(t, "disc assumed", disc.Part.Assumed, true)
	wantEqual(t, "disc no longer unknown", disc.Unknown, false)
	wantQ(t, "disc worn", disc.Part.Worn, "50 %")
	wantQ(t, "disc use since", disc.Part.Use["area"], "88 ac")
	wantQ(t, "scraper use", m.Slots["scraper"]["opener/2"].Part.Use["area"], "688 ac")
	wantQ(t, "the others since", m.Slots["scraper"]["opener/3"].Part.Use["area"], "88 ac")
	st := m.Settings["depth"]["opener/4"]
	wantEqual(t, "depth", st.Value.String(), "5")
	wantEqual(t, "depth assumed", st.Assumed, true)
	r := m.Readings["gap"]["opener/3"][0]
	wantEqual(t, "gap", r.Found.String(), "0.2 in")
	wantEqual(t, "gap assumed", r.Assumed, true)
	wantEqual(t, "before", b.drill("2026-02-28").Assumed, "")
}

// A real setting, and a new part, after the line are assumed no longer.
func TestStartingLineGivesWay(t *testing.T) {
	b := newNotebook(t)
	b.add(&record.Assume{Work: b.on("2026-03-01"), Good: true, Items: []record.Assumed{{Name: "depth", Value: steps("5")}}})
	b.add(change(b, "2026-04-01", "opener/1", "6", "+1"))
	b.add(change(b, "2026-04-01", "opener/2", "", "+1"))
	b.swap(record.SwapNew, "2026-04-01", "opener/1", nil)
	m := b.drill("2026-04-01")
	wantEqual(t, "set", m.Settings["depth"]["opener/1"].Assumed, false)
	wantEqual(t, "moved from an assumed value", m.Settings["depth"]["opener/2"].Assumed, true)
	wantEqual(t, "new part", m.Slots["disc"]["opener/1 left"].Part.Assumed, false)
	wantEqual(t, "old part", m.Slots["disc"]["opener/2 left"].Part.Assumed, true)
}

func TestAssumeOneJob(t *testing.T) {
	b := newNotebook(t)
	b.add(&record.Assume{Work: b.on("2026-03-01"), Items: []record.Assumed{{Name: "grease", Positions: b.at("opener/1-2")}, {Name: "polish"}}})
	s := b.state("2026-03-01")
	wantList(t, "grease", doings(s.Machine("drill"), "grease"), "opener/1 2026-03-01 assumed", "opener/2 2026-03-01 assumed")
	wantList(t, "problems", codes(s), "unknown-name")
}

// A starting line that names no places speaks of the parts there when the record began: a disc put in since keeps its own use, in whichever order the two are
// written down. One that was only exchanged with its neighbour is as old as the others; a place named outright is meant.
func TestStartingLineLeavesOutWhatWasPutIn(t *testing.T) {
	b := newNotebook(t)
	b.add(&record.Assume{Work: b.on("2026-03-10", "area 1812 ac"), Items: []record.Assumed{{Name: "disc", Used: quantityOf("900 ac")}}})
	b.swap(record.SwapNew, "2026-03-05", "opener/1", nil)
	b.add(&record.Swap{Work: b.on("2026-03-06"), Part: "disc", Act: record.SwapExchange, Positions: b.at("opener/2"), With: b.at("opener/3")})
	m := b.drill("2026-03-10")
	wantEqual(t, "put in", m.Slots["disc"]["opener/1 left"].Part.Use["area"].Sign(), 0)
	wantEqual(t, "put in, not assumed", m.Slots["disc"]["opener/1 left"].Part.Assumed, false)
	wantQ(t, "exchanged", m.Slots["disc"]["opener/2 left"].Part.Use["area"], "900 ac")
	wantQ(t, "original", m.Slots["disc"]["opener/4 left"].Part.Use["area"], "900 ac")
	b.add(&record.Assume{Work: b.on("2026-03-11"), Items: []record.Assumed{{Name: "disc", Positions: b.at("opener/1"), Used: quantityOf("50 ac")}}})
	wantQ(t, "named", b.drill("2026-03-11").Slots["disc"]["opener/1 left"].Part.Use["area"], "50 ac")
}
