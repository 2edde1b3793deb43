package main

import (
	"fmt"
	"strings"

	"shedbook/cmd/shedbook/internal/table"
)

// complain writes to stderr. On a terminal lines too long for it are broken between words; a word, such as a path or an id, stays whole. Elsewhere, as in a
// file or another program, lines are as they come.
func (e *env) complain(text string) {
	if e.wraps {
		text = betweenWords(text, e.columns())
	}
	fmt.Fprintln(e.stderr, text)
}

// betweenWords breaks each line of a text at blanks, so that none is wider than width where that can be; what goes on is indented by four.
func betweenWords(text string, width int) string {
	const indent = "    "
	var out []string
	for _, line := range strings.Split(text, "\n") {
		for table.Width(line) > width {
			lead := len(line) - len(strings.TrimLeft(line, " "))
			at := -1
			for i := lead; i < len(line); i++ {
				if line[i] == ' ' && (at < 0 || table.Width(line[:i]) <= width) {
					at = i
				}
			}
			if at < 0 {
				break
			}
			out = append(out, strings.TrimRight(line[:at], " "))
			line = indent + strings.TrimLeft(line[at:], " ")
		}
		out = append(out, line)
	}
	return strings.Join(out, "\n")
}
