package gitstore

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/google/go-cmp/cmp"

	"shedbook/ledger"
)

// photo signs an entry that names papers by what is in them.
func (d *device) photo(t testing.TB, contents ...string) *ledger.Entry {
	draft := d.noteDraft()
	var papers []map[string]any
	for _, c := range contents {
		papers = append(papers, map[string]any{"digest": fmt.Sprintf("%x", sha256.Sum256([]byte(c))), "name": "photo", "type": "image/jpeg", "size": len(c)})
	}
	draft.Private = map[string]any{"papers": papers}
	return d.sign(t, draft)
}

// record appends entries with papers.
func recordPapers(t testing.TB, s *Store, d *device, entries []*ledger.Entry, papers ...string) {
	t.Helper()
	var data [][]byte
	for _, p := range papers {
		data = append(data, []byte(p))
	}
	if err := s.Update(func(tx *Tx) error { return tx.Append(d.name, entries, data...) }); err != nil {
		t.Fatal(err)
	}
}

func wantPaper(t testing.TB, s *Store, content string) {
	t.Helper()
	got, err := s.Paper(sha256.Sum256([]byte(content)))
	if err != nil || string(got) != content {
		t.Errorf("paper %.20q: %.20q, %v", content, got, err)
	}
	all, err := s.Papers()
	if err != nil || !all[sha256.Sum256([]byte(content))] {
		t.Errorf("paper %.20q is not listed: %v", content, err)
	}
}

// A paper lies once in a log, in the place that FORMAT.md says, before and after
// packing; stock git finds it there and nothing wrong.
func TestPaperInItsPlace(t *testing.T) {
	s, founder := newBook(t)
	recordPapers(t, s, founder, []*ledger.Entry{founder.photo(t, "a worn disc", "an invoice")}, "a worn disc", "an invoice")
	recordPapers(t, s, founder, []*ledger.Entry{founder.photo(t, "an invoice"), founder.photo(t, "an invoice")}, "an invoice")
	wantPaper(t, s, "a worn disc")
	wantPaper(t, reopen(t, s), "an invoice")
	if err := s.Pack(); err != nil {
		t.Fatal(err)
	}
	if left, err := os.ReadDir(s.path(pendingDir, pendingPapers)); err != nil || len(left) > 0 {
		t.Errorf("%d papers are pending after packing, %v", len(left), err)
	}
	wantPaper(t, s, "a worn disc")
	wantPaper(t, s, "an invoice")
	wantSound(t, s)
	if _, err := s.Paper(ledger.ID{1}); !errors.Is(err, ErrNoPaper) {
		t.Errorf("a paper nobody has: %v", err)
	}
	if _, err := exec.LookPath("git"); err != nil {
		if full() {
			t.Fatal(err)
		}
		return
	}
	out, err := exec.Command("git", "--git-dir", s.git(), "ls-tree", "-r", "--name-only", "log/"+founder.name, "paper/").Output()
	var want []string
	for _, c := range []string{"a worn disc", "an invoice"} {
		d := fmt.Sprintf("%x", sha256.Sum256([]byte(c)))
		want = append(want, "paper/"+d[:2]+"/"+d)
	}
	if want[0] > want[1] {
		want[0], want[1] = want[1], want[0]
	}
	if diff := cmp.Diff(strings.Join(want, "\n")+"\n", string(out)); diff != "" || err != nil {
		t.Errorf("git ls-tree: %v\n%s", err, diff)
	}
}

// What cannot be a paper of the run is refused, and nothing of the run recorded.
func TestPaperRefused(t *testing.T) {
	s, founder := newBook(t)
	before := len(linesOf(t, s)[founder.name])
	big := strings.Repeat("x", ledger.MaxPaper+1)
	for _, c := range []struct{ named, given, want string }{
		{"a worn disc", "another", "no entry names the paper"},
		{big, big, "it has 4194305 bytes, more than 4194304"},
	} {
		d := *founder
		e := d.photo(t, c.named)
		err := s.Update(func(tx *Tx) error { return tx.Append(d.name, []*ledger.Entry{e}, []byte(c.given)) })
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("got %v, want %q", err, c.want)
		}
	}
	if n := len(linesOf(t, s)[founder.name]); n != before {
		t.Errorf("%d entries, want %d", n, before)
	}
	if _, err := os.Stat(s.path(pendingDir, pendingPapers)); err == nil {
		t.Error("something was written")
	}
}

