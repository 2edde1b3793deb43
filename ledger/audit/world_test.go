package audit

import (
	"bytes"
	"crypto/ed25519"
	"io"
	"math/rand/v2"
	"os"
	"slices"
	"testing"
	"time"

	"github.com/hiddeco/sshsig"
	"golang.org/x/crypto/ssh"

	"shedbook/ledger"
	"shedbook/rules/record"
)

// full reports whether the large counts were asked for.
func full() bool { return os.Getenv("SHEDBOOK_TEST") == "full" }

// world is a made-up family's devices with one clock and one random source: the
// same calls give the same bytes.
type world struct {
	t      testing.TB
	random io.Reader
	now    time.Time
}

// device is a signing key and what it holds of the book.
type device struct {
	*world
	name string
	key  *ledger.Key
	book *ledger.Book
	skew time.Duration // of its clock
}

// machine is a machine of the book.
type machine struct {
	id  ledger.ID
	key ledger.MachineKey
}

func newWorld(t testing.TB) *world {
	return &world{t: t, random: rand.NewChaCha8([32]byte{7}), now: time.Date(2026, 3, 2, 7, 0, 0, 0, time.UTC)}
}

func (w *world) device(name string) *device {
	key, err := ledger.NewKey(w.random)
	if err != nil {
		w.t.Fatal(err)
	}
	return &device{world: w, name: name, key: key}
}

// found starts a book. paper is its recovery key's device.
func (w *world) found() (fay, paper *device) {
	fay, paper = w.device("Fay"), w.device("paper")
	e := fay.make(ledger.Draft{
		Class: ledger.Control, Kind: ledger.KindFound,
		Record:  ledger.Found{Title: "Quillfeather Farm", Key: fay.public(), Recovery: paper.public()},
		Private: ledger.ControlPrivate{Name: "Fay Quillfeather", Device: "shed laptop"},
	}, ledger.Position{})
	fay.book = w.load(logsOf(e))
	return fay, paper
}

func (w *world) load(logs []ledger.Log) *ledger.Book {
	w.t.Helper()
	b, err := ledger.Load(logs)
	if err != nil {
		w.t.Fatal(err)
	}
	return b
}

// family is a book with an owner, a worker, a farm, a yard and two machines.
type family struct {
	*world
	fay, ned, paper *device
	yard            ledger.ID
	drill, baler    machine
}

func newFamily(t testing.TB) *family {
	f := &family{world: newWorld(t)}
	f.fay, f.paper = f.found()
	f.ned = f.join("Ned", f.fay)
	f.fay.pull(f.ned)
	f.fay.admit(f.ned, ledger.RoleWorker)
	farm := f.fay.shared("farm", record.Farm{Name: "Home Farm"})
	f.yard = f.fay.shared("yard", record.Yard{Name: "Creek Yard", Farm: rid(farm.ID())}).ID()
	f.drill, f.baler = f.fay.add("drill", f.yard), f.fay.add("baler", f.yard)
	f.ned.pull(f.fay)
	return f
}

func (w *world) join(name string, from *device) *device {
	d := w.device(name)
	d.book = w.load(from.logs())
	d.sign(ledger.Draft{Class: ledger.Control, Kind: ledger.KindRequest, Record: ledger.Request{Key: d.public()},
		Private: ledger.ControlPrivate{Name: name + " Quillfeather", Device: name + "'s phone"}})
	return d
}

// copy is the same key on another machine.
func (d *device) copy() *device {
	c := *d
	c.book = d.load(d.logs())
	return &c
}

func (d *device) writer() ledger.Writer    { return ledger.WriterOf(d.key.Public()) }
func (d *device) public() ledger.PublicKey { return ledger.PublicKeyOf(d.key.Public()) }

func (d *device) make(draft ledger.Draft, at ledger.Position) *ledger.Entry {
	d.t.Helper()
	d.now = d.now.Add(time.Minute)
	if draft.At.IsZero() {
		draft.At = d.now.Add(d.skew)
	}
	e, err := ledger.Sign(draft, at, d.key, d.random)
	if err != nil {
		d.t.Fatalf("%s: %v", d.name, err)
	}
	return e
}

