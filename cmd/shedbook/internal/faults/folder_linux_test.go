package faults

import (
	"fmt"
	"os"
	"os/exec"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"
)

// mounted makes a small disk of its own the live folder.
func (f *farm) mounted(size string) {
	f.t.Helper()
	if err := syscall.Mount("tmpfs", f.live(), "tmpfs", 0, "size="+size); err != nil {
		f.t.Fatalf("a small disk cannot be mounted (root is needed): %v", err)
	}
	f.t.Cleanup(func() { _ = syscall.Unmount(f.live(), 0) })
}

// whole wants the book to verify and hold so many entries.
func (f *farm) whole(entries int) {
	f.t.Helper()
	ids, err := held(f.live("wren", "book"))
	if err != nil || len(ids) != entries {
		f.t.Fatalf("%d entries are held, want %d (%v)", len(ids), entries, err)
	}
	if a := f.try("wren", "audit", "--json"); a.code != 0 || !strings.Contains(a.out, `"sound":true`) {
		f.t.Fatalf("audit: exit %d\n%s%s", a.code, a.out, a.err)
	}
}

// refused wants a command to fail in plain words that name the folder, give the reason, and say what to do.
func (f *farm) refused(a answer, reason string) {
	f.t.Helper()
	if a.code != 1 || unplain(a.out+a.err) != "" || !strings.Contains(a.err, f.live("wren")) || !strings.Contains(a.err, reason) || !strings.Contains(a.err, "\n  next: ") {
		f.t.Errorf("exit %d, want 1, %q and a next step\n%s%s", a.code, reason, a.out, a.err)
	}
}

// A folder that may only be read is read as ever; what would be written to it is refused.
func TestReadOnly(t *testing.T) {
	if !asked() {
		return
	}
	reads := []string{"show drill", "due", "history", "audit", "people list", "machine list"}
	for name, shut := range map[string]func(f *farm) (before []string, reason string){
		"disk mounted read-only": func(f *farm) ([]string, string) {
			must(f.t, syscall.Mount("", f.live(), "", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""))
			return nil, "read-only file system"
		},
		"folder of somebody else": func(f *farm) ([]string, string) {
			binary, err := program()
			must(f.t, err)
			must(f.t, os.Chmod(binary[:strings.LastIndexByte(binary, '/')], 0o755))
			must(f.t, os.Chmod(f.live(), 0o755))
			must(f.t, os.Chmod(f.live("wren"), 0o755))
			for dir := f.root; strings.HasPrefix(dir, os.TempDir()+"/"); dir = dir[:strings.LastIndexByte(dir, '/')] {
				must(f.t, os.Chmod(dir, 0o755))
			}
			must(f.t, exec.Command("chown", "-R", "65534", f.live("wren", ".config")).Run())
			setpriv, err := exec.LookPath("setpriv")
			must(f.t, err)
			return []string{setpriv, "--reuid=65534", "--regid=65534", "--clear-groups"}, "permission denied"
		},
	} {
		t.Run(name, func(t *testing.T) {
			f := newFarm(t)
			f.mounted("16m")
			started(f)
			before, err := held(f.live("wren", "book"))
			must(t, err)
			var want []string
			now := f.now
			for _, line := range reads {
				f.now = now
				want = append(want, f.do("wren", line))
			}
			who, reason := shut(f)
			for i, line := range reads {
				f.now = now.Add(time.Minute)
				a := run(t, f.command("wren", who, fields(line)...))
				if a.code != 0 || a.out != want[i] || unplain(a.err) != "" {
					t.Errorf("%s: exit %d\n%s%s", line, a.code, a.out, a.err)
				}
			}
			for _, line := range []string{"counter drill 1830", "did drill grease", `people add "Sam Rook"`, note} {
				f.refused(run(t, f.command("wren", who, fields(line)...)), reason)
			}
			if who != nil { // and one that may not even be looked into is not called no book
				must(t, os.Chmod(f.live("wren", "book"), 0o700))
				a := run(t, f.command("wren", who, "due"))
				if f.refused(a, reason); !strings.Contains(a.err, "you may not read the book in") {
					t.Errorf("due in a closed folder: %s", a.err)
				}
			}
			if who == nil {
				must(t, syscall.Mount("", f.live(), "", syscall.MS_REMOUNT, ""))
			}
			f.whole(len(before))
			f.do("wren", note)
			f.whole(len(before) + 1)
		})
	}
}

