package main

import (
	"encoding/json"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"shedbook/ledger"
)

// stage does what is bound to happen once, each at its share of the way.
func (s *soak) stage(i, steps int) {
	at := func(share int) bool { return i == steps*share/100 }
	juno, tia, moe, ada := s.devices[1], s.devices[2], s.devices[3], s.devices[4]
	wren, copied, thief := s.devices[0], s.devices[6], s.devices[7]
	switch {
	case at(20): // Tia copies her folder and keys to another laptop, and goes on with both
		s.copyTo(tia, copied)
	case at(25):
		moe.backup = filepath.Join(moe.dir, "backup")
		s.copyDir(moe.book(), moe.backup)
	case at(30): // in case chance did not: each side writes one entry, so the log forks
		tia.record("note", "drill", "from the old laptop")
		copied.record("note", "drill", "from the new laptop")
	case at(40): // the copy is noticed: both go on with new keys
		for _, d := range []*soakDevice{tia, copied} {
			s.reachable(d)
			s.freshKey(d)
		}
	case at(45): // Moe's disk dies; the backup does not know what was written since, and the last entry nobody else ever saw
		s.reachable(moe)
		before := maps.Clone(s.acknowledged)
		moe.record("note", "drill", "on the dead disk only")
		s.acknowledged = before
		s.must(os.RemoveAll(moe.book()))
		s.must(os.Rename(moe.backup, moe.book()))
		s.freshKey(moe)
	case at(55): // Ada's laptop is stolen, keys and all
		if !s.admitted(ada) {
			s.reachable(ada, wren)
			s.admit()
		}
		s.reachable(ada, wren)
		s.copyTo(ada, thief)
		thief.thief = true
		ada.record("note", "drill", "Ada's last by her own hand")
		thief.record("note", "drill", "the thief's")
		s.reachable(ada, thief, wren, ada)
	case at(70): // Ada starts a new key; Wren stops the old one at what Ada knows to be hers
		s.reachable(ada, thief, wren)
		s.stopTheft(wren, ada)
		s.freshKey(ada)
		thief.record("note", "drill", "the thief's, with a date of last month", "--done", "2026-02-20")
	case at(80): // two owners fall out while apart from each other
		for p := range s.places {
			wren.apart[p], juno.apart[p] = true, true
		}
		wren.record("people", "stop", "Juno", "--why", "theft")
		s.stopAnyway(juno, "Wren")
		juno.record("note", "drill", "Juno goes on")
	case at(88):
		for p := range s.places {
			wren.apart[p], juno.apart[p] = false, false
		}
	}
}

func (s *soak) must(err error) {
	s.t.Helper()
	if err != nil {
		s.t.Fatal(err)
	}
}

// reachable has devices sync through one place, all in turn, twice.
func (s *soak) reachable(devices ...*soakDevice) {
	for range 2 {
		for _, d := range devices {
			was := d.apart[0]
			d.apart[0] = false
			s.exchange(d, 0)
			d.apart[0] = was
		}
	}
}

// freshKey starts a new key on a device, as its answer to a refusal says.
func (s *soak) freshKey(d *soakDevice) {
	o, e, code := d.run("people", "key", "--new", "--json", "--yes")
	if code != 0 {
		s.t.Errorf("%s: a new key: exit %d\n%s%s", d.name, code, o, e)
	}
	d.copied = false
	s.count("new keys")
}

func (s *soak) admitted(d *soakDevice) bool {
	out, _, _ := d.run("people", "key", "--json")
	return strings.Contains(out, `"state":"takes part"`)
}

// stopTheft has an owner stop a device's key at the last entry that the device itself wrote.
func (s *soak) stopTheft(owner, d *soakDevice) {
	last := ""
	out, _, _ := d.run("history", "--json", "--all")
	for _, part := range strings.Split(out, `{"id":"`)[1:] {
		if strings.Contains(part, "Ada's last by her own hand") {
			last = part[:64]
		}
	}
	if last == "" {
		s.t.Error("Ada's last entry is not in her history")
		return
	}
	owner.record("people", "stop", "Ada", "--why", "theft", "--last", last)
	s.count("thefts")
}

// stopAnyway writes a stop that the command would refuse, as an altered program does: of the founder, by another owner.
func (s *soak) stopAnyway(owner *soakDevice, name string) {
	c := (&testBook{t: s.t, dir: owner.book(), vars: owner.vars(), now: owner.clock(), rand: rand.NewChaCha8([32]byte{5})}).call()
	s.must(c.write(func(w *writing) error {
		for _, d := range w.judged.Devices() {
			if d.Label != name {
				continue
			}
			stop := ledger.Stop{Writer: d.Writer, Why: ledger.WhyTheft, Tips: []ledger.Tip{}}
			for _, t := range d.Tips {
				stop.Tips = append(stop.Tips, ledger.Tip{ID: t.ID, Seq: t.Seq})
			}
			_, err := w.sign(ledger.Draft{Class: ledger.Control, Kind: ledger.KindStop, Record: stop})
			return err
		}
		return fmt.Errorf("there is no device %s", name)
	}))
	s.count("stops of a senior")
}

func (s *soak) copyTo(from, to *soakDevice) {
	for _, name := range []string{"book", "config"} {
		s.copyDir(filepath.Join(from.dir, name), filepath.Join(to.dir, name))
	}
	to.skew, to.joined, to.copied = from.skew, true, true
	s.count("copies")
}

