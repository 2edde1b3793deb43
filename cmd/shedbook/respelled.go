package main

import (
	"errors"
	"slices"
	"strings"

	"shedbook/rules/quantity"
)

// miswritten is the error among the arguments of a message that says how an amount is written instead.
func miswritten(args []any) error {
	for _, a := range args {
		var m *quantity.Miswritten
		if err, ok := a.(error); ok && errors.As(err, &m) {
			return m
		}
	}
	return nil
}

// respelled gives an error about an amount's unit its next step: the whole line once more, with the unit that was probably meant.
func (c *call) respelled(err error) error {
	var ue *userError
	var m *quantity.Miswritten
	if !errors.As(err, &ue) || ue.hint != "" || !errors.As(ue.err, &m) {
		return err
	}
	line := typedLine(c.typed)
	if !strings.Contains(line, m.Typed) {
		return err
	}
	said := *ue
	said.hint = strings.Replace(line, m.Typed, m.Instead, 1)
	return &said
}

// renamed gives an error about a name its next step: the whole line once more, with the one name that was probably meant.
func (c *call) renamed(err error) error {
	var ue *userError
	if !errors.As(err, &ue) || ue.slip[0] == "" {
		return err
	}
	at := slices.Index(c.typed, ue.slip[0])
	if at < 0 {
		return err
	}
	line := slices.Clone(c.typed)
	line[at] = ue.slip[1]
	said := *ue
	said.hint = typedLine(line)
	return &said
}

// typedLine is a line as it can be typed again.
func typedLine(words []string) string {
	out := "shedbook"
	for _, w := range words {
		if strings.ContainsAny(w, " \t\"'<>&|;()*?$\\!#~`") || w == "" {
			w = "'" + strings.ReplaceAll(w, "'", `'\''`) + "'"
		}
		out += " " + w
	}
	return out
}
