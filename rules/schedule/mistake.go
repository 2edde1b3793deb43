package schedule

import (
	"fmt"
	"sort"
	"strings"
)

// Error is one mistake in a schedule's text.
type Error struct {
	File         string
	Line, Column int    // counted from 1; columns in characters
	Message      string // what is wrong
	Hint         string // what to write instead; may be empty
}

// Error is `drill.toml:14:9: no counter "acres": did you mean "area"?`.
func (e Error) Error() string {
	s := fmt.Sprintf("%s:%d:%d: %s", e.File, e.Line, e.Column, e.Message)
	if e.Hint != "" {
		s += ": " + e.Hint
	}
	return s
}

// Errors are all mistakes of one text, in the order in which they stand in it.
type Errors []Error

// Error gives one mistake a line.
func (es Errors) Error() string {
	lines := make([]string, len(es))
	for i, e := range es {
		lines[i] = e.Error()
	}
	return strings.Join(lines, "\n")
}

// sorted orders by file, line and column and drops doubles: one wrong word may be met by two checks.
func (es Errors) sorted() Errors {
	sort.SliceStable(es, func(i, j int) bool {
		a, b := es[i], es[j]
		switch {
		case a.File != b.File:
			return a.File < b.File
		case a.Line != b.Line:
			return a.Line < b.Line
		case a.Column != b.Column:
			return a.Column < b.Column
		}
		return a.Message < b.Message
	})
	var out Errors
	for i, e := range es {
		if i == 0 || e != es[i-1] {
			out = append(out, e)
		}
	}
	return out
}
