package main

import (
	"bytes"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"testing"
	"time"

	"shedbook/ledger"
	"shedbook/ledger/gitstore"
	"shedbook/rules/record"
)

// speed is a family's book of four devices and a place they exchange through, with the same content in repositories that stock git keeps.
type speed struct {
	b       *testing.B
	dir     string
	program string // shedbook, as go build makes it
	devices []*testBook
	stick   string
	times   map[string][]time.Duration
}

// newSpeed makes a book of n entries in runs of ten, a fourth of them on each device, and sends it to the stick.
func newSpeed(b *testing.B, n int) *speed {
	dir := b.TempDir()
	s := &speed{b: b, dir: dir, program: filepath.Join(dir, "shedbook"), stick: filepath.Join(dir, "stick"), times: map[string][]time.Duration{}}
	if runtime.GOOS == "windows" {
		s.program += ".exe"
	}
	s.command(exec.Command("go", "build", "-o", s.program, "."))
	founder := newTestBook(b)
	founder.must("machine", "add", "drill", "disc-drill", "--options", "openers=48")
	founder.must("sync", s.stick)
	s.devices = []*testBook{founder}
	for i := range 3 {
		d := founder.another()
		label := fmt.Sprint("laptop ", i+1)
		d.must("join", s.stick, d.dir, "--me", label+" owner", "--device", label, "--units", "us")
		founder.must("sync")
		founder.must("people", "admit", label, "--yes")
		founder.must("sync")
		d.must("sync")
		s.devices = append(s.devices, d)
	}
	for _, d := range s.devices {
		s.write(d, n/4/10, 10, true)
		d.must("sync")
	}
	for _, d := range s.devices {
		d.must("sync")
	}
	return s
}

// write signs runs of entries on a device: greasings and notes of its drill. In bulk they are packed at once, as a book from elsewhere is; else each
// run is made durable by itself, as a command's is.
func (s *speed) write(d *testBook, runs, each int, bulk bool) {
	s.b.Helper()
	bk, err := d.call().open()
	if err != nil {
		s.b.Fatal(err)
	}
	defer bk.store.Close()
	signer, _, err := bk.signer()
	if err != nil {
		s.b.Fatal(err)
	}
	st, err := bk.state("2030-01-01", "")
	if err != nil {
		s.b.Fatal(err)
	}
	m := st.Machines[0]
	w := &writing{book: bk, signer: signer, writer: ledger.WriterOf(signer.Public())}
	w.logName = w.writer.String()
	one := func(tx *gitstore.Tx, run int) error {
		w.run = nil
		for i := range each {
			d.now = d.now.Add(time.Minute)
			w.c.now = func() time.Time { return d.now }
			work := record.Work{Machine: m.ID, Done: record.Done(d.now.Format("2006-01-02T15:04")), Field: "north quarter", Minutes: 20 + i}
			var r record.Record = &record.Did{Work: work, Job: "grease", Said: "all but 14,31"}
			var p *record.Private
			if i%3 == 0 {
				r, p = &record.Note{Work: work}, &record.Private{Text: fmt.Sprintf("grease came out black at opener %d, round %d", i%48+1, run)}
			}
			if _, err := w.addWork(m, r, p); err != nil {
				return err
			}
		}
		return tx.Append(w.logName, w.run)
	}
	if bulk {
		err = bk.store.Bulk(func(tx *gitstore.Tx) error {
			for run := range runs {
				if err := one(tx, run); err != nil {
					return err
				}
			}
			return nil
		})
	} else {
		for run := range runs {
			if err = bk.store.Update(func(tx *gitstore.Tx) error { return one(tx, run) }); err != nil {
				break
			}
		}
	}
	if err != nil {
		s.b.Fatal(err)
	}
}

// command runs a program to its end and returns how long that took.
func (s *speed) command(c *exec.Cmd) time.Duration {
	s.b.Helper()
	var out bytes.Buffer
	c.Stdout, c.Stderr = &out, &out
	start := time.Now()
	if err := c.Run(); err != nil {
		s.b.Fatalf("%v: %v\n%s", c.Args, err, out.String())
	}
	return time.Since(start)
}

// time runs shedbook on a device as a process of its own and keeps how long it took under a name.
func (s *speed) shedbook(name string, d *testBook, args ...string) {
	s.b.Helper()
	c := exec.Command(s.program, args...)
	for k, v := range d.vars {
		c.Env = append(c.Env, k+"="+v)
	}
	s.times[name] = append(s.times[name], s.command(c))
}

