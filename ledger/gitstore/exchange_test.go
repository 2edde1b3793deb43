package gitstore

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"

	"shedbook/ledger"
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

// a move without the writer, as tests state it.
func move1(log string, from, to uint64) []LogMove {
	w, err := ledger.ParseWriter(log[:32])
	if err != nil {
		panic(err)
	}
	return []LogMove{{Log: log, Writer: w, From: from, To: to}}
}

// wantReport checks a report but for the lists of what waits and is pending.
// There is a book with it if something came.
func wantReport(t testing.TB, got *SyncReport, want SyncReport) {
	t.Helper()
	if (got.Book != nil) != (len(want.Came) > 0) {
		t.Errorf("there is a book in the report: %v", got.Book != nil)
	}
	want.Target, want.Waiting, want.Pending, want.Book = got.Target, got.Waiting, got.Pending, got.Book
	if got.Book != nil {
		shorter := *got
		want.Book, shorter.Book = nil, nil // its own tests are package ledger's
		got = &shorter
	}
	if diff := cmp.Diff(&want, got); diff != "" {
		t.Errorf("report:\n%s", diff)
	}
}

// Two devices over a stick, without a git binary.
func TestExchangeOverFolder(t *testing.T) {
	t.Setenv("PATH", "")
	a, founder := newBook(t)
	appendTo(t, a, founder.name, founder.notes(t, 150)...)
	stick := filepath.Join(t.TempDir(), "stick")
	wantReport(t, exchangeWith(t, a, stick), SyncReport{Made: true, Sent: move1(founder.name, 0, 151)})
	head, err := os.ReadFile(filepath.Join(stick, "HEAD"))
	if err != nil || string(head) != "ref: refs/heads/log/"+founder.name+"\n" {
		t.Errorf("a plain copy shows %q, %v", head, err)
	}
	b, r, err := Join(context.Background(), stick, filepath.Join(t.TempDir(), "joined"), SyncOptions{})
	if err != nil {
		t.Fatal(err)
	}
	wantReport(t, r, SyncReport{Came: move1(founder.name, 0, 151)})
	if b.BookID() != a.BookID() || b.Mark() == a.Mark() || b.Local().Writer != "" {
		t.Errorf("joined: %+v", b.Local())
	}
	d := newDevice(t, "creek", b.BookID())
	appendTo(t, b, d.name, d.first(t))
	appendTo(t, b, d.name, d.notes(t, 3)...)
	wantReport(t, exchangeWith(t, b, stick), SyncReport{Sent: move1(d.name, 0, 4)})
	wantReport(t, exchangeWith(t, b, stick), SyncReport{})
	appendTo(t, a, founder.name, founder.note(t))
	r = exchangeWith(t, a, stick)
	wantReport(t, r, SyncReport{Came: move1(d.name, 0, 4), Sent: move1(founder.name, 151, 152)})
	if diff := cmp.Diff(move1(d.name, 0, 4), r.Pending); diff != "" || len(r.Waiting) > 0 {
		t.Errorf("pending:\n%s", diff)
	}
	wantReport(t, exchangeWith(t, b, stick), SyncReport{Came: move1(founder.name, 151, 152)})
	wantSame(t, a, b)
	wantSound(t, b)
	ahead, behind := refsOf(t, a), refsOf(t, b)
	if diff := cmp.Diff(ahead, behind); diff != "" {
		t.Errorf("the same entries came out under other commits:\n%s", diff)
	}
	targets, err := a.Targets()
	if diff := cmp.Diff([]Target{{Address: stick}}, targets); diff != "" || err != nil {
		t.Errorf("targets: %v\n%s", err, diff)
	}
}

func refsOf(t testing.TB, s *Store) map[string]string {
	t.Helper()
	refs, err := s.references()
	if err != nil {
		t.Fatal(err)
	}
	all := map[string]string{}
	for name, hash := range refs {
		all[name] = hash.String()
	}
	return all
}

