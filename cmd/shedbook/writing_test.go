package main

import (
	"bytes"
	"crypto/ed25519"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"golang.org/x/crypto/ssh/agent"

	"shedbook/ledger"
	"shedbook/ledger/gitstore"
	"shedbook/rules"
	"shedbook/rules/record"
)

// fullTests are the large ones, which .ci/run asks for.
var fullTests = os.Getenv("SHEDBOOK_TEST") == "full"

// TestSSHAgentSigns starts a book with a key that only an ssh-agent holds, records with it, and is told plainly when the agent is gone or holds other keys.
func TestSSHAgentSigns(t *testing.T) {
	if runtime.GOOS == "windows" {
		return // agents listen elsewhere there
	}
	dir := t.TempDir()
	seed := bytes.Repeat([]byte{7}, 32)
	key, err := ledger.KeyFromSeed(seed)
	if err != nil {
		t.Fatal(err)
	}
	pub := filepath.Join(dir, "id.pub")
	if err := os.WriteFile(pub, ledger.FormatPublicKey(key.Public(), "made up"), 0o644); err != nil {
		t.Fatal(err)
	}
	ring := agent.NewKeyring()
	sock := filepath.Join(dir, "agent")
	l, err := net.Listen("unix", sock)
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	go func() {
		for {
			conn, err := l.Accept()
			if err != nil {
				return
			}
			go func() { _ = agent.ServeAgent(ring, conn) }()
		}
	}()
	b := newTestBook(t)
	delete(b.vars, "SHEDBOOK_BOOK")
	b.dir = filepath.Join(dir, "book")
	start := []string{"new", b.dir, "--me", "Wren Alder", "--key", pub}
	refused := func(want string) {
		t.Helper()
		_, said, code := b.run(start...)
		if code != exitFailed || !strings.Contains(said, want) {
			t.Fatalf("exit %d, said %q, want %q", code, said, want)
		}
		if _, err := os.Stat(b.dir); !errors.Is(err, os.ErrNotExist) {
			t.Fatalf("a folder was left behind (%v)", err)
		}
	}
	refused("no ssh-agent is running (SSH_AUTH_SOCK is not set)")
	b.vars["SSH_AUTH_SOCK"] = sock
	refused("the ssh-agent does not hold the key of " + pub)
	private, err := ssh25519(seed)
	if err != nil {
		t.Fatal(err)
	}
	if err := ring.Add(agent.AddedKey{PrivateKey: private}); err != nil {
		t.Fatal(err)
	}
	b.must(start...)
	b.vars["SHEDBOOK_BOOK"] = b.dir
	b.must("farm", "add", "Creekside") // the book remembers the key it was started with
	if got := b.must("show"); !strings.Contains(got, "Creekside") {
		t.Errorf("not recorded: %s", got)
	}
	if got := b.must("people", "list", "--fingerprints"); !strings.Contains(got, ledger.SSHFingerprint(key.Public())) {
		t.Errorf("another key signed: %s", got)
	}
	b.vars["SSH_AUTH_SOCK"] = filepath.Join(dir, "gone")
	if _, said, code := b.run("farm", "add", "Hill"); code != exitFailed || !strings.Contains(said, "the ssh-agent does not answer") {
		t.Errorf("exit %d, said %q", code, said)
	}
}

// TestUnsoundBookAnswersWithExit3: one changed line must not keep a farm from reading, but the answer carries the warning and the code.
func TestUnsoundBookAnswersWithExit3(t *testing.T) {
	tb := newTestBook(t)
	tb.must("farm", "add", "Creekside")
	open, err := tb.call().open()
	if err != nil {
		t.Fatal(err)
	}
	logs, err := open.store.Logs()
	if err != nil {
		t.Fatal(err)
	}
	last := logs[0].Lines[len(logs[0].Lines)-1]
	changed := bytes.Replace(bytes.Clone(last), []byte("Creekside"), []byte("Brookside"), 1)
	if bytes.Equal(changed, last) {
		t.Fatal("nothing was changed")
	}
	logs[0].Lines[len(logs[0].Lines)-1] = changed
	var said bytes.Buffer
	c := &call{env: tb.env(io.Discard, &said), common: &common{}, cmd: &command{}}
	b := &book{c: c, store: open.store, states: map[rules.Options]*rules.State{}}
	if err := b.load(logs); err != nil {
		t.Fatal(err)
	}
	st, err := b.now()
	if err != nil {
		t.Fatal(err)
	}
	if st.Farm("Alder Farm") == nil || st.Farm("Brookside") != nil || st.Farm("Creekside") != nil {
		t.Errorf("farms: %v", st.Farms)
	}
	var code exitCode
	if err := b.soundness(); !errors.As(err, &code) || code != exitUnsound {
		t.Errorf("got %v, want exit 3", err)
	}
	if want := fmt.Sprintf("line %d", len(logs[0].Lines)); !strings.Contains(said.String(), "the book does not verify") || !strings.Contains(said.String(), want) {
		t.Errorf("said %q, want the place, %s", said.String(), want)
	}
}

