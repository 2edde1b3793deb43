package gitstore

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/go-git/go-git/v5/plumbing"

	"shedbook/ledger"
)

func setReference(t *testing.T, s *Store, name, content string) {
	t.Helper()
	if err := os.WriteFile(s.git("refs", "heads", "log", name), []byte(content), 0o666); err != nil {
		t.Fatal(err)
	}
}

// grown makes a book whose log has 6 entries in 6 runs, and its commits.
func grown(t *testing.T, pack bool) (*Store, *device, []plumbing.Hash) {
	t.Helper()
	s, founder := newBook(t)
	var commits []plumbing.Hash
	for i := range 6 {
		if i > 0 {
			appendTo(t, s, founder.name, founder.note(t))
		}
		tip, _, err := s.reference(founder.name)
		if err != nil {
			t.Fatal(err)
		}
		commits = append(commits, tip)
	}
	if pack {
		if err := s.Pack(); err != nil {
			t.Fatal(err)
		}
	}
	return s, founder, commits
}

// A log that was set back, emptied, cut or deleted by hand is restored.
func TestRewindIsRepaired(t *testing.T) {
	for _, pack := range []bool{false, true} {
		for name, damage := range map[string]func(s *Store, log string, commits []plumbing.Hash){
			"set back one": func(s *Store, log string, c []plumbing.Hash) { setReference(t, s, log, c[4].String()+"\n") },
			"set back far": func(s *Store, log string, c []plumbing.Hash) { setReference(t, s, log, c[0].String()+"\n") },
			"emptied":      func(s *Store, log string, c []plumbing.Hash) { setReference(t, s, log, "") },
			"cut":          func(s *Store, log string, c []plumbing.Hash) { setReference(t, s, log, c[5].String()[:10]) },
			"deleted": func(s *Store, log string, c []plumbing.Hash) {
				if err := os.Remove(s.git("refs", "heads", "log", log)); err != nil {
					t.Fatal(err)
				}
			},
			"all deleted": func(s *Store, log string, c []plumbing.Hash) {
				if err := os.RemoveAll(s.git("refs", "heads", "log")); err != nil {
					t.Fatal(err)
				}
			},
			"set to nothing": func(s *Store, log string, c []plumbing.Hash) {
				setReference(t, s, log, strings.Repeat("ab", 20)+"\n")
			},
		} {
			t.Run(name, func(t *testing.T) {
				s, founder, commits := grown(t, pack)
				damage(s, founder.name, commits)
				again := reopen(t, s)
				if got := again.Recovered(); len(got) != 1 || !strings.HasPrefix(got[0], "the l") || !strings.Contains(got[0], founder.name) {
					t.Errorf("recovered %q", got)
				}
				if now, _, err := again.reference(founder.name); err != nil || now != commits[5] {
					t.Errorf("the log ends at %s, want %s (%v)", now, commits[5], err)
				}
				if n := len(linesOf(t, again)[founder.name]); n != 6 {
					t.Errorf("%d entries, want 6", n)
				}
				// A store that was open all the while repairs before it writes.
				damage(s, founder.name, commits)
				appendTo(t, s, founder.name, founder.note(t))
				if n := len(linesOf(t, reopen(t, s))[founder.name]); n != 7 {
					t.Errorf("%d entries, want 7", n)
				}
				wantSound(t, s)
			})
		}
	}
}

// A log replaced by another line of writing is restored, and what replaced it
// stays held.
func TestReplacedLogIsRepaired(t *testing.T) {
	s, founder, commits := grown(t, true)
	f := forge{t, s}
	lines := linesOf(t, s)[founder.name]
	other := f.commit(f.logOf(treeEntry{"00.jsonl", modeFile, f.blob(string(lines[0]))}), commits[0])
	setReference(t, s, founder.name, other.String()+"\n")
	again := reopen(t, s)
	if n := len(linesOf(t, again)[founder.name]); n != 6 {
		t.Errorf("%d entries, want 6", n)
	}
	kept, err := os.ReadFile(s.git("refs", "shedbook", "found", other.String()[:16]))
	if err != nil || string(kept) != other.String()+"\n" {
		t.Errorf("what replaced the log was not kept: %q, %v", kept, err)
	}
}

// The same entries under other commits are the same log.
func TestSameEntriesOtherCommits(t *testing.T) {
	s, founder, _ := grown(t, true)
	f := forge{t, s}
	var all strings.Builder
	for _, line := range linesOf(t, s)[founder.name] {
		all.Write(line)
	}
	other := f.commit(f.logOf(treeEntry{"00.jsonl", modeFile, f.blob(all.String())}))
	setReference(t, s, founder.name, other.String()+"\n")
	again := reopen(t, s)
	if got := again.Recovered(); len(got) != 0 {
		t.Errorf("recovered %q", got)
	}
	appendTo(t, again, founder.name, founder.note(t))
	if n := len(linesOf(t, reopen(t, s))[founder.name]); n != 7 {
		t.Errorf("%d entries, want 7", n)
	}
}

