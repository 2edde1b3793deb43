package gitstore

import (
	"context"
	"errors"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"golang.org/x/crypto/ssh"
	"golang.org/x/crypto/ssh/agent"
)

// bareIn makes an empty repository under root, as an operator would.
func bareIn(t testing.TB, root, name string) string {
	t.Helper()
	dir := filepath.Join(root, name)
	if err := initRepository(dir); err != nil {
		t.Fatal(err)
	}
	return dir
}

// Over each kind of line, without a git binary: a book is sent to an empty
// repository, joined from it, and grows at both ends.
func TestExchangeOverLines(t *testing.T) {
	t.Setenv("PATH", "")
	root := t.TempDir()
	pem, public := sshKey(t, "a device's ssh key", "")
	sshAddress, machine := serveSSH(t, root, public)
	for _, line := range []struct {
		name, address string
		o             SyncOptions
	}{
		{"http", serveHTTP(t, root, ""), SyncOptions{}},
		{"http with a token", serveHTTP(t, root, "opensesame"), SyncOptions{Auth: Auth{Token: "opensesame"}}},
		{"git", serveGit(t, root), SyncOptions{}},
		{"ssh", sshAddress, SyncOptions{
			Auth: Auth{KeyFile: pem},
			HostKey: func(_, fingerprint string) error {
				if fingerprint != machine {
					return errors.New("another machine")
				}
				return nil
			},
		}},
	} {
		t.Run(line.name, func(t *testing.T) {
			name := filepath.Base(t.Name()) + ".git"
			bareIn(t, root, name)
			address := line.address + "/" + name
			exchange := func(s *Store) *SyncReport {
				t.Helper()
				r, err := s.Sync(context.Background(), address, line.o)
				if err != nil {
					t.Fatal(err)
				}
				return r
			}
			a, founder := newBook(t)
			appendTo(t, a, founder.name, founder.notes(t, 120)...)
			if r := exchange(a); len(r.Sent) != 1 || r.Sent[0].To != 121 || r.Show != refPrefix+founder.name {
				t.Errorf("first: %+v", r)
			}
			b, r, err := Join(context.Background(), address, filepath.Join(t.TempDir(), "joined"), line.o)
			if err != nil {
				t.Fatal(err)
			}
			if len(r.Came) != 1 || r.Came[0].To != 121 {
				t.Errorf("join: %+v", r)
			}
			d := newDevice(t, "creek", b.BookID())
			appendTo(t, b, d.name, d.first(t))
			appendTo(t, b, d.name, d.notes(t, 3)...)
			appendTo(t, a, founder.name, founder.notes(t, 2)...)
			if r := exchange(b); len(r.Came) != 0 || len(r.Sent) != 1 || r.Sent[0].Entries() != 4 {
				t.Errorf("b sends: %+v", r)
			}
			if r := exchange(a); len(r.Came) != 1 || r.Came[0].Entries() != 4 || len(r.Sent) != 1 || r.Sent[0].Entries() != 2 {
				t.Errorf("a: %+v", r)
			}
			if r := exchange(b); len(r.Came) != 1 || r.Came[0].Entries() != 2 || len(r.Sent) != 0 {
				t.Errorf("b again: %+v", r)
			}
			for _, s := range []*Store{a, b} {
				if r := exchange(s); !r.Idle() {
					t.Errorf("nothing to do: %+v", r)
				}
			}
			wantSame(t, a, b)
			if exists(a.path(quarantineDir)) || exists(b.path(quarantineDir)) {
				t.Error("the quarantine is still there")
			}
		})
	}
}

