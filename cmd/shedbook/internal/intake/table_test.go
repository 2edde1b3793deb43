package intake

import (
	"encoding/json"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// The examples of RFC 4180, section 2. A line end inside quotes is read as LF.
func TestTableRFC4180(t *testing.T) {
	text, err := os.ReadFile("testdata/rfc4180_cases.json")
	if err != nil {
		t.Fatal(err)
	}
	var cases []struct {
		Rule, CSV string
		Rows      [][]string
	}
	if err := json.Unmarshal(text, &cases); err != nil || len(cases) != 5 {
		t.Fatal(len(cases), err)
	}
	for _, c := range cases {
		table, err := ReadTable([]byte(c.CSV), 0, false)
		if err != nil {
			t.Errorf("%s: %v", c.Rule, err)
			continue
		}
		for i, row := range table.Rows {
			for j, cell := range row.Cells {
				if want := strings.ReplaceAll(c.Rows[i][j], "\r\n", "\n"); cell != want {
					t.Errorf("%s: row %d, cell %d is %q, want %q", c.Rule, i, j, cell, want)
				}
			}
		}
		if len(table.Rows) != len(c.Rows) {
			t.Errorf("%s: %d rows", c.Rule, len(table.Rows))
		}
	}
}

// Law: how a spreadsheet saves a table (separator, line ends, byte order mark, quotes everywhere) changes nothing of what is read.
func TestTableHoweverSaved(t *testing.T) {
	rows := [][]string{{"machine", "date", "value"}, {"drill", "2026-04-01", "5 7/8"}, {"drill", "2026-04-02", "a; b, c\t| \"d\""}, {"drill", "", "two\nlines"}}
	var want *Table
	for _, sep := range Separators {
		for _, end := range []string{"\n", "\r\n"} {
			for _, mark := range []string{"", "\ufeff"} {
				var b strings.Builder
				b.WriteString(mark)
				for _, row := range rows {
					for i, cell := range row {
						if i > 0 {
							b.WriteRune(sep)
						}
						b.WriteString(`"` + strings.ReplaceAll(cell, `"`, `""`) + `"`)
					}
					b.WriteString(end)
				}
				got, err := ReadTable([]byte(b.String()), 0, true)
				if err != nil {
					t.Fatal(err)
				}
				if got.Separator != sep {
					t.Errorf("the separator is %q, found %q", sep, got.Separator)
				}
				got.Separator = 0
				if want == nil {
					want = got
				}
				if diff := cmp.Diff(want, got); diff != "" {
					t.Error(diff)
				}
			}
		}
	}
	if !slices.Equal(want.Heading, rows[0]) || !slices.Equal(want.Rows[2].Cells, rows[3]) || want.Rows[2].Line != 4 {
		t.Errorf("%+v", want)
	}
}

func TestTableRefused(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"nothing", "", "it is empty"},
		{"blank", "\r\n ; \r\n", "it is empty"},
		{"a quote without an end", "a,b\n1,\"2\n3,4\n", "line 2: the quotes of a cell in the row that begins here do not end as they should"},
		{"a quote in the middle", "a,b\n1,14\"\n", "line 2: column 5: a quote stands in the middle of a cell: a cell that holds one is put in quotes, and the quote doubled"},
		{"another encoding", "a,b\n1,H\xfcgel\n", "line 2: the byte fc is no UTF-8: save it as UTF-8"},
		{"UTF-16", "\xff\xfea\x00", "it is written in UTF-16: save it as UTF-8"},
		{"no text", "a,b\n\x00,1\n", "line 2: it holds a zero byte: it is no text"},
		{"too many columns", strings.Repeat(",", mostCells) + "a", "line 1: 501 columns, at most 500 are read"},
		{"too long", strings.Repeat("a", MostBytes+1), "it is over 64 MiB long"},
	} {
		if _, err := ReadTable([]byte(c.text), 0, true); err == nil || err.Error() != c.want {
			t.Errorf("%s: %v, want %s", c.name, err, c.want)
		}
	}
	table, err := ReadTable([]byte("a,b\n1\n1,2,3\n1,2\n"), 0, true)
	if err != nil || table.Rows[0].Wrong != "it has 1 column, the first row has 2 columns" || table.Rows[1].Wrong == "" || table.Rows[2].Wrong != "" {
		t.Errorf("%+v, %v", table, err)
	}
}

// Law: a table is refused, or all its cells stand in the file, each row on its line and no later one before it.
func FuzzTable(f *testing.F) {
	f.Add([]byte("machine;date;value\r\ndrill;1.4.2026;5,25\r\n"))
	f.Add([]byte("\ufeffa,b\n\"1\"\"2\",\n"))
	f.Add([]byte("a\tb\r1\t2\r"))
	f.Fuzz(func(t *testing.T, data []byte) {
		table, err := ReadTable(data, 0, true)
		if err != nil {
			return
		}
		line := 0
		bare := strings.NewReplacer(`"`, "", "\r", "", "\n", "", "'", "") // a line end within quotes is LF, however the file writes it
		plain := bare.Replace(string(data))
		for _, row := range table.Rows {
			if row.Line <= line {
				t.Fatalf("line %d after line %d", row.Line, line)
			}
			line = row.Line
			for _, cell := range row.Cells {
				if !strings.Contains(plain, bare.Replace(cell)) {
					t.Fatalf("%q does not stand in the file", cell)
				}
			}
		}
	})
}
