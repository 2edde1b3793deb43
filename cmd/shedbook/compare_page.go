package main

import (
	"fmt"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/paper"
	"shedbook/cmd/shedbook/internal/sentence"
	"shedbook/rules"
	"shedbook/rules/record"
)

// comparePage is a comparison on its way to paper: what the list in a terminal says, with drawings of what stands place by place.
type comparePage struct {
	c       *call
	b       *book
	st      *rules.State // of the day asked about: entries are told as they are known there
	sides   [2]sideOf
	heads   [2]string // what the sides are called above a column; never the same
	changes []rules.Change
}

// comparePart is a section of the page: what a reader needs to know of these lines before he draws a conclusion from them.
type comparePart struct{ what, id, title, note string }

var compareParts = []comparePart{
	{"outcome", "came-to", "What the work came to", "All readings of what the work left behind it."},
	{"setting", "settings", "Settings", ""},
	{"part", "parts", "Parts", "What sat in each place at the end."},
	{"reading", "readings", "Readings", "The last of each place during each."},
	{"rate", "wear", "How fast parts wore", "All parts together: what their readings changed by, over their own use between those readings."},
	{"job", "jobs", "Jobs done", "How often, whatever the places."},
	{"missed", "overdue", "Jobs overdue at the end", "By the schedule, which the operator's manual overrules."},
	{"fault", "faults", "Faults found", ""},
	{"cause", "causes", "Faults and lost time by cause", "The repair says the cause, often in the winter after."},
	{"counter", "counters", "Counters", "How much they moved, by the readings before, during and after."},
}

// comparePage writes down two sides and what differs.
func (b *book) comparePage(sides [2]sideOf, changes []rules.Change) (*paper.Page, error) {
	st, err := b.now()
	if err != nil {
		return nil, err
	}
	k := &comparePage{c: b.c, b: b, st: st, sides: sides, changes: changes, heads: [2]string{sides[0].label, sides[1].label}}
	if k.heads[0] == k.heads[1] { // a day as it was known on two days
		k.heads = [2]string{sides[0].words, sides[1].words}
	}
	if k.heads[0] == k.heads[1] {
		k.heads = [2]string{"the one: " + k.heads[0], "the other: " + k.heads[1]}
	}
	return k.page(), nil
}

func (k *comparePage) machine() *rules.Machine { return k.sides[1].Machine }

func (k *comparePage) sameMachine() bool { return k.sides[0].Machine.ID == k.sides[1].Machine.ID }

func (k *comparePage) page() *paper.Page {
	title := k.heads[0] + " beside " + k.heads[1]
	if k.sameMachine() {
		title = k.sides[0].Machine.Name + ": " + title
	}
	p := &paper.Page{
		Title: title, Kind: "comparison",
		Under: []paper.Text{paper.Say(capital(k.sides[0].words) + "."), paper.Say(capital(k.sides[1].words) + "."),
			paper.Say("From the book \u201c" + k.b.log.Title() + "\u201d, as it stood on " + weekday(record.Done(k.st.On)) + ". Only what differs is listed.")},
		Running: fmt.Sprintf("%s, as of %s, book %s", title, k.st.On, k.b.log.ID().Short()),
	}
	for _, s := range []paper.Section{k.unsound(), k.short()} {
		if len(s.Blocks) > 0 {
			p.Sections = append(p.Sections, s)
		}
	}
	for _, part := range compareParts {
		if s := k.section(part); len(s.Blocks) > 0 {
			p.Sections = append(p.Sections, s)
		}
	}
	if s := k.alike(); len(s.Blocks) > 0 {
		p.Sections = append(p.Sections, s)
	}
	if s := k.sources(p); len(s.Blocks) > 0 {
		p.Sections = append(p.Sections, s)
	}
	p.Foot = []paper.Text{paper.Say(manualRules + " Local codes and licensed practice come before this page.")}
	return p
}

// unsound stands before all else where the book does not verify.
func (k *comparePage) unsound() paper.Section {
	var lines []paper.Text
	wrong := k.b.errors()
	if len(wrong) == 0 {
		return paper.Section{}
	}
	for _, line := range wrong[:min(len(wrong), 5)] {
		lines = append(lines, paper.Say(line))
	}
	lines = append(lines, paper.Say("What is below was made from what can still be read. shedbook audit says more."))
	return paper.Section{ID: "unsound", Blocks: []paper.Block{paper.Notice{Grave: true, Title: "The book that this was made from does not verify", Lines: lines}}}
}

// of are the changes of one kind.
func (k *comparePage) of(what string) []rules.Change {
	return slices.DeleteFunc(slices.Clone(k.changes), func(x rules.Change) bool { return x.What != what })
}

