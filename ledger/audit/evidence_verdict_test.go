package audit

import (
	"bytes"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"shedbook/ledger"
	"shedbook/rules/record"
)

// verdict is what an auditor of the file is told: why it is refused, or what is
// found in it.
func verdict(file []byte, o Options) []string {
	ev, err := ReadEvidence(bytes.NewReader(file))
	if err != nil {
		e := err.(*EvidenceError)
		return []string{e.Finding().String()}
	}
	return texts(VerifyEvidence(ev, o))
}

// sold is a plain sale: no fork, a stamp that the dealer countersigned.
type sold struct {
	*family
	dids  []*ledger.Entry // of the drill, by Ned
	other *ledger.Entry   // of the baler
	stamp *ledger.Entry
}

func newSold(t testing.TB) *sold {
	s := &sold{family: newFamily(t)}
	for range 3 {
		s.dids = append(s.dids, s.ned.did(s.drill))
		s.other = s.ned.did(s.baler)
	}
	s.dids = append(s.dids, s.ned.note(s.drill, "hub of opener 9 runs hot"))
	s.fay.pull(s.ned)
	s.stamp = s.fay.stamp()
	s.fay.countersigned(s.stamp)
	return s
}

// cheat writes evidence as an altered program would: it shows only what show
// allows.
func (s *sold) cheat(book *ledger.Book, m machine, key ledger.MachineKey, show func(*ledger.Entry) bool) []byte {
	var text bytes.Buffer
	enc := newEncoder(&text, &Evidence{Book: book, Machine: m.id, Key: key})
	for _, e := range book.Entries() {
		enc.entry(e, show(e), show(e) && e.Private() != nil, enc.tip[e.ID()])
	}
	return pack(strings.Split(strings.TrimSuffix(text.String(), "\n"), "\n"))
}

// lineOf finds the line of e in an unpacked file of evidence of its book.
func lineOf(book *ledger.Book, e *ledger.Entry) int {
	return slices.IndexFunc(book.Entries(), func(x *ledger.Entry) bool { return x.ID() == e.ID() }) + 1
}

