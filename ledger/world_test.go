package ledger

import (
	"bytes"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"slices"
	"testing"
	"time"
)

// full reports whether the large counts were asked for.
func full() bool { return os.Getenv("SHEDBOOK_TEST") == "full" }

// world is a made-up family's devices, each with a book of its own, and one
// clock and random source for all: the same calls give the same bytes.
type world struct {
	t       testing.TB
	random  io.Reader
	now     time.Time
	machine MachineKey
	names   map[Writer]string
}

// device is one signing key and what it holds of the book.
type device struct {
	*world
	name string
	key  *Key
	book *Book
}

func newWorld(t testing.TB) *world {
	w := &world{
		t: t, random: rand.NewChaCha8([32]byte{1}),
		now: time.Date(2026, 3, 2, 7, 0, 0, 0, time.UTC), names: make(map[Writer]string),
	}
	w.machine, _ = NewMachineKey(w.random)
	return w
}

func (w *world) device(name string) *device {
	key, err := NewKey(w.random)
	if err != nil {
		w.t.Fatal(err)
	}
	d := &device{world: w, name: name, key: key}
	w.names[d.writer()] = name
	return d
}

// found starts a book: the founder's device, and the recovery key's, which has
// written nothing yet.
func (w *world) found(name string) (founder, paper *device) {
	founder, paper = w.device(name), w.device("paper")
	e := founder.make(Draft{
		Class: Control, Kind: KindFound,
		Record:  Found{Title: "Quillfeather Farm", Key: founder.public(), Recovery: paper.public()},
		Private: ControlPrivate{Name: "Fay Quillfeather", Device: "shed laptop"},
	}, Position{})
	founder.book = load1(w.t, logsOf(e))
	return founder, paper
}

// join makes a device that takes over what from holds and asks to take part.
func (w *world) join(name string, from *device) *device {
	d := w.device(name)
	d.start(from)
	return d
}

func (d *device) start(from *device) *Entry {
	d.book = load1(d.t, from.logs())
	return d.sign(Draft{
		Class: Control, Kind: KindRequest,
		Record:  Request{Key: d.public()},
		Private: ControlPrivate{Name: d.name, Device: d.name + "'s phone"},
	})
}

// copy is the same key on another machine, as after a copied folder.
func (d *device) copy() *device {
	return &device{world: d.world, name: d.name + "'", key: d.key, book: load1(d.t, d.logs())}
}

func (d *device) writer() Writer    { return WriterOf(d.key.Public()) }
func (d *device) public() PublicKey { return PublicKeyOf(d.key.Public()) }

func (d *device) make(draft Draft, at Position) *Entry {
	d.t.Helper()
	d.now = d.now.Add(time.Minute)
	draft.At = d.now
	e, err := Sign(draft, at, d.key, d.random)
	if err != nil {
		d.t.Fatalf("%s: %v", d.name, err)
	}
	return e
}

// sign makes the next entry of d's log and appends it to d's book.
func (d *device) sign(draft Draft) *Entry {
	d.t.Helper()
	at, err := d.book.Next(d.writer())
	if err != nil {
		d.t.Fatalf("%s: %v", d.name, err)
	}
	e := d.make(draft, at)
	if err := d.book.Append(e); err != nil {
		d.t.Fatalf("%s: %v", d.name, err)
	}
	return e
}

func (d *device) note(text string) *Entry {
	d.t.Helper()
	return d.sign(Draft{Class: Work, Kind: "note", Record: map[string]any{"text": text}, Machine: &d.machine})
}

func (d *device) control(kind string, record any) *Entry {
	d.t.Helper()
	return d.sign(Draft{Class: Control, Kind: kind, Record: record})
}

func (d *device) admit(other *device, role Role) *Entry {
	d.t.Helper()
	return d.control(KindAdmit, Admit{Key: other.public(), Role: role})
}

// stop stops other's log at tips, by default at the tips d holds.
func (d *device) stop(other *device, tips ...*Entry) *Entry {
	d.t.Helper()
	return d.control(KindStop, stopOf(d.book, other.writer(), tips...))
}

func stopOf(b *Book, w Writer, tips ...*Entry) Stop {
	s := Stop{Writer: w, Tips: []Tip{}, Why: WhyLost}
	if len(tips) == 0 {
		for _, ref := range b.Tips(w) {
			s.Tips = append(s.Tips, Tip{ref.ID, ref.Seq})
		}
	}
	for _, e := range tips {
		s.Tips = append(s.Tips, Tip{e.ID(), e.Seq()})
	}
	slices.SortFunc(s.Tips, Tip.Compare)
	return s
}

// pull gives d everything that the others hold.
func (d *device) pull(others ...*device) {
	d.t.Helper()
	logs := d.logs()
	for _, o := range others {
		logs = append(logs, o.logs()...)
	}
	d.book = load1(d.t, logs)
}

func (d *device) logs() []Log {
	if d.book == nil {
		return nil
	}
	return logsOf(d.book.Entries()...)
}

// logsOf lays entries out as a store does: a log for each chain, named by its
// writer, the second and later ones by their first own entry as well.
func logsOf(entries ...*Entry) []Log {
	byID := make(map[ID]*Entry)
	continued := make(map[ID]bool)
	for _, e := range entries {
		byID[e.ID()] = e
		continued[e.Prev()] = true
	}
	var tips []*Entry
	for _, e := range byID {
		if !continued[e.ID()] {
			tips = append(tips, e)
		}
	}
	slices.SortFunc(tips, (*Entry).Compare)
	used := make(map[ID]bool)
	named := make(map[Writer]bool)
	var logs []Log
	for _, tip := range tips {
		var chain []*Entry
		for e := tip; e != nil; e = byID[e.Prev()] {
			chain = append(chain, e)
		}
		slices.Reverse(chain)
		log := Log{Name: tip.Writer().String()}
		if named[tip.Writer()] {
			for _, e := range chain {
				if !used[e.ID()] {
					log.Name += "." + e.ID().String()[:16]
					break
				}
			}
		}
		named[tip.Writer()] = true
		for _, e := range chain {
			used[e.ID()] = true
			log.Lines = append(log.Lines, bytes.Clone(e.Line()))
		}
		logs = append(logs, log)
	}
	return logs
}

func load1(t testing.TB, logs []Log) *Book {
	t.Helper()
	b, err := Load(logs)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// describe prints everything that must be alike on every device: entries with
// their status, devices, findings of book and judgement, what may be written.
func describe(b *Book) string {
	var out bytes.Buffer
	j := b.Judge()
	for _, e := range b.Entries() {
		fmt.Fprintf(&out, "%s %s %d depth %d known %s: %s\n", e.ID().Short(), e.Writer(), e.Seq(), e.Depth(), b.KnownAt(e).Format(timeForm), j.Status(e))
	}
	for _, d := range j.Devices() {
		fmt.Fprintf(&out, "%+v\n", d)
	}
	for _, f := range append(b.Findings(), j.Findings()...) {
		fmt.Fprintln(&out, f)
	}
	fmt.Fprintf(&out, "read only: %q\n", j.ReadOnly())
	return out.String()
}

// codes lists the findings' codes, sorted, each once for each finding.
func codes(findings []Finding) []string {
	var out []string
	for _, f := range findings {
		out = append(out, f.Code)
	}
	slices.Sort(out)
	return out
}
