package faults

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
)

// scene is one command, what it finds, and what a person does after it broke off.
type scene struct {
	name    string
	device  string // whose
	line    string // the command
	prepare func(f *farm)
	begins  bool                // the command makes the book: there may be none afterwards
	fetches bool                // and takes entries of others into it before it writes its own
	writes  string              // a file it writes, whole or not at all
	next    string              // the next command, which must work
	again   *regexp.Regexp      // what it answers said again; nil: it may say that all is there
	holds   func(f *farm) error // right after the fault, before any other command
	after   func(f *farm) error
}

const (
	note   = `note drill "the next line"`
	create = `new wren/book --me "Wren Alder" --farm "Alder Farm" --units us`
)

// started is a book with a drill in it, and a few entries.
func started(f *farm) {
	f.do("wren", create)
	f.do("wren", `machine add drill disc-drill --options openers=4`)
	f.do("wren", `counter drill 1812`)
	f.do("wren", `did drill grease`)
}

// shared is a started book that was exchanged with a stick, and taken from there by a second device, which was admitted.
func shared(f *farm) {
	started(f)
	f.do("wren", "sync "+f.live("stick"))
	f.do("jo", `join `+f.live("stick")+` jo/book --me "Jo Alder" --device "creek laptop"`)
	f.do("wren", "sync")
	f.do("wren", `people admit "creek laptop" --yes`)
	f.do("wren", "sync")
	f.do("jo", "sync")
}

// apart is a shared book in which both recorded since, and the stick holds what Jo did.
func apart(f *farm) {
	shared(f)
	f.do("wren", `note drill "Wren's first"`)
	f.do("wren", `counter drill 1820`)
	f.do("jo", `note drill "Jo's first"`)
	f.do("jo", `did drill grease 1-2`)
	f.do("jo", "sync")
}

// scenes are the commands that are tried.
func scenes() []*scene {
	return []*scene{
		{name: "new", line: create, begins: true, next: `farm add "Second Farm"`, prepare: func(f *farm) {}},
		{name: "counter", line: "counter drill 1830", next: note, prepare: started},
		{name: "did", line: "did drill grease 1-3", next: note, prepare: started},
		{name: "measure", line: "measure drill opener/1-4 disc-reach --values 5.9,5.8,5.85,5.9", next: note, prepare: started},
		{name: "correct", line: "correct LAST 1-2", next: note, prepare: started},
		{name: "people add", line: `people add "Sam Rook"`, next: note, prepare: started},
		{name: "write that packs", line: "counter drill 1830", next: note, prepare: func(f *farm) {
			started(f)
			pending(f, "wren", 199)
		}},
		{name: "write that merges packs", line: "counter drill 1830", next: note, prepare: func(f *farm) {
			shared(f)
			for i := range 3 {
				f.do("jo", fmt.Sprintf(`note drill "number %d"`, i))
				pending(f, "jo", 20*(3-i))
				f.do("jo", "sync")
				f.do("wren", "sync")
			}
			pending(f, "wren", 199)
			if n := packs(f, "wren"); n < 2 {
				f.t.Fatalf("there is %d pack", n)
			}
		}},
		{name: "join", device: "jo", line: `join STICK jo/book --me "Jo Alder" --device "creek laptop"`, begins: true, fetches: true, next: "sync", prepare: func(f *farm) {
			started(f)
			f.do("wren", "sync "+f.live("stick"))
		}, after: meets("wren")},
		{name: "sync to a new folder", line: "sync STICK", next: note, prepare: started, after: func(f *farm) error {
			if a := f.try("wren", "sync", f.live("stick")); a.code != 0 {
				return fmt.Errorf("wren cannot sync: exit %d\n%s%s", a.code, a.out, a.err)
			}
			if a := f.try("jo", "join", f.live("stick"), "jo/book", "--only-read"); a.code != 0 {
				return fmt.Errorf("the folder cannot be joined: exit %d\n%s%s", a.code, a.out, a.err)
			}
			return same(f, "wren", "jo")
		}},
		{name: "sync both ways", line: "sync", next: note, prepare: apart, after: meets("jo")},
		{name: "sync into a restored book", line: "sync", next: note, prepare: func(f *farm) {
			apart(f)
			f.copy(f.live("wren", "book"), filepath.Join(f.root, "backup"))
			f.do("wren", "counter drill 1825")
			f.do("wren", `note drill "not in the backup"`)
			f.do("wren", "sync")
			must(f.t, os.RemoveAll(f.live("wren", "book")))
			f.copy(filepath.Join(f.root, "backup"), f.live("wren", "book"))
			if a := f.try("wren", fields(note)...); a.code == 0 || !strings.Contains(a.err, "is older than this device's key") {
				f.t.Fatalf("a restored book is written to: exit %d\n%s%s", a.code, a.out, a.err)
			}
		}, after: meets("jo")},
		{name: "salefile", line: "salefile drill --out drill.html", writes: "drill.html", next: note, prepare: started},
		{name: "export --evidence", line: "export --evidence drill drill.evidence", writes: "drill.evidence", next: note, prepare: started},
		importing("import csv", 8),
		importing("import csv of many rows", 205), // more than 200: they go straight into packs
		{name: "note with a photo", line: `note drill "cracked bracket" --paper photo.jpg`, next: note, prepare: papered, holds: papersThere, after: papersKept(1)},
		{name: "did with two papers", line: "did drill grease 1-2 --paper photo.jpg --paper invoice.pdf", next: note, prepare: papered, holds: papersThere, after: papersKept(2)},
		{name: "correct with a paper", line: "correct LAST --paper invoice.pdf", next: note, prepare: papered, holds: papersThere, after: papersKept(1)},
		{name: "paper that packs", line: `note drill "cracked bracket" --paper photo.jpg`, next: note, prepare: func(f *farm) {
			papered(f)
			f.do("wren", `note drill "the new bearings" --paper invoice.pdf`)
			pending(f, "wren", 199)
		}, holds: papersThere, after: papersKept(2)},
		{name: "sync that brings a paper", line: "sync", next: note, prepare: func(f *farm) {
			shared(f)
			papers(f)
			f.do("wren", `note drill "cracked bracket" --paper photo.jpg`)
			f.do("jo", `note drill "the new bearings" --paper invoice.pdf`)
			f.do("jo", "sync")
		}, holds: papersThere, after: func(f *farm) error {
			return errors.Join(meets("jo")(f), papersRead(f, "wren", 2), papersRead(f, "jo", 2), papersOnce(f, "wren"), papersOnce(f, "jo"))
		}},
		{name: "paper --out", line: "paper DIGEST --out back.jpg", writes: "back.jpg", next: note, prepare: func(f *farm) {
			papered(f)
			f.do("wren", `note drill "cracked bracket" --paper photo.jpg`)
		}},
	}
}

