package draft

import (
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

var head = Head{Verb: "measure", Machine: "ab12", Done: "2026-04-01T08:00", Words: []string{"opener/1-48", "disc-reach"}, Flags: []string{"--by=Wren"}}

var some = []Line{{At: "disc-reach opener/1", Say: "5.9 in"}, {At: "disc-reach opener/3", Left: true}, {At: "disc-reach opener/5", Say: "-", More: "mud: \"deep\"\nand wet"},
	{At: "disc-reach opener/7", Doubt: "59 in"}, {Signed: []string{"aa", "bb"}}}

func open(t *testing.T, book string) *Draft {
	t.Helper()
	d, err := Open(book, Name("measure", "ab12", []string{"disc-reach"}))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(d.Close)
	return d
}

// filled is a book's folder with a draft of all lines, and the draft's file.
func filled(t *testing.T) (book, file string) {
	t.Helper()
	book = t.TempDir()
	d := open(t, book)
	if d.Head != nil {
		t.Fatal("a draft where none was begun")
	}
	if err := d.Begin(head); err != nil {
		t.Fatal(err)
	}
	for _, l := range some {
		if err := d.Add(l); err != nil {
			t.Fatal(err)
		}
	}
	d.Close()
	return book, d.path
}

// Law: what was added is read back, in its order; folder and file are their owner's only.
func TestReadBack(t *testing.T) {
	book, file := filled(t)
	d := open(t, book)
	want := head
	want.Format = 1
	if diff := cmp.Diff(&want, d.Head); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff(some, d.Lines); diff != "" || d.Lost != 0 {
		t.Error(d.Lost, diff)
	}
	for path, mode := range map[string]os.FileMode{filepath.Dir(file): 0o700, file: 0o600, file + ".lock": 0o600} {
		info, err := os.Stat(path)
		if err != nil || runtime.GOOS != "windows" && info.Mode().Perm() != mode {
			t.Errorf("%s: %v, %v", path, info.Mode(), err)
		}
	}
}

// Law: a file cut anywhere, as by a loss of power, gives the lines that were whole before the cut, and goes on from there.
func TestCutAnywhere(t *testing.T) {
	_, file := filled(t)
	whole, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	for n := range whole {
		book := t.TempDir()
		path := filepath.Join(book, Folder, filepath.Base(file))
		if err := errors.Join(os.MkdirAll(filepath.Dir(path), 0o700), os.WriteFile(path, whole[:n], 0o600)); err != nil {
			t.Fatal(err)
		}
		d := open(t, book)
		lines := strings.Count(string(whole[:n]), "\n")
		if lines == 0 {
			if d.Head != nil || d.Begin(head) != nil {
				t.Fatalf("cut at %d: head %v", n, d.Head)
			}
			d.Close()
			continue
		}
		if diff := cmp.Diff(some[:lines-1], d.Lines, cmpopts.EquateEmpty()); diff != "" || d.Lost != 0 || d.Head == nil {
			t.Fatalf("cut at %d: lost %d, %s", n, d.Lost, diff)
		}
		more := Line{At: "disc-reach opener/9", Say: "5.5 in"}
		if err := d.Add(more); err != nil {
			t.Fatal(err)
		}
		d.Close()
		if again := open(t, book); !cmp.Equal(append(append([]Line(nil), some[:lines-1]...), more), again.Lines) || again.Lost != 0 {
			t.Fatalf("cut at %d and gone on: lost %d, %v", n, again.Lost, again.Lines)
		}
	}
}

// Law: one bit turned over in a line loses that line only, and says so; in the head, the file is put aside and nothing is taken from it.
func TestTurnedBit(t *testing.T) {
	_, file := filled(t)
	whole, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	for n := 0; n < len(whole)-1; n += 3 {
		if whole[n] == '\n' {
			continue
		}
		book := t.TempDir()
		path := filepath.Join(book, Folder, filepath.Base(file))
		bad := append([]byte(nil), whole...)
		bad[n] ^= 0x40
		if err := errors.Join(os.MkdirAll(filepath.Dir(path), 0o700), os.WriteFile(path, bad, 0o600)); err != nil {
			t.Fatal(err)
		}
		d := open(t, book)
		line := strings.Count(string(whole[:n]), "\n")
		if line == 0 {
			kept, _ := os.ReadFile(path + ".old-1")
			if d.Head != nil || string(kept) != string(bad) {
				t.Fatalf("bit at %d of the head: %v, %d bytes kept", n, d.Head, len(kept))
			}
			continue
		}
		want := append(append([]Line(nil), some[:line-1]...), some[line:]...)
		if !cmp.Equal(want, d.Lines) || d.Lost != 1 {
			t.Fatalf("bit at %d: lost %d, %v", n, d.Lost, d.Lines)
		}
	}
}

// Two processes cannot have one draft; the second is told, and gets it when the first has let go.
func TestOneAtATime(t *testing.T) {
	book, _ := filled(t)
	d := open(t, book)
	if _, err := Open(book, Name("measure", "ab12", []string{"disc-reach"})); !errors.Is(err, ErrBusy) {
		t.Fatalf("opened twice: %v", err)
	}
	other, err := Open(book, Name("measure", "ab12", []string{"hub-play"}))
	if err != nil || other.Head != nil {
		t.Fatalf("a draft of another reading: %v, %v", other, err)
	}
	other.Close()
	d.Close()
	if open(t, book).Head == nil {
		t.Error("the draft is gone")
	}
}

// What is put aside stays whole under another name each time; what is removed is gone; both let another begin.
func TestAsideAndRemove(t *testing.T) {
	book, file := filled(t)
	whole, _ := os.ReadFile(file)
	d := open(t, book)
	for _, name := range []string{".old-1", ".old-2"} {
		to, err := d.Aside()
		if err != nil || to != file+name {
			t.Fatalf("put aside as %s: %v", to, err)
		}
		if err := d.Begin(head); err != nil || len(d.Lines) != 0 {
			t.Fatal(err, d.Lines)
		}
	}
	if kept, err := os.ReadFile(file + ".old-1"); err != nil || string(kept) != string(whole) {
		t.Errorf("%q, %v", kept, err)
	}
	if err := d.Remove(); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(file); !errors.Is(err, os.ErrNotExist) || d.Remove() != nil {
		t.Errorf("it is still there: %v", err)
	}
}

// Readings named in another order are the same draft; another machine, verb or set of readings is another.
func TestName(t *testing.T) {
	a := Name("measure", "ab12", []string{"x", "y"})
	if a != Name("measure", "ab12", []string{"y", "x"}) {
		t.Error("the order matters")
	}
	for _, b := range []string{Name("measure", "ab12", []string{"x"}), Name("measure", "ab13", []string{"x", "y"}), Name("did", "ab12", []string{"x", "y"})} {
		if a == b {
			t.Errorf("%s is the name of two", a)
		}
	}
}

// What is no draft, or one of a newer program, is left as it is.
func TestRefused(t *testing.T) {
	newer, err := encode(Head{Format: 2})
	if err != nil {
		t.Fatal(err)
	}
	for _, test := range []struct{ name, text, want string }{
		{"newer", string(newer), "was made by a newer shedbook"},
		{"too long", strings.Repeat("x", most+1), "is no draft"},
	} {
		book := t.TempDir()
		path := filepath.Join(book, Folder, Name("measure", "ab12", nil))
		if err := errors.Join(os.MkdirAll(filepath.Dir(path), 0o700), os.WriteFile(path, []byte(test.text), 0o600)); err != nil {
			t.Fatal(err)
		}
		if _, err := Open(book, filepath.Base(path)); err == nil || !strings.Contains(err.Error(), test.want) {
			t.Errorf("%s: %v", test.name, err)
		}
		if kept, _ := os.ReadFile(path); string(kept) != test.text {
			t.Errorf("%s: it was changed", test.name)
		}
	}
}
