package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"
)

// TestSoak has eight devices share one book for a made-up spring: they record, correct and strike, sync through three places, out of reach of each other for
// a while, at once, and killed in the middle; one folder is copied, one restored from a backup, one stolen, and two owners stop each other. In the end all
// books answer alike to the byte, and every entry that was acknowledged is in each of them once.
//
// The plain tests make 60 steps through folders; the full ones 450, SHEDBOOK_SOAK says otherwise, through a folder, git's http server and sshd. The steps are those of
// SHEDBOOK_SEED, which a failure prints; where a kill strikes is the machine's to say.
func TestSoak(t *testing.T) {
	steps, seed := 60, uint64(20260401)
	if fullTests {
		steps = 450
	}
	if n, err := strconv.Atoi(os.Getenv("SHEDBOOK_SOAK")); err == nil {
		steps = n
	}
	if n, err := strconv.ParseUint(os.Getenv("SHEDBOOK_SEED"), 10, 64); err == nil {
		seed = n
	}
	s := newSoak(t, seed)
	t.Cleanup(func() {
		if t.Failed() {
			t.Logf("again: SHEDBOOK_SEED=%d SHEDBOOK_SOAK=%d", seed, steps)
		}
	})
	for i := range steps {
		s.stage(i, steps)
		s.step()
		s.now = s.now.Add(time.Duration(5+s.draw(30)) * time.Minute)
	}
	s.heal()
	s.verify()
	t.Logf("seed %d, %d steps: %v; %d entries acknowledged", seed, steps, s.counts(), len(s.acknowledged))
}

// soak is eight devices of one book and what became of them.
type soak struct {
	t       *testing.T
	random  *rand.Rand
	now     time.Time
	places  []meeting
	devices []*soakDevice

	acknowledged map[string]string // id of each entry that was answered for, and by whom
	mu           sync.Mutex
	did          map[string]int
	area         int // the drill's acres so far
}

// meeting is a place where books meet.
type meeting struct {
	url   string
	flags []string
}

// soakDevice is a folder, keys and a clock that is wrong in its own way.
type soakDevice struct {
	s      *soak
	name   string
	dir    string // of book and keys
	skew   time.Duration
	joined bool
	copied bool // the key of another is on it
	thief  bool
	apart  []bool // like places: out of reach
	runs   int
	backup string
}

func newSoak(t *testing.T, seed uint64) *soak {
	s := &soak{t: t, random: rand.New(rand.NewPCG(seed, 8)), now: time.Date(2026, 3, 2, 6, 0, 0, 0, time.UTC), acknowledged: map[string]string{}, did: map[string]int{}, area: 1600}
	s.places = soakPlaces(t)
	for _, name := range []string{"Wren", "Juno", "Tia", "Moe", "Ada", "Pim", "copy", "thief"} {
		d := &soakDevice{s: s, name: name, dir: filepath.Join(t.TempDir(), name), skew: time.Duration(s.draw(144)-72) * time.Hour, apart: make([]bool, len(s.places))}
		if err := os.MkdirAll(d.dir, 0o700); err != nil {
			t.Fatal(err)
		}
		s.devices = append(s.devices, d)
	}
	wren := s.devices[0]
	wren.must("new", wren.book(), "--name", "Alder book", "--me", "Wren Alder", "--device", "Wren", "--farm", "Alder Farm", "--units", "us")
	wren.joined = true
	wren.must("machine", "add", "drill", "disc-drill", "--options", "openers=24", "--counter", "area=1600ac")
	wren.must("machine", "add", "tractor", "tractor", "--counter", "hours=3100h")
	s.exchange(wren, 0)
	for _, d := range s.devices[1:5] {
		s.join(d, 0)
	}
	s.exchange(wren, 0)
	wren.must("people", "admit", "Juno", "--role", "owner", "--yes")
	for _, name := range []string{"Tia", "Moe"} { // Ada and Pim wait until somebody thinks of them
		wren.must("people", "admit", name, "--yes")
	}
	s.exchange(wren, 0)
	for _, d := range s.devices[1:5] {
		s.exchange(d, 0)
	}
	return s
}

func (s *soak) draw(n int) int { return s.random.IntN(n) }

func (s *soak) count(what string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.did[what]++
}

func (s *soak) counts() string {
	var out []string
	for what, n := range s.did {
		out = append(out, fmt.Sprintf("%d %s", n, what))
	}
	slices.Sort(out)
	return strings.Join(out, ", ")
}

func (d *soakDevice) book() string { return filepath.Join(d.dir, "book") }

