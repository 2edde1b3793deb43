package gitstore

import (
	"context"
	"errors"
	"path/filepath"
	"testing"
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