// Entries this device has seen that are nowhere to be found: a clear error.
func TestRewoundForGood(t *testing.T) {
	s, founder, commits := grown(t, true)
	old := filepath.Join(t.TempDir(), "old")
	copyDir(t, s.Dir(), old)
	before, err := Open(old)
	if err != nil {
		t.Fatal(err)
	}
	appendTo(t, s, founder.name, founder.notes(t, 3)...)
	if err := s.Pack(); err != nil {
		t.Fatal(err)
	}
	// An older copy of git/ was put back; seen/ knows better.
	if err := os.RemoveAll(s.git()); err != nil {
		t.Fatal(err)
	}
	copyDir(t, before.git(), s.git())
	_, err = Open(s.Dir())
	var rewound *RewoundError
	if !errors.As(err, &rewound) || *rewound != (RewoundError{Log: founder.name, Held: 6, Seen: 9}) {
		t.Fatalf("got %v", err)
	}
	want := "the log of " + founder.name + " is shorter than this device has seen: 6 entries, was 9; nothing is written until they are back; bring back a newer copy of this folder"
	if err.Error() != want {
		t.Errorf("got  %s\nwant %s", err, want)
	}
	if err := s.Update(func(*Tx) error { t.Error("a rewound book was written to"); return nil }); !errors.As(err, &rewound) {
		t.Errorf("got %v", err)
	}
	if now, _, _ := s.reference(founder.name); now != commits[5] {
		t.Errorf("the log was moved to %s", now)
	}
}

// The same for acknowledged entries that rest on entries that are gone.
func TestPendingOnNothing(t *testing.T) {
	s, founder, _ := grown(t, true)
	old := filepath.Join(t.TempDir(), "git")
	copyDir(t, s.git(), old)
	appendTo(t, s, founder.name, founder.notes(t, 2)...)
	if err := s.Pack(); err != nil {
		t.Fatal(err)
	}
	appendTo(t, s, founder.name, founder.note(t))
	pending, err := os.ReadFile(s.path(pendingDir, pendingFile))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.RemoveAll(s.git()); err != nil {
		t.Fatal(err)
	}
	copyDir(t, old, s.git())
	_, err = Open(s.Dir())
	var rewound *RewoundError
	if !errors.As(err, &rewound) || *rewound != (RewoundError{Log: founder.name, Held: 6, Seen: 9}) {
		t.Fatalf("got %v", err)
	}
	if now, err := os.ReadFile(s.path(pendingDir, pendingFile)); err != nil || string(now) != string(pending) {
		t.Error("the acknowledged entry was dropped")
	}
}

