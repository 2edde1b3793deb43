package paper

import (
	"fmt"
	"strconv"
)

// CounterLine is a counter against time: all use so far, so that a counter that was set back or replaced goes on rising.
type CounterLine struct {
	Name, Unit string
	Points     []CounterDot
	Seasons    []Band
	// OnDay and OnValue are the use carried on to the day asked about at the recent rate; OnDay "" where there is none.
	OnDay   string
	OnValue float64
}

// CounterDot is one reading. In order of days.
type CounterDot struct {
	Day   string  // 2026-04-01
	Value float64 // all use so far
	Face  string  // what the counter showed, with its unit
	Mark  string  // "set back", "replaced", "assumed"; "" for a plain reading
	Gap   bool    // nobody read it for long before this one: the line between is a guess
	From  []string
}

// Band is a stretch of days with a name.
type Band struct{ Name, From, To string }

func (c CounterLine) draw(width float64) drawing {
	d := drawing{Width: width, Height: 230}
	left, right, top, bottom := 58.0, width-8, 26.0, d.Height-24
	var days, values []float64
	at := make([]float64, len(c.Points))
	for i, p := range c.Points {
		if n, ok := dayNumber(p.Day); ok && finite(p.Value) {
			at[i] = n
			days, values = append(days, n), append(values, p.Value)
		}
	}
	on, carried := dayNumber(c.OnDay)
	if carried = carried && len(days) > 0 && finite(c.OnValue); carried {
		days, values = append(days, on), append(values, c.OnValue)
	}
	if len(days) == 0 {
		d.words("label", left, top+20, "never read")
		return d
	}
	lo, hi := spread(values...)
	hi += .04 * (hi - lo) // the line stays clear of the edge
	x, y := scale{from: left, to: right}, scale{lo, hi, bottom, top}
	x.lo, x.hi = spread(days...)
	for i, s := range c.Seasons {
		from, ok1 := dayNumber(s.From)
		to, ok2 := dayNumber(s.To)
		if !ok2 {
			to = x.hi
		}
		if !ok1 || to < x.lo || from > x.hi {
			continue
		}
		a, b := x.at(max(from, x.lo)), x.at(min(to, x.hi))
		d.box("band", a, top, max(b-a, 1), bottom-top)
		if b-a > 60 && i < 40 {
			d.words("small at-middle", (a+b)/2, top+12, cut(s.Name, b-a))
		}
	}
	d.valueAxis(y, left, right, c.Unit)
	d.timeAxis(x, top, bottom)
	var run [][2]float64
	for i, p := range c.Points {
		if at[i] == 0 && p.Day != "1970-01-01" || !finite(p.Value) {
			continue
		}
		here := [2]float64{x.at(at[i]), y.at(p.Value)}
		if p.Gap && len(run) > 0 {
			d.line("run one", run...)
			d.line("guess one", run[len(run)-1], here)
			run = nil
		}
		run = append(run, here)
	}
	d.line("run one", thin(run, width)...)
	if carried && len(run) > 0 {
		d.line("guess one", run[len(run)-1], [2]float64{x.at(on), y.at(c.OnValue)})
	}
	few := len(c.Points) <= 60
	for i, p := range c.Points {
		px, py := x.at(at[i]), y.at(p.Value)
		switch {
		case p.Mark != "":
			d.dot("diamond", "mark-on two", px, py, 5)
			anchor := "label at-end"
			if px < left+90 {
				anchor = "label"
			}
			d.words(anchor, px, py-9, cut(p.Mark, 120))
		case few:
			d.dot("circle", "dot one", px, py, 2.5)
		}
	}
	return d
}

// thin leaves out points that lie within a pixel of the one before, so that thousands of readings stay a few kilobytes. The first and last stay.
func thin(points [][2]float64, width float64) [][2]float64 {
	if len(points) < int(width)/2 {
		return points
	}
	out := points[:1:1]
	for i, p := range points[1:] {
		last := out[len(out)-1]
		if i == len(points)-2 || p[0]-last[0] > 1.5 {
			out = append(out, p)
		}
	}
	return out
}

func (c CounterLine) Table() Table {
	t := Table{Caption: c.Name, Columns: []Column{{Title: "day", Narrow: true}, {Title: "read", Number: true}, {Title: "all use so far", Number: true}, {Title: ""}}}
	points := c.Points
	const most = 60
	if len(points) > most { // of a day its highest, and of the days the last of each stretch; what is marked always
		var some, days []CounterDot
		for i, p := range points { // all use so far never falls: the last of a day is its highest
			if p.Mark != "" || p.Gap || i == len(points)-1 || points[i+1].Day != p.Day {
				days = append(days, p)
			}
		}
		step := (len(days) + most - 1) / most
		for i, p := range days {
			if p.Mark != "" || p.Gap || i%step == step-1 || i == len(days)-1 {
				some = append(some, p)
			}
		}
		points = some
		t.Foot = c.thinned(days, points)
	}
	for _, p := range points {
		said := p.Mark
		if p.Gap {
			said = joined(said, "not read for long before")
		}
		t.Rows = append(t.Rows, Row{[]Text{Say(p.Day), Say(p.Face), Say(amount(p.Value, c.Unit)), Say(said, p.From...)}})
	}
	if c.OnDay != "" {
		t.Rows = append(t.Rows, Row{[]Text{Say(c.OnDay), Say(""), Say(amount(c.OnValue, c.Unit)), Say("carried on at the recent rate")}})
	}
	return t
}

// thinned says what was left out of the table.
func (c CounterLine) thinned(days, shown []CounterDot) string {
	count := func(points []CounterDot) int {
		n := 0
		for i, p := range points {
			if i == 0 || p.Day != points[i-1].Day {
				n++
			}
		}
		return n
	}
	of := "all"
	if a, b := count(shown), count(days); a < b {
		of = strconv.Itoa(a)
	}
	return fmt.Sprintf("one reading a day, that with the most use, and each marked one; %s of %d days, %d readings in all: the others are in the evidence", of, count(days), len(c.Points))
}

func joined(a, b string) string {
	if a == "" {
		return b
	}
	return a + "; " + b
}

// amount writes a number with its unit, to a tenth.
func amount(v float64, unit string) string {
	if !finite(v) {
		return "not known"
	}
	s := tickText(v, .1)
	if len(s) > 2 && s[len(s)-2:] == ".0" {
		s = s[:len(s)-2]
	}
	if unit == "" {
		return s
	}
	return s + " " + unit
}
