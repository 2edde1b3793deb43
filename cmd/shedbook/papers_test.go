package main

import (
	"bytes"
	"encoding/json"
	"image"
	"image/color"
	"image/jpeg"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// plantedPhoto is a JPEG of 2000 by 1000 pixels with a comment (ITU-T T.81, B.2.4.5) that names a place. How location data of a camera is taken out is
// tested in internal/photo; here it is that of the whole folder.
func plantedPhoto(t testing.TB, place string) []byte {
	img := image.NewRGBA(image.Rect(0, 0, 2000, 1000))
	for i := range 2000 {
		img.SetRGBA(i, i/2, color.RGBA{200, 100, 50, 255})
	}
	var out bytes.Buffer
	if err := jpeg.Encode(&out, img, nil); err != nil {
		t.Fatal(err)
	}
	data := out.Bytes()
	head := append([]byte{0xff, 0xd8, 0xff, 0xfe, 0, byte(len(place) + 2)}, place...)
	return append(head, data[2:]...)
}

// A photo is recorded with whatever is recorded: scaled, without what its file said of the place; no file of the book says it either. A correction
// adds one that was forgotten and takes one off; what was there stays to be seen.
func TestPhotoOnEveryCommand(t *testing.T) {
	t.Parallel()
	s := newShed(t)
	const place = "52.5123N-13.4567W"
	file := filepath.Join(s.home, "disc.jpeg")
	if err := os.WriteFile(file, plantedPhoto(t, place), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, line := range []string{
		"did drill grease", "fault drill 9 hub out", "repair drill 9 new hub", "note drill dusty", "swap drill opener/12 disc --why worn", "measure drill 3 disc-reach 5.9",
		"adjust drill depth=6", "counter drill 1900", "machine add tractor2 tractor --yard home", "assume drill2 good", "machine store drill2",
	} {
		out := s.must("shedbook " + line + " --paper " + file)
		if !strings.Contains(out, "disc.jpg is kept as a photo of 1600 by 800 pixels") {
			t.Errorf("%s: %s", line, out)
		}
	}
	var all papersJSON
	if err := json.Unmarshal([]byte(s.must("shedbook paper --json")), &all); err != nil || len(all.Papers) != 1 || len(all.Papers[0].Entries) != 11 || !all.Papers[0].Held {
		t.Fatalf("%v: %+v; want one paper of 11 entries", err, all)
	}
	p := all.Papers[0]
	if p.Size > 300_000 || p.Type != "image/jpeg" || p.Name != "disc.jpg" {
		t.Errorf("%+v", p)
	}
	copied := filepath.Join(s.home, "out.jpg")
	s.must("shedbook paper " + p.Digest[:8] + " --out " + copied)
	got, err := os.ReadFile(copied)
	if err != nil || int64(len(got)) != p.Size {
		t.Errorf("%d bytes came back, want %d, %v", len(got), p.Size, err)
	}
	for _, where := range []string{s.dir, copied} {
		err := filepath.WalkDir(where, func(path string, e fs.DirEntry, err error) error {
			if err == nil && e.Type().IsRegular() {
				if data, rerr := os.ReadFile(path); rerr != nil || bytes.Contains(data, []byte(place)) {
					t.Errorf("%s says where the photo was taken (%v)", path, rerr)
				}
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	id := s.idOfKind("note")[:8]
	pdf := filepath.Join(s.home, "invoice.pdf")
	if err := os.WriteFile(pdf, []byte("%PDF-1.7\nan invoice"), 0o600); err != nil {
		t.Fatal(err)
	}
	if out := s.must("shedbook correct " + id + " --paper " + pdf); !strings.Contains(out, "now: drill") || !strings.Contains(out, "with disc.jpg and invoice.pdf") {
		t.Errorf("added: %s", out)
	}
	if out := s.must("shedbook correct " + id + " --paper none"); !strings.Contains(out, "was: drill") || strings.Contains(strings.SplitAfter(out, "now:")[1], "disc.jpg") {
		t.Errorf("taken off: %s", out)
	}
	if out := s.must("shedbook audit"); strings.Contains(out, "paper") {
		t.Errorf("audit: %s", out)
	}
}

// What is no paper, or too much of one, is refused before anything is recorded or read, and a paper gone from the folder is a warning, not an error.
func TestPaperAttacks(t *testing.T) {
	t.Parallel()
	s := newShed(t)
	before := len(s.entries())
	huge := filepath.Join(s.home, "huge.jpg")
	f, err := os.Create(huge)
	if err == nil {
		err = f.Truncate(100 << 20) // 100 MB that no disk needs to hold
	}
	if err != nil {
		t.Fatal(err)
	}
	f.Close()
	_, errs, code := s.say("shedbook note drill huge --paper " + huge)
	if want := "it has more than 32 MB, the most that is read; nothing was recorded\n  next: take a smaller photo"; code != exitFailed || !strings.Contains(errs, want) {
		t.Errorf("exit %d, %s", code, errs)
	}
	named := filepath.Join(s.home, "a\u202e\x1b[31m<img src=x>.pdf")
	if err := os.WriteFile(named, []byte("%PDF-1.7"), 0o600); err != nil {
		t.Fatal(err)
	}
	if n := len(s.entries()); n != before {
		t.Errorf("%d entries were written", n-before)
	}
	out, errs, code := s.runArgs(nil, "note", "drill", "hostile name", "--paper", named)
	if code != exitDone || strings.ContainsAny(out+errs, "\u202e\x1b") || !strings.Contains(out, "a--[31m<img src=x>.pdf") {
		t.Errorf("exit %d\n%q%q", code, out, errs)
	}
}

// A sale file shows photos of the machine and of large jobs, as pictures that stand in the page itself; without names or costs neither page nor evidence
// has any trace of them.
func TestSaleFilePhotos(t *testing.T) {
	t.Parallel()
	s := newShed(t)
	file := filepath.Join(s.home, "plate.jpg")
	if err := os.WriteFile(file, plantedPhoto(t, "x"), 0o600); err != nil {
		t.Fatal(err)
	}
	invoice := filepath.Join(s.home, "bearings.pdf")
	if err := os.WriteFile(invoice, []byte("%PDF-1.7 for Sam"), 0o600); err != nil {
		t.Fatal(err)
	}
	s.must(`shedbook machine add baler tractor --yard home --paper ` + file)
	s.must(`shedbook repair baler "new bearings" --cost parts=900 --paper ` + invoice)
	s.must(`shedbook stamp`)
	page, evidence := filepath.Join(s.home, "b.html"), filepath.Join(s.home, "b.evidence")
	for _, x := range []struct {
		flags  string
		photos int
	}{{"", 1}, {" --without-costs", 0}, {" --without-names", 0}} {
		s.must(`shedbook salefile baler --out ` + page + x.flags)
		got, err := os.ReadFile(page)
		if err != nil {
			t.Fatal(err)
		}
		if n := bytes.Count(got, []byte(`<img src="data:image/jpeg;base64,`)); n != x.photos || len(got) > 1<<20 {
			t.Errorf("%q: %d photos in %d bytes", x.flags, n, len(got))
		}
		if x.photos == 0 && (bytes.Contains(got, []byte("plate.jpg")) || bytes.Contains(got, []byte("bearings.pdf"))) {
			t.Errorf("%q: the page names papers", x.flags)
		}
		if err := os.Remove(evidence); err != nil {
			t.Fatal(err)
		}
	}
}
