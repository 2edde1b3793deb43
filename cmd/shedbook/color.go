package main

import (
	"strings"

	"shedbook/rules"
)

// Styles are ANSI SGR parameters (ECMA-48, 8.3.117). They only underline what the words say already.
const (
	bold   = "1"
	dim    = "2"
	red    = "1;31"
	yellow = "33"
)

// colored reports whether results may carry colour: as --color says, else only on a terminal that is not dumb and where NO_COLOR is not set.
func (c *call) colored() bool {
	switch c.color {
	case "always":
		return true
	case "never":
		return false
	}
	return c.shows && c.getenv("NO_COLOR") == "" && c.getenv("TERM") != "dumb"
}

// paint puts a style around text. What stands in text must be clean already.
func (c *call) paint(style, text string) string {
	if style == "" || strings.TrimSpace(text) == "" || !c.colored() {
		return text
	}
	return "\x1b[" + style + "m" + text + "\x1b[0m"
}

// sectionStyle is the style of a section's heading.
func sectionStyle(state string, stops bool) string {
	switch {
	case stops, state == rules.Overdue:
		return red
	case state == rules.DueNow, state == rules.Open:
		return yellow
	case state == rules.Later:
		return dim
	}
	return bold
}
