package main

import (
	"strings"
	"testing"
	"time"

	"shedbook/ledger"
	"shedbook/ledger/gitstore"
	"shedbook/rules/record"
)

// Entries of a device nobody has admitted are kept and shown with --all, marked, and count for nothing.
func TestHistoryMarksWhatDoesNotCount(t *testing.T) {
	b, id := season2026(t)
	bk, err := b.call().open()
	if err != nil {
		t.Fatal(err)
	}
	key, err := ledger.NewKey(b.rand)
	if err != nil {
		t.Fatal(err)
	}
	var pub ledger.PublicKey
	copy(pub[:], key.Public())
	now := time.Date(2026, 4, 16, 9, 0, 0, 0, time.UTC)
	request, err := ledger.Sign(ledger.Draft{Class: ledger.Control, Kind: "request", Record: ledger.Request{Key: pub}, Private: ledger.ControlPrivate{Name: "Pim Heron"}, At: now},
		ledger.Position{Book: bk.log.ID(), Seq: 1, Depth: 1}, key, b.rand)
	if err != nil {
		t.Fatal(err)
	}
	var machine ledger.MachineKey
	if err := machine.UnmarshalText([]byte(b.state().Machines[0].Key)); err != nil {
		t.Fatal(err)
	}
	note, err := ledger.Sign(ledger.Draft{Class: ledger.Work, Kind: "note", Record: &record.Note{Work: workOn(id["drill"], "2026-04-16", "")}, Private: &record.Private{Text: "borrowed it"}, Machine: &machine, At: now},
		ledger.Position{Book: bk.log.ID(), Seq: 2, Prev: request.ID(), Depth: 2, PrevAt: now}, key, b.rand)
	if err != nil {
		t.Fatal(err)
	}
	if err := bk.store.Update(func(tx *gitstore.Tx) error {
		return tx.Append(ledger.WriterOf(key.Public()).String(), []*ledger.Entry{request, note})
	}); err != nil {
		t.Fatal(err)
	}
	b.at("2026-04-17T08:00")
	if got := b.must("history", "drill"); strings.Contains(got, "borrowed") {
		t.Errorf("without --all:\n%s", got)
	}
	b.vars["COLUMNS"] = "120"
	got := b.must("history", "drill", "--all")
	if !strings.Contains(got, "note: borrowed it (does not count: its device is not admitted)") {
		t.Errorf("with --all:\n%s", got)
	}
	if got := b.must("history", "drill", "--all", "--json"); !strings.Contains(got, `"fate":{"state":"pending","by":[],"why":"its device is not admitted"}`) {
		t.Errorf("as JSON:\n%s", got)
	}
	if got := b.must("history", "drill", "--all", "--known", "2026-04-15"); strings.Contains(got, "borrowed") {
		t.Errorf("before it was known:\n%s", got)
	}
}
