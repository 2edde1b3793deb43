package main

import (
	"crypto/ed25519"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
)

// twice runs a command without keeping its time, so that the next finds all at hand.
func (l *long) twice(d *testBook, args ...string) {
	l.b.Helper()
	l.shedbook("", d, args...)
	l.shedbook("", d, args...)
}

// warm: due and show, asked again, on the great book and on the small one.
func (l *long) warm() {
	show := []string{"show", "disc-drill-1"}
	for _, d := range []*testBook{l.big, l.small} {
		l.twice(d, "due")
		l.twice(d, show...)
	}
	for range longRounds {
		l.shedbook("due big", l.big, "due")
		l.shedbook("due small", l.small, "due")
		l.shedbook("show big", l.big, show...)
		l.shedbook("show small", l.small, show...)
	}
	what := fmt.Sprintf("%%s warm, %d beside %d", l.bigN, l.smallN)
	l.say(fmt.Sprintf(what, "due"), "due big", "due small")
	l.say(fmt.Sprintf(what, "show"), "show big", "show small")
	l.peak("due warm", "due big")
}

// beside: due, asked again, beside a program that links the same packages and does nothing.
func (l *long) beside() {
	nothing := l.nothing()
	l.twice(l.big, "due")
	for range longRounds * 2 { // short ones need more
		l.shedbook("due warm", l.big, "due")
		l.keep("nothing", exec.Command(nothing))
	}
	l.say(fmt.Sprintf("due warm at %d beside an empty program", l.bigN), "due warm", "nothing")
}

// nothing builds a program with all that shedbook imports and an empty main.
func (l *long) nothing() string {
	l.b.Helper()
	dir := l.b.TempDir()
	list, err := exec.Command("go", "list", "-f", `{{join .Imports "\n"}}`, ".").Output()
	if err != nil {
		l.b.Fatal(err)
	}
	text := "package main\n\nimport (\n"
	for _, name := range strings.Fields(string(list)) {
		text += fmt.Sprintf("\t_ %q\n", name)
	}
	source := filepath.Join(dir, "main.go")
	here, err := filepath.Abs("internal")
	if err != nil {
		l.b.Fatal(err)
	}
	// The source stands in the tree for the compiler alone: only there may it import what is internal.
	overlay, err := json.Marshal(map[string]any{"Replace": map[string]string{filepath.Join(here, "nothing", "main.go"): source}})
	if err != nil {
		l.b.Fatal(err)
	}
	for path, content := range map[string][]byte{source: []byte(text + ")\n\nfunc main() {}\n"), filepath.Join(dir, "overlay.json"): overlay} {
		if err := os.WriteFile(path, content, 0o666); err != nil {
			l.b.Fatal(err)
		}
	}
	program := filepath.Join(dir, "nothing")
	if runtime.GOOS == "windows" {
		program += ".exe"
	}
	l.command(exec.Command("go", "build", "-overlay", filepath.Join(dir, "overlay.json"), "-o", program, "./internal/nothing"))
	return program
}

// adjusted is an adjustment unlike the one before.
func (l *long) adjusted(name string, d *testBook, n int) {
	l.b.Helper()
	l.shedbook(name, d, "adjust", "disc-drill-1", fmt.Sprint("depth=", 2+n%9), "--yes")
}

// after: due once something was recorded, beside due asked again.
func (l *long) after() {
	l.twice(l.big, "due")
	for i := range longRounds {
		l.adjusted("", l.big, i)
		l.shedbook("due after an entry", l.big, "due")
		l.shedbook("due again", l.big, "due")
	}
	l.say(fmt.Sprintf("due after one new entry at %d beside again", l.bigN), "due after an entry", "due again")
}

// adjusting: one adjustment, durable when the command has ended, beside git adding and committing one small file durably; and on the small book.
func (l *long) adjusting() {
	dir := filepath.Join(l.b.TempDir(), "theirs")
	l.git("", "init", "-q", dir)
	git := func(name string, args ...string) {
		l.git(name, append([]string{"-C", dir, "-c", "core.fsync=all", "-c", "user.name=nobody", "-c", "user.email=nobody@book.invalid"}, args...)...)
	}
	l.adjusted("", l.big, 0)
	l.adjusted("", l.small, 0)
	for i := range longRounds {
		l.adjusted("adjust big", l.big, i+1)
		if err := os.WriteFile(filepath.Join(dir, fmt.Sprint("file-", i)), []byte("depth 6 on all openers\n"), 0o666); err != nil {
			l.b.Fatal(err)
		}
		git("git add", "add", fmt.Sprint("file-", i))
		git("git commit", "commit", "-q", "-m", "depth")
		l.adjusted("adjust small", l.small, i+1)
	}
	l.say(fmt.Sprintf("adjust at %d beside durable add and commit", l.bigN), "adjust big", "git add", "git commit")
	l.say(fmt.Sprintf("adjust, %d beside %d", l.bigN, l.smallN), "adjust big", "adjust small")
}

// imported: making a book of 10,000 entries in bulk, each made up, signed, and all stored durably, beside git reading the same files in the same runs from a
// stream, and signing as often.
func (l *long) imported() {
	n := min(10_000, l.bigN)
	dir := l.b.TempDir()
	stream, err := os.Create(filepath.Join(dir, "stream"))
	if err != nil {
		l.b.Fatal(err)
	}
	defer stream.Close()
	export := exec.Command("git", "-C", filepath.Join(historyBook(l.b, n, 1).dir, "git"), "fast-export", "--all")
	export.Stdout = stream
	if err := export.Run(); err != nil {
		l.b.Fatalf("%v: %v", export.Args, err)
	}
	_, key, err := ed25519.GenerateKey(seeded("signatures", 1))
	if err != nil {
		l.b.Fatal(err)
	}
	message := make([]byte, 150) // an SSHSIG to be signed is about as long
	for i := range longRounds {
		d := heldIn(l.b, filepath.Join(dir, fmt.Sprint("ours-", i)))
		l.inside("import", func() { tellLongHistory(d, n, 1) })
		theirs := filepath.Join(dir, fmt.Sprint("theirs-", i))
		l.git("", "init", "-q", "--bare", theirs)
		if _, err := stream.Seek(0, 0); err != nil {
			l.b.Fatal(err)
		}
		c := exec.Command("git", "-C", theirs, "fast-import", "--quiet")
		c.Stdin = stream
		l.keep("fast-import", c)
		l.inside("signatures", func() {
			for i := range n {
				message[0], message[1] = byte(i), byte(i>>8)
				ed25519.Sign(key, message)
			}
		})
	}
	l.say(fmt.Sprintf("writing %d in bulk", n), "import", "fast-import", "signatures")
}
