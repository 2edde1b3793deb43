package paper

import (
	"encoding/base64"
	"html/template"
)

// Para is a paragraph.
type Para struct{ Text Text }

// Facts is a list of names and what each is.
type Facts struct{ Items []Fact }

// Fact is one of them. Big ones are read first.
type Fact struct {
	Name   string
	Values []Text
	Big    bool
}

// List is a list of short lines.
type List struct {
	Items    []Text
	Numbered bool
}

// Notice is what must be read before the rest: cautions, what is not proved.
type Notice struct {
	Title string
	Lines []Text
	Grave bool // life or limb
}

// Table is rows under headings. On a narrow screen each row becomes a list of its own, so no reader has to scroll sideways.
type Table struct {
	Caption string
	Columns []Column
	Rows    []Row
	Foot    string // a line under it
	// Fold hides the rows behind this line, on the screen until it is opened, in print for good; "" shows them.
	Fold string
	// Printed shows the rows of a Fold in print all the same, where the browser can open it there; else a line says where they are.
	Printed bool
	// Screen leaves it out in print: the print says the same elsewhere.
	Screen bool
}

// Contents links to sections of the page, on the screen only: a print has no use for it.
type Contents struct{ Items []Link }

// Link is one of them.
type Link struct{ ID, Title string } // ID is a Section's

// PrintOnly is a paragraph for paper: what the screen shows in a list to open.
type PrintOnly struct{ Text Text }

// Column is a heading.
type Column struct {
	Title  string
	Number bool // set to the right
	Narrow bool // takes no more room than its words
}

// Row has a cell a column. The first names the row.
type Row struct{ Cells []Text }

// Sources lists entries, so that other parts of the page can link to them.
type Sources struct {
	Caption string
	Entries []Source
	Fold    string // as Table.Fold
}

// Source is an entry: when it was done and written, by whom, what it says.
type Source struct {
	ID      string // whole
	Done    string
	Written string
	Who     string
	Says    string
}

// Short is the id as it is shown.
func (s Source) Short() string { return short(s.ID) }

// Commands are lines to type.
type Commands struct{ Lines []string }

// Steps are numbered, each with the lines to type for it.
type Steps struct{ Items []Step }

// Step is one of them.
type Step struct {
	Text  Text
	Lines []string // none: nothing to type
}

// Photo is room for a picture: where the book holds none, a reader pastes one on.
type Photo struct{ Label string }

// Pictures are photos, each with its words under it.
type Pictures struct{ Items []Picture }

// Picture is one photo. It stands in the page itself, which loads nothing.
type Picture struct {
	JPEG          []byte
	Width, Height int
	About         string // what it shows, for who cannot see it too
	Under         Text
}

// URL is the photo as an address. Its bytes are encoded to letters and digits, so none of them can end it.
func (p Picture) URL() template.URL {
	return template.URL("data:image/jpeg;base64," + base64.StdEncoding.EncodeToString(p.JPEG))
}

// Figure is a drawing with the same numbers in a table under it.
type Figure struct {
	Title string // what it shows
	About string // what can be read from it, in a sentence: for who cannot see it too
	Chart Chart
}

func (Para) template() string      { return "para" }
func (Facts) template() string     { return "facts" }
func (List) template() string      { return "list" }
func (Notice) template() string    { return "notice" }
func (Table) template() string     { return "table" }
func (Sources) template() string   { return "sources" }
func (Contents) template() string  { return "contents" }
func (PrintOnly) template() string { return "printonly" }
func (Commands) template() string  { return "commands" }
func (Steps) template() string     { return "steps" }
func (Photo) template() string     { return "photo" }
func (Pictures) template() string  { return "pictures" }
func (Figure) template() string    { return "figure" }
