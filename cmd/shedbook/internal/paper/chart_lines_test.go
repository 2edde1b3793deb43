package paper

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"
)

// A counter's points lie where its days and amounts say: a day half way in time is half way across, half the use is half way up. A gap is a dashed line of its own,
// and what is carried on beyond the last reading too.
func TestCounterLineGeometry(t *testing.T) {
	c := CounterLine{Unit: "ac", Points: []CounterDot{{Day: "2026-01-01", Value: 0}, {Day: "2026-01-11", Value: 50}, {Day: "2026-01-21", Value: 100, Gap: true, Mark: "replaced"}}, OnDay: "2026-02-10", OnValue: 200}
	var solid, dashed [][]float64
	var marks [][2]float64
	for _, s := range c.draw(wide).Shapes {
		switch s.Class {
		case "run one":
			solid = append(solid, numbers(t, "run", s))
		case "guess one":
			dashed = append(dashed, numbers(t, "guess", s))
		case "mark-on two":
			x, y := centre(t, s)
			marks = append(marks, [2]float64{x, y})
		}
	}
	if len(dashed) != 2 || len(solid) != 2 || len(solid[0]) != 4 || len(marks) != 1 {
		t.Fatalf("solid %v, dashed %v, marks %v", solid, dashed, marks)
	}
	ten, fifty := solid[0][2]-solid[0][0], solid[0][1]-solid[0][3] // ten days, fifty acres
	gap, ahead := dashed[0], dashed[1]
	for _, x := range []struct {
		what      string
		got, want float64
	}{
		{"ten days of the gap", gap[2] - gap[0], ten}, {"fifty acres of it", gap[1] - gap[3], fifty},
		{"twenty days ahead", ahead[2] - ahead[0], 2 * ten}, {"a hundred acres ahead", ahead[1] - ahead[3], 2 * fifty},
		{"the mark lies on its reading", marks[0][0], gap[2]}, {"at its height", marks[0][1], gap[3]},
	} {
		if math.Abs(x.got-x.want) > .21 {
			t.Errorf("%s: %v, want %v", x.what, x.got, x.want)
		}
	}
}

// Bars of services are as long as their numbers, one after the other, and each number is lettered in its bar.
func TestKeptGeometry(t *testing.T) {
	c := Kept{Seasons: []KeptSeason{{Name: "spring", OnTime: 6, Late: 3, Missed: 2, NotJudged: 1}, {Name: "autumn", OnTime: 3}}}
	for _, width := range []float64{wide, slim} {
		var bars [][]float64
		var said []string
		for _, s := range c.draw(width).Shapes {
			switch {
			case strings.HasPrefix(s.Class, "bar "):
				bars = append(bars, numbers(t, "bar", s))
			case strings.HasPrefix(s.Class, "label at-middle"):
				said = append(said, s.Text)
			}
		}
		bars = bars[4:] // after the key
		if len(bars) != 5 || strings.Join(said, " ") != "6 3 2 1 3" {
			t.Fatalf("%v wide: %d bars, lettered %v", width, len(bars), said)
		}
		one := bars[3][2] - bars[3][0]
		at := bars[0][0]
		for i, n := range []float64{6, 3, 2, 1} {
			if math.Abs(bars[i][0]-at) > .11 || math.Abs(bars[i][2]-bars[i][0]-n*one) > .3 {
				t.Errorf("%v wide: bar %d from %v to %v, want %v from %v", width, i, bars[i][0], bars[i][2], n*one, at)
			}
			at = bars[i][2]
		}
		if math.Abs(bars[4][2]-bars[4][0]-3*one) > .3 {
			t.Errorf("%v wide: three are %v long, one is %v", width, bars[4][2]-bars[4][0], one)
		}
	}
}

// A table of a counter that was read three times a day on 100 days has of each day it shows the highest reading, and says how many days it leaves out; what is
// marked stands in it always. The page shows those words under the drawing.
func TestCounterTableThinned(t *testing.T) {
	c := CounterLine{Name: "area", Unit: "ac"}
	highest, days := map[string]string{}, 0
	for day := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC); days < 100; day = day.AddDate(0, 0, 1) {
		for k := range 3 {
			v := 10*days + k
			c.Points = append(c.Points, CounterDot{Day: day.Format("2006-01-02"), Value: float64(v), Face: fmt.Sprint(v, " ac")})
			highest[day.Format("2006-01-02")] = fmt.Sprint(v, " ac")
		}
		days++
	}
	c.Points[31].Mark = "replaced" // the middle one of its day
	table := c.Table()
	seen, marked := map[string]bool{}, false
	for _, r := range table.Rows {
		day, face, said := r.Cells[0].Words, r.Cells[1].Words, r.Cells[3].Words
		marked = marked || said == "replaced"
		if seen[day] = true; said == "" && face != highest[day] {
			t.Errorf("%s: %s, and %s was read that day", day, face, highest[day])
		}
	}
	if len(seen) < 40 || len(seen) >= 100 || !marked {
		t.Errorf("%d days, the marked one %v", len(seen), marked)
	}
	want := fmt.Sprintf("one reading a day, that with the most use, and each marked one; %d of 100 days, 300 readings in all: the others are in the evidence", len(seen))
	if table.Foot != want {
		t.Errorf("it says %q, want %q", table.Foot, want)
	}
	var out bytes.Buffer
	if err := (&Page{Sections: []Section{{ID: "use", Blocks: []Block{Figure{Title: "area", Chart: c}}}}}).Write(&out); err != nil || !strings.Contains(out.String(), want) {
		t.Errorf("the page does not say so: %v", err)
	}
}