func TestReferenceLock(t *testing.T) {
	s, founder := newBook(t)
	s.patience = 300 * time.Millisecond
	lock := s.git("refs", "heads", "log", founder.name+".lock")
	hold := func(content string) {
		t.Helper()
		if err := os.WriteFile(lock, []byte(content), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	e := founder.note(t)
	write := func() error {
		return s.Update(func(tx *Tx) error { return tx.Append(founder.name, []*ledger.Entry{e}) })
	}

	hold("")
	start := time.Now()
	err := write()
	var busy *BusyError
	if !errors.As(err, &busy) || busy.Path != lock {
		t.Fatalf("got %v", err)
	}
	want := "nothing was recorded: the log of " + founder.name + " is held by another program; try again; if no other program is at work in this folder, delete the file " + `"` + lock + `"`
	if err.Error() != want {
		t.Errorf("got  %s\nwant %s", err, want)
	}
	if took := time.Since(start); took < s.patience {
		t.Errorf("gave up after %v", took)
	}
	if n := len(linesOf(t, s)[founder.name]); n != 1 {
		t.Errorf("%d entries after a refusal, want 1", n)
	}

	// Released while waiting: the write goes on.
	time.AfterFunc(100*time.Millisecond, func() { os.Remove(lock) })
	if err := write(); err != nil {
		t.Fatal(err)
	}
	if n := len(linesOf(t, s)[founder.name]); n != 2 {
		t.Errorf("%d entries, want 2", n)
	}
	if exists(lock) {
		t.Error("the lock was left")
	}

	// Taken between acknowledgement and the reference: what is recorded stays,
	// and is put in place later.
	e = founder.note(t)
	s.disk.fault = func(op, path string) error {
		if op == "create" && path == lock {
			hold("somebody else's\n")
		}
		return nil
	}
	if err := write(); err != nil {
		t.Fatal(err)
	}
	s.disk.fault = nil
	if got := s.Recovered(); len(got) != 1 || !strings.HasPrefix(got[0], "what was recorded is safe") {
		t.Errorf("notes %q", got)
	}
	if n := len(linesOf(t, s)[founder.name]); n != 3 {
		t.Errorf("%d entries, want 3", n)
	}
	if _, err := s.recover(); !errors.As(err, &busy) { // as Open does
		t.Errorf("opening while another program holds the log: %v", err)
	}
	if err := os.Remove(lock); err != nil {
		t.Fatal(err)
	}
	if n := len(linesOf(t, reopen(t, s))[founder.name]); n != 3 {
		t.Errorf("%d entries, want 3", n)
	}
}

// References that git packed, wholly or in part, read and move as before.
func TestPackedReferences(t *testing.T) {
	s, founder, commits := grown(t, false)
	second := newWriter(t, s, "second")
	secondTip, _, _ := s.reference(second.name)
	text := "# pack-refs with: peeled fully-peeled sorted \n" +
		strings.Repeat("12", 20) + " refs/heads/other\n" +
		commits[5].String() + " refs/heads/log/" + founder.name + "\n" +
		secondTip.String() + " refs/heads/log/" + second.name + "\n" +
		strings.Repeat("34", 20) + " refs/tags/v1\n^" + strings.Repeat("56", 20) + "\n"
	if err := os.WriteFile(s.git("packed-refs"), []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	if err := os.RemoveAll(s.git("refs", "heads")); err != nil { // git prunes emptied folders
		t.Fatal(err)
	}
	s = reopen(t, s)
	if got := s.Recovered(); len(got) != 0 {
		t.Errorf("recovered %q", got)
	}
	if logs := linesOf(t, s); len(logs[founder.name]) != 6 || len(logs[second.name]) != 1 {
		t.Error("packed references were not read")
	}
	appendTo(t, s, founder.name, founder.note(t))
	if logs := linesOf(t, reopen(t, s)); len(logs[founder.name]) != 7 || len(logs[second.name]) != 1 {
		t.Error("a loose reference beside packed ones was not read")
	}
	if err := os.WriteFile(s.git("packed-refs"), []byte(commits[5].String()[:9]+" refs/heads/log/"+founder.name+"\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	var damaged *DamagedError
	if _, err := Open(s.Dir()); !errors.As(err, &damaged) || damaged.Path != s.git("packed-refs") {
		t.Errorf("a cut line in packed-refs: %v", err)
	}
}

func TestForeignReference(t *testing.T) {
	s, founder := newBook(t)
	setReference(t, s, "Drill", strings.Repeat("ab", 20)+"\n")
	_, err := s.Logs()
	var damaged *DamagedError
	if !errors.As(err, &damaged) || damaged.Why != `"Drill" is not the name of a log` {
		t.Errorf("got %v", err)
	}
	if err := os.Remove(s.git("refs", "heads", "log", "Drill")); err != nil {
		t.Fatal(err)
	}
	setReference(t, s, founder.name, "ref: refs/heads/main\n")
	if _, err := s.Logs(); !errors.As(err, &damaged) || damaged.Log != founder.name {
		t.Errorf("got %v", err)
	}
}

// A seen/ that lags, as after a crash, catches up; a damaged one is named.
func TestSeen(t *testing.T) {
	s, founder := newBook(t)
	early, err := os.ReadFile(s.path(seenDir, founder.name+".toml"))
	if err != nil {
		t.Fatal(err)
	}
	last := founder.notes(t, 2)
	appendTo(t, s, founder.name, last...)
	path := s.path(seenDir, founder.name+".toml")
	check := func() {
		t.Helper()
		all, err := s.Seen()
		if err != nil || len(all) != 1 || all[0].Log != founder.name || all[0].Seq != 3 || all[0].ID != last[1].ID() {
			t.Fatalf("seen %+v, %v", all, err)
		}
	}
	check()
	if err := os.WriteFile(path, early, 0o666); err != nil {
		t.Fatal(err)
	}
	s = reopen(t, s)
	check()
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	s = reopen(t, s)
	check() // still pending, so known to be ours
	if err := os.WriteFile(path, early[:40], 0o666); err != nil {
		t.Fatal(err)
	}
	var damaged *DamagedError
	if _, err := Open(s.Dir()); !errors.As(err, &damaged) || damaged.Path != path {
		t.Errorf("got %v", err)
	}
}