// Papers go and come with their entries, over a folder and back, as the same
// commits; later ones too.
func TestPapersAreExchanged(t *testing.T) {
	a, founder := newBook(t)
	recordPapers(t, a, founder, []*ledger.Entry{founder.photo(t, "a worn disc")}, "a worn disc")
	appendTo(t, a, founder.name, founder.notes(t, 150)...)
	stick := filepath.Join(t.TempDir(), "stick")
	exchangeWith(t, a, stick)
	b := joinFrom(t, stick)
	wantPaper(t, b, "a worn disc")
	d := newDevice(t, "creek", b.BookID())
	appendTo(t, b, d.name, d.first(t))
	recordPapers(t, b, d, []*ledger.Entry{d.photo(t, "an invoice")}, "an invoice")
	exchangeWith(t, b, stick)
	recordPapers(t, a, founder, []*ledger.Entry{founder.photo(t, "a plate"), founder.photo(t, "a worn disc")}, "a plate", "a worn disc")
	wantReport(t, exchangeWith(t, a, stick), SyncReport{Came: move1(d.name, 0, 2), Sent: move1(founder.name, 152, 154)})
	wantReport(t, exchangeWith(t, b, stick), SyncReport{Came: move1(founder.name, 152, 154)})
	for _, s := range []*Store{a, b} {
		for _, p := range []string{"a worn disc", "an invoice", "a plate"} {
			wantPaper(t, s, p)
		}
		wantSound(t, s)
	}
	if diff := cmp.Diff(refsOf(t, a), refsOf(t, b)); diff != "" {
		t.Errorf("the same entries and papers came out under other commits:\n%s", diff)
	}
}

// What a target has in the place of a paper is refused, paper by paper, and its
// entries are taken in.
func TestHostilePapers(t *testing.T) {
	big := strings.Repeat("x", ledger.MaxPaper+1)
	file := func(h *hostile, content, data string) treeEntry {
		return treeEntry{fmt.Sprintf("%x", sha256.Sum256([]byte(content))), modeFile, h.blob(data)}
	}
	for _, c := range []struct {
		name, named string
		file        func(h *hostile) treeEntry
		want        string
	}{
		{"wrong digest", "a worn disc", func(h *hostile) treeEntry { return file(h, "a worn disc", "another disc") }, "it is not what its name says: it was changed, or is another"},
		{"oversize", big, func(h *hostile) treeEntry { return file(h, big, big) }, "it has 4194305 bytes, more than 4194304"},
		{"unnamed", "a worn disc", func(h *hostile) treeEntry { return file(h, "a stray", "a stray") }, "no entry names it"},
		{"missing", "a worn disc", nil, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			a, founder := newBook(t)
			stick := filepath.Join(t.TempDir(), "stick")
			exchangeWith(t, a, stick)
			h := newHostile(t, stick)
			e := founder.photo(t, c.named)
			content := append(bytes.Join(linesOf(t, a)[founder.name], nil), e.Line()...)
			var more []treeEntry
			if c.file != nil {
				f := c.file(h)
				more = append(more, treeEntry{paperDir, modeFolder, h.tree(treeEntry{f.name[:2], modeFolder, h.tree(f)})})
			}
			old, _, err := a.reference(founder.name)
			if err != nil {
				t.Fatal(err)
			}
			h.branch(founder.name, h.commit(h.root(h.tree(treeEntry{"00.jsonl", modeFile, h.blob(string(content))}), more...), old))
			r := exchangeWith(t, a, stick)
			if n := len(linesOf(t, a)[founder.name]); n != 2 {
				t.Errorf("%d entries, want 2", n)
			}
			var said []string
			for _, p := range r.Papers {
				said = append(said, p.Why)
			}
			if got := strings.Join(said, "; "); got != c.want {
				t.Errorf("said %q, want %q", got, c.want)
			}
			if all, err := a.Papers(); err != nil || len(all) > 0 {
				t.Errorf("%d papers were taken in, %v", len(all), err)
			}
			wantSound(t, a)
		})
	}
}

// A log that is written anew by a mending has its papers again, as the same
// commit.
func TestMendKeepsPapers(t *testing.T) {
	s, founder := newBook(t)
	recordPapers(t, s, founder, []*ledger.Entry{founder.photo(t, "a worn disc")}, "a worn disc")
	appendTo(t, s, founder.name, founder.notes(t, 3)...)
	before := refsOf(t, s)
	packed := s.git("objects", "pack", packPrefix+strings.Repeat("ab", 20))
	for _, ext := range []string{".pack", ".idx"} {
		if err := os.WriteFile(packed+ext, []byte("no pack at all"), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	for _, o := range s.looseOf(t) { // nothing is left but pending/
		if err := os.Remove(s.loosePath(o)); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := s.Mend(); err != nil {
		t.Fatal(err)
	}
	s = reopen(t, s)
	if diff := cmp.Diff(before, refsOf(t, s)); diff != "" {
		t.Errorf("the log is another one:\n%s", diff)
	}
	wantPaper(t, s, "a worn disc")
}

// looseOf lists the loose objects of a log.
func (s *Store) looseOf(t testing.TB) []plumbing.Hash {
	t.Helper()
	files, err := filepath.Glob(s.git("objects", "??", "*"))
	if err != nil {
		t.Fatal(err)
	}
	var all []plumbing.Hash
	for _, f := range files {
		if hash, ok := parseHash(filepath.Base(filepath.Dir(f)) + filepath.Base(f)); ok {
			all = append(all, hash)
		}
	}
	if len(all) == 0 {
		t.Fatal("no loose objects")
	}
	return all
}
