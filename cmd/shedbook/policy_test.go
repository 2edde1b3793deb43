package main

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// layer is one row of the import policy: what the packages below a folder may import of ours and must never import at all. The first row whose folder
// holds the package rules.
type layer struct {
	dir   string   // folder from the module's root; its subfolders too
	ours  []string // packages of this module it may import; "*" any
	never []string // import paths it must not use, subpackages too
}

// pure are what code that only reasons must not touch: files, network, keys, clocks of other processes.
var pure = []string{"os", "net", "crypto", "syscall", "os/exec", "golang.org/x/crypto", "golang.org/x/term", "github.com/go-git", "github.com/spf13/pflag", "plugin", "unsafe", "C"}

const gogit = "github.com/go-git"

var policy = []layer{
	{"cmd/shedbook/internal/keyring", []string{"ledger"}, []string{gogit, "github.com/spf13/pflag"}},
	{"cmd/shedbook/internal/paper", nil, []string{gogit, "github.com/spf13/pflag", "os", "net", "syscall", "os/exec", "unsafe", "C"}},
	{"cmd", []string{"*"}, []string{gogit, "unsafe", "C"}},
	{"ledger/gitstore", []string{"ledger"}, []string{"github.com/spf13/pflag", "unsafe", "C"}},
	{"ledger/audit", []string{"ledger", "rules/record", "rules/quantity"}, []string{gogit, "github.com/spf13/pflag", "unsafe", "C"}},
	{"ledger", nil, []string{gogit, "os", "net", "syscall", "github.com/spf13/pflag", "unsafe", "C"}},
	{"rules/quantity", nil, pure},
	{"rules/record", []string{"rules/quantity"}, pure},
	{"rules/schedule", []string{"rules/quantity", "rules/record"}, pure},
	{"rules/stats", nil, pure},
	{"rules/wear", []string{"rules/stats"}, pure},
	{"rules/cost", []string{"rules/quantity", "rules/stats"}, pure},
	{"rules", []string{"ledger", "rules/quantity", "rules/record", "rules/schedule", "rules/stats", "rules/wear", "rules/cost"}, pure},
}

// effects may be used by cmd alone: a hidden clock, exit or environment makes a result depend on more than its arguments.
var effects = []string{"time.Now", "time.Since", "time.Until", "os.Exit", "os.Getenv", "os.LookupEnv", "os.Environ"}

const module = "shedbook"

// source is what one file imports and which effects it uses.
type source struct {
	name    string // slash path from the module's root
	imports []string
	effects []string
}

// broken lists what a file does against the policy.
func broken(f source) []string {
	dir := path.Dir(f.name)
	i := slices.IndexFunc(policy, func(l layer) bool { return dir == l.dir || strings.HasPrefix(dir, l.dir+"/") })
	if i < 0 {
		return []string{fmt.Sprintf("%s: no row of the policy covers %s", f.name, dir)}
	}
	l := policy[i]
	var out []string
	for _, imp := range f.imports {
		if own, ok := strings.CutPrefix(imp, module+"/"); ok {
			if !slices.Contains(l.ours, "*") && !slices.Contains(l.ours, own) {
				out = append(out, fmt.Sprintf("%s: %s must not import %s", f.name, l.dir, imp))
			}
		}
		if slices.ContainsFunc(l.never, func(n string) bool { return imp == n || strings.HasPrefix(imp, n+"/") }) {
			out = append(out, fmt.Sprintf("%s: %s must not import %s", f.name, l.dir, imp))
		}
	}
	if !strings.HasPrefix(f.name, "cmd/") {
		for _, e := range f.effects {
			out = append(out, fmt.Sprintf("%s: only cmd may use %s", f.name, e))
		}
	}
	return out
}

