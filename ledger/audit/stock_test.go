package audit

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/hiddeco/sshsig"
	"golang.org/x/crypto/ssh"
)

// taken is a sold drill's book as Stock takes it apart.
func taken(t *testing.T) map[string][]byte {
	t.Helper()
	files := map[string][]byte{}
	if err := Stock(selling(t).fay.book, func(name string, content []byte) error {
		if _, ok := files[name]; ok {
			t.Errorf("%s is written twice", name)
		}
		files[name] = content
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	return files
}

// What is written for stock tools holds for outside libraries: each signature for its head by the key of its log in allowed_signers (hiddeco/sshsig,
// golang.org/x/crypto/ssh), each digest as FORMAT.md gives it.
func TestStock(t *testing.T) {
	files := taken(t)
	keys := map[string]ssh.PublicKey{}
	for line := range strings.Lines(string(files["allowed_signers"])) {
		f := strings.Fields(line)
		key, _, _, _, err := ssh.ParseAuthorizedKey([]byte(strings.Join(f[2:], " ")))
		if err != nil || f[1] != `namespaces="shedbook-entry-v1"` {
			t.Fatalf("allowed_signers: %q: %v", line, err)
		}
		keys[f[0]] = key
	}
	heads := 0
	for name, head := range files {
		stem, ok := strings.CutSuffix(name, ".head")
		if !ok {
			continue
		}
		heads++
		signature, err := sshsig.Unarmor(files[stem+".sig"])
		if err != nil {
			t.Fatal(err)
		}
		if err := sshsig.Verify(bytes.NewReader(head), signature, keys[path.Base(path.Dir(name))], sshsig.HashSHA512, "shedbook-entry-v1"); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if fmt.Sprintf("%x", sha256.Sum256(head)) != path.Base(stem) {
			t.Errorf("%s is not named after its bytes", name)
		}
		if !bytes.Contains(head, fmt.Appendf(nil, `"body":"%x"`, sha256.Sum256(files[stem+".body"]))) {
			t.Errorf("%s does not hold the digest of its body", name)
		}
		if private, ok := files[stem+".private"]; ok && !bytes.Contains(files[stem+".body"], fmt.Appendf(nil, `"private":"%x"`, sha256.Sum256(private))) {
			t.Errorf("%s.body does not hold the digest of its private part", stem)
		}
	}
	if want := len(selling(t).fay.book.Entries()); heads != want {
		t.Errorf("%d entries of %d", heads, want)
	}
}

// The script that goes with it, run by stock sh, ssh-keygen and sha256sum, passes what is whole and names what is changed, missing or put in another's place.
// Only the full tests insist on these programs.
func TestStockScript(t *testing.T) {
	for _, program := range []string{"sh", "ssh-keygen", "sha256sum"} {
		if _, err := exec.LookPath(program); err != nil {
			if full() {
				t.Fatal(err)
			}
			return
		}
	}
	files := taken(t)
	var heads []string
	for name := range files {
		if strings.HasSuffix(name, ".head") {
			heads = append(heads, strings.TrimSuffix(name, ".head"))
		}
	}
	slices.Sort(heads)
	followed := "" // an entry that another follows
	for _, e := range selling(t).fay.book.Entries() {
		if !e.Prev().IsZero() {
			followed = fmt.Sprintf("log/%s/%s", e.Writer(), e.Prev())
		}
	}
	one := heads[len(heads)/2]
	other := heads[len(heads)/2+1]
	for _, test := range []struct {
		name   string
		change func(map[string][]byte)
		want   string
	}{
		{"whole", func(map[string][]byte) {}, fmt.Sprintf("%d entries: every signature holds", len(heads))},
		{"a byte of a head", func(f map[string][]byte) {
			f[one+".head"] = bytes.Replace(f[one+".head"], []byte(`"v":1`), []byte(`"v":2`), 1)
		}, "does not hold: " + one + ".head"},
		{"a byte of a body", func(f map[string][]byte) {
			f[one+".body"] = bytes.Replace(f[one+".body"], []byte(`"kind"`), []byte(`"kine"`), 1)
		}, "does not hold: " + one + ".head"},
		{"another's signature", func(f map[string][]byte) { f[one+".sig"] = f[other+".sig"] }, "does not hold: " + one + ".head"},
		{"an entry left out", func(f map[string][]byte) {
			for _, ext := range []string{".head", ".body", ".sig", ".private"} {
				delete(f, followed+ext)
			}
		}, "does not hold: "},
		{"an entry under another name", func(f map[string][]byte) {
			for _, ext := range []string{".head", ".body", ".sig"} {
				f[path.Dir(one)+"/"+strings.Repeat("0", 64)+ext] = f[one+ext]
			}
		}, "does not hold: " + path.Dir(one) + "/" + strings.Repeat("0", 64)},
		{"another key", func(f map[string][]byte) {
			f["allowed_signers"] = bytes.Replace(f["allowed_signers"], []byte("AAAAI"), []byte("BAAAI"), 1)
		}, "does not hold: "},
	} {
		t.Run(test.name, func(t *testing.T) {
			dir := t.TempDir()
			changed := map[string][]byte{}
			for name, content := range files {
				changed[name] = content
			}
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
			if !strings.Contains(string(out), test.want) || (err == nil) != (test.name == "whole") {
				t.Errorf("%v\n%s\nwant %q", err, out, test.want)
			}
		})
	}
}
