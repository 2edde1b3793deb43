package main

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/paper"
	"shedbook/cmd/shedbook/internal/sentence"
	"shedbook/rules"
	"shedbook/rules/record"
)

// Bounds of what the page lists; what is beyond stands in the evidence, and is counted.
const (
	saleRows  = 150 // of a list of entries, newest first
	salePlace = 400 // of the list by places
	saleOpen  = 12  // rows that a reader sees without opening a list
	salePrint = 60  // rows of a list to open that are printed all the same
)

// replaced is what went into the machine and what was turned or rebuilt: by entry, newest first, and by place.
func (s *saleFile) replaced() paper.Section {
	out := paper.Section{ID: "parts", Title: "Parts replaced"}
	swaps := s.swaps()
	if len(swaps) == 0 {
		out.Blocks = []paper.Block{paper.Para{Text: paper.Say("No part was replaced, turned or rebuilt as far as this record goes.")}}
		return out
	}
	out.Note = "By place first: who put a part in, when, at what use and why stands in the row of its place. \"Not said\" means that whoever wrote it gave no reason."
	out.Blocks = append(out.Blocks, s.byPlace(swaps)...)
	columns := []paper.Column{{Title: "done", Narrow: true}, {Title: "what and where"}, {Title: "why"}, {Title: "by"}, {Title: "at", Narrow: true}}
	var rows []paper.Row
	for i := len(swaps) - 1; i >= 0; i-- {
		x := swaps[i]
		rows = append(rows, paper.Row{Cells: []paper.Text{paper.Say(sinceDay(x.line.done)), says(x.what(s), x.line.id), paper.Say(x.reason()), paper.Say(x.line.who), paper.Say(s.useAt(x.line.done))}})
	}
	if len(rows) <= saleRows { // the rows by place say it all on paper
		out.Blocks = append(out.Blocks, paper.Table{Columns: columns, Rows: rows, Fold: fmt.Sprintf("All of it, newest first: %s", countWords(len(rows), "line")), Screen: true})
		return out
	}
	out.Blocks = append(out.Blocks, s.newestFirst("All of it, newest first", columns, rows)...)
	return out
}

// newestFirst is a list of which the first rows are seen, more are folded, and the rest is counted.
func (s *saleFile) newestFirst(caption string, columns []paper.Column, rows []paper.Row) []paper.Block {
	left := len(rows) - saleRows
	rows = rows[:min(len(rows), saleRows)]
	first := rows
	if len(rows) > saleOpen+3 {
		first = rows[:saleOpen]
	}
	out := []paper.Block{paper.Table{Caption: caption, Columns: columns, Rows: first}}
	if len(first) < len(rows) {
		t := paper.Table{Columns: columns, Rows: rows[len(first):], Fold: fmt.Sprintf("show %d earlier ones", len(rows)-len(first)), Printed: len(rows)-len(first) <= salePrint}
		if left > 0 {
			t.Foot = fmt.Sprintf("and %d before these: in the evidence", left)
		}
		out = append(out, t)
	}
	return out
}

// swapLine is one entry about parts.
type swapLine struct {
	line *historyLine
	swap *record.Swap
}

func (s *saleFile) swaps() []swapLine {
	var out []swapLine
	for _, id := range s.order {
		l := s.lines[id]
		if l.fate.State != counts && l.fate.State != corrected {
			continue
		}
		if r, ok := l.record.(*record.Swap); ok {
			out = append(out, swapLine{l, r})
		}
	}
	return out
}

var swapWords = map[string]string{
	record.SwapNew: "new", record.SwapExchange: "exchanged with another place", record.SwapOut: "taken out", record.SwapIn: "put in",
	record.SwapTurned: "turned", record.SwapSharpened: "sharpened", record.SwapRebuilt: "rebuilt",
}

