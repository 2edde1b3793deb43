package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"

	"shedbook/ledger"
	"shedbook/ledger/gitstore"
	"shedbook/rules"
)

// longRounds is how often each side of a comparison runs, by turns; the median is said.
const longRounds = 5

// long is the books of a long history that speed is measured on: a great one and a small one.
type long struct {
	*speed
	big, small   *testBook
	bigN, smallN int // entries wanted of each
}

// BenchmarkLong times what a family does on a book of 50 machines, ten devices and ten years: commands as whole processes, beside the other side of each
// comparison, by turns. SHEDBOOK_BENCH says how many entries the great book has (10,000); the small one has 10,000, or 1,000 beside 10,000.
func BenchmarkLong(b *testing.B) {
	l := &long{bigN: 10_000, smallN: 1_000}
	if text := os.Getenv("SHEDBOOK_BENCH"); text != "" {
		n, err := strconv.Atoi(text)
		if err != nil || n < 1_000 {
			b.Fatalf("SHEDBOOK_BENCH=%q: write a number of entries from 1000 on", text)
		}
		if l.bigN = n; n > 10_000 {
			l.smallN = 10_000
		}
	}
	if os.Getenv("SHEDBOOK_BENCH_DIR") == "" {
		b.Setenv("SHEDBOOK_BENCH_DIR", b.TempDir()) // each book is made once
	}
	l.speed = newSpeed(b)
	l.small = historyBook(b, l.smallN, 1).copied()
	l.big = historyBook(b, l.bigN, 1).copied()
	for _, row := range []struct {
		name string
		run  func(*long)
	}{
		{"load", (*long).load}, {"warm", (*long).warm}, {"nothing", (*long).beside}, {"after", (*long).after}, {"adjust", (*long).adjusting}, {"import", (*long).imported},
		{"audit", (*long).audited}, {"sync", (*long).idle}, {"size", (*long).size}, {"year", (*long).year},
	} {
		b.Run(row.name, func(b *testing.B) {
			mine := *l
			s := *l.speed
			s.b, mine.speed = b, &s
			l.big.t, l.small.t = b, b
			for range b.N { // once, with -benchtime 1x
				row.run(&mine)
			}
		})
	}
}

// say prints a line: ours, theirs, how many times as long ours is; ours and theirs are names under which walls were kept, theirs added up.
func (l *long) say(what, ours string, theirs ...string) {
	l.b.Helper()
	var other time.Duration
	for _, name := range theirs {
		other += median(l.walls[name])
	}
	own := median(l.walls[ours])
	l.b.ReportMetric(own.Seconds()/other.Seconds(), strings.ReplaceAll(ours, " ", "-")+"/theirs")
	l.b.Logf("%-46s ours %9.1f ms, theirs %9.1f ms, %6.2f times (%s beside %s; medians of %d; the cores work %.1f ms)", what, own.Seconds()*1e3, other.Seconds()*1e3,
		own.Seconds()/other.Seconds(), ours, strings.Join(theirs, " + "), len(l.walls[ours]), median(l.works[ours]).Seconds()*1e3)
}

// peak prints the most memory a command held.
func (l *long) peak(what, name string) {
	l.b.Helper()
	l.b.ReportMetric(float64(l.peaks[name])/(1<<20), strings.ReplaceAll(name, " ", "-")+"-MB")
	l.b.Logf("%-46s ours %9.1f MB at most", what, float64(l.peaks[name])/(1<<20))
}

// inside times work in this process.
func (l *long) inside(name string, fn func()) {
	runtime.GC()
	start := time.Now()
	fn()
	took := time.Since(start)
	l.walls[name], l.works[name] = append(l.walls[name], took), append(l.works[name], took)
}

// cold forgets what is at hand beside a book: its cache folder is disposable.
func (l *long) cold(d *testBook) {
	l.b.Helper()
	if err := os.RemoveAll(filepath.Join(d.dir, "cache")); err != nil {
		l.b.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(d.dir, "cache"), 0o777); err != nil {
		l.b.Fatal(err)
	}
}