// Each way of cheating with evidence has its own exact verdict.
func TestEvidenceVerdicts(t *testing.T) {
	s := newSold(t)
	book := s.fay.book
	good := evidenceOf(t, book, s.drill, EvidenceOptions{})
	lines := unpack(t, good)
	ned := s.ned.writer().String()
	stamped := s.stamp.At().Format(timeForm)
	edit := func(i int, old, new string) []byte {
		t.Helper()
		changed := slices.Clone(lines)
		if changed[i] = strings.Replace(changed[i], old, new, 1); changed[i] == lines[i] {
			t.Fatalf("%q is not in %s", old, lines[i])
		}
		return pack(changed)
	}
	honest := func(e *ledger.Entry) bool { return e.Class() != ledger.Work || e.TagMatches(s.drill.key) }
	noSignature := "the signature is not by this writer over this entry"
	note := s.dids[3]
	drillKey, _ := s.drill.key.MarshalText()
	balerKey, _ := s.baler.key.MarshalText()

	// The print of another history.
	forged := StampText{Book: book.ID(), Stamp: s.stamp.ID(), At: s.stamp.At(), Tips: slices.Clone(mustStamp(t, s.stamp).Tips)}
	forged.Tips[slices.IndexFunc(forged.Tips, func(r ledger.Ref) bool { return r.Writer == s.ned.writer() })].ID[0] ^= 1

	mislabelled := newSold(t)
	wrong := mislabelled.ned.work(mislabelled.drill, "did", record.Did{Work: record.Work{Machine: rid(mislabelled.baler.id), Done: mislabelled.today()}, Job: "grease"})
	mislabelled.fay.pull(mislabelled.ned)
	mislabelled.fay.countersigned(mislabelled.fay.stamp())

	late := newSold(t)
	after := late.fay.did(late.drill)

	for _, c := range []struct {
		name string
		file []byte
		o    Options
		want []string
	}{
		{"good", good, Options{Now: s.now, Stamps: []StampText{mustStamp(t, s.stamp)}}, nil},
		{"withheld body of the machine",
			s.cheat(book, s.drill, s.drill.key, func(e *ledger.Entry) bool { return honest(e) && e.ID() != s.dids[1].ID() }), Options{},
			[]string{fmt.Sprintf("error: log %s entry %d (%s): an entry of this machine, recorded %s, is not shown [withheld]", ned, s.dids[1].Seq(), s.dids[1].ID().Short(), s.dids[1].At().Format(timeForm))}},
		{"dropped head, and the count corrected", pack(slices.Delete(append([]string{strings.Replace(lines[0], `"entries":`+strconv.Itoa(len(lines)-1), `"entries":`+strconv.Itoa(len(lines)-2), 1)}, lines[1:]...), lineOf(book, s.other), lineOf(book, s.other)+1)), Options{},
			[]string{fmt.Sprintf("error: line %d of the evidence: entries 7 to 7 of log %s do not lead to a signature that holds: one of them, or of what they cite, was changed, left out, added or moved (%s) [evidence-changed]", lineOf(book, note), ned, noSignature)}},
		{"dropped head, owned up to", s.cheat(s.load(s.fay.without(s.other)), s.drill, s.drill.key, honest), Options{},
			[]string{
				fmt.Sprintf("error: log %s entry %d (%s): entry %d of this log is not in the evidence, though others cite it: whether it is about the machine cannot be told [left-out]", ned, s.other.Seq(), s.other.ID().Short(), s.other.Seq()),
				fmt.Sprintf("warning: log %s entry %d (%s): 2 entries wait for others that are not here, and count for nothing until they come: sync with whoever may have them, or let an owner stop the log they are missing from [waiting]", s.fay.writer(), s.stamp.Seq(), s.stamp.ID().Short()),
				"warning: no stamp is in the evidence: nothing shows that the logs were not cut before it was made [no-stamp]",
				fmt.Sprintf("warning: log %s entry %d (%s): 1 entry waits for others that are not here, and counts for nothing until they come: sync with whoever may have them, or let an owner stop the log they are missing from [waiting]", ned, note.Seq(), note.ID().Short()),
				fmt.Sprintf("note: log %s entry %d (%s): 1 entry of this machine in this log does not count (waiting, the first of them) [not-counted]", ned, note.Seq(), note.ID().Short()),
			}},
		{"changed words", edit(lineOf(book, note), "hub of opener 9 runs hot", "hub of opener 9 runs hut"), Options{},
			[]string{fmt.Sprintf("error: line %d of the evidence: the private part is not the one that was signed: its digest is not the one in the body [evidence-damaged]", lineOf(book, note)+1)}},
		{"changed body", edit(lineOf(book, s.dids[2]), "grease", "greasy"), Options{},
			[]string{fmt.Sprintf("error: line %d of the evidence: entries %d to %d of log %s do not lead to a signature that holds: one of them, or of what they cite, was changed, left out, added or moved (%s) [evidence-changed]", lineOf(book, s.dids[2])+1, s.dids[2].Seq()-1, s.dids[2].Seq(), ned, noSignature)}},
		{"another machine's key", edit(0, string(drillKey), string(balerKey)), Options{},
			[]string{fmt.Sprintf("error: line %d of the evidence: entries %d to %d of log %s do not lead to a signature that holds: one of them, or of what they cite, was changed, left out, added or moved (%s) [evidence-changed]", lineOf(book, book.Entry(s.drill.id))+1, book.Entry(s.drill.id).Seq(), book.Entry(s.drill.id).Seq(), s.fay.writer(), noSignature)}},
		{"another machine's name", edit(0, s.drill.id.String(), s.baler.id.String()), Options{},
			[]string{fmt.Sprintf("error: entry %s, which should have added the machine, is not shown [no-machine]", s.baler.id.Short())}},
		{"a key nobody added", s.cheat(book, s.drill, ledger.MachineKey{}, func(e *ledger.Entry) bool { return e.Class() != ledger.Work }), Options{},
			[]string{fmt.Sprintf("error: entry %s, which should have added the machine, is not shown [no-machine]", s.drill.id.Short())}},
		{"copied half", good[:len(good)/2], Options{}, []string{"error: the evidence: the file ends too early: it was not copied whole [evidence-truncated]"}},
		{"cut behind a line", pack(lines[:6]), Options{}, []string{fmt.Sprintf("error: the evidence: it has 5 of its %d entries: the end is missing [evidence-truncated]", len(lines)-1)}},
		{"a byte wrong in the middle", flipped(good), Options{}, nil},
		{"no file of evidence", []byte("opener 9"), Options{}, []string{"error: the evidence: the file ends too early: it was not copied whole [evidence-truncated]"}},
		{"no file of evidence at all", []byte("opener 9 runs hot, says Ned"), Options{}, []string{"error: the evidence: this is no file of evidence: it is not packed as one [evidence-damaged]"}},
		{"newer", edit(0, `"evidence":1`, `"evidence":2`), Options{}, []string{"error: line 1 of the evidence: evidence of form 2: newer shedbook needed [evidence-damaged]"}},
		{"more than it says", pack(append(slices.Clone(lines), lines[len(lines)-1])), Options{}, []string{fmt.Sprintf("error: line %d of the evidence: it goes on after its %d entries [evidence-damaged]", len(lines)+1, len(lines)-1)}},
		{"stamp of another history", good, Options{Stamps: []StampText{forged}}, []string{
			fmt.Sprintf("error: log %s entry %d (%s): the printed stamp %s of %s says something else than the entry it names [stamp-altered]", s.fay.writer(), s.stamp.Seq(), s.stamp.ID().Short(), s.stamp.ID().Short(), stamped),
			fmt.Sprintf("error: log %s entry %d (%s): the printed stamp %s of %s has entry %d of log %s as %s, here it is %s: the key of that log signed both; who holds it, or a copy of it, has shown two histories; keep the print, it is the proof [split-view]",
				ned, note.Seq(), forgedID(note), s.stamp.ID().Short(), stamped, note.Seq(), ned, forgedID(note), note.ID().Short()),
		}},
		{"mislabelled", mislabelled.cheat(mislabelled.fay.book, mislabelled.drill, mislabelled.drill.key, func(e *ledger.Entry) bool {
			return e.Class() != ledger.Work || e.TagMatches(mislabelled.drill.key)
		}), Options{}, []string{fmt.Sprintf("error: log %s entry %d (%s): a did entry is labelled for this machine, but is about another: it counts for nothing [tag-mismatch]", mislabelled.ned.writer(), wrong.Seq(), wrong.ID().Short())}},
		{"after the stamp", evidenceOf(t, late.fay.book, late.drill, EvidenceOptions{}), Options{}, []string{
			fmt.Sprintf("note: log %s entry %d (%s): 1 entry of this machine in this log comes after the last stamp, of %s: that nothing was left out is proved up to the stamp only [after-stamp]", late.fay.writer(), after.Seq(), after.ID().Short(), late.stamp.At().Format(timeForm))}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := verdict(c.file, c.o)
			if c.name == "a byte wrong in the middle" { // unpacking may fail in several ways
				if len(got) != 1 || !strings.HasSuffix(got[0], "[evidence-damaged]") && !strings.HasSuffix(got[0], "[evidence-changed]") && !strings.HasSuffix(got[0], "[evidence-truncated]") {
					t.Errorf("%q", got)
				}
				return
			}
			if diff := cmp.Diff(c.want, got); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func flipped(b []byte) []byte {
	b = bytes.Clone(b)
	b[len(b)/2] ^= 0x10
	return b
}

func forgedID(e *ledger.Entry) string {
	id := e.ID()
	id[0] ^= 1
	return id.Short()
}

func mustStamp(t testing.TB, e *ledger.Entry) StampText {
	t.Helper()
	s, err := StampOf(e)
	if err != nil {
		t.Fatal(err)
	}
	return s
}