// what is the act, the part and its places: "new disc, openers 1, 12".
func (x *swapLine) what(s *saleFile) string {
	part := strings.TrimSpace(x.swap.Hand + " " + strings.ReplaceAll(x.swap.Part, "-", " "))
	what := part + " " + swapWords[x.swap.Act]
	if x.swap.Act == record.SwapNew {
		what = "new " + part
		if x.swap.From != "" {
			what = part + " from the shelf"
		}
	}
	at := s.places(x.at(s).Union(x.swap.With))
	if used := x.swap.Used; used.Sign() > 0 {
		what += ", used: " + s.amount(used) + " as claimed"
	}
	return what + before(", ", at) + before("; serial ", strings.Join(x.swap.Serials, ", "))
}

func (x *swapLine) at(s *saleFile) record.Positions {
	return positionsOf(s.m.Fitted, x.swap).Without(x.swap.With)
}

var whyWords = map[string]string{"worn": "worn", "in-time": "in time, before it was worn out", "with-set": "with the set", "broken": "broken"}

func (x *swapLine) why() string {
	if w := whyWords[x.swap.Why]; w != "" {
		return w
	}
	return cmp.Or(x.swap.Why, "not said")
}

// reason is why, with the writer's own words where he left any.
func (x *swapLine) reason() string {
	if p := x.line.private; p != nil && p.Text != "" {
		if x.swap.Why == "" {
			return p.Text
		}
		return x.why() + ": " + p.Text
	}
	return x.why()
}

// placeStory is what happened to one part's place.
type placeStory struct {
	part  string
	of    record.Position
	swaps []swapLine
}

// byPlace tells each part's places at which anything was done, newest first in each; places alike share a row.
func (s *saleFile) byPlace(swaps []swapLine) []paper.Block {
	stories := map[string]*placeStory{}
	var keys []string
	for _, x := range swaps {
		all := x.at(s).Union(x.swap.With).All()
		if len(all) == 0 {
			all = []record.Position{{}}
		}
		for _, p := range all {
			key := x.swap.Part + "\x00" + p.String()
			if stories[key] == nil {
				stories[key] = &placeStory{part: x.swap.Part, of: p}
				keys = append(keys, key)
			}
			stories[key].swaps = append(stories[key].swaps, x)
		}
	}
	parts := map[string][]*placeStory{}
	for _, k := range keys {
		parts[stories[k].part] = append(parts[stories[k].part], stories[k])
	}
	var listed []string
	if s.m.Fitted != nil {
		for _, x := range s.m.Fitted.Parts {
			listed = append(listed, x.Name)
		}
	}
	gone := s.outgoing()
	var out []paper.Block
	rows := 0
	for _, part := range inOrder(parts, listed) {
		list := parts[part]
		if len(list) == 0 {
			continue
		}
		slices.SortStableFunc(list, func(a, b *placeStory) int { return a.of.Compare(b.of) })
		t := paper.Table{Columns: []paper.Column{{Title: "where", Narrow: true}, {Title: "the last first"}}}
		for _, p := range list {
			if rows++; rows > salePlace {
				t.Foot = "more places: in the evidence"
				break
			}
			t.Rows = append(t.Rows, s.placeRow(p, gone))
		}
		if len(t.Rows) > 0 {
			t.Printed = len(t.Rows) <= salePrint
			t.Fold = fmt.Sprintf("%s, place by place: %s", capital(strings.ReplaceAll(part, "-", " ")), countWords(len(t.Rows), "place"))
			out = append(out, t)
		}
	}
	return out
}

