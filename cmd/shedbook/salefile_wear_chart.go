package main

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/paper"
	"shedbook/rules"
	"shedbook/rules/record"
)

// leftChart draws every place; ranks apart.
func (s *saleFile) leftChart(l *rules.Left) paper.Left {
	c := paper.Left{What: l.Title, Ends: "limit " + s.limit(l.Limit) + ", common practice: the operator's manual rules"}
	rows := map[int]*paper.LeftRow{}
	var ranks []int
	type bar struct {
		at record.Position
		paper.LeftBar
	}
	var bars []bar
	for i := range l.Places {
		bars = append(bars, bar{l.Places[i].Place, s.leftBar(l, i)})
	}
	for _, o := range s.outOf(l) {
		for _, p := range o.at.All() {
			if slices.ContainsFunc(l.Places, func(x rules.LeftPlace) bool { return x.Out != nil && x.Place == p }) {
				continue // what sits there has its bar
			}
			bars = append(bars, bar{p, paper.LeftBar{Label: placeLabel(p, ""), Share: math.NaN(), Low: math.NaN(), High: math.NaN(), Today: math.NaN(), Gone: true, Note: "out of use since " + sinceDay(o.Since) + ": " + o.Why, From: []string{string(o.Entry)}}})
		}
	}
	slices.SortStableFunc(bars, func(a, b bar) int { return a.at.Compare(b.at) }) // as they stand in the machine, not as one walks
	for _, x := range bars {
		rank := 0
		if s.m.Fitted != nil {
			rank = s.m.Fitted.Rank(x.at)
		}
		if rows[rank] == nil {
			rows[rank] = &paper.LeftRow{}
			ranks = append(ranks, rank)
		}
		rows[rank].Places = append(rows[rank].Places, x.LeftBar)
	}
	slices.Sort(ranks)
	for i, r := range ranks {
		row := rows[r]
		if len(ranks) > 1 {
			row.Name = fmt.Sprint("rank ", i+1)
			if i == 0 {
				row.Name += ", the front one"
			}
		}
		c.Rows = append(c.Rows, *row)
	}
	return c
}

func (s *saleFile) leftBar(l *rules.Left, i int) paper.LeftBar {
	p := &l.Places[i]
	b := paper.LeftBar{Label: placeLabel(p.Place, p.Hand), Share: math.NaN(), Low: math.NaN(), High: math.NaN(), Today: math.NaN(), Day: p.On.Date()}
	if p.On != "" {
		b.Size = s.size(p.Size)
		b.From = strs2(p.Entries[max(0, len(p.Entries)-1):])
	}
	if p.Known {
		b.Share = p.Share
	}
	if p.NowKnown {
		b.Today = p.NowShare
	}
	b.Note = marks(iff(p.Past, "past its limit"), iff(p.Assumed, "age assumed"))
	if p.On == "" {
		b.Note = marks(b.Note, s.neverSays(p))
	}
	if p.Out != nil {
		b.Gone, b.Note, b.From = true, marks("out of use since "+sinceDay(p.Out.Since)+": "+p.Out.Why, b.Note), append(b.From, string(p.Out.Entry))
	}
	if l.Wear == nil {
		return b
	}
	w := l.Worn(i)
	if b.Change = w.Do == rules.ChangeNow || p.Past; b.Change {
		b.Note = marks("change now", b.Note)
	}
	if f := w.Forecast; f != nil && p.Known && !l.Wear.Ahead.Blind {
		fresh, limit := p.New.Float64(), l.Wear.Limit
		x, y := (f.AtLimits.Low-limit)/(fresh-limit), (f.AtLimits.High-limit)/(fresh-limit)
		b.Low, b.High = min(x, y), max(x, y)
	}
	return b
}

// placeLabel is a place's number or name without its noun, and the hand's first letter.
func placeLabel(p record.Position, hand string) string {
	label := p.String()
	if i := strings.IndexByte(label, '/'); i >= 0 {
		label = label[i+1:]
	}
	if hand != "" {
		label += strings.ToUpper(hand[:1])
	}
	return label
}
