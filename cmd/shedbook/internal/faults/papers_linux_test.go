package faults

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
)

// invoice is the smallest PDF with one empty page (ISO 32000-1, 7.5): its cross-reference table gives the place of each object.
func invoice() []byte {
	out := "%PDF-1.4\n"
	var at []int
	for i, object := range []string{"<< /Type /Catalog /Pages 2 0 R >>", "<< /Type /Pages /Kids [3 0 R] /Count 1 >>", "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 200 100] >>"} {
		at = append(at, len(out))
		out += fmt.Sprintf("%d 0 obj\n%s\nendobj\n", i+1, object)
	}
	table := len(out)
	out += fmt.Sprintf("xref\n0 %d\n0000000000 65535 f \n", len(at)+1)
	for _, n := range at {
		out += fmt.Sprintf("%010d 00000 n \n", n)
	}
	return fmt.Appendf(nil, "%strailer\n<< /Size %d /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n", out, len(at)+1, table)
}

// papered is a started book beside which a photo and an invoice lie.
func papered(f *farm) {
	started(f)
	papers(f)
}

func papers(f *farm) {
	photo := image.NewRGBA(image.Rect(0, 0, 64, 48))
	for x := range 64 {
		for y := range 48 {
			photo.SetRGBA(x, y, color.RGBA{uint8(4 * x), uint8(5 * y), 90, 255})
		}
	}
	var out bytes.Buffer
	must(f.t, jpeg.Encode(&out, photo, nil))
	must(f.t, os.WriteFile(f.live("photo.jpg"), out.Bytes(), 0o666))
	must(f.t, os.WriteFile(f.live("invoice.pdf"), invoice(), 0o666))
}

// papersKept wants each paper that an entry names to be readable, to be kept once, and to be kept once still after an entry that names it again.
func papersKept(papers int) func(*farm) error {
	return func(f *farm) error {
		if err := papersRead(f, "wren", papers); err != nil {
			return err
		}
		if a := f.try("wren", fields(`note drill "the same papers again" --paper photo.jpg --paper invoice.pdf`)...); a.code != 0 {
			return fmt.Errorf("the same papers again: exit %d\n%s%s", a.code, a.out, a.err)
		}
		if err := papersRead(f, "wren", 2); err != nil {
			return fmt.Errorf("after the same papers again: %w", err)
		}
		return papersOnce(f, "wren")
	}
}

// papersThere wants whatever papers entries name to be readable.
func papersThere(f *farm) error { return papersRead(f, "wren", -1) }

// papersRead has every paper that entries of a device's book name written to a file: its bytes must be those of its digest. papers is how many there are, -1
// where it may be any number.
func papersRead(f *farm, device string, papers int) error {
	a := f.try(device, "paper", "--json")
	var all struct {
		Papers []struct {
			Digest, Name string
			Held         bool
			Entries      []string
		}
	}
	if err := json.Unmarshal([]byte(a.out), &all); err != nil || a.code != 0 {
		return fmt.Errorf("paper: exit %d, %v\n%s%s", a.code, err, a.out, a.err)
	}
	if papers >= 0 && len(all.Papers) != papers {
		return fmt.Errorf("entries of %s name %d papers, want %d", device, len(all.Papers), papers)
	}
	for _, p := range all.Papers {
		out := filepath.Join(f.root, "copy")
		a := f.try(device, "paper", p.Digest, "--out", out)
		data, err := os.ReadFile(out)
		os.Remove(out)
		if err != nil || a.code != 0 {
			return fmt.Errorf("%s cannot be had back: exit %d, %v\n%s%s", p.Name, a.code, err, a.out, a.err)
		}
		if fmt.Sprintf("%x", sha256.Sum256(data)) != p.Digest || !p.Held {
			return fmt.Errorf("%s, held: %v, comes back as %d other bytes", p.Name, p.Held, len(data))
		}
		if entries := slices.Compact(slices.Sorted(slices.Values(p.Entries))); len(entries) != len(p.Entries) {
			return fmt.Errorf("%s is told of twice by one entry", p.Name)
		}
	}
	return nil
}

// papersOnce has git (git-ls-tree, git-cat-file) list what a device's own book holds: each log has a paper once, under its digest, whole.
func papersOnce(f *farm, device string) error {
	git := func(args ...string) (string, error) {
		out, err := exec.Command("git", append([]string{"--git-dir", f.live(device, "book", "git")}, args...)...).CombinedOutput()
		if err != nil {
			err = fmt.Errorf("git %s: %w\n%s", strings.Join(args, " "), err, out)
		}
		return string(out), err
	}
	if out, err := git("fsck", "--strict"); err != nil {
		return fmt.Errorf("%w%s", err, out)
	}
	refs, err := git("for-each-ref", "--format=%(refname)")
	if err != nil {
		return err
	}
	found := 0
	for _, ref := range strings.Fields(refs) {
		list, err := git("ls-tree", "-r", "--name-only", ref)
		if err != nil {
			return err
		}
		seen := map[string]bool{}
		for _, path := range strings.Fields(list) {
			if !strings.HasPrefix(path, "paper/") {
				continue
			}
			data, err := git("cat-file", "blob", ref+":"+path)
			if err != nil {
				return err
			}
			digest := fmt.Sprintf("%x", sha256.Sum256([]byte(data)))
			if path != "paper/"+digest[:2]+"/"+digest || seen[digest] {
				return fmt.Errorf("%s of %s is the paper %s, there before: %v", path, ref, digest[:8], seen[digest])
			}
			seen[digest] = true
			found++
		}
	}
	if found == 0 {
		return fmt.Errorf("git finds no paper in the book")
	}
	return nil
}
