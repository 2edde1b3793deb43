package main

import (
	"fmt"
	"slices"
	"strings"

	"shedbook/rules"
	"shedbook/rules/record"
)

// people finds those named by --by. Nobody is named where only the writer did it.
func (l *line) people() ([]record.ID, error) {
	writer := l.w.person()
	if l.old != nil {
		writer = l.old.Entry.Person
	}
	var ids []record.ID
	for _, list := range l.s.by {
		for _, name := range strings.Split(list, ",") {
			name = strings.TrimSpace(name)
			p, err := findPerson(l.st, name)
			if err != nil {
				return nil, err
			}
			if !slices.Contains(ids, p.ID) {
				ids = append(ids, p.ID)
			}
		}
	}
	if len(ids) == 1 && ids[0] == writer {
		return nil, nil
	}
	return ids, nil
}

// findPerson takes a whole name, or a first or last name that only one person has.
func findPerson(st *rules.State, name string) (*rules.Person, error) {
	if name == "" {
		return nil, usage("write --by \"Wren Alder\"", "--by names nobody")
	}
	if p := st.Person(name); p != nil {
		return p, nil
	}
	var found []*rules.Person
	var names []string
	for _, p := range st.People {
		names = append(names, p.Name)
		for _, part := range strings.Fields(p.Name) {
			if strings.EqualFold(part, name) {
				found = append(found, p)
				break
			}
		}
	}
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
		return nil, failed("unknown-person", fmt.Sprintf("shedbook people add %q", name), "nobody in the book is called %q%s", name, nearName(name, names))
	}
	return nil, failed("unknown-person", "write the whole name", "%q could be %s or %s", name, found[0].Name, found[1].Name)
}

// nearName is did-you-mean for names of several words: each word of each name is tried.
func nearName(name string, names []string) string {
	if near := didYouMean(name, names); near != "" {
		return near
	}
	for _, n := range names {
		for _, part := range strings.Fields(n) {
			if didYouMean(name, []string{part}) != "" {
				return "; did you mean " + n + "?"
			}
		}
	}
	return ""
}
