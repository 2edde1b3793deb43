package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"shedbook/ledger"
	"shedbook/ledger/gitstore"
)

// A worker's device records work, but what a schedule says is the owners' to change.
func TestOnlyAnOwnerChangesSchedules(t *testing.T) {
	b, _ := season2026(t)
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
	request, err := ledger.Sign(ledger.Draft{Class: ledger.Control, Kind: "request", Record: ledger.Request{Key: pub}, Private: ledger.ControlPrivate{Name: "Pim Heron"},
		At: time.Date(2026, 4, 15, 20, 0, 0, 0, time.UTC)}, ledger.Position{Book: bk.log.ID(), Seq: 1, Depth: 1}, key, b.rand)
	if err != nil {
		t.Fatal(err)
	}
	if err := bk.store.Update(func(tx *gitstore.Tx) error {
		return tx.Append(ledger.WriterOf(key.Public()).String(), []*ledger.Entry{request})
	}); err != nil {
		t.Fatal(err)
	}
	if err := b.call().write(func(w *writing) error {
		_, err := w.sign(ledger.Draft{Class: ledger.Control, Kind: "admit", Record: ledger.Admit{Key: pub, Role: ledger.RoleWorker}, Private: ledger.ControlPrivate{Name: "Pim Heron"}})
		return err
	}); err != nil {
		t.Fatal(err)
	}
	pem, err := key.Marshal("worker", nil)
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "worker")
	if err := os.WriteFile(file, pem, 0o600); err != nil {
		t.Fatal(err)
	}
	b.must("note", "drill", "swept", "--key", file)
	for _, test := range []struct{ line, want string }{
		{"schedule use disc-drill", "only an owner puts a schedule into use; this device is a worker's"},
		{"schedule set drill job.grease.when.1.every 80ac --page 41", "only an owner changes a schedule's values; this device is a worker's"},
	} {
		o, e, code := b.run(append(strings.Fields(test.line), "--key", file)...)
		if code != exitFailed || !strings.HasPrefix(e, "shedbook: "+test.want+"\n") || o != "" {
			t.Errorf("%s: exit %d\n%s%s", test.line, code, o, e)
		}
	}
}
