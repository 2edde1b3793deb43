package browser

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"shedbook/cmd/shedbook/internal/paper"
)

// sheets is how many printed sheets a page may take, on Letter and on A4 alike.
type sheets struct{ least, most int }

// pages is every kind of page that is looked at. A new command that writes HTML gets a line.
var pages = []struct {
	name   string
	args   string // shedbook's; "" a page of the blocks themselves
	sheets sheets
	says   string // on the first sheet
	filled int    // hundredths of each sheet but the last that are used at least; 0: sheets begin where they must
}{
	{name: "blocks", sheets: sheets{6, 9}, says: "every block"},
	{name: "jobcard", args: "jobcard drill", sheets: sheets{6, 14}, says: "job card"},
	{name: "jobcard-yard", args: "jobcard --yard home", sheets: sheets{8, 17}, says: "the most pressing first"},
	{name: "pocket", args: "jobcard drill --pocket", sheets: sheets{1, 2}, says: "pocket card"},
	{name: "wall", args: "jobcard drill --wall", sheets: sheets{2, 5}, says: "wall chart"},
	{name: "salefile", args: "salefile drill", sheets: sheets{8, 16}, says: "drill"},
	{name: "compare", args: "compare drill 2026-04-15 2026-05-20", sheets: sheets{4, 7}, says: "2026-04-15 beside 2026-05-20", filled: 75},
	{name: "compare-seasons", args: `compare drill "spring seeding 2025" "spring seeding 2026"`, sheets: sheets{3, 6}, says: "spring seeding 2025 beside spring seeding 2026", filled: 75},
}

// stage is a folder with shedbook built and the demo book in it.
type stage struct{ dir, program, book string }

func newStage(t *testing.T) stage {
	t.Helper()
	dir := t.TempDir()
	s := stage{dir, filepath.Join(dir, "shedbook"), filepath.Join(dir, "demo")}
	if out, err := exec.Command("go", "build", "-o", s.program, "shedbook/cmd/shedbook").CombinedOutput(); err != nil {
		t.Fatalf("go build: %v\n%s", err, out)
	}
	s.run(t, "demo", s.book)
	return s
}

func (s stage) run(t *testing.T, args ...string) {
	t.Helper()
	cmd := exec.Command(s.program, args...)
	cmd.Dir = s.dir
	cmd.Env = append(os.Environ(), "SHEDBOOK_CONFIG="+filepath.Join(s.dir, "config"), "SHEDBOOK_BOOK="+s.book, "COLUMNS=80")
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("shedbook %s: %v\n%s", strings.Join(args, " "), err, out)
	}
}

// write writes a page of the table and returns its file.
func (s stage) write(t *testing.T, name, args string) string {
	t.Helper()
	file := filepath.Join(s.dir, name+".html")
	if args == "" {
		var b bytes.Buffer
		must(t, blocks().Write(&b))
		must(t, os.WriteFile(file, b.Bytes(), 0o644))
		return file
	}
	s.run(t, append(words(args), "--out", file)...)
	return file
}

// words are those of a line as a shell takes them, double quotes around names of several words.
func words(line string) (out []string) {
	for i, part := range strings.Split(line, `"`) {
		if i%2 == 1 {
			out = append(out, part)
		} else {
			out = append(out, strings.Fields(part)...)
		}
	}
	return out
}

const (
	longName = "left-wing-front-rank-of-the-big-air-drill-that-came-from-the-sale"
	longNote = "hub of opener 23 ran hot on the headland, shimmed and greased, to be looked at again before the winter wheat; the seal had let dust in"
)

