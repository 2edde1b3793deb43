package audit

import (
	"bytes"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"strings"
	"testing"

	"shedbook/ledger"
)

// takenEvidence is what a sold drill's evidence is taken apart into, and the evidence.
func takenEvidence(t *testing.T) (map[string][]byte, *Evidence) {
	t.Helper()
	f := selling(t)
	ev, err := ReadEvidence(bytes.NewReader(evidenceOf(t, f.fay.book, f.drill, EvidenceOptions{})))
	if err != nil {
		t.Fatal(err)
	}
	files := map[string][]byte{}
	if err := StockEvidence(ev, func(name string, content []byte) error {
		if _, ok := files[name]; ok {
			t.Errorf("%s is written twice", name)
		}
		files[name] = content
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	return files, ev
}

// The reference programs are sh, ssh-keygen (OpenSSH) and sha256sum: with them alone evidence that is whole passes, and what is changed, left out, moved, added,
// hidden or signed by another key is named. Only the full tests insist on these programs.
func TestStockEvidence(t *testing.T) {
	for _, program := range []string{"sh", "ssh-keygen", "sha256sum", "base64"} {
		if _, err := exec.LookPath(program); err != nil {
			if full() {
				t.Fatal(err)
			}
			return
		}
	}
	files, ev := takenEvidence(t)
	stem := func(e *ledger.Entry) string { return fmt.Sprintf("log/%s/%s", e.Writer(), e.ID()) }
	var mine, other, unsigned, signed, inner, shared string // stems; mine is about the machine, other is hidden
	about := 0
	for _, e := range ev.Book.Entries() {
		if hasSignature(e) {
			signed = stem(e)
		} else {
			unsigned = stem(e)
		}
		if !e.Prev().IsZero() {
			inner = path.Dir(stem(e)) + "/" + e.Prev().String()
		}
		switch {
		case e.TagMatches(ev.Key):
			mine = stem(e)
			about++
		case !e.HasBody():
			other = stem(e)
		case e.Class() == ledger.Shared:
			shared = stem(e)
		}
	}
	if mine == "" || other == "" || unsigned == "" || shared == "" {
		t.Fatalf("the book lacks a case: %q %q %q %q", mine, other, unsigned, shared)
	}
	drop := func(f map[string][]byte, stem string, exts ...string) {
		for _, ext := range exts {
			delete(f, stem+ext)
		}
	}
	for i, test := range []struct {
		name   string
		change func(map[string][]byte)
		want   string
	}{
		{"whole", func(map[string][]byte) {}, fmt.Sprintf("%d entries, %d about the machine, all of these shown", len(ev.Book.Entries()), about)},
		{"a byte of a hidden head", func(f map[string][]byte) {
			f[unsigned+".head"] = bytes.Replace(f[unsigned+".head"], []byte(`"v":1`), []byte(`"v":2`), 1)
		}, unsigned + ".head: it is not the entry it is named after"},
		{"a byte of a body", func(f map[string][]byte) {
			f[mine+".body"] = bytes.Replace(f[mine+".body"], []byte(`"kind"`), []byte(`"kine"`), 1)
		}, mine + ".head: its body is not the one that was signed"},
		{"another's signature", func(f map[string][]byte) { f[mine+".sig"] = f[shared+".sig"] }, mine + ".head: its signature"},
		{"a body of the machine hidden", func(f map[string][]byte) { drop(f, mine, ".body", ".private") }, mine + ".head: it is about the machine and not shown"},
		{"a shared body hidden", func(f map[string][]byte) { drop(f, shared, ".body", ".private") }, shared + ".head: it is not work and not shown"},
		{"an entry left out", func(f map[string][]byte) { drop(f, inner, ".head", ".body", ".private", ".sig") }, "the entry before it is missing"},
		{"the signature left out at a log's end", func(f map[string][]byte) {
			for _, w := range ev.Book.Writers() {
				for _, tip := range ev.Book.Tips(w) {
					drop(f, fmt.Sprintf("log/%s/%s", w, tip.ID), ".sig")
				}
			}
		}, "it has no signature, and no later entry holds it"},
		{"another machine's key", func(f map[string][]byte) {
			f["machine.key"] = append([]byte{f["machine.key"][0] ^ 1}, f["machine.key"][1:]...)
		}, "it is shown and not about the machine"},
		{"a key put in another's place", func(f map[string][]byte) {
			lines := strings.Split(strings.TrimSpace(string(f["allowed_signers"])), "\n")
			last := func(l string) string { return l[strings.LastIndex(l, " "):] }
			f["allowed_signers"] = []byte(strings.ReplaceAll(string(f["allowed_signers"]), last(lines[0]), last(lines[1])))
		}, "its signature"},
		{"an entry in another log", func(f map[string][]byte) {
			for _, w := range ev.Book.Writers() {
				if to := "log/" + w.String(); to != path.Dir(signed) {
					f[to+"/"+path.Base(signed)+".head"], f[to+"/"+path.Base(signed)+".sig"] = f[signed+".head"], f[signed+".sig"]
				}
			}
		}, "does not hold: "},
	} {
		if i > 4 && !full() { // each takes a second or two of many small processes
			break
		}
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			changed := maps.Clone(files)
			test.change(changed)
			for name, content := range changed {
				if err := os.MkdirAll(filepath.Dir(filepath.Join(dir, name)), 0o777); err != nil {
					t.Fatal(err)
				}
				if err := os.WriteFile(filepath.Join(dir, name), content, 0o666); err != nil {
					t.Fatal(err)
				}
			}
			out, err := exec.Command("sh", filepath.Join(dir, "check.sh")).CombinedOutput()
			if test.name == "whole" {
				saysHowFar(t, dir, len(ev.Book.Entries()), string(out))
			}
			if !strings.Contains(string(out), test.want) || (err == nil) != (test.name == "whole") {
				t.Errorf("%v\n%s\nwant %q", err, out, test.want)
			}
		})
	}
}

// saysHowFar runs the script of a whole folder once more, told to say every third entry how far it is, not every five hundredth: on the standard error, a line
// each, while the standard output stays as it was.
func saysHowFar(t *testing.T, dir string, entries int, before string) {
	t.Helper()
	file := filepath.Join(dir, "check.sh")
	script, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if n := bytes.Count(script, []byte("% 500")); n != 1 {
		t.Fatalf("the script counts to 500 in %d places", n)
	}
	if err := os.WriteFile(file, bytes.Replace(script, []byte("% 500"), []byte("% 3"), 1), 0o666); err != nil {
		t.Fatal(err)
	}
	var out, said bytes.Buffer
	c := exec.Command("sh", file)
	c.Stdout, c.Stderr = &out, &said
	if err := c.Run(); err != nil || out.String() != before {
		t.Errorf("%v: it prints %q, and %q before", err, out.String(), before)
	}
	lines := strings.Split(strings.TrimSpace(said.String()), "\n")
	if len(lines) != entries/3 || lines[0] != "3 entries looked at" {
		t.Errorf("of %d entries it says %q", entries, said.String())
	}
}
