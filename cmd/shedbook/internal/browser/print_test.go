package browser

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"

	"github.com/chromedp/chromedp"
)

// papers are what a page must print on alike (ANSI/ASME Y14.1 A, ISO 216 A4), in inches.
var papers = []struct {
	name string
	size chromedp.PaperSize
}{
	{"letter", chromedp.PaperSize{Width: 8.5, Height: 11}},
	{"a4", chromedp.PaperSize{Width: 210 / 25.4, Height: 297 / 25.4}},
}

// print puts the page on both papers: as many sheets as expected, each numbered, none blank, the first saying what it is, none but the last left
// emptier than filled says, in hundredths of its height.
func (b *tab) print(name, says string, want sheets, filled int) {
	t := b.t
	t.Helper()
	b.look("", "light", 1000) // no medium of ours: printing brings its own
	for _, p := range papers {
		pdf, err := chromedp.Run(b.ctx, chromedp.PrintToPDF(chromedp.PDFPaper(p.size), chromedp.PDFOutlineAndTagged()))
		must(t, err)
		file := filepath.Join(t.TempDir(), p.name+".pdf")
		must(t, os.WriteFile(file, pdf, 0o644))
		info := b.tool("pdfinfo", file)
		m := regexp.MustCompile(`(?m)^Pages:\s+(\d+)$`).FindStringSubmatch(info)
		if m == nil {
			t.Fatalf("%s: pdfinfo says no number of sheets: %s", p.name, info)
		}
		n, _ := strconv.Atoi(m[1])
		if n < want.least || n > want.most {
			t.Errorf("%s: %d sheets, want %d to %d", p.name, n, want.least, want.most)
		}
		if !strings.Contains(info, "Tagged:          yes") {
			t.Errorf("%s: not tagged", p.name)
		}
		for i := 1; i <= n; i++ {
			number := strconv.Itoa(i)
			text := b.tool("pdftotext", "-layout", "-f", number, "-l", number, file, "-")
			foot := fmt.Sprintf("page %d of %d", i, n)
			if !strings.Contains(text, foot) {
				t.Errorf("%s: sheet %d does not say %q", p.name, i, foot)
			}
			if words := strings.Fields(text); len(words) < 12 {
				t.Errorf("%s: sheet %d is blank but for %q", p.name, i, words)
			}
			if used := b.used(file, number); i < n && used < filled {
				t.Errorf("%s: sheet %d is used to %d hundredths, want %d", p.name, i, used, filled)
			}
			if i == 1 && !strings.Contains(text, says) {
				t.Errorf("%s: the first sheet does not say %q", p.name, says)
			}
			if strings.Contains(text, "file://") {
				t.Errorf("%s: sheet %d names the file's place", p.name, i)
			}
		}
		if dir := os.Getenv("SHEDBOOK_SHOTS"); dir != "" {
			b.tool("pdftoppm", "-r", "60", "-png", file, filepath.Join(dir, name+"-"+p.name))
		}
	}
}

// used is how far down a sheet its last words stand, but for those of its foot, in hundredths of what lies above that.
func (b *tab) used(file, sheet string) int {
	b.t.Helper()
	text := b.tool("pdftotext", "-bbox", "-f", sheet, "-l", sheet, file, "-")
	var height, last float64
	for _, m := range regexp.MustCompile(`<(?:page width="[^"]*" height|word [^>]*yMax)="([0-9.]+)"`).FindAllStringSubmatch(text, -1) {
		n, err := strconv.ParseFloat(m[1], 64)
		must(b.t, err)
		if height == 0 {
			height = n - 15*72/25.4 // the lower margin of z-print.css
		} else if n < height {
			last = max(last, n)
		}
	}
	if height == 0 || last == 0 {
		b.t.Fatalf("sheet %s: pdftotext -bbox names no words", sheet)
	}
	return int(100 * last / height)
}

// tool runs one of poppler-utils.
func (b *tab) tool(name string, args ...string) string {
	b.t.Helper()
	out, err := exec.Command(name, args...).Output()
	if err != nil {
		b.t.Fatalf("%s: %v (apt-get install poppler-utils)", name, err)
	}
	return string(out)
}
