package main

import (
	"fmt"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/table"
)

// commandWords are the first words of all commands, in table order.
func commandWords() []string {
	var words []string
	seen := map[string]bool{}
	for _, build := range commands {
		w, _, _ := strings.Cut(build().name, " ")
		if !seen[w] {
			seen[w] = true
			words = append(words, w)
		}
	}
	return words
}

// subcommands are the second words after one first word.
func subcommands(first string) []string {
	var words []string
	for _, build := range commands {
		if w, ok := strings.CutPrefix(build().name, first+" "); ok {
			words = append(words, w)
		}
	}
	return words
}

// overview is what bare shedbook prints: what to type next, then every command.
func overview(e *env) error {
	fmt.Fprint(e.stdout, `shedbook keeps the service record of farm machinery: what was set, measured and
swapped on which opener, by whom, at what acres; what is wrong; what is overdue.

Try it:             shedbook demo demo-book
Start your own:     shedbook new home-book
Then, in that folder, one line for each job:
                    shedbook did drill grease but 14,31
                    shedbook due
`)
	section := ""
	for _, build := range commands {
		cmd := build()
		if cmd.section != section {
			section = cmd.section
			fmt.Fprintf(e.stdout, "\n%s\n", section)
		}
		fmt.Fprintf(e.stdout, "  %-17s %s\n", cmd.name, cmd.brief)
	}
	fmt.Fprint(e.stdout, "\nshedbook help COMMAND shows examples and flags; shedbook help --man > shedbook.1\nwrites all of it as a manual page.\n")
	return nil
}

// helpCommand prints one command: what it is for, examples first, then flags. Never wider than 80 columns.
func helpCommand(e *env, words []string) error {
	if len(words) == 0 {
		return overview(e)
	}
	if words[0] == "--man" {
		return printManual(e)
	}
	cmd, rest, err := find(words)
	if err != nil {
		return err
	}
	if cmd == nil {
		fmt.Fprintf(e.stdout, "shedbook %s has these:\n\n", rest[0])
		for _, w := range subcommands(rest[0]) {
			sub, _, _ := find([]string{rest[0], w})
			fmt.Fprintf(e.stdout, "  %-17s %s\n", sub.name, sub.brief)
		}
		first, _, _ := find([]string{rest[0], subcommands(rest[0])[0]})
		begin := first.examples[0]
		fmt.Fprintf(e.stdout, "\nTo begin with:\n  shedbook %s\n", begin)
		if strings.Contains(begin, "--dry-run") {
			fmt.Fprint(e.stdout, "That records nothing; the same line without --dry-run does.\n")
		}
		fmt.Fprintf(e.stdout, "shedbook help %s shows examples and flags.\n", first.name)
		return nil
	}
	fmt.Fprintf(e.stdout, "%s\n\nExamples:\n", table.Wrap("shedbook "+cmd.name+": "+cmd.brief+".", 80, ""))
	for _, x := range cmd.examples {
		fmt.Fprintf(e.stdout, "  shedbook %s\n", x)
	}
	fmt.Fprint(e.stdout, "\nUse:\n")
	for _, u := range cmd.usage {
		fmt.Fprintln(e.stdout, whole(table.Wrap("  "+apiece("shedbook "+u), 80, "      ")))
	}
	if cmd.about != "" {
		fmt.Fprintf(e.stdout, "\n%s\n", table.Paragraphs(cmd.about, 80))
	}
	own := newFlagSet(cmd.name)
	if cmd.flags != nil {
		cmd.flags(own)
	}
	printFlags(e, "Flags", own)
	shared := newFlagSet(cmd.name)
	(&common{color: "auto"}).flags(shared, cmd)
	printFlags(e, "Flags of every command of this kind", shared)
	fmt.Fprint(e.stdout, "\nWith --json (a member with ? is absent where it does not apply):\n")
	for _, s := range cmd.shapes() {
		fmt.Fprintln(e.stdout, table.Wrap("  "+s, 80, "    "))
	}
	return nil
}

// apiece puts marks for blanks inside brackets, so that "[--yard NAME]" is not broken; whole puts the blanks back.
func apiece(usage string) string {
	depth := 0
	return strings.Map(func(r rune) rune {
		switch {
		case r == '[':
			depth++
		case r == ']':
			depth--
		case r == ' ' && depth > 0:
			return '\ue000'
		}
		return r
	}, usage)
}

func whole(s string) string { return strings.ReplaceAll(s, "\ue000", " ") }

func printFlags(e *env, title string, fs *pflag.FlagSet) {
	first := true
	fs.VisitAll(func(f *pflag.Flag) {
		if f.Hidden {
			return
		}
		if first {
			fmt.Fprintf(e.stdout, "\n%s:\n", title)
			first = false
		}
		name := "--" + f.Name
		if f.Shorthand != "" {
			name = "-" + f.Shorthand + ", " + name
		}
		value, text := pflag.UnquoteUsage(f)
		if value != "" {
			name += " " + value
		}
		if len(name) > 20 {
			fmt.Fprintf(e.stdout, "  %s\n%s\n", name, table.Indent(text, 80, 24))
			return
		}
		fmt.Fprintf(e.stdout, "  %-21s %s\n", name, strings.TrimLeft(table.Indent(text, 80, 24), " "))
	})
}
