package gitstore

import (
	"bufio"
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"shedbook/ledger"
	"shedbook/testdata/ramdisk"
)

// The test program is its own child: with GITSTORE_CHILD set it appends entries
// to a book and prints the number of each as soon as it is acknowledged.
const childEnv = "GITSTORE_CHILD"

func TestMain(m *testing.M) {
	if seed := os.Getenv(childEnv); seed != "" {
		if err := child(seed, os.Args[1], os.Args[2], os.Args[3]); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	ramdisk.Use()
	os.Exit(m.Run())
}

// child appends count entries, one a run, to the log of the device of seed,
// and packs every packEvery runs.
func child(seed, dir, count, packEvery string) error {
	n, err := strconv.Atoi(count)
	if err != nil {
		return err
	}
	s, err := Open(dir)
	if err != nil {
		return err
	}
	if s.packRuns, err = strconv.Atoi(packEvery); err != nil {
		return err
	}
	d, err := makeDevice(seed, s.BookID())
	if err != nil {
		return err
	}
	d.random = seeded(seed + strconv.Itoa(os.Getpid()) + time.Now().String())
	for range n {
		err := s.Update(func(tx *Tx) error {
			end, err := tx.tip(d.name)
			if err != nil {
				return err
			}
			lines, err := splitLines(end.file)
			if err != nil {
				return err
			}
			if d.at, err = positionAfter(s.BookID(), lines[len(lines)-1]); err != nil {
				return err
			}
			d.clock = d.at.PrevAt
			e, err := d.make(d.noteDraft())
			if err != nil {
				return err
			}
			if err := tx.Append(d.name, []*ledger.Entry{e}); err != nil {
				return err
			}
			_, err = fmt.Printf("%d %s\n", e.Seq(), e.ID())
			return err
		})
		if err != nil {
			return err
		}
	}
	for _, note := range s.Recovered() {
		fmt.Fprintln(os.Stderr, note)
	}
	return nil
}

// writer is a running child.
type writer struct {
	cmd    *exec.Cmd
	log    string
	stderr strings.Builder
	done   chan struct{} // closed when its output has ended

	mu    sync.Mutex
	acked map[uint64]string // ids by number
	last  atomic.Uint64
}

func startWriter(t *testing.T, s *Store, seed string, count, packEvery int) *writer {
	t.Helper()
	d := newDevice(t, seed, s.BookID())
	w := &writer{log: d.name, acked: map[uint64]string{}, done: make(chan struct{})}
	w.cmd = exec.Command(os.Args[0], s.Dir(), strconv.Itoa(count), strconv.Itoa(packEvery))
	w.cmd.Env = append(os.Environ(), childEnv+"="+seed)
	w.cmd.Stderr = &w.stderr
	out, err := w.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := w.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	go func() {
		defer close(w.done)
		for lines := bufio.NewScanner(out); lines.Scan(); {
			seqText, id, _ := strings.Cut(lines.Text(), " ")
			seq, err := strconv.ParseUint(seqText, 10, 64)
			if err != nil {
				return // cut by the kill: not wholly printed
			}
			w.mu.Lock()
			w.acked[seq] = id
			w.mu.Unlock()
			w.last.Store(seq)
		}
	}()
	return w
}

// kill ends the child in whatever it is doing.
func (w *writer) kill() {
	w.cmd.Process.Kill()
	<-w.done
	w.cmd.Wait()
}

// wait waits for a child that ends by itself.
func (w *writer) wait(t *testing.T) {
	t.Helper()
	<-w.done
	if err := w.cmd.Wait(); err != nil {
		t.Errorf("a writer failed: %v: %s", err, w.stderr.String())
	} else if w.stderr.Len() > 0 {
		t.Errorf("a writer noted: %s", w.stderr.String())
	}
}

// wantAcked checks that every entry a child acknowledged stands at its place.
func (w *writer) wantAcked(t *testing.T, lines [][]byte) {
	t.Helper()
	for seq, id := range w.acked {
		if seq > uint64(len(lines)) {
			t.Fatalf("entry %d was acknowledged, %d are held", seq, len(lines))
		}
		if len(id) != 64 {
			continue
		}
		if head, err := headOf(lines[seq-1]); err != nil || head.id.String() != id {
			t.Fatalf("entry %d is %s, acknowledged was %s (%v)", seq, head.id, id, err)
		}
	}
}

// A process that appends and packs is killed at random moments, again and
// again: no acknowledged entry is ever lost and no log ever gets shorter.
func TestKill(t *testing.T) {
	rounds := 25
	if full() {
		rounds = 500
	}
	s, founder := newBook(t)
	random := rand.New(seeded("kill"))
	held := linesOf(t, s)[founder.name]
	acked, repaired := 0, 0
	for round := range rounds {
		w := startWriter(t, s, "founder", 1000, 7)
		for enough, start := random.IntN(8), time.Now(); int(w.last.Load()) < len(held)+enough && time.Since(start) < 10*time.Second; {
			time.Sleep(time.Millisecond)
		}
		time.Sleep(time.Duration(random.IntN(12_000)) * time.Microsecond)
		w.kill()
		if w.stderr.Len() > 0 {
			t.Fatalf("round %d: %s", round, w.stderr.String())
		}
		again := reopen(t, s)
		if len(again.Recovered()) > 0 {
			repaired++
		}
		lines := linesOf(t, again)[founder.name]
		if len(lines) < len(held) || !sameLines(lines[:len(held)], held) {
			t.Fatalf("round %d: %d entries were held, now %d or others", round, len(held), len(lines))
		}
		w.wantAcked(t, lines)
		if extra := len(lines) - len(held) - len(w.acked); extra < 0 || extra > 1 {
			t.Fatalf("round %d: %d entries were acknowledged, %d were added", round, len(w.acked), len(lines)-len(held))
		}
		acked += len(w.acked)
		held = lines
	}
	wantSound(t, s)
	if acked < rounds {
		t.Errorf("only %d entries were acknowledged in %d rounds", acked, rounds)
	}
	t.Logf("%d rounds, %d entries acknowledged, %d rounds left something to repair", rounds, acked, repaired)
}

// Processes that append to the same book, two of them to the same log, while
// others read. With SHEDBOOK_TEST=full, git packs references and collects
// garbage all the while.
func TestManyProcesses(t *testing.T) {
	each := 50
	if full() {
		each = 500
	}
	s, founder := newBook(t)
	second := newWriter(t, s, "second")
	packEvery := packRuns
	stop := make(chan struct{})
	var beside sync.WaitGroup
	var gitRuns, gitFailures atomic.Int64
	if full() {
		packEvery = 40
		for _, args := range [][]string{{"pack-refs", "--all"}, {"gc", "--quiet"}} {
			beside.Add(1)
			go func() {
				defer beside.Done()
				for {
					select {
					case <-stop:
						return
					default:
					}
					// A collection may find a pack gone that it had listed; it
					// then fails, and does no harm.
					gitRuns.Add(1)
					if out, err := gitCommand(s, args...).CombinedOutput(); err != nil {
						gitFailures.Add(1)
						if errors.Is(err, exec.ErrNotFound) {
							t.Error("git is not installed")
							return
						}
						t.Logf("git %s: %v: %s", args[0], err, out)
					}
				}
			}()
		}
	}
	writers := []*writer{
		startWriter(t, s, "founder", each, packEvery),
		startWriter(t, s, "second", each, packEvery),
		startWriter(t, s, "founder", each, packEvery),
	}
	beside.Add(1)
	reads := 0
	go func() { // no log is ever read shorter than before, or than acknowledged
		defer beside.Done()
		longest := map[string]uint64{}
		for {
			select {
			case <-stop:
				return
			default:
			}
			for _, w := range writers {
				longest[w.log] = max(longest[w.log], w.last.Load())
			}
			reader, err := Open(s.Dir())
			if err != nil {
				t.Errorf("open: %v", err)
				return
			}
			logs, err := reader.Logs()
			if err != nil {
				t.Errorf("read: %v", err)
				return
			}
			for _, l := range logs {
				if n := uint64(len(l.Lines)); n < longest[l.Name] {
					t.Errorf("the log of %s has %d entries after %d", l.Name, n, longest[l.Name])
					return
				} else {
					longest[l.Name] = n
				}
			}
			reads++
			time.Sleep(5 * time.Millisecond)
		}
	}()
	for _, w := range writers {
		w.wait(t)
	}
	close(stop)
	beside.Wait()
	logs := linesOf(t, reopen(t, s))
	for _, w := range writers {
		w.wantAcked(t, logs[w.log])
		if len(w.acked) != each {
			t.Errorf("%d entries acknowledged, want %d", len(w.acked), each)
		}
	}
	if n := len(logs[founder.name]); n != 1+2*each {
		t.Errorf("the founder's log has %d entries, want %d", n, 1+2*each)
	}
	if n := len(logs[second.name]); n != 1+each {
		t.Errorf("the second log has %d entries, want %d", n, 1+each)
	}
	wantSound(t, s)
	if reads == 0 {
		t.Error("nothing was read meanwhile")
	}
	t.Logf("%d entries, %d reads, %d runs of git beside them, %d failed", 3*each, reads, gitRuns.Load(), gitFailures.Load())
	if full() {
		wantGoodForGit(t, s, founder.name)
		if err := s.Pack(); err != nil {
			t.Fatal(err)
		}
		wantGoodForGit(t, s, founder.name)
	}
}

func gitCommand(s *Store, args ...string) *exec.Cmd {
	cmd := exec.Command("git", args...)
	cmd.Dir = s.git()
	cmd.Env = append(os.Environ(), "GIT_CONFIG_NOSYSTEM=1", "GIT_CONFIG_GLOBAL="+os.DevNull)
	return cmd
}

// wantGoodForGit checks the repository with git itself: every object and link,
// and a plain clone, which must show the founder's files as they were written.
func wantGoodForGit(t *testing.T, s *Store, founder string) {
	t.Helper()
	out, err := gitCommand(s, "fsck", "--strict", "--full", "--no-dangling").CombinedOutput()
	if err != nil || len(strings.TrimSpace(string(out))) > 0 {
		t.Errorf("git fsck: %v\n%s", err, out)
	}
	clone := filepath.Join(t.TempDir(), "clone")
	if out, err := gitCommand(s, "clone", "--quiet", s.git(), clone).CombinedOutput(); err != nil {
		t.Fatalf("git clone: %v\n%s", err, out)
	}
	head, err := os.ReadFile(filepath.Join(clone, ".git", "HEAD"))
	if want := "ref: refs/heads/log/" + founder + "\n"; err != nil || string(head) != want {
		t.Errorf("the clone shows %q, want %q (%v)", head, want, err)
	}
	var files []string
	var all strings.Builder
	err = filepath.WalkDir(clone, func(path string, e fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if e.IsDir() {
			if e.Name() == ".git" {
				return fs.SkipDir
			}
			return nil
		}
		name, err := filepath.Rel(clone, path)
		if err != nil {
			return err
		}
		files = append(files, filepath.ToSlash(name))
		data, err := os.ReadFile(path)
		if strings.HasSuffix(name, ".jsonl") {
			all.Write(data)
		} else if string(data) != readmeV1 {
			t.Errorf("%s is not the text of format version 1", name)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	lines := linesOf(t, s)[founder]
	if want := 1 + (len(lines)+linesPerFile-1)/linesPerFile; len(files) != want || files[0] != readmeName || files[1] != "log/0000/00.jsonl" {
		t.Errorf("the clone holds %v, want %d files", files, want)
	}
	var want strings.Builder
	for _, line := range lines {
		want.Write(line)
	}
	if all.String() != want.String() {
		t.Error("the clone's entries differ from the log's")
	}
}
