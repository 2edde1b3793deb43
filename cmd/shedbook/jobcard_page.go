package main

import (
	"fmt"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/paper"
	"shedbook/rules"
	"shedbook/rules/record"
)

// safetyLines stand on everything that is carried to a machine.
var safetyLines = []string{manualRules, "The operator's manual, local codes and licensed practice rule over anything printed here."}

// cardPage is a card for each machine asked about that has work, with a front sheet where there are several.
func (c *call) cardPage(b *book, st *rules.State, a carding) (*paper.Page, error) {
	day, words, err := c.cardDay(st, a.before)
	if err != nil {
		return nil, err
	}
	prep := prepared{st: st, words: words}
	if err := prep.gather(preparing{farm: a.farm, yard: a.yard, person: a.person, before: a.before, machine: a.machine}, day); err != nil {
		return nil, err
	}
	cards := c.cardsOf(prep)
	for _, card := range cards {
		card.phone = a.phone
	}
	name := strings.TrimSpace(a.machine + a.yard)
	if name == "" {
		name = a.farm
	}
	newest := newestOf(st, "")
	p := &paper.Page{Title: name, Kind: "job card", Print: true, Running: fmt.Sprintf("%s, job card of %s, %s, up to entry %s", name, st.On, b.log.Title(), newest.Short())}
	p.Under = append(p.Under, paper.Say(fmt.Sprintf("%s, as the book stood on %s; what is due or comes due by %s", b.log.Title(), weekday(record.Done(st.On)), words)))
	if a.person != "" {
		p.Under = append(p.Under, paper.Say("only what "+a.person+" did the last time, and what follows on it"))
	}
	if len(cards) == 0 {
		p.Sections = []paper.Section{{Title: "Nothing is known to come due by then", Blocks: c.nextUp(b, a)}}
	}
	if len(cards) > 1 {
		p.Sections = append(p.Sections, frontSheet(cards))
	}
	for i, card := range cards {
		p.Sections = append(p.Sections, c.machineCard(card, len(cards) > 1 || i > 0)...)
	}
	if a.person == "" {
		p.Sections = append(p.Sections, unjudgedWork(b, a)...)
	}
	for _, s := range safetyLines {
		p.Foot = append(p.Foot, paper.Say(s))
	}
	return p, nil
}

// unjudgedWork names the work of which the book cannot say whether it is due: a card that left it out would read as if it were done.
func unjudgedWork(b *book, a carding) []paper.Section {
	list, err := gatherDue([]*book{b}, a.farm, a.yard, a.machine, rules.Filter{All: true}, "", "")
	if err != nil { // the same names have just been found
		return nil
	}
	items := slices.DeleteFunc(list.items, func(i dueItem) bool { return i.State != rules.Unknown })
	if len(items) == 0 {
		return nil
	}
	var lines []paper.Text
	for _, s := range unknownLines(items) {
		lines = append(lines, paper.Say(s))
	}
	return []paper.Section{{Title: "Not known whether it is due", Whole: true, Note: "Look at these too: the book cannot tell.", Blocks: []paper.Block{paper.List{Items: lines}}}}
}

// nextUp is what comes first of what is not due yet.
func (c *call) nextUp(b *book, a carding) []paper.Block {
	list, err := gatherDue([]*book{b}, a.farm, a.yard, a.machine, rules.Filter{All: true}, "", "")
	if err != nil {
		return []paper.Block{paper.Para{Text: paper.Say(err.Error())}}
	}
	var rows []paper.Row
	known := slices.DeleteFunc(list.items, func(i dueItem) bool { return i.State == rules.Unknown })
	for _, r := range onOneLine(known, false) {
		if len(rows) == 12 {
			break
		}
		rows = append(rows, paper.Row{Cells: []paper.Text{paper.Say(r.Name + ": " + r.Title), paper.Say(r.Where), paper.Say(r.stands(c))}})
	}
	if len(rows) == 0 {
		return []paper.Block{paper.Para{Text: paper.Say("No job of the schedules can be told ahead: counters not read, or no schedule.")}}
	}
	return []paper.Block{paper.Table{Caption: "next, as far as it can be told", Columns: []paper.Column{{Title: "job"}, {Title: "where"}, {Title: "how it stands"}}, Rows: rows}}
}

