package gitstore

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/go-git/go-git/v5/plumbing"

	"shedbook/ledger"
)

// forge builds a tree beside the store's own code and makes it the log's last
// commit.
type forge struct {
	t *testing.T
	s *Store
}

func (f forge) put(kind plumbing.ObjectType, data []byte) plumbing.Hash {
	f.t.Helper()
	o := newObject(kind, data, "")
	if err := f.s.writeLoose([]object{o}); err != nil {
		f.t.Fatal(err)
	}
	return o.hash
}

func (f forge) blob(data string) plumbing.Hash { return f.put(plumbing.BlobObject, []byte(data)) }

func (f forge) tree(entries ...treeEntry) plumbing.Hash {
	return f.put(plumbing.TreeObject, encodeTree(entries))
}

// logOf wraps a list of files into log/0000.
func (f forge) logOf(files ...treeEntry) plumbing.Hash {
	return f.root(treeEntry{"log", modeFolder, f.tree(treeEntry{"0000", modeFolder, f.tree(files...)})})
}

func (f forge) root(entries ...treeEntry) plumbing.Hash {
	return f.tree(append([]treeEntry{{readmeName, modeFile, f.blob(readmeV1)}}, entries...)...)
}

func (f forge) commit(tree plumbing.Hash, parents ...plumbing.Hash) plumbing.Hash {
	var out bytes.Buffer
	fmt.Fprintf(&out, "tree %s\n", tree)
	for _, p := range parents {
		fmt.Fprintf(&out, "parent %s\n", p)
	}
	fmt.Fprintf(&out, "author A <a@book.invalid> 1 +0000\ncommitter A <a@book.invalid> 1 +0000\n\nforged\n")
	return f.put(plumbing.CommitObject, out.Bytes())
}