// TestFullDisk fills a small disk to the last byte while recording: every acknowledged entry stays readable, the refusal is plain, and with room again work
// goes on. It mounts a memory disk, so it runs as root on Linux, in CI.
func TestFullDisk(t *testing.T) {
	if !fullTests {
		return
	}
	disk := t.TempDir()
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size=1200k", "tmpfs", disk).CombinedOutput(); err != nil {
		t.Fatalf("mount a small disk: %v: %s", err, out)
	}
	defer exec.Command("umount", disk).Run()
	b := newTestBook(t)
	delete(b.vars, "SHEDBOOK_BOOK")
	b.dir = filepath.Join(disk, "book")
	b.must("new", b.dir, "--me", "Wren Alder")
	b.vars["SHEDBOOK_BOOK"] = b.dir
	b.must("machine", "add", "drill", "disc-drill")
	kept, refused := 0, ""
	for kept < 1000 && refused == "" {
		_, said, code := b.run("note", "drill", fmt.Sprintf("note %d", kept), "--yes", "--quiet")
		if code == exitDone {
			kept++
		} else {
			refused = said
		}
	}
	if !strings.Contains(refused, "nothing was recorded") || !strings.Contains(refused, "no space left") || !strings.Contains(refused, "make room") {
		t.Fatalf("after %d notes: %q", kept, refused)
	}
	count := func() int {
		return strings.Count(b.must("history", "drill", "--kind", "note", "--json", "--last", "2000"), `"kind":"note"`)
	}
	if n := count(); n != kept {
		t.Errorf("%d notes read back on the full disk, %d were acknowledged", n, kept)
	}
	if out, err := exec.Command("mount", "-o", "remount,size=4m", disk).CombinedOutput(); err != nil {
		t.Fatalf("make room: %v: %s", err, out)
	}
	b.must("note", "drill", "room again")
	if n := count(); n != kept+1 {
		t.Errorf("%d notes with room again, want %d", n, kept+1)
	}
}

// ssh25519 is the private key of a seed (RFC 8032 section 5.1.5) as an agent takes it.
func ssh25519(seed []byte) (*ed25519.PrivateKey, error) {
	if len(seed) != ed25519.SeedSize {
		return nil, fmt.Errorf("%d bytes are no seed", len(seed))
	}
	k := ed25519.NewKeyFromSeed(seed)
	return &k, nil
}

// TestWriteSeesOthers opens a book, lets others record before it takes the lock, and wants its own entry to follow theirs; then it records again with
// the same opened book, and again after a run that signed and stored nothing.
func TestWriteSeesOthers(t *testing.T) {
	b := newTestBook(t)
	b.must("machine", "add", "drill", "disc-drill", "--options", "openers=48")
	bk, err := b.call().open()
	if err != nil {
		t.Fatal(err)
	}
	seq := func(fail error) uint64 {
		t.Helper()
		var n uint64
		err := bk.write(func(w *writing) error {
			st, err := w.state("2026-01-01", "")
			if err != nil {
				return err
			}
			m := st.Machines[0]
			e, err := w.addWork(m, &record.Note{Work: record.Work{Machine: m.ID, Done: "2026-01-01"}}, &record.Private{Text: "wheel track wet"})
			if err != nil {
				return err
			}
			n = e.Seq()
			return fail
		})
		if (err == nil) != (fail == nil) {
			t.Fatal(err)
		}
		return n
	}
	last := func() uint64 {
		t.Helper()
		now, err := b.call().open()
		if err != nil {
			t.Fatal(err)
		}
		return now.log.Tips(now.log.Writers()[0])[0].Seq
	}
	b.must("note", "drill", "hitch pin worn")
	before := last()
	if n := seq(nil); n != before+1 || last() != n {
		t.Errorf("recorded as entry %d after %d; the log ends with %d", n, before, last())
	}
	if n := seq(failed("stop", "", "not stored")); n != before+2 || last() != before+1 {
		t.Errorf("signed entry %d; the log ends with %d", n, last())
	}
	if n := seq(nil); n != before+2 || last() != n {
		t.Errorf("recorded as entry %d after %d; the log ends with %d", n, before+1, last())
	}
}

// Where a record that failed may stand all the same, nobody is told that nothing was recorded, and the next step is to look: said again at once it could be
// there twice.
func TestMayStand(t *testing.T) {
	t.Parallel()
	var said *userError
	if err := notStored("book", fmt.Errorf("cannot record in book: %w", gitstore.ErrMayStand)); !errors.As(err, &said) || strings.Contains(said.text, "nothing was recorded") || !strings.Contains(said.hint, "shedbook history") {
		t.Errorf("%v", err)
	}
}