func readSource(root, name string) (source, error) {
	f, err := parser.ParseFile(token.NewFileSet(), filepath.Join(root, filepath.FromSlash(name)), nil, parser.SkipObjectResolution)
	if err != nil {
		return source{}, err
	}
	s := source{name: name}
	for _, i := range f.Imports {
		p, err := strconv.Unquote(i.Path.Value)
		if err != nil {
			return source{}, err
		}
		s.imports = append(s.imports, p)
	}
	ast.Inspect(f, func(n ast.Node) bool {
		if sel, ok := n.(*ast.SelectorExpr); ok {
			if x, ok := sel.X.(*ast.Ident); ok && slices.Contains(effects, x.Name+"."+sel.Sel.Name) {
				s.effects = append(s.effects, x.Name+"."+sel.Sel.Name)
			}
		}
		return true
	})
	return s, nil
}

func sources(root string) ([]source, error) {
	var out []source
	err := filepath.WalkDir(root, func(p string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && (strings.HasPrefix(d.Name(), ".") && p != root || d.Name() == "testdata"):
			return filepath.SkipDir
		case d.IsDir() || !strings.HasSuffix(p, ".go") || strings.HasSuffix(p, "_test.go"):
			return nil
		}
		rel, err := filepath.Rel(root, p)
		if err != nil {
			return err
		}
		s, err := readSource(root, filepath.ToSlash(rel))
		out = append(out, s)
		return err
	})
	return out, err
}

// TestImportPolicy holds every file of the module to the table above.
func TestImportPolicy(t *testing.T) {
	files, err := sources(filepath.Join("..", ".."))
	if err != nil {
		t.Fatal(err)
	}
	if len(files) < 30 {
		t.Fatalf("only %d files found: the walk is wrong", len(files))
	}
	for _, f := range files {
		for _, b := range broken(f) {
			t.Error(b)
		}
	}
}

// TestImportPolicySeesPlants plants forbidden imports and uses in files of a copy of the layout, one at a time, and wants each one named.
func TestImportPolicySeesPlants(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"ledger/x.go", `import _ "shedbook/rules"`, "ledger/x.go: ledger must not import shedbook/rules"},
		{"ledger/x.go", `import _ "net/http"`, "ledger/x.go: ledger must not import net/http"},
		{"rules/x.go", `import _ "shedbook/ledger/gitstore"`, "rules/x.go: rules must not import shedbook/ledger/gitstore"},
		{"rules/x.go", `import _ "github.com/go-git/go-git/v5"`, "rules/x.go: rules must not import github.com/go-git/go-git/v5"},
		{"rules/record/x.go", `import _ "os"`, "rules/record/x.go: rules/record must not import os"},
		{"rules/schedule/x.go", `import _ "crypto/sha256"`, "rules/schedule/x.go: rules/schedule must not import crypto/sha256"},
		{"rules/quantity/x.go", `import _ "shedbook/rules/record"`, "rules/quantity/x.go: rules/quantity must not import shedbook/rules/record"},
		{"cmd/shedbook/x.go", `import _ "github.com/go-git/go-git/v5/plumbing"`, "cmd/shedbook/x.go: cmd must not import github.com/go-git/go-git/v5/plumbing"},
		{"ledger/gitstore/x.go", `import _ "shedbook/rules/record"`, "ledger/gitstore/x.go: ledger/gitstore must not import shedbook/rules/record"},
		{"ledger/gitstore/x.go", `import _ "github.com/spf13/pflag"`, "ledger/gitstore/x.go: ledger/gitstore must not import github.com/spf13/pflag"},
		{"rules/x.go", "import \"time\"\nvar now = time.Now()", "rules/x.go: only cmd may use time.Now"},
		{"ledger/gitstore/x.go", "import \"os\"\nvar home = os.Getenv(\"HOME\")", "ledger/gitstore/x.go: only cmd may use os.Getenv"},
		{"util/x.go", "", "util/x.go: no row of the policy covers util"},
	} {
		t.Run(c.want, func(t *testing.T) {
			root := t.TempDir()
			file := filepath.Join(root, filepath.FromSlash(c.name))
			if err := os.MkdirAll(filepath.Dir(file), 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(file, []byte("package x\n"+c.text+"\n"), 0o644); err != nil {
				t.Fatal(err)
			}
			files, err := sources(root)
			if err != nil || len(files) != 1 {
				t.Fatalf("%d files, %v", len(files), err)
			}
			if diff := cmp.Diff([]string{c.want}, broken(files[0])); diff != "" {
				t.Error(diff)
			}
		})
	}
}