// Who may not come in, or is not sure where it is, is told so and nothing moves.
func TestLinesRefuse(t *testing.T) {
	root := t.TempDir()
	bareIn(t, root, "book")
	pem, public := sshKey(t, "a device's ssh key", "")
	locked, _ := sshKey(t, "a device's ssh key", "rosemary")
	strange, _ := sshKey(t, "another key", "")
	address, machine := serveSSH(t, root, public)
	address += "/book"
	yes := func(string, string) error { return nil }
	s, _ := newBook(t)
	for _, c := range []struct {
		name, address string
		o             SyncOptions
		why           string
	}{
		{"nobody to ask", address, SyncOptions{Auth: Auth{KeyFile: pem}},
			"the machine HOST shows the key " + machine + ": nobody was there to say that it is the right one"},
		{"another machine", address, SyncOptions{Auth: Auth{KeyFile: pem}, HostKey: func(string, string) error { return errors.New("it had another one before") }},
			"the machine HOST shows the key " + machine + ": it had another one before"},
		{"a key that is not known", address, SyncOptions{Auth: Auth{KeyFile: strange}, HostKey: yes},
			"the other side does not let this device in: none of the keys that were offered is known there"},
		{"no key", address, SyncOptions{HostKey: yes},
			"the other side does not let this device in: none of the keys that were offered is known there"},
		{"a locked key", address, SyncOptions{Auth: Auth{KeyFile: locked}, HostKey: yes},
			"the key file cannot be opened: ssh: this private key is passphrase protected"},
		{"the wrong passphrase", address, SyncOptions{Auth: Auth{KeyFile: locked, Passphrase: []byte("thyme")}, HostKey: yes},
			"the key file cannot be opened: x509: decryption password incorrect"},
		{"no book there", strings.TrimSuffix(address, "book") + "nothing", SyncOptions{Auth: Auth{KeyFile: pem}, HostKey: yes},
			"there is no book at this address, or this device may not see it"},
		{"no book there, over http", serveHTTP(t, root, "") + "/nothing", SyncOptions{},
			"there is no book at this address, or this device may not see it"},
		{"the wrong token", serveHTTP(t, root, "opensesame") + "/book", SyncOptions{Auth: Auth{Token: "openbarley"}},
			"the other side wants to know who this is: give a token or a key"},
		{"a token in the clear", "http://books.invalid/book", SyncOptions{Auth: Auth{Token: "opensesame"}},
			"a token is not sent over http://, where anyone on the way can read it; use https://"},
		{"a machine nobody knows", "https://books.invalid/book", SyncOptions{},
			`the machine "books.invalid" is not known; is this device on the net?`},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := s.Sync(context.Background(), c.address, c.o)
			var none *NoExchangeError
			if !errors.As(err, &none) {
				t.Fatalf("error %v", err)
			}
			why := regexp.MustCompile(`127\.0\.0\.1:\d+`).ReplaceAllString(none.Why, "HOST")
			if why != c.why || r != nil && !r.Idle() {
				t.Errorf("why: %s\nwant %s", why, c.why)
			}
		})
	}
	o := SyncOptions{HostKey: yes, Auth: Auth{KeyFile: locked, Passphrase: []byte("rosemary")}}
	if r, err := s.Sync(context.Background(), address, o); err != nil || len(r.Sent) != 1 {
		t.Errorf("with the passphrase: %+v, %v", r, err)
	}
	keys := agent.NewKeyring()
	private, err := ssh.ParseRawPrivateKey(pem)
	if err != nil {
		t.Fatal(err)
	}
	if err := keys.Add(agent.AddedKey{PrivateKey: private}); err != nil {
		t.Fatal(err)
	}
	mine, theirs := net.Pipe()
	defer mine.Close()
	go agent.ServeAgent(keys, theirs)
	if _, err := s.Sync(context.Background(), address, SyncOptions{HostKey: yes, Auth: Auth{Agent: mine}}); err != nil {
		t.Errorf("with the agent: %v", err)
	}
}

// A server that lets one read and not write: what came stays, and why nothing
// was sent is said.
func TestReadOnlyServer(t *testing.T) {
	root := t.TempDir()
	bare := bareIn(t, root, "book")
	a, founder := newBook(t)
	exchangeWith(t, a, bare)
	b := joinFrom(t, bare)
	d := newDevice(t, "creek", b.BookID())
	appendTo(t, b, d.name, d.first(t))
	appendTo(t, a, founder.name, founder.note(t))
	exchangeWith(t, a, bare)
	open := serveHTTP(t, root, "")
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if strings.Contains(r.URL.String(), receivePack) {
			http.Error(w, "no", http.StatusForbidden)
			return
		}
		res, err := forward(r, open)
		if err != nil {
			t.Error(err)
			return
		}
		defer res.Body.Close()
		w.WriteHeader(res.StatusCode)
		io.Copy(w, res.Body)
	}))
	defer s.Close()
	r, err := b.Sync(context.Background(), s.URL+"/book", SyncOptions{})
	want := "the other side does not let this device in: the token or key may be wrong, out of date, or for something else"
	if err == nil || !strings.HasSuffix(err.Error(), want) || r == nil || len(r.Came) != 1 || len(r.Sent) != 0 {
		t.Fatalf("%v, %+v", err, r)
	}
	r, err = b.Sync(context.Background(), s.URL+"/book", SyncOptions{})
	var none *NoExchangeError
	if !errors.As(err, &none) || none.Why != want {
		t.Errorf("with nothing to come: %v, %+v", err, r)
	}
	wantEntries(t, b, founder.name, entriesOf(t, a, founder.name))
}

// A dead line ends the exchange when the caller says so.
func TestSilentServer(t *testing.T) {
	hold := make(chan struct{})
	addr := accept(t, func(net.Conn) { <-hold })
	defer close(hold)
	s, _ := newBook(t)
	for _, address := range []string{"git://" + addr.String() + "/book", "http://" + addr.String() + "/book", "ssh://" + addr.String() + "/book"} {
		ctx, cancel := context.WithTimeout(context.Background(), 50*time.Millisecond)
		_, err := s.Sync(ctx, address, SyncOptions{})
		if !errors.Is(err, context.DeadlineExceeded) {
			t.Errorf("%s: %v", address, err)
		}
		cancel()
	}
}
