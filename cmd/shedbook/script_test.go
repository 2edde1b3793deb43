package main

import (
	"crypto/sha256"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"runtime/debug"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"shedbook/testdata/ramdisk"
)

// TestMain makes the test binary answer to the name shedbook inside scripts.
func TestMain(m *testing.M) {
	ramdisk.Use()
	debug.SetGCPercent(400) // memory for time, as in spendMemory
	debug.SetMemoryLimit(1 << 30)
	testscript.Main(leaving{m}, map[string]func(){"shedbook": func() {
		endWhenInterrupted()
		e := processEnv()
		scripted(e, os.Args[1:])
		os.Exit(run(e, os.Args[1:]))
	}})
}

// atEnd is done after the last test.
var atEnd []func()

type leaving struct{ tests *testing.M }

func (l leaving) Run() int {
	defer func() {
		for _, f := range atEnd {
			f()
		}
	}()
	return l.tests.Run()
}

// scripted makes the clock of e stand at SHEDBOOK_TEST_NOW and its random source a function of SHEDBOOK_TEST_SEED, the clock and the arguments, so that a
// script prints the same ids every time.
func scripted(e *env, args []string) {
	if now := e.getenv("SHEDBOOK_TEST_NOW"); now != "" {
		t, err := time.Parse("2006-01-02T15:04", now)
		if err != nil {
			panic("SHEDBOOK_TEST_NOW: " + err.Error())
		}
		e.now = func() time.Time { return t }
		said := strings.Join(append([]string{"shedbook"}, args...), "\x00")
		e.random = rand.NewChaCha8(sha256.Sum256([]byte(e.getenv("SHEDBOOK_TEST_SEED") + now + said)))
	}
	e.asks = e.asks || e.getenv("SHEDBOOK_TEST_ASKS") != "" // a script answers with stdin
}

// TestScripts runs testdata/script. The plain run has each plain line `exec shedbook ...` done in this process, a third of the time of a process each; a
// shell's lines, and all lines of the full run, are processes.
func TestScripts(t *testing.T) {
	files, err := filepath.Glob(filepath.Join("..", "..", "testdata", "script", "*.txtar"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no scripts (%v)", err)
	}
	update := os.Getenv("SHEDBOOK_TEST_UPDATE") != ""
	if os.Getenv("SHEDBOOK_TEST") != "full" && !update {
		files = insideScripts(t, files)
	}
	testscript.Run(t, testscript.Params{
		Files:               files,
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		UpdateScripts:       update,
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"sshsign": sshSign, "inside": runInside, "feed": feedInside,
		},
		Setup: func(e *testscript.Env) error {
			home := filepath.Join(e.WorkDir, "home")
			e.Setenv("HOME", home)
			e.Setenv("XDG_CONFIG_HOME", "")
			e.Setenv("SHEDBOOK_TEST_NOW", "2026-04-01T08:00")
			e.Setenv("SHEDBOOK_TEST_SEED", "script")
			e.Values[feedKey{}] = new(string)
			return os.MkdirAll(home, 0o700)
		},
	})
}

// feedKey is under what a script's next stdin is kept.
type feedKey struct{}

var (
	execLine  = regexp.MustCompile(`(?m)^(! )?exec shedbook\b(.*[^&\n])?$`)
	stdinLine = regexp.MustCompile(`(?m)^stdin (.*\n(?:#.*\n|env .*\n|\n)*(?:! )?inside\b)`)
)

// insideScripts copies scripts with their lines `exec shedbook` made `inside`; each stays on its line.
func insideScripts(t *testing.T, files []string) []string {
	dir := t.TempDir()
	copies := make([]string, len(files))
	for i, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		script, rest := text, []byte(nil)
		if at := regexp.MustCompile(`(?m)^-- .+ --$`).FindIndex(text); at != nil {
			script, rest = text[:at[0]:at[0]], text[at[0]:]
		}
		inside := execLine.ReplaceAll(script, []byte("${1}inside$2"))
		if string(inside) == string(script) {
			t.Fatalf("%s: no line `exec shedbook`", file)
		}
		inside = stdinLine.ReplaceAll(inside, []byte("feed $1"))
		copies[i] = filepath.Join(dir, filepath.Base(file))
		if err := os.WriteFile(copies[i], append(inside, rest...), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return copies
}

// feedInside is `stdin file` for runInside.
func feedInside(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: feed file")
	}
	*ts.Value(feedKey{}).(*string) = ts.ReadFile(args[0])
}

// runInside is `exec shedbook args...` without a process.
func runInside(ts *testscript.TestScript, neg bool, args []string) {
	fed := ts.Value(feedKey{}).(*string)
	stdin := strings.NewReader(*fed)
	*fed = ""
	e := &env{stdin: stdin, stdout: ts.Stdout(), stderr: ts.Stderr(), getenv: ts.Getenv, dir: ts.MkAbs(".")}
	scripted(e, args)
	switch code := run(e, args); {
	case code == 0 && neg:
		ts.Fatalf("unexpected command success")
	case code != 0 && !neg:
		ts.Fatalf("unexpected command failure: exit status %d", code)
	}
}
