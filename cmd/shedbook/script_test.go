package main

import (
	"crypto/sha256"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

// TestMain makes the test binary answer to the name shedbook inside scripts. The clock stands at SHEDBOOK_TEST_NOW, and the random source is a
// function of SHEDBOOK_TEST_SEED, the clock and the arguments, so that a script prints the same ids every time.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"shedbook": func() {
		e := processEnv()
		if now := os.Getenv("SHEDBOOK_TEST_NOW"); now != "" {
			t, err := time.Parse("2006-01-02T15:04", now)
			if err != nil {
				panic("SHEDBOOK_TEST_NOW: " + err.Error())
			}
			e.now = func() time.Time { return t }
			e.random = rand.NewChaCha8(sha256.Sum256([]byte(os.Getenv("SHEDBOOK_TEST_SEED") + now + strings.Join(os.Args, "\x00"))))
		}
		e.asks = e.asks || os.Getenv("SHEDBOOK_TEST_ASKS") != "" // a script answers with stdin
		os.Exit(run(e, os.Args[1:]))
	}})
}

func TestScripts(t *testing.T) {
	dir := filepath.Join("..", "..", "testdata", "script")
	files, err := filepath.Glob(filepath.Join(dir, "*.txtar"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no scripts in %s (%v)", dir, err)
	}
	testscript.Run(t, testscript.Params{
		Dir:                 dir,
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Cmds:                map[string]func(*testscript.TestScript, bool, []string){"sshsign": sshSign},
		UpdateScripts:       os.Getenv("SHEDBOOK_TEST_UPDATE") != "",
		Setup: func(e *testscript.Env) error {
			home := filepath.Join(e.WorkDir, "home")
			e.Setenv("HOME", home)
			e.Setenv("XDG_CONFIG_HOME", "")
			e.Setenv("SHEDBOOK_TEST_NOW", "2026-04-01T08:00")
			e.Setenv("SHEDBOOK_TEST_SEED", "script")
			return os.MkdirAll(home, 0o700)
		},
	})
}