func TestForeignTree(t *testing.T) {
	base, founder := newBook(t)
	appendTo(t, base, founder.name, founder.notes(t, 2)...)
	dir := filepath.Join(t.TempDir(), "packed")
	copyDir(t, base.Dir(), dir)
	packed, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	if err := packed.Pack(); err != nil {
		t.Fatal(err)
	}
	stores := map[string]*Store{"pending": base, "packed": packed}
	lines := linesOf(t, base)[founder.name]
	three := string(bytes.Join(lines, nil))
	long := strings.Repeat("x", ledger.MaxLine) + "\n"
	one := string(lines[0])
	file := func(f forge, name, data string) treeEntry { return treeEntry{name, modeFile, f.blob(data)} }
	for _, test := range []struct {
		name  string
		build func(f forge) plumbing.Hash
		place string
		why   string
	}{
		{"a file at the top", func(f forge) plumbing.Hash {
			return f.root(treeEntry{"a.txt", modeFile, f.blob("x")}, treeEntry{"log", modeFolder, f.tree(treeEntry{"0000", modeFolder, f.tree(file(f, "00.jsonl", three))})})
		}, "a.txt", "it does not belong in a log"},
		{"no readme", func(f forge) plumbing.Hash {
			return f.tree(treeEntry{"log", modeFolder, f.tree(treeEntry{"0000", modeFolder, f.tree(file(f, "00.jsonl", three))})})
		}, readmeName, "it is missing"},
		{"no log", func(f forge) plumbing.Hash { return f.root() }, "log", "it is missing"},
		{"log is a file", func(f forge) plumbing.Hash { return f.root(treeEntry{"log", modeFile, f.blob(three)}) }, "log", "it does not belong in a log"},
		{"empty log", func(f forge) plumbing.Hash { return f.root(treeEntry{"log", modeFolder, f.tree()}) }, "log", "it is empty"},
		{"symbolic link", func(f forge) plumbing.Hash {
			return f.logOf(treeEntry{"00.jsonl", "120000", f.blob("/etc/passwd")})
		}, "log/0000", `"00.jsonl" is neither a plain file nor a folder (its mode is "120000")`},
		{"executable", func(f forge) plumbing.Hash {
			return f.logOf(treeEntry{"00.jsonl", "100755", f.blob(three)})
		}, "log/0000", `"00.jsonl" is neither a plain file nor a folder (its mode is "100755")`},
		{"submodule", func(f forge) plumbing.Hash {
			return f.root(treeEntry{"log", "160000", f.blob(three)})
		}, "/", `"log" is neither a plain file nor a folder (its mode is "160000")`},
		{"mode with a zero in front", func(f forge) plumbing.Hash {
			return f.root(treeEntry{"log", "040000", f.tree()})
		}, "/", `"log" is neither a plain file nor a folder (its mode is "040000")`},
		{"folder where a file belongs", func(f forge) plumbing.Hash {
			return f.logOf(treeEntry{"00.jsonl", modeFolder, f.tree(file(f, "a", "x"))})
		}, "log/0000/00.jsonl", `it does not belong in a log; "00.jsonl" belongs here`},
		{"other name", func(f forge) plumbing.Hash { return f.logOf(file(f, "0.jsonl", three)) },
			"log/0000/0.jsonl", `it does not belong in a log; "00.jsonl" belongs here`},
		{"name that climbs", func(f forge) plumbing.Hash { return f.logOf(file(f, "../../x", three)) },
			"log/0000/../../x", `it does not belong in a log; "00.jsonl" belongs here`},
		{"gap", func(f forge) plumbing.Hash { return f.logOf(file(f, "01.jsonl", three)) },
			"log/0000/01.jsonl", `it does not belong in a log; "00.jsonl" belongs here`},
		{"names out of order", func(f forge) plumbing.Hash {
			return f.logOf(file(f, "01.jsonl", three), file(f, "00.jsonl", three))
		}, "log/0000", `the name "00.jsonl" is out of order`},
		{"same name twice", func(f forge) plumbing.Hash {
			return f.logOf(file(f, "00.jsonl", three), file(f, "00.jsonl", three))
		}, "log/0000", `the name "00.jsonl" is out of order`},
		{"short file in the middle", func(f forge) plumbing.Hash {
			return f.logOf(file(f, "00.jsonl", three), file(f, "01.jsonl", one))
		}, "log/0000/00.jsonl", "it has 3 lines and is not the last file"},
		{"folder not full", func(f forge) plumbing.Hash {
			folder := f.tree(file(f, "00.jsonl", strings.Repeat(one, 100)))
			return f.root(treeEntry{"log", modeFolder, f.tree(treeEntry{"0000", modeFolder, folder}, treeEntry{"0001", modeFolder, folder})})
		}, "log/0000", "it holds 1 files and is not the last folder"},
		{"too many lines", func(f forge) plumbing.Hash { return f.logOf(file(f, "00.jsonl", strings.Repeat(one, 101))) },
			"log/0000/00.jsonl", "it has 101 lines, 1 to 100 are allowed"},
		{"empty file", func(f forge) plumbing.Hash { return f.logOf(file(f, "00.jsonl", "")) },
			"log/0000/00.jsonl", "it has 0 lines, 1 to 100 are allowed"},
		{"last line cut", func(f forge) plumbing.Hash { return f.logOf(file(f, "00.jsonl", three[:len(three)-1])) },
			"log/0000/00.jsonl", "its last line is cut short"},
		{"line too long", func(f forge) plumbing.Hash { return f.logOf(file(f, "00.jsonl", one+long)) },
			"log/0000/00.jsonl", "line 2 has 65537 bytes, at most 65536 are allowed"},
		{"file too large", func(f forge) plumbing.Hash {
			return f.logOf(file(f, "00.jsonl", strings.Repeat("x", maxFileBytes+1)))
		}, "log/0000/00.jsonl", "it has 6553601 bytes"},
		{"paper in a wrong folder", func(f forge) plumbing.Hash {
			name := strings.Repeat("ab", 32)
			return f.root(treeEntry{"log", modeFolder, f.tree(treeEntry{"0000", modeFolder, f.tree(file(f, "00.jsonl", three))})},
				treeEntry{"paper", modeFolder, f.tree(treeEntry{"cd", modeFolder, f.tree(file(f, name, "x"))})})
		}, "paper/cd/" + strings.Repeat("ab", 32), "it does not belong in a log"},
		{"tree is a file", func(f forge) plumbing.Hash { return f.blob("x") }, "/", "something else stands in its place"},
	} {
		for name, s := range stores {
			t.Run(test.name+", "+name, func(t *testing.T) {
				tip, _, err := s.reference(founder.name)
				if err != nil {
					t.Fatal(err)
				}
				f := forge{t, s}
				forged := f.commit(test.build(f), tip)
				if err := s.moveReference(founder.name, tip, forged); err != nil {
					t.Fatal(err)
				}
				_, err = reopen(t, s).Logs()
				var damaged *DamagedError
				if !errors.As(err, &damaged) {
					t.Fatalf("got %v", err)
				}
				want := fmt.Sprintf("the log of %s is damaged at %q: %s", founder.name, test.place, test.why)
				if err.Error() != want || damaged.Log != founder.name || damaged.Path != test.place {
					t.Errorf("got  %s\nwant %s", err, want)
				}
				if err := s.moveReference(founder.name, forged, tip); err != nil {
					t.Fatal(err)
				}
			})
		}
	}
}