func (s *saleFile) placeRow(p *placeStory, gone map[string]string) paper.Row {
	where := "the machine"
	if p.of != (record.Position{}) {
		where = sentence.Places(s.m, record.NewPositions(p.of), "")
	}
	tell := func(x swapLine) string {
		said := sinceDay(x.line.done) + ": " + swapWords[x.swap.Act] + before(" at ", s.useAt(x.line.done)) + ", by " + x.line.who
		if x.swap.Act != record.SwapIn || x.reason() != "not said" {
			said += "; why: " + x.reason()
		}
		return said + gone[string(x.line.id)+"\x00"+p.of.String()]
	}
	n := len(p.swaps)
	earlier, from := []string{tell(p.swaps[n-1])}, []record.ID{p.swaps[n-1].line.id}
	for i := n - 2; i >= 0; i-- {
		if len(earlier) == 4 {
			earlier = append(earlier, fmt.Sprintf("And %d before", i+1))
			break
		}
		earlier = append(earlier, tell(p.swaps[i]))
		from = append(from, p.swaps[i].line.id)
	}
	return paper.Row{Cells: []paper.Text{paper.Say(where), says(strings.Join(earlier, ". "), from...)}}
}

// outgoing is what the part had worked that an entry took out of a place: "; the one before had 2,104 ac".
func (s *saleFile) outgoing() map[string]string {
	k := s.mainCounter()
	out := map[string]string{}
	if k == nil {
		return out
	}
	for _, p := range s.st.Parts {
		for i, stay := range p.Stays {
			if stay.Machine != s.m.ID || stay.End == "" {
				continue
			}
			total, about := p.Stays[0].Use[k.Name], false
			for _, x := range p.Stays[:i+1] {
				about = about || !s.readThen(x.From) || !s.readThen(x.To)
			}
			for _, earlier := range p.Stays[1 : i+1] {
				if sum, err := total.Add(earlier.Use[k.Name]); err == nil {
					total = sum
				}
			}
			if total.Sign() <= 0 {
				continue
			}
			at, _ := rules.SplitSlot(stay.Slot)
			out[string(stay.End)+"\x00"+at.String()] = "; what came out had " + iff(about, "about ") + s.amount(total) + iff(p.Assumed, ", part of it assumed")
		}
	}
	return out
}

// readThen reports a moment at which the main counter's use is known by its readings; the beginning of the record is one.
func (s *saleFile) readThen(d record.Done) bool {
	if d == "" {
		return true
	}
	_, read, ok := s.m.UseRead(s.mainCounter().Name, d)
	return ok && read
}

// repaired is every repair and every fault that was put right, newest first.
func (s *saleFile) repaired() paper.Section {
	out := paper.Section{ID: "repairs", Title: "Repairs and faults put right"}
	columns := []paper.Column{{Title: "done", Narrow: true}, {Title: "what"}, {Title: "by"}, {Title: "at", Narrow: true}}
	var rows []paper.Row
	closed := map[record.ID]*faultView{}
	for i := range s.v.Faults {
		if f := &s.v.Faults[i]; !f.Open {
			closed[f.ID] = f
		}
	}
	for i := len(s.order) - 1; i >= 0; i-- {
		l := s.lines[s.order[i]]
		if l.fate.State != counts && l.fate.State != corrected {
			continue
		}
		what := ""
		from := []record.ID{l.id}
		switch r := l.record.(type) {
		case *record.Repair:
			what = l.text(s.c)
			from = append(from, r.Closes...)
		case *record.Fault:
			f := closed[l.id]
			if f == nil {
				continue
			}
			what = l.text(s.c) + "; put right " + sinceDay(f.Closed)
			if f.ClosedBy != "" {
				from = append(from, f.ClosedBy)
			}
		default:
			continue
		}
		rows = append(rows, paper.Row{Cells: []paper.Text{paper.Say(sinceDay(l.done)), says(what, from...), paper.Say(l.who), paper.Say(s.useAt(l.done))}})
	}
	if len(rows) == 0 {
		out.Blocks = []paper.Block{paper.Para{Text: paper.Say("No repair was written, and no fault that was put right. A machine that worked for years without one is rare: ask.")}}
		return out
	}
	out.Blocks = append(s.comesBack(), s.newestFirst("", columns, rows)...)
	return out
}
