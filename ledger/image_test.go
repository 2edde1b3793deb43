package ledger

import (
	"bytes"
	"errors"
	"reflect"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// imageOf writes a book's image; nil of one that is not whole.
func imageOf(t testing.TB, b *Book) []byte {
	t.Helper()
	var out bytes.Buffer
	switch err := b.WriteImage(&out); {
	case errors.Is(err, ErrNoImage) && out.Len() == 0:
		return nil
	case err != nil:
		t.Fatal(err)
	}
	return out.Bytes()
}

// sameBook fails where two books are not alike in everything that is seen of them.
func sameBook(t *rapid.T, want, got *Book) {
	if diff := cmp.Diff(describe(want), describe(got)); diff != "" {
		t.Fatalf("loaded (-) and got (+) differ:\n%s", diff)
	}
	for i, e := range want.Entries() {
		if !reflect.DeepEqual(e, got.Entries()[i]) {
			t.Fatalf("entry %s:\n%+v\nwant\n%+v", e.ID().Short(), got.Entries()[i], e)
		}
		log, line := want.Place(e)
		if l, n := got.Place(e); l != log || n != line {
			t.Fatalf("entry %s stands at %s %d, want %s %d", e.ID().Short(), l, n, log, line)
		}
		if k, ok := got.Key(e.Writer()); !ok || !k.Equal(must2(want.Key(e.Writer()))) {
			t.Fatalf("another key of %s", e.Writer())
		}
	}
	for _, w := range want.Writers() {
		p, errP := want.Next(w)
		q, errQ := got.Next(w)
		if diff := cmp.Diff(p, q); diff != "" || (errP == nil) != (errQ == nil) {
			t.Fatalf("next of %s: %v %v\n%s", w, errP, errQ, diff)
		}
	}
	if want.Title() != got.Title() || want.ID() != got.ID() || want.Founding().ID() != got.Founding().ID() {
		t.Fatalf("book %s %q, want %s %q", got.ID().Short(), got.Title(), want.ID().Short(), want.Title())
	}
}

func must2[T any](x T, _ bool) T { return x }

// A book read from its image, and extended by what its logs got since, is the book that is loaded at once; what of these cannot be is refused.
func TestImageIsLoad(t *testing.T) {
	var images, extended, refused int
	rapid.Check(t, func(rt *rapid.T) {
		h := newHistory(rt, t)
		for range rapid.IntRange(5, 25).Draw(rt, "steps") {
			h.step(rt)
		}
		all := h.all()
		logs := logsOf(all.Entries()...)
		cut := rapid.IntRange(1, len(all.Entries())).Draw(rt, "cut")
		before := map[ID]bool{}
		for _, e := range all.Entries()[:cut] {
			before[e.ID()] = true
		}
		var first, rest []Log
		for _, l := range logs {
			n := 0
			for _, line := range l.Lines {
				if e, err := parseLine(line, false); err == nil && before[e.ID()] {
					n++
				}
			}
			if n > 0 {
				first = append(first, Log{Name: l.Name, Lines: l.Lines[:n]})
			}
			rest = append(rest, Log{Name: l.Name, Lines: l.Lines[n:]})
		}
		if !before[all.ID()] { // no book without its founding entry
			return
		}
		loaded := load1(t, trusted(first))
		image := imageOf(t, loaded)
		if image == nil {
			return
		}
		images++
		b, err := ReadImage(loaded.ID(), image)
		if err != nil {
			rt.Fatal(err)
		}
		sameBook(rt, loaded, b)
		if again := imageOf(t, b); !bytes.Equal(again, image) {
			rt.Fatal("the image of what was read from an image is another one")
		}
		whole := load1(t, trusted(logs))
		if err := b.Extend(rest); err != nil {
			// It can only be that the whole is no whole book.
			if imageOf(t, whole) != nil {
				rt.Fatalf("not extended: %v", err)
			}
			refused++
			return
		}
		extended++
		sameBook(rt, whole, b)
	})
	t.Logf("%d images, %d extended, %d refused", images, extended, refused)
	if images == 0 || extended == 0 || refused == 0 {
		t.Error("the draws do not try everything")
	}
}

// A log that was written anew does not continue an image; nor does one whose line was changed, and nothing is taken for an image that is none.
func TestExtendRefuses(t *testing.T) {
	w := newWorld(t)
	fay, ned, moe := farm(w)
	ned.note("one")
	moe.pull(ned)
	fay.pull(moe)
	image := imageOf(t, fay.book)
	tail := func(es ...*Entry) []Log { return trusted(logsOf(es...)) }
	read := func() *Book {
		b, err := ReadImage(fay.book.ID(), image)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	two := ned.note("two")
	three := ned.note("three")
	if err := read().Extend(tail(two, three)); err != nil {
		t.Error(err)
	}
	if err := read().Extend(tail(three)); err == nil {
		t.Error("an entry that skips one was taken")
	}
	if err := read().Extend([]Log{{Name: ned.writer().String(), Lines: [][]byte{two.Line(), two.Line()}}}); err == nil {
		t.Error("an entry was taken twice")
	}
	if err := read().Extend([]Log{{Name: moe.writer().String(), Lines: [][]byte{two.Line()}}}); err == nil {
		t.Error("an entry was taken into the log of another")
	}
	changed := bytes.Replace(two.Line(), []byte("two"), []byte("owt"), 1)
	if bytes.Equal(changed, two.Line()) {
		changed = slices.Concat(two.Line()[:len(two.Line())-5], []byte("A=\"}\n"))
	}
	if err := read().Extend([]Log{{Name: ned.writer().String(), Lines: [][]byte{changed}}}); err == nil {
		t.Error("a changed line was taken")
	}
	for name, data := range map[string][]byte{"nothing": nil, "half": image[:len(image)/2], "one byte more": append(bytes.Clone(image), 0), "other bytes": []byte("pack 1\nabc")} {
		if _, err := ReadImage(fay.book.ID(), data); err == nil {
			t.Errorf("%s was taken for an image", name)
		}
	}
	if _, err := ReadImage(two.ID(), image); err == nil {
		t.Error("the image of another book was taken")
	}
}

// Whatever bytes stand where an image should, reading them ends with an error or a book: the sum that is kept with an image tells them apart, but a sum may
// be right over wrong bytes.
func FuzzReadImage(f *testing.F) {
	w := newWorld(f)
	fay, ned, _ := farm(w)
	ned.note("one")
	fay.pull(ned)
	image := imageOf(f, fay.book)
	f.Add(image)
	f.Add(image[:200])
	f.Fuzz(func(t *testing.T, data []byte) {
		b, err := ReadImage(fay.book.ID(), data)
		if err != nil {
			return
		}
		describe(b)
		for _, e := range b.Entries() {
			_, _, _, _ = e.Record(), e.Private(), e.Line(), e.SignedBytes()
		}
	})
}
