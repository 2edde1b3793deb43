package audit

import (
	"bytes"
	"crypto/ed25519"
	"encoding/base64"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/hiddeco/sshsig"
	"golang.org/x/crypto/ssh"

	"shedbook/ledger"
	"shedbook/rules/record"
)

// attacked is a family's book and somebody who means it no good.
type attacked struct {
	*family
	names map[string]string // how a verdict is written here: short ids and logs
}

// call names an entry: its short id reads [name] in a verdict.
func (a *attacked) call(name string, e *ledger.Entry) *ledger.Entry {
	a.names[e.ID().Short()] = "[" + name + "]"
	return e
}

// verdicts are the findings of an audit of the logs, with names for ids and logs.
func (a *attacked) verdicts(logs []ledger.Log, o Options) []string {
	book, err := ledger.LoadPinned(a.fay.book.ID(), logs)
	if err != nil {
		return []string{"refused: " + a.named(err.Error())}
	}
	if o.Now.IsZero() {
		o.Now = a.now
	}
	var out []string
	for _, f := range Check(book, o) {
		out = append(out, a.named(f.String()))
	}
	return out
}

func (a *attacked) named(text string) string {
	for id, name := range a.names {
		text = strings.ReplaceAll(text, id, name)
	}
	return text
}

// edited is the logs with old put for new, once each, in the line of e.
func (a *attacked) edited(logs []ledger.Log, e *ledger.Entry, oldNew ...string) []ledger.Log {
	a.t.Helper()
	line := string(e.Line())
	for k := 0; k < len(oldNew); k += 2 {
		if !strings.Contains(line, oldNew[k]) {
			a.t.Fatalf("%q is not in %s", oldNew[k], line)
		}
		line = strings.Replace(line, oldNew[k], oldNew[k+1], 1)
	}
	return a.replaced(logs, e, []byte(line))
}

// replaced is the logs with other lines in place of that of e.
func (a *attacked) replaced(logs []ledger.Log, e *ledger.Entry, lines ...[]byte) []ledger.Log {
	a.t.Helper()
	for i := range logs {
		if j := slices.IndexFunc(logs[i].Lines, func(l []byte) bool { return bytes.Equal(l, e.Line()) }); j >= 0 {
			logs[i].Lines = slices.Replace(slices.Clone(logs[i].Lines), j, j+1, lines...)
			return logs
		}
	}
	a.t.Fatal("the entry is in no log")
	return nil
}

// signed is the line of e with its head changed and signed by d under a namespace, as an altered program would.
func (a *attacked) signed(e *ledger.Entry, d *device, namespace string, oldNew ...string) []byte {
	a.t.Helper()
	head := string(e.SignedBytes())
	for k := 0; k < len(oldNew); k += 2 {
		if !strings.Contains(head, oldNew[k]) {
			a.t.Fatalf("%q is not in %s", oldNew[k], head)
		}
		head = strings.Replace(head, oldNew[k], oldNew[k+1], 1)
	}
	signer, err := ssh.NewSignerFromSigner(ed25519.NewKeyFromSeed(d.key.Seed()))
	if err != nil {
		a.t.Fatal(err)
	}
	s, err := sshsig.Sign(strings.NewReader(head), signer, sshsig.HashSHA512, namespace)
	if err != nil {
		a.t.Fatal(err)
	}
	line := strings.Replace(string(e.Line()), string(e.SignedBytes()), head, 1)
	return []byte(strings.Replace(line, signature(e), base64.RawURLEncoding.EncodeToString(s.Signature.Blob), 1))
}

func signature(e *ledger.Entry) string { return base64.RawURLEncoding.EncodeToString(e.Signature()) }

// log is the log of a device among logs.
func logOf(logs []ledger.Log, d *device) *ledger.Log {
	return &logs[slices.IndexFunc(logs, func(l ledger.Log) bool { return l.Name == d.writer().String() })]
}

// cut is the logs with the last n lines of a device's log gone.
func cut(logs []ledger.Log, d *device, n int) []ledger.Log {
	l := logOf(logs, d)
	l.Lines = l.Lines[:len(l.Lines)-n]
	return logs
}

func (d *device) stops(other *device, why string, tips ...*ledger.Entry) *ledger.Entry {
	d.t.Helper()
	s := ledger.Stop{Writer: other.writer(), Tips: []ledger.Tip{}, Why: why}
	for _, e := range tips {
		s.Tips = append(s.Tips, ledger.Tip{ID: e.ID(), Seq: e.Seq()})
	}
	slices.SortFunc(s.Tips, ledger.Tip.Compare)
	return d.control(ledger.KindStop, s)
}

