package schedule

import (
	"errors"
	"fmt"
	"sort"
	"strconv"
	"strings"
	"sync"
)

// PathValue is one value of a schedule's text: its path and the value as TOML.
type PathValue struct {
	Path  string // "job.grease.when.1.every"; list entries count from 1
	Value string // `"250 h"`
}

// Paths lists every value that may be overridden, in the order of the text's sections.
func (s *Schedule) Paths() []PathValue {
	var out []PathValue
	for _, p := range list(s.root, nil).paths {
		if fixedPath(p.Path) == "" {
			out = append(out, p)
		}
	}
	return out
}

// CheckOverride reports why the value, TOML text, cannot stand at the path: no such path, one that is fixed, or a value the schedule does not hold
// with. An empty value, back to the schedule's own, needs only the path.
func (s *Schedule) CheckOverride(path, value string) error {
	_, err := overridden(s.root, nil, Override{Path: path, Value: value})
	return err
}

// ReadOverride gives the TOML text of what a person typed: `200 h` is taken as `"200 h"` where the quotes were lost on the way.
func (s *Schedule) ReadOverride(path, typed string) (string, error) {
	err := s.CheckOverride(path, typed)
	if err == nil || typed == "" {
		return typed, err
	}
	text := formatText(typed)
	if _, asIs := parseValueText(path, typed); asIs != nil || s.CheckOverride(path, text) == nil {
		err = s.CheckOverride(path, text)
		typed = text
	}
	if err != nil {
		return "", err
	}
	return typed, nil
}

// fixedPath says why a path cannot be overridden: how the machine is built and what its counters count in is chosen by options, and what kept
// entries rest on must not move under them.
func fixedPath(path string) string {
	parts := strings.Split(path, ".")
	switch parts[0] {
	case "shedbook_schedule", "name", "rules", "work":
		return "it is what the kind is"
	case "option", "place", "group", "pair", "assembly":
		return "how a machine is built is chosen by its options and its own groups"
	case "counter":
		if len(parts) < 3 || parts[2] != "derive" {
			return "kept readings rest on it"
		}
	case "part", "setting", "reading", "job", "relation":
		switch {
		case len(parts) == 3 && contains([]string{"of", "handed", "type", "unit"}, parts[2]):
			return "kept entries rest on it"
		case len(parts) == 3 && parts[2] == "cautions":
			return "a farm's own schedule may add cautions; none is taken away"
		}
	case "caution":
		return "cautions keep their words"
	}
	return ""
}

// apply reads a tree with overrides in it; what does not fit is dropped.
func apply(root *node, values map[string]string, overrides []Override) (*Schedule, Errors, []Override, []Dropped) {
	latest := map[string]Override{}
	for _, o := range overrides {
		latest[o.Path] = o
	}
	var paths []string
	for p, o := range latest {
		if o.Value != "" {
			paths = append(paths, p)
		}
	}
	sort.Strings(paths)
	var in []Override
	var out []Dropped
	tree := root
	if len(paths) > 0 {
		tree = root.clone()
	}
	known := lazily(root, values)
	whole := true
	for _, p := range paths { // nearly always all fit: then one reading is enough
		in = append(in, latest[p])
		whole = whole && fixedPath(p) == "" && put(tree, known, latest[p]) == nil
	}
	if whole {
		if s, r := read(tree, values); len(r.errs) == 0 || len(paths) == 0 {
			return s, r.errs.sorted(), in, nil
		}
	}
	in = nil
	for _, p := range paths {
		tree, err := overridden(root, values, latest[p])
		if err != nil {
			out = append(out, Dropped{latest[p], err.Error()})
			continue
		}
		root = tree
		in = append(in, latest[p])
	}
	s, r := read(root, values)
	return s, r.errs.sorted(), in, out
}

// overridden is a copy of the tree with the override in it, read and found whole.
func overridden(root *node, values map[string]string, o Override) (*node, error) {
	if why := fixedPath(o.Path); why != "" {
		return nil, fmt.Errorf("%s cannot be overridden: %s", o.Path, why)
	}
	tree := root.clone()
	if err := put(tree, lazily(root, values), o); err != nil {
		return nil, err
	}
	if _, r := read(tree, values); len(r.errs) > 0 {
		e := r.errs.sorted()[0]
		message := e.Message
		if e.Hint != "" {
			message += ": " + e.Hint
		}
		return nil, fmt.Errorf("%s cannot be %s: %s", o.Path, o.Value, message)
	}
	return tree, nil
}

