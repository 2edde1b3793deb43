package paper

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// centre is the middle of a symbol.
func centre(t *testing.T, s shape) (x, y float64) {
	t.Helper()
	n := numbers(t, "dot", s)
	if strings.Contains(s.Path, "a") { // a circle: begins at its left
		var r float64
		if _, err := fmt.Sscanf(s.Path[strings.Index(s.Path, "a"):], "a%f", &r); err != nil {
			t.Fatal(err)
		}
		return n[0] + r, n[1]
	}
	for i := 0; i < len(n); i += 2 {
		x, y = x+n[i]*2/float64(len(n)), y+n[i+1]*2/float64(len(n))
	}
	return x, y
}

// A place set to 7 stands as far above 6 as 8 stands above 7, in both series and in every rank; a place stands above its own label; what is odd is crossed by a line
// at that place and at no other.
func TestPlacesGeometry(t *testing.T) {
	row := func(name string, first int, from, to [4]float64) PlaceRow {
		r := PlaceRow{Name: name}
		for i := range 4 {
			r.Places = append(r.Places, PlaceValue{Label: fmt.Sprint("p", first+i), Values: []float64{from[i], to[i]}, Odd: from[i] != to[i]})
		}
		return r
	}
	c := Places{Series: []PlaceSeries{{"one"}, {"other"}}, Rows: []PlaceRow{row("front", 1, [4]float64{6, 7, 8, 6}, [4]float64{6, 7, 8, 8}), row("rear", 5, [4]float64{6, 6, 7, 8}, [4]float64{6, 6, 7, 8})}}
	for _, width := range []float64{wide, slim} {
		d := c.draw(width)
		var one, two [][2]float64
		var odd []float64
		label := map[string]float64{}
		for _, s := range d.Shapes {
			switch {
			case s.Class == "dot one":
				x, y := centre(t, s)
				one = append(one, [2]float64{x, y})
			case s.Class == "dot two":
				x, y := centre(t, s)
				two = append(two, [2]float64{x, y})
			case s.Class == "odd":
				odd = append(odd, numbers(t, "odd", s)[0])
			case strings.HasPrefix(s.Text, "p"):
				label[s.Text] = numbers(t, "label", s)[0]
			}
		}
		if len(one) != 9 || len(two) != 9 { // the key has one of each
			t.Fatalf("%v wide: %d and %d symbols, want 9", width, len(one), len(two))
		}
		one, two = one[1:], two[1:]
		step := one[0][1] - one[1][1]
		if step < 10 || math.Abs(one[1][1]-one[2][1]-step) > .21 || math.Abs(one[0][1]-one[3][1]) > .11 || math.Abs(two[0][1]-two[3][1]-2*step) > .21 || math.Abs(one[4][1]-one[7][1]-2*step) > .21 {
			t.Errorf("%v wide: heights %v, %v", width, one, two)
		}
		for i := range one {
			name := fmt.Sprint("p", i+1)
			if at, ok := label[name]; !ok || math.Abs((one[i][0]+two[i][0])/2-at) > .11 || one[i][0] >= two[i][0] {
				t.Errorf("%v wide: %s is lettered at %v, drawn at %v and %v", width, name, at, one[i][0], two[i][0])
			}
		}
		if len(odd) != 1 || math.Abs(odd[0]-label["p4"]) > .11 {
			t.Errorf("%v wide: odd at %v, want at %v", width, odd, label["p4"])
		}
	}
}

// A setting of two steps takes little of a sheet, one of many as much as a reading; in the lowest of them the steps still stand apart by two symbols.
func TestPlacesTakeNoMoreRoomThanTheirSteps(t *testing.T) {
	height := func(values ...float64) (float64, float64) {
		c := Places{Series: []PlaceSeries{{"one"}, {"other"}}, Rows: []PlaceRow{{Places: []PlaceValue{{Label: "1", Values: values}}}}}
		d := c.draw(wide)
		var at []float64
		for _, s := range d.Shapes {
			if strings.HasPrefix(s.Class, "dot ") {
				_, y := centre(t, s)
				at = append(at, y)
			}
		}
		return d.Height, at[2] - at[3] // after the two of the key
	}
	low, apart := height(6, 7)
	mid, _ := height(6, 8)
	tall, _ := height(6, 16)
	reading, _ := height(5.4, 6.2)
	if low >= mid-15 || mid >= tall-10 || tall != reading || apart < 2*7.2 {
		t.Errorf("two steps %v high, %v apart; three %v; eleven %v; a reading %v", low, apart, mid, tall, reading)
	}
}

// Two seasons of long names never read alike in the key, however narrow the page.
func TestPlacesKeyTellsSeriesApart(t *testing.T) {
	c := Places{Series: []PlaceSeries{{"spring seeding of the big drill 2025"}, {"spring seeding of the big drill 2026"}}, Rows: []PlaceRow{{Places: []PlaceValue{{Label: "1", Values: []float64{1, 2}}}}}}
	for _, width := range []float64{wide, slim} {
		found := map[string]bool{}
		for _, s := range c.draw(width).Shapes {
			found[s.Text] = true
		}
		if !found[c.Series[0].Name] || !found[c.Series[1].Name] {
			t.Errorf("%v wide: the key does not name both in full: %v", width, found)
		}
	}
}

// A setting of whole steps has no line between two steps; a reading has.
func TestPlacesTicks(t *testing.T) {
	for _, x := range []struct {
		values []float64
		want   string
	}{{[]float64{6, 7}, "6 7"}, {[]float64{6, 6.5}, "6.0 6.2 6.4"}, {[]float64{5, 5}, "5"}} {
		var got []string
		c := Places{Rows: []PlaceRow{{Places: []PlaceValue{{Label: "a", Values: x.values[:1]}, {Label: "b", Values: x.values[1:]}}}}}
		for _, s := range c.draw(wide).Shapes {
			if strings.HasPrefix(s.Class, "tick") {
				got = append(got, s.Text)
			}
		}
		if strings.Join(got, " ") != x.want {
			t.Errorf("%v: ticks %q, want %q", x.values, got, x.want)
		}
	}
}
