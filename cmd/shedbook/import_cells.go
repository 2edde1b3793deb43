package main

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"time"

	"shedbook/cmd/shedbook/internal/intake"
	"shedbook/cmd/shedbook/internal/phone"
	"shedbook/ledger/gitstore"
	"shedbook/rules/record"
)

// rowReader makes lines of rows.
type rowReader struct {
	options *csvOptions
	lay     gitstore.Layout
	flags   map[string]map[string]bool
	at      map[string]int // which column holds what
	books   []string       // as typed

	valueHeading string // of the column with values
	whatNext     string // what to type so that rows say what was done, where no column does
}

// named looks for the columns that were named.
func (r *rowReader) named(t *intake.Table, name string) error {
	for what, heading := range r.lay.Columns {
		at := -1
		var n int
		if _, err := fmt.Sscanf(heading, "#%d", &n); err == nil && n >= 1 && n <= t.Columns {
			at = n - 1
		} else if at = slices.IndexFunc(t.Heading, func(h string) bool { return strings.EqualFold(h, heading) }); at < 0 {
			return usage("shedbook import csv FILE --column "+what+"=HEADING", "%s has no column %q%s", name, heading, didYouMean(heading, t.Heading))
		}
		r.at[what] = at
	}
	return nil
}

// find looks for the other columns, whose headings are our words.
func (r *rowReader) find(t *intake.Table, name string) error {
	for i, h := range t.Heading {
		what, ok := ownHeading(strings.ToLower(h))
		if !ok {
			continue
		}
		if _, said := r.at[what]; !said && r.lay.Set[what] == "" && !slices.Contains(slices.Collect(maps.Values(r.at)), i) {
			r.at[what] = i
		}
	}
	for _, need := range []string{"machine", "date"} {
		if _, ok := r.at[need]; !ok && r.lay.Set[need] == "" {
			next := fmt.Sprintf("say which: --column %s=HEADING, or --set %s=... for all rows; the headings are %s", need, need, commas(t.Heading))
			if unused := r.unused(t); slices.ContainsFunc(unused, func(x unusedColumnJSON) bool { return x.Perhaps == need }) {
				next = r.asTyped(name, unused) + " --dry-run"
			}
			return usage(next, "%s: no column holds the %s", name, need)
		}
	}
	if at, ok := r.at["value"]; ok && at < len(t.Heading) {
		r.valueHeading = t.Heading[at]
	}
	if _, ok := r.at["what"]; !ok && r.lay.Set["what"] == "" {
		r.whatNext = "say which column does: --column what=HEADING"
		for _, x := range r.unused(t) {
			if x.Perhaps == "what" {
				r.whatNext = x.flag()
			}
		}
	}
	return nil
}

// cell is what a row says of something.
func (r *rowReader) cell(row intake.Row, what string) string {
	at, ok := r.at[what]
	if !ok {
		return r.lay.Set[what]
	}
	if at >= len(row.Cells) {
		return ""
	}
	s := row.Cells[at]
	if means, ok := r.lay.Means[strings.ToLower(s)]; ok {
		if _, _, act := actMeant(means); !act || what == "act" || what == "what" {
			return means
		}
	}
	return s
}

// raw is a cell as it stands in the file.
func (r *rowReader) raw(row intake.Row, what string) string {
	if at, ok := r.at[what]; ok && at < len(row.Cells) {
		return row.Cells[at]
	}
	return r.lay.Set[what]
}

var slashed = regexp.MustCompile(`^([0-9]{1,2})([/.-])([0-9]{1,2})[/.-]([0-9]{4})$`)

// order finds whether days come before months, from a day above 12 in any row, where it is not said. Days with points always do.
func (r *rowReader) order(t *intake.Table, name string) error {
	if r.lay.Dates != "" {
		return nil
	}
	dayFirst, monthFirst, unsure := 0, 0, 0
	for _, row := range t.Rows {
		m := slashed.FindStringSubmatch(strings.TrimSuffix(strings.Fields(r.cell(row, "date") + " -")[0], ","))
		if m == nil || m[2] == "." {
			continue
		}
		switch {
		case len(m[1]) == 2 && m[1] > "12":
			dayFirst = row.Line
		case len(m[3]) == 2 && m[3] > "12":
			monthFirst = row.Line
		case unsure == 0:
			unsure = row.Line
		}
	}
	switch {
	case dayFirst > 0 && monthFirst > 0:
		return usage("write all days as 2026-04-01", "%s: in line %d the day comes first, in line %d the month", name, dayFirst, monthFirst)
	case dayFirst > 0:
		r.lay.Dates = "dmy"
	case monthFirst > 0:
		r.lay.Dates = "mdy"
	case unsure > 0:
		return usage("say it: --dates dmy or --dates mdy", "%s:%d: whether the day or the month comes first cannot be seen from any row", name, unsure)
	}
	return nil
}

