package main

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/paper"
	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// fewestToDraw is how many places make a drawing worth its room: fewer are read faster in a line.
const fewestToDraw = 3

// figure draws a setting or a reading across the places of the machine, both sides beside each other. Words, few places, and settings that nobody changed from
// one value to another are not drawn.
func (k *comparePage) figure(x rules.Change) []paper.Block {
	var pairs []rules.Pair
	setting := x.What == "setting"
	switch x.What {
	case "setting":
		pairs = rules.SettingPairs(k.sides[0].Side, k.sides[1].Side, x.Name)
		if k.sides[1].setup { // what the set-up says nothing of is no difference
			pairs = slices.DeleteFunc(pairs, func(p rules.Pair) bool { return p.To.Value.IsZero() })
		}
	case "reading", "outcome":
		pairs = rules.ReadingPairs(k.sides[0].Side, k.sides[1].Side, x.Name)
	}
	pairs = slices.DeleteFunc(pairs, func(p rules.Pair) bool { return p.Place == record.Position{} })
	unit, ok := k.unitOf(pairs)
	apart := 0
	for _, p := range pairs {
		if p.Apart {
			apart++
		}
	}
	if !ok || len(pairs) < fewestToDraw || setting && apart == 0 {
		return nil
	}
	about := "Each place in the machine's own order, standing behind it. "
	of := fmt.Sprintf("%d of %d", apart, len(pairs))
	switch {
	case !setting && !k.sameMachine(): // the same number on two machines is nothing they have in common
		about += "Two machines: places of one number stand beside each other, no more."
		unmark(pairs)
	case 2*apart > len(pairs): // marks on most of them would hide the others
		about += of + " are set otherwise."
		unmark(pairs)
	case setting:
		about += "Marked are the places that are set otherwise: " + of + "."
	case apart > 0:
		about += "Marked are the places whose difference is unlike that of the others: " + of + "."
	default:
		about += "No place differs otherwise than the others do."
	}
	title := capital(k.title(x))
	chart := paper.Places{What: title, Unit: unit.String(), Series: []paper.PlaceSeries{{Name: k.heads[0]}, {Name: k.heads[1]}}, Rows: k.rows(pairs, unit)}
	return []paper.Block{paper.Figure{Title: title + ", place by place", About: about, Chart: chart}}
}

func unmark(pairs []rules.Pair) {
	for i := range pairs {
		pairs[i].Apart = false
	}
}

// unitOf is the unit that the values are drawn in: that in which the first of them is shown. False where none is an amount.
func (k *comparePage) unitOf(pairs []rules.Pair) (quantity.Unit, bool) {
	for _, p := range pairs {
		for _, v := range []record.Value{p.From.Value, p.To.Value} {
			if q, ok := v.Quantity(); ok {
				return k.c.usual(q).Unit(), true
			}
		}
	}
	return quantity.Unit{}, false
}

// rows puts the places into ranks, the front one first.
func (k *comparePage) rows(pairs []rules.Pair, unit quantity.Unit) []paper.PlaceRow {
	byRank := map[int][]paper.PlaceValue{}
	var ranks []int
	for _, p := range pairs {
		rank := 0
		for _, side := range k.sides { // one of two machines may have fewer places
			if f := side.Machine.Fitted; f != nil && rank == 0 {
				rank = f.Rank(p.Place)
			}
		}
		if byRank[rank] == nil {
			ranks = append(ranks, rank)
		}
		byRank[rank] = append(byRank[rank], k.placeValue(p, unit))
	}
	slices.Sort(ranks)
	var out []paper.PlaceRow
	for _, r := range ranks {
		row := paper.PlaceRow{Places: byRank[r]}
		switch {
		case len(ranks) == 1:
		case r == 0:
			row.Name = "places of no rank"
		default:
			row.Name = fmt.Sprint("rank ", r) + iff(r == 1, ", the front one")
		}
		out = append(out, row)
	}
	return out
}

func (k *comparePage) placeValue(p rules.Pair, unit quantity.Unit) paper.PlaceValue {
	v := paper.PlaceValue{Label: p.Place.String(), Odd: p.Apart}
	if i := strings.IndexByte(v.Label, '/'); i >= 0 {
		v.Label = v.Label[i+1:]
	}
	if p.Hand != "" {
		v.Label += strings.ToUpper(p.Hand[:1])
	}
	for _, side := range []rules.PairValue{p.From, p.To} {
		n, says := math.NaN(), ""
		if !side.Value.IsZero() {
			says = k.c.settingShort(side.Value, side.Last, side.Changed)
		}
		if q, ok := side.Value.Quantity(); ok {
			if q, err := q.In(unit, 6); err == nil {
				n = q.Float64()
			}
		}
		v.Values, v.Says = append(v.Values, n), append(v.Says, says)
		if side.Entry != "" && !slices.Contains(v.From, string(side.Entry)) {
			v.From = append(v.From, string(side.Entry))
		}
	}
	return v
}
