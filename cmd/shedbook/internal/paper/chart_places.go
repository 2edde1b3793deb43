package paper

import (
	"math"
	"slices"
)

// Places is a setting or a reading across the places of a machine, in their own order: one series, or two to compare.
type Places struct {
	What   string // "seeding depth"
	Unit   string
	Series []PlaceSeries // at most two are drawn
	Rows   []PlaceRow
}

// PlaceSeries names a set of values: a season, a day.
type PlaceSeries struct{ Name string }

// PlaceRow is a rank, or all places.
type PlaceRow struct {
	Name   string
	Places []PlaceValue
}

// PlaceValue is what one place had, series by series.
type PlaceValue struct {
	Label  string
	Values []float64 // NaN: not known
	Says   []string  // as it is written: "6", "5 1/4 in"
	Odd    bool      // differs from its neighbours, or between the series: named in the drawing
	From   []string
}

func (c Places) draw(width float64) drawing {
	d := drawing{Width: width}
	left, right := 48.0, width-6
	symbols, classes := []string{"circle", "square"}, []string{"one", "two"}
	y := 14.0
	if n := min(len(c.Series), 2); n > 1 {
		y = c.key(&d, c.Series[:n], symbols, classes) + 24
	}
	var all []float64
	for _, r := range c.Rows {
		for _, p := range r.Places {
			all = append(all, p.Values...)
		}
	}
	lo, hi := spread(all...)
	room := (hi - lo) * .08
	tall := 84.0
	if whole(all) { // a few steps of a setting need no more: what is left of a sheet is soon too little for a tall drawing
		tall = min(tall, 22+22*(hi-lo))
	}
	for _, row := range c.lines(right - left) {
		if row.Name != "" {
			d.words("label", 0, y-4, row.Name)
			y += 6
		}
		up := scale{lo - room, hi + room, y + tall, y}
		steps := ticks(lo, hi, 3)
		if whole(all) { // steps of a setting: between two of them is nothing
			steps = slices.DeleteFunc(steps, func(v float64) bool { return math.Abs(v-math.Round(v)) > 1e-9 })
		}
		step := 1.0
		if len(steps) > 1 {
			step = steps[1] - steps[0]
		}
		for _, v := range steps {
			d.line("grid", [2]float64{left, up.at(v)}, [2]float64{right, up.at(v)})
			d.words("tick at-end", left-6, up.at(v)+4, tickText(v, step))
		}
		each := min((right-left)/float64(max(len(row.Places), 1)), 32)
		for i, p := range row.Places {
			mid := left + each*(float64(i)+.5)
			for k, v := range p.Values {
				if k > 1 || !finite(v) {
					continue
				}
				off := 0.0
				if len(c.Series) > 1 {
					off = each * (.25 - .5*float64(1-k))
				}
				d.dot(symbols[k], "dot "+classes[k], mid+off, up.at(v), min(3.6, each/4.6))
			}
			if p.Odd {
				d.line("odd", [2]float64{mid, y}, [2]float64{mid, y + tall})
			}
			if p.Odd || each >= 17 || i%2 == 0 {
				class := "small at-middle"
				if p.Odd {
					class = "label at-middle"
				}
				d.words(class, mid, y+tall+14, cut(p.Label, 2*each+8))
			}
		}
		y += tall + 34
	}
	if len(d.Shapes) == 0 {
		d.words("label", 0, 34, "nothing is known of it")
	}
	d.Height = max(y-10, 44)
	return d
}

// key names the series, in one line where they fit it and else one below the other: cut short, seasons of two years would read alike. It returns where it ends.
func (c Places) key(d *drawing, series []PlaceSeries, symbols, classes []string) float64 {
	at, y := 0.0, 9.0
	long := 0.0
	for _, s := range series {
		long += 31 + 6.6*float64(len([]rune(s.Name)))
	}
	for i, s := range series {
		name := cut(s.Name, d.Width-15)
		d.dot(symbols[i], "dot "+classes[i], at+6, y, 4)
		d.words("small", at+15, y+4, name)
		switch {
		case i == len(series)-1:
		case long > d.Width:
			y += 17
		default:
			at += 31 + 6.6*float64(len([]rune(name)))
		}
	}
	return y
}

// whole reports that all values known are whole numbers.
func whole(values []float64) bool {
	return !slices.ContainsFunc(values, func(v float64) bool { return finite(v) && v != math.Round(v) })
}

func (c Places) lines(room float64) []PlaceRow {
	most := max(1, int(room/10))
	var out []PlaceRow
	for _, r := range c.Rows {
		for len(r.Places) > most {
			parts := (len(r.Places) + most - 1) / most
			n := (len(r.Places) + parts - 1) / parts
			out = append(out, PlaceRow{r.Name, r.Places[:n]})
			r = PlaceRow{"", r.Places[n:]}
		}
		if len(r.Places) > 0 {
			out = append(out, r)
		}
	}
	return out
}

func (c Places) Table() Table {
	t := Table{Caption: c.What, Columns: []Column{{Title: "place"}}}
	for _, s := range c.Series {
		t.Columns = append(t.Columns, Column{Title: s.Name, Number: true})
	}
	for _, r := range c.Rows {
		for _, p := range r.Places {
			label := p.Label
			if r.Name != "" {
				label += ", " + r.Name
			}
			row := Row{[]Text{Say(label, p.From...)}}
			for i := range c.Series {
				says := "not known"
				if i < len(p.Says) && p.Says[i] != "" {
					says = p.Says[i]
				}
				row.Cells = append(row.Cells, Say(says))
			}
			t.Rows = append(t.Rows, row)
		}
	}
	return t
}