// vars are what the environment says on the device.
func (d *soakDevice) vars() map[string]string {
	return map[string]string{"SHEDBOOK_CONFIG": filepath.Join(d.dir, "config"), "SHEDBOOK_BOOK": d.book(), "COLUMNS": "120", "HOME": d.dir}
}

func (d *soakDevice) clock() time.Time { return d.s.now.Add(d.skew).Truncate(time.Minute) }

// run runs a command on the device, in this process.
func (d *soakDevice) run(args ...string) (stdout, stderr string, code int) {
	var o, e bytes.Buffer
	d.runs++
	vars, now := d.vars(), d.clock()
	code = run(&env{stdin: strings.NewReader(""), stdout: &o, stderr: &e, getenv: func(k string) string { return vars[k] }, now: func() time.Time { return now },
		random: rand.NewChaCha8(sha256.Sum256(fmt.Appendf(nil, "%s %d %v", d.dir, d.runs, args))), dir: d.dir}, args)
	return o.String(), e.String(), code
}

func (d *soakDevice) must(args ...string) string {
	d.s.t.Helper()
	o, e, code := d.run(args...)
	if code != 0 {
		d.s.t.Fatalf("%s: shedbook %s: exit %d\n%s%s", d.name, strings.Join(args, " "), code, o, e)
	}
	return o
}

// record runs a command that records, and keeps what it answers for. It may be refused, but only as a command is: with a reason.
func (d *soakDevice) record(args ...string) bool {
	d.s.t.Helper()
	o, e, code := d.run(append(args, "--yes", "--json")...)
	d.answered(o)
	switch code {
	case 0:
		d.s.count("recorded")
		return true
	case exitFailed, exitUsage:
		d.s.count("refused")
		if !strings.Contains(o, `"error"`) && !strings.HasPrefix(e, "shedbook: ") {
			d.s.t.Errorf("%s: %v: exit %d without a reason: %s%s", d.name, args, code, o, e)
		}
		if os.Getenv("SHEDBOOK_SOAK_SAY") != "" {
			d.s.t.Logf("%s: %v: %s%s", d.name, args, o, e)
		}
	default:
		d.s.t.Errorf("%s: %v: exit %d\n%s%s", d.name, args, code, o, e)
	}
	return false
}

// answered keeps the ids that an answer in JSON names.
func (d *soakDevice) answered(out string) {
	var a struct {
		Recorded []struct{ ID string } `json:"recorded"`
	}
	if json.Unmarshal([]byte(out), &a) != nil {
		return // cut off by a kill, or an error
	}
	d.s.mu.Lock()
	defer d.s.mu.Unlock()
	for _, r := range a.Recorded {
		d.s.acknowledged[r.ID] = d.name
	}
}

// work is a random thing to say in the shed.
func (s *soak) work(d *soakDevice) []string {
	opener := strconv.Itoa(1 + s.draw(24))
	done := []string{"--done", d.clock().Add(-time.Duration(s.draw(72)) * time.Hour).Format("2006-01-02T15:04")}
	var line []string
	switch s.draw(10) {
	case 0, 1:
		line = []string{"did", "drill", "grease"}
	case 2:
		line = []string{"did", "drill", "grease", "but", opener}
	case 3:
		line = []string{"adjust", "drill", opener, "depth=" + strconv.Itoa(4+s.draw(4))}
	case 4:
		line = []string{"measure", "drill", opener, "disc-reach", fmt.Sprintf("5.%d", 1+s.draw(9))}
	case 5:
		line = []string{"swap", "drill", opener, "disc", "--why", "worn"}
	case 6:
		line = []string{"fault", "drill", opener, "hub runs warm", "--winter"}
	case 7:
		line = []string{"note", "tractor", "greased beside the creek, " + opener}
	case 8:
		s.area += s.draw(20)
		line = []string{"counter", "drill", "area=" + strconv.Itoa(s.area) + "ac"}
	default:
		line = []string{"repair", "tractor", "hose " + opener + " clamped"}
	}
	return append(line, done...)
}

