package faults

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"shedbook/ledger"
	"shedbook/ledger/gitstore"
)

// farm is a folder in which everything of one scene lies: books, keys, sticks. It is kept aside and brought back before each fault, at the same path.
type farm struct {
	t    *testing.T
	root string // holds live and kept
	now  time.Time
}

func newFarm(t *testing.T) *farm {
	f := &farm{t: t, root: t.TempDir(), now: time.Date(2026, 4, 1, 8, 0, 0, 0, time.UTC)}
	must(t, os.Mkdir(f.live(), 0o777))
	return f
}

func (f *farm) live(parts ...string) string {
	return filepath.Join(append([]string{f.root, "live"}, parts...)...)
}

// keep lays the live folder aside, back brings it back.
func (f *farm) keep() { f.copy(f.live(), filepath.Join(f.root, "kept")) }
func (f *farm) back() {
	must(f.t, os.RemoveAll(f.live()))
	f.copy(filepath.Join(f.root, "kept"), f.live())
}

// copy copies a folder with its modes.
func (f *farm) copy(from, to string) {
	f.t.Helper()
	must(f.t, filepath.WalkDir(from, func(path string, e fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		info, err := e.Info()
		if err != nil {
			return err
		}
		at := to + strings.TrimPrefix(path, from)
		if e.IsDir() {
			return os.MkdirAll(at, info.Mode().Perm())
		}
		if strings.Contains(path, "/objects/") { // never written to again: only added and removed
			return os.Link(path, at)
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		return os.WriteFile(at, data, info.Mode().Perm())
	}))
}

// answer is how a run of the program ended.
type answer struct {
	out, err string
	code     int // -1: killed
}

// command is the program on one device of the farm, whose keys and books lie in a folder of its name.
func (f *farm) command(device string, before []string, args ...string) *exec.Cmd {
	f.t.Helper()
	binary, err := program()
	if err != nil {
		f.t.Fatalf("the program cannot be built: %v", err)
	}
	line := append(append(append([]string{}, before...), binary), args...)
	cmd := exec.Command(line[0], line[1:]...)
	cmd.Dir = f.live()
	cmd.Env = []string{"PATH=/nowhere", "HOME=" + f.live(device), "SHEDBOOK_BOOK=" + f.live(device, "book"), "COLUMNS=400", "TZ=UTC", "GOMAXPROCS=2",
		"FAULTS_NOW=" + f.now.Format("2006-01-02T15:04:05")}
	return cmd
}

func run(t *testing.T, cmd *exec.Cmd) answer {
	t.Helper()
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	err := cmd.Run()
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) {
		t.Fatalf("%v: %v", cmd.Args, err)
	}
	return answer{out.String(), errs.String(), cmd.ProcessState.ExitCode()}
}

// try runs a command without a fault.
func (f *farm) try(device string, args ...string) answer {
	f.t.Helper()
	f.now = f.now.Add(time.Minute)
	return run(f.t, f.command(device, nil, args...))
}

// do runs a command that must succeed, said in one line.
func (f *farm) do(device, line string) string {
	f.t.Helper()
	args := fields(line)
	a := f.try(device, args...)
	if a.code != 0 {
		f.t.Fatalf("%s: %s: exit %d\n%s%s", device, line, a.code, a.out, a.err)
	}
	return a.out
}

// fields splits a line at blanks outside "quotes".
func fields(line string) []string {
	var out []string
	for i, part := range strings.Split(line, `"`) {
		if i%2 == 1 {
			out = append(out, part)
		} else {
			out = append(out, strings.Fields(part)...)
		}
	}
	return out
}

// held counts the entries of a book by their ids, as they lie in its folder.
func held(dir string) (map[string]int, error) {
	s, err := gitstore.Open(dir)
	if err != nil {
		return nil, err
	}
	defer s.Close()
	logs, err := s.Logs()
	if err != nil {
		return nil, err
	}
	for i := range logs {
		logs[i].Checked = ledger.ID{}
	}
	b, err := ledger.LoadPinned(s.BookID(), logs)
	if err != nil {
		return nil, err
	}
	ids := map[string]int{}
	for _, e := range b.Entries() {
		ids[e.ID().String()]++
	}
	lines := 0
	for _, l := range logs {
		lines += len(l.Lines)
	}
	if lines != len(b.Entries()) {
		return nil, errors.New("the logs hold other lines than the entries they give")
	}
	return ids, b.Sound()
}
