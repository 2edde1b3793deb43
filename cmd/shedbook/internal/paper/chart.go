package paper

import (
	"math"
	"strconv"
	"strings"
)

// Chart draws itself as SVG and lists its numbers. It is drawn twice, for a wide and for a narrow page, so that its words keep their size on a telephone.
type Chart interface {
	draw(width float64) drawing
	Table() Table
}

// The widths charts are drawn for, in CSS pixels: a page in print and on a desk, and the narrowest screen (WCAG 2.2, 1.4.10).
const (
	wide = 680
	slim = 288
)

// drawing is what a chart comes to: shapes on a field, in the order they are laid down. All coordinates are in CSS pixels from the left upper corner.
type drawing struct {
	Width, Height float64
	Shapes        []shape
}

// drawn is a drawing on its way into a page.
type drawn struct {
	drawing
	ID, Class string
}

// drawings are both drawings of a figure, under ids of our own making.
func (p *Page) drawings(f Figure) []drawn {
	p.drawn++
	id := "c" + strconv.Itoa(p.drawn)
	return []drawn{{f.Chart.draw(wide), id + "w", "wide"}, {f.Chart.draw(slim), id + "s", "slim"}}
}

// shape is one line, area, word or symbol. Class is of our own making and names a style of c-chart.css.
type shape struct {
	Path  string // path data, or ""
	Text  string // words, or ""
	X, Y  string // of the words
	Class string
}

// num writes a coordinate: a tenth of a pixel is finer than any eye.
func num(v float64) string {
	s := strconv.FormatFloat(v, 'f', 1, 64)
	return strings.TrimSuffix(s, ".0")
}

// line adds a line through points. A point that is no number breaks it.
func (d *drawing) line(class string, points ...[2]float64) {
	var b strings.Builder
	pen := false
	for _, p := range points {
		if !finite(p[0]) || !finite(p[1]) {
			pen = false
			continue
		}
		if pen {
			b.WriteByte('L')
		} else {
			b.WriteByte('M')
		}
		b.WriteString(num(p[0]) + " " + num(p[1]))
		pen = true
	}
	if b.Len() > 0 {
		d.Shapes = append(d.Shapes, shape{Path: b.String(), Class: class})
	}
}

// area adds a closed area.
func (d *drawing) area(class string, points ...[2]float64) {
	n := len(d.Shapes)
	d.line(class, points...)
	if len(d.Shapes) > n {
		d.Shapes[n].Path += "Z"
	}
}

// box adds a rectangle.
func (d *drawing) box(class string, x, y, w, h float64) {
	if w < 0 {
		x, w = x+w, -w
	}
	if h < 0 {
		y, h = y+h, -h
	}
	d.area(class, [2]float64{x, y}, [2]float64{x + w, y}, [2]float64{x + w, y + h}, [2]float64{x, y + h})
}

// words adds a text; the class says how it is set ("at-end", "at-middle") and how it looks.
func (d *drawing) words(class string, x, y float64, text string) {
	if finite(x) && finite(y) && text != "" {
		d.Shapes = append(d.Shapes, shape{Text: text, X: num(x), Y: num(y), Class: class})
	}
}

// dot adds a symbol: "circle", "square", "triangle", "diamond", "cross". Kinds of point differ by it, never by colour alone.
func (d *drawing) dot(symbol, class string, x, y, r float64) {
	if !finite(x) || !finite(y) {
		return
	}
	at := func(dx, dy float64) [2]float64 { return [2]float64{x + dx*r, y + dy*r} }
	switch symbol {
	case "square":
		d.area(class, at(-.9, -.9), at(.9, -.9), at(.9, .9), at(-.9, .9))
	case "triangle":
		d.area(class, at(0, -1.1), at(1, .8), at(-1, .8))
	case "diamond":
		d.area(class, at(0, -1.2), at(1.2, 0), at(0, 1.2), at(-1.2, 0))
	case "cross":
		d.Shapes = append(d.Shapes, shape{Path: "M" + num(x-r) + " " + num(y-r) + "L" + num(x+r) + " " + num(y+r) + "M" + num(x-r) + " " + num(y+r) + "L" + num(x+r) + " " + num(y-r), Class: class})
	default:
		d.Shapes = append(d.Shapes, shape{Path: "M" + num(x-r) + " " + num(y) + "a" + num(r) + " " + num(r) + " 0 1 0 " + num(2*r) + " 0a" + num(r) + " " + num(r) + " 0 1 0 " + num(-2*r) + " 0Z", Class: class})
	}
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// scale maps values onto pixels, linearly.
type scale struct {
	lo, hi   float64 // values
	from, to float64 // pixels
}

func (s scale) at(v float64) float64 {
	if s.hi == s.lo {
		return (s.from + s.to) / 2
	}
	return s.from + (v-s.lo)/(s.hi-s.lo)*(s.to-s.from)
}

// spread makes the lowest and highest of some values, leaving out what is no number. Without any, and where all are equal, it leaves room around.
func spread(values ...float64) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, v := range values {
		if finite(v) {
			lo, hi = min(lo, v), max(hi, v)
		}
	}
	switch {
	case lo > hi:
		return 0, 1
	case lo == hi:
		room := max(math.Abs(lo)*.05, 1e-9)
		if lo == 0 {
			room = 1
		}
		return lo - room, hi + room
	}
	return lo, hi
}

// ticks are round values from lo to hi, about n of them: steps of 1, 2 or 5 times a power of ten.
func ticks(lo, hi float64, n int) []float64 {
	if !finite(lo) || !finite(hi) || hi <= lo || n < 1 {
		return nil
	}
	raw := (hi - lo) / float64(n)
	power := math.Pow(10, math.Floor(math.Log10(raw)))
	step := 10 * power
	for _, s := range []float64{1, 2, 5} {
		if s*power >= raw*.999999 {
			step = s * power
			break
		}
	}
	var out []float64
	for i := math.Ceil(lo/step - 1e-9); i*step <= hi+step*1e-9 && len(out) < 4*n+4; i++ {
		out = append(out, i*step)
	}
	return out
}

// tickText writes a tick in as few digits as tell its step, thousands with a comma.
func tickText(v, step float64) string {
	digits := 0
	if step > 0 && step < 1 {
		digits = int(math.Ceil(-math.Log10(step) - 1e-9))
	}
	s := strconv.FormatFloat(v, 'f', digits, 64)
	whole, rest, _ := strings.Cut(s, ".")
	sign := ""
	if strings.HasPrefix(whole, "-") {
		sign, whole = "-", whole[1:]
	}
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + "," + whole[i:]
	}
	if sign == "-" && strings.Trim(whole+rest, "0,") == "" {
		sign = ""
	}
	if rest != "" {
		return sign + whole + "." + rest
	}
	return sign + whole
}

// cut shortens words to about so many pixels at the size charts are lettered in.
func cut(text string, pixels float64) string {
	r := []rune(text)
	if most := int(pixels / 6.6); len(r) > most {
		if most < 2 {
			return ""
		}
		return string(r[:most-1]) + "…"
	}
	return text
}