// A stick that was rewound, lost a log, or holds a reference whose objects are
// gone gets back what it had; what is new besides is told apart.
func TestLostLogsArePutBack(t *testing.T) {
	a, founder := newBook(t)
	d := newWriter(t, a, "creek")
	stick := filepath.Join(t.TempDir(), "stick")
	path := func(log string) string { return filepath.Join(stick, "refs", "heads", "log", log) }
	exchangeWith(t, a, stick)
	early, err := os.ReadFile(path(founder.name))
	if err != nil {
		t.Fatal(err)
	}
	appendTo(t, a, founder.name, founder.notes(t, 4)...)
	exchangeWith(t, a, stick)

	for _, loss := range []struct {
		name     string
		lose     func() error
		restored []LogMove
		sent     []LogMove
	}{
		{"rewound", func() error { return os.WriteFile(path(founder.name), early, 0o666) }, move1(founder.name, 1, 5), nil},
		{"gone", func() error { return os.Remove(path(d.name)) }, move1(d.name, 0, 1), nil},
		{"cut", func() error { return os.WriteFile(path(d.name), early[:17], 0o666) }, move1(d.name, 0, 1), nil},
		{"names what is not there", func() error {
			return os.WriteFile(path(d.name), []byte(strings.Repeat("ab", 20)+"\n"), 0o666)
		}, move1(d.name, 0, 1), nil},
		{"objects gone", func() error {
			if err := os.RemoveAll(filepath.Join(stick, "objects")); err != nil {
				return err
			}
			return os.MkdirAll(filepath.Join(stick, "objects", "pack"), 0o777)
		}, append(move1(d.name, 0, 1), move1(founder.name, 0, 5)...), nil},
		{"wiped", func() error {
			if err := os.RemoveAll(stick); err != nil {
				return err
			}
			return os.Mkdir(stick, 0o777)
		}, append(move1(d.name, 0, 1), move1(founder.name, 0, 5)...), nil},
		{"rewound, and there is more", func() error {
			appendTo(t, a, founder.name, founder.notes(t, 2)...)
			return os.WriteFile(path(founder.name), early, 0o666)
		}, move1(founder.name, 1, 5), move1(founder.name, 5, 7)},
	} {
		t.Run(loss.name, func(t *testing.T) {
			if err := loss.lose(); err != nil {
				t.Fatal(err)
			}
			wantReport(t, exchangeWith(t, a, stick), SyncReport{Restored: loss.restored, Sent: loss.sent, Made: loss.name == "wiped"})
			wantSame(t, a, joinFrom(t, stick))
			wantReport(t, exchangeWith(t, a, stick), SyncReport{})
		})
	}
}

