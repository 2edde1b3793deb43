package stats

import "math"

// scaled returns the columns with a root mean square of one, and what each was divided by.
func scaled(columns [][]float64) (out [][]float64, scale []float64) {
	alone := make([]int, len(columns))
	for j := range alone {
		alone[j] = j
	}
	return scaledSets(columns, alone)
}

// scaledSets divides the columns of each set by one number, so that the set keeps one standard deviation.
func scaledSets(columns [][]float64, set []int) (out [][]float64, scale []float64) {
	sum, count := map[int]float64{}, map[int]int{}
	for j, c := range columns {
		sum[set[j]] += dot(c, c)
		count[set[j]] += len(c)
	}
	for j, c := range columns {
		s := math.Sqrt(sum[set[j]] / float64(max(1, count[set[j]])))
		if s == 0 {
			s = 1
		}
		o := make([]float64, len(c))
		for i, v := range c {
			o[i] = v / s
		}
		out, scale = append(out, o), append(scale, s)
	}
	return out, scale
}

func dot(a, b []float64) float64 {
	t := 0.0
	for i := range a {
		t += a[i] * b[i]
	}
	return t
}
