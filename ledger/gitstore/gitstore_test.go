package gitstore

import (
	"errors"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"shedbook/ledger"
)

func TestRoundTrip(t *testing.T) {
	s, founder := newBook(t)
	second := newWriter(t, s, "second")
	logs := linesOf(t, s)
	want := map[string][]*ledger.Entry{}
	// Runs of many sizes, across the ends of files: entries 100, 101, 200.
	for _, n := range []int{1, 1, 96, 1, 1, 1, 99, 250, 3} {
		for _, d := range []*device{founder, second} {
			entries := d.notes(t, n)
			appendTo(t, s, d.name, entries...)
			want[d.name] = append(want[d.name], entries...)
		}
	}
	check := func(s *Store) {
		t.Helper()
		for _, d := range []*device{founder, second} {
			got := linesOf(t, s)[d.name]
			if string(got[0]) != string(logs[d.name][0]) {
				t.Errorf("first entry of %s changed", d.name)
			}
			for i, e := range want[d.name] {
				if string(got[i+1]) != string(e.Line()) {
					t.Fatalf("entry %d of %s changed", i+2, d.name)
				}
			}
			if len(got) != len(want[d.name])+1 {
				t.Errorf("%s has %d entries, want %d", d.name, len(got), len(want[d.name])+1)
			}
		}
	}
	check(s)
	s2 := reopen(t, s)
	if got := s2.Recovered(); len(got) != 0 {
		t.Errorf("a sound book was repaired: %q", got)
	}
	check(s2)
	if err := s2.Pack(); err != nil {
		t.Fatal(err)
	}
	check(s2)
	check(reopen(t, s))
	wantSound(t, s)
	if exists(s.path(pendingDir, pendingFile)) {
		t.Error("packed, but still pending")
	}
	if err := os.RemoveAll(s.path(cacheDir)); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(s.path(cacheDir), 0o777); err != nil {
		t.Fatal(err)
	}
	more := founder.note(t)
	appendTo(t, s, founder.name, more)
	want[founder.name] = append(want[founder.name], more)
	check(s)
}

func TestSameEntriesSameIDs(t *testing.T) {
	build := func(dir string, pack bool) map[string]string {
		s, founder := newBookAt(t, dir, "founder")
		second := newWriter(t, s, "second")
		for i := range 12 {
			appendTo(t, s, founder.name, founder.notes(t, 1+i%3)...)
			appendTo(t, s, second.name, second.notes(t, 17)...)
			if pack && i%5 == 4 {
				if err := s.Pack(); err != nil {
					t.Fatal(err)
				}
			}
		}
		refs, err := s.references()
		if err != nil {
			t.Fatal(err)
		}
		tips := map[string]string{}
		for name, hash := range refs {
			tips[name] = hash.String()
		}
		return tips
	}
	a := build(filepath.Join(t.TempDir(), "a"), false)
	b := build(filepath.Join(t.TempDir(), "b"), true)
	if diff := cmp.Diff(a, b); diff != "" || len(a) != 2 {
		t.Errorf("the same runs in two books differ:\n%s", diff)
	}
}

func TestCommitForm(t *testing.T) {
	s, founder := newBook(t)
	appendTo(t, s, founder.name, founder.notes(t, 3)...)
	ref, _, err := s.reference(founder.name)
	if err != nil {
		t.Fatal(err)
	}
	o, err := s.readLoose(ref)
	if err != nil {
		t.Fatal(err)
	}
	c, err := parseCommit(o.data)
	if err != nil {
		t.Fatal(err)
	}
	// 2026-04-01T06:28:00Z, the fourth entry of a clock that starts at 06:00:00
	// and moves 7 minutes an entry, is 1775024880 seconds after 1970.
	want := "tree " + c.tree.String() + "\n" +
		"parent " + c.parent.String() + "\n" +
		"author shedbook <" + founder.name + "@book.invalid> 1775024880 +0000\n" +
		"committer shedbook <" + founder.name + "@book.invalid> 1775024880 +0000\n" +
		"\nentries 2-4\n"
	if diff := cmp.Diff(want, string(o.data)); diff != "" {
		t.Error(diff)
	}
	first, err := s.readLoose(c.parent)
	if err != nil {
		t.Fatal(err)
	}
	if c, err := parseCommit(first.data); err != nil || !c.parent.IsZero() {
		t.Errorf("the first commit has a parent: %s", first.data)
	}
	if got := string(first.data[len(first.data)-len("\n\nentry 1\n"):]); got != "\n\nentry 1\n" {
		t.Errorf("message is %q", got)
	}
	head, err := os.ReadFile(s.git("HEAD"))
	if err != nil {
		t.Fatal(err)
	}
	if want := "ref: refs/heads/log/" + founder.name + "\n"; string(head) != want {
		t.Errorf("HEAD is %q, want %q", head, want)
	}
}

