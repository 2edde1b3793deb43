package rules

import (
	"testing"

	"shedbook/rules/record"
)

func TestSeason(t *testing.T) {
	b := newNotebook(t)
	use := []record.PlannedUse{{Kind: "drill", Counter: "area", Amount: quantityOf("1200 ac")}}
	act := func(done string, s record.Season) ID {
		s.Name, s.Done = "spring 2026", record.Done(done)
		if s.Act != "close" {
			s.Work = "seeding"
		}
		return b.add(&s)
	}
	plan := act("2026-02-01", record.Season{Act: "plan", From: "2026-04-10", To: "2026-05-15", Use: use, Farms: []ID{b.farm}})
	open := act("2026-04-12", record.Season{Act: "open"})
	closed := act("2026-05-20", record.Season{Act: "close"})
	again := act("2026-05-25", record.Season{Act: "open"})
	for _, c := range []struct {
		on, opened, closed string
		entries            []ID
	}{
		{"2026-03-01", "", "", []ID{plan}},
		{"2026-04-12", "2026-04-12", "", []ID{plan, open}},
		{"2026-05-20", "2026-04-12", "2026-05-20", []ID{plan, open, closed}},
		{"2026-05-25", "2026-05-25", "", []ID{plan, open, closed, again}},
	} {
		n := b.state(c.on).Season("Spring 2026")
		wantEqual(t, c.on+" opened", n.Opened, c.opened)
		wantEqual(t, c.on+" closed", n.Closed, c.closed)
		wantList(t, c.on+" reason", n.Reason.Entries, c.entries...)
		wantEqual(t, c.on+" planned", n.PlanFrom+" "+n.PlanTo, "2026-04-10 2026-05-15")
		wantEqual(t, c.on+" use", n.Use[0].Amount.String(), "1200 ac")
		wantEqual(t, c.on+" farm", n.Farms[0], b.farm)
	}
	if n := b.state("2026-01-31").Season("spring 2026"); n != nil {
		t.Errorf("planned before it was: %v", n)
	}
}

func TestSeasonOfAnotherFarm(t *testing.T) {
	b := newNotebook(t)
	ridge := b.add(&record.Farm{Name: "Ridge"})
	b.add(&record.Season{Act: "open", Name: "spring", Work: "seeding", Farms: []ID{ridge}, Done: "2026-04-01"})
	wantList(t, "events of a drill of Hollow", kindsOf(b.drill("2026-04-01").Events))
}

func TestSeasonClosedOnly(t *testing.T) {
	b := newNotebook(t)
	b.add(&record.Season{Act: "close", Name: "spring", Done: "2026-04-01"})
	wantList(t, "problems", codes(b.state("2026-04-01")), "season")
}
