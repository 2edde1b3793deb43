package main

import (
	"errors"
	"slices"
	"strings"

	"shedbook/rules/quantity"
)

// slip is what stands in a line, and what was probably meant by it.
type slip struct{ typed, instead string }

// slipIn finds the slip that one of a message's arguments tells of: an amount in a wrong unit, or a day written in another country's way.
func slipIn(args []any) slip {
	for _, a := range args {
		err, ok := a.(error)
		if !ok {
			continue
		}
		var amount *quantity.Miswritten
		var day *otherDay
		var within *userError
		if errors.As(err, &amount) {
			return slip{amount.Typed, amount.Instead}
		}
		if errors.As(err, &day) && len(day.meant) == 1 {
			return slip{day.typed, day.meant[0]}
		}
		if errors.As(err, &within) {
			return within.slip
		}
	}
	return slip{}
}

// retyped gives an error about a slip its next step: the whole line once more, with what was probably meant.
func (c *call) retyped(err error) error {
	var ue *userError
	if !errors.As(err, &ue) || ue.slip.typed == "" {
		return err
	}
	said, words := *ue, slices.Clone(c.typed)
	if at := slices.Index(words, ue.slip.typed); at >= 0 {
		words[at] = ue.slip.instead
		said.hint = typedLine(words)
	} else if line := typedLine(words); strings.Contains(line, ue.slip.typed) {
		said.hint = strings.Replace(line, ue.slip.typed, ue.slip.instead, 1)
	} else {
		return err
	}
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
