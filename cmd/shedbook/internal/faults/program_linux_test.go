package faults

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
)

// hooks is added to the program when it is built here: all that the first goroutine does is done by the first thread, whose calls strace counts; random bytes and
// the time come from the environment, so that a command makes the same calls with the same names each time.
const hooks = `package main

import (
	crand "crypto/rand"
	"crypto/sha256"
	"math/rand/v2"
	"os"
	"runtime"
	"strings"
	"time"
)

func init() {
	runtime.LockOSThread()
	crand.Reader = rand.NewChaCha8(sha256.Sum256([]byte(os.Getenv("FAULTS_NOW") + strings.Join(os.Args, "\x00"))))
}

func faultsNow() time.Time {
	t, err := time.Parse("2006-01-02T15:04:05", os.Getenv("FAULTS_NOW"))
	if err != nil {
		panic(err)
	}
	return t
}
`

// program builds shedbook, once, with the hooks laid over its source.
var program = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "shedbook-faults-")
	if err != nil {
		return "", err
	}
	defer func() {
		for _, name := range []string{"hooks.go", "main.go", "overlay.json"} {
			os.Remove(filepath.Join(dir, name))
		}
	}()
	source, err := filepath.Abs("../..")
	if err != nil {
		return "", err
	}
	text, err := os.ReadFile(filepath.Join(source, "main.go"))
	if err != nil {
		return "", err
	}
	const clock = "now: time.Now,"
	if strings.Count(string(text), clock) != 1 {
		return "", os.ErrInvalid // main.go takes its clock otherwise now
	}
	laid := strings.Replace(string(text), clock, "now: faultsNow,", 1)
	laid = strings.Replace(laid, "\t\"time\"\n", "", 1)
	overlay := map[string]map[string]string{"Replace": {
		filepath.Join(source, "main.go"):         filepath.Join(dir, "main.go"),
		filepath.Join(source, "faults_hooks.go"): filepath.Join(dir, "hooks.go"),
	}}
	listed, err := json.Marshal(overlay)
	if err != nil {
		return "", err
	}
	for name, content := range map[string]string{"hooks.go": hooks, "main.go": laid, "overlay.json": string(listed)} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(content), 0o666); err != nil {
			return "", err
		}
	}
	binary := filepath.Join(dir, "shedbook")
	build := exec.Command("go", "build", "-overlay", filepath.Join(dir, "overlay.json"), "-o", binary, ".")
	build.Dir = source
	build.Env = append(os.Environ(), "CGO_ENABLED=0")
	build.Stderr = os.Stderr
	return binary, build.Run()
})

// TestMain takes the built program away again.
func TestMain(m *testing.M) {
	code := m.Run()
	if asked() {
		if path, err := program(); err == nil {
			os.RemoveAll(filepath.Dir(path))
		}
	}
	os.Exit(code)
}
