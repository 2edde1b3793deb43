package gitstore

import (
	"context"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"pgregory.net/rapid"

	"shedbook/ledger"
)

// Three devices, two folders, any order of recording, exchanging and losing
// what a folder had: once all have exchanged with all, everybody holds every
// entry, each once, and none was lost.
func TestExchangeConverges(t *testing.T) {
	count := 4
	if full() {
		count = 150
	}
	rapidChecks(t, count, func(rt *rapid.T) {
		root, err := os.MkdirTemp(t.TempDir(), "run")
		if err != nil {
			rt.Fatal(err)
		}
		w := newYards(t, rt, root)
		steps := rapid.IntRange(5, 25).Draw(rt, "steps")
		for range steps {
			who := rapid.IntRange(0, 2).Draw(rt, "who")
			stick := w.sticks[rapid.IntRange(0, 1).Draw(rt, "stick")]
			switch what := rapid.IntRange(0, 9).Draw(rt, "what"); {
			case what < 4:
				w.record(who, rapid.IntRange(1, 120).Draw(rt, "entries"))
			case what < 9:
				w.exchange(who, stick)
			default:
				w.damage(stick, rapid.IntRange(0, 2).Draw(rt, "how"))
			}
		}
		for range 2 { // the second round brings what the first one put on the other stick
			for _, stick := range w.sticks {
				for who := range w.stores {
					w.exchange(who, stick)
				}
				for who := range w.stores {
					w.exchange(who, stick)
				}
			}
		}
		w.check()
		for who, s := range w.stores {
			for _, stick := range w.sticks {
				r, err := s.Sync(context.Background(), stick, SyncOptions{})
				if err != nil || !r.Idle() {
					rt.Fatalf("device %d, nothing to do: %+v, %v", who, r, err)
				}
			}
		}
	})
}

// rapidChecks runs a property a number of times: the same cases each time, but
// for the full count.
func rapidChecks(t *testing.T, count int, f func(*rapid.T)) {
	t.Helper()
	flags := map[string]string{"rapid.checks": fmt.Sprint(count), "rapid.shrinktime": "20s"}
	if !full() {
		flags["rapid.seed"] = "20260401"
	}
	for name, value := range flags {
		old := flag.Lookup(name).Value.String()
		if err := flag.Set(name, value); err != nil {
			t.Fatal(err)
		}
		defer flag.Set(name, old)
	}
	rapid.Check(t, f)
}

// yards is a made-up family's three devices and two sticks.
type yards struct {
	t       *testing.T
	rt      *rapid.T
	stores  []*Store
	devices []*device
	sticks  []string
	all     map[string]map[ledger.ID]bool // every entry ever recorded, by log
}

func newYards(t *testing.T, rt *rapid.T, root string) *yards {
	w := &yards{t: t, rt: rt, all: map[string]map[ledger.ID]bool{}}
	for _, name := range []string{"stick-a", "stick-b"} {
		w.sticks = append(w.sticks, filepath.Join(root, name))
	}
	home, founder := newBookAt(t, filepath.Join(root, "home"), "founder")
	w.stores, w.devices = append(w.stores, home), append(w.devices, founder)
	w.note(founder.name, linesOf(t, home)[founder.name])
	w.exchange(0, w.sticks[0])
	for _, name := range []string{"creek", "ridge"} {
		s, _, err := Join(context.Background(), w.sticks[0], filepath.Join(root, name), SyncOptions{})
		if err != nil {
			rt.Fatal(err)
		}
		d := newDevice(t, name, s.BookID())
		w.stores, w.devices = append(w.stores, s), append(w.devices, d)
		request := d.first(t)
		appendTo(t, s, d.name, request)
		w.note(d.name, [][]byte{request.Line()})
		admit := founder.sign(t, ledger.Draft{Class: ledger.Control, Kind: ledger.KindAdmit,
			Record: ledger.Admit{Key: ledger.PublicKeyOf(d.key.Public()), Role: ledger.RoleWorker}})
		appendTo(t, home, founder.name, admit)
		w.note(founder.name, [][]byte{admit.Line()})
	}
	return w
}

func (w *yards) note(log string, lines [][]byte) {
	if w.all[log] == nil {
		w.all[log] = map[ledger.ID]bool{}
	}
	for _, line := range lines {
		head, err := headOf(line)
		if err != nil {
			w.rt.Fatal(err)
		}
		w.all[log][head.id] = true
	}
}

func (w *yards) record(who, n int) {
	d := w.devices[who]
	entries := d.notes(w.t, n)
	appendTo(w.t, w.stores[who], d.name, entries...)
	for _, e := range entries {
		w.note(d.name, [][]byte{e.Line()})
	}
}

func (w *yards) exchange(who int, stick string) {
	r, err := w.stores[who].Sync(context.Background(), stick, SyncOptions{})
	if err != nil {
		w.rt.Fatalf("device %d with %s: %v", who, filepath.Base(stick), err)
	}
	if len(r.Refused)+len(r.Unsent)+len(r.Forks) > 0 {
		w.rt.Fatalf("device %d with %s: %+v", who, filepath.Base(stick), r)
	}
}

// damage makes a stick lose something, as by hand or by a failing medium.
func (w *yards) damage(stick string, how int) {
	refs, _ := filepath.Glob(filepath.Join(stick, "refs", "heads", "log", "*"))
	if len(refs) == 0 {
		return
	}
	one := refs[rapid.IntRange(0, len(refs)-1).Draw(w.rt, "log")]
	var err error
	switch how {
	case 0: // a log is gone
		err = os.Remove(one)
	case 1: // a reference is cut
		err = os.WriteFile(one, nil, 0o666)
	default: // the whole stick was wiped
		err = os.RemoveAll(stick)
		if err == nil {
			err = os.Mkdir(stick, 0o777)
		}
	}
	if err != nil {
		w.rt.Fatal(err)
	}
}

// check checks that every store holds every entry, each once, and verifies.
func (w *yards) check() {
	for who, s := range w.stores {
		held := linesOf(w.t, s)
		if len(held) != len(w.all) {
			w.rt.Fatalf("device %d holds %d logs, want %d", who, len(held), len(w.all))
		}
		for log, want := range w.all {
			once := map[ledger.ID]bool{}
			for _, line := range held[log] {
				head, err := headOf(line)
				if err != nil {
					w.rt.Fatal(err)
				}
				if once[head.id] || !want[head.id] {
					w.rt.Fatalf("device %d, log %s: entry %s is there twice, or should not be", who, log, head.id.Short())
				}
				once[head.id] = true
			}
			if len(once) != len(want) {
				w.rt.Fatalf("device %d, log %s: %d of %d entries", who, log, len(once), len(want))
			}
		}
		wantSound(w.t, s)
	}
}
