package main

import (
	"errors"
	"fmt"
	"strings"

	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

type checkedJSON struct {
	File     string        `json:"file"`
	Good     bool          `json:"good"`
	Name     string        `json:"name,omitempty"`
	Jobs     int           `json:"jobs"`
	Settings int           `json:"settings"`
	Readings int           `json:"readings"`
	Mistakes []mistakeJSON `json:"mistakes"`
}

type mistakeJSON struct {
	Line    int    `json:"line,omitempty"`
	Column  int    `json:"column,omitempty"`
	Message string `json:"message"`
	Hint    string `json:"hint,omitempty"`

	text string
}

type checksJSON struct {
	Format int           `json:"format"`
	Files  []checkedJSON `json:"files"`
}

func scheduleCheckCommand() *command {
	return &command{
		name: "schedule check", section: "machines", brief: "find the mistakes in a schedule you write", reads: true,
		usage:    []string{"schedule check FILE..."},
		examples: []string{"schedule check our-drill.toml", "schedule show disc-drill --toml > our-drill.toml"},
		about:    "Every mistake at once, with line and column. Start from a built-in one: schedule show KIND --toml prints it. \"-\" reads standard input.",
		run: func(c *call) error {
			if len(c.args) == 0 {
				return usage("shedbook schedule check our-drill.toml", "schedule check takes a file")
			}
			var all []checkedJSON
			bad := false
			for _, name := range c.args {
				text, err := c.readSchedule(name)
				if err != nil {
					return err
				}
				x, _ := checkSchedule(fileName(name), text)
				bad = bad || !x.Good
				all = append(all, x)
			}
			if c.json {
				if err := c.printJSON(checksJSON{1, all}); err != nil {
					return err
				}
			} else {
				for _, x := range all {
					c.printChecked(&x)
				}
			}
			if bad {
				return exitCode(exitFailed)
			}
			return nil
		},
	}
}

func (c *call) printChecked(x *checkedJSON) {
	for _, m := range x.Mistakes {
		c.printf("%s\n", m.text)
	}
	if x.Good {
		c.printf("%s: %s, %s, %s: good\n", x.File, countWords(x.Jobs, "job"), countWords(x.Settings, "setting"), countWords(x.Readings, "reading"))
		return
	}
	c.printf("%s: %s\n", x.File, countWords(len(x.Mistakes), "mistake"))
}

func countWords(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, one)
}

// checkSchedule parses a text, holds it to the size of an entry, and fits it with its usual options.
func checkSchedule(file string, text []byte) (checkedJSON, *schedule.Schedule) {
	x := checkedJSON{File: file, Mistakes: []mistakeJSON{}}
	plain := func(format string, a ...any) {
		m := fmt.Sprintf(format, a...)
		x.Mistakes = append(x.Mistakes, mistakeJSON{Message: m, text: file + ": " + m})
	}
	if len(text) > record.MaxSchedule {
		plain("%d bytes, at most %d fit into an entry: leave out comments", len(text), record.MaxSchedule)
	}
	if at := strings.IndexByte(string(text), '\t'); at >= 0 {
		line := 1 + strings.Count(string(text[:at]), "\n")
		column := at - strings.LastIndexByte(string(text[:at]), '\n')
		x.Mistakes = append(x.Mistakes, mistakeJSON{Line: line, Column: column, Message: "a tab", Hint: "write blanks", text: fmt.Sprintf("%s:%d:%d: a tab: write blanks", file, line, column)})
	}
	s, err := schedule.Parse(file, text)
	var mistakes schedule.Errors
	switch {
	case errors.As(err, &mistakes):
		for _, m := range mistakes {
			x.Mistakes = append(x.Mistakes, mistakeJSON{m.Line, m.Column, m.Message, m.Hint, m.Error()})
		}
	case err != nil:
		plain("%v", err)
	default:
		if _, err := s.Fit(nil, nil, nil); err != nil {
			plain("with its usual options: %v", err)
		}
	}
	if x.Good = len(x.Mistakes) == 0; !x.Good {
		return x, nil
	}
	x.Name, x.Jobs, x.Settings, x.Readings = s.Name, len(s.Jobs), len(s.Settings), len(s.Readings)
	return x, s
}
