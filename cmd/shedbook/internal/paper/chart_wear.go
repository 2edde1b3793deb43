package paper

// WearLines is the size of like parts against their use: a thin line a part, those to look at strong and named, the limit, and what is to be expected.
type WearLines struct {
	What      string // "disc, edge to hub"
	Unit      string // of the sizes
	UseUnit   string // of the use
	Limit     float64
	LimitSays string // "limit 5.25 in"
	Parts     []WearPart
	// Ahead is the forecast for one part, the worst of those named, to the end of the coming season; nil where nobody can say.
	Ahead []WearAhead
}

// WearPart is one part: sizes in order of use.
type WearPart struct {
	Label  string // "opener 12"
	Dots   []WearDot
	Strong bool // drawn strong and named; at most four are told apart
	From   []string
}

// WearDot is one measurement.
type WearDot struct{ Use, Size float64 }

// WearAhead is a point of a forecast.
type WearAhead struct{ Use, Low, Likely, High float64 }

var (
	strongLines   = []string{"one", "two", "three", "four"}
	strongSymbols = []string{"circle", "square", "triangle", "diamond"}
)

func (c WearLines) draw(width float64) drawing {
	d := drawing{Width: width, Height: 270}
	left, right, top, bottom := 58.0, width-86, 26.0, d.Height-42
	if width < 400 {
		right = width - 62
	}
	var uses, sizes []float64
	for _, p := range c.Parts {
		for _, x := range p.Dots {
			if finite(x.Use) && finite(x.Size) {
				uses, sizes = append(uses, x.Use), append(sizes, x.Size)
			}
		}
	}
	if len(uses) == 0 {
		d.words("label", left, top+20, "nothing is measured")
		return d
	}
	for _, a := range c.Ahead {
		uses, sizes = append(uses, a.Use), append(sizes, a.Low, a.High)
	}
	sizes = append(sizes, c.Limit)
	x, y := scale{from: left, to: right}, scale{from: bottom, to: top}
	x.lo, x.hi = spread(uses...)
	y.lo, y.hi = spread(sizes...)
	room := (y.hi - y.lo) * .04
	y.lo, y.hi = y.lo-room, y.hi+room
	d.valueAxis(y, left, right, c.Unit)
	d.useAxis(x, top, bottom, c.UseUnit)
	if finite(c.Limit) {
		d.line("limit", [2]float64{left, y.at(c.Limit)}, [2]float64{right, y.at(c.Limit)})
		d.words("label halo", left+6, y.at(c.Limit)-5, cut(c.LimitSays, right-left))
	}
	if len(c.Ahead) > 1 {
		var edge, back, mid [][2]float64
		for _, a := range c.Ahead {
			edge = append(edge, [2]float64{x.at(a.Use), y.at(a.High)})
			back = append([][2]float64{{x.at(a.Use), y.at(a.Low)}}, back...)
			mid = append(mid, [2]float64{x.at(a.Use), y.at(a.Likely)})
		}
		d.area("ahead", append(edge, back...)...)
		d.line("guess one", mid...)
	}
	path := func(p WearPart) [][2]float64 {
		var out [][2]float64
		for _, s := range p.Dots {
			if finite(s.Use) && finite(s.Size) {
				out = append(out, [2]float64{x.at(s.Use), y.at(s.Size)})
			}
		}
		return out
	}
	for _, p := range c.Parts {
		if !p.Strong {
			d.line("thin", thin(path(p), width)...)
		}
	}
	n, used := 0, []float64{}
	for _, p := range c.Parts {
		line := path(p)
		if !p.Strong || len(line) == 0 || n == len(strongLines) {
			continue
		}
		d.line("run "+strongLines[n], line...)
		for _, at := range thin(line, width) {
			d.dot(strongSymbols[n], "dot "+strongLines[n], at[0], at[1], 3)
		}
		end := line[len(line)-1]
		at := end[1] + 4
		for _, u := range used { // names do not lie on one another
			if at > u-13 && at < u+13 {
				at = u + 13
			}
		}
		used = append(used, at)
		d.words("label halo", end[0]+8, at, cut(p.Label, width-end[0]-8))
		n++
	}
	return d
}

func (c WearLines) Table() Table {
	t := Table{Caption: c.What, Foot: c.LimitSays,
		Columns: []Column{{Title: "part"}, {Title: "first size", Number: true}, {Title: "at use", Number: true}, {Title: "last size", Number: true}, {Title: "at use", Number: true}, {Title: "measured", Number: true}}}
	for _, p := range c.Parts {
		if len(p.Dots) == 0 {
			continue
		}
		a, b := p.Dots[0], p.Dots[len(p.Dots)-1]
		t.Rows = append(t.Rows, Row{[]Text{Say(p.Label, p.From...), Say(size(a.Size, c.Unit)), Say(amount(a.Use, c.UseUnit)), Say(size(b.Size, c.Unit)), Say(amount(b.Use, c.UseUnit)), Say(tickText(float64(len(p.Dots)), 1) + " times")}})
	}
	if n := len(c.Ahead); n > 0 {
		a := c.Ahead[n-1]
		t.Rows = append(t.Rows, Row{[]Text{Say("forecast"), Say(""), Say(""), Say(size(a.Likely, c.Unit) + ", " + size(a.Low, c.Unit) + " to " + size(a.High, c.Unit)), Say(amount(a.Use, c.UseUnit)), Say("")}})
	}
	return t
}

// size writes a size to a thousandth, without trailing zeros.
func size(v float64, unit string) string {
	if !finite(v) {
		return "not known"
	}
	s := tickText(v, .001)
	for s[len(s)-1] == '0' {
		s = s[:len(s)-1]
	}
	if s[len(s)-1] == '.' {
		s = s[:len(s)-1]
	}
	return s + " " + unit
}