// step is one thing that somebody does.
func (s *soak) step() {
	d := s.devices[s.draw(len(s.devices))]
	place := s.draw(len(s.places))
	what := s.draw(100)
	line := s.work(d)
	delay := time.Duration(s.draw(120)) * time.Millisecond
	if !d.joined {
		if d.name == "Pim" && what < 20 && !d.apart[place] {
			s.join(d, place)
		}
		return
	}
	switch {
	case what < 52:
		d.record(line...)
	case what < 56:
		if id := s.some(d); id != "" {
			d.record("strike", id)
		}
	case what < 59:
		if id := s.some(d); id != "" {
			d.record("correct", id, "--done", d.clock().Add(-time.Hour).Format("2006-01-02T15:04"))
		}
	case what < 80:
		s.exchange(d, place)
	case what < 84: // two at once
		other := s.devices[(slices.Index(s.devices, d)+1+s.draw(len(s.devices)-1))%len(s.devices)]
		var both sync.WaitGroup
		both.Go(func() { s.exchange(d, place) })
		if other.joined {
			both.Go(func() { s.exchange(other, place) })
		}
		both.Wait()
		s.count("syncs at once")
	case what < 90:
		if what < 87 {
			line = []string{"sync", s.places[place].url}
			line = append(line, s.places[place].flags...)
		} else {
			line = append(line, "--yes", "--json")
		}
		s.kill(d, delay, line)
	case what < 95:
		d.apart[place] = !d.apart[place]
		s.count("partitions begun or ended")
	default:
		s.admit()
	}
}

// some is an entry that was acknowledged, by preference the device's own; "" if there is none.
func (s *soak) some(d *soakDevice) string {
	var ids []string
	for id, by := range s.acknowledged {
		if by == d.name {
			ids = append(ids, id)
		}
	}
	if len(ids) == 0 {
		return ""
	}
	slices.Sort(ids)
	return ids[s.draw(len(ids))][:12]
}

// exchange syncs with a place, where it is in reach.
func (s *soak) exchange(d *soakDevice, place int) bool {
	if d.apart[place] {
		s.count("syncs out of reach")
		return false
	}
	o, e, code := d.run(append([]string{"sync", s.places[place].url}, s.places[place].flags...)...)
	switch code {
	case 0:
		s.count("syncs")
		return strings.HasPrefix(o, "nothing new on either side")
	case exitFailed, exitNoExchange: // somebody else was quicker
		s.count("syncs to be said again")
		if os.Getenv("SHEDBOOK_SOAK_SAY") != "" {
			s.t.Logf("%s: %s%s", d.name, o, e)
		}
	default:
		s.t.Errorf("%s: sync %s: exit %d\n%s%s", d.name, s.places[place].url, code, o, e)
	}
	return false
}

func (s *soak) join(d *soakDevice, place int) {
	d.must(append([]string{"join", s.places[place].url, d.book(), "--me", d.name + " Alder", "--device", d.name, "--units", "us", "--json"}, s.places[place].flags...)...)
	d.joined = true
	s.count("joins")
}

// admit has an owner look who asks.
func (s *soak) admit() {
	for _, owner := range s.devices[:2] {
		out, _, code := owner.run("people", "list", "--json")
		var list struct {
			People []struct {
				Devices []struct {
					Label string   `json:"label"`
					State string   `json:"state"`
					Words []string `json:"words"`
				} `json:"devices"`
			} `json:"people"`
		}
		if code != 0 || json.Unmarshal([]byte(out), &list) != nil {
			s.t.Errorf("people list: exit %d: %s", code, out)
			continue
		}
		for _, p := range list.People {
			for _, d := range p.Devices {
				if d.State != "asks to take part" {
					continue
				}
				args := append([]string{"people", "admit"}, d.Words...)
				if n := strings.Fields(d.Label); len(n) > 1 {
					args = append(args, "--person", n[0]+" Alder")
				}
				if owner.record(args...) {
					s.count("admissions")
				} else {
					s.count("admissions refused")
				}
			}
		}
	}
}

// kill runs a command in a process of its own and kills it after a while, if it has not ended by then.
func (s *soak) kill(d *soakDevice, after time.Duration, args []string) {
	exe, err := os.Executable()
	if err != nil {
		s.t.Fatal(err)
	}
	d.runs++
	ctx, cancel := context.WithTimeout(context.Background(), after)
	defer cancel()
	cmd := exec.CommandContext(ctx, exe)
	cmd.Args = append([]string{"shedbook"}, args...)
	for k, v := range d.vars() {
		cmd.Env = append(cmd.Env, k+"="+v)
	}
	cmd.Env = append(cmd.Env, "PATH="+os.Getenv("PATH"), "SHEDBOOK_TEST_NOW="+d.clock().Format("2006-01-02T15:04"), fmt.Sprintf("SHEDBOOK_TEST_SEED=%s %d", d.dir, d.runs))
	var out bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, io.Discard
	_ = cmd.Run()
	d.answered(out.String())
	if ctx.Err() != nil {
		s.count("kills")
	} else {
		s.count("quicker than the kill")
	}
}