// A log is never a merge of two.
func TestMergedLog(t *testing.T) {
	s, founder := newBook(t)
	appendTo(t, s, founder.name, founder.note(t))
	tip, _, _ := s.reference(founder.name)
	f := forge{t, s}
	o, err := s.readLoose(tip)
	if err != nil {
		t.Fatal(err)
	}
	c, err := parseCommit(o.data)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.moveReference(founder.name, tip, f.commit(c.tree, c.parent, tip)); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Logs(); err == nil || !strings.Contains(err.Error(), "two logs were merged into it, which is never done") {
		t.Errorf("got %v", err)
	}
}

// Papers, which a later program may put beside a log, are carried along.
func TestPapersAreKept(t *testing.T) {
	s, founder := newBook(t)
	appendTo(t, s, founder.name, founder.note(t))
	if err := s.Pack(); err != nil {
		t.Fatal(err)
	}
	tip, _, _ := s.reference(founder.name)
	f := forge{t, s}
	name := strings.Repeat("ab", 32)
	paper := f.tree(treeEntry{"ab", modeFolder, f.tree(treeEntry{name, modeFile, f.blob("a photo")})})
	lines := linesOf(t, s)[founder.name]
	tree := f.root(treeEntry{"log", modeFolder, f.tree(treeEntry{"0000", modeFolder, f.tree(treeEntry{"00.jsonl", modeFile, f.blob(string(bytes.Join(lines, nil)))})})},
		treeEntry{"paper", modeFolder, paper})
	if err := s.moveReference(founder.name, tip, f.commit(tree, tip)); err != nil {
		t.Fatal(err)
	}
	appendTo(t, s, founder.name, founder.note(t))
	if err := s.Pack(); err != nil {
		t.Fatal(err)
	}
	if n := len(linesOf(t, s)[founder.name]); n != 3 {
		t.Fatalf("%d entries, want 3", n)
	}
	err := s.Update(func(tx *Tx) error {
		tip, err := tx.tip(founder.name)
		if err != nil {
			return err
		}
		if _, got, err := checkRoot(tip.root); err != nil || got != paper {
			t.Errorf("the papers are gone: %v", err)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if o, err := s.openPacks().get(f.blob("a photo")); err != nil || string(o.data) != "a photo" {
		t.Errorf("the paper was not packed: %v", err)
	}
}

// A reader beside a writer that appends and packs sees a book that holds
// together: never shorter than before.
func TestReadBesideWriter(t *testing.T) {
	s, founder := newBook(t)
	s.packRuns = 5
	done := make(chan error)
	var reads, wrote atomic.Int64
	go func() {
		for wrote.Load() < 40 || reads.Load() < 3 { // however slow the reader gets going
			e := founder.note(t)
			if err := s.Update(func(tx *Tx) error { return tx.Append(founder.name, []*ledger.Entry{e}) }); err != nil {
				done <- err
				return
			}
			wrote.Add(1)
		}
		done <- nil
	}()
	most := 0
	for {
		reader, err := Open(s.Dir())
		if err != nil {
			t.Fatal(err)
		}
		logs, err := reader.Logs()
		if err != nil {
			t.Fatal(err)
		}
		n := len(logs[0].Lines)
		if n < most {
			t.Fatalf("%d entries after %d", n, most)
		}
		most = n
		reads.Add(1)
		select {
		case err := <-done:
			if err != nil {
				t.Fatal(err)
			}
			if n, want := len(linesOf(t, s)[founder.name]), 1+int(wrote.Load()); n != want {
				t.Fatalf("%d entries, want %d", n, want)
			}
			return
		case <-time.After(time.Millisecond):
		}
	}
}

// The size of what an append reads does not grow with the log.
func TestAppendReadsTheEndOnly(t *testing.T) {
	s, founder := newBook(t)
	appendTo(t, s, founder.name, founder.notes(t, 350)...)
	if err := s.Pack(); err != nil {
		t.Fatal(err)
	}
	// With every pack unreadable, the cache is enough to append.
	names, err := s.packNames()
	if err != nil || len(names) == 0 {
		t.Fatalf("%d packs: %v", len(names), err)
	}
	hide := func(from, to string) {
		for _, name := range names {
			if err := os.Rename(s.git("objects", "pack", name+from), s.git("objects", "pack", name+to)); err != nil {
				t.Fatal(err)
			}
		}
	}
	hide(".pack", ".away")
	e := founder.note(t)
	appendTo(t, reopen(t, s), founder.name, e)
	hide(".away", ".pack")
	if n := len(linesOf(t, s)[founder.name]); n != 352 {
		t.Fatalf("%d entries, want 352", n)
	}
	// Without a cache, it is read from the packs and made again.
	if err := s.Pack(); err != nil {
		t.Fatal(err)
	}
	cache := s.path(cacheDir, founder.name)
	if err := os.WriteFile(cache, []byte("blob 3\nxyzblob 100\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	appendTo(t, reopen(t, s), founder.name, founder.note(t))
	if len(s.readCache(founder.name)) < 5 {
		t.Error("the cache was not made again")
	}
	if n := len(linesOf(t, s)[founder.name]); n != 353 {
		t.Fatalf("%d entries, want 353", n)
	}
}

// Logs vouches for the signatures of what was recorded or taken in here, up to the entry that seen/ names and in that log only; whatever another
// program wrote past it, and a log of which nothing was seen, is checked by whoever loads the book.
func TestSignaturesCheckedOnce(t *testing.T) {
	s, founder := newBook(t)
	appendTo(t, s, founder.name, founder.notes(t, 5)...)
	relied := func() (relied, entries int) {
		t.Helper()
		logs, err := reopen(t, s).Logs()
		if err != nil {
			t.Fatal(err)
		}
		book, err := ledger.LoadPinned(s.BookID(), logs)
		if err != nil {
			t.Fatal(err)
		}
		if found := book.Findings(); len(found) > 0 {
			t.Fatal(found)
		}
		return book.Relied(), len(book.Entries())
	}
	if r, n := relied(); r != n || n != 6 {
		t.Errorf("after recording: %d of %d signatures are relied on", r, n)
	}
	seen, err := s.readSeen(founder.name)
	if err != nil {
		t.Fatal(err)
	}
	appendTo(t, s, founder.name, founder.notes(t, 3)...)
	if err := s.writeSeen(seen); err != nil { // as if another program had written the last run
		t.Fatal(err)
	}
	logs, err := s.Logs()
	if err != nil {
		t.Fatal(err)
	}
	if logs[0].Checked != seen.ID {
		t.Errorf("vouched for up to %s, want %s", logs[0].Checked.Short(), seen.ID.Short())
	}
	// Under a signature that is not the entry's, what was not seen is found out.
	last := len(logs[0].Lines) - 1
	logs[0].Lines[last] = swapSignature(t, logs[0].Lines[last], logs[0].Lines[last-1])
	book, err := ledger.LoadPinned(s.BookID(), logs)
	if err != nil {
		t.Fatal(err)
	}
	if found := book.Findings(); len(found) != 1 || found[0].Line != last+1 || found[0].Severity != ledger.Error {
		t.Errorf("findings: %v", found)
	}
	if book.Relied() != 6 {
		t.Errorf("%d signatures are relied on, want 6", book.Relied())
	}
}

// swapSignature puts another line's signature, which ends a line, under line.
func swapSignature(t *testing.T, line, other []byte) []byte {
	t.Helper()
	at, from := bytes.LastIndex(line, []byte(`"sig":`)), bytes.LastIndex(other, []byte(`"sig":`))
	if at < 0 || from < 0 {
		t.Fatalf("no signature in %s or %s", line, other)
	}
	return append(bytes.Clone(line[:at]), other[from:]...)
}