// blocks is a page with each block in it, with words as long as people make them.
func blocks() *paper.Page {
	id := func(c string) string { return strings.Repeat(c, 64) }
	note := paper.Say(longNote, id("a"), id("b"), id("c"), id("d"))
	marks := []paper.Text{}
	for _, k := range []paper.MarkKind{paper.Stop, paper.Late, paper.Watch, paper.Fine, paper.Plain} {
		marks = append(marks, paper.Text{Words: "what a mark stands before", Mark: paper.Mark{Kind: k, Word: "a mark: " + string(k)}, From: []string{id("a")}})
	}
	table := paper.Table{Caption: "discs", Columns: []paper.Column{{Title: "opener", Narrow: true}, {Title: "reach", Number: true}, {Title: "note"}}, Foot: "a line under it"}
	sources := paper.Sources{Caption: "entries", Fold: "the entries"}
	for i := range 40 {
		table.Rows = append(table.Rows, paper.Row{Cells: []paper.Text{paper.Say(fmt.Sprint("opener ", i+1)), paper.Say("5.25 in"), note}})
		sources.Entries = append(sources.Entries, paper.Source{ID: fmt.Sprintf("%x", i%16) + strings.Repeat(fmt.Sprintf("%x", i/16), 63), Done: "2026-04-01", Written: "2026-04-02", Who: "Wren Alder", Says: longNote})
	}
	table.Rows[3].Cells[1] = paper.Text{Words: "4.9 in", Mark: paper.Mark{Kind: paper.Late, Word: "worn"}}
	folded := table
	folded.Fold, folded.Caption = "the same, folded", "folded"
	p := &paper.Page{Title: "every block", Kind: "a page of blocks", Running: "every block, 2026-10-02", Under: []paper.Text{paper.Say("what stands under the title"), paper.Say(longName)}, Foot: []paper.Text{paper.Say("the last line")},
		Sections: []paper.Section{
			{ID: "words", Title: "Words", Note: "a note", Blocks: []paper.Block{
				paper.Para{Text: note}, paper.List{Items: marks}, paper.List{Items: marks[:2], Numbered: true},
				paper.Facts{Items: []paper.Fact{{Name: "use", Values: []paper.Text{paper.Say("2,450 ac"), paper.Say("of which 320 this season")}, Big: true}, {Name: longName, Values: []paper.Text{note}}, {Name: "yard", Values: []paper.Text{paper.Say("home")}}}},
				paper.Notice{Title: "Before you begin", Grave: true, Lines: []paper.Text{paper.Say("Lower it, or block it; stop the engine, take the key."), note}}, paper.Notice{Title: "Not proved", Lines: []paper.Text{note}},
			}},
			{ID: "tables", Title: "Tables", NewSheet: true, Blocks: []paper.Block{table, folded, sources}},
			{ID: "lines", Title: "Lines to type, a picture", Whole: true, Blocks: []paper.Block{paper.Commands{Lines: []string{"shedbook audit --evidence drill-sale-file.evidence --stamp FILE-WITH-A-LONG-NAME.txt", "shedbook " + longName}}, paper.Photo{Label: "left side, standing behind it"}}},
		}}
	for _, f := range figures() {
		p.Sections[2].Blocks = append(p.Sections[2].Blocks, f)
	}
	return p
}

// figures draws each chart with made-up numbers.
func figures() []paper.Figure {
	none := math.NaN()
	counter := paper.CounterLine{Name: "area", Unit: "ac", OnDay: "2026-10-02", OnValue: 2450, Seasons: []paper.Band{{Name: "spring 2025", From: "2025-04-03", To: "2025-05-22"}, {Name: "spring 2026", From: "2026-04-01"}}}
	left := paper.Left{What: "disc", Ends: "5 in"}
	wear := paper.WearLines{What: "disc", Unit: "in", UseUnit: "ac", Limit: 5.25, LimitSays: "limit 5.25 in", Ahead: []paper.WearAhead{{Use: 1000, Low: 5.40, Likely: 5.43, High: 5.46}, {Use: 1500, Low: 5.18, Likely: 5.27, High: 5.35}}}
	places := paper.Places{What: "depth", Series: []paper.PlaceSeries{{Name: "spring 2025"}, {Name: "spring 2026"}}}
	for i := range 30 {
		counter.Points = append(counter.Points, paper.CounterDot{Day: fmt.Sprintf("%d-%02d-15", 2024+i/12, 1+i%12), Value: float64(i) * 80, Face: fmt.Sprint(i*80, " ac"), Gap: i == 20})
	}
	for r := range 2 {
		lefts, values := paper.LeftRow{Name: []string{"front rank", "rear rank"}[r]}, paper.PlaceRow{Name: []string{"front rank", "rear rank"}[r]}
		for i := range 24 {
			n, share := fmt.Sprint(1+2*i+r), .9-.03*float64((i*7)%24)
			bar := paper.LeftBar{Label: n, Share: share, Low: share - .22, High: share - .08, Size: "5.4 in", Day: "2026-04-02", Today: share - .05, Change: share < .22}
			if i == 5 {
				bar.Share, bar.Low, bar.High = none, none, none
			}
			v := paper.PlaceValue{Label: n, Values: []float64{6, 6}, Says: []string{"6", "6"}}
			if i == 8 {
				v.Values[1], v.Says[1], v.Odd = 8, "8", true
			}
			lefts.Places, values.Places = append(lefts.Places, bar), append(values.Places, v)
			part := paper.WearPart{Label: "opener " + n, Strong: i == 3 || i == 9}
			for k := range 4 {
				part.Dots = append(part.Dots, paper.WearDot{Use: float64(k) * 330, Size: 6 - float64(k)*(.14+.01*float64(i%5))})
			}
			wear.Parts = append(wear.Parts, part)
		}
		left.Rows, places.Rows = append(left.Rows, lefts), append(places.Rows, values)
	}
	kept := paper.Kept{Seasons: []paper.KeptSeason{{Name: "spring 2025", OnTime: 31, Late: 4, Missed: 2}, {Name: "spring 2026", OnTime: 22, Late: 1, NotJudged: 9}}}
	var out []paper.Figure
	for i, c := range []paper.Chart{counter, left, wear, kept, places} {
		out = append(out, paper.Figure{Title: []string{"Use", "What is left of the discs", "Wear", "Services kept", "Depth"}[i], About: "what can be read from it, in a sentence.", Chart: c})
	}
	return out
}
