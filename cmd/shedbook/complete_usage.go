package main

import (
	"regexp"
	"slices"
	"strings"

	"github.com/spf13/pflag"
)

// What may stand where on a command's line is read from the lines that its help shows, so that completion and help cannot say different things. In them, a word
// in capitals stands for something (MACHINE, PLACES, JOB), one in small letters for itself, and "|" parts what may stand instead.

// lineSlots are what a line of a command takes.
type lineSlots struct {
	first   []string            // what its first word may be
	later   []string            // what the others may be
	choices map[string][]string // flag -> words it takes
}

var (
	quotedWords = regexp.MustCompile(`"[^"]*"`)
	ownWord     = regexp.MustCompile(`^[a-z][a-z-]*=?$`)
)

// readUsage reads a command's usage.
func readUsage(cmd *command, fs *pflag.FlagSet) lineSlots {
	s := lineSlots{choices: map[string][]string{}}
	for _, line := range cmd.usage {
		rest, _ := strings.CutPrefix(line, cmd.name)
		rest = strings.NewReplacer(",...", "", "...", "", "[", " ", "]", " ", ",", " ").Replace(quotedWords.ReplaceAllString(rest, "TEXT"))
		words := strings.Fields(rest)
		n := 0
		for i := 0; i < len(words); i++ {
			w := words[i]
			if w == "|" {
				continue
			}
			if flag, ok := strings.CutPrefix(w, "--"); ok {
				if wantsValue(fs, w) && i+1 < len(words) {
					i++
					s.addChoices(flag, words[i:])
				}
				continue
			}
			into := &s.first
			if n > 0 {
				into = &s.later
			}
			for _, one := range strings.Split(w, "|") {
				if one, _, ok := strings.Cut(one, "="); ok {
					*into = append(*into, one+"=")
				} else if !slices.Contains(*into, one) {
					*into = append(*into, one)
				}
			}
			n++
		}
	}
	return s
}

// addChoices takes what a flag's value may be: "us|metric", and "WHAT" or "14d", which say nothing of it.
func (s *lineSlots) addChoices(flag string, rest []string) {
	for _, one := range strings.Split(rest[0], "|") {
		if ownWord.MatchString(one) && !slices.Contains(s.choices[flag], one) {
			s.choices[flag] = append(s.choices[flag], one)
		}
	}
}

func (t *completing) flags() []candidate { return flagsOf(t.fs) }

// ownFlags are those that other commands have not.
func (t *completing) ownFlags() []candidate {
	fs := newFlagSet("shedbook " + t.cmd.name)
	if t.cmd.flags != nil {
		t.cmd.flags(fs)
	}
	return flagsOf(fs)
}

func flagsOf(fs *pflag.FlagSet) []candidate {
	var out []candidate
	fs.VisitAll(func(f *pflag.Flag) {
		if f.Hidden {
			return
		}
		_, text := pflag.UnquoteUsage(f)
		out = append(out, candidate{"--" + f.Name, text})
	})
	return out
}
