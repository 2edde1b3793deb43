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

// speed times exchanges of a family's book of four devices, and those of the same content by stock git.
type speed struct {
	b       *testing.B
	program string // shedbook, as go build makes it
	walls   map[string][]time.Duration
	works   map[string][]time.Duration // of all cores, children included
	peaks   map[string]int64           // most memory held at once, bytes; 0 where the system does not say
	peak    int64                      // of the last command
}

func newSpeed(b *testing.B) *speed {
	s := &speed{b: b, program: filepath.Join(b.TempDir(), "shedbook"), walls: map[string][]time.Duration{}, works: map[string][]time.Duration{}, peaks: map[string]int64{}}
	if runtime.GOOS == "windows" {
		s.program += ".exe"
	}
	s.command(exec.Command("go", "build", "-o", s.program, "."))
	return s
}

// timed is a book on four devices, the stick they exchange through, and a repository of stock git's with the same content, with a copy.
type timed struct {
	*speed
	devices        []*testBook
	stick          string
	theirs, copied string
}

// book makes a book of n entries in runs of ten, a fourth of them on each device, and sends it to the stick.
func (s *speed) book(n int) *timed {
	dir := s.b.TempDir()
	d := &timed{speed: s, stick: filepath.Join(dir, "stick"), theirs: filepath.Join(dir, "theirs.git"), copied: filepath.Join(dir, "copied.git")}
	founder := newTestBook(s.b)
	founder.must("machine", "add", "drill", "disc-drill", "--options", "openers=48")
	founder.must("sync", d.stick)
	d.devices = []*testBook{founder}
	for i := range 3 {
		label := fmt.Sprint("laptop ", i+1)
		d.devices = append(d.devices, founder.admitted(d.stick, label+" owner", label))
	}
	for _, one := range d.devices {
		s.write(one, n/4/10, 10, true)
		one.must("sync")
	}
	for _, one := range d.devices {
		one.must("sync")
	}
	s.git("", "clone", "-q", "--bare", fileURL(d.stick), d.theirs)
	s.git("", "clone", "-q", "--bare", fileURL(d.stick), d.copied)
	return d
}

// write signs runs of entries on a device: greasings and notes of its drill. In bulk they are packed at once, as a book from elsewhere is; else each
// run is made durable by itself, as a command's is.
func (s *speed) write(d *testBook, runs, each int, bulk bool) { s.writeOf(d, 0, runs, each, bulk) }

