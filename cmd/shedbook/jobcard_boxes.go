package main

import (
	"math/big"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/paper"
	"shedbook/cmd/shedbook/internal/sentence"
	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// boxesOf gives a task a box for each place in walking order: to write in for each reading of the job, else to tick where there are several places.
func (c *call) boxesOf(k *card, t *cardTask, job *schedule.Job, b *paper.Task) {
	f := k.m.Fitted
	for _, name := range job.Measures {
		def, ok := f.Reading(name)
		if !ok || def.Computed != nil {
			continue
		}
		at := t.at
		if def.Of != job.Of {
			at = f.All(def.Of)
		}
		set := paper.Boxes{Caption: c.readingCaption(def), Write: []string{""}}
		if def.Part == "" && len(def.Grades) == 0 {
			set.Write = []string{"found", "left"}
		}
		hands := []string{""}
		if p, _, ok := f.Noun(def.Of); ok && def.Handed && len(p.Hands) > 0 {
			hands = p.Hands
		}
		set.Rows = walkRows(f, at, hands, func(p record.Position, hand string) paper.Box {
			box := paper.Box{Last: c.lastValue(k.m, def, p, hand)}
			if len(def.Grades) > 0 && len(def.Grades) <= 4 {
				box.Ticks = def.Grades
			}
			return box
		})
		if len(def.Grades) > 0 && len(def.Grades) <= 4 {
			set.Write = nil
		}
		if len(set.Rows) > 0 {
			b.Boxes = append(b.Boxes, set)
		}
	}
	if len(b.Boxes) > 0 || t.at.Len() < 2 {
		return
	}
	caption := "tick each one that is done"
	var ticks []string
	if slices.Contains(job.Results, "moved") {
		caption, ticks = "tick each one that is done, and those that moved", []string{"moved"}
	}
	rows := walkRows(f, t.at, []string{""}, func(record.Position, string) paper.Box { return paper.Box{Ticks: ticks} })
	b.Boxes = append(b.Boxes, paper.Boxes{Caption: caption, Rows: rows})
}

// walkRows puts places into the stretches they are walked in: one for each noun and rank.
func walkRows(f *schedule.Fitted, at record.Positions, hands []string, box func(record.Position, string) paper.Box) []paper.BoxRow {
	if at.IsZero() {
		b := box(record.Position{}, "")
		b.Label = "all"
		return []paper.BoxRow{{Boxes: []paper.Box{b}}}
	}
	walk := f.Walk(at)
	var out []paper.BoxRow
	for i, p := range walk {
		if i == 0 || walk[i-1].Noun != p.Noun || f.Rank(walk[i-1]) != f.Rank(p) {
			out = append(out, paper.BoxRow{Name: stretchName(f, walk[i:])})
		}
		row := &out[len(out)-1]
		for _, h := range hands {
			b := box(p, h)
			b.Label = strings.ReplaceAll(strings.TrimPrefix(p.String(), p.Noun+"/"), "-", " ")
			if h != "" {
				b.Label += " " + strings.ToUpper(h[:1])
			}
			row.Boxes = append(row.Boxes, b)
		}
	}
	return out
}

// stretchName says which rank the places begin with, and which way it is walked; "" where there is one rank only, walked from the left.
func stretchName(f *schedule.Fitted, walk []record.Position) string {
	p, _, ok := f.Noun(walk[0].Noun)
	if !ok || p.Ranks == "" || p.Ranks == "1" {
		return ""
	}
	rank := f.Rank(walk[0])
	var name string
	switch {
	case rank == 1:
		name = "front rank"
	case p.Ranks == "2":
		name = "rear rank"
	default:
		name = "rank " + big.NewInt(int64(rank)).String()
	}
	same := slices.IndexFunc(walk, func(q record.Position) bool { return q.Noun != walk[0].Noun || f.Rank(q) != rank })
	if same < 0 {
		same = len(walk)
	}
	if last := walk[same-1]; last != walk[0] {
		if last.Compare(walk[0]) < 0 {
			return name + ", from the right"
		}
		return name + ", from the left"
	}
	return name
}

// readingCaption is what is written, in what, how it is measured and what it may be.
func (c *call) readingCaption(def *schedule.Reading) string {
	s := def.Title
	if s == "" {
		s = def.Name
	}
	if u := def.Unit.String(); u != "" {
		s += ", in " + u
	}
	if l := def.Limit; l != nil {
		words := limitWords(l, func(q quantity.Quantity) string { return sentence.Value(record.Amount(q), c.system) })
		if l.HasShare && def.HasNew {
			words += "; new " + sentence.Value(record.Amount(def.New), c.system)
		}
		s += before(" (limit: ", words) + iff(words != "", ")")
	}
	if len(def.Condition) > 0 {
		s += "; at what " + strings.Join(def.Condition, ", ") + ": ______"
	}
	if def.How != "" {
		s += ". " + def.How
	}
	return s
}

// lastValue is the latest value of a reading in a place, as it was left or found.
func (c *call) lastValue(m *rules.Machine, def *schedule.Reading, p record.Position, hand string) string {
	all := m.Readings[def.Name][rules.SlotName(p, hand)]
	for i := len(all) - 1; i >= 0; i-- {
		v := all[i].Left
		if v.IsZero() {
			v = all[i].Found
		}
		if v.IsZero() {
			continue
		}
		if q, ok := v.Quantity(); ok {
			return q.Number()
		}
		return v.Word()
	}
	return ""
}

// minutes are those of all the lines of a task.
func (t *cardTask) minutes() *big.Rat {
	sum := new(big.Rat)
	for _, l := range t.lines {
		if l.Minutes != nil {
			sum.Add(sum, l.Minutes)
		}
	}
	return sum
}
