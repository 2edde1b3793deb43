package main

import (
	"bytes"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/spf13/pflag"
)

// Ctrl-C ends a command that waits for an answer with 130, as shells count it (128 and the number of the signal, POSIX.1-2017, Shell Command Language 2.8.2), and
// nothing is left of what it was about to do.
func TestInterrupted(t *testing.T) {
	if runtime.GOOS == "windows" {
		return // a signal cannot be sent there
	}
	dir := t.TempDir()
	cmd := exec.Command("shedbook", "new", "book")
	cmd.Dir = dir
	cmd.Env = append(os.Environ(), "SHEDBOOK_TEST_ASKS=1", "SHEDBOOK_CONFIG="+filepath.Join(dir, "config"))
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	said, err := cmd.StderrPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	if _, err := io.ReadAtLeast(said, make([]byte, 10), 5); err != nil { // it asks
		t.Fatal(err)
	}
	if err := cmd.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	_ = cmd.Wait()
	if code := cmd.ProcessState.ExitCode(); code != exitInterrupted {
		t.Errorf("exit %d", code)
	}
	if files, err := os.ReadDir(dir); err != nil || len(files) > 0 {
		t.Errorf("left behind: %v, %v", files, err)
	}
}

// A reader that has seen enough, as head has, is no mistake: nothing is said of it.
func TestReaderThatLeaves(t *testing.T) {
	if _, err := exec.LookPath("sh"); err != nil {
		return
	}
	b := demoBook(t)
	cmd := exec.Command("sh", "-c", "shedbook history --last 2000 2>said | head -n 1 && shedbook history --last 2000 --json 2>>said | head -c 20 && cat said")
	cmd.Dir = b.dir
	out, err := cmd.CombinedOutput()
	if err != nil || strings.Count(string(out), "\n") != 1 || !strings.HasSuffix(string(out), `{"format":1,"entries`) {
		t.Errorf("%v: %q", err, out)
	}
}

// The folders of the XDG Base Directory Specification 0.8: a relative XDG_CONFIG_HOME is to be ignored. The others are those of Windows ("Known folders") and
// macOS ("File System Programming Guide").
func TestConfigDir(t *testing.T) {
	plain := map[string]string{"darwin": "/home/w/Library/Application Support/shedbook", "windows": filepath.FromSlash("/home/w/.config/shedbook")}[runtime.GOOS]
	if plain == "" {
		plain = "/home/w/.config/shedbook"
	}
	for _, test := range []struct {
		name string
		vars map[string]string
		want string // "" where there is none
	}{
		{"home", map[string]string{"HOME": "/home/w"}, plain},
		{"XDG_CONFIG_HOME", map[string]string{"HOME": "/home/w", "XDG_CONFIG_HOME": "/etc/w"}, "/etc/w/shedbook"},
		{"XDG_CONFIG_HOME without HOME", map[string]string{"XDG_CONFIG_HOME": "/etc/w"}, "/etc/w/shedbook"},
		{"a relative XDG_CONFIG_HOME", map[string]string{"HOME": "/home/w", "XDG_CONFIG_HOME": "etc"}, plain},
		{"an empty XDG_CONFIG_HOME", map[string]string{"HOME": "/home/w", "XDG_CONFIG_HOME": ""}, plain},
		{"SHEDBOOK_CONFIG rules", map[string]string{"HOME": "/home/w", "XDG_CONFIG_HOME": "/etc/w", "SHEDBOOK_CONFIG": "/mnt/keys"}, "/mnt/keys"},
		{"nothing is set", nil, ""},
	} {
		e := &env{getenv: func(k string) string { return test.vars[k] }, dir: "/"}
		got, err := e.configDir()
		if filepath.ToSlash(got) != filepath.ToSlash(test.want) || (err == nil) != (test.want != "") {
			t.Errorf("%s: %q, %v", test.name, got, err)
		}
	}
}

// Law: a short flag stands for one and the same long one everywhere, flags are written as GNU's are (Standards for Command Line Interfaces), those of every
// command mean the same before and behind its name, and after "--" nothing is a flag.
func TestFlagsAreOneFamily(t *testing.T) {
	short := map[string]string{}
	for _, build := range commands {
		cmd := build()
		fs := newFlagSet(cmd.name)
		(&common{}).flags(fs, cmd)
		if cmd.flags != nil {
			cmd.flags(fs)
		}
		fs.VisitAll(func(f *pflag.Flag) {
			if f.Name != strings.ToLower(f.Name) || strings.ContainsAny(f.Name, "_.") {
				t.Errorf("%s: --%s", cmd.name, f.Name)
			}
			if f.Shorthand == "" {
				return
			}
			if long, ok := short[f.Shorthand]; ok && long != f.Name {
				t.Errorf("%s: -%s is --%s here and --%s elsewhere", cmd.name, f.Shorthand, f.Name, long)
			}
			short[f.Shorthand] = f.Name
			for _, secret := range []string{"password", "passphrase", "token", "secret"} {
				if f.Name == secret {
					t.Errorf("%s: --%s would have a secret typed where others see it", cmd.name, f.Name)
				}
			}
		})
	}
	b, _ := season2026(t)
	if b.must("--json", "due") != b.must("due", "--json") || b.must("--units=metric", "show", "drill") != b.must("show", "drill", "--units", "metric") {
		t.Error("a flag before the command is not the same as behind it")
	}
	if _, said, code := b.run("show", "--", "--json"); code != exitFailed || !strings.Contains(said, `there is no machine "--json"`) {
		t.Errorf("exit %d: %s", code, said)
	}
	if got := b.must("note", "drill", "--", "--odd words"); !strings.Contains(got, "--odd words") {
		t.Errorf("recorded: %s", got)
	}
}

// What takes more than a second is said on a terminal and taken away again; what does not is not.
func TestWaiting(t *testing.T) {
	late := make(chan time.Time)
	var out bytes.Buffer
	waitSaying(&out, "reading", late)()
	if out.Len() > 0 {
		t.Errorf("said %q", out.String())
	}
	done := waitSaying(&out, "reading", late)
	late <- time.Time{}
	done()
	if got := out.String(); got != "reading ...\r           \r" {
		t.Errorf("said %q", got)
	}
	(&call{env: &env{stderr: &out, wraps: true}, common: &common{}}).waiting("reading")() // on a terminal: however long it took, nothing is left to go on
	for _, c := range []*call{
		{env: &env{stderr: &out, wraps: true}, common: &common{json: true}}, {env: &env{stderr: &out, wraps: true}, common: &common{quiet: true}}, {env: &env{stderr: &out}, common: &common{}},
	} {
		out.Reset()
		c.waiting("reading")()
		if out.Len() > 0 {
			t.Errorf("said %q", out.String())
		}
	}
}
