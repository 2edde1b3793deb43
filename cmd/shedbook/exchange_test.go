package main

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/pem"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/cgi"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"golang.org/x/crypto/ssh"

	"shedbook/ledger/gitstore"
)

// another is a second device beside b: a config folder of its own and no book yet.
func (b *testBook) another() *testBook {
	dir := b.t.TempDir()
	c := *b
	c.dir = filepath.Join(dir, "book")
	c.vars = map[string]string{"SHEDBOOK_CONFIG": filepath.Join(dir, "config"), "COLUMNS": "120", "SHEDBOOK_BOOK": c.dir}
	c.yard = ""
	return &c
}

// admitted is a second device of b's book that joined at a place and was admitted; both hold all that the other does.
func (b *testBook) admitted(place, who, device string) *testBook {
	b.t.Helper()
	one := b.another()
	one.must("join", place, one.dir, "--me", who, "--device", device, "--units", "us")
	b.must("sync")
	b.must("people", "admit", device, "--yes")
	b.must("sync")
	one.must("sync")
	return one
}

// sshDoor answers ssh on loopback, shows its host key and lets nobody in.
func sshDoor(t *testing.T, seed string) (address, fingerprint string) {
	t.Helper()
	sum := sha256.Sum256([]byte(seed))
	host, err := ssh.NewSignerFromSigner(ed25519.NewKeyFromSeed(sum[:]))
	if err != nil {
		t.Fatal(err)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	config := &ssh.ServerConfig{PublicKeyCallback: func(ssh.ConnMetadata, ssh.PublicKey) (*ssh.Permissions, error) {
		return nil, errors.New("nobody is let in")
	}}
	config.AddHostKey(host)
	go func() {
		for {
			conn, err := l.Accept()
			if err != nil {
				return
			}
			go func() {
				defer conn.Close()
				_, _, _, _ = ssh.NewServerConn(conn, config)
			}()
		}
	}()
	return l.Addr().String(), ssh.FingerprintSHA256(host.PublicKey())
}

// TestMachineSeenOnce asks about a machine once, remembers its key, and refuses another key from then on.
func TestMachineSeenOnce(t *testing.T) {
	b := newTestBook(t)
	address, print := sshDoor(t, "first")
	url := "ssh://farm@" + address + "/books/alder"
	key := filepath.Join(t.TempDir(), "id")
	block, err := ssh.MarshalPrivateKey(ed25519.NewKeyFromSeed(bytes.Repeat([]byte{3}, 32)), "")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(key, pem.EncodeToMemory(block), 0o600); err != nil {
		t.Fatal(err)
	}
	try := func(answer string, args ...string) (string, int) {
		t.Helper()
		var o, e bytes.Buffer
		env := b.env(&o, &e)
		env.stdin, env.asks = strings.NewReader(answer), answer != ""
		code := run(env, append([]string{"sync", url, "--identity", key}, args...))
		return e.String(), code
	}
	for _, c := range []struct {
		name, answer string
		args         []string
		want         string
	}{
		{"nobody to ask", "", nil, "it was not seen before; compare with its keeper, then --host-key " + print},
		{"another one given", "", []string{"--host-key", "SHA256:other"}, "that is not the one given, SHA256:other"},
		{"not taken", "n\n", nil, "you did not take it for the right one"},
		{"taken", "y\n", nil, "Its fingerprint is\n\n    " + print},
		{"not asked again", "", nil, "none of the keys that were offered is known there"},
	} {
		said, code := try(c.answer, c.args...)
		if code != exitNoExchange || !strings.Contains(said, c.want) {
			t.Fatalf("%s: exit %d, said\n%s\nwant %q", c.name, code, said, c.want)
		}
	}
	file := filepath.Join(b.vars["SHEDBOOK_CONFIG"], "machines")
	text, err := os.ReadFile(file)
	if err != nil || string(text) != address+" "+print+"\n" {
		t.Fatalf("machines holds %q (%v)", text, err)
	}
	// The same address shows another key: refused, also on a terminal; its keeper's word lets it in.
	if err := os.WriteFile(file, []byte(address+" SHA256:before\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if said, _ := try("y\n"); !strings.Contains(said, "it showed SHA256:before before, so it is another machine, or somebody is in between") {
		t.Errorf("said %q", said)
	}
	if said, _ := try("", "--host-key", print); !strings.Contains(said, "none of the keys that were offered is known there") {
		t.Errorf("said %q", said)
	}
	if text, _ := os.ReadFile(file); string(text) != address+" "+print+"\n" {
		t.Errorf("machines holds %q", text)
	}
}

// gitServer is git's own http server over loopback, for whoever shows the token. The full tests insist on a git; elsewhere package gitstore's own
// servers hold the lines to account.
func gitServer(t *testing.T, root, token string) (string, bool) {
	git, err := exec.LookPath("git")
	if err != nil {
		if fullTests {
			t.Fatal("git is not installed")
		}
		return "", false
	}
	backend := &cgi.Handler{Path: git, Args: []string{"http-backend"}, Env: []string{"GIT_PROJECT_ROOT=" + root, "GIT_HTTP_EXPORT_ALL=1", "REMOTE_USER=farm", "GIT_CONFIG_COUNT=1", "GIT_CONFIG_KEY_0=safe.directory", "GIT_CONFIG_VALUE_0=*"}, Stderr: io.Discard}
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if _, shown, _ := r.BasicAuth(); token != "" && shown != token {
			w.Header().Set("WWW-Authenticate", `Basic realm="books"`)
			http.Error(w, "who is there?", http.StatusUnauthorized)
			return
		}
		backend.ServeHTTP(w, r)
	}))
	t.Cleanup(s.Close)
	return s.URL, true
}

