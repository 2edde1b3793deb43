package rules

import (
	"math"
	"math/big"
	"testing"

	"shedbook/rules/record"
)

// Checked against math.Pow, an implementation that is not ours, to 12 figures.
func TestPower(t *testing.T) {
	for _, x := range []*big.Rat{big.NewRat(1, 1), big.NewRat(4, 1), big.NewRat(1, 4), big.NewRat(40, 37), big.NewRat(1, 1000), big.NewRat(99999, 7)} {
		for _, p := range []*big.Rat{big.NewRat(1, 2), big.NewRat(1, 1), big.NewRat(2, 1), big.NewRat(-1, 2), big.NewRat(3, 2), big.NewRat(1, 3), big.NewRat(-2, 1)} {
			xf, _ := x.Float64()
			pf, _ := p.Float64()
			got, _ := power(x, p).Float64()
			if want := math.Pow(xf, pf); math.Abs(got-want) > 1e-12*want {
				t.Errorf("%s to the %s is %v, want %v", x, p, got, want)
			}
		}
	}
}

func TestPowerBeyondReason(t *testing.T) {
	for _, p := range []*big.Rat{big.NewRat(13, 1), big.NewRat(-1000000000, 1), big.NewRat(1, 1000000007)} {
		if got := power(big.NewRat(3, 2), p); got.Cmp(big.NewRat(1, 1)) != 0 {
			t.Errorf("to the %s: %s, want no correction", p, got)
		}
	}
}

// To double the flow through a tip takes four times the pressure (common practice, no source here; it is the root law of orifices). 0.38 gal/min caught
// at 36.1 psi is 0.38 x root(40 / 36.1) = 0.4 gal/min at 40 psi: 0.38^2 = 0.1444, times 40 / 36.1 is 0.16.
func TestPastAtRatedPressure(t *testing.T) {
	s := newShed(t, kind(`
[reading.catch]
of = "opener"
unit = "gal/min"
condition = ["pressure"]
correct = [{ condition = "pressure", rated = "40 psi", power = "1/2" }]
limit = { max = "0.399 gal/min" }
[job.new-tip]
of = "opener"
[[job.new-tip.when]]
past = "catch"
`))
	catch := func(done, place, found, pressure string) {
		t.Helper()
		m := &record.Measure{Work: s.work(done), Reading: "catch", Values: []record.Measured{{Positions: s.at(place), Found: record.Amount(amount(t, found))}}}
		if pressure != "" {
			m.Condition = []record.Condition{{Name: "pressure", Value: amount(t, pressure)}}
		}
		s.add(m)
	}
	catch("2025-03-01", "opener/1", "0.38 gal/min", "36.1 psi")
	catch("2025-03-01", "opener/2", "0.38 gal/min", "")
	catch("2025-03-01", "opener/3", "0.2 gal/min", "10 psi") // 0.4 at 40 psi
	catch("2025-03-01", "opener/4", "0.5 gal/min", "80 psi") // 0.354 at 40 psi
	items := s.due("2025-03-01")
	same(t, "due", lines(items), []string{"due new-tip [opener 1]: 2025-03-01, over 0 d", "due new-tip [opener 3]: 2025-03-01, over 0 d"})
	if want := "catch measured 2025-03-01: 0.4 gal/min is past the limit 0.399 gal/min (0.38 gal/min as read)"; items[0].Why != want {
		t.Errorf("why is %q, want %q", items[0].Why, want)
	}
}
