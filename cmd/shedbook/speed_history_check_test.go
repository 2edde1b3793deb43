package main

import (
	"encoding/json"
	"testing"

	"github.com/google/go-cmp/cmp"

	"shedbook/ledger"
	"shedbook/rules/record"
)

// TestHistoryIsSound holds the made-up history that speed is measured on to what is said of it: it verifies, every entry has its effect, its shares are
// those promised, and the same seed gives the same entries.
func TestHistoryIsSound(t *testing.T) {
	t.Parallel()
	const size = 1_500
	dir := t.TempDir()
	tellLongHistory(heldIn(t, dir), size, 1)
	d := heldIn(t, dir) // its clock stands at the end
	bk, err := d.call().open()
	if err != nil {
		t.Fatal(err)
	}
	defer bk.store.Close()
	st, err := bk.now()
	if err != nil {
		t.Fatal(err)
	}
	if n := len(bk.log.Entries()); n < size-2 || n > size {
		t.Errorf("%d entries of %d", n, size)
	}
	if len(st.Machines) != 50 || len(bk.judged.Devices()) != historyWriters+1 { // and the recovery key
		t.Errorf("%d machines, %d devices", len(st.Machines), len(bk.judged.Devices()))
	}
	for _, p := range st.Problems {
		t.Errorf("%s: %s", p.Code, p.Message)
	}
	var work, late, amended int
	kinds := map[string]int{}
	for _, e := range bk.log.Entries() {
		if kinds[e.Kind()]++; e.Class() != ledger.Work || e.At().Before(historyFirst.AddDate(0, 0, 1)) {
			continue
		}
		work++
		r, err := record.Decode(e.Kind(), e.Record())
		if err != nil {
			t.Fatal(err)
		}
		switch done, ok := record.DoneOf(r); {
		case !ok:
			amended++
		case done.Date() < e.At().Format("2006-01-02"):
			late++
		}
	}
	for _, kind := range []string{"counter", "adjust", "measure", "swap", "did", "fault", "repair", "note", "season", "correct", "strike", "hitch", "move", "lend", "store", "stock", "assume"} {
		if kinds[kind] == 0 {
			t.Errorf("no entry of kind %s", kind)
		}
	}
	if share := 100 * late / work; share < 3 || share > 7 {
		t.Errorf("%d %% written up late", share)
	}
	if share := 1000 * amended / work; share < 10 || share > 30 {
		t.Errorf("%d in 1,000 are corrections", share)
	}
	logs, err := bk.store.Logs()
	if err != nil {
		t.Fatal(err)
	}
	again := heldIn(t, t.TempDir())
	tellLongHistory(again, size, 1)
	var audited struct{ Findings []findingJSON }
	if err := json.Unmarshal([]byte(d.must("audit", "--json")), &audited); err != nil {
		t.Fatal(err)
	}
	for _, f := range audited.Findings {
		if f.Severity != "note" {
			t.Errorf("audit: %s: %s", f.Code, f.Message)
		}
	}
	bk2, err := again.call().open()
	if err != nil {
		t.Fatal(err)
	}
	defer bk2.store.Close()
	logs2, err := bk2.store.Logs()
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(idsOf(t, logs), idsOf(t, logs2)); diff != "" {
		t.Errorf("another history of the same seed: %s", diff)
	}
}

func idsOf(t *testing.T, logs []ledger.Log) map[string]string {
	t.Helper()
	out := map[string]string{}
	for _, l := range logs {
		out[l.Name] = string(l.Lines[len(l.Lines)-1])
	}
	return out
}
