package main

import (
	"bytes"
	"strings"
	"testing"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/table"
)

// TestHelpFitsAndShowsExamplesFirst walks the command table: every command has a purpose, two examples at most to be read before its flags, lines of 80
// columns, and no flag whose value is called by the name of a Go type.
func TestHelpFitsAndShowsExamplesFirst(t *testing.T) {
	pages := [][]string{nil}
	for _, build := range commands {
		pages = append(pages, strings.Fields(build().name))
	}
	if len(pages) < 34 {
		t.Fatalf("only %d commands", len(pages)-1)
	}
	for _, words := range pages {
		for _, args := range [][]string{append([]string{"help"}, words...), append(append([]string{}, words...), "--help")} {
			var out, said bytes.Buffer
			code := run(&env{stdout: &out, stderr: &said, getenv: func(string) string { return "" }, dir: t.TempDir()}, args)
			text := out.String()
			if code != exitDone || said.Len() > 0 {
				t.Errorf("%q: exit %d, said %q", args, code, said.String())
			}
			for _, l := range strings.Split(text, "\n") {
				if table.Width(l) > 80 {
					t.Errorf("%q: %d columns: %s", args, table.Width(l), l)
				}
			}
			if len(words) == 0 {
				continue
			}
			examples, use := strings.Index(text, "\nExamples:\n  shedbook "+strings.Join(words, " ")), strings.Index(text, "\nUse:\n")
			if examples < 0 || use < examples {
				t.Errorf("%q: no example of it before its use", args)
			}
		}
	}
	for _, build := range commands {
		cmd := build()
		fs := newFlagSet(cmd.name)
		(&common{}).flags(fs, cmd)
		if cmd.flags != nil {
			cmd.flags(fs)
		}
		fs.VisitAll(func(f *pflag.Flag) {
			value, text := pflag.UnquoteUsage(f)
			switch value {
			case "string", "strings", "stringArray", "int", "uint", "float":
				t.Errorf("%s: the value of --%s is called %q: %s", cmd.name, f.Name, value, text)
			}
		})
	}
}
