package main

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// without runs command lines with nothing kept, and puts what was kept back.
func (b *testBook) without(lines [][]string) []string {
	b.t.Helper()
	cache, aside := filepath.Join(b.dir, "cache"), filepath.Join(b.dir, "cache-aside")
	if err := os.Rename(cache, aside); err != nil {
		b.t.Fatal(err)
	}
	if err := os.Mkdir(cache, 0o777); err != nil {
		b.t.Fatal(err)
	}
	said := b.saying(lines)
	if err := os.RemoveAll(cache); err != nil {
		b.t.Fatal(err)
	}
	if err := os.Rename(aside, cache); err != nil {
		b.t.Fatal(err)
	}
	return said
}

// saying is what command lines print, and with which codes they end.
func (b *testBook) saying(lines [][]string) []string {
	var out []string
	for _, line := range lines {
		o, e, code := b.run(line...)
		out = append(out, fmt.Sprintf("%s: %d\n%s%s", strings.Join(line, " "), code, o, e))
	}
	return out
}

// kept returns a file of what is kept; nil where there is none.
func (b *testBook) keptFile(name string) []byte {
	data, _ := os.ReadFile(filepath.Join(b.dir, "cache", name))
	return data
}

// Two devices record, correct, strike, swap, admit and exchange; whatever was kept, and however old it is, each answers as if nothing had been kept, to the byte.
func TestImageChangesNothing(t *testing.T) {
	setKeepAtLeast(t, 25) // and anew after five more
	seeds := 2
	if os.Getenv("SHEDBOOK_TEST") == "full" {
		seeds = 12
	}
	asks := [][]string{{"due", "--json"}, {"show", "--json"}, {"show", "drill", "--json"}, {"history", "--json"}, {"people", "list", "--json"}}
	images, stale := 0, 0
	for seed := range seeds {
		r := rand.New(rand.NewPCG(uint64(seed), 1))
		home, _ := season2026(t)
		stick := filepath.Join(t.TempDir(), "stick")
		home.must("sync", stick)
		creek := home.admitted(stick, "Jo Alder", "creek laptop")
		both := []*testBook{home, creek}
		for step := range 40 {
			b := both[r.IntN(2)]
			now := fmt.Sprintf("2026-%02d-%02dT%02d:%02d", 5+step/20, 1+step%20, 8+r.IntN(8), r.IntN(60))
			home.at(now)
			creek.at(now)
			switch r.IntN(12) {
			case 0, 1:
				b.must("sync", stick)
			case 2, 3:
				b.must("adjust", "drill", "opener", fmt.Sprint(1+r.IntN(8)), fmt.Sprint("depth=", 1+r.IntN(9)), "--yes")
			case 4, 5:
				b.must("did", "drill", "grease", "opener", fmt.Sprint(1+r.IntN(8)), "--yes")
			case 6:
				b.must("did", "drill", "grease", "--done", fmt.Sprintf("2026-03-%02d", 10+r.IntN(20)), "--yes") // late
			case 7:
				b.must("swap", "drill", "disc", "opener", fmt.Sprint(1+r.IntN(8)), "--yes")
			case 8:
				b.must("note", "drill", fmt.Sprint("stony, round ", step))
			case 9:
				home.must("machine", "add", fmt.Sprint("drill-", seed, "-", step), "small-drill", "--yes")
			case 10, 11: // what it recorded last
				said := b.must("adjust", "drill", "depth=3", "--yes")
				_, id, _ := strings.Cut(said, "[")
				id = id[:8]
				if r.IntN(2) == 0 {
					b.must("strike", id, "--note", "typed twice", "--yes")
				} else {
					b.must("correct", id, "depth=4", "--yes")
				}
			}
			if b.keptFile("book.image") != nil {
				images++
			}
			before := bytes.Clone(b.keptFile("book.image"))
			want := b.without(asks)
			if got := b.saying(asks); !slices.Equal(got, want) {
				for i := range got {
					if got[i] != want[i] {
						t.Fatalf("seed %d, step %d, by what was kept:\n%s\nanew:\n%s", seed, step, got[i], want[i])
					}
				}
			}
			if before != nil && bytes.Equal(before, b.keptFile("book.image")) {
				stale++
			}
		}
		for _, b := range both {
			b.must("audit")
		}
	}
	t.Logf("%d images, %d of them went on serving", images, stale)
	if images < seeds*10 || stale < seeds*5 {
		t.Error("hardly any image was used")
	}
}

// A log that went bad under an image shows with an audit at once, and with every command once the image is a week old; so it does under another clock.
func TestImageAgesAWeek(t *testing.T) {
	setKeepAtLeast(t, 1)
	b, _ := season2026(t)
	b.at("2026-05-01T08:00")
	b.must("show", "drill")
	if b.keptFile("book.image") == nil {
		t.Fatal("no image is kept")
	}
	broken := 0
	if err := filepath.WalkDir(filepath.Join(b.dir, "git", "objects"), func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		broken++
		if err := os.Chmod(path, 0o666); err != nil {
			return err
		}
		return os.WriteFile(path, []byte("spoiled"), 0o666)
	}); err != nil || broken == 0 {
		t.Fatalf("%d files spoiled, %v", broken, err)
	}
	if err := os.RemoveAll(filepath.Join(b.dir, "pending")); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(b.dir, "pending"), 0o777); err != nil {
		t.Fatal(err)
	}
	if _, _, code := b.run("audit"); code != exitUnsound {
		t.Errorf("an audit ends with %d", code)
	}
	for day, sound := range map[string]bool{"2026-05-08T08:00": true, "2026-05-09T08:00": false, "2026-04-30T08:00": false} {
		b.at(day)
		got, _, code := b.run("show", "drill")
		if is := code == 0; is != sound {
			t.Errorf("on %s show ends with %d:\n%s", day, code, got)
		}
	}
}
