package demo

import (
	"testing"

	"shedbook/ledger"
)

// TestTell holds the story to what the demo promises: its size, its people, that every signature and chain verifies, and that a seed fixes every byte.
func TestTell(t *testing.T) {
	a, err := Tell(1)
	if err != nil {
		t.Fatal(err)
	}
	entries := a.Entries()
	if len(entries) < 1500 {
		t.Errorf("%d entries, want 1,500 at least", len(entries))
	} else {
		t.Logf("%d entries", len(entries))
	}
	if len(a.Devices) != 5 {
		t.Errorf("%d devices, want 5", len(a.Devices))
	}
	lines := map[string][][]byte{}
	for _, r := range a.Runs {
		for _, e := range r.Entries {
			lines[r.Log] = append(lines[r.Log], e.Line())
		}
	}
	var logs []ledger.Log
	for name, l := range lines {
		logs = append(logs, ledger.Log{Name: name, Lines: l})
	}
	book, err := ledger.LoadPinned(a.Book, logs)
	if err != nil {
		t.Fatal(err)
	}
	if err := book.Sound(); err != nil {
		t.Error(err)
	}
	judged := book.Judge()
	kinds := map[string]int{}
	for _, e := range book.Entries() {
		kinds[e.Kind()]++
		if s := judged.Status(e); s != ledger.Counts {
			t.Fatalf("entry %s of %s does not count: %v", e.ID().Short(), e.Writer(), s)
		}
	}
	for _, kind := range []string{"farm", "yard", "person", "schedule", "season", "machine", "shelf", "stock", "assume", "override", "counter", "adjust",
		"measure", "swap", "did", "fault", "repair", "note", "correct", "strike"} {
		if kinds[kind] == 0 {
			t.Errorf("no %s entry in the story", kind)
		}
	}
	if kinds["machine"] != 6 || kinds["farm"] != 2 || kinds["yard"] != 3 {
		t.Errorf("%d machines, %d farms, %d yards; want 6, 2, 3", kinds["machine"], kinds["farm"], kinds["yard"])
	}
	b, err := Tell(1)
	if err != nil {
		t.Fatal(err)
	}
	again := b.Entries()
	if len(again) != len(entries) {
		t.Fatalf("the same seed gave %d and %d entries", len(entries), len(again))
	}
	for i := range entries {
		if string(entries[i].Line()) != string(again[i].Line()) {
			t.Fatalf("the same seed gave two different entries %d", i)
		}
	}
	c, err := Tell(2)
	if err != nil {
		t.Fatal(err)
	}
	if c.Book == a.Book {
		t.Error("two seeds gave one book")
	}
}
