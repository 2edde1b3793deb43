package main

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shedbook/cmd/shedbook/internal/shell"
)

// inShell runs a script in one of the real shells, in the made-up family's book, with the program as `shedbook`. The full tests insist on every shell.
func inShell(t *testing.T, b *testBook, name string, args ...string) (string, bool) {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		if fullTests {
			t.Fatalf("%s is not installed", name)
		}
		return "", false
	}
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute) // a shell that waits for ever
	defer cancel()
	home := t.TempDir()
	cmd := exec.CommandContext(ctx, path, args...)
	cmd.Dir, cmd.WaitDelay = b.dir, time.Second
	cmd.Env = append(os.Environ(), "HOME="+home, "XDG_CONFIG_HOME="+home, "SHEDBOOK_CONFIG="+b.vars["SHEDBOOK_CONFIG"], "TERM=xterm", "LC_ALL=C.UTF-8", "COLUMNS=200")
	var said bytes.Buffer
	cmd.Stderr = &said
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s: %v\n%s%s", name, err, out, said.String())
	}
	if said.Len() > 0 {
		t.Errorf("%s says %q", name, said.String())
	}
	return string(out), true
}

// begunLines are lines that are begun, and what each shell is to know of them.
var begunLines = []struct {
	line string
	want []string
}{
	{`shedbook du`, []string{"due"}},
	{`shedbook did dr`, []string{"drill"}},
	{`shedbook did drill opener/2,4`, []string{"opener/2,4", "opener/2,40", "opener/2,41", "opener/2,42", "opener/2,43", "opener/2,44", "opener/2,45", "opener/2,46", "opener/2,47", "opener/2,48"}},
	{`shedbook due --yard h`, []string{"hill", "home"}},
	{`shedbook season open 'spring seeding 202`, []string{"spring seeding 2024", "spring seeding 2025", "spring seeding 2026", "spring seeding 2027"}},
	{`shedbook season open spring\ seeding\ 2027`, []string{"spring seeding 2027"}},
	{`shedbook due --person "Wren A`, []string{"Wren Alder"}},
	{`shedbook due nosuch `, nil},
}

// tried are the lines that this run tries: each is a process of the shell and one of the program.
func tried[T any](all []T) []T {
	if fullTests {
		return all
	}
	var out []T
	for i, x := range all {
		if i%3 == 1 {
			out = append(out, x)
		}
	}
	return out
}

// bash is asked as readline asks it: with the line, the place of the cursor, and what is put in taken from COMPREPLY. "=" parts words there.
func TestCompletionInBash(t *testing.T) {
	b := demoBook(t)
	b.must("due")
	lines := slices.Clone(begunLines)
	lines = append(lines, struct {
		line string
		want []string
	}{"shedbook due --yard=h", []string{"hill", "home"}})
	for _, test := range tried(lines) {
		out, ok := inShell(t, b, "bash", "--norc", "--noprofile", "-c", `source <(shedbook completion bash) && [[ $(complete -p shedbook) == "complete -F _shedbook shedbook" ]] || exit 1
			COMP_LINE=$1 COMP_POINT=${#1}
			_shedbook shedbook
			for word in "${COMPREPLY[@]}"; do
				[[ $1 == *[\'\"]* ]] || eval "word=$word" # as bash reads the line
				printf '%s\n' "$word"
			done`, "-", test.line)
		if !ok {
			return
		}
		got := strings.FieldsFunc(out, func(r rune) bool { return r == '\n' })
		slices.Sort(got)
		if diff := cmp.Diff(test.want, got); diff != "" && len(test.want)+len(got) > 0 {
			t.Errorf("%s: -want +got\n%s", test.line, diff)
		}
	}
}

// fish answers for itself, with `complete --do-complete`.
func TestCompletionInFish(t *testing.T) {
	b := demoBook(t)
	b.must("due")
	for _, test := range tried(begunLines) {
		out, ok := inShell(t, b, "fish", "--no-config", "-c", `shedbook completion fish | source; complete --do-complete $argv[1]`, test.line)
		if !ok {
			return
		}
		var got []string
		for line := range strings.Lines(out) {
			word, _, _ := strings.Cut(strings.TrimSuffix(line, "\n"), "\t")
			got = append(got, word)
		}
		slices.Sort(got)
		if diff := cmp.Diff(test.want, got); diff != "" {
			t.Errorf("%s: -want +got\n%s", test.line, diff)
		}
	}
}

