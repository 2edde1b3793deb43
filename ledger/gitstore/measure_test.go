package gitstore

import (
	"io/fs"
	"os"
	"path/filepath"
	"sort"
	"testing"
	"time"

	"shedbook/ledger"
)

// diskUse returns bytes (apparent) and files under dir.
func diskUse(t testing.TB, dir string) (bytes int64, files int) {
	t.Helper()
	err := filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		info, err := e.Info()
		if err != nil {
			return err
		}
		bytes += info.Size()
		files++
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return bytes, files
}

func median(all []time.Duration) time.Duration {
	sort.Slice(all, func(i, j int) bool { return all[i] < all[j] })
	return all[len(all)/2]
}

// timeAppends opens the store anew and appends one entry, n times.
func timeAppends(t testing.TB, s *Store, d *device, n int) (typical, worst time.Duration) {
	var all []time.Duration
	for range n {
		e := d.note(t)
		start := time.Now()
		again := reopen(t, s)
		if err := again.Update(func(tx *Tx) error { return tx.Append(d.name, []*ledger.Entry{e}) }); err != nil {
			t.Fatal(err)
		}
		all = append(all, time.Since(start))
	}
	m := median(all)
	return m, all[len(all)-1]
}

func TestMeasure(t *testing.T) {
	if os.Getenv("MEASURE") == "" {
		return
	}
	s, founder := newBook(t)
	for range 8 {
		appendTo(t, s, founder.name, founder.note(t))
	}
	typical, worst := timeAppends(t, s, founder, 9)
	t.Logf("append at 10 runs: %v, worst %v", typical, worst)
	start := time.Now()
	var slowest time.Duration
	for range 10000 - 18 {
		e := founder.note(t)
		one := time.Now()
		appendTo(t, s, founder.name, e)
		slowest = max(slowest, time.Since(one))
	}
	t.Logf("10,000 runs one by one: %v, slowest %v", time.Since(start), slowest)
	typical, worst = timeAppends(t, s, founder, 9)
	t.Logf("append at 10,000 runs: %v, worst %v", typical, worst)
	if err := s.Pack(); err != nil {
		t.Fatal(err)
	}
	typical, worst = timeAppends(t, s, founder, 1)
	t.Logf("append just after packing: %v, worst %v", typical, worst)
	if err := s.Pack(); err != nil {
		t.Fatal(err)
	}
	bytes, files := diskUse(t, s.git("objects"))
	t.Logf("%d bytes, %d files", bytes, files)
	names, _ := s.packNames()
	for _, n := range names {
		c, _ := s.packCount(n)
		i, _ := os.Stat(s.git("objects", "pack", n+".pack"))
		t.Logf("%s %d objects %d bytes", n, c, i.Size())
	}
	start = time.Now()
	lines := linesOf(t, s)[founder.name]
	raw := 0
	for _, l := range lines {
		raw += len(l)
	}
	t.Logf("read %d entries of %d bytes in %v", len(lines), raw/len(lines), time.Since(start))
}
