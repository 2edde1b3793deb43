package gitstore

import (
	"context"
	"net"
	"net/http/cgi"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// gitIn runs stock git in a folder.
func gitIn(t testing.TB, dir string, args ...string) string {
	t.Helper()
	cmd := exec.Command("git", append([]string{"-C", dir}, args...)...)
	cmd.Env = append(os.Environ(), "GIT_CONFIG_NOSYSTEM=1", "HOME="+t.TempDir(), "GIT_CONFIG_COUNT=1", "GIT_CONFIG_KEY_0=safe.directory", "GIT_CONFIG_VALUE_0=*")
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("git %v: %v\n%s", args, err, out)
	}
	return string(out)
}

// serveGitHTTP serves repositories by git's own http-backend.
func serveGitHTTP(t testing.TB, root string) string {
	t.Helper()
	git, err := exec.LookPath("git")
	if err != nil {
		t.Fatal(err)
	}
	s := httptest.NewServer(&cgi.Handler{
		Path: git, Args: []string{"http-backend"},
		Env: []string{"GIT_PROJECT_ROOT=" + root, "GIT_HTTP_EXPORT_ALL=1", "REMOTE_USER=yard",
			"GIT_CONFIG_COUNT=1", "GIT_CONFIG_KEY_0=safe.directory", "GIT_CONFIG_VALUE_0=*"},
	})
	t.Cleanup(s.Close)
	return s.URL
}

// serveGitDaemon serves repositories by git's own daemon.
func serveGitDaemon(t testing.TB, root string) string {
	t.Helper()
	addr := accept(t, func(conn net.Conn) {
		cmd := exec.Command("git", "-c", "safe.directory=*", "daemon", "--inetd", "--export-all", "--enable=receive-pack", "--base-path="+root)
		f, err := conn.(*net.TCPConn).File()
		if err != nil {
			return
		}
		defer f.Close()
		cmd.Stdin, cmd.Stdout = f, f
		_ = cmd.Run()
	})
	return "git://" + addr.String()
}

// Stock git on the other side, over each line: what is already held does not
// come again, git's checks pass, and a plain clone reads well. Only with
// SHEDBOOK_TEST=full, as it needs git.
func TestExchangeWithStockGit(t *testing.T) {
	if !full() {
		return
	}
	root := t.TempDir()
	lines := map[string]string{"http": serveGitHTTP(t, root), "git": serveGitDaemon(t, root), "folder": root}
	for _, name := range sortedNames(lines) {
		t.Run(name, func(t *testing.T) {
			gitIn(t, root, "init", "-q", "--bare", name)
			bare := filepath.Join(root, name)
			target := lines[name] + "/" + name
			exchange := func(s *Store) *SyncReport {
				t.Helper()
				r, err := s.Sync(context.Background(), target, SyncOptions{})
				if err != nil {
					t.Fatal(err)
				}
				return r
			}
			a, founder := newBook(t)
			for range 30 {
				appendTo(t, a, founder.name, founder.notes(t, 9)...)
			}
			r := exchange(a)
			if len(r.Sent) != 1 || (r.Show == "") != (name == "folder") {
				t.Fatalf("%+v", r)
			}
			gitIn(t, bare, "fsck", "--strict", "--full")
			gitIn(t, bare, "symbolic-ref", "HEAD", refPrefix+founder.name)
			b, _, err := Join(context.Background(), target, filepath.Join(t.TempDir(), "joined"), SyncOptions{})
			if err != nil {
				t.Fatal(err)
			}
			d := newDevice(t, "creek", b.BookID())
			appendTo(t, b, d.name, d.first(t))
			for range 12 {
				appendTo(t, a, founder.name, founder.notes(t, 11)...)
				appendTo(t, b, d.name, d.note(t))
				if r := exchange(a); r.Show != "" || len(r.Sent) != 1 {
					t.Fatalf("%+v", r)
				}
				exchange(b)
			}
			gitIn(t, bare, "gc", "-q", "--prune=now")
			exchange(a)
			for _, s := range []*Store{a, b} {
				if r := exchange(s); !r.Idle() {
					t.Fatalf("nothing to do: %+v", r)
				}
			}
			wantSame(t, a, b)
			appendTo(t, a, founder.name, founder.note(t))
			exchange(a)
			exchange(b)
			wantSame(t, a, b)
			if diff := refsOf(t, a)[founder.name]; diff != strings.TrimSpace(gitIn(t, bare, "rev-parse", refPrefix+founder.name)) {
				t.Errorf("the log ends elsewhere there: %s", diff)
			}
			gitIn(t, bare, "fsck", "--strict", "--full")
			copied := filepath.Join(t.TempDir(), "copied")
			gitIn(t, root, "clone", "-q", bare, copied)
			if text, err := os.ReadFile(filepath.Join(copied, readmeName)); err != nil || string(text) != readmeV1 {
				t.Errorf("a plain clone has no README: %v", err)
			}
			if log := gitIn(t, copied, "log", "--format=%s", "-3"); log != "entry 404\nentries 393-403\nentries 382-392\n" {
				t.Errorf("its log reads %q", log)
			}
		})
	}
}
