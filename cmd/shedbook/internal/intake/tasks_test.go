package intake

import (
	"fmt"
	"strings"
	"testing"
	"time"
)

func readTasks(text string, sums Sums) ([]Total, error) {
	return ReadTasks([]byte(text), sums, time.UTC, nil)
}

// The sample is made up, of the shape that public libraries of ISO 11783-10 read and write. 161,874 m2 are 40 acres (1 acre = 4,046.8564224 m2, NIST
// Handbook 44, appendix C); 14,400 s are four hours.
func TestTasks(t *testing.T) {
	text := sample(t, "TASKDATA.XML")
	got, err := readTasks(text, Unsaid)
	if err != nil || len(got) != 1 {
		t.Fatal(got, err)
	}
	g := got[0]
	if g.Task != "TSK1" || g.Designator != "Wheat north 40" || g.Field != "North 40" || g.Device.Designator != "Grain drill" || g.Device.Name != "A00086000D300841" ||
		g.Area != 161_874 || g.Seconds != 14_400 || g.Millimetres != 14_162_000 || g.Until.Format(time.RFC3339) != "2026-05-02T12:30:00-05:00" {
		t.Errorf("%+v", g)
	}
	planned := strings.Replace(text, `C="16200" D="4"`, `C="16200" D="1"`, 1)
	if got, err := readTasks(planned, Unsaid); err != nil || len(got) != 0 {
		t.Errorf("planned work is counted: %v, %v", got, err)
	}
	section := strings.Replace(strings.Replace(text, "</DVC>", `<DET A="DET2" B="2" C="4" D="left" E="1" F="1"/></DVC>`, 1), "</TIM>", `<DLV A="0074" B="80937" C="DET2"/></TIM>`, 1)
	if got, err := readTasks(section, Unsaid); err != nil || got[0].Area != 161_874 {
		t.Errorf("a section is counted beside its machine: %v, %v", got, err)
	}
}

// tim is a recorded time of an hour with a total.
func tim(hour, area int) string {
	return fmt.Sprintf(`<TIM A="2026-05-02T%02d:00:00" B="2026-05-02T%02d:00:00" D="4"><DLV A="0074" B="%d" C="DET1"/></TIM>`, hour, hour+1, area)
}

// Totals of several times are read as said; where it matters and is not said, the file is refused.
func TestTaskTotals(t *testing.T) {
	for _, c := range []struct {
		name  string
		areas []int
		sums  Sums
		want  int64
		why   string
	}{
		{"one", []int{500}, Unsaid, 500, ""},
		{"growing, not said", []int{500, 900}, Unsaid, 0, `the task "" has 2 totals, from 500 to 900: whether each carries on the one before cannot be seen`},
		{"growing, running", []int{500, 900}, Running, 900, ""},
		{"growing, each", []int{500, 900}, Each, 1400, ""},
		{"going back, not said", []int{500, 400}, Unsaid, 900, ""},
		{"going back, running", []int{500, 400}, Running, 0, `the totals of the task "" go back, so none carries on the one before`},
		{"nothing before", []int{0, 400}, Unsaid, 400, ""},
	} {
		text := `<ISO11783_TaskData><DVC A="DVC1"><DET A="DET1" C="1"/></DVC><TSK A="TSK1">`
		for i := len(c.areas) - 1; i >= 0; i-- { // in whatever order they stand
			text += tim(8+i, c.areas[i])
		}
		got, err := readTasks(text+"</TSK></ISO11783_TaskData>", c.sums)
		switch {
		case c.why != "":
			if err == nil || !strings.HasSuffix(err.Error(), c.why) {
				t.Errorf("%s: %v", c.name, err)
			}
		case err != nil || got[0].Area != c.want:
			t.Errorf("%s: %v, %v", c.name, got, err)
		}
	}
}

