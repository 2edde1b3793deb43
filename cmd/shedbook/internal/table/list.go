package table

import "strings"

const (
	margin      = 2  // blanks before a line of a section
	leastRemark = 20 // a remark beside the cells is not wrapped or cut to less than this
)

// List is lines under section headings: a few short cells and a remark each, laid out in as few lines of text as the width allows.
type List struct {
	labels []string // of the cells, then of the remark; said where lines are stacked
	lines  []listLine
	mark   func(line, cell int, text string) string
}

type listLine struct {
	section string // the heading above it, "" where the section goes on
	cells   []string
	remark  string
	cut     bool
	under   []string
}

// NewList begins a list. Labels name the cells and, last, the remark. A column whose cells are all empty is left out.
func NewList(labels ...string) *List { return &List{labels: labels} }

// Mark has f look at each piece of text of a cell when it is printed, as Table.Mark does; cell is -1 for the heading above the line.
func (l *List) Mark(f func(line, cell int, text string) string) { l.mark = f }

// Line adds a line. A section that is not that of the line before is begun. Texts are cleaned.
func (l *List) Line(section, remark string, cells ...string) {
	row := listLine{section: clean(section), remark: clean(remark), cells: make([]string, len(l.labels)-1)}
	for i := range row.cells {
		if i < len(cells) {
			row.cells[i] = clean(cells[i])
		}
	}
	l.lines = append(l.lines, row)
}

// MayCut says that the remark of the last line may be cut short, with "..." to say so, where that saves a line.
func (l *List) MayCut() { l.lines[len(l.lines)-1].cut = true }

// Under puts text across the whole width below the last line.
func (l *List) Under(text string) {
	if text = clean(text); text != "" {
		last := &l.lines[len(l.lines)-1]
		last.under = append(last.under, text)
	}
}

// Len counts the lines added.
func (l *List) Len() int { return len(l.lines) }

func clean(s string) string { return strings.TrimSpace(Clean(s)) }

// layout is how wide the cells are and how far apart, and whether the remark stands below them.
type layout struct {
	cols   []int // those with something in them
	widths []int
	gap    int
	remark int // its width
	below  bool
}

// Text is the list for a width. Under 60 columns every cell has a line of its own.
func (l *List) Text(width int) string {
	if len(l.lines) == 0 {
		return ""
	}
	var b strings.Builder
	if width < narrowest {
		l.stacked(&b, width)
		return b.String()
	}
	lay := l.best(width)
	section := ""
	for i := range l.lines {
		row := &l.lines[i]
		l.heading(&b, i, &section, width)
		l.columns(&b, i, &lay)
		if lay.below {
			l.wrapped(&b, i, len(row.cells), row.remark, width, 2*margin)
		}
		for _, text := range row.under {
			l.wrapped(&b, i, -2, text, width, 2*margin)
		}
	}
	return b.String()
}

// best finds the layout with the fewest lines: of those alike in that, the one that wraps no cell, with the wider gap, beside rather than below.
func (l *List) best(width int) layout {
	var cols, natural []int
	for c := range len(l.labels) - 1 {
		w := 0
		for i := range l.lines {
			if text := l.lines[i].cells[c]; text != "" {
				w = max(w, 1, Width(text)) // a combining mark alone has no width of its own
			}
		}
		if w > 0 {
			cols, natural = append(cols, c), append(natural, w)
		}
	}
	var best layout
	fewest := -1
	try := func(below bool, gap, last int) {
		lay := layout{cols: cols, widths: append([]int(nil), natural...), gap: gap, below: below}
		room := width - margin
		if n := len(cols); n > 0 {
			lay.widths[n-1] = last
			for i := range cols {
				room -= lay.widths[i] + gap
			}
		}
		if below {
			room += gap
			lay.remark = width - 2*margin
		} else {
			lay.remark = room
		}
		if below && room < 0 || !below && room < leastRemark {
			return
		}
		if n := l.count(&lay); fewest < 0 || n < fewest {
			best, fewest = lay, n
		}
	}
	last := 0
	if n := len(natural); n > 0 {
		last = natural[n-1]
	}
	for _, below := range []bool{false, true} {
		for _, gap := range []int{gap, 1} {
			for w := last; w >= min(last, leastText); w-- {
				if w == l.filled(cols, w) {
					try(below, gap, w)
				}
			}
		}
	}
	if fewest < 0 { // no room for the cells themselves
		lay := layout{cols: cols, widths: natural, gap: 1, below: true}
		for i := range lay.widths {
			lay.widths[i] = min(lay.widths[i], max(1, (width-margin)/len(cols)-1))
		}
		return lay
	}
	return best
}