// cardTask is one job of a machine at all the places where it is to be done: however it came about, a hand does it once.
type cardTask struct {
	rules.Task
	lines []dueItem // as the due list has it
	at    record.Positions
}

// card is the work of one machine in order.
type card struct {
	m     *rules.Machine
	st    *rules.State
	tasks []*cardTask
	prep  *prepared
	phone string // address of the page for phones; "" no squares
}

// cardsOf puts the work of a preparation together, machine by machine.
func (c *call) cardsOf(p prepared) []*card {
	var out []*card
	byMachine := map[record.ID]*card{}
	byJob := map[string]*cardTask{}
	for _, t := range p.Work {
		k := byMachine[t.Machine]
		if k == nil {
			k = &card{m: p.st.MachineByID(t.Machine), st: p.st, prep: &p}
			byMachine[t.Machine] = k
			out = append(out, k)
		}
		item := dueItem{t.Item, farmName(p.st, t.Farm), yardName(p.st, t.Yard), personName(p.st, t.By), describer(p.st, t.Machine), under(c, p.st, t.Item)}
		key := string(t.Machine) + " " + t.Job
		if old := byJob[key]; t.Job != "" && old != nil && old.at.IsZero() == t.Positions.IsZero() {
			old.lines, old.at = append(old.lines, item), old.at.Union(t.Positions)
			continue
		}
		n := &cardTask{Task: t, lines: []dueItem{item}, at: t.Positions}
		k.tasks = append(k.tasks, n)
		if t.Job != "" {
			byJob[key] = n
		}
	}
	return out
}

// worst is the most pressing of a task's lines.
func (t *cardTask) worst() *dueItem {
	w := &t.lines[0]
	for i := range t.lines {
		if slices.Compare(t.lines[i].rank(), w.rank()) < 0 {
			w = &t.lines[i]
		}
	}
	return w
}

// mark is how pressing a task is, as a word in a box.
func (t *cardTask) mark() paper.Mark {
	w := t.worst()
	switch {
	case w.rank()[0] < 0:
		return paper.Mark{Kind: paper.Stop, Word: "do not run until done"}
	case w.State == rules.Overdue:
		return paper.Mark{Kind: paper.Late, Word: "overdue"}
	case w.State == rules.DueNow, w.State == rules.Open:
		return paper.Mark{Kind: paper.Watch, Word: map[string]string{rules.DueNow: "due now", rules.Open: "open"}[w.State]}
	case len(t.Follows) > 0:
		return paper.Mark{Kind: paper.Plain, Word: "follows"}
	}
	return paper.Mark{Kind: paper.Plain, Word: "coming"}
}

// stands says in few words why, each way once.
func (t *cardTask) stands(c *call) string {
	if len(t.Follows) > 0 {
		return "after " + strings.Join(t.Follows, ", ")
	}
	var out []string
	rows := onOneLine(t.lines, false)
	for i := range rows {
		s := rows[i].stands(c)
		if len(rows) > 1 && rows[i].Where != "" {
			s = rows[i].Where + ": " + s
		}
		out = append(out, s)
	}
	return strings.Join(out, "; ")
}

// where is in the machine's words where a task is done.
func (t *cardTask) where() string {
	if t.at.IsZero() {
		return ""
	}
	return t.lines[0].describe(t.at)
}

// frontSheet lists the work of several machines, the most pressing first.
func frontSheet(cards []*card) paper.Section {
	type line struct {
		k *card
		t *cardTask
	}
	var all []line
	for _, k := range cards {
		for _, t := range k.tasks {
			all = append(all, line{k, t})
		}
	}
	slices.SortStableFunc(all, func(a, b line) int { return slices.Compare(a.t.worst().rank(), b.t.worst().rank()) })
	tb := paper.Table{Columns: []paper.Column{{Title: "machine", Narrow: true}, {Title: "job"}, {Title: "where"}, {Title: ""}}}
	for _, l := range all {
		tb.Rows = append(tb.Rows, paper.Row{Cells: []paper.Text{paper.Say(l.k.m.Name), paper.Say(l.t.Title), paper.Say(l.t.where()), {Mark: l.t.mark()}}})
	}
	return paper.Section{ID: "all", Title: "All of it, the most pressing first", Blocks: []paper.Block{tb}}
}
