package main

import (
	"bytes"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/spf13/pflag"
)

func manualText(t *testing.T) string {
	var out, said bytes.Buffer
	if code := run(&env{stdout: &out, stderr: &said, getenv: func(string) string { return "" }, dir: t.TempDir()}, []string{"help", "--man"}); code != exitDone || said.Len() > 0 {
		t.Fatalf("exit %d: %s", code, said.String())
	}
	return out.String()
}

// Law: the manual page has every command with its flags, and no other.
func TestManualHasEveryFlag(t *testing.T) {
	text := manualText(t)
	flag := regexp.MustCompile(`(?m)^\.It .*?\\-\\-([a-z\\-]+)`)
	named := func(part string) map[string]bool {
		out := map[string]bool{}
		for _, m := range flag.FindAllStringSubmatch(part, -1) {
			out[strings.ReplaceAll(m[1], `\-`, "-")] = true
		}
		return out
	}
	of := func(fs *pflag.FlagSet) map[string]bool {
		out := map[string]bool{}
		fs.VisitAll(func(f *pflag.Flag) {
			if !f.Hidden {
				out[f.Name] = true
			}
		})
		return out
	}
	description, rest, _ := strings.Cut(text, ".Sh COMMANDS\n")
	if diff := cmp.Diff(of(sharedFlags()), named(description)); diff != "" {
		t.Errorf("flags of every command: -want +got\n%s", diff)
	}
	parts := strings.Split(rest, "\n.Sy ")
	if len(parts) != len(commands)+1 {
		t.Fatalf("%d commands in the page, %d in the table", len(parts)-1, len(commands))
	}
	for i, build := range commands {
		cmd := build()
		part, _, _ := strings.Cut(parts[i+1], "\n.Sh ")
		if name, _, _ := strings.Cut(part, "\n"); name != `"shedbook `+escaped(cmd.name)+`"` {
			t.Errorf("%s stands as %s", cmd.name, name)
		}
		own := newFlagSet(cmd.name)
		if cmd.flags != nil {
			cmd.flags(own)
		}
		if diff := cmp.Diff(of(own), named(part)); diff != "" {
			t.Errorf("%s: -want +got\n%s", cmd.name, diff)
		}
	}
	if n := len(slices.Collect(maps.Keys(of(sharedFlags())))); n < 10 {
		t.Errorf("only %d shared flags", n)
	}
}

// mandoc (mdoc.su's reference program) finds nothing to warn of, and prints no line wider than the page but words that cannot be broken.
func TestManualIsClean(t *testing.T) {
	mandoc, err := exec.LookPath("mandoc")
	if err != nil {
		if fullTests {
			t.Fatal("mandoc is not installed")
		}
		return
	}
	file := filepath.Join(t.TempDir(), "shedbook.1")
	if err := os.WriteFile(file, []byte(manualText(t)), 0o644); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command(mandoc, "-Tlint", "-W", "warning", file).CombinedOutput(); err != nil || len(out) > 0 {
		t.Errorf("%v\n%s", err, out)
	}
	out, err := exec.Command(mandoc, "-Tascii", "-Owidth=80", file).CombinedOutput()
	if err != nil {
		t.Fatal(err)
	}
	text := regexp.MustCompile(".\b").ReplaceAllString(string(out), "") // printed twice to be bold
	for _, want := range []string{"shedbook did drill grease but 14,31", "Work on these machines kills.", "--exit-code", "SHEDBOOK_PASSPHRASE_FILE"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not printed", want)
		}
	}
	for line := range strings.Lines(text) {
		if line = strings.TrimSuffix(line, "\n"); len(line) > 80 {
			t.Errorf("%d columns: %s", len(line), line)
		}
	}
}

// --version says what semver.org allows, and CHANGELOG.md begins with the same version and day.
func TestVersion(t *testing.T) {
	var out bytes.Buffer
	run(&env{stdout: &out, getenv: func(string) string { return "" }, dir: t.TempDir()}, []string{"--version"})
	form := regexp.MustCompile(`^shedbook (\d+\.\d+\.\d+(?:-[0-9A-Za-z.-]+)?) \(source (?:unknown|[0-9a-f]{12}(?: and changes)?), entry format 1, go\S+, [a-z0-9]+/[a-z0-9]+\)\n$`)
	m := form.FindStringSubmatch(out.String())
	if m == nil {
		t.Fatalf("%q", out.String())
	}
	text, err := os.ReadFile(filepath.Join("..", "..", "CHANGELOG.md"))
	if err != nil {
		t.Fatal(err)
	}
	newest := regexp.MustCompile(`(?m)^## (\S+), (\d{4}-\d{2}-\d{2})$`).FindStringSubmatch(string(text))
	if newest == nil || newest[1] != m[1] || newest[2] != versionDay {
		t.Errorf("CHANGELOG.md has %q, the program %s of %s", newest, m[1], versionDay)
	}
}