// TestAttacks makes each attack of FORMAT.md, section "Attacks", that can be seen in a book's logs, and wants the audit's verdict word for word. What is done to
// folders, targets and evidence is in the tests that the section names.
func TestAttacks(t *testing.T) {
	for _, c := range attackTable {
		t.Run(fmt.Sprintf("%02d %s", c.row, c.name), func(t *testing.T) {
			a := &attacked{newFamily(t), map[string]string{}}
			for _, d := range []*device{a.fay, a.ned} {
				a.names[d.writer().String()] = "<" + d.name + ">"
			}
			a.names[a.fay.book.ID().Short()] = "[book]"
			logs, o := c.make(a)
			if diff := cmp.Diff(c.want, a.verdicts(logs, o)); diff != "" {
				t.Errorf("-want +got\n%s", diff)
			}
		})
	}
}

var attackTable = []struct {
	row  int
	name string
	make func(a *attacked) ([]ledger.Log, Options)
	want []string
}{
	{1, "a tampered body", func(a *attacked) ([]ledger.Log, Options) {
		e := a.ned.did(a.drill)
		return a.edited(a.ned.logs(), e, `"grease"`, `"grouse"`), Options{}
	}, []string{
		"error: log <Ned> line 2: the line does not verify: the body is not the one that was signed: its digest is not the signed one [broken-line]",
	}},
	{1, "a tampered head", func(a *attacked) ([]ledger.Log, Options) {
		e := a.ned.did(a.drill)
		return a.edited(a.ned.logs(), e, `"at":"2026`, `"at":"2025`), Options{}
	}, []string{
		"error: log <Ned> line 2: the line does not verify: the signature is not by this writer over this entry [broken-line]",
	}},
	{1, "a tampered entry in the middle", func(a *attacked) ([]ledger.Log, Options) {
		e := a.call("changed", a.ned.did(a.drill))
		a.call("next", a.ned.did(a.drill))
		return a.edited(a.ned.logs(), e, `"grease"`, `"grouse"`), Options{}
	}, []string{
		"error: log <Ned> line 2: the line does not verify: the body is not the one that was signed: its digest is not the signed one [broken-line]",
		"warning: log <Ned> entry 2 ([changed]): entry 2 of this log is not here, but entry [next] of log <Ned> cites it: what rests on it waits; sync with whoever may have it [missing-entry]",
		"warning: log <Ned> line 3 ([next]): 1 entry waits for others that are not here, and counts for nothing until they come: sync with whoever may have them, or let an owner stop the log they are missing from [waiting]",
	}},
	{2, "another's signature under Ned's name", func(a *attacked) ([]ledger.Log, Options) {
		e := a.ned.did(a.drill)
		return a.replaced(a.ned.logs(), e, a.signed(e, a.fay, ledger.EntryNamespace)), Options{}
	}, []string{
		"error: log <Ned> line 2: the line does not verify: the signature is not by this writer over this entry [broken-line]",
	}},
	{2, "a stranger writes as Fay Quillfeather", func(a *attacked) ([]ledger.Log, Options) {
		m := a.device("Mallory")
		m.book = a.load(a.fay.logs())
		a.names[m.writer().String()] = "<Mallory>"
		a.call("request", m.sign(ledger.Draft{Class: ledger.Control, Kind: ledger.KindRequest, Record: ledger.Request{Key: m.public()}, Private: ledger.ControlPrivate{Name: "Fay Quillfeather", Device: "shed laptop"}}))
		m.did(a.drill)
		return m.logs(), Options{}
	}, []string{
		"note: log <Mallory> line 1 ([request]): 2 entries of a device that no owner has admitted: kept, and count for nothing until one does [pending-log]",
	}},
	{3, "a tail cut that another log has seen", func(a *attacked) ([]ledger.Log, Options) {
		a.ned.did(a.drill)
		a.call("lost", a.ned.did(a.drill))
		a.fay.pull(a.ned)
		a.call("after", a.fay.did(a.drill))
		return cut(a.fay.logs(), a.ned, 1), Options{}
	}, []string{
		"warning: log <Ned> entry 3 ([lost]): entry 3 of this log is not here, but entry [after] of log <Fay> cites it: what rests on it waits; sync with whoever may have it [missing-entry]",
		"warning: log <Fay> line 7 ([after]): 1 entry waits for others that are not here, and counts for nothing until they come: sync with whoever may have them, or let an owner stop the log they are missing from [waiting]",
	}},
	{3, "a tail cut that a stamp holds", func(a *attacked) ([]ledger.Log, Options) {
		a.call("lost", a.ned.did(a.drill))
		a.fay.pull(a.ned)
		stamp := a.call("stamp", a.fay.stamp())
		logs := cut(cut(a.fay.logs(), a.ned, 1), a.fay, 1) // the stamp is cut off too: only the print is left
		return logs, Options{Stamps: []StampText{mustStamp(a.t, stamp)}}
	}, []string{
		"error: log <Ned> entry 2 ([lost]): the printed stamp [stamp] of 2026-03-02T07:09:00Z has entry 2 of log <Ned>, here that log ends at entry 1: later entries were lost or taken out; sync with whoever may have them [rewound]",
		"warning: the printed stamp [stamp] of 2026-03-02T07:09:00Z is not in this book: sync with the device that made it [stamp-missing]",
	}},
	{4, "one key in two places", func(a *attacked) ([]ledger.Log, Options) {
		other := a.ned.copy()
		a.call("one", a.ned.did(a.drill))
		a.call("other", other.did(a.baler))
		a.fay.pull(a.ned, other)
		return a.fay.logs(), Options{}
	}, []string{
		"warning: log <Ned> line 2 ([one]): the log goes on twice from here, with entry [one] recorded 2026-03-02T07:08:00Z and entry [other] recorded 2026-03-02T07:09:00Z: its key was used in two places, as after a copied folder or a restored backup; usually innocent, both are kept and count; go on with a new key on each machine and let an owner stop this one [forked-log]",
	}},
	{4, "innocent: an owner stops it at both ends", func(a *attacked) ([]ledger.Log, Options) {
		other := a.ned.copy()
		one, two := a.call("one", a.ned.did(a.drill)), a.call("other", other.did(a.baler))
		a.fay.pull(a.ned, other)
		a.fay.stops(a.ned, ledger.WhyCopied, one, two)
		return a.fay.logs(), Options{}
	}, []string{
		"warning: log <Ned> line 2 ([one]): the log goes on twice from here, with entry [one] recorded 2026-03-02T07:08:00Z and entry [other] recorded 2026-03-02T07:09:00Z: its key was used in two places, as after a copied folder or a restored backup; usually innocent, both are kept and count; go on with a new key on each machine and let an owner stop this one [forked-log]",
	}},
	{4, "theft: an owner stops it at one end", func(a *attacked) ([]ledger.Log, Options) {
		other := a.ned.copy()
		one := a.call("one", a.ned.did(a.drill))
		a.call("other", other.did(a.baler))
		a.fay.pull(a.ned, other)
		a.call("stop", a.fay.stops(a.ned, ledger.WhyTheft, one))
		return a.fay.logs(), Options{}
	}, []string{
		"warning: log <Ned> line 2 ([one]): the log goes on twice from here, with entry [one] recorded 2026-03-02T07:08:00Z and entry [other] recorded 2026-03-02T07:09:00Z: its key was used in two places, as after a copied folder or a restored backup; usually innocent, both are kept and count; go on with a new key on each machine and let an owner stop this one [forked-log]",
		"warning: log <Ned>.[other]f70b2e76 line 2 ([other]): the log was stopped by entry [stop], and this entry is not among those it accepts: it does not count [after-stop]",
	}},
	{6, "two yards were shown different histories", func(a *attacked) ([]ledger.Log, Options) {
		other := a.ned.copy()
		a.call("here", a.ned.did(a.drill))
		a.call("there", other.did(a.baler))
		elsewhere := a.fay.copy()
		elsewhere.pull(other)
		stamp := a.call("stamp", elsewhere.stamp())
		a.fay.pull(a.ned)
		return a.fay.logs(), Options{Stamps: []StampText{mustStamp(a.t, stamp)}}
	}, []string{
		"error: log <Ned> entry 2 ([there]): the printed stamp [stamp] of 2026-03-02T07:10:00Z has entry 2 of log <Ned> as [there], here it is [here]: the key of that log signed both; who holds it, or a copy of it, has shown two histories; keep the print, it is the proof [split-view]",
		"warning: the printed stamp [stamp] of 2026-03-02T07:10:00Z is not in this book: sync with the device that made it [stamp-missing]",
	}},
	{7, "dated before what it rests on", func(a *attacked) ([]ledger.Log, Options) {
		a.now = a.now.Add(30 * 24 * time.Hour)
		a.call("grease", a.fay.did(a.drill))
		a.ned.pull(a.fay)
		a.ned.skew = -20 * 24 * time.Hour
		a.call("back", a.ned.work(a.drill, "note", record.Note{Work: record.Work{Machine: rid(a.drill.id), Done: record.Done(a.now.Add(a.ned.skew).Format("2006-01-02T15:04"))}}))
		a.fay.pull(a.ned)
		return a.fay.logs(), Options{}
	}, []string{
		"warning: log <Ned> line 2 ([back]): dated 2026-03-12T07:09:00Z, but it rests on entry [grease] of log <Fay>, dated 2026-04-01T07:08:00Z: it was recorded no earlier than that, or that clock was ahead [back-dated]",
	}},
	{7, "dated before a stamp that does not hold it", func(a *attacked) ([]ledger.Log, Options) {
		a.ned.did(a.drill)
		a.fay.pull(a.ned)
		a.now = a.now.Add(30 * 24 * time.Hour)
		a.call("stamp", a.fay.stamp())
		a.ned.skew = -20 * 24 * time.Hour // Ned has not seen the stamp
		a.call("back", a.ned.work(a.drill, "note", record.Note{Work: record.Work{Machine: rid(a.drill.id), Done: record.Done(a.now.Add(a.ned.skew).Format("2006-01-02T15:04"))}}))
		a.fay.pull(a.ned)
		return a.fay.logs(), Options{}
	}, []string{
		"note: log <Ned> line 3 ([back]): 1 entry of this log is dated before the stamp [stamp] of 2026-04-01T07:09:00Z, which does not hold it: recorded where that device could not know, or dated back [before-stamp]",
	}},
	{7, "honest work, written down late", func(a *attacked) ([]ledger.Log, Options) {
		a.call("late", a.ned.work(a.drill, "did", record.Did{Work: record.Work{Machine: rid(a.drill.id), Done: "2026-01-10"}, Job: "grease"}))
		return a.ned.logs(), Options{}
	}, []string{
		"note: log <Ned> line 2 ([late]): 1 of 3 entries about work was recorded more than 7 days after the day they give, by up to 51 days, this one first [late-entries]",
	}},
	{8, "dated in the future", func(a *attacked) ([]ledger.Log, Options) {
		a.ned.skew = 40 * 24 * time.Hour
		a.call("future", a.ned.did(a.drill))
		a.ned.did(a.drill)
		return a.ned.logs(), Options{}
	}, []string{
		"warning: log <Ned> line 2 ([future]): 2 entries of this log are dated later than now, the last one 2026-04-11T07:09:00Z: the device's clock is or was wrong; the order of entries does not rest on it [future-dated]",
		"note: log <Ned> line 2 ([future]): 2 of 4 entries about work were recorded more than 7 days after the day they give, by up to 40 days, this one first [late-entries]",
	}},
	{9, "a stopped key goes on, with a forged date", func(a *attacked) ([]ledger.Log, Options) {
		last := a.ned.did(a.drill)
		a.fay.pull(a.ned)
		a.call("stop", a.fay.stops(a.ned, ledger.WhyTheft, last))
		// The thief dates his entry to the minute of the last one that counts.
		a.call("forged", a.ned.sign(ledger.Draft{Class: ledger.Work, Kind: "did", Machine: &a.drill.key, At: last.At(), Record: record.Did{Work: record.Work{Machine: rid(a.drill.id), Done: a.today()}, Job: "grease"}}))
		a.fay.pull(a.ned)
		return a.fay.logs(), Options{}
	}, []string{
		"warning: log <Ned> line 3 ([forged]): the log was stopped by entry [stop], and this entry is not among those it accepts: it does not count [after-stop]",
	}},
	{10, "an entry played twice", func(a *attacked) ([]ledger.Log, Options) {
		e := a.call("twice", a.ned.did(a.drill))
		return a.replaced(a.ned.logs(), e, e.Line(), e.Line()), Options{}
	}, []string{
		"error: log <Ned> line 3 ([twice]): the entry stands in this log twice [repeated-line]",
	}},
	{10, "an entry played again later", func(a *attacked) ([]ledger.Log, Options) {
		e := a.call("old", a.ned.did(a.drill))
		last := a.ned.did(a.drill)
		return a.replaced(a.ned.logs(), last, last.Line(), e.Line()), Options{}
	}, []string{
		"error: log <Ned> line 4 ([old]): the entry stands in this log twice [repeated-line]",
	}},
	{11, "an entry of another book", func(a *attacked) ([]ledger.Log, Options) {
		e := a.ned.did(a.drill)
		other := strings.Repeat("ab", 32)
		a.names[other[:8]] = "[other book]"
		return a.replaced(a.ned.logs(), e, a.signed(e, a.ned, ledger.EntryNamespace, a.fay.book.ID().String(), other)), Options{}
	}, []string{
		"error: log <Ned> line 2 (8b2dfa80): the entry belongs to another book, [other book] [other-book]",
	}},
	{11, "a signature made for something else", func(a *attacked) ([]ledger.Log, Options) {
		e := a.ned.did(a.drill)
		return a.replaced(a.ned.logs(), e, a.signed(e, a.ned, "file")), Options{}
	}, []string{
		"error: log <Ned> line 2: the line does not verify: the signature is not by this writer over this entry [broken-line]",
	}},
	{12, "another founding entry", func(a *attacked) ([]ledger.Log, Options) {
		w := newWorld(a.t)
		w.random = bytes.NewReader(bytes.Repeat([]byte("another world "), 100))
		mallory, _ := w.found()
		return mallory.logs(), Options{}
	}, []string{
		"refused: the founding entry [book] of this book is not here",
	}},
	{12, "a second founding entry beside ours", func(a *attacked) ([]ledger.Log, Options) {
		w := newWorld(a.t)
		w.random = bytes.NewReader(bytes.Repeat([]byte("another world "), 100))
		mallory, _ := w.found()
		a.names[mallory.writer().String()] = "<Mallory>"
		a.call("other founding", mallory.book.Founding())
		return append(a.fay.logs(), mallory.logs()...), Options{}
	}, []string{
		"error: log <Mallory> line 1 ([other founding]): the entry belongs to another book, [other founding] [other-book]",
	}},
	{13, "a stopped key admitted again", func(a *attacked) ([]ledger.Log, Options) {
		last := a.ned.did(a.drill)
		a.fay.pull(a.ned)
		a.fay.stops(a.ned, ledger.WhyLost, last)
		a.call("again", a.fay.admit(a.ned, ledger.RoleOwner))
		return a.fay.logs(), Options{}
	}, []string{
		"warning: log <Fay> line 8 ([again]): the admit has no effect: it admits log <Ned>, whose key was stopped: a stopped key never returns; give the person a new one [no-effect]",
	}},
	{13, "an admission corrected", func(a *attacked) ([]ledger.Log, Options) {
		admit := a.fay.book.Entries()[2]
		if admit.Kind() != ledger.KindAdmit {
			a.t.Fatal(admit.Kind())
		}
		a.call("admit", admit)
		a.call("strike", a.fay.work(a.drill, "strike", record.Strike{Machine: rid(a.drill.id), Entry: rid(admit.ID())}))
		return a.fay.logs(), Options{}
	}, []string{
		"warning: log <Fay> line 7 ([strike]): it strikes entry [admit], an admit: who takes part can be neither corrected nor struck; it counts for nothing [correct-control]",
	}},
	{13, "two owners stop each other at once", func(a *attacked) ([]ledger.Log, Options) {
		tia := a.join("Tia", a.fay)
		a.names[tia.writer().String()] = "<Tia>"
		a.fay.pull(tia)
		a.fay.admit(tia, ledger.RoleOwner)
		tia.pull(a.fay)
		last, first := tia.did(a.drill), a.fay.did(a.drill)
		a.fay.pull(tia)
		tia.pull(a.fay)
		a.call("Fay's stop", a.fay.stops(tia, ledger.WhyTheft, last))
		a.call("Tia's stop", tia.stops(a.fay, ledger.WhyTheft, first))
		a.fay.pull(tia)
		return a.fay.logs(), Options{}
	}, []string{
		"warning: log <Tia> line 3 ([Tia's stop]): the log was stopped by entry [Fay's stop], and this entry is not among those it accepts: it does not count [after-stop]",
		"warning: log <Tia> line 3 ([Tia's stop]): the stop has no effect: it was written after its own log was stopped [no-effect]",
	}},
	{14, "logs of different days put together", func(a *attacked) ([]ledger.Log, Options) {
		a.ned.did(a.drill)
		old := slices.Clone(a.ned.logs())
		a.call("lost", a.ned.did(a.drill))
		a.fay.pull(a.ned)
		a.call("stamp", a.fay.stamp())
		logs := a.fay.logs()
		*logOf(logs, a.ned) = *logOf(old, a.ned)
		return logs, Options{}
	}, []string{
		"warning: log <Ned> entry 3 ([lost]): entry 3 of this log is not here, but entry [stamp] of log <Fay> cites it: what rests on it waits; sync with whoever may have it [missing-entry]",
		"warning: log <Fay> line 7 ([stamp]): 1 entry waits for others that are not here, and counts for nothing until they come: sync with whoever may have them, or let an owner stop the log they are missing from [waiting]",
	}},
	{15, "a whole log taken away", func(a *attacked) ([]ledger.Log, Options) {
		a.call("lost", a.ned.did(a.drill))
		a.fay.pull(a.ned)
		a.call("after", a.fay.did(a.drill))
		return slices.DeleteFunc(a.fay.logs(), func(l ledger.Log) bool { return l.Name == a.ned.writer().String() }), Options{}
	}, []string{
		"warning: log <Ned> entry 1 (8827f2b4): entry 1 of this log is not here, but entry f5567ed8 of log <Fay> cites it: what rests on it waits; sync with whoever may have it [missing-entry]",
		"warning: log <Ned> entry 2 ([lost]): entry 2 of this log is not here, but entry [after] of log <Fay> cites it: what rests on it waits; sync with whoever may have it [missing-entry]",
		"warning: log <Fay> line 3 (f5567ed8): 5 entries wait for others that are not here, and count for nothing until they come: sync with whoever may have them, or let an owner stop the log they are missing from [waiting]",
	}},
	{16, "a number burnt", func(a *attacked) ([]ledger.Log, Options) {
		e := a.ned.did(a.drill)
		line := a.signed(e, a.ned, ledger.EntryNamespace, `"seq":2`, `"seq":9007199254740991`, fmt.Sprintf(`"depth":%d`, e.Depth()), `"depth":9007199254740991`)
		return a.replaced(a.ned.logs(), e, line), Options{}
	}, []string{
		"error: log <Ned> line 2 (b3db38fe): the entry is signed but wrong: it cites 8827f2b4 as entry 9007199254740990 of log <Ned>, which is entry 1 of log <Ned> [refused-entry]",
	}},
	{17, "a signature taken off", func(a *attacked) ([]ledger.Log, Options) {
		e := a.ned.did(a.drill)
		return a.edited(a.ned.logs(), e, signature(e), ""), Options{}
	}, []string{
		"error: log <Ned> line 2: the line does not verify: byte 697: the signature must be 64 bytes of base64url without padding [broken-line]",
	}},
	{17, "no signature at all", func(a *attacked) ([]ledger.Log, Options) {
		e := a.ned.did(a.drill)
		return a.edited(a.ned.logs(), e, `,"sig":"`+signature(e)+`"`, ""), Options{}
	}, []string{
		"error: log <Ned> line 2: the line does not verify: the line has no sig [broken-line]",
	}},
	{17, "a form of tomorrow", func(a *attacked) ([]ledger.Log, Options) {
		e := a.ned.did(a.drill)
		return a.replaced(a.ned.logs(), e, a.signed(e, a.ned, ledger.EntryNamespace, `"v":1`, `"v":2`)), Options{}
	}, []string{
		"error: log <Ned> line 2: the line does not verify: byte 644: the entry has format version 2: a newer shedbook is needed to read it [broken-line]",
	}},
	{18, "a member twice", func(a *attacked) ([]ledger.Log, Options) {
		e := a.ned.did(a.drill)
		return a.edited(a.ned.logs(), e, `"job":"grease"`, `"job":"grease","job":"grouse"`), Options{}
	}, []string{
		"error: log <Ned> line 2: the line does not verify: byte 75: member \"job\" stands twice [broken-line]",
	}},
	{18, "an escape for a letter", func(a *attacked) ([]ledger.Log, Options) {
		e := a.ned.did(a.drill)
		return a.edited(a.ned.logs(), e, `"grease"`, `"gre\u0061se"`), Options{}
	}, []string{
		"error: log <Ned> line 2: the line does not verify: byte 69: only the escapes \\n \\\" \\\\ are written [broken-line]",
	}},
	{18, "a blank, a mark at the front, a carriage return", func(a *attacked) ([]ledger.Log, Options) {
		one, two, three := a.ned.did(a.drill), a.ned.did(a.drill), a.ned.did(a.drill)
		logs := a.edited(a.ned.logs(), one, `"job":"grease"`, `"job": "grease"`)
		logs = a.replaced(logs, two, append([]byte("\ufeff"), two.Line()...))
		return a.replaced(logs, three, append(bytes.TrimSuffix(slices.Clone(three.Line()), []byte("\n")), "\r\n"...)), Options{}
	}, []string{
		"error: log <Ned> line 2: the line does not verify: byte 65: expected a value, found ' ' [broken-line]",
		"error: log <Ned> line 3: the line does not verify: byte 1: expected '{', found U+FEFF [broken-line]",
		"error: log <Ned> line 4: the line does not verify: byte 661: expected the end of the line, found U+000D [broken-line]",
	}},
	{22, "a terminal's escape in a remark", func(a *attacked) ([]ledger.Log, Options) {
		e := a.ned.note(a.drill, "hub rough")
		return a.edited(a.ned.logs(), e, "hub rough", "hub \x1b[2Jrough"), Options{}
	}, []string{
		"error: log <Ned> line 2: the line does not verify: byte 787: U+001B is not allowed in text [broken-line]",
	}},
	{25, "two lines changed places", func(a *attacked) ([]ledger.Log, Options) {
		a.call("one", a.ned.did(a.drill))
		a.call("two", a.ned.did(a.drill))
		logs := a.ned.logs()
		lines := logOf(logs, a.ned).Lines
		lines[1], lines[2] = lines[2], lines[1]
		return logs, Options{}
	}, []string{
		"error: log <Ned> line 2 ([two]): the entry does not continue the one above it [out-of-order]",
		"error: log <Ned> line 3 ([one]): the entry does not continue the one above it [out-of-order]",
	}},
	{25, "a line of one log in another", func(a *attacked) ([]ledger.Log, Options) {
		e := a.call("stray", a.ned.did(a.drill))
		logs := cut(a.ned.logs(), a.ned, 1)
		l := logOf(logs, a.fay)
		l.Lines = append(l.Lines, e.Line())
		return logs, Options{}
	}, []string{
		"error: log <Fay> line 7 ([stray]): an entry of log <Ned> stands in this log [stray-line]",
	}},
	{25, "a foreign line between two", func(a *attacked) ([]ledger.Log, Options) {
		e := a.ned.did(a.drill)
		return a.replaced(a.ned.logs(), e, []byte("<<<<<<< ours\n"), e.Line()), Options{}
	}, []string{
		"error: log <Ned> line 2: the line does not verify: byte 1: expected '{', found '<' [broken-line]",
	}},
	{29, "a log that cites those who were never let in", func(a *attacked) ([]ledger.Log, Options) {
		m := a.device("Mallory")
		m.book = a.load(a.ned.logs())
		a.names[m.writer().String()] = "<Mallory>"
		request := a.call("request", m.sign(ledger.Draft{Class: ledger.Control, Kind: ledger.KindRequest, Record: ledger.Request{Key: m.public()}}))
		a.ned.pull(m)
		e := a.ned.did(a.drill)
		head := string(e.SignedBytes())
		from := strings.Index(head, `"seen":`)
		seen := head[from : from+strings.Index(head[from:], "]")+1]
		cites := fmt.Sprintf(`"seen":[{"id":%q,"seq":1,"writer":%q}]`, request.ID(), m.writer())
		depth := func(n uint64) string { return fmt.Sprintf(`"depth":%d`, n) }
		return a.replaced(a.ned.logs(), e, a.signed(e, a.ned, ledger.EntryNamespace, seen, cites, depth(e.Depth()), depth(request.Depth()+1))), Options{}
	}, []string{
		"error: log <Ned> line 2 (3a447060): the entry is signed but wrong: it cites log <Mallory>, which nobody it knows of has admitted [refused-entry]",
		"note: log <Mallory> line 1 ([request]): 1 entry of a device that no owner has admitted: kept, and counts for nothing until one does [pending-log]",
	}},
}
