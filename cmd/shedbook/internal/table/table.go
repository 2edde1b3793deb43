package table

import (
	"strconv"
	"strings"
)

const (
	gap       = 2  // blanks between columns
	narrowest = 60 // below this width records are stacked
	leastText = 10 // a column is not wrapped to less than this
	longest   = 60 // a word longer than this is broken rather than have the table stacked
)

// Table is rows under headings.
type Table struct {
	headings []string
	right    []bool
	keep     []bool
	rows     [][]string
	under    map[int][]string
	mark     func(row, col int, text string) string
}

// New begins a table. A column without a heading is allowed; a column whose cells are all empty is left out when the table is printed.
func New(headings ...string) *Table {
	return &Table{headings: headings, right: make([]bool, len(headings)), keep: make([]bool, len(headings))}
}

// Right aligns columns to the right, as numbers are. They are not wrapped.
func (t *Table) Right(cols ...int) {
	for _, c := range cols {
		t.right[c], t.keep[c] = true, true
	}
}

// Keep says that columns are not to be wrapped: dates, ids.
func (t *Table) Keep(cols ...int) {
	for _, c := range cols {
		t.keep[c] = true
	}
}

// Mark has f look at each piece of text of a cell when it is printed; what f puts around it counts for no width. Row is counted from 0, -1 for headings.
func (t *Table) Mark(f func(row, col int, text string) string) { t.mark = f }

// Row adds a row. Cells are cleaned; missing ones are empty.
func (t *Table) Row(cells ...string) {
	row := make([]string, len(t.headings))
	for i := range row {
		if i < len(cells) {
			row[i] = strings.TrimSpace(Clean(cells[i]))
		}
	}
	t.rows = append(t.rows, row)
}

// Under puts a line of text across the whole width below the last row; it is cleaned and wrapped as cells are.
func (t *Table) Under(text string) {
	if text = strings.TrimSpace(Clean(text)); text == "" || len(t.rows) == 0 {
		return
	}
	if t.under == nil {
		t.under = map[int][]string{}
	}
	t.under[len(t.rows)-1] = append(t.under[len(t.rows)-1], text)
}

// Len counts the rows.
func (t *Table) Len() int { return len(t.rows) }

// Text is the table for a width: aligned columns, the widest wrapped where they do not fit, or stacked "heading: cell" records where the width is under
// 60 columns or columns cannot be made to fit. Every line ends in a line end; a table without rows is "".
func (t *Table) Text(width int) string {
	if len(t.rows) == 0 {
		return ""
	}
	cols := t.used()
	widths, ok := t.fit(cols, width)
	if width < narrowest || !ok {
		return t.stacked(cols, width)
	}
	var b strings.Builder
	if strings.Join(t.headings, "") != "" {
		t.line(&b, -1, t.headings, cols, widths)
	}
	for i, row := range t.rows {
		t.line(&b, i, row, cols, widths)
		t.below(&b, i, width, "    ")
	}
	return b.String()
}

// used are the columns that have something in them.
func (t *Table) used() []int {
	var cols []int
	for c := range t.headings {
		for _, row := range t.rows {
			if row[c] != "" {
				cols = append(cols, c)
				break
			}
		}
	}
	return cols
}

// fit finds a width for each used column: its natural one, or less for the widest ones that may be wrapped.
func (t *Table) fit(cols []int, width int) ([]int, bool) {
	widths, least, natural := make([]int, len(cols)), make([]int, len(cols)), make([]int, len(cols))
	total := gap * (len(cols) - 1)
	for i, c := range cols {
		for _, cell := range append([]string{t.headings[c]}, t.column(c)...) {
			widths[i] = max(widths[i], Width(cell))
			for _, word := range strings.Fields(cell) {
				least[i] = max(least[i], min(Width(word), longest))
			}
		}
		natural[i] = widths[i]
		least[i] = max(least[i], min(widths[i], leastText))
		if t.keep[c] {
			least[i] = widths[i]
		}
		total += widths[i]
	}
	for total > width {
		widest := -1
		for i := range cols {
			if widths[i] > least[i] && (widest < 0 || widths[i] > widths[widest]) {
				widest = i
			}
		}
		if widest < 0 {
			return nil, false
		}
		widths[widest]--
		total--
	}
	t.tidy(cols, widths, natural, width-total)
	return widths, true
}

// tidy takes from wrapped columns what their lines do not fill, and gives it to columns that then need no wrapping, those that lack least first.
func (t *Table) tidy(cols, widths, natural []int, spare int) {
	for i, c := range cols {
		if widths[i] == natural[i] {
			continue
		}
		filled := 0
		for _, cell := range append([]string{t.headings[c]}, t.column(c)...) {
			for _, l := range lines(cell, widths[i], "", "") {
				filled = max(filled, Width(l))
			}
		}
		spare += widths[i] - filled
		widths[i] = filled
	}
	for {
		least := -1
		for i := range cols {
			if lack := natural[i] - widths[i]; lack > 0 && lack <= spare && (least < 0 || lack < natural[least]-widths[least]) {
				least = i
			}
		}
		if least < 0 {
			return
		}
		spare -= natural[least] - widths[least]
		widths[least] = natural[least]
	}
}

func (t *Table) column(c int) []string {
	out := make([]string, len(t.rows))
	for i, row := range t.rows {
		out[i] = row[c]
	}
	return out
}

// line writes one row, as many lines as its highest cell needs.
func (t *Table) line(b *strings.Builder, row int, cells []string, cols, widths []int) {
	wrapped, height := make([][]string, len(cols)), 1
	for i, c := range cols {
		wrapped[i] = lines(cells[c], widths[i], "", "")
		height = max(height, len(wrapped[i]))
	}
	for l := range height {
		blanks := 0
		for i, c := range cols {
			text := ""
			if l < len(wrapped[i]) {
				text = wrapped[i][l]
			}
			pad := widths[i] - Width(text)
			if t.right[c] {
				blanks += pad
				pad = 0
			}
			if text != "" {
				b.WriteString(strings.Repeat(" ", blanks) + t.marked(row, c, text))
				blanks = 0
			}
			blanks += pad + gap
		}
		b.WriteByte('\n')
	}
}

// stacked writes records one below the other, a blank line between them.
func (t *Table) stacked(cols []int, width int) string {
	var b strings.Builder
	for i, row := range t.rows {
		if i > 0 {
			b.WriteByte('\n')
		}
		for _, c := range cols {
			if row[c] == "" {
				continue
			}
			text := row[c]
			if t.headings[c] != "" {
				text = t.headings[c] + ": " + text
			}
			for _, l := range lines(text, width, "", "  ") {
				b.WriteString(t.marked(i, c, l))
				b.WriteByte('\n')
			}
		}
		t.below(&b, i, width, "")
	}
	return b.String()
}

// below writes what stands under a row.
func (t *Table) below(b *strings.Builder, row, width int, margin string) {
	for _, text := range t.under[row] {
		for _, l := range lines(text, width, margin, margin+"  ") {
			b.WriteString(l)
			b.WriteByte('\n')
		}
	}
}

func (t *Table) marked(row, col int, text string) string {
	if t.mark == nil {
		return text
	}
	return t.mark(row, col, text)
}

// Int is a whole number as the program writes it everywhere: without thousands marks, as it may be typed back.
func Int(n int) string { return strconv.Itoa(n) }
