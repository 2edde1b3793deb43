package ledger

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// The errors of Load, word for word; everything else is a finding.
func TestLoadErrors(t *testing.T) {
	fay, _ := newWorld(t).found("fay")
	apart := newWorld(t)
	apart.device("skip")
	bob, _ := apart.found("bob")
	a, b := fay.book.ID(), bob.book.ID()
	both := append(fay.logs(), bob.logs()...)
	first, second := min(a.String(), b.String()), max(a.String(), b.String())
	broken := bytes.Replace(fay.book.Founding().Line(), []byte("Quill"), []byte("Quull"), 1)
	for _, c := range []struct {
		name string
		load func() (*Book, error)
		want string
	}{
		{"nothing", func() (*Book, error) { return Load(nil) }, "there is no founding entry"},
		{"two books", func() (*Book, error) { return Load(both) },
			fmt.Sprintf("there are 2 founding entries, %s and %s among them: these are logs of different books", first[:8], second[:8])},
		{"broken founding entry", func() (*Book, error) { return Load([]Log{{Name: fay.writer().String(), Lines: [][]byte{broken}}}) },
			fmt.Sprintf("there is no founding entry; error: log %s line 1: the line does not verify: the body is not the one that was signed: its digest is not the signed one [broken-line]", fay.writer())},
		{"another book than pinned", func() (*Book, error) { return LoadPinned(a, bob.logs()) },
			fmt.Sprintf("the founding entry %s of this book is not here", a.Short())},
		{"pinned to nothing", func() (*Book, error) { return LoadPinned(ID{}, bob.logs()) }, "load: no book id was given"},
	} {
		if _, err := c.load(); err == nil || err.Error() != c.want {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
	// Pinned, the other book's entry is a finding.
	book, err := LoadPinned(a, both)
	if err != nil {
		t.Fatal(err)
	}
	want := fmt.Sprintf("the book does not verify: log %s line 1 (%s): the entry belongs to another book, %s [other-book]", bob.writer(), b.Short(), b.Short())
	if err := book.Sound(); err == nil || err.Error() != want {
		t.Errorf("%v, want %q", err, want)
	}
}

// A log whose first line is broken still verifies where its key is known from
// an admit, and is reported as a whole where it is not.
func TestLoadWithoutFirstLine(t *testing.T) {
	w := newWorld(t)
	fay, ned, _ := farm(w)
	tia := w.join("tia", fay)
	one, two := ned.note("one"), tia.note("two")
	logs := append(ned.logs(), tia.logs()...)
	for i := range logs {
		if logs[i].Name != fay.writer().String() {
			logs[i].Lines[0] = bytes.Replace(logs[i].Lines[0], []byte(`"v":1`), []byte(`"v":7`), 1)
		}
	}
	b := load1(t, logs)
	if b.Entry(one.ID()) == nil || b.Entry(two.ID()) != nil {
		t.Error("ned's entry should be held, for his key is in the admit, and tia's not")
	}
	wantStatuses(t, b, []*Entry{one}, Waiting)
	found := false
	for _, f := range b.Findings() {
		found = found || f.Code == CodeUnverifiable && f.Log == tia.writer().String() && f.Line == 2 && f.Severity == Error
	}
	if !found {
		t.Errorf("tia's line is not reported: %v", b.Findings())
	}
}

// The same entry in two logs is held once, with its private part if any line
// has it; the choice does not depend on the order.
func TestLoadSameEntryTwice(t *testing.T) {
	_, ned, _ := farm(newWorld(t))
	twin := ned.copy()
	ned.note("here")
	twin.note("there")
	ned.pull(twin)
	logs := ned.logs()
	if len(logs) < 4 {
		t.Fatalf("%d logs", len(logs))
	}
	count := 0
	for _, l := range logs {
		count += len(l.Lines)
	}
	if got := len(ned.book.Entries()); got != count-1 { // the request stands in both of ned's logs
		t.Errorf("%d entries held of %d lines", got, count)
	}
	if diff := cmp.Diff([]string{CodeFork}, codes(ned.book.Findings())); diff != "" {
		t.Error(diff)
	}
	f := ned.book.Findings()[0]
	if f.Writer != ned.writer() || f.Seq != 2 || f.Severity != Warning || !strings.Contains(f.Message, "usually innocent") {
		t.Errorf("%+v", f)
	}
	a, b := &Entry{line: []byte("a")}, &Entry{line: []byte("b")}
	if !betterLine(a, b) || betterLine(b, a) || betterLine(a, a) {
		t.Error("the lesser line is to be kept")
	}
	b.private = span{0, 1}
	if betterLine(a, b) || !betterLine(b, a) {
		t.Error("the line with the private part is to be kept")
	}
}

// Checked saves the signature's check for what the remembered tip pins, and for
// nothing else: a signature that does not hold passes there and is found below
// it, and a changed head is found everywhere.
func TestLoadChecked(t *testing.T) {
	_, ned, _ := farm(newWorld(t))
	entries := []*Entry{ned.note("one"), ned.note("two"), ned.note("three")}
	load := func(change int, old, new string, checked ID) *Book {
		logs := ned.logs()
		i := slices.IndexFunc(logs, func(l Log) bool { return l.Name == ned.writer().String() })
		logs[i].Checked = checked
		line := bytes.Replace(logs[i].Lines[change], []byte(old), []byte(new), 1)
		if bytes.Equal(line, logs[i].Lines[change]) {
			t.Fatalf("nothing to change in %s", line)
		}
		logs[i].Lines[change] = line
		return load1(t, logs)
	}
	sig := string(base64Text(entries[1].Signature()))
	forged := "AAAA" + sig[4:]
	for _, c := range []struct {
		name     string
		change   int
		old, new string
		checked  ID
		sound    bool
	}{
		{"forged signature above the remembered tip", 2, sig, forged, entries[2].ID(), true},
		{"forged signature below the remembered tip", 2, sig, forged, entries[0].ID(), false},
		{"forged signature, nothing remembered", 2, sig, forged, ID{}, false},
		{"forged signature, another tip remembered", 2, sig, forged, ned.book.Founding().ID(), false},
		{"changed head", 2, `"seq":3`, `"seq":4`, entries[2].ID(), false},
		{"changed body", 2, `"two"`, `"too"`, entries[2].ID(), false},
		{"changed tip", 3, `"seq":4`, `"seq":5`, entries[2].ID(), false},
	} {
		if err := load(c.change, c.old, c.new, c.checked).Sound(); (err == nil) != c.sound {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

// Entries are found by the first digits of their id.
func TestFind(t *testing.T) {
	fay, _, _ := farm(newWorld(t))
	e := fay.note("one")
	id := e.ID().String()
	for _, prefix := range []string{id, id[:8], id[:7], id[:4]} {
		if got := fay.book.Find(prefix); len(got) != 1 || got[0] != e {
			t.Errorf("%q finds %v", prefix, got)
		}
	}
	for _, prefix := range []string{"", id[:3], strings.ToUpper(id), "zzzz", id + "0", "0000000000"} {
		if got := fay.book.Find(prefix); len(got) != 0 {
			t.Errorf("%q finds %v", prefix, got)
		}
	}
}

// What a finding prints.
func TestFindingString(t *testing.T) {
	w := Writer{}
	for want, f := range map[string]Finding{
		"error: log x line 3: broken [broken-line]": {Severity: Error, Code: CodeBrokenLine, Log: "x", Line: 3, Message: "broken"},
		"warning: log x: empty [empty-log]":         {Severity: Warning, Code: CodeEmptyLog, Log: "x", Message: "empty"},
		"note: hay [x]":                             {Severity: Note, Code: "x", Writer: w, Message: "hay"},
		"warning: log " + Writer{1}.String() + " entry 2 (01000000): gone [missing-entry]": {Severity: Warning, Code: CodeMissingEntry, Writer: Writer{1}, Seq: 2, Entry: ID{1}, Message: "gone"},
	} {
		if got := f.String(); got != want {
			t.Errorf("%q want %q", got, want)
		}
	}
}
