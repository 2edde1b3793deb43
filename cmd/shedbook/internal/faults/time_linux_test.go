package faults

import (
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"
)

// The clock jumps back a year between two entries, and forward again: the log goes on in order, and nothing is lost.
func TestClockJumpsBack(t *testing.T) {
	if !asked() {
		return
	}
	f := newFarm(t)
	started(f)
	ids, err := held(f.live("wren", "book"))
	must(t, err)
	count, right := len(ids), f.now
	for _, jump := range []time.Duration{-365 * 24 * time.Hour, 0, -40 * 24 * time.Hour, 0} {
		f.now = right.Add(jump + time.Hour)
		f.do("wren", `note drill "at `+f.now.Format("2006-01-02")+`"`)
		count++
		f.now = right.Add(2 * time.Hour)
		f.whole(count)
		right = f.now
	}
	f.now = right.Add(time.Hour)
	f.do("wren", "counter drill 1900")
	f.whole(count + 1)
}

// asleep starts a command that stops at one call, as a laptop whose lid is closed. The process and how to wake it are given back.
func (f *farm) asleep(device, name string, number int, args ...string) (*exec.Cmd, *strings.Builder, func()) {
	f.t.Helper()
	f.now = f.now.Add(time.Minute)
	_ = os.Remove(f.log()) // of the run before, which says that it stopped
	path, err := exec.LookPath("strace")
	must(f.t, err)
	cmd := f.command(device, []string{path, "-f", "-q", "-o", f.log(), "-e", "trace=" + name, "-e", "inject=" + name + ":signal=STOP:when=" + strconv.Itoa(number)}, args...)
	var said strings.Builder
	cmd.Stdout, cmd.Stderr = &said, &said
	must(f.t, cmd.Start())
	children := filepath.Join("/proc", strconv.Itoa(cmd.Process.Pid), "task", strconv.Itoa(cmd.Process.Pid), "children")
	for range 600 {
		text, _ := os.ReadFile(f.log())
		pids, _ := os.ReadFile(children)
		if pid, err := strconv.Atoi(strings.TrimSpace(string(pids))); err == nil && strings.Contains(string(text), "stopped by SIGSTOP") {
			return cmd, &said, func() { must(f.t, syscall.Kill(pid, syscall.SIGCONT)) }
		}
		time.Sleep(50 * time.Millisecond)
	}
	_ = cmd.Process.Kill()
	f.t.Fatalf("%s %d: it does not stop\n%s", name, number, said.String())
	return nil, nil, nil
}

// A laptop sleeps in the middle of a write: whoever records in the same book waits for it, and both entries are there.
func TestAsleepWhileRecording(t *testing.T) {
	if !asked() {
		return
	}
	f := newFarm(t)
	started(f)
	ids, err := held(f.live("wren", "book"))
	must(t, err)
	count := len(ids)
	for _, at := range []struct {
		name   string
		number int
	}{{"write", 1}, {"fsync", 1}, {"renameat", 2}, {"fsync", 3}, {"renameat", 7}} {
		sleeping, said, wake := f.asleep("wren", at.name, at.number, "note", "drill", "asleep at "+at.name+strconv.Itoa(at.number))
		f.now = f.now.Add(time.Minute)
		other := f.command("wren", nil, "note", "drill", "meanwhile "+at.name+strconv.Itoa(at.number))
		var out strings.Builder
		other.Stdout, other.Stderr = &out, &out
		must(t, other.Start())
		ended := make(chan error, 1)
		go func() { ended <- other.Wait() }()
		select {
		case err := <-ended:
			t.Errorf("%s %d: the other did not wait: %v\n%s", at.name, at.number, err, out.String())
			ended <- err
		case <-time.After(2 * time.Second):
		}
		wake()
		if err := sleeping.Wait(); err != nil {
			t.Errorf("%s %d: after the sleep: %v\n%s", at.name, at.number, err, said.String())
		}
		if err := <-ended; err != nil {
			t.Errorf("%s %d: the other: %v\n%s", at.name, at.number, err, out.String())
		}
		count += 2
		f.whole(count)
	}
}

// A laptop sleeps in the middle of an exchange with a stick, another one exchanges with the stick meanwhile: nothing is lost, and all meet afterwards.
func TestAsleepWhileExchanging(t *testing.T) {
	if !asked() {
		return
	}
	for _, at := range []struct {
		name   string
		number int
	}{{"fsync", 2}, {"renameat", 1}, {"fsync", 8}, {"renameat", 4}} {
		t.Run(at.name+strconv.Itoa(at.number), func(t *testing.T) {
			t.Parallel()
			f := newFarm(t)
			apart(f)
			f.do("jo", `note drill "while Wren's laptop sleeps"`)
			sleeping, said, wake := f.asleep("wren", at.name, at.number, "sync")
			meanwhile := f.try("jo", "sync")
			wake()
			err := sleeping.Wait()
			for _, a := range []string{meanwhile.err, said.String()} {
				if bad := unplain(a); bad != "" {
					t.Errorf("it says %q\n%s", bad, a)
				}
			}
			t.Logf("meanwhile: exit %d; after the sleep: %v\n%s", meanwhile.code, err, said.String())
			if err := meets("jo")(f); err != nil {
				t.Error(err)
			}
			f.whole(len(mustHeld(t, f.live("jo", "book"))))
		})
	}
}

func mustHeld(t *testing.T, dir string) map[string]int {
	t.Helper()
	ids, err := held(dir)
	must(t, err)
	return ids
}
