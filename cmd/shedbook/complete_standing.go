package main

import (
	"fmt"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/phrase"
	"shedbook/ledger/gitstore"
)

// standing is what may stand for a word of a usage line.
func (t *completing) standing(what string) []candidate {
	name, equals := strings.CutSuffix(what, "=")
	end := func(all []candidate) []candidate {
		if equals {
			for i := range all {
				all[i].word += "="
			}
		}
		return all
	}
	switch name {
	case "MACHINE", "CARRIER":
		return t.machines()
	case "PLACES", "POSITIONS", "PLACE":
		if equals {
			return nil
		}
		return t.places()
	case "SETTING":
		return end(t.ofMakeUp(phrase.Setting))
	case "READING":
		return end(t.ofMakeUp(phrase.Reading))
	case "PART":
		return end(t.ofMakeUp(phrase.Part))
	case "JOB":
		return t.ofMakeUp(phrase.Job)
	case "WHAT":
		return t.ofMakeUp(phrase.Job, phrase.Part, phrase.Setting, phrase.Reading, phrase.Counter)
	case "KIND":
		return listed(t.names.Kinds)
	case "YARD":
		return listed(t.names.Yards)
	case "DEVICE":
		return append(listed(t.names.Devices), listed(t.names.People)...)
	case "SEASON", "A", "B":
		return append(listed(t.names.Seasons), candidate{"today", ""})
	case "FILE", "STAMPFILE":
		return []candidate{{filesHere, ""}}
	case "DIR", "FOLDER", "URL":
		return []candidate{{foldersHere, ""}}
	case "NAME":
		switch t.cmd.name {
		case "counter":
			return end(t.ofMakeUp(phrase.Counter))
		case "season open", "season close", "season plan":
			return listed(t.names.Seasons)
		case "sync":
			return t.exchanged()
		}
	case "setup":
		return led("setup=", t.ofMakeUp(phrase.Setup))
	default:
		if ownWord.MatchString(name) && !equals {
			return []candidate{{name, ""}}
		}
	}
	return nil
}

func (t *completing) machines() []candidate {
	var out []candidate
	for _, m := range t.names.Machines {
		out = append(out, candidate{m.Name, m.What})
	}
	return out
}

// exchanged are the places that the book was exchanged with by name.
func (t *completing) exchanged() []candidate {
	var out []candidate
	if local, err := gitstore.LocalOf(t.book); err == nil {
		for _, p := range local.Places {
			if plainName(p.Name) {
				out = append(out, candidate{p.Name, p.Address})
			}
		}
	}
	return out
}

// machine is the machine spoken of: the first word that names one.
func (t *completing) machine() string {
	for _, w := range t.words {
		if slices.ContainsFunc(t.names.Machines, func(m nameMachine) bool { return m.Name == strings.ToLower(w) }) {
			return strings.ToLower(w)
		}
	}
	return ""
}

// ofMakeUp are the names of some kinds on the machine spoken of.
func (t *completing) ofMakeUp(kinds ...string) []candidate {
	var out []candidate
	for _, w := range t.names.set(t.machine()).Words {
		if slices.Contains(kinds, w.Kind) {
			out = append(out, candidate{w.Name, w.What})
		}
	}
	return out
}

// places are groups and nouns, and behind "opener/" its places, also after a comma.
func (t *completing) places() []candidate {
	set := t.names.set(t.machine())
	noun, typed, ok := strings.Cut(t.begun, "/")
	if ok {
		lead := typed[:strings.LastIndex(typed, ",")+1]
		return led(noun+"/"+lead, eachOf(set.Places[strings.ToLower(noun)], ""))
	}
	var out []candidate
	for _, w := range set.Words {
		switch w.Kind {
		case phrase.Group:
			out = append(out, candidate{w.Name, "group"})
		case phrase.Noun:
			out = append(out, candidate{w.Name + "/", fmt.Sprintf("%d of them", len(set.Places[w.Name]))})
		}
	}
	return append(out, candidate{"all", "every place"})
}

func listed(all []named) []candidate {
	var out []candidate
	for _, n := range all {
		out = append(out, candidate{n.Name, n.What})
	}
	return out
}

func eachOf(words []string, what string) []candidate {
	var out []candidate
	for _, w := range words {
		out = append(out, candidate{w, what})
	}
	return out
}

// led puts what is typed already in front of words.
func led(lead string, all []candidate) []candidate {
	for i := range all {
		if all[i].word != filesHere && all[i].word != foldersHere {
			all[i].word = lead + all[i].word
		}
	}
	return all
}

// distinct leaves out words that were listed before.
func distinct(all []candidate) []candidate {
	seen := map[string]bool{}
	return slices.DeleteFunc(all, func(x candidate) bool {
		was := seen[x.word]
		seen[x.word] = true
		return was
	})
}
