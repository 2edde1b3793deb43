package gitstore

import (
	"bytes"
	"testing"

	"github.com/go-git/go-git/v5/plumbing"
	"pgregory.net/rapid"
)

// What makeDelta makes, go-git makes into the same bytes again.
func TestDelta(t *testing.T) {
	rapidChecks(t, 300, func(rt *rapid.T) {
		base := rapid.SliceOfN(rapid.Byte(), 1, 300).Draw(rt, "base")
		if rapid.Bool().Draw(rt, "long") {
			base = bytes.Repeat(append(base, 'x'), 600)
		}
		data := bytes.Clone(base)
		for range rapid.IntRange(0, 4).Draw(rt, "changes") {
			at := rapid.IntRange(0, len(data)).Draw(rt, "at")
			more := rapid.SliceOfN(rapid.Byte(), 0, 150).Draw(rt, "more")
			end := min(len(data), at+rapid.IntRange(0, 100).Draw(rt, "less"))
			data = append(append(bytes.Clone(data[:at]), more...), data[end:]...)
		}
		data = append(data, 'x') // no file of a log is empty, and go-git makes none out of nothing
		made, err := patch(base, makeDelta(base, data), plumbing.BlobObject)
		if err != nil || !bytes.Equal(made, data) {
			rt.Fatalf("%v: %q is not %q", err, made, data)
		}
	})
}

// A log's file that grew costs a few bytes.
func TestDeltaIsSmall(t *testing.T) {
	last := bytes.Repeat([]byte("one line of a log\n"), 1000)
	for _, n := range []int{1, 500, 999} {
		if delta := makeDelta(last, last[:n*18]); len(delta) > 16 {
			t.Errorf("%d lines of 1,000: %d bytes", n, len(delta))
		}
	}
}
