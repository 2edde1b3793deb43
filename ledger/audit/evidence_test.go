package audit

import (
	"bytes"
	"compress/gzip"
	"errors"
	"io"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"shedbook/ledger"
	"shedbook/rules/record"
)

func evidenceOf(t testing.TB, b *ledger.Book, m machine, o EvidenceOptions) []byte {
	t.Helper()
	var out bytes.Buffer
	info, err := WriteEvidence(&out, b, rid(m.id), o)
	if err != nil {
		t.Fatal(err)
	}
	if info.Bytes != int64(out.Len()) {
		t.Errorf("%d bytes, said %d", out.Len(), info.Bytes)
	}
	return out.Bytes()
}

func unpack(t testing.TB, b []byte) []string {
	t.Helper()
	r, err := gzip.NewReader(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	text, err := io.ReadAll(r)
	if err != nil {
		t.Fatal(err)
	}
	return strings.Split(strings.TrimSuffix(string(text), "\n"), "\n")
}

func pack(lines []string) []byte {
	var out bytes.Buffer
	w := gzip.NewWriter(&out)
	for _, l := range lines {
		io.WriteString(w, l+"\n")
	}
	w.Close()
	return out.Bytes()
}

// selling is a family's book at the day the drill is sold: worked by two, once
// forked, stamped and countersigned by the dealer.
func selling(t testing.TB) *family {
	f := newFamily(t)
	for range 3 {
		f.ned.did(f.drill)
		f.ned.did(f.baler)
		f.ned.note(f.baler, "the secret of the baler")
	}
	f.ned.note(f.drill, "hub of opener 9 runs hot")
	f.fay.work(f.drill, "repair", record.Repair{Work: record.Work{Machine: rid(f.drill.id), Done: f.today()}},
		record.Private{Who: "Bram's Forge", Costs: []record.Cost{{For: "weld", Amount: "120.50"}}})
	other := f.ned.copy()
	other.did(f.drill)
	f.ned.did(f.baler)
	f.fay.pull(f.ned, other)
	f.fay.countersigned(f.fay.stamp())
	return f
}

// A sale as it should be: what is shown, what is not, what is said.
func TestEvidence(t *testing.T) {
	f := selling(t)
	file := evidenceOf(t, f.fay.book, f.drill, EvidenceOptions{})
	ev, err := ReadEvidence(bytes.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	want := []string{}
	for _, x := range VerifyEvidence(ev, Options{Now: f.now}) {
		if x.Code != ledger.CodeFork {
			want = append(want, x.String())
		}
	}
	if len(want) > 0 {
		t.Errorf("%q", want)
	}
	var shown []ledger.ID
	for _, e := range f.fay.book.Entries() {
		got := ev.Book.Entry(e.ID())
		switch {
		case got == nil:
			t.Fatalf("entry %s is not in the evidence", e.ID())
		case e.Class() != ledger.Work || e.TagMatches(f.drill.key):
			if !bytes.Equal(got.Line(), e.Line()) {
				t.Errorf("%s\nwas\n%s", got.Line(), e.Line())
			}
			if e.Class() == ledger.Work {
				shown = append(shown, e.ID())
			}
		case got.HasBody():
			t.Errorf("entry %s is shown: %s", e.ID(), got.Line())
		}
		if f.fay.book.Judge().Status(e) != ev.Book.Judge().Status(got) {
			t.Errorf("entry %s: %s in the book, %s in the evidence", e.ID(), f.fay.book.Judge().Status(e), ev.Book.Judge().Status(got))
		}
	}
	var entries []ledger.ID
	for _, e := range ev.Entries() {
		entries = append(entries, e.ID())
	}
	if diff := cmp.Diff(shown, entries); diff != "" || len(shown) != 7 {
		t.Errorf("%d entries\n%s", len(shown), diff)
	}
	if got := (EvidenceInfo{Entries: len(f.fay.book.Entries()), Shown: 14, Machine: 7}); got != ev.Info() {
		t.Errorf("%+v", ev.Info())
	}
	if ev.Digest() != (&Evidence{Book: f.fay.book}).Digest() {
		t.Error("the digest is not that of the book's entries")
	}
}

// Nothing of another machine can be read from evidence, nor can its tags be
// linked: neither its words nor its key, nor any tag of it made from what the
// file gives.
func TestEvidenceKeepsOthersSecret(t *testing.T) {
	f := selling(t)
	packed := evidenceOf(t, f.fay.book, f.drill, EvidenceOptions{})
	file := strings.Join(unpack(t, packed), "\n")
	key, _ := f.baler.key.MarshalText()
	for _, secret := range []string{"baler", string(key), "machine\":\"" + f.baler.id.String(), "note\",\"record\":{\"done\":\"2026-03-02T07:13"} {
		if strings.Contains(file, secret) {
			t.Errorf("%q stands in the evidence", secret)
		}
	}
	drill, _ := f.drill.key.MarshalText()
	if !strings.Contains(file, string(drill)) || !strings.Contains(file, "hub of opener 9") {
		t.Error("the machine's own key or words are missing")
	}
	ev, err := ReadEvidence(bytes.NewReader(packed))
	if err != nil {
		t.Fatal(err)
	}
	// The only keys in the file are the machine's own and those of people: with
	// none of them can a head of the baler's be told from noise.
	hidden := 0
	for _, e := range ev.Book.Entries() {
		if e.HasBody() {
			continue
		}
		hidden++
		if !f.fay.book.Entry(e.ID()).TagMatches(f.baler.key) {
			t.Errorf("entry %s is hidden", e.ID())
		}
		for _, d := range ev.Book.Judge().Devices() {
			if e.TagMatches(ledger.MachineKey(d.Key)) {
				t.Errorf("the tag of %s is made from a device's key", e.ID())
			}
		}
		if e.TagMatches(ev.Key) {
			t.Errorf("the tag of %s is the machine's", e.ID())
		}
	}
	if hidden != 8 {
		t.Errorf("%d heads without bodies", hidden)
	}
	tags := make(map[ledger.Tag]bool)
	for _, e := range ev.Book.Entries() {
		if e.Head().HasTag && tags[e.Head().Tag] {
			t.Errorf("tag %s stands twice", e.Head().Tag)
		}
		tags[e.Head().Tag] = true
	}
}

// Names and costs can be held back; what is left proves the same.
func TestEvidenceHeldBack(t *testing.T) {
	f := selling(t)
	whole, _ := ReadEvidence(bytes.NewReader(evidenceOf(t, f.fay.book, f.drill, EvidenceOptions{})))
	for _, c := range []struct {
		name       string
		o          EvidenceOptions
		gone, kept []string
		heldBack   int
	}{
		{"names", EvidenceOptions{WithoutNames: true}, []string{"Fay", "Ned", "phone", "Bram", "120.50"}, []string{"hub of opener 9"}, 3},
		{"costs", EvidenceOptions{WithoutCosts: true}, []string{"120.50", "Bram"}, []string{"Fay", "hub of opener 9"}, 1},
		{"nothing", EvidenceOptions{}, nil, []string{"Fay", "Bram", "120.50", "hub of opener 9"}, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			file := evidenceOf(t, f.fay.book, f.drill, c.o)
			text := strings.Join(unpack(t, file), "\n")
			for _, s := range c.gone {
				if strings.Contains(text, s) {
					t.Errorf("%q stands in the evidence", s)
				}
			}
			for _, s := range c.kept {
				if !strings.Contains(text, s) {
					t.Errorf("%q is missing", s)
				}
			}
			ev, err := ReadEvidence(bytes.NewReader(file))
			if err != nil {
				t.Fatal(err)
			}
			if ev.Digest() != whole.Digest() || ev.Info().HeldBack != c.heldBack {
				t.Errorf("digest %s, %d held back", ev.Digest(), ev.Info().HeldBack)
			}
			var want []string
			if c.heldBack > 0 {
				want = []string{"note: the private parts of " + entries(c.heldBack) + " are held back: names, costs, words or papers; what is shown is not changed by that [held-back]"}
			}
			var got []string
			for _, x := range VerifyEvidence(ev, Options{}) {
				if x.Code != ledger.CodeFork {
					got = append(got, x.String())
				}
			}
			if diff := cmp.Diff(want, got); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestEvidenceOfNothing(t *testing.T) {
	f := newFamily(t)
	for name, c := range map[string]struct {
		id   record.ID
		want string
	}{
		"no id":      {"drill", `evidence of a machine: "drill" is not an id: it has 64 lower-case hex digits`},
		"not here":   {rid(ledger.ID{1}), "no entry 01000000, which would have added the machine, is in this book"},
		"no machine": {rid(f.yard), "entry " + f.yard.Short() + " adds no machine: it is a yard"},
	} {
		if _, err := WriteEvidence(io.Discard, f.fay.book, c.id, EvidenceOptions{}); err == nil || err.Error() != c.want {
			t.Errorf("%s: %v, want %s", name, err, c.want)
		}
	}
}

// What is read and written again is the same, line by line, for books of any
// shape: forks, gaps, devices that nobody admitted.
func TestEvidenceReadsBack(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		f := anyBook(rt, t)
		book := f.fay.book
		if rapid.Bool().Draw(rt, "gap") {
			i := rapid.IntRange(0, len(book.Entries())-1).Draw(rt, "lost")
			if e := book.Entries()[i]; e.Class() != ledger.Control && e.ID() != f.drill.id {
				book = f.load(f.fay.without(e))
			}
		}
		o := EvidenceOptions{WithoutNames: rapid.Bool().Draw(rt, "names"), WithoutCosts: rapid.Bool().Draw(rt, "costs")}
		file := evidenceOf(t, book, f.drill, o)
		ev, err := ReadEvidence(bytes.NewReader(file))
		if err != nil {
			rt.Fatal(err)
		}
		for _, e := range book.Entries() {
			if got := ev.Book.Entry(e.ID()); got == nil || book.Judge().Status(e) != ev.Book.Judge().Status(got) {
				rt.Fatalf("entry %s: %v", e.ID(), got)
			}
		}
		var again bytes.Buffer
		if err := ev.write(&again); err != nil {
			rt.Fatal(err)
		}
		if diff := cmp.Diff(strings.Join(unpack(t, file), "\n")+"\n", again.String()); diff != "" {
			rt.Fatalf("written again it differs:\n%s", diff)
		}
	})
}

// write writes what was read once more, unpacked.
func (ev *Evidence) write(w io.Writer) error {
	enc := newEncoder(w, ev)
	for _, e := range ev.Book.Entries() {
		enc.entry(e, e.HasBody(), e.Private() != nil, !bytes.Equal(e.Signature(), make([]byte, 64)))
	}
	return enc.err
}

// anyBook lets the family do as it pleases.
func anyBook(rt *rapid.T, t testing.TB) *family {
	f := newFamily(t)
	devices := []*device{f.fay, f.ned}
	for range rapid.IntRange(3, 14).Draw(rt, "steps") {
		d := rapid.SampledFrom(devices).Draw(rt, "device")
		var forked *ledger.Forked
		_, err := d.book.Next(d.writer())
		stuck := errors.As(err, &forked)
		switch act := rapid.SampledFrom([]string{"drill", "baler", "note", "pull", "pull", "copy", "join", "stamp", "strike"}).Draw(rt, "act"); {
		case act == "pull":
			for _, o := range devices {
				d.pull(o)
			}
		case act == "copy" && len(devices) < 5:
			devices = append(devices, d.copy())
		case act == "join" && len(devices) < 5:
			devices = append(devices, f.join("Tia", d))
		case stuck:
		case act == "drill":
			d.did(f.drill)
		case act == "baler":
			d.did(f.baler)
		case act == "note":
			d.note(rapid.SampledFrom([]machine{f.drill, f.baler}).Draw(rt, "machine"), "half a turn ½ \"out\"\nor so")
		case act == "stamp":
			d.stamp()
		case act == "strike":
			e := d.did(f.drill)
			d.work(f.drill, "strike", record.Strike{Machine: rid(f.drill.id), Entry: rid(e.ID())})
		}
	}
	f.fay.pull(devices...)
	return f
}

// Every single change, omission, repetition or exchange of lines is found: the
// file is refused, or a finding that is an error names it.
func TestEvidenceEveryChange(t *testing.T) {
	f := selling(t)
	lines := unpack(t, evidenceOf(t, f.fay.book, f.drill, EvidenceOptions{}))
	refused := func(name string, changed []string) {
		t.Helper()
		ev, err := ReadEvidence(bytes.NewReader(pack(changed)))
		if err == nil {
			for _, x := range VerifyEvidence(ev, Options{}) {
				if x.Severity == ledger.Error {
					return
				}
			}
			t.Errorf("%s is not found", name)
		}
	}
	for i := range lines {
		refused("leaving out a line", slices.Delete(slices.Clone(lines), i, i+1))
		refused("repeating a line", slices.Insert(slices.Clone(lines), i, lines[i]))
		if i > 0 {
			changed := slices.Clone(lines)
			changed[i-1], changed[i] = changed[i], changed[i-1]
			refused("exchanging two lines", changed)
		}
		refused("cutting the end", lines[:i])
	}
	tried := 0
	for i, line := range lines {
		step := 7
		if full() {
			step = 1
		}
		for at := i % step; at < len(line); at += step {
			for _, bit := range []byte{1, 2} {
				changed := slices.Clone(lines)
				b := []byte(line)
				b[at] ^= bit
				if b[at] == '\n' {
					continue
				}
				changed[i] = string(b)
				refused("flipping a bit of "+line[max(0, at-20):min(len(line), at+20)], changed)
				tried++
			}
		}
	}
	if tried < 500 {
		t.Errorf("only %d bits were flipped", tried)
	}
}
