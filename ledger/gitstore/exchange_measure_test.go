package gitstore

import (
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"
)

// TestMeasureExchange prints figures with MEASURE set; it checks nothing.
func TestMeasureExchange(t *testing.T) {
	if os.Getenv("MEASURE") == "" {
		return
	}
	count := 10000
	if n, err := strconv.Atoi(os.Getenv("MEASURE")); err == nil && n > 1 {
		count = n
	}
	s, founder := newBook(t)
	if err := s.Bulk(func(tx *Tx) error {
		for range count - 1 {
			if err := tx.Append(founder.name, founder.notes(t, 1)); err != nil {
				return err
			}
		}
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	timed := func(what string, f func()) {
		start := time.Now()
		f()
		t.Logf("%-40s %v", what, time.Since(start).Round(time.Millisecond))
	}
	stick := filepath.Join(t.TempDir(), "stick")
	timed("first sync to a folder", func() { exchangeWith(t, s, stick) })
	bare := filepath.Join(t.TempDir(), "bare.git")
	gitRun := func(args ...string) {
		if out, err := exec.Command("git", args...).CombinedOutput(); err != nil {
			t.Fatalf("git %v: %v\n%s", args, err, out)
		}
	}
	timed("git clone --bare (file://)", func() { gitRun("clone", "-q", "--bare", "file://"+stick, bare) })
	var b *Store
	timed("join", func() { b = joinFrom(t, stick) })
	for range 3 {
		timed("idle sync", func() { exchangeWith(t, b, stick) })
		timed("git fetch, nothing new", func() { gitRun("-C", bare, "fetch", "-q", "file://"+stick, "refs/heads/log/*:refs/heads/log/*") })
		timed("git push, nothing new", func() { gitRun("-C", bare, "push", "-q", "file://"+stick, "refs/heads/log/*:refs/heads/log/*") })
	}
	other := filepath.Join(t.TempDir(), "other.git")
	gitRun("clone", "-q", "--bare", "file://"+stick, other)
	for range 5 {
		for range 100 {
			appendTo(t, s, founder.name, founder.notes(t, 10)...)
		}
		timed("git push of 1,000 entries in 100 runs", func() { gitRun("-C", s.git(), "push", "-q", "file://"+other, "refs/heads/log/*:refs/heads/log/*") })
		timed("send them", func() { exchangeWith(t, s, stick) })
		timed("git fetch of them", func() { gitRun("-C", bare, "fetch", "-q", "file://"+other, "refs/heads/log/*:refs/heads/log/*") })
		timed("take them in", func() { exchangeWith(t, b, stick) })
	}
}
