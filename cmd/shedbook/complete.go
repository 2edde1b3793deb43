package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/phrase"
	"shedbook/cmd/shedbook/internal/table"
)

// completeWord is what the shells' scripts call: `shedbook __complete WORD... =BEGUN`, the words before the one that is being typed and that one, behind a "="
// since some shells drop an empty word. It answers a line each: a candidate, a tab, what it is. ":files" and ":folders" ask for the shell's own. It opens no
// book, says nothing else and never fails: who is typing must not be disturbed.
const completeWord = "__complete"

// What asks for the shell's own candidates.
const (
	filesHere   = ":files"
	foldersHere = ":folders"
)

// candidate is a word that may stand there.
type candidate struct{ word, what string }

// completing is a line that is being typed.
type completing struct {
	e     *env
	cmd   *command // nil: not typed yet
	group string   // "people": its second word is being typed
	fs    *pflag.FlagSet
	words []string // after the command, without flags
	flag  string   // whose value is being typed
	begun string
	book  string // folder
	bare  bool   // after "--": no flags
	names *nameBook
}

func complete(e *env, args []string) error {
	if len(args) == 0 {
		return nil
	}
	t := &completing{e: e, begun: strings.TrimPrefix(args[len(args)-1], "=")}
	if !t.read(args[:len(args)-1]) {
		return nil
	}
	c := &call{env: e, common: &common{}}
	if t.book != "" {
		c.books = []string{t.book}
	}
	t.book = ""
	if dirs, err := c.bookDirs(); err == nil {
		t.book = dirs[0]
	}
	t.names = namesIn(t.book)
	for _, x := range t.candidates() {
		begins := len(x.word) >= len(t.begun) && strings.EqualFold(x.word[:len(t.begun)], t.begun)
		if begins && plainName(x.word) || x.word == filesHere || x.word == foldersHere {
			fmt.Fprintf(e.stdout, "%s\t%s\n", x.word, table.Clean(strings.ReplaceAll(x.what, "\t", " ")))
		}
	}
	return nil
}

// read goes through the words before; false where nothing can follow them.
func (t *completing) read(before []string) bool {
	o := &common{}
	t.fs = newFlagSet("shedbook")
	o.flags(t.fs, nil)
	help := false
	for i := 0; i < len(before); i++ {
		w := before[i]
		switch {
		case w == "--" && !t.bare:
			t.bare = true
		case !t.bare && len(w) > 1 && w[0] == '-' && !strings.ContainsAny(w[1:2], "0123456789."):
			name, value, has := strings.Cut(strings.TrimPrefix(w, "--"), "=")
			if !has && wantsValue(t.fs, w) {
				if i+1 == len(before) {
					t.flag = name
					return true
				}
				i++
				value = before[i]
			}
			if name == "book" {
				t.book = value
			}
		case t.cmd == nil && t.group == "" && w == "help" && !help:
			help = true
		case t.cmd == nil:
			name := strings.TrimSpace(t.group + " " + w)
			if t.cmd = commandNamed(name); t.cmd == nil {
				if t.group != "" || len(subcommands(name)) == 0 {
					return false
				}
				t.group = name
				continue
			}
			if help {
				return false
			}
			t.fs = newFlagSet("shedbook " + name)
			o.flags(t.fs, t.cmd)
			if t.cmd.flags != nil {
				t.cmd.flags(t.fs)
			}
		default:
			t.words = append(t.words, w)
		}
	}
	return true
}

// commandNamed is the command of a whole name, nil for none.
func commandNamed(name string) *command {
	for _, build := range commands {
		if cmd := build(); cmd.name == name {
			return cmd
		}
	}
	return nil
}

func (t *completing) candidates() []candidate {
	if t.flag != "" {
		return t.ofFlag(t.flag)
	}
	if strings.HasPrefix(t.begun, "-") && !t.bare {
		if name, _, ok := strings.Cut(strings.TrimPrefix(t.begun, "--"), "="); ok {
			return led("--"+name+"=", t.ofFlag(name))
		}
		return t.flags()
	}
	if t.cmd != nil {
		return t.ofLine()
	}
	return t.commands()
}

// commands are the first words, or the second ones of a group.
func (t *completing) commands() []candidate {
	if t.group != "" {
		var out []candidate
		for _, w := range subcommands(t.group) {
			out = append(out, candidate{w, commandNamed(t.group + " " + w).brief})
		}
		return out
	}
	var out []candidate
	for _, w := range commandWords() {
		what := ""
		if cmd := commandNamed(w); cmd != nil {
			what = cmd.brief
		} else {
			what = strings.Join(subcommands(w), ", ")
		}
		out = append(out, candidate{w, what})
	}
	return append(out, candidate{"help", "show examples and flags of a command"})
}

// ofFlag is what a flag's value may be, by the words its usage shows and what its value is called.
func (t *completing) ofFlag(name string) []candidate {
	f := t.fs.Lookup(name)
	if f == nil {
		return nil
	}
	if t.cmd != nil {
		if words := readUsage(t.cmd, t.fs).choices[name]; len(words) > 0 {
			return eachOf(words, "")
		}
	}
	value, _ := pflag.UnquoteUsage(f)
	switch value {
	case "folder":
		return []candidate{{foldersHere, ""}}
	case "file":
		return []candidate{{filesHere, ""}}
	case "when":
		return eachOf([]string{"auto", "always", "never"}, "")
	case "units":
		return eachOf([]string{"us", "metric"}, "")
	case "day":
		return eachOf([]string{"today", "yesterday"}, "")
	case "yard":
		return listed(t.names.Yards)
	case "farm":
		return listed(t.names.Farms)
	case "person":
		return listed(t.names.People)
	case "machine":
		return t.machines()
	case "season":
		return listed(t.names.Seasons)
	case "season or day":
		return append(listed(t.names.Seasons), candidate{"today", ""})
	case "part":
		return t.ofMakeUp(phrase.Part)
	case "counter":
		return t.ofMakeUp(phrase.Counter)
	case "kind":
		if t.cmd != nil && t.cmd.name == "history" {
			return eachOf(verbKinds(), "")
		}
		return listed(t.names.Kinds)
	case "name":
		if t.cmd != nil && name == "setup" {
			return t.ofMakeUp(phrase.Setup)
		}
	}
	return nil
}

// verbKinds are the kinds of entries that are recorded of machines.
func verbKinds() []string {
	var out []string
	for _, v := range verbs() {
		out = append(out, v.kind)
	}
	return out
}

// ofLine is what the next word of a command's line may be.
func (t *completing) ofLine() []candidate {
	s := readUsage(t.cmd, t.fs)
	stands := s.later
	if len(t.words) == 0 {
		stands = s.first
	}
	var out []candidate
	last, said := "", false
	if len(t.words) > 0 {
		last = strings.ToLower(t.words[len(t.words)-1])
		set := t.names.set(t.machine())
		out = append(out, eachOf(set.Choices[last], last)...)
		if slices.ContainsFunc(stands, isPlace) {
			out = append(out, eachOf(set.Places[last], last)...) // "opener 12"
		}
	}
	for _, what := range stands {
		all := t.standing(what)
		said = said || !isPlace(what) && len(t.words) > 1 && slices.ContainsFunc(all, func(x candidate) bool { return strings.TrimSuffix(x.word, "=") == last })
		out = append(out, all...)
	}
	if said && !t.bare { // the line may be whole: what can be added to it
		out = append(out, t.ownFlags()...)
	}
	return distinct(out)
}

func isPlace(what string) bool { return what == "PLACES" || what == "POSITIONS" || what == "PLACE" }
