package intake

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"strings"

	"shedbook/cmd/shedbook/internal/csvfile"
)

// Table is a file of rows and columns.
type Table struct {
	Heading   []string // empty where the file has none
	Columns   int
	Separator rune
	Rows      []Row
}

// Row is one row, its cells without blanks around them. One whose number of cells is not that of the table has Wrong set.
type Row struct {
	Line  int
	Cells []string
	Wrong string
}

// Separators are what stands between cells, in the order in which they are thought of.
var Separators = []rune{',', ';', '\t', '|'}

// ReadTable reads a table. separator 0: the one that stands oftenest in the first row, outside quotes. Rows of nothing are left out. Quotes are read
// as RFC 4180 has them; a quote that does not end, or stands in the middle of a cell without quotes, refuses the file.
func ReadTable(data []byte, separator rune, heading bool) (*Table, error) {
	data, err := text(data)
	if err != nil {
		return nil, err
	}
	data = lineEnds(data)
	t := &Table{Separator: separator}
	if separator == 0 {
		t.Separator = separatorOf(data)
	}
	in := csv.NewReader(bytes.NewReader(data))
	in.Comma, in.FieldsPerRecord, in.ReuseRecord = t.Separator, -1, true
	first := true
	for {
		cells, err := in.Read()
		if err == io.EOF {
			break
		}
		var pe *csv.ParseError
		switch {
		case errors.As(err, &pe):
			if errors.Is(pe.Err, csv.ErrQuote) {
				return nil, refuse(pe.StartLine, "the quotes of a cell in the row that begins here do not end as they should")
			}
			return nil, refuse(pe.Line, "column %d: a quote stands in the middle of a cell: a cell that holds one is put in quotes, and the quote doubled", pe.Column)
		case err != nil:
			return nil, refuse(0, "%v", err)
		}
		line, _ := in.FieldPos(0)
		if len(cells) > mostCells {
			return nil, refuse(line, "%d columns, at most %d are read", len(cells), mostCells)
		}
		row := Row{Line: line, Cells: make([]string, len(cells))}
		blank := true
		for i, c := range cells {
			row.Cells[i] = csvfile.Plain(strings.TrimSpace(c))
			blank = blank && row.Cells[i] == ""
		}
		if blank {
			continue
		}
		if first {
			first, t.Columns = false, len(cells)
			if heading {
				t.Heading = row.Cells
				continue
			}
		}
		if len(cells) != t.Columns {
			row.Wrong = wrongColumns(len(cells), t.Columns)
		}
		if len(t.Rows) == MostRows {
			return nil, refuse(line, "it has more than %d rows: import it in parts", MostRows)
		}
		t.Rows = append(t.Rows, row)
	}
	if first {
		return nil, refuse(0, "it is empty")
	}
	return t, nil
}

func wrongColumns(n, want int) string {
	return "it has " + plural(n) + ", the first row has " + plural(want)
}

// lineEnds makes the line ends of old programs (CR alone) such as are read; those with LF are left as they are.
func lineEnds(data []byte) []byte {
	if bytes.IndexByte(data, '\n') < 0 {
		return bytes.ReplaceAll(data, []byte("\r"), []byte("\n"))
	}
	return data
}

func separatorOf(data []byte) rune {
	counts, quoted := map[rune]int{}, false
	for _, r := range string(data[:min(len(data), 64<<10)]) {
		if r == '"' {
			quoted = !quoted
		}
		if quoted {
			continue
		}
		if r == '\n' && len(counts) > 0 {
			break
		}
		for _, s := range Separators {
			if r == s {
				counts[s]++
			}
		}
	}
	best := Separators[0]
	for _, s := range Separators {
		if counts[s] > counts[best] {
			best = s
		}
	}
	return best
}