// alone runs a command line as a process of its own whose PATH is empty, and returns what it printed.
func (b *testBook) alone(args ...string) string {
	b.t.Helper()
	out, _ := b.measured(args...)
	return out
}

// measured is alone, and says how much memory the process held at most; 0 where the system does not tell.
func (b *testBook) measured(args ...string) (printed string, peak int64) {
	b.t.Helper()
	program, err := os.Executable()
	if err != nil {
		b.t.Fatal(err)
	}
	var out, said bytes.Buffer
	c := &exec.Cmd{Path: program, Args: append([]string{"shedbook"}, args...), Dir: filepath.Dir(b.dir), Stdout: &out, Stderr: &said}
	c.Env = []string{"PATH=", "SHEDBOOK_TEST_NOW=" + b.now.Format("2006-01-02T15:04"), "SHEDBOOK_TEST_SEED=" + b.dir}
	for name, value := range b.vars {
		c.Env = append(c.Env, name+"="+value)
	}
	err = c.Start()
	if err == nil {
		ended := make(chan struct{})
		most := peakOf(c.Process.Pid, ended)
		err = c.Wait()
		close(ended)
		peak = <-most
	}
	if err != nil {
		b.t.Fatalf("shedbook %s: %v\n%s%s", strings.Join(args, " "), err, out.String(), said.String())
	}
	return out.String(), peak
}

// TestNoProgramsNeeded joins, records and exchanges over a folder and over git's own http server, each command a process whose PATH is empty.
func TestNoProgramsNeeded(t *testing.T) {
	b := newTestBook(t)
	b.must("machine", "add", "drill", "disc-drill", "--options", "openers=48")
	root := t.TempDir()
	if out := b.must("sync", filepath.Join(root, "alder.git")); !strings.Contains(out, "nothing new, 6 sent") {
		t.Fatal(out)
	}
	places := []string{filepath.Join(root, "alder.git")}
	if url, ok := gitServer(t, root, ""); ok {
		places = append(places, url+"/alder.git")
	}
	for i, place := range places {
		d := b.another()
		label := fmt.Sprintf("laptop %d", i)
		d.alone("join", place, d.dir, "--me", label+" owner", "--device", label, "--units", "us")
		b.alone("sync")
		b.alone("people", "admit", label, "--yes")
		b.alone("sync")
		if out := d.alone("sync"); !strings.Contains(out, "from the device of Wren Alder, none sent") {
			t.Errorf("%s: %s", place, out)
		}
		d.alone("did", "drill", "grease", "--done", fmt.Sprintf("2026-01-0%d", i+1), "--yes")
		if out := d.alone("sync"); out != "nothing new, 1 sent\n" {
			t.Errorf("%s: %s", place, out)
		}
		if out := b.alone("sync"); out != "1 new entry from the "+label+" ("+label+" owner), none sent\n" {
			t.Errorf("%s: %s", place, out)
		}
	}
}

