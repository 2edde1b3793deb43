package paper

import (
	"math"
	"strings"
	"testing"
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
