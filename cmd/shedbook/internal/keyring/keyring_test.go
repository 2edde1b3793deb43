package keyring

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"shedbook/ledger"
)

func writer(b byte) (w ledger.Writer) { w[0] = b; return w }

// TestSaveNeverOverwrites: a key that is lost cannot be had back, so a second save of the same name fails and leaves the first.
func TestSaveNeverOverwrites(t *testing.T) {
	r := New(filepath.Join(t.TempDir(), "config", "keys"))
	if _, err := r.Read(writer(1)); !errors.Is(err, ErrNoKey) {
		t.Errorf("reading a key that is not there: %v", err)
	}
	if err := r.Save(writer(1), []byte("first")); err != nil {
		t.Fatal(err)
	}
	if err := r.Save(writer(1), []byte("second")); !errors.Is(err, fs.ErrExist) {
		t.Errorf("a second save: %v", err)
	}
	if got, err := r.Read(writer(1)); err != nil || string(got) != "first" {
		t.Errorf("read %q, %v", got, err)
	}
	if info, err := os.Stat(r.Path(writer(1))); err != nil || runtime.GOOS != "windows" && info.Mode().Perm() != 0o600 {
		t.Errorf("mode %v, %v", info.Mode(), err)
	}
}

// TestLooseKeyIsRefused, but for a made-up book's.
func TestLooseKeyIsRefused(t *testing.T) {
	if runtime.GOOS == "windows" {
		return // the user's own folder protects it there
	}
	r := New(t.TempDir())
	if err := r.Save(writer(2), []byte("key")); err != nil {
		t.Fatal(err)
	}
	for _, mode := range []fs.FileMode{0o640, 0o604, 0o660} {
		if err := os.Chmod(r.Path(writer(2)), mode); err != nil {
			t.Fatal(err)
		}
		var loose *LooseError
		if _, err := r.Read(writer(2)); !errors.As(err, &loose) || loose.Mode != mode || !strings.Contains(err.Error(), "can be read by others") {
			t.Errorf("mode %04o: %v", mode, err)
		}
	}
	r.Loose = true
	if _, err := r.Read(writer(2)); err != nil {
		t.Errorf("a made-up key: %v", err)
	}
}

// TestLastIsKept across changes, per key, and a damaged one is an error, never "nothing signed yet".
func TestLastIsKept(t *testing.T) {
	r := New(t.TempDir())
	if last, err := r.Last(writer(3)); err != nil || last != (Last{}) {
		t.Errorf("before the first: %v, %v", last, err)
	}
	for seq := uint64(1); seq < 4; seq++ {
		if err := r.SetLast(writer(3), Last{Mark: "m", Seq: seq, ID: "id"}); err != nil {
			t.Fatal(err)
		}
	}
	if last, err := r.Last(writer(3)); err != nil || last != (Last{Mark: "m", Seq: 3, ID: "id"}) {
		t.Errorf("%v, %v", last, err)
	}
	if last, err := r.Last(writer(4)); err != nil || last != (Last{}) {
		t.Errorf("another key's: %v, %v", last, err)
	}
	if err := os.WriteFile(r.Path(writer(3))+".last", []byte("{"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := r.Last(writer(3)); err == nil {
		t.Error("a damaged note of the last entry was read as none")
	}
	files, err := filepath.Glob(filepath.Join(filepath.Dir(r.Path(writer(3))), ".last-*"))
	if err != nil || len(files) != 0 {
		t.Errorf("left behind: %v, %v", files, err)
	}
}