// writeOf is write, of the machine that comes so many after the first.
func (s *speed) writeOf(d *testBook, machine, runs, each int, bulk bool) {
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
	m := st.Machines[machine]
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

// command runs a program to its end and returns how long that took, and how long the cores worked for it.
func (s *speed) command(c *exec.Cmd) (wall, work time.Duration) {
	s.b.Helper()
	var out bytes.Buffer
	c.Stdout, c.Stderr = &out, &out
	start := time.Now()
	err := c.Start()
	if err == nil {
		ended := make(chan struct{})
		peak := peakOf(c.Process.Pid, ended)
		err = c.Wait()
		close(ended)
		s.peak = <-peak
	}
	if err != nil {
		s.b.Fatalf("%v: %v\n%s", c.Args, err, out.String())
	}
	return time.Since(start), c.ProcessState.UserTime() + c.ProcessState.SystemTime()
}

// keep runs a program and keeps its times under a name; "" keeps none.
func (s *speed) keep(name string, c *exec.Cmd) {
	s.b.Helper()
	if wall, work := s.command(c); name != "" {
		s.walls[name], s.works[name] = append(s.walls[name], wall), append(s.works[name], work)
		s.peaks[name] = max(s.peaks[name], s.peak)
	}
}

// shedbook runs a command line on a device, as a process of its own.
func (s *speed) shedbook(name string, d *testBook, args ...string) {
	s.b.Helper()
	c := exec.Command(s.program, args...)
	for k, v := range d.vars {
		c.Env = append(c.Env, k+"="+v)
	}
	s.keep(name, c)
}

// git runs stock git, without anybody's settings.
func (s *speed) git(name string, args ...string) {
	s.b.Helper()
	c := exec.Command("git", args...)
	c.Env = append(os.Environ(), "GIT_CONFIG_GLOBAL="+os.DevNull, "GIT_CONFIG_NOSYSTEM=1")
	s.keep(name, c)
}

func median(all []time.Duration) time.Duration {
	return slices.Sorted(slices.Values(all))[len(all)/2]
}

// compare reports the median of ours, that of git's, added up where it takes several, and how many times as long ours is.
func (s *speed) compare(unit, ours string, theirs ...string) {
	var wall, work time.Duration
	for _, name := range theirs {
		wall, work = wall+median(s.walls[name]), work+median(s.works[name])
	}
	w, k := median(s.walls[ours]), median(s.works[ours])
	s.b.ReportMetric(w.Seconds()/wall.Seconds(), unit)
	s.b.Logf("%-12s %7.1f ms, git %7.1f ms: %5.2f times (the cores work %7.1f ms, for git %7.1f ms); medians of %d", ours,
		w.Seconds()*1e3, wall.Seconds()*1e3, w.Seconds()/wall.Seconds(), k.Seconds()*1e3, work.Seconds()*1e3, len(s.walls[ours]))
}

func fileURL(dir string) string {
	return (&url.URL{Scheme: "file", Path: filepath.ToSlash(dir)}).String()
}

const (
	timedRounds = 9
	logRefs     = "refs/heads/log/*:refs/heads/log/*"
)

// send writes 1,000 entries in 100 runs on one device, sends them, takes them in on another, and does the same with git. Git goes first and reads the
// runs' objects as they lie, loose; sending packs them.
func (d *timed) send() {
	from, to := d.devices[0], d.devices[1]
	d.write(from, 100, 10, false)
	d.git("push", "-C", filepath.Join(from.dir, "git"), "push", "-q", fileURL(d.theirs), logRefs)
	d.shedbook("send", from, "sync")
	d.git("fetch", "-C", d.copied, "fetch", "-q", fileURL(d.theirs), logRefs)
	d.shedbook("take in", to, "sync")
}

// idle exchanges with nothing to do; git takes a fetch and a push for it.
func (d *timed) idle() {
	d.shedbook("nothing new", d.devices[1], "sync")
	d.git("idle fetch", "-C", d.copied, "fetch", "-q", fileURL(d.theirs), logRefs)
	d.git("idle push", "-C", d.copied, "push", "-q", fileURL(d.theirs), logRefs)
}

// BenchmarkSync times sending and taking in 1,000 entries in 100 runs beside git push and git fetch: in a book that has no others, and in one of
// 10,000, which taking in has to load, as what an entry cites must be there and whoever wrote it must be admitted.
func BenchmarkSync(b *testing.B) {
	for _, size := range []int{0, 10_000} {
		b.Run(fmt.Sprint(size), func(b *testing.B) {
			s := newSpeed(b)
			for b.Loop() {
				d := s.book(size)
				for range timedRounds {
					if size == 0 {
						d = s.book(0)
					}
					d.send()
				}
			}
			s.compare("send/push", "send", "push")
			s.compare("take/fetch", "take in", "fetch")
		})
	}
}

// BenchmarkJoin times taking part in a book of 10,000 entries, every signature and chain of which is verified, beside git clone --bare of the same
// repository, and of one with the same content that git has packed itself, the way it copies fastest.
func BenchmarkJoin(b *testing.B) {
	s := newSpeed(b)
	for b.Loop() {
		d := s.book(10_000)
		for range timedRounds {
			one := d.devices[0].another()
			s.git("clone", "clone", "-q", "--bare", fileURL(d.stick), filepath.Join(b.TempDir(), "clone.git"))
			s.git("clone, git's packs", "clone", "-q", "--bare", fileURL(d.theirs), filepath.Join(b.TempDir(), "clone.git"))
			s.shedbook("join", one, "join", d.stick, one.dir, "--only-read")
		}
	}
	s.compare("join/clone", "join", "clone")
	s.compare("join/repacked", "join", "clone, git's packs")
}

// BenchmarkIdleSync times a sync with nothing to do in a book of 100,000 entries, beside a git fetch and a git push with nothing to do.
func BenchmarkIdleSync(b *testing.B) {
	s := newSpeed(b)
	for b.Loop() {
		d := s.book(100_000)
		for range timedRounds {
			d.idle()
		}
	}
	s.compare("idle/idle", "nothing new", "idle fetch", "idle push")
}

// BenchmarkDay times a day's commands in a book of 10,000 entries.
func BenchmarkDay(b *testing.B) {
	s := newSpeed(b)
	for b.Loop() {
		d := s.book(10_000).devices[0]
		for range timedRounds {
			s.shedbook("due", d, "due")
			s.shedbook("show", d, "show", "drill", "opener/12")
			s.shedbook("did", d, "did", "drill", "grease", "but", "14,31", "--done", "2026-01-01", "--yes")
		}
	}
	for _, name := range []string{"due", "show", "did"} {
		b.Logf("%-12s %7.1f ms (the cores work %7.1f ms); medians of %d", name, median(s.walls[name]).Seconds()*1e3, median(s.works[name]).Seconds()*1e3, len(s.walls[name]))
	}
}
