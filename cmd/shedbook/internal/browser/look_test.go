package browser

import (
	_ "embed"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

//go:embed testdata/own.js
var own string

// axeRun asks axe-core for what WCAG 2.2 AA forbids, one line a rule with the first places.
const axeRun = `axe.run(document, {runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"], resultTypes: ["violations"]}).then((r) =>
	r.violations.map((v) => "axe " + v.id + ": " + v.help + ": " + v.nodes.slice(0, 3).map((n) => n.target.join(" ")).join(" | ")))`

func axe(t *testing.T) string {
	t.Helper()
	path := os.Getenv("SHEDBOOK_AXE")
	if path == "" {
		t.Fatal("SHEDBOOK_AXE names no axe.min.js: npm pack axe-core@4.14.1, unpack it, and give the path")
	}
	text, err := os.ReadFile(path)
	must(t, err)
	return string(text)
}

// Contrast: 4.5 to 1 is asked for (WCAG 2.2, 1.4.3), 7 to 1 wanted, for a page is read in the sun and in a dark shed.
const leastContrast, wantedContrast = "4.5", "7"

// check looks at an open page in every way and returns what is wrong, and which texts fall short of the contrast that is wanted.
func (b *tab) check(file, name, axe string) (wrong, pale []string) {
	b.t.Helper()
	lines := func(script string) []string { b.t.Helper(); return evaluate[[]string](b, script) }
	wrong = b.heard(file) // before anything of ours is put into the page
	evaluate[int](b, own+";0")
	evaluate[int](b, axe+";0")
	note := func(where string, found []string) {
		for _, f := range found {
			wrong = append(wrong, where+": "+f)
		}
	}
	note("page", lines("own.structure()"))
	folds := func(open bool) {
		evaluate[int](b, `document.querySelectorAll("details").forEach((d) => { d.open = `+map[bool]string{true: "true", false: "false"}[open]+` }); 0`)
	}
	for _, scheme := range []string{"light", "dark"} {
		for _, width := range []int64{412, 1000} {
			b.look("screen", scheme, width)
			where := scheme + map[int64]string{412: " phone", 1000: " desk"}[width]
			b.shot(name + "-" + strings.ReplaceAll(where, " ", "-"))
			folds(true)
			note(where, lines(axeRun))
			note(where, lines("own.contrast("+leastContrast+")"))
			note(where, lines("own.lines()"))
			note(where, lines("own.targets()"))
			pale = append(pale, lines("own.contrast("+wantedContrast+")")...)
			folds(false)
		}
	}
	b.look("screen", "light", 320)
	b.shot(name + "-320")
	folds(true)
	note("320 px", lines("own.reflow(320)"))
	note("320 px", lines("own.room()"))
	folds(false)
	b.look("print", "light", 700)
	note("print", lines("own.boxes()"))
	note("print", lines("own.clipped()"))
	note("print", lines("own.contrast("+wantedContrast+")"))
	note("print", lines("own.type(9)"))
	b.look("screen", "light", 1000)
	slices.Sort(pale)
	return wrong, slices.Compact(pale)
}

// Every page of the table, looked at in every way.
func TestPages(t *testing.T) {
	if !full() {
		return
	}
	script, browser, s := axe(t), chromium(t), newStage(t)
	for _, p := range pages {
		t.Run(p.name, func(t *testing.T) {
			file := s.write(t, p.name, p.args)
			b := open(t, browser, file)
			wrong, pale := b.check(file, p.name, script)
			for _, w := range wrong {
				t.Error(w)
			}
			for _, l := range pale {
				t.Log("below 7 to 1: " + l)
			}
			b.print(p.name, p.says, p.sheets, p.filled)
		})
	}
}

// The checks find what they are for: a page that has every fault is told each of them.
func TestChecksFind(t *testing.T) {
	if !full() {
		return
	}
	file, err := filepath.Abs("testdata/faulty.html")
	must(t, err)
	b := open(t, chromium(t), file)
	wrong, _ := b.check(file, "faulty", axe(t))
	for _, want := range []string{
		"policy: ", "page: title: none", "page: lang: ", "page: style attribute: ", "page: element: script", "page: handler: onclick", "page: address: http://192.0.2.1/", "page: svg: no role", "page: img: no alt",
		"page: table: no column headers", "page: headings: h3 after h1", "page: id twice: twice", "page: link to nothing: #nothing", "light desk: contrast ", "dark phone: contrast ", "light desk: line ", "light phone: target ",
		"axe color-contrast", "axe image-alt", "320 px: reflow: ", "print: box 5.5 x 5.5 mm", "print: type 6.0 pt", "print: cut off: div.short",
	} {
		if !slices.ContainsFunc(wrong, func(w string) bool { return strings.Contains(w, want) }) {
			t.Errorf("nothing says %q", want)
		}
	}
	if t.Failed() {
		t.Log(strings.Join(wrong, "\n"))
	}
}
