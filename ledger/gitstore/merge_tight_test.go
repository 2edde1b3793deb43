package gitstore

import (
	"os"
	"slices"
	"testing"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/google/go-cmp/cmp"
)

// packed is how many bytes the packs of a repository take, and how many objects
// they hold.
func packed(t *testing.T, s *Store) (bytes, objects int64) {
	t.Helper()
	names, err := s.packNames()
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		info, err := os.Stat(s.git("objects", "pack", name+".pack"))
		if err != nil {
			t.Fatal(err)
		}
		count, err := s.packCount(name)
		if err != nil {
			t.Fatal(err)
		}
		bytes, objects = bytes+info.Size(), objects+count
	}
	return bytes, objects
}

// A book that is exchanged after every entry takes, on each side and in the
// place between, no more than three times what its lines come to: not all
// versions of its files together, which would be ten times as much here.
func TestExchangedEveryTime(t *testing.T) {
	const runs = 60
	s, founder := newBook(t)
	stick := t.TempDir() + "/stick"
	exchangeWith(t, s, stick)
	other := joinFrom(t, stick)
	for range runs {
		appendTo(t, s, founder.name, founder.note(t))
		exchangeWith(t, s, stick)
		exchangeWith(t, other, stick)
	}
	at := newHostile(t, stick).repo
	if diff := cmp.Diff(linesOf(t, s), linesOf(t, other)); diff != "" {
		t.Fatal(diff)
	}
	for _, store := range []*Store{s, other} {
		if err := store.Pack(); err != nil {
			t.Fatal(err)
		}
		if err := store.mergePacks(); err != nil {
			t.Fatal(err)
		}
	}
	together := 0
	for _, l := range linesOf(t, s)[founder.name] {
		together += len(l)
	}
	for name, store := range map[string]*Store{"the first": s, "the second": other, "between": at} {
		bytes, objects := packed(t, store)
		t.Logf("%s: %d bytes in packs for %d objects; the log has %d", name, bytes, objects, together)
		if most := int64(3 * together); bytes > most {
			t.Errorf("%s takes %d bytes for a log of %d", name, bytes, together)
		}
	}
	wantSound(t, s)
	wantSound(t, other)
	if diff := cmp.Diff(linesOf(t, s), linesOf(t, reopen(t, other))); diff != "" {
		t.Error(diff)
	}
}

// Merging changes no object: what several packs held, each version whole, is
// read from the one pack as it was.
func TestMergeKeepsEveryVersion(t *testing.T) {
	s, founder := newBook(t)
	var all []object
	for range 30 {
		appendTo(t, s, founder.name, founder.note(t))
		refs, err := s.references()
		if err != nil {
			t.Fatal(err)
		}
		g := &gathering{s: s, made: map[plumbing.Hash]object{}, seen: map[plumbing.Hash]bool{}}
		g.walk(founder.name, refs[founder.name])
		for _, o := range g.order {
			if !slices.ContainsFunc(all, func(x object) bool { return x.hash == o.hash }) {
				all = append(all, o)
			}
		}
	}
	for i, o := range all { // a pack for each, some twice
		o.group = ""
		if _, err := s.writePack([]object{o, all[i*7%len(all)]}); err != nil {
			t.Fatal(err)
		}
	}
	before, _ := packed(t, s)
	if err := s.mergeSmall(); err != nil {
		t.Fatal(err)
	}
	after, _ := packed(t, s)
	if after*2 > before {
		t.Errorf("%d bytes, %d before", after, before)
	}
	packs := s.openPacks()
	defer packs.close()
	for _, o := range all {
		got, err := packs.get(o.hash)
		if err != nil || got.kind != o.kind || string(got.data) != string(o.data) {
			t.Fatalf("%s: %v", o.hash, err)
		}
	}
}
