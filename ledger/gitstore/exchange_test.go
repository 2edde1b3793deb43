package gitstore

import (
	"context"
	"path/filepath"
	"testing"
)

// exchangeWith exchanges s with a target, which must work.
func exchangeWith(t testing.TB, s *Store, target string) *SyncReport {
	t.Helper()
	r, err := s.Sync(context.Background(), target, SyncOptions{})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func joinFrom(t testing.TB, target string) *Store {
	t.Helper()
	s, _, err := Join(context.Background(), target, filepath.Join(t.TempDir(), "joined"), SyncOptions{})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestSyncSmoke(t *testing.T) {
	a, founder := newBook(t)
	appendTo(t, a, founder.name, founder.notes(t, 150)...)
	stick := filepath.Join(t.TempDir(), "stick")
	r := exchangeWith(t, a, stick)
	t.Logf("%+v", r)
	b := joinFrom(t, stick)
	d := newDevice(t, "creek", b.BookID())
	appendTo(t, b, d.name, d.first(t))
	appendTo(t, b, d.name, d.notes(t, 3)...)
	r = exchangeWith(t, b, stick)
	t.Logf("%+v", r)
	r = exchangeWith(t, b, stick)
	t.Logf("%+v", r)
	appendTo(t, a, founder.name, founder.note(t))
	r = exchangeWith(t, a, stick)
	t.Logf("%+v", r)
	r = exchangeWith(t, b, stick)
	t.Logf("%+v", r)
	wantSound(t, b)
	if len(linesOf(t, a)) != 2 || len(linesOf(t, b)) != 2 {
		t.Fatal("logs")
	}
}