// TestJoinGoesOn takes up a join that broke off once the folder was begun, and one that broke off before the key was made.
func TestJoinGoesOn(t *testing.T) {
	b := newTestBook(t)
	stick := filepath.Join(t.TempDir(), "stick")
	b.must("sync", stick)
	bk, err := b.call().open()
	if err != nil {
		t.Fatal(err)
	}
	begun := b.another()
	if _, err := gitstore.Create(begun.dir, bk.log.ID()); err != nil {
		t.Fatal(err)
	}
	if out := begun.must("join", stick, begun.dir, "--me", "Jo Alder", "--device", "creek laptop"); !strings.Contains(unwrapped(out), "4 entries, all verified") {
		t.Error(out)
	}
	held := b.another() // killed once all was there, before the place was noted
	store, _, err := gitstore.Join(t.Context(), stick, held.dir, gitstore.SyncOptions{})
	if err != nil {
		t.Fatal(err)
	}
	store.Close()
	if out := held.must("join", stick, held.dir, "--me", "Kim Rook", "--device", "barn laptop"); !strings.Contains(unwrapped(out), "5 entries, all verified") {
		t.Error(out)
	}
	if _, said, code := held.run("join", stick, held.dir, "--me", "Kim Rook"); code == 0 || !strings.Contains(said, "is a book already") {
		t.Errorf("joined twice: exit %d\n%s", code, said)
	}
	held.must("sync")
	fetched := b.another()
	fetched.must("join", stick, fetched.dir, "--only-read")
	if out := fetched.must("people", "key", "--new", "--me", "Sam Rook"); !strings.Contains(out, "state:        asks to take part") {
		t.Error(out)
	}
	fetched.must("sync")
	begun.must("sync")
	if out := b.must("sync"); !strings.HasPrefix(out, "3 new entries, none sent\n") {
		t.Error(out)
	}
}

