package paper

import (
	"fmt"
	"math"
)

// Left is how much wear is left at each place, in the machine's own order of places: a bar each, from none (the limit) to all (new).
type Left struct {
	What string // "disc, edge to hub"
	Ends string // what stands at no wear left: "limit 5.25 in"; the schedule's, which the manual overrules
	Rows []LeftRow
}

// LeftRow is a rank, or all places where there are none.
type LeftRow struct {
	Name   string // "front rank"; "" for none
	Places []LeftBar
}

// LeftBar is one place.
type LeftBar struct {
	Label string  // "12"
	Share float64 // 1 new, 0 at the limit, below 0 past it; NaN: not known
	// Today is where it likely stands today; NaN: nobody can say.
	Today float64
	// Low and High are where it is likely to stand at the end of the coming season; both NaN: nobody can say.
	Low, High float64
	Size      string // "5.4 in", as last measured
	Day       string // when
	Note      string // "change now", "assumed", "changed 2026-04-02"; stands in the table
	Change    bool   // to be changed now: drawn with a mark
	Gone      bool   // out of use: crossed out, with its bar where it was measured
	From      []string
}

func (c Left) draw(width float64) drawing {
	d := drawing{Width: width}
	left, right, tall, gap := 40.0, width-4, 92.0, 34.0
	y := 16.0
	for _, row := range c.lines(right - left) {
		if row.Name != "" {
			d.words("label", 0, y-2, row.Name)
			y += 6
		}
		lo := 0.0
		for _, b := range row.Places {
			for _, v := range []float64{b.Share, b.Today, b.Low} {
				if finite(v) {
					lo = min(lo, v)
				}
			}
		}
		lo = max(lo, -.5)
		up := scale{lo, 1, y + tall, y}
		for _, v := range []float64{0, .5, 1} {
			class := "grid"
			if v == 0 {
				class = "limit"
			}
			d.line(class, [2]float64{left, up.at(v)}, [2]float64{right, up.at(v)})
			d.words("tick at-end", left-5, up.at(v)+4, fmt.Sprintf("%.0f%%", 100*v))
		}
		each := (right - left) / float64(max(len(row.Places), 1))
		each = min(each, 30)
		every := 1
		for _, b := range row.Places { // every n-th label, evenly: two never run together
			for every < len(row.Places) && each*float64(every) < 6.5*float64(len([]rune(b.Label)))+4 {
				every++
			}
		}
		for i, b := range row.Places {
			x := left + each*float64(i)
			mid := x + each/2
			switch {
			case b.Gone && !finite(b.Share):
			case !finite(b.Share):
				d.words("tick at-middle", mid, up.at(0)-4, "?")
			case b.Change:
				d.box("bar worn", x+each*.16, up.at(0), each*.68, up.at(max(min(b.Share, 1), lo))-up.at(0))
				d.dot("triangle", "mark-on grave", mid, up.at(max(min(b.Share, 1), 0))-8, 4)
			default:
				d.box("bar one", x+each*.16, up.at(0), each*.68, up.at(max(min(b.Share, 1), lo))-up.at(0))
			}
			if finite(b.Low) && finite(b.High) {
				d.line("whisker", [2]float64{mid, up.at(max(b.Low, lo))}, [2]float64{mid, up.at(min(b.High, 1))})
			}
			if finite(b.Today) {
				at := up.at(max(min(b.Today, 1), lo))
				d.line("today", [2]float64{x + each*.06, at}, [2]float64{x + each*.94, at})
			}
			if b.Gone {
				r := min(4, each*.3)
				d.line("out", [2]float64{mid - r, up.at(0) - 5 - r}, [2]float64{mid + r, up.at(0) - 5 + r})
				d.line("out", [2]float64{mid - r, up.at(0) - 5 + r}, [2]float64{mid + r, up.at(0) - 5 - r})
			}
			if i%every == 0 {
				d.words("small at-middle", mid, y+tall+13, cut(b.Label, 2*each+8))
			}
		}
		y += tall + gap
	}
	if len(d.Shapes) == 0 {
		d.words("label", 0, 18, "nothing is measured")
	}
	d.Height = max(y-8, 30)
	return d
}

// lines cuts rows that do not fit the width, so that a bar is never thinner than 9 pixels.
func (c Left) lines(room float64) []LeftRow {
	most := max(1, int(room/9))
	var out []LeftRow
	for _, r := range c.Rows {
		for n := 0; len(r.Places) > most; n++ {
			parts := (len(r.Places) + most - 1) / most
			size := (len(r.Places) + parts - 1) / parts
			out = append(out, LeftRow{r.Name, r.Places[:size]})
			r = LeftRow{"", r.Places[size:]}
		}
		if len(r.Places) > 0 {
			out = append(out, r)
		}
	}
	return out
}

func (c Left) Table() Table {
	t := Table{Caption: c.What, Columns: []Column{{Title: "place", Narrow: true}, {Title: "left when measured", Number: true}, {Title: "measured", Number: true}, {Title: "when", Narrow: true}, {Title: "likely left today", Number: true}, {Title: "after the season", Number: true}, {Title: ""}}, Foot: c.Ends}
	for _, r := range c.Rows {
		for _, b := range r.Places {
			share, now, ahead := "not known", "", ""
			if finite(b.Share) {
				share = percent(b.Share)
			}
			if finite(b.Today) {
				now = percent(b.Today)
			}
			if finite(b.Low) && finite(b.High) {
				ahead = percent(b.Low) + " to " + percent(b.High)
			}
			label := b.Label
			if r.Name != "" {
				label += ", " + r.Name
			}
			t.Rows = append(t.Rows, Row{[]Text{Say(label), Say(share), Say(b.Size), Say(b.Day), Say(now), Say(ahead), Say(b.Note, b.From...)}})
		}
	}
	return t
}

func percent(v float64) string { return fmt.Sprintf("%d %%", int(math.Round(100*v))) }
