package main

import (
	"fmt"
	"io"
	"maps"
	"regexp"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/intake"
	"shedbook/cmd/shedbook/internal/table"
	"shedbook/ledger/gitstore"
	"shedbook/rules"
)

// unusedColumnJSON is a column of the file from which nothing is taken.
type unusedColumnJSON struct {
	Column  string `json:"column"`
	Number  int    `json:"number"`            // the first is 1
	Perhaps string `json:"perhaps,omitempty"` // what it may hold, by its heading
}

// speakingHeadings are headings that say what a column mostly holds, in the words of our own columns. They are proposed, never assumed: "part" may be a part's number.
var speakingHeadings = map[string][]string{
	"machine": {"equipment", "implement", "vehicle"},
	"date":    {"when", "date done", "done on", "work date"},
	"place":   {"where", "location", "opener", "openers", "row", "rows"},
	"what":    {"job", "jobs", "task", "work", "work done", "service", "item", "part"},
	"value":   {"amount", "measured"},
	"note":    {"remark", "remarks", "comment", "comments", "notes"},
	"by":      {"who", "person", "done by", "operator", "mechanic"},
	"cost":    {"price", "costs"},
}

// unused lists the columns that hold something and from which nothing is taken, with what each may hold where that is not said by another column or for all rows.
func (r *rowReader) unused(t *intake.Table) []unusedColumnJSON {
	taken := map[string]bool{}
	for what := range r.at {
		taken[what] = true
	}
	for what, text := range r.lay.Set {
		taken[what] = taken[what] || text != ""
	}
	used := slices.Collect(maps.Values(r.at))
	var out []unusedColumnJSON
	for i := range t.Columns {
		heading := ""
		if i < len(t.Heading) {
			heading = t.Heading[i]
		}
		holds := slices.ContainsFunc(t.Rows, func(row intake.Row) bool { return i < len(row.Cells) && row.Cells[i] != "" })
		if slices.Contains(used, i) || !holds {
			continue
		}
		x := unusedColumnJSON{Column: heading, Number: i + 1}
		for what, words := range speakingHeadings {
			if !taken[what] && slices.Contains(words, strings.ToLower(strings.TrimSpace(heading))) {
				x.Perhaps, taken[what] = what, true
			}
		}
		out = append(out, x)
	}
	return out
}

// title names a column for a person.
func (x unusedColumnJSON) title() string {
	if x.Column == "" {
		return fmt.Sprintf("#%d", x.Number)
	}
	return table.Clean(x.Column)
}

// flag is what is typed to have the column used.
func (x unusedColumnJSON) flag() string {
	heading := x.Column
	if strings.HasPrefix(heading, "#") || !typeable.MatchString(heading) {
		heading = fmt.Sprintf("#%d", x.Number)
	}
	return "--column " + typedWord(x.Perhaps+"="+heading)
}

// typeable is what every shell leaves as it is, at most within double quotes.
var typeable = regexp.MustCompile(`^[\pL\pN _.,:/=+#\\-]+$`)

// typedWord is a word as it is typed in a shell.
func typedWord(s string) string {
	switch {
	case s == "" || !typeable.MatchString(s) && !strings.Contains(s, "'"):
		return "'" + s + "'"
	case !typeable.MatchString(s) || strings.ContainsAny(s, " ,#"):
		return `"` + s + `"`
	}
	return s
}

// asTyped is the line that imports the file, with all that is said and remembered of its columns and words, and with those of unused whose headings speak for
// themselves.
func (r *rowReader) asTyped(name string, unused []unusedColumnJSON) string {
	words := []string{"shedbook import csv", typedWord(name)}
	for _, b := range r.books {
		words = append(words, "--book", typedWord(b))
	}
	words = append(words, layoutWords(r.lay)...)
	if r.options.separator != "" {
		words = append(words, "--separator", r.options.separator)
	}
	if r.options.noHeading {
		words = append(words, "--no-heading")
	}
	for _, x := range unused {
		if x.Perhaps != "" {
			words = append(words, x.flag())
		}
	}
	return strings.Join(words, " ")
}

// layoutWords are the flags that say how a table is read.
func layoutWords(lay gitstore.Layout) []string {
	var words []string
	for _, x := range []struct {
		flag string
		said map[string]string
	}{{"column", lay.Columns}, {"set", lay.Set}, {"means", lay.Means}} {
		for _, k := range sortedKeys(x.said) {
			words = append(words, "--"+x.flag, typedWord(k+"="+x.said[k]))
		}
	}
	if lay.Dates != "" {
		words = append(words, "--dates", lay.Dates)
	}
	if lay.Decimal != "" {
		words = append(words, "--decimal", lay.Decimal)
	}
	return words
}

// speaking are those columns whose headings speak for themselves.
func speaking(unused []unusedColumnJSON) bool {
	return slices.ContainsFunc(unused, func(x unusedColumnJSON) bool { return x.Perhaps != "" })
}

// unusedWords tells which columns are not used, "" where all are.
func (im *importing) unusedWords() string {
	if len(im.unused) == 0 {
		return ""
	}
	var names []string
	for _, x := range im.unused {
		names = append(names, x.title())
	}
	say := "columns not used: " + strings.Join(names, ", ")
	if len(names) == 1 {
		say = "column not used: " + names[0]
	}
	if im.next == "" {
		return say + " (to use one: --column WHAT=HEADING; shedbook import csv --help lists WHAT)"
	}
	return say + "\n  to use what speaks for itself: " + im.next
}

// countedOf makes a value of which nothing else is said that of a counter, if the column's heading names one of the machine's. Else it could be anything.
func countedOf(m *rules.Machine, row *importRow) (what string, err error) {
	name := strings.Join(strings.Fields(strings.ToLower(row.heading)), "-")
	if c, ok := m.Fitted.Counter(name); ok && name != "" {
		if main := m.Fitted.MainCounter(); main != nil && main.Name == c.Name {
			return "", nil
		}
		return c.Name, nil
	}
	next := row.next
	if next == "" {
		next = "say it in the column what; or for all rows, --set what=" + exampleCounter(m)
	}
	return "", usage(next, "%s of what? the row does not say what was done", row.act.Value)
}

func exampleCounter(m *rules.Machine) string {
	if c := m.Fitted.MainCounter(); c != nil {
		return c.Name
	}
	return "JOB"
}

// sayUnused prints unusedWords.
func (im *importing) sayUnused(w io.Writer) {
	if words := im.unusedWords(); words != "" {
		for line := range strings.SplitSeq(words, "\n") {
			fmt.Fprintln(w, table.Wrap(line, im.c.columns(), "    "))
		}
	}
}