// short says in a few lines where the sides differ, and what cannot be concluded from it.
func (k *comparePage) short() paper.Section {
	s := paper.Section{ID: "short", Title: "In short"}
	if len(k.changes) == 0 {
		s.Blocks = []paper.Block{paper.Para{Text: paper.Say("Nothing that is written down differs.")}}
		return s
	}
	var lines []paper.Text
	for _, part := range compareParts {
		if said := k.inShort(k.of(part.what)); said != "" {
			lines = append(lines, paper.Say(part.title+": "+said+"."))
		}
	}
	s.Blocks = append(s.Blocks, paper.List{Items: lines})
	if k.sides[1].setup {
		return s
	}
	caution := "No entry tells weather, ground and seed. A change beside a result does not prove that the one made the other."
	if len(k.of("outcome")) == 0 {
		caution = k.resultsUnread() + " So this page says what changed, and not whether it did any good."
	}
	s.Blocks = append(s.Blocks, paper.Para{Text: paper.Text{Words: caution, Mark: paper.Mark{Kind: paper.Watch, Word: "mind"}}})
	return s
}

// inShort names what a part of the page lists; where that is little, with both sides.
func (k *comparePage) inShort(list []rules.Change) string {
	var things, values []string
	for _, x := range list {
		thing := k.title(x)
		if x.What == "fault" {
			thing = "\u201c" + thing + "\u201d"
		}
		if slices.Contains(things, thing) && x.What == "rate" { // all places come first, then groups of them
			continue
		}
		values = append(values, marks(thing, k.c.whereOf(k.machine(), x), k.shortText(x, x.From)+" beside "+k.shortText(x, x.To)))
		if !slices.Contains(things, thing) {
			things = append(things, thing)
		}
	}
	if all := strings.Join(values, "; "); len(values) <= 3 && len(all) <= fewWords {
		return all
	}
	if n := len(things); n > 6 {
		things = append(things[:5], fmt.Sprintf("%d more", n-5))
	}
	changed := 0
	for _, x := range list {
		if len(x.From.Held)+len(x.To.Held) > 0 {
			changed++
		}
	}
	switch {
	case changed == 0:
		return strings.Join(things, ", ")
	case changed == len(list):
		return strings.Join(things, ", ") + ", changed during a season"
	}
	return strings.Join(things, ", ") + fmt.Sprintf(", %d of %d lines changed during a season", changed, len(list))
}

// fewWords is how long a line of the summary may be, in bytes: two places of one setting, each changed on both sides.
const fewWords = 280

// resultsUnread says why no result stands on the page.
func (k *comparePage) resultsUnread() string {
	var unread, alike []string
	if f := k.machine().Fitted; f != nil {
		for i := range f.Readings {
			r := &f.Readings[i]
			name := "\u201c" + sentence.Title(r.Title, r.Name) + "\u201d"
			switch {
			case !r.Outcome:
			case len(rules.ReadingPairs(k.sides[0].Side, k.sides[1].Side, r.Name)) == 0:
				unread = append(unread, name)
			default:
				alike = append(alike, name)
			}
		}
	}
	if len(unread)+len(alike) == 0 {
		return "The schedule has no reading of what the work came to."
	}
	var out []string
	if len(alike) > 0 {
		out = append(out, "What the work came to reads alike on both sides: "+strings.Join(alike, ", ")+".")
	}
	if len(unread) > 0 {
		out = append(out, "What the work came to was read on neither side: "+strings.Join(unread, ", ")+".")
	}
	return strings.Join(out, " ")
}

// title is what a line is about, as people say it.
func (k *comparePage) title(x rules.Change) string {
	title, f := "", k.machine().Fitted
	switch x.What {
	case "fault":
		_, word := weight(x.Name)
		return word
	case "cause":
		return x.Name
	}
	if f == nil {
		return sentence.Title("", x.Name)
	}
	switch x.What {
	case "setting":
		if d, ok := f.Setting(x.Name); ok {
			title = d.Title
		}
	case "reading", "outcome", "rate":
		if d, ok := f.Reading(x.Name); ok {
			title = d.Title
		}
	case "job", "missed":
		if d, ok := f.Job(x.Name); ok {
			title = d.Title
		}
	}
	return sentence.Title(title, x.Name)
}

// section lists the changes of one kind, and draws those that stand place by place.
func (k *comparePage) section(part comparePart) paper.Section {
	s := paper.Section{ID: part.id, Title: part.title, Note: part.note}
	list := k.of(part.what)
	if len(list) == 0 {
		return s
	}
	if part.what == "setting" {
		s.Note = k.settingNote()
	}
	t := paper.Table{Columns: []paper.Column{{Title: "what"}, {Title: "where"}, {Title: k.heads[0]}, {Title: k.heads[1]}, {Title: "last", Narrow: true}, {Title: "by"}}}
	whole := !slices.ContainsFunc(list, func(x rules.Change) bool { return k.c.whereOf(k.machine(), x) != "" })
	undated := !slices.ContainsFunc(list, func(x rules.Change) bool { return lastOf(x).Since != "" })
	for _, x := range list {
		first, last := paper.Say(capital(k.title(x))), lastOf(x)
		if x.What == "fault" {
			kind, word := weight(x.Name)
			first = paper.Text{Mark: paper.Mark{Kind: kind, Word: word}}
		}
		t.Rows = append(t.Rows, paper.Row{Cells: []paper.Text{first, paper.Say(k.c.whereOf(k.machine(), x)), k.cell(x, x.From), k.cell(x, x.To), paper.Say(last.Since.Date()), paper.Say(personName(k.st, last.Person))}})
	}
	if undated {
		dropColumn(&t, 5)
		dropColumn(&t, 4)
	}
	switch one := k.oneThing(list); {
	case whole:
		dropColumn(&t, 1)
	case one != "": // its name above all lines instead of before each
		t.Caption = capital(one)
		dropColumn(&t, 0)
	}
	s.Blocks = append(s.Blocks, t)
	s.Blocks = append(s.Blocks, k.why(list)...)
	drawn := map[string]bool{}
	for _, x := range list {
		if !drawn[x.Name] {
			drawn[x.Name] = true
			s.Blocks = append(s.Blocks, k.figure(x)...)
		}
	}
	return s
}

