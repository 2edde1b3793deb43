package gitstore

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/go-git/go-git/v5/plumbing"
)

// yard is a book of two devices, exchanged with a stick: the founder's log of
// 102 entries, the last two of them pending, and another device's of 6. The stick
// has all of them.
type yard struct {
	t       *testing.T
	s       *Store
	stick   string
	founder *device
	other   *device
	whole   map[string][][]byte // all lines, by log
	refs    map[string]string
}

func newYard(t *testing.T, dir string) *yard {
	t.Helper()
	s, founder := newBookAt(t, filepath.Join(dir, "book"), "founder")
	y := &yard{t: t, s: s, stick: filepath.Join(dir, "stick"), founder: founder}
	for range 7 {
		appendTo(t, s, founder.name, founder.notes(t, 14)...)
	}
	y.other = newWriter(t, s, "creek")
	for range 5 {
		appendTo(t, s, y.other.name, y.other.note(t))
	}
	appendTo(t, s, founder.name, founder.note(t)) // number 100 fills the first file
	if err := s.Pack(); err != nil {
		t.Fatal(err)
	}
	appendTo(t, s, founder.name, founder.note(t))
	appendTo(t, s, founder.name, founder.note(t))
	y.whole, y.refs = linesOf(t, s), refsOf(t, s)
	// The stick is written from a copy, so that the two last runs stay pending.
	copyDir(t, s.Dir(), filepath.Join(dir, "copy"))
	copied, err := Open(filepath.Join(dir, "copy"))
	if err != nil {
		t.Fatal(err)
	}
	exchangeWith(t, copied, y.stick)
	if err := os.RemoveAll(s.path(targetsDir)); err != nil {
		t.Fatal(err)
	}
	copyDir(t, copied.path(targetsDir), s.path(targetsDir))
	return y
}

// at is the same yard in a copy of its folder.
func (y *yard) at(t *testing.T, from, dir string) *yard {
	t.Helper()
	copyDir(t, from, dir)
	n := *y
	n.t, n.stick = t, filepath.Join(dir, "stick")
	s, err := Open(filepath.Join(dir, "book"))
	if err != nil {
		t.Fatal(err)
	}
	n.s = s
	// It is the same stick, in another place.
	files, err := filepath.Glob(s.path(targetsDir, "*.toml"))
	if err != nil || len(files) != 1 {
		t.Fatalf("%v, %v", files, err)
	}
	data, err := os.ReadFile(files[0])
	if err != nil {
		t.Fatal(err)
	}
	n.write(files[0], bytes.ReplaceAll(data, []byte(y.stick), []byte(n.stick)))
	return &n
}

func (y *yard) write(path string, data []byte) {
	y.t.Helper()
	os.Chmod(path, 0o644)
	if err := os.WriteFile(path, data, 0o644); err != nil {
		y.t.Fatal(err)
	}
}

func (y *yard) read(path string) []byte {
	y.t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		y.t.Fatal(err)
	}
	return data
}

func (y *yard) remove(paths ...string) {
	y.t.Helper()
	for _, path := range paths {
		if err := os.RemoveAll(path); err != nil {
			y.t.Fatal(err)
		}
	}
}

// git is stock git in the book's repository. Where there is none, the damage
// cannot be made.
func (y *yard) git(args ...string) string {
	y.t.Helper()
	if _, err := exec.LookPath("git"); err != nil {
		if full() {
			y.t.Fatal("git is not installed")
		}
		y.t.Skip("needs git")
	}
	cmd := gitCommand(y.s, args...)
	cmd.Env = append(cmd.Env, "GIT_AUTHOR_NAME=A", "GIT_AUTHOR_EMAIL=a@book.invalid", "GIT_COMMITTER_NAME=A", "GIT_COMMITTER_EMAIL=a@book.invalid",
		"GIT_AUTHOR_DATE=2026-05-01T00:00:00Z", "GIT_COMMITTER_DATE=2026-05-01T00:00:00Z")
	var errs bytes.Buffer
	cmd.Stderr = &errs
	out, err := cmd.Output()
	if err != nil {
		y.t.Fatalf("git %s: %v\n%s", strings.Join(args, " "), err, errs.String())
	}
	return strings.TrimSpace(string(out))
}

// pack returns the path of the largest packed file, without its ending.
func (y *yard) pack() string {
	y.t.Helper()
	names, err := y.s.packNames()
	if err != nil || len(names) == 0 {
		y.t.Fatalf("%v, %v", names, err)
	}
	slices.SortFunc(names, func(a, b string) int {
		m, n := y.read(y.s.git("objects", "pack", a+".pack")), y.read(y.s.git("objects", "pack", b+".pack"))
		return len(n) - len(m)
	})
	return y.s.git("objects", "pack", names[0])
}

// flat packs everything anew with stock git, without deltas in between, so that
// one part can be damaged and the others not.
func (y *yard) flat() {
	y.git("repack", "-adf", "--depth=0", "--window=0", "-q")
	y.git("prune-packed", "-q")
}

// back returns the commit of a log n runs before its end.
func (y *yard) back(log string, n int) plumbing.Hash {
	y.t.Helper()
	packs := y.s.openPacks()
	defer packs.close()
	at, _ := parseHash(y.refs[log])
	for range n {
		c, err := y.s.history(packs).commit(at)
		if err != nil {
			y.t.Fatal(err)
		}
		at = c.parent
	}
	return at
}