// git runs stock git, without anybody's settings.
func (s *speed) git(name string, args ...string) {
	s.b.Helper()
	c := exec.Command("git", args...)
	c.Env = append(os.Environ(), "GIT_CONFIG_GLOBAL="+os.DevNull, "GIT_CONFIG_NOSYSTEM=1")
	took := s.command(c)
	if name != "" {
		s.times[name] = append(s.times[name], took)
	}
}

func (s *speed) median(name string) time.Duration {
	all := slices.Sorted(slices.Values(s.times[name]))
	if len(all) == 0 {
		s.b.Fatalf("%q was not timed", name)
	}
	return all[len(all)/2]
}

// compare reports the median of ours, that of git's, added up where there are several, and how many times as long ours is.
func (s *speed) compare(unit, ours string, theirs ...string) {
	var floor time.Duration
	for _, name := range theirs {
		floor += s.median(name)
	}
	took := s.median(ours)
	ratio := took.Seconds() / floor.Seconds()
	s.b.ReportMetric(ratio, unit)
	s.b.Logf("%-24s %8.1f ms, git %8.1f ms: %.2f times (medians of %d)", ours, took.Seconds()*1e3, floor.Seconds()*1e3, ratio, len(s.times[ours]))
}

func fileURL(dir string) string {
	return (&url.URL{Scheme: "file", Path: filepath.ToSlash(dir)}).String()
}

const (
	timedRounds = 7
	logRefs     = "refs/heads/log/*:refs/heads/log/*"
)

// BenchmarkExchange times whole processes, beside stock git on the same content: joining a book of 10,000 entries, with every signature and chain
// verified; sending, and taking in, 1,000 further ones in 100 runs; a sync with nothing to do.
func BenchmarkExchange(b *testing.B) {
	s := newSpeed(b, 10_000)
	from, to := s.devices[0], s.devices[1]
	theirs, copied := filepath.Join(s.dir, "theirs.git"), filepath.Join(s.dir, "copied.git")
	s.git("", "clone", "-q", "--bare", fileURL(s.stick), theirs)
	s.git("", "clone", "-q", "--bare", fileURL(s.stick), copied)
	for b.Loop() {
		for i := range timedRounds {
			s.git("clone", "clone", "-q", "--bare", fileURL(s.stick), filepath.Join(b.TempDir(), "clone.git"))
			d := from.another()
			s.shedbook("join", d, "join", s.stick, d.dir, "--only-read")
			if i == 0 {
				s.shedbook("", d, "audit", "--quiet")
			}
		}
		for range timedRounds {
			s.write(from, 100, 10, false)
			s.git("push", "-C", filepath.Join(from.dir, "git"), "push", "-q", fileURL(theirs), logRefs)
			s.shedbook("send", from, "sync")
			s.git("fetch", "-C", copied, "fetch", "-q", fileURL(theirs), logRefs)
			s.shedbook("take in", to, "sync")
			s.idle(to, copied, theirs)
		}
	}
	s.compare("join/clone", "join", "clone")
	s.compare("send/push", "send", "push")
	s.compare("take/fetch", "take in", "fetch")
	s.compareIdle()
}

// idle times a sync, and a fetch and a push of stock git, with nothing to do.
func (s *speed) idle(d *testBook, copied, theirs string) {
	s.shedbook("nothing new", d, "sync")
	s.git("idle fetch", "-C", copied, "fetch", "-q", fileURL(theirs), logRefs)
	s.git("idle push", "-C", copied, "push", "-q", fileURL(theirs), logRefs)
}

func (s *speed) compareIdle() {
	s.compare("idle/idle", "nothing new", "idle fetch", "idle push")
}

// BenchmarkIdleExchange times a sync with nothing to do in a book of 100,000 entries, beside a fetch and a push of stock git.
func BenchmarkIdleExchange(b *testing.B) {
	s := newSpeed(b, 100_000)
	copied := filepath.Join(s.dir, "copied.git")
	s.git("", "clone", "-q", "--bare", fileURL(s.stick), copied)
	for b.Loop() {
		for range timedRounds {
			s.idle(s.devices[1], copied, s.stick)
		}
	}
	s.compareIdle()
}
