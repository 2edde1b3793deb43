package gitstore

import (
	"context"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
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

// wantSame checks that two stores hold the same entries, each once.
func wantSame(t testing.TB, a, b *Store) {
	t.Helper()
	if diff := cmp.Diff(chainsOf(t, a), chainsOf(t, b)); diff != "" {
		t.Errorf("the books differ:\n%s", diff)
	}
}

// chainsOf returns the chains a store holds by writer, as rows of entry ids,
// whatever the logs are called.
func chainsOf(t testing.TB, s *Store) map[string][]string {
	t.Helper()
	all := map[string][]string{}
	for name, lines := range linesOf(t, s) {
		var chain strings.Builder
		for _, line := range lines {
			head, err := headOf(line)
			if err != nil {
				t.Fatal(err)
			}
			chain.WriteString(head.id.Short() + " ")
		}
		all[name[:32]] = append(all[name[:32]], chain.String())
	}
	for _, chains := range all {
		slices.Sort(chains)
	}
	return all
}