// pending records until so many runs wait to be packed.
func pending(f *farm, device string, runs int) {
	for i := 0; ; i++ {
		data, err := os.ReadFile(f.live(device, "book", "pending", "runs"))
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			f.t.Fatal(err)
		}
		if n := strings.Count(string(data), "shedrun1"); n == runs {
			return
		} else if n > runs || i > 300 {
			f.t.Fatalf("%d runs are pending, want %d", n, runs)
		}
		f.do(device, fmt.Sprintf("counter drill %d --yes", 1813+i/20))
	}
}

func packs(f *farm, device string) int {
	names, err := filepath.Glob(f.live(device, "book", "git", "objects", "pack", "*.pack"))
	must(f.t, err)
	return len(names)
}

// meets has another device sync by the stick, then this one: both hold the same afterwards.
func meets(other string) func(*farm) error {
	return func(f *farm) error {
		mine := map[string]string{"wren": "jo", "jo": "wren"}[other]
		for _, device := range []string{mine, other, mine} {
			if a := f.try(device, "sync"); a.code != 0 {
				return fmt.Errorf("%s cannot sync: exit %d\n%s%s", device, a.code, a.out, a.err)
			}
		}
		return same(f, mine, other)
	}
}

// same wants two books to hold the same entries.
func same(f *farm, a, b string) error {
	one, err := held(f.live(a, "book"))
	if err != nil {
		return fmt.Errorf("%s: %w", a, err)
	}
	two, err := held(f.live(b, "book"))
	if err != nil {
		return fmt.Errorf("%s: %w", b, err)
	}
	for id := range one {
		if two[id] != 1 {
			return fmt.Errorf("%s holds entry %s and %s does not", a, id[:8], b)
		}
	}
	if len(one) != len(two) {
		return fmt.Errorf("%s holds %d entries and %s %d", a, len(one), b, len(two))
	}
	return nil
}
