package rules

import (
	"testing"

	"shedbook/rules/record"
)

// Opener 2 was tied up from 1,100 to 1,150 ac: of 200 ac its discs did 150. The packer wheel behind openers 1 and 2 went on turning.
func TestTiedUp(t *testing.T) {
	b := newNotebook(t)
	b.reads("2026-04-01", "area at 1000 ac")
	fault := b.add(&record.Fault{Work: b.on("2026-04-02T16:00", "area 1100 ac"), Positions: b.at("opener/2"), Severity: "stop", TiedUp: true})
	m := b.drill("2026-04-02")
	wantEqual(t, "why", m.Out["opener/2"].Why, "tied up")
	wantEqual(t, "entry", m.Out["opener/2"].Entry, fault)
	repair := &record.Repair{Work: b.on("2026-04-03", "area 1150 ac")}
	repair.Closes = []ID{fault}
	b.add(repair)
	b.reads("2026-04-04", "area at 1200 ac")
	m = b.drill("2026-04-04")
	wantEqual(t, "out of use", len(m.Out), 0)
	wantQ(t, "disc 2", m.Slots["disc"]["opener/2 left"].Part.Use["area"], "150 ac")
	wantQ(t, "scraper 2", m.Slots["scraper"]["opener/2"].Part.Use["area"], "150 ac")
	wantQ(t, "disc 3", m.Slots["disc"]["opener/3 left"].Part.Use["area"], "200 ac")
	wantQ(t, "packer of 1 and 2", m.Slots["packer"]["opener/1"].Part.Use["area"], "200 ac")
}

// Both reasons at once: tied up from 1,100 to 1,150, its scraper off from 1,120 to 1,180. Out of use for 80 of 200 ac.
func TestOverlappingReasons(t *testing.T) {
	b := newNotebook(t)
	b.reads("2026-04-01", "area at 1000 ac")
	fault := b.add(&record.Fault{Work: b.on("2026-04-02", "area 1100 ac"), Positions: b.at("opener/2"), Severity: "stop", TiedUp: true})
	out := b.add(&record.Swap{Work: b.on("2026-04-03", "area 1120 ac"), Part: "scraper", Act: record.SwapOut, Positions: b.at("opener/2")})
	repair := &record.Repair{Work: b.on("2026-04-04", "area 1150 ac")}
	repair.Closes = []ID{fault}
	b.add(repair)
	m := b.drill("2026-04-04")
	wantEqual(t, "still empty", m.Out["opener/2"].Entry, out)
	wantEqual(t, "why", m.Out["opener/2"].Why, "empty")
	b.add(&record.Swap{Work: b.on("2026-04-05", "area 1180 ac"), Part: "scraper", Act: record.SwapNew, Positions: b.at("opener/2")})
	b.reads("2026-04-06", "area at 1200 ac")
	m = b.drill("2026-04-06")
	wantEqual(t, "out of use", len(m.Out), 0)
	wantQ(t, "disc 2", m.Slots["disc"]["opener/2 left"].Part.Use["area"], "120 ac")
	wantQ(t, "new scraper", m.Slots["scraper"]["opener/2"].Part.Use["area"], "20 ac")
}

// Put into a place that is tied up, a part gathers nothing until it is free.
func TestNewIntoTiedUpPlace(t *testing.T) {
	b := newNotebook(t)
	b.reads("2026-04-01", "area at 1000 ac")
	fault := b.add(&record.Fault{Work: b.on("2026-04-01"), Positions: b.at("opener/2"), Severity: "stop", TiedUp: true})
	b.swap(record.SwapNew, "2026-04-02", "opener/2", func(s *record.Swap) { s.Work = b.on("2026-04-02", "area 1050 ac") })
	repair := &record.Repair{Work: b.on("2026-04-03", "area 1100 ac")}
	repair.Closes = []ID{fault}
	b.add(repair)
	b.reads("2026-04-04", "area at 1130 ac")
	wantQ(t, "disc", b.drill("2026-04-04").Slots["disc"]["opener/2 left"].Part.Use["area"], "30 ac")
}

func TestWholeMachineTiedUp(t *testing.T) {
	b := newNotebook(t)
	b.reads("2026-04-01", "area at 1000 ac")
	b.add(&record.Fault{Work: b.on("2026-04-01"), Severity: "stop", TiedUp: true, Unfit: true})
	b.reads("2026-04-04", "area at 1003 ac") // moved about the yard with the counter running
	m := b.drill("2026-04-04")
	wantEqual(t, "unfit", m.Unfit, true)
	wantEqual(t, "out of use", m.Out[""].Why, "tied up")
	wantQ(t, "disc", m.Slots["disc"]["opener/2 left"].Part.Use["area"], "0 ac")
}