// TestWhoIsThere wants a token refused and taken: from the environment, a file, and git's credential helper, which is told whether it worked.
func TestWhoIsThere(t *testing.T) {
	root := t.TempDir()
	b := newTestBook(t)
	b.must("sync", filepath.Join(root, "alder.git"))
	b.must("sync", "alder", "--forget")
	url, ok := gitServer(t, root, "sesame")
	if !ok {
		return
	}
	url += "/alder.git"
	// No helper: git reads no configuration but ours.
	home := t.TempDir()
	t.Setenv("HOME", home)
	t.Setenv("XDG_CONFIG_HOME", home)
	t.Setenv("GIT_CONFIG_NOSYSTEM", "1")
	refuse := func(want string) {
		t.Helper()
		if _, said, code := b.run("sync", url); code != exitNoExchange || !strings.Contains(said, want) || strings.Contains(said, "sesame") {
			t.Fatalf("exit %d, said %q", code, said)
		}
	}
	refuse("the other side wants to know who this is: give a token or a key\n  next: give a token with SHEDBOOK_TOKEN or --token-file, or a key with --identity FILE\n")
	b.vars["SHEDBOOK_TOKEN"] = "wrong"
	refuse("the other side ")
	b.vars["SHEDBOOK_TOKEN"] = "sesame"
	if out := b.must("sync", url, "--as", "box"); out != "nothing new on either side\n" {
		t.Fatal(out)
	}
	delete(b.vars, "SHEDBOOK_TOKEN")
	token := filepath.Join(home, "token")
	if err := os.WriteFile(token, []byte("sesame\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	b.must("sync", "box", "--token-file", token)
	b.must("sync") // the file's name is remembered
	local, err := gitstore.LocalOf(b.dir)
	if err != nil || len(local.Places) != 1 || local.Places[0].TokenFile != token {
		t.Fatalf("%+v %v", local.Places, err)
	}
	if text, _ := os.ReadFile(filepath.Join(b.dir, "local.toml")); strings.Contains(string(text), "sesame") {
		t.Error("local.toml holds the token")
	}
	b.must("sync", "box", "--forget")
	log := filepath.Join(home, "asked")
	helper := "#!/bin/sh\necho \"$1\" >>'" + log + "'\n[ \"$1\" = get ] && echo username=farm && echo password=sesame\nexit 0\n"
	if err := os.WriteFile(filepath.Join(home, "helper"), []byte(helper), 0o700); err != nil {
		t.Fatal(err)
	}
	config := "[credential]\n\thelper = " + filepath.Join(home, "helper") + "\n\tuseHttpPath = true\n"
	if err := os.WriteFile(filepath.Join(home, ".gitconfig"), []byte(config), 0o600); err != nil {
		t.Fatal(err)
	}
	b.must("sync", url)
	if asked, _ := os.ReadFile(log); string(asked) != "get\nstore\n" {
		t.Errorf("the helper was asked %q", asked)
	}
}

// TestTokenForOneMachine never shows the environment's token to two machines, and gives a file's token the first word.
func TestTokenForOneMachine(t *testing.T) {
	b := newTestBook(t)
	bk, err := b.call().open()
	if err != nil {
		t.Fatal(err)
	}
	local := bk.store.Local()
	local.Places = []gitstore.Place{{Name: "one", Address: "https://127.0.0.1:1/a"}, {Name: "two", Address: "https://127.0.0.1:2/b"}}
	if err := bk.store.SetLocal(local); err != nil {
		t.Fatal(err)
	}
	b.vars["SHEDBOOK_TOKEN"] = "sesame"
	if _, said, code := b.run("sync"); code != exitUsage || !strings.HasPrefix(said, "shedbook: the token in SHEDBOOK_TOKEN would be shown to 2 machines\n") {
		t.Errorf("exit %d, said %q", code, said)
	}
	if _, said, code := b.run("sync", "one"); code != exitNoExchange {
		t.Errorf("exit %d, said %q", code, said)
	}
	c := b.call()
	o, done, err := (&access{}).options(c, "https://127.0.0.1:1/a")
	done()
	if err != nil || o.Auth.Token != "sesame" {
		t.Errorf("token %q, %v", o.Auth.Token, err)
	}
	file := filepath.Join(t.TempDir(), "token")
	if err := os.WriteFile(file, []byte("another\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	o, done, err = (&access{tokenFile: file}).options(c, "https://127.0.0.1:1/a")
	done()
	if err != nil || o.Auth.Token != "another" {
		t.Errorf("token %q, %v", o.Auth.Token, err)
	}
}

// TestProgressAfterASecond shows nothing for what is quick, nothing where nobody looks, and one line that goes away again otherwise.
func TestProgressAfterASecond(t *testing.T) {
	b := newTestBook(t)
	for _, c := range []struct {
		name  string
		asks  bool
		quiet bool
		age   time.Duration
		want  string
	}{
		{"quick", true, false, 0, ""},
		{"no terminal", false, false, time.Minute, ""},
		{"quiet", true, true, time.Minute, ""},
		{"slow", true, false, time.Minute, "\rsending: 3 of 40\r" + strings.Repeat(" ", 16) + "\r"},
	} {
		var said bytes.Buffer
		k := b.call()
		k.asks, k.quiet, k.stderr = c.asks, c.quiet, &said
		p := newProgress(k)
		p.begun = p.begun.Add(-c.age)
		p.show("sending", 3, 40)
		p.show("sending", 4, 40) // too soon after the last
		p.clear()
		p.clear()
		if said.String() != c.want {
			t.Errorf("%s: %q, want %q", c.name, said.String(), c.want)
		}
	}
}
