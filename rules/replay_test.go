package rules

import (
	"encoding/json"
	"testing"
)

func encode(t testing.TB, v any) []byte {
	t.Helper()
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestReplayEmptyBook(t *testing.T) {
	s, err := Replay(nil, Options{On: "2026-04-01"})
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Machines)+len(s.Problems)+len(s.Effective) != 0 {
		t.Errorf("an empty book has %v", s)
	}
}

func TestReplayOptions(t *testing.T) {
	for on, want := range map[string]string{
		"":                 `on: "" is no day: write 2026-04-01`,
		"2026-02-30":       `on: "2026-02-30" is no day: write 2026-04-01`,
		"2026-04-01T10:00": `on: "2026-04-01T10:00" is no day: write 2026-04-01`,
	} {
		if _, err := Replay(nil, Options{On: on}); err == nil || err.Error() != want {
			t.Errorf("on %q: got %v, want %s", on, err, want)
		}
	}
	if _, err := Replay(nil, Options{On: "2026-04-01", Known: "yesterday"}); err == nil || err.Error() != `known: "yesterday" is no day: write 2026-04-01` {
		t.Errorf("known: %v", err)
	}
}

func TestCleanNotebook(t *testing.T) {
	s := newNotebook(t).state("2026-01-01")
	for _, p := range s.Problems {
		t.Log(p.Message)
	}
	wantList(t, "problems", codes(s))
	m := s.Machine("drill")
	wantEqual(t, "discs", len(m.Slots["disc"]), 8)
	wantEqual(t, "scrapers", len(m.Slots["scraper"]), 4)
	wantEqual(t, "packers", len(m.Slots["packer"]), 2)
	wantEqual(t, "batteries", len(m.Slots["battery"]), 1)
	wantEqual(t, "farm", s.Farm("hollow").ID, m.Farm)
	wantEqual(t, "kinds", len(s.Kinds), 3)
	slot := m.Slots["disc"]["opener/3 right"]
	wantEqual(t, "original part", slot.Part.ID, "original/"+string(m.ID)+"/disc/opener/3 right")
	wantEqual(t, "unknown", slot.Unknown, true)
}
