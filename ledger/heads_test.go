package ledger

import (
	"bytes"
	"errors"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// proofOf gives e's head and as much more as is asked for.
func proofOf(e *Entry, body, private, signature bool) Proof {
	p := Proof{Head: e.Head()}
	if body {
		p.Body = e.Body()
	}
	if private && body {
		p.Private = e.PrivatePart()
	}
	if signature || body {
		p.Signature = e.Signature()
	}
	return p
}

// outcome is what must be alike whether entries came as lines or as heads.
func outcome(b *Book) string {
	var out bytes.Buffer
	j := b.Judge()
	for _, e := range b.Entries() {
		out.WriteString(e.ID().String() + " " + j.Status(e).String() + "\n")
	}
	var said []string
	for _, f := range slices.Concat(b.Findings(), j.Findings()) {
		if f.Code == CodeOutOfOrder { // says how a store laid the lines out
			continue
		}
		f.Log, f.Line = "", 0
		said = append(said, f.String())
	}
	slices.Sort(said) // they stand by log and line otherwise
	return out.String() + strings.Join(said, "\n")
}

// Whatever is held back of shared and work entries, heads give the book that
// whole lines give: the same ids, the same verdict on who counts.
func TestHeadsAreTheBook(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		h := newHistory(rt, t)
		for range rapid.IntRange(5, 25).Draw(rt, "steps") {
			h.step(rt)
		}
		whole := h.all()
		continued := make(map[ID]bool)
		for _, e := range whole.Entries() {
			continued[e.Prev()] = true
		}
		var heads Heads
		for _, e := range whole.Entries() {
			body := e.Class() == Control || rapid.Bool().Draw(rt, "body")
			p := proofOf(e, body, rapid.Bool().Draw(rt, "private"), !continued[e.ID()] || rapid.Bool().Draw(rt, "signature"))
			id, err := heads.Add(p)
			if err != nil || id != e.ID() {
				rt.Fatalf("%s became %s: %v", e.ID(), id, err)
			}
		}
		b, err := heads.Book(whole.ID())
		if err != nil {
			rt.Fatal(err)
		}
		if diff := cmp.Diff(outcome(whole), outcome(b)); diff != "" {
			rt.Fatalf("lines (-) and heads (+) differ:\n%s", diff)
		}
	})
}

// A part of an entry is the bytes that its digest is of.
func TestBodyAndPrivatePart(t *testing.T) {
	fay, _ := newWorld(t).found("fay")
	e := fay.sign(Draft{Class: Work, Kind: "note", Machine: &fay.machine, Private: map[string]any{"text": `hay ,"sig":"`}})
	if got := ID(sum256(string(e.Body()))); got != e.Head().Body {
		t.Errorf("body %s", e.Body())
	}
	if got := ID(sum256(string(e.PrivatePart()))); got != e.privateDigest {
		t.Errorf("private %s", e.PrivatePart())
	}
	plain := fay.note("hay")
	if plain.PrivatePart() != nil {
		t.Errorf("private %s", plain.PrivatePart())
	}
}

// Every change to what heads say is found, and the place it lies in is named.
func TestHeadsChanged(t *testing.T) {
	fay, ned, _ := farm(newWorld(t))
	for range 4 {
		ned.note("hay")
	}
	fay.pull(ned)
	fay.note("straw")
	entries := fay.book.Entries()
	build := func(change func(i int, p *Proof) bool) error {
		var heads Heads
		for i, e := range entries {
			p := proofOf(e, e.Class() == Control, false, i >= len(entries)-2)
			if e.Writer() == ned.writer() {
				p.Signature = nil
				if e.Seq() == 1 || e.Seq() == 5 {
					p.Signature = e.Signature()
				}
			}
			if change != nil && !change(i, &p) {
				continue
			}
			if _, err := heads.Add(p); err != nil {
				return err
			}
		}
		_, err := heads.Book(fay.book.ID())
		return err
	}
	if err := build(nil); err != nil {
		t.Fatal(err)
	}
	at := slices.IndexFunc(entries, func(e *Entry) bool { return e.Writer() == ned.writer() && e.Seq() == 3 })
	for name, change := range map[string]func(p *Proof) bool{
		"body":  func(p *Proof) bool { p.Head.Body[3] ^= 1; return true },
		"tag":   func(p *Proof) bool { p.Head.Tag[3] ^= 1; return true },
		"time":  func(p *Proof) bool { p.Head.At = p.Head.At.Add(1e9); return true },
		"class": func(p *Proof) bool { p.Head.Class, p.Head.HasTag = Shared, false; return true },
		"left":  func(p *Proof) bool { return false },
		"prev":  func(p *Proof) bool { p.Head.Prev[0] ^= 1; return true },
		"another": func(p *Proof) bool {
			p.Head.Seen = []Ref{{ID: entries[0].ID(), Seq: 1, Writer: fay.writer()}}
			return true
		},
	} {
		err := build(func(i int, p *Proof) bool { return i != at || change(p) })
		var u *Unproved
		if !errors.As(err, &u) || u.Ref.Writer != ned.writer() || u.From > 3 {
			t.Errorf("%s: %v", name, err)
		}
	}
	last := slices.IndexFunc(entries, func(e *Entry) bool { return e.Writer() == ned.writer() && e.Seq() == 5 })
	err := build(func(i int, p *Proof) bool { return i != last })
	want := "entries 2 to 2 of log " + ned.writer().String() + ": no signature of the log's last entry stands in it"
	if err == nil || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
	for name, c := range map[string]struct {
		p    Proof
		want string
	}{
		"control without body": {proofOf(entries[0], false, false, true), "the first entry of a log is a control entry of kind found or request"},
		"short signature":      {Proof{Head: entries[0].Head(), Signature: []byte("x")}, "a signature has 64 bytes, not 1"},
		"no class":             {Proof{}, `class is "": it is control, shared or work`},
		"no signature":         {Proof{Head: entries[0].Head(), Body: entries[0].Body()}, "the entry shows its body but no signature"},
	} {
		if name == "control without body" {
			c.want = "the body of a control entry cannot be withheld"
		}
		if _, err := new(Heads).Add(c.p); err == nil || err.Error() != c.want {
			t.Errorf("%s: %v, want %s", name, err, c.want)
		}
	}
	var heads Heads
	heads.Add(proofOf(entries[1], true, true, true))
	if _, err := heads.Add(proofOf(entries[0], true, true, true)); err == nil {
		t.Error("entries out of order are taken")
	}
}