func (s *soak) copyDir(from, to string) {
	s.must(os.RemoveAll(to))
	s.must(os.CopyFS(to, os.DirFS(from)))
	s.must(filepath.WalkDir(filepath.Join(to), func(path string, e os.DirEntry, err error) error {
		if err == nil && !e.IsDir() && strings.Contains(path, "keys") {
			return os.Chmod(path, 0o600)
		}
		return err
	}))
}

// heal ends all partitions and syncs until nothing is new anywhere.
func (s *soak) heal() {
	for _, d := range s.devices {
		d.apart = make([]bool, len(s.places))
		if !d.joined {
			s.join(d, 0)
		}
	}
	for round := range 10 {
		quiet := true
		for _, d := range s.devices {
			for p := range s.places {
				quiet = s.exchange(d, p) && quiet
			}
		}
		if quiet {
			return
		}
		if round == 2 {
			s.admit() // whoever still waits
		}
	}
	s.t.Error("after ten rounds there is still something new")
}

// verify holds the eight books to each other and to what was acknowledged.
func (s *soak) verify() {
	on := s.now.AddDate(0, 0, 7).Format("2006-01-02")
	lines := [][]string{
		{"show", "drill", "--json", "--on", on}, {"show", "tractor", "--json", "--on", on}, {"show", "--json", "--on", on}, {"due", "--json", "--on", on},
		{"history", "--json", "--all", "--on", on}, {"people", "list", "--json"}, {"audit", "--json"},
	}
	first := s.devices[0]
	var want []string
	for _, line := range lines {
		o, e, code := s.answerOf(first, line)
		if code != 0 {
			s.t.Fatalf("%s: %v: exit %d\n%s%s", first.name, line, code, o, e)
		}
		want = append(want, o)
	}
	for _, d := range s.devices[1:] {
		for i, line := range lines {
			o, e, code := s.answerOf(d, line)
			if o != want[i] || code != 0 {
				s.t.Errorf("%s: %v differs from %s's (exit %d, %s)\n%s", d.name, line, first.name, code, e, firstDifference(want[i], o))
			}
		}
	}
	if out := want[len(want)-1]; !strings.Contains(out, "no-effect") || !strings.Contains(out, "after-stop") {
		s.t.Errorf("the audit does not say that Juno's stop has no effect and that the thief wrote after a stop:\n%s", out)
	}
	for _, what := range []string{"admissions", "new keys", "thefts", "copies", "stops of a senior"} {
		if s.did[what] == 0 {
			s.t.Errorf("the soak made no %s: %s", what, s.counts())
		}
	}
	s.present()
	if git, err := exec.LookPath("git"); err == nil && fullTests {
		for _, d := range s.devices {
			if out, err := exec.Command(git, "-c", "safe.directory=*", "-C", filepath.Join(d.book(), "git"), "fsck", "--strict", "--no-dangling").CombinedOutput(); err != nil {
				s.t.Errorf("%s: git fsck: %v\n%s", d.name, err, out)
			}
		}
	}
}

// findings are an audit's, sorted, without the name under which a forked log lies here: which of two chains came first differs from device to device.
func (s *soak) findings(out string) string {
	var a map[string]any
	if json.Unmarshal([]byte(out), &a) != nil {
		return out
	}
	list, _ := a["findings"].([]any)
	var lines []string
	for _, f := range list {
		m := f.(map[string]any)
		delete(m, "log")
		delete(m, "line")
		text, _ := json.Marshal(m)
		lines = append(lines, string(text))
	}
	slices.Sort(lines)
	a["findings"] = lines
	text, err := json.Marshal(a)
	s.must(err)
	return string(text)
}

// answerOf is what a device answers, its clock set to everybody's.
func (s *soak) answerOf(d *soakDevice, line []string) (stdout, stderr string, code int) {
	skew := d.skew
	defer func() { d.skew = skew }()
	d.skew = 7 * 24 * time.Hour
	stdout, stderr, code = d.run(line...)
	if line[0] == "audit" {
		stdout = s.findings(stdout)
	}
	return stdout, stderr, code
}

// present wants every acknowledged entry in every book, and in its history once.
func (s *soak) present() {
	for _, d := range s.devices {
		c := &testBook{t: s.t, dir: d.book(), vars: d.vars(), now: d.clock()}
		bk, err := c.call().open()
		if err != nil {
			s.t.Errorf("%s: %v", d.name, err)
			continue
		}
		held := map[string]int{}
		for _, e := range bk.log.Entries() {
			held[e.ID().String()]++
		}
		for id, by := range s.acknowledged {
			if held[id] != 1 {
				s.t.Errorf("%s: entry %s, acknowledged to %s, is held %d times", d.name, id, by, held[id])
			}
		}
		out, _, _ := d.run("history", "--json", "--all")
		told := map[string]int{}
		for _, part := range strings.Split(out, `{"id":"`)[1:] {
			told[part[:64]]++
		}
		for id, n := range told {
			if n > 1 {
				s.t.Errorf("%s: history tells entry %s %d times", d.name, id, n)
			}
		}
		if len(told) < len(s.acknowledged)/4 {
			s.t.Errorf("%s: history tells %d entries of %d", d.name, len(told), len(s.acknowledged))
		}
	}
}

// firstDifference shows where two texts part.
func firstDifference(a, b string) string {
	n := 0
	for n < min(len(a), len(b)) && a[n] == b[n] {
		n++
	}
	from := max(0, n-200)
	return fmt.Sprintf("at %d:\n...%s\n...%s", n, a[from:min(len(a), n+300)], b[from:min(len(b), n+300)])
}
