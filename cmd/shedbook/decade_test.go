package main

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"shedbook/ledger"
)

// TestDecade keeps one book on five devices for ten made-up years (the plain tests: some weeks), every command through the command line's own code: each device
// records twice every eighth week and syncs with a stick now and then, one of them once a year only. On the way a newer program writes what this one does not know, and what
// lies in the cache folders is lost, cut short or of another program. In the end all five answer alike, each entry answered for is in all of them, everything verifies,
// and neither files, handles nor memory have grown but with the entries.
func TestDecade(t *testing.T) {
	weeks := 12
	if fullTests {
		weeks = 520
	}
	d := newDecade(t)
	handles, heap := openHandles(), heapInUse()
	for week := range weeks {
		d.week(week)
	}
	d.at = d.at.Add(24 * time.Hour)
	for range 2 {
		for i := range d.devices {
			d.sync(i)
		}
	}
	d.verify()
	if now := openHandles(); now > handles {
		t.Errorf("%d files are open, %d at the beginning", now, handles)
	}
	if now := heapInUse(); now > heap+(32<<20) {
		t.Errorf("%d MB of memory are in use, %d at the beginning", now>>20, heap>>20)
	}
	var size, entries int64
	for i, b := range d.devices {
		loose := d.looseFiles(b)
		if i == 0 {
			entries = int64(d.entries(b))
			size, _ = spaceIn(t, filepath.Join(b.dir, "git", "objects", "pack"))
		}
		if loose >= 2_000 { // of a year, the aim is; here of all years, for what is loose is packed as one goes
			t.Errorf("device %d: %d loose files", i, loose)
		}
	}
	if most := entries*1_800 + 200_000; size > most { // 1,350 a run in a great book made in one go; more while many small packs lie side by side
		t.Errorf("%d entries take %d bytes, more than %d", entries, size, most)
	}
	t.Logf("%d weeks: %d entries, %d bytes in packs on the first device", weeks, entries, size)
}

// decade is the five devices and what was answered for.
type decade struct {
	t       *testing.T
	at      time.Time
	random  *rand.Rand
	devices []*testBook
	stick   string
	area    int
	ids     []string
}

func newDecade(t *testing.T) *decade {
	d := &decade{t: t, at: time.Date(2026, 3, 2, 6, 0, 0, 0, time.UTC), random: rand.New(rand.NewPCG(10, 5)), stick: filepath.Join(t.TempDir(), "stick")}
	first := newTestBook(t)
	first.now = d.at
	first.must("machine", "add", "drill", "disc-drill", "--options", "openers=24", "--counter", "area=0ac")
	first.must("machine", "add", "tractor", "tractor", "--counter", "hours=3100h")
	first.must("sync", d.stick)
	d.devices = []*testBook{first}
	for i := range 4 {
		name := fmt.Sprint("hand ", i+1)
		d.devices = append(d.devices, first.admitted(d.stick, name+" Alder", name))
	}
	return d
}

// week is what happens in one.
func (d *decade) week(n int) {
	for i := range d.devices {
		d.at = d.at.Add(9 * time.Hour)
		if (n+i)%8 == 0 {
			d.record(i, n)
			d.record(i, n+2)
		}
		if every := []int{4, 8, 8, 12, 52}[i]; n%every == 0 {
			d.sync(i)
		}
	}
	switch n % 130 {
	case 2:
		d.future(1)
	case 3:
		d.spoil(2)
	}
	d.at = d.at.Add((7*24 - 5*9) * time.Hour)
}

func (d *decade) record(i, n int) {
	b := d.devices[i]
	b.now = d.at
	opener := fmt.Sprint(1 + d.random.IntN(24))
	var line []string
	switch (n/2 + i) % 8 {
	case 0, 1:
		d.area += 20 + d.random.IntN(60)
		line = []string{"counter", "drill", fmt.Sprintf("area=%dac", d.area)}
	case 2:
		line = []string{"did", "drill", "grease", "but", opener}
	case 3:
		line = []string{"measure", "drill", opener, "disc-reach", fmt.Sprintf("5.%d", 1+d.random.IntN(9))}
	case 4:
		line = []string{"swap", "drill", opener, "disc", "--why", "worn"}
	case 5:
		line = []string{"adjust", "drill", opener, fmt.Sprintf("depth=%d", 4+d.random.IntN(4))}
	case 6:
		line = []string{"note", "tractor", "greased beside the creek, week " + fmt.Sprint(n)}
	default:
		line = []string{"repair", "tractor", "hose " + opener + " clamped"}
	}
	var said struct {
		Recorded []struct{ ID string } `json:"recorded"`
	}
	if err := json.Unmarshal([]byte(b.must(append(line, "--yes", "--json")...)), &said); err != nil || len(said.Recorded) == 0 {
		d.t.Fatalf("%v: %v, %+v", line, err, said)
	}
	for _, r := range said.Recorded {
		d.ids = append(d.ids, r.ID)
	}
}

