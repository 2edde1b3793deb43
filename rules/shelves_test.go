package rules

import (
	"fmt"
	"testing"

	"shedbook/rules/record"
)

func (b *notebook) shelf() ID {
	b.t.Helper()
	return b.add(&record.Shelf{Work: record.Work{Done: "2026-01-01"}, Key: testKey("shelf"), Yard: b.yards["home"]})
}

func (b *notebook) stock(shelf ID, done, act, hand string, count int) ID {
	b.t.Helper()
	return b.add(&record.Stock{Work: record.Work{Machine: shelf, Done: record.Done(done)}, Schedule: "drill", Part: "disc", Hand: hand, Act: act, Count: count})
}

// stocked is what lies on the first shelf, line by line, with how many of it are used ones.
func stocked(s *State) []string {
	var out []string
	for _, l := range s.Shelves[0].Stock {
		out = append(out, fmt.Sprintf("%s %s %s: %d, %d used", l.Schedule, l.Part, l.Hand, l.Count, len(l.Parts)))
	}
	return out
}

// Ten left and ten right are bought; two of each go in on the 2nd, and what came out of opener 1 is kept; one is thrown away; then seven are counted.
func TestShelf(t *testing.T) {
	b := newNotebook(t)
	shelf := b.shelf()
	b.stock(shelf, "2026-04-01", "add", "left", 10)
	b.stock(shelf, "2026-04-01", "add", "right", 10)
	b.swap(record.SwapNew, "2026-04-02", "opener/1", func(s *record.Swap) { s.From, s.To = shelf, shelf })
	b.swap(record.SwapNew, "2026-04-02", "opener/2", func(s *record.Swap) { s.From = shelf })
	b.stock(shelf, "2026-04-03", "scrap", "left", 1)
	count := b.stock(shelf, "2026-04-05", "count", "right", 7)
	wantList(t, "bought", stocked(b.state("2026-04-01")), "drill disc left: 10, 0 used", "drill disc right: 10, 0 used")
	wantList(t, "used", stocked(b.state("2026-04-02")), "drill disc left: 9, 1 used", "drill disc right: 9, 1 used")
	wantList(t, "scrapped", stocked(b.state("2026-04-03")), "drill disc left: 8, 1 used", "drill disc right: 9, 1 used")
	s := b.state("2026-04-05")
	wantList(t, "counted", stocked(s), "drill disc left: 8, 1 used", "drill disc right: 7, 1 used")
	wantList(t, "reason", s.Shelves[0].Stock[1].Reason.Entries, count)
	wantList(t, "problems", codes(s))
	wantEqual(t, "yard", s.Shelf(shelf).Yard, b.yards["home"])
}

func TestShelfShort(t *testing.T) {
	b := newNotebook(t)
	shelf := b.shelf()
	id := b.swap(record.SwapNew, "2026-04-02", "opener/1", func(s *record.Swap) { s.From, s.Hand = shelf, "left" })
	s := b.state("2026-04-02")
	wantList(t, "problems", codes(s), "shelf-short")
	wantList(t, "entries", s.Problems[0].Entries, id)
	wantList(t, "never below nothing", stocked(s), "drill disc left: 0, 0 used")
}

func TestPartOnAnotherShelf(t *testing.T) {
	b := newNotebook(t)
	one := b.shelf()
	two := b.add(&record.Shelf{Work: record.Work{Done: "2026-01-01"}, Key: testKey("two"), Yard: b.yards["creek"]})
	b.swap(record.SwapOut, "2026-04-01", "opener/1", func(s *record.Swap) { s.Hand, s.To = "left", one })
	id := originalID(b.names["drill"], "disc", "opener/1 left")
	b.swap(record.SwapIn, "2026-04-02", "opener/1", func(s *record.Swap) { s.Hand, s.From, s.Parts = "left", two, []string{id} })
	s := b.state("2026-04-02")
	wantList(t, "problems", codes(s), "part-elsewhere")
	wantEqual(t, "put in", s.Machine("drill").Slots["disc"]["opener/1 left"].Part.ID, id)
}

func TestStockOfNoShelf(t *testing.T) {
	b := newNotebook(t)
	b.stock(b.names["drill"], "2026-04-01", "add", "left", 10)
	shelf := b.shelf()
	b.add(&record.Note{Work: record.Work{Machine: shelf, Done: "2026-04-01"}})
	wantList(t, "problems", codes(b.state("2026-04-01")), "unknown-machine", "unknown-machine")
}

func TestShelfSerials(t *testing.T) {
	b := newNotebook(t)
	shelf := b.shelf()
	add := func(done, act string, serials ...string) {
		b.add(&record.Stock{Work: record.Work{Machine: shelf, Done: record.Done(done)}, Schedule: "drill", Part: "battery", Act: act, Count: len(serials), Serials: serials})
	}
	add("2026-04-01", "add", "x1", "x2", "x3")
	b.add(&record.Swap{Work: b.on("2026-04-02"), Part: "battery", Act: record.SwapNew, From: shelf, Serials: []string{"x2"}})
	wantList(t, "one went in", b.state("2026-04-02").Shelves[0].Stock[0].Serials, "x1", "x3")
	add("2026-04-03", "scrap", "x1")
	wantList(t, "one was thrown away", b.state("2026-04-03").Shelves[0].Stock[0].Serials, "x3")
}
