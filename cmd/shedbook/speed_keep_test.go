package main

import (
	"crypto/ed25519"
	"crypto/sha512"
	"encoding/binary"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"

	"shedbook/ledger"
	"shedbook/ledger/gitstore"
)

// audited: the whole book verified anew, beside verifying its signatures alone, on all cores.
func (l *long) audited() {
	n := min(l.bigN, 100_000) // one size for all: a greater book says no more
	d := l.big
	if n != l.bigN {
		d = historyBook(l.b, n, 1).copied()
	}
	type signature struct {
		public             ed25519.PublicKey
		message, signature []byte
	}
	var all []signature
	store, err := gitstore.Open(d.dir)
	if err != nil {
		l.b.Fatal(err)
	}
	defer store.Close()
	logs, err := store.Logs()
	if err != nil {
		l.b.Fatal(err)
	}
	log, err := ledger.LoadPinned(store.BookID(), logs)
	if err != nil {
		l.b.Fatal(err)
	}
	public := map[ledger.Writer]ed25519.PublicKey{}
	for _, dev := range log.Judge().Devices() {
		public[dev.Writer] = dev.Key.Ed25519()
	}
	for _, e := range log.Entries() {
		all = append(all, signature{public[e.Writer()], sshMessage(ledger.EntryNamespace, e.SignedBytes()), e.Signature()})
	}
	for range longRounds {
		l.shedbook("audit", d, "audit")
		l.inside("signatures alone", func() {
			var bad atomic.Int64
			onAllCores(len(all), func(i int) {
				if !ed25519.Verify(all[i].public, all[i].message, all[i].signature) {
					bad.Add(1)
				}
			})
			if bad.Load() != 0 {
				l.b.Fatalf("%d signatures do not verify", bad.Load())
			}
		})
	}
	l.say(fmt.Sprintf("audit of %d beside its signatures alone", len(all)), "audit", "signatures alone")
	l.peak("audit", "audit")
}

// sshMessage is what an SSH signature signs for a message (OpenSSH's PROTOCOL.sshsig, section 2, with sha512).
func sshMessage(namespace string, message []byte) []byte {
	sum := sha512.Sum512(message)
	b := []byte("SSHSIG")
	for _, part := range []string{namespace, "", "sha512", string(sum[:])} {
		b = append(binary.BigEndian.AppendUint32(b, uint32(len(part))), part...)
	}
	return b
}

// idle: an exchange with nothing to do, through a folder, beside git fetch of the same folder with nothing to do.
func (l *long) idle() {
	dir := l.b.TempDir()
	stick, theirs := filepath.Join(dir, "stick"), filepath.Join(dir, "theirs.git")
	l.shedbook("", l.big, "sync", stick)
	l.git("", "clone", "-q", "--bare", fileURL(stick), theirs)
	l.twice(l.big, "sync", stick)
	for range longRounds * 2 {
		l.shedbook("sync", l.big, "sync", stick)
		l.git("fetch", "-C", theirs, "fetch", "-q", fileURL(stick), logRefs)
	}
	l.say(fmt.Sprintf("sync with nothing to do at %d", l.bigN), "sync", "fetch")
}

// size: what the repository takes, packed, its indexes too, beside git packing the same anew.
func (l *long) size() {
	made := historyBook(l.b, l.bigN, 1)
	dir := filepath.Join(made.dir, "git")
	bytes, files := spaceIn(l.b, filepath.Join(dir, "objects"))
	runs, err := strconv.Atoi(strings.TrimSpace(l.told("-C", dir, "rev-list", "--count", "--all")))
	if err != nil {
		l.b.Fatal(err)
	}
	lines, raw := l.lines(made), 0
	for _, line := range lines {
		raw += len(line)
	}
	entries := len(lines)
	l.b.ReportMetric(float64(bytes)/float64(entries), "B/entry")
	l.b.ReportMetric(float64(bytes)/float64(runs), "B/run")
	l.b.Logf("%-46s ours %9.1f MB in %d files: %.0f bytes an entry, %.0f a run (%d entries in %d runs; their lines alone %.0f bytes an entry)", "repository, packed, with indexes",
		float64(bytes)/(1<<20), files, float64(bytes)/float64(entries), float64(bytes)/float64(runs), entries, runs, float64(raw)/float64(entries))
	if l.bigN > 100_000 {
		return // git takes too long
	}
	theirs := filepath.Join(l.b.TempDir(), "theirs.git")
	l.git("", "clone", "-q", "--bare", fileURL(dir), theirs)
	l.git("", "-C", theirs, "repack", "-q", "-a", "-d", "-f")
	other, _ := spaceIn(l.b, filepath.Join(theirs, "objects"))
	l.b.Logf("%-46s ours %9.1f MB, theirs %9.1f MB, %6.2f times", "the same, git repack -a -d -f", float64(bytes)/(1<<20), float64(other)/(1<<20), float64(bytes)/float64(other))
}

// year: the files that lie about after a year of daily use on one device, three runs a day, each made durable by itself; a fifth of it by default.
func (l *long) year() {
	days := 365
	if l.bigN < 100_000 {
		days = 73
	}
	d := newTestBook(l.b)
	d.must("machine", "add", "drill", "disc-drill", "--options", "openers=48")
	most := 0
	for done := 0; done < days; done += 10 {
		l.write(d, 3*min(10, days-done), 2, false)
		most = max(most, l.loose(d))
	}
	_, files := spaceIn(l.b, d.dir)
	packs, err := filepath.Glob(filepath.Join(d.dir, "git", "objects", "pack", "*.pack"))
	if err != nil {
		l.b.Fatal(err)
	}
	l.b.ReportMetric(float64(most), "loose-files")
	l.b.Logf("%-46s ours %d loose, at most %d on the way, %d packs, %d files in all", fmt.Sprintf("files after %d days of 3 runs", days), l.loose(d), most, len(packs), files)
}

// loose counts the objects of a book that lie in files of their own.
func (l *long) loose(d *testBook) int {
	l.b.Helper()
	folders, err := os.ReadDir(filepath.Join(d.dir, "git", "objects"))
	if err != nil {
		l.b.Fatal(err)
	}
	n := 0
	for _, f := range folders {
		if len(f.Name()) == 2 {
			_, files := spaceIn(l.b, filepath.Join(d.dir, "git", "objects", f.Name()))
			n += files
		}
	}
	return n
}

// spaceIn is how many bytes lie in a folder, and in how many files.
func spaceIn(t testing.TB, dir string) (bytes int64, files int) {
	t.Helper()
	err := filepath.WalkDir(dir, func(_ string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		info, err := e.Info()
		if err == nil {
			bytes, files = bytes+info.Size(), files+1
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return bytes, files
}