func TestAppendRefuses(t *testing.T) {
	s, founder := newBook(t)
	other := newDevice(t, "other", s.BookID())
	otherFirst := other.first(t)
	skipped := founder.note(t)
	next := founder.note(t)
	stranger := newDevice(t, "stranger", ledger.ID{})
	foreign := stranger.first(t)
	for _, test := range []struct {
		name    string
		log     string
		entries []*ledger.Entry
		want    string
	}{
		{"no entries", founder.name, nil, "nothing to append to the log of " + founder.name},
		{"bad name", "refs", []*ledger.Entry{skipped}, `"refs" is not the name of a log`},
		{"name with a path", "../" + founder.name, []*ledger.Entry{skipped}, `"../` + founder.name + `" is not the name of a log`},
		{"gap", founder.name, []*ledger.Entry{next}, "entry " + next.ID().Short() + " is number 3 after " + skipped.ID().Short() +
			" and does not follow the log of " + founder.name + ", which ends with number 1, " + s.BookID().Short()},
		{"order", founder.name, []*ledger.Entry{next, skipped}, "entry " + next.ID().Short() + " is number 3 after " + skipped.ID().Short() +
			" and does not follow the log of " + founder.name + ", which ends with number 1, " + s.BookID().Short()},
		{"other writer", founder.name, []*ledger.Entry{otherFirst}, "entry " + otherFirst.ID().Short() + " was signed by " + other.name +
			" and cannot stand in the log of " + founder.name},
		{"other book", stranger.name, []*ledger.Entry{foreign}, "entry " + foreign.ID().Short() + " belongs to another book"},
		{"not the first", other.name, []*ledger.Entry{other.note(t)}, ""},
	} {
		t.Run(test.name, func(t *testing.T) {
			err := s.Update(func(tx *Tx) error { return tx.Append(test.log, test.entries) })
			if err == nil {
				t.Fatal("accepted")
			}
			if test.want != "" && err.Error() != test.want {
				t.Errorf("got  %s\nwant %s", err, test.want)
			}
		})
	}
	if n := len(linesOf(t, s)); n != 1 {
		t.Errorf("%d logs after refusals, want 1", n)
	}
	// A second chain of the same key stands beside the first.
	beside := founder.name + "." + s.BookID().String()[:16]
	twin := newDevice(t, "founder", ledger.ID{})
	first := twin.first(t)
	appendTo(t, s, beside, first, twin.sign(t, ledger.Draft{Class: ledger.Shared, Kind: "farm", Record: map[string]any{"name": "creek"}}))
	if n := len(linesOf(t, s)[beside]); n != 2 {
		t.Errorf("second chain holds %d entries, want 2", n)
	}
}

