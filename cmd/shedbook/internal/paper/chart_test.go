package paper

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// charts of made-up numbers, each with its name.
func charts(label string) map[string]Chart {
	nan := math.NaN()
	counter := CounterLine{Name: label, Unit: "ac", OnDay: "2026-10-02", OnValue: 2450, Seasons: []Band{{label, "2024-04-01", "2024-05-20"}, {label, "2025-04-03", "2025-05-22"}, {label, "2026-04-01", ""}}}
	left := Left{What: label, Ends: label}
	wear := WearLines{What: label, Unit: "in", UseUnit: "ac", Limit: 5.25, LimitSays: label,
		Ahead: []WearAhead{{1000, 5.40, 5.43, 5.46}, {1500, 5.18, 5.27, 5.35}}}
	places := Places{What: label, Series: []PlaceSeries{{label}, {label + "2"}}}
	for i := range 30 {
		counter.Points = append(counter.Points, CounterDot{Day: fmt.Sprintf("%d-%02d-15", 2024+i/12, 1+i%12), Value: float64(i) * 80, Face: fmt.Sprint(i*80, " ac"), Gap: i == 20})
	}
	counter.Points[14].Mark = label
	for r := range 2 {
		row, values := LeftRow{Name: []string{"front rank", "rear rank"}[r]}, PlaceRow{Name: []string{"front rank", "rear rank"}[r]}
		for i := range 24 {
			n := fmt.Sprint(1 + 2*i + r)
			bar := LeftBar{Label: n, Share: .9 - .03*float64((i*7)%24), Low: nan, High: nan, Size: "5.4 in", Day: "2026-04-02"}
			bar.Low, bar.High = bar.Share-.22, bar.Share-.08
			bar.Change, bar.Today, bar.Gone = bar.Low < 0, bar.Share-.1, i == 6
			if i == 5 {
				bar.Share, bar.Today, bar.Low, bar.High = nan, nan, nan, nan
			}
			row.Places = append(row.Places, bar)
			p := PlaceValue{Label: n, Values: []float64{6, 6}, Says: []string{"6", "6"}}
			if i == 8 {
				p.Values[1], p.Says[1], p.Odd = 8, "8", true
			}
			values.Places = append(values.Places, p)
			part := WearPart{Label: "opener " + n, Strong: i == 3 || i == 9}
			for k := range 4 {
				part.Dots = append(part.Dots, WearDot{float64(k) * 330, 6 - float64(k)*(.14+.01*float64(i%5))})
			}
			wear.Parts = append(wear.Parts, part)
		}
		left.Rows, places.Rows = append(left.Rows, row), append(places.Rows, values)
	}
	kept := Kept{[]KeptSeason{{Name: label, OnTime: 31, Late: 4, Missed: 2}, {Name: label, OnTime: 22, Late: 1, NotJudged: 9}, {Name: "autumn seeding 2026"}}}
	return map[string]Chart{"counter": counter, "left": left, "wear": wear, "kept": kept, "places": places}
}

func figures(label string) *Page {
	p := &Page{Title: "charts", Kind: "charts"}
	for _, name := range []string{"counter", "left", "wear", "kept", "places"} {
		p.Sections = append(p.Sections, Section{Title: name, Blocks: []Block{Figure{Title: name, About: label, Chart: charts(label)[name]}}})
	}
	return p
}

// Every point of a drawing is a number, and stays on the field or close to it.
func TestChartsStayOnTheirField(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	all := charts("spring seeding 2026")
	for i, c := range []Chart{
		CounterLine{}, CounterLine{Points: []CounterDot{{Day: "2026-01-01", Value: 5}}}, CounterLine{Points: []CounterDot{{Day: "soon", Value: 5}, {Day: "2026-01-01", Value: nan}}},
		CounterLine{Points: []CounterDot{{Day: "2026-01-01", Value: 0}, {Day: "2026-01-01", Value: 0}}, OnDay: "2026-01-01"},
		Left{}, Left{Rows: []LeftRow{{}}}, Left{Rows: []LeftRow{{Places: []LeftBar{{Share: nan, Today: nan, Low: nan, High: nan}, {Share: -40, Today: -inf, Low: -80, High: inf}}}}}, Left{Rows: []LeftRow{{Places: make([]LeftBar, 400)}}},
		WearLines{}, WearLines{Parts: []WearPart{{Dots: []WearDot{{5, 5}}, Strong: true}}, Limit: nan}, WearLines{Parts: []WearPart{{Dots: []WearDot{{nan, 5}, {1, inf}}}}},
		Kept{}, Kept{[]KeptSeason{{}}}, Places{}, Places{Series: []PlaceSeries{{}}, Rows: []PlaceRow{{Places: []PlaceValue{{Values: []float64{nan}}, {Values: []float64{1, 2, 3}}, {}}}}},
		Places{Rows: []PlaceRow{{Places: make([]PlaceValue, 400)}}},
	} {
		all[fmt.Sprint(i)] = c
	}
	for name, c := range all {
		for _, width := range []float64{wide, slim} {
			d := c.draw(width)
			if len(d.Shapes) == 0 {
				t.Errorf("%s: nothing is drawn", name)
			}
			for _, s := range d.Shapes {
				for _, n := range numbers(t, name, s) {
					if !finite(n) || n < -30 || n > max(width, d.Height)+30 {
						t.Errorf("%s, %v wide: %v in %+v", name, width, n, s)
					}
				}
			}
		}
		for _, r := range c.Table().Rows {
			if len(r.Cells) != len(c.Table().Columns) {
				t.Errorf("%s: a row of %d cells under %d columns", name, len(r.Cells), len(c.Table().Columns))
			}
		}
	}
}