// settingNote says which of a season's values are set side by side.
func (k *comparePage) settingNote() string {
	if k.sides[0].From == "" && k.sides[1].From == "" {
		return "As they stood then."
	}
	return "Of a season, the value that stood for most of its use, by the machine's own counter; by days where that cannot tell. What was changed meanwhile is said."
}

// oneThing is what all of several lines are about; "" where they differ in it, or one of them is about the machine as a whole.
func (k *comparePage) oneThing(list []rules.Change) string {
	if len(list) < 2 || slices.ContainsFunc(list, func(x rules.Change) bool {
		return x.Name != list[0].Name || x.What == "fault" || k.c.whereOf(k.machine(), x) == ""
	}) {
		return ""
	}
	return k.title(list[0])
}

// dropColumn leaves a column out.
func dropColumn(t *paper.Table, i int) {
	t.Columns = slices.Delete(t.Columns, i, i+1)
	for r := range t.Rows {
		t.Rows[r].Cells = slices.Delete(t.Rows[r].Cells, i, i+1)
	}
}

// cell is one side of a line with what it rests on.
func (k *comparePage) cell(x rules.Change, f rules.Found) paper.Text {
	return says(k.text(x, f), f.Entries...)
}

// shortText is a side in few words.
func (k *comparePage) shortText(x rules.Change, f rules.Found) string {
	if x.What == "setting" {
		return k.c.settingShort(f.Value, f.Last, len(f.Held) > 0)
	}
	return k.text(x, f)
}

func (k *comparePage) text(x rules.Change, f rules.Found) string {
	text := k.c.foundText(x, f)
	if x.What == "part" && f.Since != "" {
		text = "fitted " + strings.TrimPrefix(text, "of ")
	}
	return text
}

// lastOf is the side of a line that says when it came about last, and by whom: the second, else the first.
func lastOf(x rules.Change) rules.Found {
	if x.To.Since == "" {
		return x.From
	}
	return x.To
}

// why is how lines were worked out, folded away: it is long, and asked for by few.
func (k *comparePage) why(list []rules.Change) []paper.Block {
	var items []paper.Row
	for _, x := range list {
		about := capital(strings.TrimSpace(k.title(x) + before(", ", k.c.whereOf(k.machine(), x))))
		for _, line := range k.c.whyOf(k.sides, x) {
			items = append(items, paper.Row{Cells: []paper.Text{paper.Say(about), says(line.text, line.entries...)}})
		}
	}
	if len(items) == 0 {
		return nil
	}
	return []paper.Block{paper.Table{Columns: []paper.Column{{Title: "line"}, {Title: "how it came about"}}, Rows: items, Fold: "show how these came about"}}
}

// alike names what was looked at and differs in nothing.
func (k *comparePage) alike() paper.Section {
	s := paper.Section{ID: "alike", Title: "What does not differ"}
	if len(k.changes) == 0 || k.sides[1].setup {
		return s
	}
	var items []paper.Text
	for _, part := range compareParts {
		if len(k.of(part.what)) == 0 {
			items = append(items, paper.Say(part.title))
		}
	}
	if len(items) > 0 {
		s.Note = "Alike on both sides, or written down on neither."
		s.Blocks = []paper.Block{paper.List{Items: items}}
	}
	return s
}

// sources lists the entries that the page names.
func (k *comparePage) sources(p *paper.Page) paper.Section {
	want := cited(p)
	var list []paper.Source
	for _, l := range k.b.history(k.st, historyFilter{all: true}) {
		if want[string(l.id)] {
			list = append(list, paper.Source{ID: string(l.id), Done: l.done.Date(), Written: l.written(k.c).Format("2006-01-02"), Who: l.who, Says: strings.Join(append([]string{l.text(k.c)}, l.marks...), " ")})
		}
	}
	s := paper.Section{ID: "entries", Title: "The entries that this page names", Note: "In the order in which the work was done. shedbook history has them all."}
	if len(list) > 0 {
		s.Blocks = []paper.Block{paper.Sources{Entries: list, Fold: fmt.Sprintf("show the %s", entryCount(len(list)))}}
	}
	return s
}
