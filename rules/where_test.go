package rules

import (
	"testing"

	"shedbook/rules/record"
)

func TestMove(t *testing.T) {
	b := newNotebook(t)
	ridge := b.add(&record.Farm{Name: "Ridge"})
	far := b.add(&record.Yard{Name: "far", Farm: ridge})
	moved := b.add(&record.Move{Work: b.on("2026-04-01"), Yard: far})
	before, after := b.drill("2026-03-31"), b.drill("2026-04-01")
	wantEqual(t, "before", before.Yard, b.yards["home"])
	wantEqual(t, "after", after.Yard, far)
	wantEqual(t, "farm", after.Farm, ridge)
	wantList(t, "reason", after.Reasons["yard"].Entries, moved)
	b.add(&record.Move{Work: b.on("2026-04-02"), Yard: ridge})
	s := b.state("2026-04-02")
	wantList(t, "no yard", codes(s), "unknown-yard")
	wantEqual(t, "it stays", s.Machine("drill").Yard, far)
}

func TestLend(t *testing.T) {
	b := newNotebook(t)
	for _, l := range []struct{ done, act string }{{"2026-04-01", "lent"}, {"2026-04-05", "returned"}, {"2026-05-01", "hired-in"}, {"2026-05-03", "sent-back"}} {
		b.add(&record.Lend{Work: b.on(l.done), Act: l.act})
	}
	for on, want := range map[string]string{"2026-03-31": "", "2026-04-01": "lent", "2026-04-05": "", "2026-05-02": "hired-in", "2026-05-03": ""} {
		wantEqual(t, on, b.drill(on).Lent, want)
	}
}

func TestStoredAndSlack(t *testing.T) {
	b := newNotebook(t)
	b.add(&record.Store{Work: b.on("2025-10-01"), Act: "in", Slack: []string{"packer springs", "fan belt"}})
	b.add(&record.Store{Work: b.on("2026-03-15"), Act: "out", Slack: []string{"fan belt"}})
	m := b.drill("2026-01-01")
	wantEqual(t, "stored", m.Stored, true)
	wantList(t, "slack", m.Slack, "packer springs", "fan belt")
	wantList(t, "stretches", m.Storage, Stretch{From: "2025-10-01"})
	m = b.drill("2026-03-15")
	wantEqual(t, "out", m.Stored, false)
	wantList(t, "still slack", m.Slack, "fan belt")
	wantList(t, "stretches", m.Storage, Stretch{From: "2025-10-01", To: "2026-03-15"})
}

func TestSell(t *testing.T) {
	b := newNotebook(t)
	b.add(&record.Sell{Work: b.on("2026-04-01")})
	wantEqual(t, "before", b.drill("2026-03-31").Sold, "")
	wantEqual(t, "after", b.drill("2026-04-01").Sold, "2026-04-01")
}

func TestHitchToItself(t *testing.T) {
	b := newNotebook(t)
	b.add(&record.Hitch{Work: b.on("2026-04-01"), Carrier: b.names["drill"]})
	s := b.state("2026-04-01")
	wantList(t, "problems", codes(s), "unknown-machine")
	wantEqual(t, "carrier", s.Machine("drill").Carrier, "")
}

func TestContext(t *testing.T) {
	b := newNotebook(t)
	w := b.on("2026-04-01")
	w.Crop, w.Ground = "barley", "wet"
	b.add(&record.Note{Work: w})
	w = b.on("2026-04-02")
	w.Field = "north"
	b.add(&record.Note{Work: w})
	b.add(&record.Note{Work: b.on("2026-04-03")})
	wantEqual(t, "context", b.drill("2026-04-03").Context, Context{Crop: "barley", Field: "north", Ground: "wet", Done: "2026-04-02"})
}
