package wear

import (
	"math"

	"shedbook/rules/stats"
)

// row is one reading as the model takes it.
type row struct {
	part      int
	loss, use float64
	seasons   []float64
	groups    []float64
}

// start is a part's size, use by season and by group from where its loss is counted.
type start struct {
	size            float64
	seasons, groups []float64
	first           int // readings from this one on give rows
	known           bool
}

// from is where the loss of a part is counted from: when it was new where that is known, else its first reading.
func (p *Part) from(odd map[[2]int]bool, part int) (start, bool) {
	if p.HasStart {
		return start{size: p.Start, known: true}, true
	}
	for i, r := range p.Readings {
		if !odd[[2]int{part, i}] {
			return start{size: r.Size, seasons: r.Use, groups: r.Groups, first: i + 1, known: true}, true
		}
	}
	return start{}, false
}

// rows are the readings that count, as losses.
func (d *Data) rows(odd map[[2]int]bool) (rows []row, starts []start) {
	starts = make([]start, len(d.Parts))
	for i := range d.Parts {
		p := &d.Parts[i]
		s, ok := p.from(odd, i)
		if !ok {
			continue
		}
		starts[i] = s
		for j := s.first; j < len(p.Readings); j++ {
			if odd[[2]int{i, j}] {
				continue
			}
			r := p.Readings[j]
			n := row{part: i, loss: d.loss(s.size, r.Size), seasons: less(r.Use, s.seasons, len(d.Seasons)), groups: less(r.Groups, s.groups, len(d.Groups))}
			n.use = sum(n.seasons)
			if n.use > 0 {
				rows = append(rows, n)
			}
		}
	}
	return rows, starts
}

// loss is positive for wear.
func (d *Data) loss(from, to float64) float64 {
	if d.Falls {
		return from - to
	}
	return to - from
}

// less is a - b, each n long; a nil slice is zeros.
func less(a, b []float64, n int) []float64 {
	out := make([]float64, n)
	copy(out, a)
	for i := range b {
		out[i] -= b[i]
	}
	return out
}

func sum(x []float64) float64 {
	t := 0.0
	for _, v := range x {
		t += v
	}
	return t
}

// design is the mixed model of some rows.
type design struct {
	stats.Mixed
	groups  []int // of Data.Groups: the columns kept, after the first of X
	curve   bool
	starts  bool  // a column of Z for each part's start
	numbers []int // part -> number in Group, -1 none
}

// design sets up the columns: use, groups that can be told apart, the curve if asked; starts and rates of parts; seasons.
func (d *Data) design(rows []row, curve bool) design {
	n := len(rows)
	out := design{numbers: make([]int, len(d.Parts))}
	for i := range out.numbers {
		out.numbers[i] = -1
	}
	use := make([]float64, n)
	next, twice := 0, false
	last := map[int]float64{}
	for i, r := range rows {
		if out.numbers[r.part] < 0 {
			out.numbers[r.part] = next
			next++
		}
		if before, seen := last[r.part]; seen && r.use > before {
			twice = true
		}
		last[r.part] = r.use
		out.Group = append(out.Group, out.numbers[r.part])
		out.Y = append(out.Y, r.loss)
		use[i] = r.use
	}
	out.X = [][]float64{use}
	seasons := make([][]float64, len(d.Seasons))
	for s := range seasons {
		seasons[s] = make([]float64, n)
		for i, r := range rows {
			seasons[s][i] = r.seasons[s]
		}
	}
	out.Crossed = [][][]float64{seasons}
	for g := range d.Groups {
		column := make([]float64, n)
		in, parts := map[int]bool{}, map[int]bool{}
		for i, r := range rows {
			column[i] = r.groups[g]
			parts[r.part] = true
			if column[i] > r.use/2 {
				in[r.part] = true
			}
		}
		// a group of one or two parts, or of all but those, is not told from those parts themselves; and one coefficient wants eight parts
		if len(in) >= 3 && len(parts)-len(in) >= 3 && len(parts) >= 8*(len(out.X)+1) && rank(append(out.X[:len(out.X):len(out.X)], column)) > len(out.X) {
			out.X = append(out.X, column)
			out.groups = append(out.groups, g)
		}
	}
	if curve {
		square := make([]float64, n)
		for i, u := range use {
			square[i] = u * u
		}
		if rank(append(out.X[:len(out.X):len(out.X)], square)) > len(out.X) {
			out.X, out.curve = append(out.X, square), true
		}
	}
	out.Z = [][]float64{use}
	if twice {
		ones := make([]float64, n)
		for i := range ones {
			ones[i] = 1
		}
		out.Z, out.starts = [][]float64{ones, use}, true
	}
	return out
}

// rank is how many of the columns are independent, by modified Gram-Schmidt on columns of length one.
func rank(columns [][]float64) int {
	var basis [][]float64
	for _, c := range columns {
		v := append([]float64(nil), c...)
		length := norm(v)
		if length == 0 {
			continue
		}
		for range 2 { // twice is enough
			for _, b := range basis {
				t := dot(b, v)
				for i := range v {
					v[i] -= t * b[i]
				}
			}
		}
		if l := norm(v); l > 1e-6*length {
			for i := range v {
				v[i] /= l
			}
			basis = append(basis, v)
		}
	}
	return len(basis)
}

func dot(a, b []float64) float64 {
	t := 0.0
	for i := range a {
		t += a[i] * b[i]
	}
	return t
}

func norm(a []float64) float64 { return math.Sqrt(dot(a, a)) }
