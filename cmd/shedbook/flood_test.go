package main

import (
	"bytes"
	"compress/zlib"
	"crypto/sha1"
	"crypto/sha256"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"

	"shedbook/ledger"
)

// TestFlood syncs with a folder into which somebody put 100,000 logs (the plain tests: 2,000), half of them one file of 10 MB and half of them rubbish: what is real there
// comes, all others are refused in a page of text, and memory stays under 300 MiB.
func TestFlood(t *testing.T) {
	n := 2_000
	if fullTests {
		n = 100_000
	}
	b := newTestBook(t)
	stick := filepath.Join(t.TempDir(), "stick")
	b.must("machine", "add", "drill", "disc-drill", "--options", "openers=24")
	b.must("sync", stick)
	real := b.admitted(stick, "Jo Alder", "creek laptop")
	real.must("note", "drill", "stood in the rain")
	real.must("sync")
	put := func(data []byte) string { // a loose object, as gitrepository-layout(5) and git's hash of it have it
		raw := append(fmt.Appendf(nil, "blob %d\x00", len(data)), data...)
		name := fmt.Sprintf("%x", sha1.Sum(raw))
		var packed bytes.Buffer
		w := zlib.NewWriter(&packed)
		if _, err := w.Write(raw); err != nil {
			t.Fatal(err)
		}
		w.Close()
		dir := filepath.Join(stick, "objects", name[:2])
		if err := os.MkdirAll(dir, 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, name[2:]), packed.Bytes(), 0o666); err != nil {
			t.Fatal(err)
		}
		return name
	}
	objects := []string{put([]byte("rubbish")), put(bytes.Repeat([]byte("a"), 10<<20))}
	var refs []string
	for i := range n {
		sum := sha256.Sum256(fmt.Append(nil, i))
		refs = append(refs, fmt.Sprintf("%s refs/heads/log/%s\n", objects[i%2], ledger.Writer(sum[:20])))
	}
	slices.SortFunc(refs, func(a, b string) int { return strings.Compare(a[41:], b[41:]) })
	if err := os.WriteFile(filepath.Join(stick, "packed-refs"), []byte("# pack-refs with: peeled fully-peeled sorted \n"+strings.Join(refs, "")), 0o666); err != nil {
		t.Fatal(err)
	}
	out, peak := b.measured("sync")
	if !strings.Contains(b.must("history", "drill"), "stood in the rain") {
		t.Errorf("what a device of the book wrote did not come:\n%.2000s", out)
	}
	if lines := strings.Count(out, "\n"); lines > 60 || !strings.Contains(out, "other logs not taken for the same reason") {
		t.Errorf("%d lines:\n%.2000s", lines, out)
	}
	if peak > 300<<20 || peak == 0 && runtime.GOOS == "linux" {
		t.Errorf("%d MB of memory were held", peak>>20)
	}
	t.Logf("%d logs: %d MB of memory", n, peak>>20)
}
