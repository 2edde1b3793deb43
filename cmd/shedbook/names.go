package main

import (
	"bytes"
	"encoding/json"
	"os"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/ledger/gitstore"
	"shedbook/rules"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// What can be named in a book is kept beside it, whenever a command has it at hand, so that completing a word neither opens the book nor replays it. It may be
// stale or missing: then a word is completed with what was known, or not at all, and the command it ends up in says what is wrong.

// nameBook is everything a person may name in one book.
type nameBook struct {
	Form     string         `json:"form"`
	Machines []nameMachine  `json:"machines"`
	Kinds    []named        `json:"kinds"`
	Yards    []named        `json:"yards"`
	Farms    []named        `json:"farms"`
	People   []named        `json:"people"`
	Devices  []named        `json:"devices"`
	Seasons  []named        `json:"seasons"` // newest first
	Sets     []nameOfMakeUp `json:"sets"`    // machines that are built alike share one
}

// named is a name and what it is.
type named struct {
	Name string `json:"name"`
	What string `json:"what,omitempty"`
}

// nameMachine is a machine; Set counts in Sets, -1 where its schedule is not known.
type nameMachine struct {
	named
	Set int `json:"set"`
}

// nameOfMakeUp is what can be named on machines of one build.
type nameOfMakeUp struct {
	Words   []nameWord          `json:"words"`
	Places  map[string][]string `json:"places"`  // noun -> names of its places: "1" to "48", "left-front"
	Choices map[string][]string `json:"choices"` // setting or reading in words -> what it may be
}

type nameWord struct {
	named
	Kind string `json:"kind"` // of internal/phrase, and "counter"
}

// namesForm changes when the form of what is kept does.
const namesForm = "shedbook names 1"

const namesFile = "names"

// namesOf gathers what can be named, of a state in which machines are at least outlined.
func namesOf(b *book, s *rules.State) *nameBook {
	n := &nameBook{Form: namesForm}
	yards := map[record.ID]string{}
	for _, y := range s.Yards {
		yards[y.ID] = y.Name
		n.Yards = add(n.Yards, y.Name, "yard")
	}
	for _, f := range s.Farms {
		n.Farms = add(n.Farms, f.Name, "farm")
	}
	for _, p := range s.People {
		n.People = add(n.People, p.Name, "")
	}
	for _, d := range b.judged.Devices() {
		n.Devices = add(n.Devices, d.Label, deviceState(d)+named{What: d.Name}.of())
	}
	for _, x := range s.Seasons {
		n.Seasons = add(n.Seasons, x.Name, seasonSpan(x))
	}
	slices.Reverse(n.Seasons)
	for _, k := range schedule.BuiltinNames() {
		n.Kinds = add(n.Kinds, k, "")
	}
	for _, k := range s.Kinds {
		i := slices.IndexFunc(n.Kinds, func(x named) bool { return x.Name == k.Schedule.Name })
		if i < 0 {
			n.Kinds, i = add(n.Kinds, k.Schedule.Name, ""), len(n.Kinds)
		}
		if i < len(n.Kinds) {
			n.Kinds[i].What = k.Schedule.Title
		}
	}
	sets := map[string]int{}
	for _, m := range s.Machines {
		if m.Sold != "" || !plainName(m.Name) {
			continue
		}
		what := m.Kind
		if y := yards[m.Yard]; y != "" {
			what += ", " + y
		}
		x := nameMachine{named: named{m.Name, table.Clean(what)}, Set: -1}
		if m.Fitted != nil {
			set := makeUpOf(m.Fitted)
			text, err := json.Marshal(set)
			if err != nil {
				continue
			}
			at, known := sets[string(text)]
			if !known {
				at = len(n.Sets)
				sets[string(text)], n.Sets = at, append(n.Sets, set)
			}
			x.Set = at
		}
		n.Machines = append(n.Machines, x)
	}
	return n
}

// of is " of NAME", for who holds a device.
func (n named) of() string {
	if n.What == "" {
		return ""
	}
	return ", " + table.Clean(n.What)
}

// add adds a name that can be typed: one that would need cleaning on a terminal is left out, and so is one that is there.
func add(all []named, name, what string) []named {
	if !plainName(name) || slices.ContainsFunc(all, func(x named) bool { return x.Name == name }) {
		return all
	}
	return append(all, named{name, what})
}

func plainName(name string) bool { return name != "" && table.Clean(name) == name }

// seasonSpan is when a season was.
func seasonSpan(x *rules.Season) string {
	switch {
	case x.Closed != "":
		return x.Opened + " to " + x.Closed
	case x.Opened != "":
		return "open since " + x.Opened
	case x.PlanFrom != "":
		return "planned from " + x.PlanFrom
	}
	return ""
}

// makeUpOf is what can be named on a machine.
func makeUpOf(f *schedule.Fitted) nameOfMakeUp {
	u := nameOfMakeUp{Places: map[string][]string{}, Choices: map[string][]string{}}
	for _, n := range f.Names() {
		u.Words = append(u.Words, nameWord{named{n.Word, n.Title}, kindOf(n.What)})
		if n.What != "noun" {
			continue
		}
		for _, p := range f.All(n.Word).All() {
			_, name, _ := strings.Cut(p.String(), "/")
			u.Places[n.Word] = append(u.Places[n.Word], name)
		}
	}
	for _, s := range f.Settings {
		if len(s.Choices) > 0 {
			u.Choices[s.Name] = s.Choices
		}
	}
	for _, r := range f.Readings {
		if len(r.Grades) > 0 {
			u.Choices[r.Name] = r.Grades
		}
	}
	return u
}

// keepNames keeps what can be named in the books that a command had open and replayed for today.
func (c *call) keepNames() {
	for _, b := range c.opened {
		o := rules.Options{On: c.today()}
		s := b.states[o]
		if s == nil && b.parted != nil {
			s = b.parted.outlines[o]
		}
		if s == nil || b.keeper == nil || c.dryRun {
			continue
		}
		text, err := json.Marshal(namesOf(b, s))
		if err == nil && !bytes.Equal(text, b.keeper.Kept(namesFile)) {
			b.keeper.Keep(namesFile, text)
		}
	}
}

// namesIn reads what was kept of the book in a folder; without it, what is so of every book.
func namesIn(dir string) *nameBook {
	n := &nameBook{}
	if text, err := os.ReadFile(gitstore.KeptIn(dir, namesFile)); dir == "" || err != nil || json.Unmarshal(text, n) != nil || n.Form != namesForm {
		n = &nameBook{}
		for _, k := range schedule.BuiltinNames() {
			n.Kinds = add(n.Kinds, k, "")
		}
	}
	return n
}

// set is what can be named on a machine; where it is not known which, what can be on any.
func (n *nameBook) set(machine string) nameOfMakeUp {
	for _, m := range n.Machines {
		if m.Name == machine && m.Set >= 0 && m.Set < len(n.Sets) {
			return n.Sets[m.Set]
		}
	}
	var all nameOfMakeUp
	seen := map[nameWord]bool{}
	for _, s := range n.Sets {
		for _, w := range s.Words {
			if !seen[w] {
				seen[w] = true
				all.Words = append(all.Words, w)
			}
		}
	}
	return all
}