// numbers reads the absolute numbers of a shape: those of arcs are relative and no places.
func numbers(t *testing.T, name string, s shape) []float64 {
	t.Helper()
	text, _, _ := strings.Cut(s.Path, "a")
	if s.Path == "" {
		text = s.X + " " + s.Y
	}
	var out []float64
	for _, f := range strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune("MLZ ", r) }) {
		n, err := strconv.ParseFloat(f, 64)
		if err != nil {
			t.Fatalf("%s: %q: %v", name, text, err)
		}
		out = append(out, n)
	}
	return out
}

// Heights say what the numbers say: the bar of a place half worn is half as high as that of a new one, and a size at the limit lies on the limit's line.
func TestChartGeometry(t *testing.T) {
	left := Left{Rows: []LeftRow{{Places: []LeftBar{{Label: "1", Share: 1, Today: math.NaN(), Low: math.NaN(), High: math.NaN()}, {Label: "2", Share: .5, Today: math.NaN(), Low: math.NaN(), High: math.NaN()}}}}}
	var heights []float64
	for _, s := range left.draw(wide).Shapes {
		if s.Class == "bar one" {
			n := numbers(t, "left", s)
			heights = append(heights, math.Abs(n[1]-n[5]))
		}
	}
	if len(heights) != 2 || math.Abs(heights[0]-2*heights[1]) > .11 {
		t.Errorf("heights %v", heights)
	}
	worn := WearLines{Limit: 5.25, Parts: []WearPart{{Label: "x", Strong: true, Dots: []WearDot{{0, 6}, {1000, 5.25}}}}}
	var limit, last float64
	for _, s := range worn.draw(wide).Shapes {
		switch s.Class {
		case "limit":
			limit = numbers(t, "limit", s)[1]
		case "run one":
			last = numbers(t, "run", s)[3]
		}
	}
	if limit == 0 || math.Abs(limit-last) > .05 {
		t.Errorf("limit at %v, a disc worn to it at %v", limit, last)
	}
}

func TestTicks(t *testing.T) {
	for _, x := range []struct {
		lo, hi float64
		n      int
		want   []float64
	}{
		{0, 100, 4, []float64{0, 50, 100}},
		{0, 100, 5, []float64{0, 20, 40, 60, 80, 100}},
		{5.18, 6.02, 4, []float64{5.5, 6}},
		{-3, 3, 3, []float64{-2, 0, 2}},
		{1, 1, 4, nil}, {math.NaN(), 1, 4, nil}, {0, math.Inf(1), 4, nil},
	} {
		got := ticks(x.lo, x.hi, x.n)
		if !slices.EqualFunc(got, x.want, func(a, b float64) bool { return math.Abs(a-b) < 1e-9 }) {
			t.Errorf("%v to %v: %v, want %v", x.lo, x.hi, got, x.want)
		}
	}
	for _, x := range []struct {
		v, step float64
		want    string
	}{{1812, 1, "1,812"}, {-1234567, 1, "-1,234,567"}, {5.25, .05, "5.25"}, {.30000000000000004, .1, "0.3"}, {-0.0001, .1, "0.0"}} {
		if got := tickText(x.v, x.step); got != x.want {
			t.Errorf("%v by %v: %q, want %q", x.v, x.step, got, x.want)
		}
	}
}

// A chart of a machine of sixty places stays a few kilobytes; ten years of daily readings do too.
func TestChartsAreSmall(t *testing.T) {
	var c CounterLine
	for i := range 3650 {
		c.Points = append(c.Points, CounterDot{Day: fmt.Sprintf("%d-%02d-%02d", 2016+i/365, 1+i%365/31, 1+i%365%28), Value: float64(i), Face: "x"})
	}
	all := charts("x")
	all["ten years"] = c
	for name, c := range all {
		page := written(t, &Page{Title: "x", Sections: []Section{{Blocks: []Block{Figure{Title: name, Chart: c}}}}})
		svg := 0
		for _, part := range strings.Split(page, "<svg")[1:] {
			part, _, _ = strings.Cut(part, "</svg>")
			svg += len(part)
		}
		t.Logf("%s: %d bytes of drawing in two sizes", name, svg)
		if svg > 40_000 {
			t.Errorf("%s: %d bytes", name, svg)
		}
	}
}

func TestChartsHostile(t *testing.T) {
	a, b := written(t, figures(hostile)), written(t, figures("plain"))
	for _, bad := range []string{"<script", "<img", "\x1b", "\u202e"} {
		if strings.Contains(a, bad) {
			t.Errorf("%q is in the page", bad)
		}
	}
	if strings.Count(a, "<svg") != strings.Count(b, "<svg") || strings.Count(a, "<text") > strings.Count(b, "<text")+20 {
		t.Error("hostile words make shapes")
	}
}