// row makes a line of a row.
func (r *rowReader) row(row intake.Row) *importRow {
	out := &importRow{line: row.Line, heading: r.valueHeading, next: r.whatNext}
	if row.Wrong != "" {
		out.err = usage("", "%s", row.Wrong)
		return out
	}
	a := &out.act
	a.Machine, a.Kind, a.What, a.Text = r.cell(row, "machine"), strings.ToLower(r.cell(row, "act")), r.cell(row, "what"), r.cell(row, "words")
	if act, thing, ok := actMeant(a.Kind); ok && thing != "" {
		a.Kind = act
		if a.What == "" {
			a.What = thing
		}
	}
	out.word, out.acted = r.raw(row, "what"), a.Kind != ""
	a.Places = strings.Fields(r.cell(row, "place"))
	if len(a.Places) == 1 && strings.EqualFold(a.Places[0], "all") {
		a.Places[0] = "all"
	}
	a.Value = r.number(r.cell(row, "value"))
	if u := r.cell(row, "unit"); u != "" && a.Value != "" {
		a.Value += " " + u
	}
	if a.Machine == "" {
		out.err = usage("", "the machine is missing")
		return out
	}
	done, err := r.date(row)
	if err != nil {
		out.err = err
		return out
	}
	a.Flags = append(a.Flags, "--done="+string(done))
	note := r.cell(row, "note")
	if out.err = out.actOf(r, textOf(a.Text, note)); out.err != nil {
		return out
	}
	told := slices.Contains(inWords, a.Kind) || a.Kind == "" && a.What == "" && a.Value == ""
	if told {
		a.Text = textOf(a.Text, note)
	}
	for _, name := range sortedKeys(r.flags) {
		v := r.cell(row, name)
		if v == "" || told && name == "note" {
			continue
		}
		f, err := r.flag(a, name, v)
		if err != nil {
			out.err = err
			return out
		}
		if f != "" {
			a.Flags = append(a.Flags, f)
		}
	}
	return out
}

func (r *rowReader) flag(a *phone.Act, name, v string) (string, error) {
	verbs := r.flags[name]
	bare := slices.Collect(maps.Values(verbs))[0]
	if a.Kind != "" {
		if _, ok := verbs[a.Kind]; !ok {
			return "", usage("", "nothing is said with %q of %s: its column is to be empty there", name, a.Kind)
		}
	}
	if !bare {
		if name == "counter" || name == "cost" {
			return "--" + name + "=" + v, nil
		}
		return "--" + name + "=" + r.number(v), nil
	}
	switch strings.ToLower(v) {
	case "yes", "true", "x", "1", "y":
		return "--" + name, nil
	case "no", "false", "0", "n", "-":
		return "", nil
	}
	return "", usage("write yes or no", "%s cannot be %q", name, v)
}

var (
	pointed = regexp.MustCompile(`^([+-]?[0-9]{1,3}(?:\.[0-9]{3})*|[+-]?[0-9]+)(,[0-9]+)?(\s*[^0-9].*)?$`)
	comma   = regexp.MustCompile(`^([+-]?[0-9]{1,3}(?:,[0-9]{3})+)(\.[0-9]+)?(\s*[^0-9].*)?$`)
)

// number writes a number of the file as one of ours, where it is said how decimals are written. Other text stays as it is.
func (r *rowReader) number(s string) string {
	switch r.lay.Decimal {
	case "comma":
		if m := pointed.FindStringSubmatch(s); m != nil {
			return strings.ReplaceAll(m[1], ".", "") + strings.Replace(m[2], ",", ".", 1) + m[3]
		}
	case "point":
		if m := comma.FindStringSubmatch(s); m != nil {
			return strings.ReplaceAll(m[1], ",", "") + m[2] + m[3]
		}
	}
	return s
}

// date reads the row's day and time of day. Words such as "yesterday" are none: a file does not say when it was written.
func (r *rowReader) date(row intake.Row) (record.Done, error) {
	text := strings.TrimSpace(strings.Replace(r.cell(row, "date"), "T", " ", 1))
	day, clock, _ := strings.Cut(text, " ")
	if t := r.cell(row, "time"); t != "" {
		clock = t
	}
	if day == "" {
		return "", usage("", "the date is missing")
	}
	if m := slashed.FindStringSubmatch(strings.TrimSuffix(day, ",")); m != nil {
		d, mon := m[1], m[3]
		if m[2] != "." && r.lay.Dates == "mdy" {
			d, mon = mon, d
		}
		day = fmt.Sprintf("%s-%02s-%02s", m[4], mon, d)
	}
	done, err := record.ParseDone(day)
	if err != nil || len(done) != len("2006-01-02") {
		return "", usage("write 2026-04-01", "%q is no day", text)
	}
	if clock = strings.TrimSpace(clock); clock == "" {
		return done, nil
	}
	for _, form := range []string{"15:04", "15:04:05", "3:04 PM", "3:04:05 PM", "3:04PM"} {
		if t, err := time.Parse(form, strings.ToUpper(clock)); err == nil {
			return record.ParseDone(string(done) + "T" + t.Format("15:04"))
		}
	}
	return "", usage("write 16:05", "%q is no time of day", clock)
}
