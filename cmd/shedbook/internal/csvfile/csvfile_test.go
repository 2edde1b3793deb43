package csvfile

import (
	"bytes"
	"encoding/csv"
	"strings"
	"testing"
)

// The rules of RFC 4180, section 2: CRLF after each record, quotes around fields with line ends, quotes or commas, quotes doubled.
func TestRules(t *testing.T) {
	var b bytes.Buffer
	err := Write(&b, []string{"aaa", "bbb", "ccc"}, [][]Cell{
		{Text("zzz"), Text("yyy"), Text("xxx")},
		{Text("aaa"), Text("b\nbb"), Text("ccc")},
		{Text("aaa"), Text(`b"bb`), Text("c,c")},
		{Number("-1.5")},
	}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	want := "aaa,bbb,ccc\r\nzzz,yyy,xxx\r\naaa,\"b\r\nbb\",ccc\r\naaa,\"b\"\"bb\",\"c,c\"\r\n-1.5,,\r\n"
	if b.String() != want {
		t.Errorf("got %q, want %q", b.String(), want)
	}
}

func TestMark(t *testing.T) {
	var b bytes.Buffer
	if err := Write(&b, []string{"a"}, nil, Options{BOM: true}); err != nil || b.String() != "\xef\xbb\xbfa\r\n" {
		t.Errorf("%q %v", b.String(), err)
	}
}

// A cell of text that a spreadsheet would run is none any more; a number stays one, and what only begins like one does not.
func TestFormulas(t *testing.T) {
	for _, c := range []struct {
		cell Cell
		want string
	}{
		{Text("=1+1"), "'=1+1"}, {Text("+49"), "'+49"}, {Text("-1"), "'-1"}, {Text("@x"), "'@x"}, {Text("\t=1"), "'=1"}, {Text("\r=1"), "'=1"},
		{Number("-1"), "-1"}, {Number("5.25"), "5.25"}, {Number("-1+cmd|' /C calc'!A0"), "'-1+cmd|' /C calc'!A0"}, {Number("="), "'="}, {Text("\x1b[31mred"), "[31mred"}, {Text("a\u202eb"), "ab"}, {Text(""), ""},
		{Text("\uff1d1+1"), "'\uff1d1+1"}, {Text("\uff0b49"), "'\uff0b49"}, {Text("\uff0d1"), "'\uff0d1"}, {Text("\uff20x"), "'\uff20x"}, {Text("\u200b=1"), "'=1"}, {Text("so\u00adft \u2060x\U000e0041"), "soft x"},
	} {
		if got := c.cell.String(); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}

// Whatever is in a note, a reader of CSV gets it back as one cell that begins with no sign of a formula.
func FuzzText(f *testing.F) {
	for _, s := range []string{"=1", "a,b", "\"", "x\r\ny", "\x00", "'=1", "\u202e=1", "\ufeff=1", "  =1", "\uff1d1", "\u200b\uff0d1"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		var b bytes.Buffer
		if err := Write(&b, []string{"text", "end"}, [][]Cell{{Text(s), Text("end")}}, Options{}); err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(&b).ReadAll()
		if err != nil || len(rows) != 2 || len(rows[1]) != 2 || rows[1][1] != "end" {
			t.Fatalf("%q: %q %v", s, rows, err)
		}
		got := rows[1][0]
		if strings.IndexAny(got, "=+-@\t\r\uff1d\uff0b\uff0d\uff20") == 0 {
			t.Errorf("%q gives %q", s, got)
		}
		if want := Text(s).String(); Plain(got) != Plain(want) {
			t.Errorf("%q comes back as %q", want, got)
		}
	})
}
