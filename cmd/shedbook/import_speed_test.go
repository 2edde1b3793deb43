package main

import (
	"crypto/ed25519"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// notebook is a made-up family's old notebook as a table of n rows, over some twenty years up to 2024, for a drill and a tractor: readings, greasing, counters,
// settings, notes.
func notebook(n int) string {
	var b strings.Builder
	b.WriteString("machine;date;place;what;value;note\r\n")
	first := time.Date(2005, 1, 1, 0, 0, 0, 0, time.UTC)
	for i := range n {
		day := first.AddDate(0, 0, i*7000/n).Format("2006-01-02")
		switch i % 5 {
		case 0:
			fmt.Fprintf(&b, "drill;%s;%d;disc-reach;5,%d;\r\n", day, i%48+1, i%89+10)
		case 1:
			fmt.Fprintf(&b, "drill;%s;1-24;grease;;\"bank %d; dusty\"\r\n", day, i)
		case 2:
			fmt.Fprintf(&b, "drill;%s;;area;%d;\r\n", day, 100+i/10)
		case 3:
			fmt.Fprintf(&b, "drill;%s;%d;depth;%d;\r\n", day, i%48+1, i%9+1)
		case 4:
			fmt.Fprintf(&b, "tractor;%s;;;;looked over %d\r\n", day, i)
		}
	}
	return b.String()
}

// BenchmarkImport times importing a table of 50,000 rows as a whole process, beside git importing the same files and as many signatures alone, by turns.
// Wanted: no more than 3 times as long (1.5 x 2, for the checks of each row).
func BenchmarkImport(b *testing.B) {
	const n = 50_000
	for range b.N {
		l := &long{speed: newSpeed(b)}
		dir := b.TempDir()
		file := filepath.Join(dir, "notebook.csv")
		if err := os.WriteFile(file, []byte(notebook(n)), 0o666); err != nil {
			b.Fatal(err)
		}
		d := newTestBook(b)
		d.must("machine", "add", "drill", "disc-drill", "--options", "openers=48")
		d.must("machine", "add", "tractor", "tractor")
		_, key, err := ed25519.GenerateKey(seeded("signatures", 1))
		if err != nil {
			b.Fatal(err)
		}
		message := make([]byte, 150)
		for i := range 3 {
			mine := d.copied()
			l.shedbook("import", mine, "import", "csv", file, "--quiet", "--yes")
			stream := filepath.Join(dir, "stream")
			out, err := os.Create(stream)
			if err != nil {
				b.Fatal(err)
			}
			export := exec.Command("git", "-C", filepath.Join(mine.dir, "git"), "fast-export", "--all")
			export.Stdout = out
			if err := export.Run(); err != nil {
				b.Fatal(err)
			}
			out.Close()
			theirs := filepath.Join(dir, fmt.Sprint("theirs-", i))
			l.git("", "init", "-q", "--bare", theirs)
			in, err := os.Open(stream)
			if err != nil {
				b.Fatal(err)
			}
			c := exec.Command("git", "-C", theirs, "fast-import", "--quiet")
			c.Stdin = in
			l.keep("fast-import", c)
			in.Close()
			l.inside("signatures", func() {
				for i := range n {
					message[0], message[1] = byte(i), byte(i>>8)
					ed25519.Sign(key, message)
				}
			})
		}
		l.say(fmt.Sprintf("importing %d rows", n), "import", "fast-import", "signatures")
	}
}