func (d *decade) sync(i int) {
	d.devices[i].now = d.at
	d.devices[i].must("sync", d.stick)
}

// future has a newer program on a device write what this one does not know.
func (d *decade) future(i int) {
	b := d.devices[i]
	b.now = d.at
	bk, err := b.call().open()
	if err != nil {
		d.t.Fatal(err)
	}
	defer bk.store.Close()
	signer, ring, err := bk.signer()
	if err != nil {
		d.t.Fatal(err)
	}
	if err := bk.writeSigned(signer, ring, func(w *writing) error {
		e, err := w.sign(ledger.Draft{Class: ledger.Shared, Kind: "weather", Record: map[string]any{"rain": "12 mm"}})
		if err == nil {
			d.ids = append(d.ids, e.ID().String())
		}
		return err
	}); err != nil {
		d.t.Fatal(err)
	}
}

// spoil damages what lies in a device's cache folder, each file in another way.
func (d *decade) spoil(i int) {
	dir := filepath.Join(d.devices[i].dir, "cache")
	files, err := os.ReadDir(dir)
	if err != nil {
		d.t.Fatal(err)
	}
	for n, f := range files {
		path := filepath.Join(dir, f.Name())
		data, err := os.ReadFile(path)
		if err != nil {
			continue // a folder
		}
		switch n % 3 {
		case 0:
			err = os.Remove(path)
		case 1:
			err = os.WriteFile(path, data[:len(data)/2], 0o666)
		default:
			err = os.WriteFile(path, append([]byte("a form of another program\n"), data...), 0o666)
		}
		if err != nil {
			d.t.Fatal(err)
		}
	}
}

// verify holds the five to one another.
func (d *decade) verify() {
	lines := [][]string{{"show", "drill", "--json"}, {"show", "tractor", "--json"}, {"due", "--json"}, {"due", "--json"}, {"history", "--json", "--all"}, {"people", "list", "--json"}, {"audit", "--json"}}
	var want []string
	for i, b := range d.devices {
		b.now = d.at
		for k, line := range lines {
			out := b.must(line...)
			if i == 0 {
				want = append(want, out)
			} else if out != want[k] && line[0] != "people" { // which tells this device from the others
				d.t.Errorf("device %d: %v\n%s", i, line, firstDifference(want[k], out))
			}
		}
		bk, err := b.call().open()
		if err != nil {
			d.t.Fatal(err)
		}
		for _, id := range d.ids {
			whole, err := ledger.ParseID(id)
			if err != nil {
				d.t.Fatal(err)
			}
			if bk.log.Entry(whole) == nil {
				d.t.Errorf("device %d has not entry %s", i, id)
			}
		}
		bk.store.Close()
		if git, err := exec.LookPath("git"); err == nil {
			if out, err := exec.Command(git, "-c", "safe.directory=*", "-C", filepath.Join(b.dir, "git"), "fsck", "--strict", "--no-dangling").CombinedOutput(); err != nil {
				d.t.Errorf("device %d: git fsck: %v\n%s", i, err, out)
			}
		}
	}
}

func (d *decade) entries(b *testBook) int {
	bk, err := b.call().open()
	if err != nil {
		d.t.Fatal(err)
	}
	defer bk.store.Close()
	return len(bk.log.Entries())
}

// looseFiles counts the files that hold one object each.
func (d *decade) looseFiles(b *testBook) int {
	files, err := filepath.Glob(filepath.Join(b.dir, "git", "objects", "??", "*"))
	if err != nil {
		d.t.Fatal(err)
	}
	return len(files)
}

// openHandles is how many files this process holds open, where the system tells; else 0.
func openHandles() int {
	files, err := os.ReadDir("/proc/self/fd")
	if err != nil {
		return 0
	}
	n := 0
	for _, f := range files { // those of other tests that run beside are none of ours
		if to, err := os.Readlink("/proc/self/fd/" + f.Name()); err == nil && strings.Contains(to, "TestDecade") {
			n++
		}
	}
	return n
}

func heapInUse() uint64 {
	runtime.GC()
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}
