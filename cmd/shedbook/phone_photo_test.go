package main

import (
	"bytes"
	"encoding/json"
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// sendPhoto sends a form as a browser does that has a file field (RFC 7578).
func (h *handset) sendPhoto(form url.Values, name string, data []byte, change func(*http.Request)) page {
	h.p.t.Helper()
	var body bytes.Buffer
	out := multipart.NewWriter(&body)
	for field, values := range form {
		for _, v := range values {
			if err := out.WriteField(field, v); err != nil {
				h.p.t.Fatal(err)
			}
		}
	}
	part, err := out.CreateFormFile("photo", name)
	if err == nil {
		_, err = part.Write(data)
	}
	if err == nil {
		err = out.Close()
	}
	if err != nil {
		h.p.t.Fatal(err)
	}
	return h.send("POST", "/record", nil, func(r *http.Request) {
		r.Header.Set("Content-Type", out.FormDataContentType())
		r.Body, r.ContentLength = io.NopCloser(bytes.NewReader(body.Bytes())), int64(body.Len())
		if change != nil {
			change(r)
		}
	})
}

// A photo from a phone is the one that --paper keeps of the same file, on each form that has the field; the entry leads to it, and only paired phones get it.
func TestPhonePhoto(t *testing.T) {
	p := newPhones(t)
	sam := p.pair("Sam Rook", "barn phone")
	const place = "52.5123N-13.4567W"
	data := plantedPhoto(t, place)
	file := filepath.Join(t.TempDir(), "disc.jpg")
	if err := os.WriteFile(file, data, 0o600); err != nil {
		t.Fatal(err)
	}
	p.must("note", "drill", "at the laptop", "--paper", file)
	for _, kind := range []string{"fault", "repair", "note"} {
		f := sam.form("/m/drill/record/" + kind)
		f.Set("text", "a "+kind)
		if got := sam.sendPhoto(f, "disc.jpg", data, nil); got.status != http.StatusSeeOther {
			t.Fatalf("%s: %d %.500s", kind, got.status, got.text)
		}
	}
	f := sam.form("/m/drill/record/swap?what=disc")
	f.Set("at", "opener/9")
	if got := sam.sendPhoto(f, "disc.jpg", data, nil); got.status != http.StatusSeeOther {
		t.Fatalf("swap: %d %.500s", got.status, got.text)
	}
	f = sam.form("/m/drill/job/grease")
	f.Set("which", "all")
	if got := sam.sendPhoto(f, "", nil, nil); got.status != http.StatusSeeOther { // no file chosen
		t.Fatalf("without a photo: %d %.500s", got.status, got.text)
	}
	var all papersJSON
	if err := json.Unmarshal([]byte(p.must("paper", "--json")), &all); err != nil || len(all.Papers) != 1 || len(all.Papers[0].Entries) != 5 {
		t.Fatalf("%v %+v, want one paper of 5 entries", err, all)
	}
	link := regexp.MustCompile(`<a class="shot" href="(/paper/[0-9a-f]{64})"><img src="/paper/[0-9a-f]{64}" alt="photo disc.jpg" loading="lazy"></a>`).FindStringSubmatch(sam.get("/m/drill/past").text)
	if link == nil || link[1] != "/paper/"+all.Papers[0].Digest {
		t.Fatalf("the entry does not lead to %s: %q", all.Papers[0].Digest, link)
	}
	r, err := http.NewRequest("GET", p.address+link[1], nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Cookie", "shedbook-phone="+sam.cookie)
	res, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	got, err := io.ReadAll(res.Body)
	if err != nil || int64(len(got)) != all.Papers[0].Size || bytes.Contains(got, []byte(place)) {
		t.Errorf("%d bytes came, %v", len(got), err)
	}
	for name, want := range map[string]string{"Content-Type": "image/jpeg", "Cache-Control": "no-store", "X-Content-Type-Options": "nosniff"} {
		if res.Header.Get(name) != want {
			t.Errorf("%s: %q, want %q", name, res.Header.Get(name), want)
		}
	}
	if got := (&handset{p: p}).get(link[1]); got.status != http.StatusUnauthorized {
		t.Errorf("a stranger gets %d", got.status)
	}
	if got := sam.get("/paper/" + strings.Repeat("0", 64)); got.status != http.StatusUnprocessableEntity {
		t.Errorf("a paper nobody has: %d", got.status)
	}
}

// A form that is asked about comes again without its photo: it is recorded with it all the same.
func TestPhonePhotoWaits(t *testing.T) {
	p := newPhones(t)
	sam := p.pair("Sam Rook", "barn phone")
	f := sam.form("/m/drill/record/note")
	f.Set("text", "from long ago")
	f.Set("day", "1949-01-01")
	got := sam.sendPhoto(f, "disc.jpg", plantedPhoto(t, "x"), nil)
	if got.status != http.StatusUnprocessableEntity || !strings.Contains(got.text, "is long ago") {
		t.Fatalf("%d %.500s", got.status, got.text)
	}
	if n := len(p.entries()); strings.Contains(p.must("paper"), "disc") {
		t.Fatalf("%d entries, and a paper", n)
	}
	sure := regexp.MustCompile(`name="sure" value="([^"]+)"`).FindStringSubmatch(got.text)
	if sure == nil {
		t.Fatalf("no question: %s", got.text)
	}
	f.Set("sure", sure[1])
	if got := sam.send("POST", "/record", f, nil); got.status != http.StatusSeeOther {
		t.Fatalf("%d %.500s", got.status, got.text)
	}
	if out := p.must("paper"); !strings.Contains(out, "disc.jpg") {
		t.Errorf("the photo is not there:\n%s", out)
	}
}

// What nobody can have done yet is refused, not asked about, as at the laptop.
func TestPhoneFuture(t *testing.T) {
	p := newPhones(t)
	sam := p.pair("Sam Rook", "barn phone")
	before := len(p.entries())
	f := sam.form("/m/drill/record/note")
	f.Set("text", "from tomorrow")
	f.Set("day", "2099-01-01")
	got := sam.send("POST", "/record", f, nil)
	if got.status != http.StatusUnprocessableEntity || !strings.Contains(got.text, "lies in the future") || strings.Contains(got.text, `name="sure"`) {
		t.Errorf("%d %.500s", got.status, got.text)
	}
	if n := len(p.entries()); n != before {
		t.Errorf("%d entries, want %d", n, before)
	}
}

// What is no photo, or far too much of one, is refused, and nothing is written.
func TestPhonePhotoAttacks(t *testing.T) {
	p := newPhones(t)
	sam := p.pair("Sam Rook", "barn phone")
	before := len(p.entries())
	form := func() url.Values {
		f := sam.form("/m/drill/record/note")
		f.Set("text", "with a photo")
		return f
	}
	good := plantedPhoto(t, "x")
	huge := func(length int64) func(*http.Request) {
		return func(r *http.Request) {
			head := "--x\r\nContent-Disposition: form-data; name=\"photo\"; filename=\"a.jpg\"\r\n\r\n\xff\xd8\xff"
			r.Header.Set("Content-Type", "multipart/form-data; boundary=x")
			r.Body, r.ContentLength = io.NopCloser(io.LimitReader(io.MultiReader(strings.NewReader(head), endless{}), 100<<20)), length
		}
	}
	noToken := form()
	noToken.Del("token")
	for _, x := range []struct {
		name   string
		send   func() page
		status int
	}{
		{"a page of script", func() page { return sam.sendPhoto(form(), "a.jpg", []byte("<script>alert(1)</script>"), nil) }, 422},
		{"a cut photo", func() page { return sam.sendPhoto(form(), "a.jpg", good[:len(good)/2], nil) }, 422},
		{"100 MB", func() page { return sam.send("POST", "/record", nil, huge(100<<20)) }, 413},
		{"100 MB of unsaid length", func() page { return sam.send("POST", "/record", nil, huge(-1)) }, 413},
		{"no token", func() page { return sam.sendPhoto(noToken, "a.jpg", good, nil) }, 403},
		{"no cookie", func() page { return (&handset{p: p}).sendPhoto(form(), "a.jpg", good, nil) }, 415},
		{"a foreign page", func() page {
			return sam.sendPhoto(form(), "a.jpg", good, func(r *http.Request) { r.Header.Set("Origin", "http://drill.example") })
		}, 403},
		{"a path as a name", func() page {
			f := form()
			f.Set("text", "")
			return sam.sendPhoto(f, "../../etc/passwd", good, nil)
		}, 422},
	} {
		t.Run(x.name, func(t *testing.T) {
			got := x.send()
			if got.status != x.status && !(x.status == 413 && (got.status == 0 || got.status == 422)) {
				t.Errorf("%d, not %d: %.300s", got.status, x.status, got.text)
			}
			if n := len(p.entries()) - before; n != 0 {
				t.Fatalf("%d entries were written", n)
			}
		})
	}
}