// A copied folder: one key at two machines. Both chains are kept everywhere and
// go on, under names of their own; nothing is counted twice.
func TestCopiedFolder(t *testing.T) {
	for _, over := range []string{"folder", "http"} {
		t.Run(over, func(t *testing.T) {
			a, founder := newBook(t)
			appendTo(t, a, founder.name, founder.notes(t, 2)...)
			copied := filepath.Join(t.TempDir(), "copied")
			copyDir(t, a.Dir(), copied)
			b, err := Open(copied)
			if err != nil {
				t.Fatal(err)
			}
			other := newDevice(t, "founder", founder.book)
			other.at, other.random = founder.at, seeded("the other machine")
			root := t.TempDir()
			stick := filepath.Join(root, "stick")
			target := bareIn(t, root, "stick")
			if over == "http" {
				target = serveHTTP(t, root, "") + "/stick"
			}
			mine, theirs := founder.notes(t, 2), other.notes(t, 3)
			appendTo(t, a, founder.name, mine...)
			appendTo(t, b, founder.name, theirs...)
			exchangeWith(t, a, target)
			besideHere := founder.name + "." + mine[0].ID().String()[:16]
			besideThere := founder.name + "." + theirs[0].ID().String()[:16]
			w := move1(founder.name, 0, 0)[0].Writer
			wantFork := func(r *SyncReport, want SyncReport) {
				t.Helper()
				want.Show = r.Show
				wantReport(t, r, want)
			}
			wantFork(exchangeWith(t, b, target), SyncReport{
				Came:  move1(besideHere, 3, 5),
				Sent:  move1(founder.name, 0, 6),
				Forks: []Fork{{Writer: w, Log: founder.name, Beside: besideHere, At: 4}},
			})
			if !exists(filepath.Join(stick, "refs", "heads", "log", besideThere)) {
				t.Errorf("the other chain is not at %s", besideThere)
			}
			wantFork(exchangeWith(t, a, target), SyncReport{
				Came:  move1(besideThere, 3, 6),
				Forks: []Fork{{Writer: w, Log: founder.name, Beside: besideThere, At: 4}},
			})
			wantSame(t, a, b)
			appendTo(t, a, founder.name, founder.note(t))
			appendTo(t, b, founder.name, other.note(t))
			wantFork(exchangeWith(t, a, target), SyncReport{Sent: move1(founder.name, 5, 6)})
			wantFork(exchangeWith(t, b, target), SyncReport{Came: move1(besideHere, 5, 6), Sent: move1(founder.name, 6, 7)})
			wantFork(exchangeWith(t, a, target), SyncReport{Came: move1(besideThere, 6, 7)})
			for _, s := range []*Store{a, b} {
				if r := exchangeWith(t, s, target); !r.Idle() {
					t.Errorf("nothing to do: %+v", r)
				}
			}
			c, r, err := Join(context.Background(), target, filepath.Join(t.TempDir(), "joined"), SyncOptions{})
			if err != nil {
				t.Fatal(err)
			}
			if len(r.Came) != 2 || len(r.Forks) != 1 {
				t.Errorf("join: %+v", r)
			}
			for _, s := range []*Store{b, c} {
				wantSame(t, a, s)
			}
			wantSound(t, c)
		})
	}
}

// Three chains of one key, two of which have more in common: each finds a name
// of its own, in whatever order they meet.
func TestThreeChains(t *testing.T) {
	founder := newDevice(t, "founder", ledger.ID{})
	found := founder.first(t)
	base := append([]*ledger.Entry{found}, founder.notes(t, 2)...)
	branch := func(after []*ledger.Entry, seed string, n int) []*ledger.Entry {
		d := newDevice(t, "founder", found.ID())
		d.random = seeded(seed)
		d.follow(after[len(after)-1])
		d.clock = after[len(after)-1].At()
		return append(slices.Clone(after), d.notes(t, n)...)
	}
	one := branch(base, "one", 2)
	stem := branch(base, "stem", 1)
	chains := [][]*ledger.Entry{one, branch(stem, "two", 2), branch(stem, "three", 1)}
	for _, order := range [][]int{{0, 1, 2}, {1, 2, 0}, {2, 0, 1}} {
		stick := filepath.Join(t.TempDir(), "stick")
		stores := make([]*Store, 3)
		for i, chain := range chains {
			s, err := Create(filepath.Join(t.TempDir(), "book"), found.ID())
			if err != nil {
				t.Fatal(err)
			}
			appendTo(t, s, founder.name, chain...)
			stores[i] = s
		}
		for range 2 {
			for _, i := range order {
				exchangeWith(t, stores[i], stick)
			}
		}
		for i, s := range stores {
			wantSame(t, stores[0], s)
			wantEntries(t, s, founder.name, chains[i])
			if r := exchangeWith(t, s, stick); !r.Idle() || len(linesOf(t, s)) != 3 {
				t.Errorf("order %v: %+v", order, r)
			}
			wantSound(t, s)
		}
		wantSame(t, stores[0], joinFrom(t, stick))
	}
}