// sign makes the next entry of d's log.
func (d *device) sign(draft ledger.Draft) *ledger.Entry {
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

func (d *device) control(kind string, rec any) *ledger.Entry {
	d.t.Helper()
	return d.sign(ledger.Draft{Class: ledger.Control, Kind: kind, Record: rec})
}

func (d *device) admit(other *device, role ledger.Role) *ledger.Entry {
	d.t.Helper()
	return d.control(ledger.KindAdmit, ledger.Admit{Key: other.public(), Role: role})
}

// stamp states the last entries that d holds.
func (d *device) stamp() *ledger.Entry {
	d.t.Helper()
	var s ledger.Stamp
	for _, w := range d.book.Writers() {
		s.Tips = append(s.Tips, d.book.Tips(w)...)
	}
	return d.control(ledger.KindStamp, s)
}

func (d *device) shared(kind string, rec any) *ledger.Entry {
	d.t.Helper()
	return d.sign(ledger.Draft{Class: ledger.Shared, Kind: kind, Record: rec})
}

// work signs an entry under the label of m.
func (d *device) work(m machine, kind string, rec any, private ...any) *ledger.Entry {
	d.t.Helper()
	draft := ledger.Draft{Class: ledger.Work, Kind: kind, Record: rec, Machine: &m.key}
	if len(private) > 0 {
		draft.Private = private[0]
	}
	return d.sign(draft)
}

func (d *device) add(name string, yard ledger.ID) machine {
	d.t.Helper()
	key, err := ledger.NewMachineKey(d.random)
	if err != nil {
		d.t.Fatal(err)
	}
	text, _ := key.MarshalText()
	m := machine{key: key}
	m.id = d.work(m, "machine", record.Machine{Work: record.Work{Done: d.today()}, Key: string(text), Name: name, Schedule: "disc-drill", Yard: rid(yard)}).ID()
	return m
}

// did greases m.
func (d *device) did(m machine) *ledger.Entry {
	d.t.Helper()
	return d.work(m, "did", record.Did{Work: record.Work{Machine: rid(m.id), Done: d.today()}, Job: "grease"})
}

// note says something about m, in the private part.
func (d *device) note(m machine, text string) *ledger.Entry {
	d.t.Helper()
	return d.work(m, "note", record.Note{Work: record.Work{Machine: rid(m.id), Done: d.today()}}, record.Private{Text: text})
}

func (w *world) today() record.Done { return record.Done(w.now.Format("2006-01-02T15:04")) }

func rid(id ledger.ID) record.ID { return record.ID(id.String()) }

// pull gives d everything that the others hold.
func (d *device) pull(others ...*device) {
	d.t.Helper()
	logs := d.logs()
	for _, o := range others {
		logs = append(logs, o.logs()...)
	}
	d.book = d.load(logs)
}

func (d *device) logs() []ledger.Log { return logsOf(d.book.Entries()...) }

// logsOf lays entries out as a store does: a log for each chain.
func logsOf(all ...*ledger.Entry) []ledger.Log {
	byID, continued := make(map[ledger.ID]*ledger.Entry), make(map[ledger.ID]bool)
	for _, e := range all {
		byID[e.ID()], continued[e.Prev()] = e, true
	}
	var tips []*ledger.Entry
	for _, e := range byID {
		if !continued[e.ID()] {
			tips = append(tips, e)
		}
	}
	slices.SortFunc(tips, (*ledger.Entry).Compare)
	used, named := make(map[ledger.ID]bool), make(map[ledger.Writer]bool)
	var logs []ledger.Log
	for _, tip := range tips {
		var chain []*ledger.Entry
		for e := tip; e != nil; e = byID[e.Prev()] {
			chain = append(chain, e)
		}
		slices.Reverse(chain)
		log := ledger.Log{Name: tip.Writer().String()}
		if named[tip.Writer()] {
			i := slices.IndexFunc(chain, func(e *ledger.Entry) bool { return !used[e.ID()] })
			log.Name += "." + chain[i].ID().String()[:16]
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

// without is the logs of d, the entry left out.
func (d *device) without(e *ledger.Entry) []ledger.Log {
	logs := d.logs()
	for i := range logs {
		logs[i].Lines = slices.DeleteFunc(logs[i].Lines, func(line []byte) bool { return bytes.Equal(line, e.Line()) })
	}
	return logs
}

// texts are the findings as they are printed.
func texts(findings []Finding) []string {
	var out []string
	for _, f := range findings {
		out = append(out, f.String())
	}
	return out
}

// countersigned records the dealer's signature of a stamp.
func (d *device) countersigned(stamp *ledger.Entry) *ledger.Entry {
	d.t.Helper()
	text, err := ledger.StampText(stamp)
	if err != nil {
		d.t.Fatal(err)
	}
	return d.control(ledger.KindCountersign, ledger.Countersign{Stamp: stamp.ID(), Armor: d.sshSign(text)})
}

// sshSign signs as the dealer, who has no book, does with ssh-keygen -Y sign.
func (w *world) sshSign(text []byte) string {
	w.t.Helper()
	_, private, err := ed25519.GenerateKey(w.random)
	if err != nil {
		w.t.Fatal(err)
	}
	signer, err := ssh.NewSignerFromKey(private)
	if err != nil {
		w.t.Fatal(err)
	}
	s, err := sshsig.Sign(bytes.NewReader(text), signer, sshsig.HashSHA512, ledger.StampNamespace)
	if err != nil {
		w.t.Fatal(err)
	}
	return string(sshsig.Armor(s))
}