// typing is Python: it holds a terminal in which a shell runs, types a line and then a Tab there, and reads until both stand on the screen.
const typing = `
import os, pty, re, sys

start, pairs = sys.argv[2], sys.argv[3:]
child, terminal = pty.fork()
if child == 0:
    os.execvp(sys.argv[1].split()[0], sys.argv[1].split())
seen = ""

def see(want):
    global seen
    while want not in re.sub("\x1b\\[[?0-9;]*[A-Za-z]", "", seen):
        seen += os.read(terminal, 4096).decode()

os.write(terminal, start.encode() + b"\n")
see("ready> ")
for line, rest in zip(pairs[::2], pairs[1::2]):
    seen = ""
    os.write(terminal, line.encode())
    see(line[9:])
    os.write(terminal, b"\t")
    see(line[9:] + rest)
    os.write(terminal, b"\x15")
os.write(terminal, b"exit\n")
`

// typedAtATerminal are pairs: what is typed before the Tab, and what the Tab adds.
var typedAtATerminal = []string{
	"shedbook did dr", "ill ",
	"shedbook did drill left-wing gre", "ase ",
	"shedbook season clo", "se ",
	`shedbook season open spring\ seeding\ 2027`, " ",
	"shedbook due --person 'Wren", " Alder' ",
}

// Both zsh and bash are used as a person uses them: in a terminal, with the Tab key. zsh loads the script from a folder, as its help says.
func TestCompletionAtATerminal(t *testing.T) {
	b := demoBook(t)
	b.must("due")
	folder := t.TempDir()
	script, _ := shell.Script("zsh")
	if err := os.WriteFile(filepath.Join(folder, "_shedbook"), []byte(script), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, test := range tried([]struct{ shell, start string }{
		{"zsh -f -i", "fpath+=" + folder + "; autoload -U compinit && compinit -D -u; PS1='rea''dy> '"},
		{"zsh -f -i", "autoload -U compinit && compinit -D -u; eval \"$(shedbook completion zsh)\"; PS1='rea''dy> '"},
		{"bash --norc --noprofile -i", "eval \"$(shedbook completion bash)\"; PS1='rea''dy> '"},
	}) {
		name, _, _ := strings.Cut(test.shell, " ")
		if _, ok := inShell(t, b, name, "-c", ":"); ok {
			inShell(t, b, "python3", append([]string{"-c", typing, test.shell, test.start}, typedAtATerminal...)...)
		}
	}
}

// Each script is one that its shell can read. PowerShell is not to be had everywhere: of its script it is only seen that brackets and quotes close.
func TestCompletionScriptsAreRead(t *testing.T) {
	b := demoBook(t)
	for _, name := range shell.Names {
		got := b.must("completion", name)
		if want, _ := shell.Script(name); got != want || !strings.Contains(got, completeWord) {
			t.Errorf("%s: printed\n%s", name, got)
		}
		if name == "powershell" {
			if open := unclosed(got); open != "" {
				t.Errorf("%s: %q is not closed", name, open)
			}
			continue
		}
		inShell(t, b, name, "-n", "-c", got)
	}
	if _, said, code := b.run("completion", "fsh"); code != exitUsage || !strings.Contains(said, "did you mean fish") {
		t.Errorf("exit %d: %s", code, said)
	}
}

// unclosed is what is open at the end of a PowerShell text, by about_Quoting_Rules: in single quotes nothing but the quote is special, in double ones a backtick
// takes the next character as it is; "#" begins a comment.
func unclosed(text string) string {
	var open []byte
	for i := 0; i < len(text); i++ {
		top := byte(0)
		if len(open) > 0 {
			top = open[len(open)-1]
		}
		switch c := text[i]; {
		case top == '\'' || top == '"':
			if c == '`' && top == '"' {
				i++
			} else if c == top {
				open = open[:len(open)-1]
			}
		case c == '#':
			i += strings.IndexByte(text[i:], '\n')
		case strings.IndexByte(`'"({[`, c) >= 0:
			open = append(open, c)
		case strings.IndexByte(`)}]`, c) >= 0:
			if top != map[byte]byte{')': '(', '}': '{', ']': '['}[c] {
				return string(c)
			}
			open = open[:len(open)-1]
		}
	}
	return string(open)
}