// filled is how much of a width the cells of the last column fill once they are wrapped to it.
func (l *List) filled(cols []int, width int) int {
	filled := 0
	for i := range l.lines {
		if n := len(cols); n > 0 {
			text := l.lines[i].cells[cols[n-1]]
			if len(text) <= width && plain(text) {
				filled = max(filled, len(oneBlank(text)))
				continue
			}
			for _, t := range lines(text, width, "", "") {
				filled = max(filled, Width(t))
			}
		}
	}
	return filled
}

// count is how many lines of text the lines take in a layout, what is under them aside.
func (l *List) count(lay *layout) int {
	n := 0
	for i := range l.lines {
		n += l.height(i, lay)
		if lay.below && l.lines[i].remark != "" {
			n += height(l.lines[i].remark, lay.remark, "  ")
		}
	}
	return n
}

func (l *List) height(i int, lay *layout) int {
	h := 1
	for k, c := range lay.cols {
		h = max(h, height(l.lines[i].cells[c], lay.widths[k], ""))
	}
	if !lay.below {
		h = max(h, height(l.remark(i, lay), lay.remark, ""))
	}
	return h
}

// remark is a line's remark as it stands beside the cells.
func (l *List) remark(i int, lay *layout) string {
	if l.lines[i].cut {
		return Cut(l.lines[i].remark, lay.remark)
	}
	return l.lines[i].remark
}

// columns writes the cells of a line, and the remark where it stands beside them.
func (l *List) columns(b *strings.Builder, i int, lay *layout) {
	type column struct {
		cell, width int
		text        []string
	}
	var all []column
	for k, c := range lay.cols {
		all = append(all, column{c, lay.widths[k], lines(l.lines[i].cells[c], lay.widths[k], "", "")})
	}
	if !lay.below {
		all = append(all, column{len(l.labels) - 1, lay.remark, lines(l.remark(i, lay), lay.remark, "", "")})
	}
	for n := range l.height(i, lay) {
		blanks := margin
		for _, c := range all {
			text := ""
			if n < len(c.text) {
				text = c.text[n]
			}
			if text != "" {
				b.WriteString(strings.Repeat(" ", blanks) + l.marked(i, c.cell, text))
				blanks = 0
			}
			blanks += c.width - Width(text) + lay.gap
		}
		b.WriteByte('\n')
	}
}

// heading writes the heading of a line that begins a section.
func (l *List) heading(b *strings.Builder, i int, section *string, width int) {
	if text := l.lines[i].section; text != *section {
		*section = text
		l.wrapped(b, i, -1, text, width, 0)
	}
}

func (l *List) wrapped(b *strings.Builder, i, cell int, text string, width, by int) {
	if text == "" {
		return
	}
	blanks := strings.Repeat(" ", by)
	for _, t := range lines(text, width, blanks, blanks+"  ") {
		at := len(t) - len(strings.TrimLeft(t, " "))
		b.WriteString(t[:at] + l.marked(i, cell, t[at:]))
		b.WriteByte('\n')
	}
}

// stacked writes "label: cell" lines, the bare cell where the column has no label, a blank line between two lines of a section.
func (l *List) stacked(b *strings.Builder, width int) {
	section := ""
	for i := range l.lines {
		row := &l.lines[i]
		if i > 0 {
			b.WriteByte('\n')
		}
		l.heading(b, i, &section, width)
		for c, text := range append(append([]string(nil), row.cells...), row.remark) {
			if text != "" {
				if l.labels[c] != "" {
					text = l.labels[c] + ": " + text
				}
				l.wrapped(b, i, c, text, width, 0)
			}
		}
		for _, text := range row.under {
			l.wrapped(b, i, -2, text, width, 0)
		}
	}
}

func (l *List) marked(line, cell int, text string) string {
	if l.mark == nil || cell < -1 {
		return text
	}
	return l.mark(line, cell, text)
}

// Cut is text that takes no more than width columns: whole, or its first words and "...".
func Cut(s string, width int) string {
	s = oneBlank(s)
	if Width(s) <= width {
		return s
	}
	out := ""
	for _, word := range strings.Fields(s) {
		if Width(out)+Width(word)+len(" ...") > width {
			break
		}
		out += word + " "
	}
	if out == "" {
		head, _ := cut(s, max(1, width-len("...")))
		return head + "..."
	}
	return out + "..."
}

// oneBlank is text with one blank between words.
func oneBlank(s string) string {
	if plain(s) && !strings.Contains(s, "  ") && strings.Trim(s, " ") == s {
		return s
	}
	return strings.Join(strings.Fields(s), " ")
}
