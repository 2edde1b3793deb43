package faults

import (
	"encoding/json"
	"fmt"
	"os"
	"regexp"
	"strings"
	"time"
)

// notebook is a table of a made-up family's work: so many rows, each of which says in its note which it is.
func notebook(rows int) string {
	out := "machine,date,place,what,value,note\n"
	for i := range rows {
		out += time.Date(2025, 1, 2+i, 0, 0, 0, 0, time.UTC).Format("drill,2006-01-02,")
		switch i % 4 {
		case 0:
			out += fmt.Sprintf(",area,%d ac", 100+i)
		case 1:
			out += fmt.Sprintf("%d,grease,", 1+i%3)
		case 2:
			out += "2-3,disc-reach,5.9"
		default:
			out += fmt.Sprintf("%d,depth,%d", 1+i%3, 4+i%2)
		}
		out += fmt.Sprintf(",row %d of the notebook\n", i+1)
	}
	return out
}

// importing is a scene in which a table of so many rows is taken over.
func importing(name string, rows int) *scene {
	return &scene{name: name, line: "import csv notebook.csv", next: note, again: regexp.MustCompile(`(?m)^imported: `), prepare: func(f *farm) {
		f.do("wren", create)
		f.do("wren", `machine add drill disc-drill --options openers=4 --done 2025-01-01`)
		must(f.t, os.WriteFile(f.live("notebook.csv"), []byte(notebook(rows)), 0o666))
	}, after: func(f *farm) error { return imported(f, rows) }}
}

// imported wants every row of the notebook in the book, once, and an import said again to add nothing.
func imported(f *farm, rows int) error {
	a := f.try("wren", "import", "csv", "notebook.csv", "--json")
	var again struct{ Recorded, Already int }
	if err := json.Unmarshal([]byte(a.out), &again); err != nil || a.code != 0 {
		return fmt.Errorf("the import said once more: exit %d, %v\n%s%s", a.code, err, a.out, a.err)
	}
	if again.Recorded != 0 || again.Already != rows {
		return fmt.Errorf("the import said once more records %d rows and knows %d, want none and %d", again.Recorded, again.Already, rows)
	}
	history := f.try("wren", "history", "--json")
	if history.code != 0 {
		return fmt.Errorf("history: exit %d\n%s%s", history.code, history.out, history.err)
	}
	for i := range rows {
		said := fmt.Sprintf(`"text":"row %d of the notebook"`, i+1)
		if n := strings.Count(history.out, said); n != 1 {
			return fmt.Errorf("row %d is in the book %d times", i+1, n)
		}
	}
	if n := strings.Count(history.out, `"imported":{`); n != rows {
		return fmt.Errorf("%d entries are of an import, want %d", n, rows)
	}
	return nil
}