// A stranger has put something of their own under a device's name. The device's
// log goes beside it, and everybody takes it from there.
func TestSquattedName(t *testing.T) {
	a, _ := newBook(t)
	stick := filepath.Join(t.TempDir(), "stick")
	exchangeWith(t, a, stick)
	b := joinFrom(t, stick)
	d := newDevice(t, "creek", b.BookID())
	h := newHostile(t, stick)
	h.log(d.name, "rubbish\n")
	squatted, err := os.ReadFile(h.repo.git("refs", "heads", "log", d.name))
	if err != nil {
		t.Fatal(err)
	}
	request := d.first(t)
	appendTo(t, b, d.name, request)
	refused := []Refusal{{Log: d.name, Why: `"log/0000/00.jsonl": line 1: byte 1: expected '{', found 'r'`}}
	r := exchangeWith(t, b, stick)
	wantReport(t, r, SyncReport{Sent: move1(d.name, 0, 1), Refused: refused})
	beside := d.name + "." + request.ID().String()[:16]
	if !exists(h.repo.git("refs", "heads", "log", beside)) {
		t.Errorf("nothing is at %s", beside)
	}
	more := d.note(t)
	appendTo(t, b, d.name, more)
	wantReport(t, exchangeWith(t, b, stick), SyncReport{Sent: move1(d.name, 1, 2), Refused: refused})
	wantReport(t, exchangeWith(t, a, stick), SyncReport{Came: move1(d.name, 0, 2), Refused: refused})
	wantEntries(t, a, d.name, []*ledger.Entry{request, more})
	wantReport(t, exchangeWith(t, a, stick), SyncReport{Refused: refused})
	if now, err := os.ReadFile(h.repo.git("refs", "heads", "log", d.name)); err != nil || !bytes.Equal(now, squatted) {
		t.Errorf("what the stranger wrote was changed: %q, %v", now, err)
	}
	wantSame(t, a, joinFrom(t, stick))
}

// Someone has written a log's commits otherwise, line for line the same: it is
// the same log, nothing moves, and it goes on from there.
func TestRewrittenCommits(t *testing.T) {
	for _, over := range []string{"folder", "http"} {
		t.Run(over, func(t *testing.T) {
			a, founder := newBook(t)
			appendTo(t, a, founder.name, founder.notes(t, 2)...)
			root := t.TempDir()
			stick := bareIn(t, root, "stick")
			target := stick
			if over == "http" {
				target = serveHTTP(t, root, "") + "/stick"
			}
			exchangeWith(t, a, target)
			h := newHostile(t, stick)
			rewrite := func() {
				var lines strings.Builder
				for _, line := range linesOf(t, a)[founder.name] {
					lines.Write(line)
				}
				h.log(founder.name, lines.String())
			}
			rewrite()
			if r := exchangeWith(t, a, target); !r.Idle() {
				t.Errorf("the same entries: %+v", r)
			}
			// That they are the same is remembered: they are not read again.
			r, err := a.Sync(context.Background(), target, SyncOptions{Progress: func(what string, _, _ int) {
				if what == "fetching" {
					t.Error("the same entries were fetched again")
				}
			}})
			if err != nil || !r.Idle() {
				t.Errorf("the same entries, again: %v, %+v", err, r)
			}
			appendTo(t, a, founder.name, founder.notes(t, 2)...)
			before := h.wrote[len(h.wrote)-1]
			r = exchangeWith(t, a, target)
			if diff := cmp.Diff(move1(founder.name, 3, 5), r.Sent); diff != "" {
				t.Errorf("sent:\n%s", diff)
			}
			ref, _, err := h.repo.looseReference(founder.name)
			if err != nil {
				t.Fatal(err)
			}
			packs := h.repo.openPacks()
			defer packs.close()
			c, err := h.repo.history(packs).commit(ref)
			if err != nil || c.parent != before {
				t.Errorf("the log does not go on from %s but from %s, %v", before, c.parent, err)
			}
			if r := exchangeWith(t, a, target); !r.Idle() {
				t.Errorf("nothing to do: %+v", r)
			}
			b, _, err := Join(context.Background(), target, filepath.Join(t.TempDir(), "joined"), SyncOptions{})
			if err != nil {
				t.Fatal(err)
			}
			wantSame(t, a, b)
			// What is written further under rewritten commits comes as entries.
			appendTo(t, b, founder.name, founder.notes(t, 2)...)
			if _, err := b.Sync(context.Background(), target, SyncOptions{}); err != nil {
				t.Fatal(err)
			}
			if r := exchangeWith(t, a, target); len(r.Came) != 1 || r.Came[0].Entries() != 2 {
				t.Errorf("further entries: %+v", r)
			}
			wantSame(t, a, b)
		})
	}
}

