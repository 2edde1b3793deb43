package main

import (
	"regexp"
	"strings"
	"time"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/table"
)

// The manual page is made from the table that help is made from, in the language of mdoc(7).

// manual is a page being written.
type manual struct{ b strings.Builder }

func printManual(e *env) error {
	m := &manual{}
	m.page()
	_, err := e.stdout.Write([]byte(m.b.String()))
	return err
}

// macro writes a line of markup: a macro and its arguments, each of which is one word to it.
func (m *manual) macro(name string, args ...string) {
	m.b.WriteString("." + name)
	for _, a := range args {
		m.b.WriteString(` "` + strings.ReplaceAll(escaped(a), `"`, `\(dq`) + `"`)
	}
	m.b.WriteByte('\n')
}

// bare writes a line of markup as it is.
func (m *manual) bare(line string) { m.b.WriteString(line + "\n") }

var sentenceEnd = regexp.MustCompile(`([.?!]) +([A-Z])`)

// text writes words, a sentence a line, as the language wants it. An empty line between parts begins a paragraph.
func (m *manual) text(s string) {
	for i, part := range strings.Split(strings.TrimSpace(s), "\n\n") {
		if i > 0 {
			m.bare(".Pp")
		}
		for _, line := range strings.Split(sentenceEnd.ReplaceAllString(strings.Join(strings.Fields(part), " "), "$1\n$2"), "\n") {
			for _, l := range strings.Split(table.Wrap(escaped(line), 79, ""), "\n") {
				if strings.HasPrefix(l, ".") || strings.HasPrefix(l, "'") {
					l = `\&` + l
				}
				m.bare(l)
			}
		}
	}
}

// escaped keeps characters what they are: a backslash begins an escape, and a hyphen that is typed must not become a printed one.
func escaped(s string) string {
	return strings.NewReplacer(`\`, `\e`, "-", `\-`, "~", `\(ti`, "^", `\(ha`, "`", `\(ga`).Replace(s)
}

func (m *manual) page() {
	day, err := time.Parse("2006-01-02", versionDay)
	if err != nil {
		panic(err) // a constant that a test reads
	}
	m.bare(".Dd " + day.Format("January 2, 2006"))
	m.bare(".Dt SHEDBOOK 1")
	m.bare(".Os")
	m.bare(".Sh NAME")
	m.bare(".Nm shedbook")
	m.bare(".Nd service record of farm machinery")
	m.bare(".Sh SYNOPSIS")
	m.bare(".Nm")
	m.bare(".Ar command")
	m.bare(".Op Ar words")
	m.bare(".Op Ar flags")
	m.bare(".Nm")
	m.bare(".Cm help")
	m.bare(".Op Ar command")
	m.bare(".Sh DESCRIPTION")
	m.text("A book is a folder that holds what was set, measured and swapped on which machine and place, by whom, at what hours or acres, as signed entries that nobody can change without it showing. " +
		"From them it is worked out what stands where, what is wrong and what work is due. A command works on the book whose folder, or a folder in it, is the current one.\n\n" +
		"Work on these machines kills. Built-in intervals, torques and limits are round figures of common practice: the operator's manual, local codes and licensed practice rule.")
	m.flagsOf("Flags of every command:", sharedFlags())
	section := ""
	m.bare(".Sh COMMANDS")
	for _, build := range commands {
		cmd := build()
		if cmd.section == section {
			m.bare(".Pp")
		} else {
			section = cmd.section
			m.macro("Ss", strings.ToUpper(section[:1])+section[1:])
		}
		m.command(cmd)
	}
	m.bare(".Sh ENVIRONMENT")
	m.list([][2]string{
		{"SHEDBOOK_BOOK", "the book's folder, where --book does not name it"},
		{"SHEDBOOK_CONFIG", "the folder of signing keys; else XDG_CONFIG_HOME/shedbook, ~/.config/shedbook, ~/Library/Application Support/shedbook on macOS, or AppData\\shedbook on Windows"},
		{"SHEDBOOK_PASSPHRASE_FILE", "a file with the passphrase of the signing key, for a program that runs alone"},
		{"SHEDBOOK_PAGER, PAGER", "what shows long answers on a terminal; cat shows them as they are, and so does --no-pager"},
		{"NO_COLOR", "no colour, if it is set and not empty; --color rules over it"},
		{"COLUMNS", "the width to write for, where it is not the terminal's"},
	})
	m.bare(".Sh EXIT STATUS")
	m.list([][2]string{
		{"0", "done"}, {"1", "failed; nothing was half-written"}, {"2", "the line typed is wrong"}, {"3", "the book does not verify; it still answers"},
		{"4", "due --exit-code, and work is overdue"}, {"5", "sync could exchange nothing"}, {"130", "interrupted"},
	})
	m.bare(".Sh EXAMPLES")
	m.bare(".Bd -literal -offset indent")
	for _, line := range []string{"shedbook demo demo-book", "cd demo-book", "shedbook did drill grease but 14,31", "shedbook adjust drill left-wing depth +1", "shedbook due --why"} {
		m.bare(escaped(line))
	}
	m.bare(".Ed")
	m.bare(".Sh SEE ALSO")
	m.bare(".Xr git 1 ,")
	m.bare(".Xr ssh-keygen 1")
}

// command is one command: what it is for, examples first, then its use, what to know, its flags.
func (m *manual) command(cmd *command) {
	m.macro("Sy", "shedbook "+cmd.name)
	m.bare(".Pp")
	m.text(strings.ToUpper(cmd.brief[:1]) + cmd.brief[1:] + ".")
	for n, lines := range [][]string{cmd.examples, cmd.usage} {
		m.bare(".Bd -literal")
		for _, line := range lines {
			if line = "shedbook " + line; n > 0 {
				line = whole(table.Wrap(apiece(line), 72, "    "))
			}
			m.bare(escaped(line))
		}
		m.bare(".Ed")
	}
	if cmd.about != "" {
		m.bare(".Pp")
		m.text(cmd.about)
	}
	own := newFlagSet(cmd.name)
	if cmd.flags != nil {
		cmd.flags(own)
	}
	m.flagsOf("", own)
	switch {
	case cmd.reads:
		m.bare(".Pp")
		m.text("Takes --on and --known, and --book more than once.")
	case cmd.writes:
		m.bare(".Pp")
		m.text("Takes --yes, --dry-run and --key.")
	}
}

// sharedFlags are those of all commands, of those that read and of those that record.
func sharedFlags() *pflag.FlagSet {
	fs := newFlagSet("shedbook")
	(&common{color: "auto"}).flags(fs, nil)
	return fs
}

func (m *manual) flagsOf(title string, fs *pflag.FlagSet) {
	var rows [][2]string
	fs.VisitAll(func(f *pflag.Flag) {
		if f.Hidden {
			return
		}
		value, text := pflag.UnquoteUsage(f)
		name := "--" + f.Name
		if f.Shorthand != "" {
			name = "-" + f.Shorthand + ", " + name
		}
		rows = append(rows, [2]string{strings.TrimSpace(name + " " + value), text})
	})
	if len(rows) == 0 {
		return
	}
	if title != "" {
		m.bare(".Pp")
		m.text(title)
	}
	m.list(rows)
}

// list is names, each with what it is.
func (m *manual) list(rows [][2]string) {
	m.bare(".Bl -tag -width indent")
	for _, r := range rows {
		m.bare(".It " + escaped(r[0]))
		m.text(r[1])
	}
	m.bare(".El")
}