// file returns the object that holds a file or folder of a log at its end.
func (y *yard) file(log, path string) plumbing.Hash {
	y.t.Helper()
	packs := y.s.openPacks()
	defer packs.close()
	from := y.s.history(packs)
	c, err := from.commit(y.back(log, 0))
	at := c.tree
	for name := range strings.SplitSeq(path, "/") {
		var entries []treeEntry
		if err == nil {
			entries, err = from.tree(at)
		}
		i := slices.IndexFunc(entries, func(e treeEntry) bool { return e.name == name })
		if err != nil || i < 0 {
			y.t.Fatalf("no %s: %v", path, err)
		}
		at = entries[i].hash
	}
	return at
}

// without packs everything but some objects anew, and takes those away.
func (y *yard) without(gone ...plumbing.Hash) {
	y.t.Helper()
	packs := y.s.openPacks()
	defer packs.close()
	if err := packs.scan(); err != nil {
		y.t.Fatal(err)
	}
	var keep []object
	for _, name := range sortedNames(packs.open) {
		all, err := packs.open[name].index.EntriesByOffset()
		if err != nil {
			y.t.Fatal(err)
		}
		for {
			e, err := all.Next()
			if err != nil {
				break
			}
			if o, err := packs.get(e.Hash); err != nil {
				y.t.Fatal(err)
			} else if !slices.Contains(gone, e.Hash) {
				keep = append(keep, o)
			}
		}
	}
	old := sortedNames(packs.open)
	name, err := y.s.writePack(keep)
	if err != nil {
		y.t.Fatal(err)
	}
	for _, other := range old {
		if other != name {
			if err := y.s.removePack(other); err != nil {
				y.t.Fatal(err)
			}
		}
	}
	for _, hash := range gone {
		y.remove(y.s.loosePath(hash))
	}
}

// flip changes one byte inside an object of the packed file.
func (y *yard) flip(hash plumbing.Hash) {
	y.t.Helper()
	pack := y.pack()
	r, err := y.s.openPack(filepath.Base(pack))
	if err != nil {
		y.t.Fatal(err)
	}
	defer r.file.Close()
	at, err := r.index.FindOffset(hash)
	if err != nil {
		y.t.Fatal(err)
	}
	data := y.read(pack + ".pack")
	data[at+20] ^= 0x40
	y.write(pack+".pack", data)
}

// foreign makes a commit on a log's branch with stock git, from a file that
// change makes of the last one, or as a further file.
func (y *yard) foreign(log, path string, change func([]byte) []byte) {
	y.t.Helper()
	y.git("version")
	dir := filepath.Join(y.t.TempDir(), "work")
	run := func(args ...string) {
		y.t.Helper()
		cmd := exec.Command("git", args...)
		cmd.Env = append(os.Environ(), "GIT_CONFIG_NOSYSTEM=1", "GIT_CONFIG_GLOBAL="+os.DevNull, "GIT_AUTHOR_NAME=A", "GIT_AUTHOR_EMAIL=a@book.invalid",
			"GIT_COMMITTER_NAME=A", "GIT_COMMITTER_EMAIL=a@book.invalid", "GIT_AUTHOR_DATE=2026-05-01T00:00:00Z", "GIT_COMMITTER_DATE=2026-05-01T00:00:00Z")
		if out, err := cmd.CombinedOutput(); err != nil {
			y.t.Fatalf("git %s: %v\n%s", strings.Join(args, " "), err, out)
		}
	}
	run("clone", "-q", "--branch", "log/"+log, y.s.git(), dir)
	file := filepath.Join(dir, filepath.FromSlash(path))
	old, _ := os.ReadFile(file)
	y.write(file, change(old))
	run("-C", dir, "add", "-A")
	run("-C", dir, "commit", "-q", "-m", "by hand")
	run("-C", dir, "push", "-q", "origin", "HEAD:refs/heads/log/"+log)
}

// lent makes the book borrow all it has from a plain copy of its repository.
func (y *yard) lent() (lender string) {
	y.t.Helper()
	lender = filepath.Join(filepath.Dir(y.s.Dir()), "lender.git")
	y.git("clone", "-q", "--mirror", y.s.git(), lender)
	y.remove(y.s.path(pendingDir, pendingFile), y.s.git("objects"))
	if err := os.MkdirAll(y.s.git("objects", "info"), 0o777); err != nil {
		y.t.Fatal(err)
	}
	y.write(y.s.git("objects", "info", "alternates"), []byte(lender+"/objects\n"))
	return lender
}

// reread opens the book as it lies, and returns what is held and what is said of
// the folder.
func (y *yard) reread() (*Store, map[string][][]byte, []Damage) {
	y.t.Helper()
	s, err := OpenDamaged(y.s.Dir())
	if err != nil {
		y.t.Fatal(err)
	}
	logs, damages, err := s.Held()
	if err != nil {
		y.t.Fatal(err)
	}
	all := map[string][][]byte{}
	for _, l := range logs {
		all[l.Name] = l.Lines
	}
	return s, all, damages
}
