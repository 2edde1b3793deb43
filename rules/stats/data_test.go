package stats

import (
	"bufio"
	"embed"
	"math"
	"strconv"
	"strings"
	"testing"
)

//go:embed testdata/*.txt
var tables embed.FS

// table reads the columns of a published table; its source stands at the file's head.
func table(t testing.TB, name string) [][]float64 {
	t.Helper()
	f, err := tables.Open("testdata/" + name + ".txt")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var out [][]float64
	lines := bufio.NewScanner(f)
	for lines.Scan() {
		if strings.HasPrefix(lines.Text(), "#") {
			continue
		}
		for i, word := range strings.Fields(lines.Text()) {
			v, err := strconv.ParseFloat(word, 64)
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			if i == len(out) {
				out = append(out, nil)
			}
			out[i] = append(out[i], v)
		}
	}
	if len(out) == 0 {
		t.Fatalf("%s is empty", name)
	}
	return out
}

// near wants got within a relative distance of want.
func near(t testing.TB, what string, got, want, relative float64) {
	t.Helper()
	if !(math.Abs(got-want) <= relative*math.Abs(want)) {
		t.Errorf("%s: %.15g, want %.15g within %g of it", what, got, want, relative)
	}
}

// close wants got within a distance of want.
func within(t testing.TB, what string, got, want, distance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= distance) {
		t.Errorf("%s: %.15g, want %.15g within %g", what, got, want, distance)
	}
}

func ones(n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = 1
	}
	return out
}

func power(x []float64, n float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = math.Pow(v, n)
	}
	return out
}