// load: reading every entry with its digests and chain checked, and replaying all, with no cache. Beside it: git printing all log files, and encoding/json
// decoding the same lines on one core.
func (l *long) load() {
	lines := l.lines(l.big)
	files := l.logFiles(l.big)
	for range longRounds {
		l.cold(l.big)
		l.shedbook("due cold", l.big, "due")
		l.inside("load and replay", func() { l.loaded(l.big) })
		c := exec.Command("git", "-C", filepath.Join(l.big.dir, "git"), "cat-file", "--batch")
		c.Stdin = strings.NewReader(files)
		start := time.Now()
		if err := c.Run(); err != nil { // what it prints goes to nowhere
			l.b.Fatal(err)
		}
		l.walls["cat-file"] = append(l.walls["cat-file"], time.Since(start))
		cores := runtime.GOMAXPROCS(1)
		l.inside("json", func() {
			for _, line := range lines {
				var v any
				if err := json.Unmarshal(line, &v); err != nil {
					l.b.Fatal(err)
				}
			}
		})
		runtime.GOMAXPROCS(cores)
	}
	what := fmt.Sprintf("cold load and replay of %d", len(lines))
	l.say(what, "load and replay", "cat-file")
	l.say(what, "load and replay", "json")
	l.say("cold due, whole process", "due cold", "cat-file")
	l.peak("cold due, whole process", "due cold")
}

// loaded reads and replays a book as a command without a cache does.
func (l *long) loaded(d *testBook) *rules.State {
	l.b.Helper()
	store, err := gitstore.Open(d.dir)
	if err != nil {
		l.b.Fatal(err)
	}
	defer store.Close()
	logs, err := store.Logs()
	if err != nil {
		l.b.Fatal(err)
	}
	log, err := ledger.LoadPinned(store.BookID(), logs)
	if err != nil {
		l.b.Fatal(err)
	}
	judged := log.Judge()
	var counting []*ledger.Entry
	devices := map[ledger.Writer]ledger.Device{}
	for _, dev := range judged.Devices() {
		devices[dev.Writer] = dev
	}
	for _, e := range log.Entries() {
		if judged.Status(e) == ledger.Counts && e.Class() != ledger.Control {
			counting = append(counting, e)
		}
	}
	adapted := make([]rules.Entry, len(counting))
	onAllCores(len(counting), func(i int) {
		e := counting[i]
		dev := devices[e.Writer()]
		adapted[i] = rules.Adapt(e, dev.Person.String(), dev.Role != ledger.RoleWorker, log.KnownAt(e).UTC().Format("2006-01-02"))
	})
	st, err := rules.Replay(adapted, rules.Options{On: historyDay(historyDays).Format("2006-01-02")})
	if err != nil {
		l.b.Fatal(err)
	}
	if len(st.Machines) != 50 {
		l.b.Fatalf("%d machines", len(st.Machines))
	}
	return st
}

// lines are the entries of a book as they are stored.
func (l *long) lines(d *testBook) [][]byte {
	l.b.Helper()
	store, err := gitstore.Open(d.dir)
	if err != nil {
		l.b.Fatal(err)
	}
	defer store.Close()
	logs, err := store.Logs()
	if err != nil {
		l.b.Fatal(err)
	}
	var lines [][]byte
	for _, log := range logs {
		lines = append(lines, log.Lines...)
	}
	return lines
}

// told is what git answers.
func (l *long) told(args ...string) string {
	l.b.Helper()
	c := exec.Command("git", args...)
	c.Env = append(os.Environ(), "GIT_CONFIG_GLOBAL="+os.DevNull, "GIT_CONFIG_NOSYSTEM=1")
	var failed bytes.Buffer
	c.Stderr = &failed
	out, err := c.Output()
	if err != nil {
		l.b.Fatalf("%v: %v\n%s", c.Args, err, failed.String())
	}
	return string(out)
}

// logFiles names the files of all logs as git cat-file takes them, one a line.
func (l *long) logFiles(d *testBook) string {
	l.b.Helper()
	dir := filepath.Join(d.dir, "git")
	var names strings.Builder
	for _, ref := range strings.Fields(l.told("-C", dir, "for-each-ref", "--format=%(refname)", "refs/heads/log")) {
		for _, line := range strings.Split(strings.TrimSpace(l.told("-C", dir, "ls-tree", "-r", ref, "log/")), "\n") {
			names.WriteString(strings.Fields(line)[2] + "\n")
		}
	}
	return names.String()
}
