// Package paper turns results into pages that people look at rather than read from a terminal: the sale file, job cards, wall charts, comparisons of
// seasons. It lays out and draws; what is so of a machine comes in as words, numbers and the ids of the entries they rest on.
//
// A page is one HTML file that needs nothing else: no script, no font, no picture from outside, a content security policy that allows none of it
// (https://www.w3.org/TR/CSP3/), light and dark by the reader's own setting, and print on Letter and A4 alike. The same Page gives the same bytes.
//
// What comes in is a person's text, or a stranger's. It is escaped by html/template in every place it stands; none of it reaches a style, a script, an
// address or an id; control and direction characters that could make a line read otherwise are written out (\u{202e}) wherever they stand.
//
// A page is a list of sections, a section a list of blocks. Each block has a template of its own name beside its Go file. Nothing is said by colour
// alone: a Mark has a word and a shape (WCAG 2.2, 1.4.1).
package paper

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"slices"
	"strings"
)

// Page is one document.
type Page struct {
	Title    string // "drill: sale file"
	Kind     string // the word above the title: "sale file", "job card"
	Under    []Text // lines under the title: what, where, of which day
	Running  string // stands at the head of each printed sheet: machine, day, book; "" for none
	Large    bool   // lettered to be read from across a room
	Print    bool   // made to be printed and written on: black on white on the screen too
	Sections []Section
	Foot     []Text // last lines of the document

	listed map[string]bool // entries that a Sources block of this page lists, so that they can be linked to
	drawn  int             // charts so far: their parts are named by it
}

// Section is a part of a page under one heading.
type Section struct {
	ID       string // of our own making ("wrong-today"), never a person's text; other parts of the page link to it
	Title    string
	Note     string // a line under the heading
	NewSheet bool   // begins on a new sheet when printed
	Whole    bool   // is kept on one sheet when printed, if it fits
	Blocks   []Block
}

// Block is something that stands in a section. Its template has the block itself as its data.
type Block interface {
	template() string
}

//go:embed *.tmpl *.css
var files embed.FS

// style is every style sheet of the package, in the order of their names: one text, so that one digest covers it.
var style = func() string {
	names, _ := fs.Glob(files, "*.css")
	slices.Sort(names)
	var b strings.Builder
	for _, n := range names {
		text, err := files.ReadFile(n)
		if err != nil {
			panic(err) // embedded
		}
		b.Write(text)
	}
	return b.String()
}()

// policy is what a page may do: show itself in its own style.
func policy() string {
	sum := sha256.Sum256([]byte(style))
	return "default-src 'none'; style-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'; img-src data:; base-uri 'none'; form-action 'none'"
}

// templates are parsed once. What depends on the page is bound for each page to a copy.
var templates = template.Must(template.New("").Funcs((&Page{}).funcs(nil)).ParseFS(files, "*.tmpl"))

func (p *Page) funcs(t *template.Template) template.FuncMap {
	return template.FuncMap{
		"draw": func(b Block) (template.HTML, error) {
			var out bytes.Buffer
			err := t.ExecuteTemplate(&out, b.template(), b)
			return template.HTML(out.String()), err // of our own templates, which escape
		},
		"refs":     p.refs,
		"drawings": p.drawings,
		"style":    func() template.CSS { return template.CSS(style) },
		"policy":   policy,
	}
}

// Write writes the page. It fails only as w does, or where a block's template does not fit its block.
func (p *Page) Write(w io.Writer) error {
	text, err := p.laid("page")
	if err == nil {
		_, err = w.Write(text)
	}
	return err
}

// Inner is what stands between head and foot of the page, to be shown within another page that has the style sheet of Style.
func (p *Page) Inner() (template.HTML, error) {
	text, err := p.laid("inner")
	return template.HTML(text), err // of our own templates, which escape
}

// Style is the style sheet of every page.
func Style() []byte { return []byte(style) }

func (p *Page) laid(name string) ([]byte, error) {
	p.listed, p.drawn = map[string]bool{}, 0
	for _, s := range p.Sections {
		for _, b := range s.Blocks {
			if l, ok := b.(Sources); ok {
				for _, e := range l.Entries {
					p.listed[e.ID] = true
				}
			}
		}
	}
	t, err := templates.Clone()
	if err != nil {
		return nil, fmt.Errorf("page %q: %w", p.Title, err)
	}
	t.Funcs(p.funcs(t))
	var out bytes.Buffer
	if err := t.ExecuteTemplate(&out, name, p); err != nil {
		return nil, fmt.Errorf("page %q: %w", p.Title, err)
	}
	return visible(out.Bytes()), nil
}