// Of a long log only what is new is sent: a file, three folders and the run.
func TestSendsOnlyWhatIsNew(t *testing.T) {
	a, founder := newBook(t)
	appendTo(t, a, founder.name, founder.notes(t, 10250)...)
	stick := filepath.Join(t.TempDir(), "stick")
	exchangeWith(t, a, stick)
	repo := &Store{dir: stick, visitor: "test"}
	before, err := repo.packNames()
	if err != nil {
		t.Fatal(err)
	}
	appendTo(t, a, founder.name, founder.note(t))
	exchangeWith(t, a, stick)
	after, err := repo.packNames()
	if err != nil || len(after) != len(before)+1 {
		t.Fatalf("packs: %v, then %v, %v", before, after, err)
	}
	for _, name := range after {
		if slices.Contains(before, name) {
			continue
		}
		if n, err := repo.packCount(name); n != 5 || err != nil {
			t.Errorf("%d objects were sent, want 5, %v", n, err)
		}
	}
}

// A log that is written to while it is being taken in stays as it is written;
// the next exchange settles it.
func TestWrittenMeanwhile(t *testing.T) {
	a, founder := newBook(t)
	stick := filepath.Join(t.TempDir(), "stick")
	exchangeWith(t, a, stick)
	b := joinFrom(t, stick)
	appendTo(t, a, founder.name, founder.notes(t, 2)...)
	exchangeWith(t, a, stick)
	other := newDevice(t, "founder", founder.book)
	other.at.Prev = b.BookID()
	other.follow(entriesOf(t, b, founder.name)[0])
	other.random = seeded("another machine")
	meanwhile := other.note(t)
	once := false
	_, err := b.Sync(context.Background(), stick, SyncOptions{Progress: func(what string, _, _ int) {
		if what == "recording" && !once {
			once = true
			appendTo(t, b, founder.name, meanwhile)
		}
	}})
	want := fmt.Sprintf("the log of %s was written to while the exchange went on; sync again", founder.name)
	if err == nil || err.Error() != want {
		t.Errorf("error %v", err)
	}
	wantEntries(t, b, founder.name, []*ledger.Entry{entriesOf(t, a, founder.name)[0], meanwhile})
	if r := exchangeWith(t, b, stick); len(r.Forks) != 1 {
		t.Errorf("again: %+v", r)
	}
	wantSound(t, b)
}

// With nothing to do no history is read, here or there.
func TestIdleReadsNoHistory(t *testing.T) {
	a, founder := newBook(t)
	appendTo(t, a, founder.name, founder.notes(t, 250)...)
	stick := filepath.Join(t.TempDir(), "stick")
	exchangeWith(t, a, stick)
	b := joinFrom(t, stick)
	exchangeWith(t, b, stick)
	for _, s := range []*Store{a, b} {
		for _, dir := range []string{s.git("objects", "pack"), filepath.Join(stick, "objects", "pack"), s.path(cacheDir)} {
			files, err := filepath.Glob(filepath.Join(dir, "*"))
			if err != nil || len(files) == 0 && dir != s.path(cacheDir) {
				t.Fatal(dir, err)
			}
			for _, f := range files {
				if filepath.Ext(f) != ".idx" {
					os.Chmod(f, 0o666)
					if err := os.Truncate(f, 0); err != nil {
						t.Fatal(err)
					}
				}
			}
		}
		wantReport(t, exchangeWith(t, s, stick), SyncReport{})
	}
}

