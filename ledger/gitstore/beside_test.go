package gitstore

import (
	"errors"
	"os"
	"slices"
	"strings"
	"testing"
)

// While git repacks, its new packs lie beside the finished ones for a moment
// under the names ".tmp-<process>-pack-<hex>", each file moved to its last name
// by itself (finish_tmp_packfile in git's pack-write.c). They are git's: neither
// read, nor merged, nor removed, whichever of their files is there.
func TestPacksThatGitIsWriting(t *testing.T) {
	s, founder := newBook(t)
	for range 2 {
		appendTo(t, s, founder.name, founder.note(t))
		if err := s.Pack(); err != nil {
			t.Fatal(err)
		}
	}
	names, err := s.packNames()
	if err != nil || len(names) == 0 {
		t.Fatalf("packs %v, %v; want some", names, err)
	}
	const whole, half = ".tmp-71-pack-0000000000000000000000000000000000000001", ".tmp-72-pack-0000000000000000000000000000000000000002"
	for _, file := range []string{whole + ".pack", whole + ".idx", half + ".idx"} {
		data, err := os.ReadFile(s.git("objects", "pack", names[0]+file[strings.LastIndex(file, "."):]))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(s.git("objects", "pack", file), data, 0o444); err != nil {
			t.Fatal(err)
		}
	}
	appendTo(t, s, founder.name, founder.note(t))
	if err := s.Pack(); err != nil {
		t.Fatal(err)
	}
	names, err = s.packNames()
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		if !strings.HasPrefix(name, "pack-") {
			t.Errorf("%s is taken for a finished pack", name)
		}
	}
	for _, file := range []string{whole + ".pack", whole + ".idx", half + ".idx"} {
		if !exists(s.git("objects", "pack", file)) {
			t.Errorf("%s is gone", file)
		}
	}
	for _, file := range []string{whole + ".pack", whole + ".idx", half + ".idx"} {
		if err := os.Remove(s.git("objects", "pack", file)); err != nil && !errors.Is(err, os.ErrNotExist) {
			t.Fatal(err)
		}
	}
	wantSound(t, s)
}

// A pack may go between being listed and being opened, as git collects: merging
// is then left to the next write, without a word, and nothing is lost.
func TestMergePackThatGoes(t *testing.T) {
	s, founder := newBook(t)
	for range 3 {
		appendTo(t, s, founder.name, founder.note(t))
		if err := s.Pack(); err != nil {
			t.Fatal(err)
		}
	}
	names, err := s.packNames()
	if err != nil || len(names) == 0 {
		t.Fatalf("packs %v, %v; want some", names, err)
	}
	// Listed with its index, but nothing is there when it is opened.
	const gone = "pack-0000000000000000000000000000000000000003"
	index, err := os.ReadFile(s.git("objects", "pack", names[0]+".idx"))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(s.git("objects", "pack", gone+".idx"), index, 0o444); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("nowhere", s.git("objects", "pack", gone+".pack")); err != nil {
		t.Fatal(err)
	}
	chosen, err := s.smallPacks()
	if err != nil || !slices.Contains(chosen, gone) || len(chosen) < 2 {
		t.Fatalf("to be merged: %v, %v; want the one that is gone among them", chosen, err)
	}
	if err := s.mergeSmall(); err != nil {
		t.Fatal(err)
	}
	for _, ext := range []string{".idx", ".pack"} {
		if err := os.Remove(s.git("objects", "pack", gone+ext)); err != nil {
			t.Fatal(err)
		}
	}
	if after, err := s.packNames(); err != nil || !slices.Equal(after, names) {
		t.Errorf("packs %v, %v; want %v as before", after, err, names)
	}
	wantSound(t, s)
}
