package main

import (
	"regexp"

	"shedbook/cmd/shedbook/internal/paper"
	"shedbook/cmd/shedbook/internal/sentence"
)

// usualStatements are what buyers ask and no record tells. Common practice, no source.
var usualStatements = []struct {
	what string
	said *regexp.Regexp // a word of the statement that shows it is spoken of
}{
	{"liens, or money owed on it", regexp.MustCompile(`(?i)\b(liens?|owed?|owing|bank|finance|financed|loan|paid)\b`)},
	{"accidents or a roll-over", regexp.MustCompile(`(?i)\b(accidents?|crash|crashed|collision|roll|rolled|overturned)\b`)},
	{"fire", regexp.MustCompile(`(?i)\b(fires?|burnt|burned)\b`)},
	{"flood or standing water", regexp.MustCompile(`(?i)\b(flood|floods|flooded|flooding|water)\b`)},
}

// unsaid are the usual statements that the seller did not make.
func (s *saleFile) unsaid() []string {
	var out []string
	for _, u := range usualStatements {
		said := false
		for _, text := range s.o.statements {
			said = said || u.said.MatchString(text)
		}
		if !said {
			out = append(out, u.what)
		}
	}
	return out
}

// said is the seller's own word: no entry, no signature.
func (s *saleFile) said() paper.Section {
	out := paper.Section{ID: "seller", Title: "What the seller says himself", Note: "His own word, written for this page: it is in no signed entry."}
	var items []paper.Text
	for _, text := range s.o.statements {
		items = append(items, marked(paper.Plain, "seller's word", text))
	}
	if len(items) > 0 {
		out.Blocks = append(out.Blocks, paper.List{Items: items})
	}
	if not := s.unsaid(); len(not) > 0 {
		var all []paper.Text
		for _, x := range not {
			all = append(all, marked(paper.Watch, "not said", x+": ask"))
		}
		out.Blocks = append(out.Blocks, paper.List{Items: all})
	}
	out.Blocks = append(out.Blocks, paper.Para{Text: paper.Say("This page shows the record as it was kept. It is no warranty and no inspection; nothing in it replaces looking at the machine, and no other promise than a written one counts.")})
	return out
}

// settings are how the machine stands today.
func (s *saleFile) settings() paper.Section {
	out := paper.Section{ID: "settings", Title: "Settings as they stand"}
	var rows []paper.Row
	for _, x := range joined(s.v.Settings, false, func(a, b *settingView) bool {
		return a.Setting == b.Setting && a.Value == b.Value && a.Assumed == b.Assumed
	}, func(into, v *settingView) {
		into.at = into.at.Union(v.at)
		into.Since = max(into.Since, v.Since)
		into.Entries = append(into.Entries, v.Entries...)
	}) {
		if x.Value.IsZero() {
			continue
		}
		value := sentence.Value(x.Value.v, s.c.system)
		value += s.settingMeans(x.Setting, value) + iff(x.Assumed, " (assumed)")
		where := sentence.Places(s.m, x.at, x.of)
		rows = append(rows, paper.Row{Cells: []paper.Text{paper.Say(capital(sentence.Title(x.title, x.Setting))), paper.Say(value), paper.Say(where), says(sinceDay(x.Since), x.Entries...)}})
	}
	if len(rows) == 0 {
		return out
	}
	out.Blocks = []paper.Block{paper.Table{Columns: []paper.Column{{Title: "setting"}, {Title: "set to"}, {Title: "where"}, {Title: "since", Narrow: true}}, Rows: rows}}
	return out
}