// A disk that fills up, at every few KiB of what a record needs: what was acknowledged is there, what was not is not, and with room again all goes on.
func TestFullDisk(t *testing.T) {
	if !asked() {
		return
	}
	f := newFarm(t)
	f.mounted("4m")
	started(f)
	ids, err := held(f.live("wren", "book"))
	must(t, err)
	count, refused, done := len(ids), 0, 0
	filler := f.live("filler")
	room := slices.Repeat([]int{0}, 8) // KiB; with none an entry may still fit into the last block of a file, but not eight
	for free := 4; free <= 160; free += 4 {
		room = append(room, free)
	}
	for _, free := range room {
		var disk syscall.Statfs_t
		must(t, syscall.Statfs(f.live(), &disk))
		fill := int(disk.Bavail)*int(disk.Bsize) - free<<10
		must(t, os.WriteFile(filler, make([]byte, max(fill, 0)), 0o666))
		a := f.try("wren", "note", "drill", fmt.Sprintf("with %d KiB", free))
		if a.code == 0 {
			count++
			done++
		} else {
			refused++
			f.refused(a, "no space left on device")
		}
		if a := f.try("wren", "history"); a.code != 0 {
			t.Errorf("with %d KiB the book is not read: exit %d\n%s%s", free, a.code, a.out, a.err)
		}
		must(t, os.Remove(filler))
		f.whole(count)
	}
	if refused == 0 || done == 0 {
		t.Errorf("%d refused, %d done", refused, done)
	}
	t.Logf("full disk: %d tries, %d refused, %d recorded, none lost", refused+done, refused, done)
}

// A limit on the size of files (ulimit -f) cuts a write in the middle; the book outlives it as it does a full disk.
func TestFileSizeLimit(t *testing.T) {
	if !asked() {
		return
	}
	f := newFarm(t)
	started(f)
	ids, err := held(f.live("wren", "book"))
	must(t, err)
	count, refused, done := len(ids), 0, 0
	prlimit, err := exec.LookPath("prlimit")
	must(t, err)
	for size := 0; size <= 256<<10; size += 9973 {
		f.now = f.now.Add(time.Minute)
		a := run(t, f.command("wren", []string{prlimit, "--fsize=" + strconv.Itoa(size)}, "note", "drill", fmt.Sprintf("up to %d bytes", size)))
		if a.code == 0 {
			count++
			done++
		} else {
			refused++
			f.refused(a, "file too large")
		}
		f.whole(count)
	}
	if refused == 0 || done == 0 {
		t.Errorf("%d refused, %d done", refused, done)
	}
	t.Logf("file size limit: %d tries, %d refused, %d recorded, none lost", refused+done, refused, done)
}

// A folder without locks, as some network shares are: it is read, and nothing is written to it unlocked.
func TestLocksRefused(t *testing.T) {
	if !asked() {
		return
	}
	f := newFarm(t)
	started(f)
	ids, err := held(f.live("wren", "book"))
	must(t, err)
	for _, with := range []string{"ENOLCK", "ENOSYS", "EOPNOTSUPP", "EIO"} {
		strace := func(line string) answer {
			f.now = f.now.Add(time.Minute)
			return run(t, f.command("wren", []string{"strace", "-f", "-q", "-o", f.log(), "-e", "trace=flock", "-e", "inject=flock:error=" + with}, fields(line)...))
		}
		for _, line := range []string{"show drill", "due", "audit"} {
			if a := strace(line); a.code != 0 || unplain(a.err) != "" {
				t.Errorf("%s: %s: exit %d\n%s%s", with, line, a.code, a.out, a.err)
			}
		}
		for _, line := range []string{note, "counter drill 1840"} {
			f.refused(strace(line), "cannot get hold of the book")
		}
		f.whole(len(ids))
	}
	f.do("wren", note)
	f.whole(len(ids) + 1)
}
