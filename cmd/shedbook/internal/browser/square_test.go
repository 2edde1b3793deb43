package browser

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// Every square of a printed card, read off the sheets by another program (zbarimg of ZBar, ISO/IEC 18004), leads to its job on the page for phones, which has it.
func TestCardSquares(t *testing.T) {
	if !full() {
		return
	}
	s := newStage(t)
	file := s.write(t, "squares", "jobcard drill --phone 192.168.1.20")
	b := openAt(t, chromium(t), "file://"+file)
	b.look("", "light", 1000)
	var want []string
	for _, l := range evaluate[[]string](b, `[...document.querySelectorAll(".square")].map((e) => e.getAttribute("aria-label"))`) {
		place := "drill"
		if job, ok := strings.CutPrefix(l, "leads a phone to drill: "); ok {
			place += "/job/" + strings.ReplaceAll(job, " ", "-")
		}
		want = append(want, "http://192.168.1.20:8642/m/"+place)
	}
	if n := evaluate[int](b, `document.querySelectorAll(".task").length`); n < 3 || n != len(want) {
		t.Fatalf("%d squares for %d jobs", len(want), n)
	}
	pdf, err := chromedp.Run(b.ctx, chromedp.PrintToPDF(chromedp.PDFPaper(papers[0].size)))
	must(t, err)
	dir := t.TempDir()
	must(t, os.WriteFile(filepath.Join(dir, "card.pdf"), pdf, 0o644))
	b.tool("pdftoppm", "-r", "150", "-gray", "-png", filepath.Join(dir, "card.pdf"), filepath.Join(dir, "sheet"))
	sheets, err := filepath.Glob(filepath.Join(dir, "sheet*.png"))
	must(t, err)
	var got []string
	for _, sheet := range sheets {
		if shots := os.Getenv("SHEDBOOK_SHOTS"); shots != "" {
			data, err := os.ReadFile(sheet)
			must(t, err)
			must(t, os.WriteFile(filepath.Join(shots, "squares-"+filepath.Base(sheet)), data, 0o644))
		}
		got = append(got, strings.Fields(b.tool("sh", "-c", "zbarimg -q --raw -Sdisable -Sqrcode.enable \"$1\" || [ $? = 4 ]", "sh", sheet))...) // 4: no code on that sheet
	}
	slices.Sort(want)
	slices.Sort(got)
	if !slices.Equal(got, want) {
		t.Errorf("read off the sheets:\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	p := serve(t, s)
	ph := openAt(t, chromiumWith(t, "MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"), p.invitation)
	ph.pairUp(p)
	for _, address := range slices.Compact(want) {
		ph.visit(p.address + strings.TrimPrefix(address, "http://192.168.1.20:8642"))
		if text := ph.text(); !strings.Contains(text, "drill") || strings.Contains(text, "That did not work") {
			t.Errorf("%s: %.200s", address, text)
		}
	}
}
