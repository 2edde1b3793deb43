package ledger

import (
	"bytes"
	"crypto/sha256"
	"testing"

	"github.com/gowebpki/jcs"
)

func sum256(s string) [32]byte { return sha256.Sum256([]byte(s)) }

// FuzzVerifyLine holds what the parser accepts to be canonical by an outside
// canonicaliser, and what it takes from a line to stand in it.
func FuzzVerifyLine(f *testing.F) {
	w := newWorld(f)
	fay, ned, _ := farm(w)
	e := ned.sign(Draft{Class: Work, Kind: "note", Machine: &w.machine,
		Record: map[string]any{"text": "½ \"turn\"\nout", "list": []any{1, true, []int{}}}, Private: map[string]any{"cost": "3.50"}})
	for _, x := range []*Entry{e, fay.book.Founding(), fay.book.Entries()[2]} {
		f.Add(x.Line())
	}
	f.Add([]byte("{}\n"))
	f.Add([]byte(`{"body":{"kind":"a","record":{"n":-0},"salt":""},"head":{},"sig":""}` + "\n"))
	f.Fuzz(func(t *testing.T, line []byte) {
		for _, withheld := range []bool{false, true} {
			e, err := parseLine(line, withheld)
			if err != nil {
				continue
			}
			want, err := jcs.Transform(line[:len(line)-1])
			if err != nil || !bytes.Equal(want, line[:len(line)-1]) {
				t.Fatalf("%s\nis read, the oracle (%v) has\n%s", line, err, want)
			}
			if sha256.Sum256(e.SignedBytes()) != e.ID() {
				t.Fatalf("the id is not that of %s", e.SignedBytes())
			}
			for _, part := range [][]byte{e.SignedBytes(), e.Record(), e.Private()} {
				if part != nil && (part[0] != '{' || part[len(part)-1] != '}' || !bytes.Contains(line, part)) {
					t.Fatalf("%s is no object of %s", part, line)
				}
			}
		}
	})
}
