package audit

import (
	"bytes"
	"compress/gzip"
	"io"
	"testing"
	"time"

	"shedbook/ledger"
)

// FuzzReadEvidence changes the text of evidence at will. Nobody without the devices' keys can write entries, so whatever is still read holds no
// entry but those of the book it was made from, each shown one byte for byte; and verifying it ends.
func FuzzReadEvidence(f *testing.F) {
	sold := selling(f)
	for _, o := range []EvidenceOptions{{}, {WithoutNames: true}, {WithoutCosts: true}} {
		r, err := gzip.NewReader(bytes.NewReader(evidenceOf(f, sold.fay.book, sold.drill, o)))
		if err != nil {
			f.Fatal(err)
		}
		text, err := io.ReadAll(r)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
	}
	f.Add([]byte("{}\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		var packed bytes.Buffer
		w := gzip.NewWriter(&packed)
		if _, err := w.Write(text); err != nil {
			t.Fatal(err)
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		ev, err := ReadEvidence(&packed)
		if err != nil {
			return
		}
		for _, e := range ev.Book.Entries() {
			made := sold.fay.book.Entry(e.ID())
			if made == nil {
				t.Fatalf("entry %s was never signed, and is read from\n%s", e.ID(), text)
			}
			if e.HasBody() && !bytes.Equal(e.Body(), made.Body()) || e.PrivatePart() != nil && !bytes.Equal(e.PrivatePart(), made.PrivatePart()) {
				t.Fatalf("entry %s is told as\n%s\nand was signed as\n%s", e.ID(), e.Line(), made.Line())
			}
		}
		VerifyEvidence(ev, Options{Now: sold.now})
	})
}

// FuzzStampText: a stamp that is read says, written out again, the same.
func FuzzStampText(f *testing.F) {
	sold := selling(f)
	for _, e := range sold.fay.book.Entries() {
		if e.Kind() == ledger.KindStamp {
			text, err := ledger.StampText(e)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(text)
			f.Add(bytes.ReplaceAll(text, []byte("\n"), []byte("\r\n\r\n")))
			f.Add(bytes.ReplaceAll(text, []byte(" "), []byte(" \t ")))
		}
	}
	f.Add([]byte("shedbook stamp v2\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		s, err := ParseStampText(text)
		if err != nil {
			return
		}
		again, err := ParseStampText(s.Text())
		if err != nil || again.Book != s.Book || again.Stamp != s.Stamp || !again.At.Equal(s.At) || len(again.Tips) != len(s.Tips) {
			t.Fatalf("%s\nis read as %+v, and written out as\n%s\n%v", text, s, s.Text(), err)
		}
		if s.At.Location() != time.UTC {
			t.Fatalf("%s is not in UTC", s.At)
		}
	})
}