func TestTasksRefused(t *testing.T) {
	text := sample(t, "TASKDATA.XML")
	for _, c := range []struct{ name, old, new, want string }{
		{"a document type", "<ISO11783_TaskData", "<!DOCTYPE x><ISO11783_TaskData", "line 2: it has a document type (<!...>), which no such file needs: it is not read"},
		{"another root", "ISO11783_TaskData", "TaskData", `line 2: it begins with "TaskData": a task file (ISO 11783-10) begins with ISO11783_TaskData`},
		{"no such element", `B="161874" C="DET1"`, `B="161874" C="DET9"`, `line 15: DLV: no device has the element "DET9"`},
		{"no total", `B="161874" C`, `B="many" C`, `line 15: DLV: "many" is no total`},
		{"more than 32 bits", `B="161874" C`, `B="99999999999" C`, `line 15: DLV: "99999999999" is no total`},
		{"no identifier", `DLV A="0074"`, `DLV A="area"`, `line 15: DLV: "area" is no data dictionary identifier`},
		{"no time", "2026-05-02T08:00:00.000-05:00", "morning", `line 14: TIM: "morning" is no time`},
		{"ends before it begins", "2026-05-02T12:30:00.000-05:00", "2026-05-02T07:30:00.000-05:00", "line 14: it ends at 2026-05-02T07:30:00.000-05:00, before it begins"},
		{"another file", "<CTR ", `<XFR A="TSK00001" B="1"/><CTR `, "line 3: it refers to the file TSK00001.XML: name the folder that holds both"},
		{"a path", "<CTR ", `<XFR A="../secret" B="1"/><CTR `, `line 3: "../secret" is no name of a part of a task file`},
	} {
		if !strings.Contains(text, c.old) {
			t.Fatalf("%s: the sample has no %q", c.name, c.old)
		}
		if _, err := readTasks(strings.ReplaceAll(text, c.old, c.new), Unsaid); err == nil || err.Error() != c.want {
			t.Errorf("%s: %v, want %s", c.name, err, c.want)
		}
	}
}

// What a file refers to is read with it.
func TestTaskParts(t *testing.T) {
	main := `<ISO11783_TaskData><XFR A="DVC00001" B="1"/><XFR A="TSK00001" B="1"/></ISO11783_TaskData>`
	parts := map[string]string{"DVC00001.XML": `<XFC><DVC A="DVC1" B="drill"><DET A="DET1" C="1"/></DVC></XFC>`, "TSK00001.XML": `<XFC><TSK A="TSK1">` + tim(8, 700) + `</TSK></XFC>`}
	got, err := ReadTasks([]byte(main), Unsaid, time.UTC, func(name string) ([]byte, error) { return []byte(parts[name]), nil })
	if err != nil || len(got) != 1 || got[0].Area != 700 || got[0].Device.Designator != "drill" {
		t.Errorf("%v, %v", got, err)
	}
}

// Law: a task file is refused, or its sums are not below zero, belong to a device of the file, and read the same again.
func FuzzTasks(f *testing.F) {
	f.Add(sample(f, "TASKDATA.XML"), "")
	f.Add(`<ISO11783_TaskData><DVC A="DVC1"><DET A="DET1" C="1"/></DVC><TSK A="TSK1">`+tim(8, 5)+tim(9, 7)+`</TSK></ISO11783_TaskData>`, "running")
	f.Fuzz(func(t *testing.T, text, sums string) {
		got, err := readTasks(text, Sums(sums))
		if err != nil {
			return
		}
		again, _ := readTasks(text, Sums(sums))
		for i, g := range got {
			if g.Area < 0 || g.Seconds < 0 || g.Millimetres < 0 || g.Device == nil || g.Until.IsZero() && !strings.Contains(text, "0001-01-01") {
				t.Fatalf("%+v", g)
			}
			if again[i].Area != g.Area || again[i].Task != g.Task {
				t.Fatal("read otherwise the second time")
			}
		}
	})
}