func TestNoExchange(t *testing.T) {
	s, _ := newBook(t)
	root := t.TempDir()
	file := filepath.Join(root, "file")
	full := filepath.Join(root, "full")
	empty := filepath.Join(root, "empty")
	known := filepath.Join(root, "known")
	exchangeWith(t, s, known)
	for _, err := range []error{
		os.WriteFile(file, nil, 0o666), os.MkdirAll(filepath.Join(full, "photos"), 0o777),
		os.Mkdir(empty, 0o777), os.RemoveAll(known),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	root2 := t.TempDir()
	bareIn(t, root2, "book")
	address := serveHTTP(t, root2, "opensesame")
	for _, c := range []struct{ target, why string }{
		{"", "no folder or address was given"},
		{filepath.Join(root, "no", "stick"), "there is no such folder; is the stick plugged in?"},
		{known, "there is no such folder; is the stick plugged in?"},
		{file, "it is a file and not a folder"},
		{full, `the folder holds other things ("photos") and no logs; name the right folder, or an empty one`},
		{s.Dir(), "it is this book's own folder; name another one"},
		{filepath.Join(s.Dir(), "stick"), "it is this book's own folder; name another one"},
		{"ftp://somewhere/book", `"ftp" is not a way to reach a book; use a folder, https://, ssh:// or git://`},
		{"https:///book", "the address names no machine"},
		{"file://elsewhere/book", "file:// takes the path of a folder on this machine, as in file:///media/stick/book"},
		{"somebody@somewhere:", "the address names no folder on somewhere"},
		{address + "/book", "the other side wants to know who this is: give a token or a key"},
		{"http://127.0.0.1:1/book", "the other side cannot be reached: connect: connection refused"},
	} {
		r, err := s.Sync(context.Background(), c.target, SyncOptions{})
		var none *NoExchangeError
		if !errors.As(err, &none) || none.Why != c.why || r != nil {
			t.Errorf("%q: %v, %+v", c.target, err, r)
		}
	}
	var none *NoExchangeError
	if _, _, err := Join(context.Background(), empty, filepath.Join(root, "b"), SyncOptions{}); !errors.As(err, &none) || none.Why != "the folder is empty: there is no book in it" {
		t.Errorf("join from an empty folder: %v", err)
	}
	if exists(filepath.Join(root, "b")) {
		t.Error("something was left of the book that was not joined")
	}
	if names, _ := os.ReadDir(empty); len(names) > 0 {
		t.Errorf("joining wrote %v to the empty folder", names)
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

// wantEntries checks that the store holds exactly these entries in a log.
func wantEntries(t testing.TB, s *Store, log string, want []*ledger.Entry) {
	t.Helper()
	got := linesOf(t, s)[log]
	if len(got) != len(want) {
		t.Fatalf("log %s holds %d entries, want %d", log, len(got), len(want))
	}
	for i, e := range want {
		if !bytes.Equal(got[i], e.Line()) {
			t.Fatalf("log %s, entry %d is %s, want %s", log, i+1, got[i], e.Line())
		}
	}
}

func entriesOf(t testing.TB, s *Store, log string) []*ledger.Entry {
	t.Helper()
	book := wantSound(t, s)
	var all []*ledger.Entry
	for _, line := range linesOf(t, s)[log] {
		head, err := headOf(line)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, book.Entry(head.id))
	}
	return all
}

// Two sticks that are plugged into the same place have a memory each: what one
// never had is not put back there but sent.
func TestTwoSticksInOnePlace(t *testing.T) {
	a, founder := newBook(t)
	root := t.TempDir()
	place, away := filepath.Join(root, "place"), filepath.Join(root, "away")
	swap := func() {
		t.Helper()
		middle := filepath.Join(root, "middle")
		for _, m := range [][2]string{{place, middle}, {away, place}, {middle, away}} {
			if err := os.Rename(m[0], m[1]); err != nil {
				t.Fatal(err)
			}
		}
	}
	exchangeWith(t, a, place)
	exchangeWith(t, a, away)
	for n := uint64(1); n < 4; n++ {
		appendTo(t, a, founder.name, founder.note(t))
		for range 2 {
			wantReport(t, exchangeWith(t, a, place), SyncReport{Sent: move1(founder.name, n, n+1)})
			swap()
		}
	}
}

// Another device's book is a target, too; what was written into it counts as
// seen there once it was verified, and what does not verify is not passed on.
func TestBookAsTarget(t *testing.T) {
	a, founder := newBook(t)
	stick := filepath.Join(t.TempDir(), "stick")
	exchangeWith(t, a, stick)
	b := joinFrom(t, stick)
	d := newDevice(t, "creek", b.BookID())
	appendTo(t, b, d.name, d.first(t))
	appendTo(t, a, founder.name, founder.notes(t, 3)...)
	wantReport(t, exchangeWith(t, a, b.Dir()), SyncReport{Came: move1(d.name, 0, 1), Sent: move1(founder.name, 1, 4)})
	b = reopen(t, b)
	wantEntries(t, b, founder.name, entriesOf(t, a, founder.name))
	bad := newDevice(t, "bad", b.BookID())
	h := newHostile(t, b.git())
	h.log(bad.name, strings.Replace(text(bad.first(t), bad.note(t)), "trial", "tribl", 1))
	r, err := b.Sync(context.Background(), stick, SyncOptions{})
	if err != nil {
		t.Fatal(err)
	}
	wantReport(t, r, SyncReport{
		Sent: append(move1(d.name, 0, 1), move1(founder.name, 1, 4)...),
		Unsent: []Refusal{{Log: bad.name,
			Why: "it does not verify here: line 2: the line does not verify: the body is not the one that was signed: its digest is not the signed one"}},
	})
	seen, err := b.Seen()
	if err != nil {
		t.Fatal(err)
	}
	numbers := map[string]uint64{}
	for _, one := range seen {
		numbers[one.Log] = one.Seq
	}
	if diff := cmp.Diff(map[string]uint64{founder.name: 4, d.name: 1}, numbers); diff != "" {
		t.Errorf("seen:\n%s", diff)
	}
	if _, err := os.Stat(filepath.Join(stick, "refs", "heads", "log", bad.name)); err == nil {
		t.Error("what does not verify was passed on")
	}
}

// Several devices at one stick at once lose nothing, and end with the same.
func TestExchangesAtOnce(t *testing.T) {
	a, founder := newBook(t)
	stick := filepath.Join(t.TempDir(), "stick")
	exchangeWith(t, a, stick)
	stores, devices := []*Store{a}, []*device{founder}
	for _, name := range []string{"creek", "ridge"} {
		s := joinFrom(t, stick)
		d := newDevice(t, name, s.BookID())
		appendTo(t, s, d.name, d.first(t))
		stores, devices = append(stores, s), append(devices, d)
	}
	rounds := 8
	if full() {
		rounds = 60
	}
	var wait sync.WaitGroup
	for i, s := range stores {
		wait.Go(func() {
			for range rounds {
				err := s.Update(func(tx *Tx) error {
					e, err := devices[i].make(devices[i].noteDraft())
					if err != nil {
						return err
					}
					return tx.Append(devices[i].name, []*ledger.Entry{e})
				})
				if err != nil {
					t.Error(err)
				}
				if r, err := s.Sync(context.Background(), stick, SyncOptions{}); err != nil || len(r.Refused) > 0 {
					t.Errorf("device %d: %v, %+v", i, err, r)
				}
			}
		})
	}
	wait.Wait()
	for range 2 {
		for _, s := range stores {
			exchangeWith(t, s, stick)
		}
	}
	for _, s := range append(stores, joinFrom(t, stick)) {
		wantSame(t, a, s)
	}
	for i, d := range devices {
		want := rounds + 1
		if got := len(linesOf(t, a)[d.name]); got != want {
			t.Errorf("device %d: %d entries, want %d", i, got, want)
		}
	}
	packs, err := (&Store{dir: stick, visitor: "test"}).packNames()
	if err != nil || len(packs) > packPacks+3 {
		t.Errorf("%d packs lie at the stick, %v", len(packs), err)
	}
}
