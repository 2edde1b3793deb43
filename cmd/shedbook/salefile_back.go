package main

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/paper"
	"shedbook/rules"
	"shedbook/rules/record"
)

// comesBack is what needed work at the same place in several seasons: what was found moved, tight or bad there, faults, and repairs. New parts are no sign: they wear.
func (s *saleFile) comesBack() []paper.Block {
	if items := s.backLines(); len(items) > 0 {
		return []paper.Block{paper.List{Items: items}}
	}
	return nil
}

func (s *saleFile) backLines() []paper.Text {
	type key struct {
		at   record.Position
		what string
	}
	seen := map[key][]*historyLine{}
	periods := map[key][]string{}
	k, _ := s.kept()
	note := func(at record.Positions, what string, l *historyLine) {
		for _, p := range at.All() {
			x := key{p, what}
			seen[x] = append(seen[x], l)
			if name := periodOf(k, l.done.Date()); name != "" && !slices.Contains(periods[x], name) {
				periods[x] = append(periods[x], name)
			}
		}
	}
	for _, id := range s.order {
		l := s.lines[id]
		if l.fate.State != counts && l.fate.State != corrected {
			continue
		}
		switch r := l.record.(type) {
		case *record.Did:
			for _, x := range r.Results {
				if found(x.Word) {
					note(x.Positions, s.jobTitle(r.Job)+": "+strings.ReplaceAll(x.Word, "-", " "), l)
				}
			}
		case *record.Fault:
			note(r.Positions, "Fault", l)
		}
	}
	var keys []key
	for x := range seen {
		if len(periods[x]) > 1 && len(seen[x]) > 1 {
			keys = append(keys, x)
		}
	}
	slices.SortFunc(keys, func(a, b key) int {
		return cmp.Or(len(periods[b])-len(periods[a]), len(seen[b])-len(seen[a]), a.at.Compare(b.at), strings.Compare(a.what, b.what))
	})
	if len(keys) == 0 {
		return nil
	}
	var items []paper.Text
	for _, x := range keys[:min(len(keys), backShown)] {
		var from []record.ID
		for _, l := range seen[x] {
			from = append(from, l.id)
		}
		items = append(items, marked(paper.Watch, "comes back", fmt.Sprintf("%s: %s %d times, in %s", s.places(record.NewPositions(x.at)), x.what, len(seen[x]), strings.Join(periods[x], ", ")), from...))
	}
	if n := len(keys) - len(items); n > 0 {
		items = append(items, paper.Say(fmt.Sprintf("and %d more such places", n)))
	}
	return items
}

// backShown is how many such places are told, backAbove of them under what is wrong today too.
const (
	backShown = 8
	backAbove = 2
)

// found reports a result that is no good one: "ok", "none" and "none moved" are.
func found(word string) bool {
	return word != "" && word != "ok" && word != "good" && !strings.HasPrefix(word, "none")
}

// periodOf is the season, or the time between two, that a day lies in; "" where none is known.
func periodOf(k *rules.Kept, day string) string {
	for i := range k.Periods {
		if p := &k.Periods[i]; p.From <= day && (p.To == "" || day <= p.To) {
			return p.Name
		}
	}
	return ""
}