// lazily gives the keys a table may have, by its path. The tree is read for it only where a path names a key that is not there.
func lazily(root *node, values map[string]string) func(path string) []string {
	keys := sync.OnceValue(func() map[string][]string { return list(root, values).asked })
	return func(path string) []string { return keys()[path] }
}

// put walks to the path and puts the value there; asked gives the keys each table may have.
func put(tree *node, asked func(path string) []string, o Override) error {
	parts := strings.Split(o.Path, ".")
	where, path := tree, ""
	for i, part := range parts[:len(parts)-1] {
		next, err := step(where, asked, path, part, i, isIndex(parts[i+1]))
		if err != nil {
			return fmt.Errorf("no path %q: %w", o.Path, err)
		}
		if path != "" {
			path += "."
		}
		where, path = next, path+part
	}
	name := parts[len(parts)-1]
	old := where.items[name]
	var known []string
	if old == nil {
		known = asked(path)
	}
	switch {
	case where.kind != tableNode && where.kind != listNode:
		return fmt.Errorf("no path %q: %s is one value", o.Path, path)
	case isIndex(name), len(parts) < 3 && old != nil && old.kind != textNode, old != nil && old.holdsTables():
		return fmt.Errorf("no path %q: it holds several values: name one of them", o.Path)
	case where.kind == listNode:
		return fmt.Errorf("no path %q: %s is a list: say which entry, from 1 to %d", o.Path, path, len(where.list))
	case old == nil && (len(known) > 0 && !contains(known, name) || len(parts) < 3):
		return fmt.Errorf("no path %q: %w", o.Path, noKey(path, name, known))
	}
	if o.Value == "" {
		return nil
	}
	v, err := parseValueText(o.Path, o.Value)
	if err != nil {
		return err
	}
	where.add(name, v)
	return nil
}

func isIndex(part string) bool {
	_, err := strconv.Atoi(part)
	return err == nil
}

// holdsTables reports a table or a list of tables.
func (n *node) holdsTables() bool {
	return n.kind == tableNode || n.kind == listNode && len(n.list) > 0 && n.list[0].kind == tableNode
}

// step goes one part of a path further. A single table stands for a list of one; an entry behind the last and a table that may be there are made.
func step(where *node, asked func(path string) []string, path, part string, depth int, list bool) (*node, error) {
	index, err := strconv.Atoi(part)
	switch {
	case err == nil && where.kind == tableNode && index == 1 && path != "":
		return where, nil
	case err == nil && where.kind == listNode && index == len(where.list)+1:
		where.list = append(where.list, &node{src: where.src, start: where.start, key: where.key})
		return where.list[index-1], nil
	case err == nil && where.kind == listNode && index >= 1 && index <= len(where.list):
		return where.list[index-1], nil
	case err == nil && (where.kind == listNode || where.kind == tableNode):
		return nil, fmt.Errorf("%s has %d entries", path, max(len(where.list), 1))
	case where.kind != tableNode:
		return nil, fmt.Errorf("%s is one value", path)
	}
	next := where.items[part]
	if next != nil {
		return next, nil
	}
	known := where.names
	if depth != 1 {
		known = asked(path)
	}
	if depth < 2 || !contains(known, part) {
		return nil, noKey(path, part, known)
	}
	next = &node{src: where.src, start: where.start, key: where.key}
	if list {
		next.kind = listNode
	}
	where.add(part, next)
	return next, nil
}

func noKey(path, part string, known []string) error {
	where := "the schedule"
	if path != "" {
		where = path
	}
	return fmt.Errorf("%s has no %q: %s", where, part, didYouMean(part, known))
}

// parseValueText reads one TOML value.
func parseValueText(path, value string) (*node, error) {
	tree, err := parseTree("override", []byte("value = "+value+"\n"))
	var list Errors
	if errors.As(err, &list) {
		return nil, fmt.Errorf("%s cannot be %s: %s", path, value, list[0].Message)
	}
	if err != nil {
		return nil, err
	}
	if len(tree.names) != 1 || tree.items["value"] == nil {
		return nil, fmt.Errorf("%s cannot be %s: write one value", path, value)
	}
	v := tree.items["value"]
	if v.kind == tableNode || v.kind == listNode && len(v.list) > 0 && v.list[0].kind != textNode {
		return nil, fmt.Errorf("%s cannot be %s: one value at a time", path, value)
	}
	return v, nil
}