func TestCreateRefuses(t *testing.T) {
	founder := newDevice(t, "founder", ledger.ID{})
	id := founder.first(t).ID()
	full := t.TempDir()
	if err := os.WriteFile(filepath.Join(full, "notes.txt"), []byte("grease\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	if _, err := Create(full, id); err == nil || err.Error() != `cannot start a book in "`+full+`": the folder is not empty (it holds "notes.txt"); name a new or an empty one` {
		t.Errorf("a full folder: %v", err)
	}
	if entries, _ := os.ReadDir(full); len(entries) != 1 {
		t.Errorf("refusing left %v", entries)
	}
	if _, err := Create(t.TempDir(), ledger.ID{}); err == nil {
		t.Error("a book without a founding entry was made")
	}
	s, _ := newBook(t)
	if _, err := Create(s.Dir(), id); err == nil || err.Error() != `cannot start a book in "`+s.Dir()+`": there is one already` {
		t.Errorf("a book's folder: %v", err)
	}
	empty := t.TempDir()
	if s, err := Create(empty, id); err != nil || s.BookID() != id || len(s.Mark()) != 32 {
		t.Errorf("an empty folder: %v", err)
	}
}

// Whatever step of Create fails or is the last before a crash: after a failure
// nothing is left, and after a crash the folder is a book or can become one.
func TestCreateFails(t *testing.T) {
	id := newDevice(t, "founder", ledger.ID{}).first(t).ID()
	broken := errors.New("no space left")
	for n := 1; ; n++ {
		top := filepath.Join(t.TempDir(), "farm")
		dir := filepath.Join(top, "books", "drill")
		steps := 0
		_, err := create(disk{fault: func(string, string) error {
			if steps++; steps == n {
				return broken
			}
			return nil
		}}, dir, id, nil)
		if err == nil {
			if n < 20 {
				t.Errorf("only %d steps were tried", n)
			}
			return
		}
		if !errors.Is(err, broken) {
			t.Fatalf("step %d: %v", n, err)
		}
		if exists(top) {
			t.Fatalf("step %d left %q", n, top)
		}
	}
}

func TestCreateAfterCrash(t *testing.T) {
	s, _ := newBook(t)
	if err := os.WriteFile(s.path(unfinishedFile), nil, 0o666); err != nil {
		t.Fatal(err)
	}
	if err := os.Remove(s.path(lockFile)); err != nil {
		t.Fatal(err)
	}
	if IsBook(s.Dir()) {
		t.Error("an unfinished folder counts as a book")
	}
	if _, err := Open(s.Dir()); !errors.Is(err, ErrNotBook) {
		t.Errorf("opening an unfinished folder: %v", err)
	}
	id := newDevice(t, "again", ledger.ID{}).first(t).ID()
	again, err := Create(s.Dir(), id)
	if err != nil {
		t.Fatal(err)
	}
	if again.BookID() != id || len(linesOf(t, again)) != 0 {
		t.Error("the folder was not begun anew")
	}
}

func TestOpenRefuses(t *testing.T) {
	missing := filepath.Join(t.TempDir(), "nowhere")
	if _, err := Open(missing); !errors.Is(err, ErrNotBook) || err.Error() != `not a book: there is no folder "`+missing+`"` {
		t.Errorf("missing: %v", err)
	}
	plain := t.TempDir()
	if _, err := Open(plain); !errors.Is(err, ErrNotBook) || err.Error() != `not a book: the folder "`+plain+`" has no local.toml with a git folder beside it` {
		t.Errorf("plain: %v", err)
	}
	s, _ := newBook(t)
	local, err := os.ReadFile(s.path(localFile))
	if err != nil {
		t.Fatal(err)
	}
	for _, test := range []struct{ name, text, want string }{
		{"newer", "version = 2\nsomething = 'new'\n", `the book in "` + s.Dir() + `" is kept in form 2 and this program knows form 1; use a newer shedbook`},
		{"unknown", string(local) + "unit = 'us'\n", s.path(localFile) + `:5:1: "unit" is not a setting of this program`},
		{"syntax", "version = \n", ""},
		{"no book", "version = 1\nmark = 'a'\n", s.path(localFile) + `: book must be the 64 hex characters of the founding entry's id, found ""`},
	} {
		t.Run(test.name, func(t *testing.T) {
			if err := os.WriteFile(s.path(localFile), []byte(test.text), 0o666); err != nil {
				t.Fatal(err)
			}
			_, err := Open(s.Dir())
			if err == nil || test.want != "" && err.Error() != test.want {
				t.Errorf("got  %v\nwant %s", err, test.want)
			}
			var newer *NewerError
			if errors.As(err, &newer) != (test.name == "newer") {
				t.Errorf("newer: %v", err)
			}
		})
	}
}

func TestLocal(t *testing.T) {
	s, founder := newBook(t)
	l := s.Local()
	l.Units, l.Writer, l.Demo, l.Keys = "us", founder.name, true, "keys"
	if err := s.SetLocal(l); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(l, reopen(t, s).Local()); diff != "" {
		t.Error(diff)
	}
	l.Mark = "0123"
	if err := s.SetLocal(l); err == nil {
		t.Error("the mark was changed")
	}
}

func TestBulk(t *testing.T) {
	s, founder := newBook(t)
	appendTo(t, s, founder.name, founder.note(t)) // pending when the bulk begins
	second := newDevice(t, "second", s.BookID())
	firstOfSecond := second.first(t)
	before := linesOf(t, s)
	entries := founder.notes(t, 60)
	stop := errors.New("stop")
	write := func(then error) error {
		return s.Bulk(func(tx *Tx) error {
			if err := tx.Append(second.name, []*ledger.Entry{firstOfSecond}); err != nil {
				return err
			}
			for _, e := range entries {
				if err := tx.Append(founder.name, []*ledger.Entry{e}); err != nil {
					return err
				}
			}
			logs, err := tx.Logs()
			if err != nil {
				return err
			}
			if n := len(logs); n != 2 {
				t.Errorf("%d logs inside, want 2", n)
			}
			return then
		})
	}
	if err := write(stop); err != stop {
		t.Fatal(err)
	}
	if diff := cmp.Diff(before, linesOf(t, reopen(t, s))); diff != "" {
		t.Errorf("a bulk write that failed left entries:\n%s", diff)
	}
	if err := write(nil); err != nil {
		t.Fatal(err)
	}
	if got := s.Recovered(); len(got) > 0 {
		t.Errorf("notes: %q", got)
	}
	if exists(s.path(pendingDir, pendingFile)) {
		t.Error("still pending after a bulk write")
	}
	if n := len(linesOf(t, reopen(t, s))[founder.name]); n != 62 {
		t.Errorf("%d entries, want 62", n)
	}
	appendTo(t, s, founder.name, founder.note(t))
	wantSound(t, s)

	// The same runs one by one make the same ids.
	plain, founder2 := newBookAt(t, filepath.Join(t.TempDir(), "plain"), "founder")
	appendTo(t, plain, founder2.name, founder2.note(t))
	for range 61 {
		appendTo(t, plain, founder2.name, founder2.note(t))
	}
	a, _, _ := s.reference(founder.name)
	b, _, _ := plain.reference(founder.name)
	if a != b {
		t.Errorf("bulk %s, one by one %s", a, b)
	}
}

// Unchanged is true as long as reading again would give the same, however the entries lie, and false once anybody has recorded or nothing was read.
func TestUnchanged(t *testing.T) {
	s, founder := newBook(t)
	unchanged := func(s *Store) (is bool) {
		t.Helper()
		if err := s.Update(func(tx *Tx) error { is = tx.Unchanged(); return nil }); err != nil {
			t.Fatal(err)
		}
		return is
	}
	other := reopen(t, s)
	if unchanged(other) {
		t.Error("unchanged before anything was read")
	}
	read := func() {
		t.Helper()
		if _, err := other.Logs(); err != nil {
			t.Fatal(err)
		}
	}
	if read(); !unchanged(other) {
		t.Error("changed although nobody recorded")
	}
	appendTo(t, s, founder.name, founder.note(t))
	if unchanged(other) {
		t.Error("unchanged although another process recorded")
	}
	if read(); !unchanged(other) {
		t.Error("changed although all was read")
	}
	if err := s.Pack(); err != nil {
		t.Fatal(err)
	}
	if !unchanged(other) {
		t.Error("changed by packing")
	}
	if err := other.Update(func(tx *Tx) error {
		if err := tx.Append(founder.name, []*ledger.Entry{founder.note(t)}); err != nil {
			return err
		}
		if !tx.Unchanged() {
			t.Error("changed although nobody recorded but this one")
		}
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	current := func(want bool, why string) {
		t.Helper()
		if is, err := other.Current(); err != nil || is != want {
			t.Errorf("current is %t (%v) %s", is, err, why)
		}
	}
	current(true, "after its own entry")
	if err := other.Pack(); err != nil {
		t.Fatal(err)
	}
	current(true, "after packing")
	appendTo(t, s, founder.name, founder.note(t))
	current(false, "after another's entry")
	appendTo(t, other, founder.name, founder.note(t))
	current(false, "after another's entry and one of its own")
	read()
	current(true, "after all was read")
}
