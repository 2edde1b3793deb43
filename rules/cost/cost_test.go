package cost

import (
	"encoding/csv"
	"errors"
	"flag"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Property tests draw the same cases on every run; -rapid.seed=0 draws others.
func init() {
	if err := flag.Set("rapid.seed", "20260401"); err != nil {
		panic(err)
	}
}

// cells reads a table of testdata: rows of a class and numbers. Its source stands at its head.
func cells(t *testing.T, name string) (classes []Class, rows [][]float64) {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	all, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range all[1:] {
		c, ok := Find(line[0])
		if !ok {
			t.Fatalf("%s: no class %q", name, line[0])
		}
		var row []float64
		for _, s := range line[1:] {
			x, err := strconv.ParseFloat(s, 64)
			if err != nil {
				t.Fatal(err)
			}
			row = append(row, x)
		}
		classes, rows = append(classes, c), append(rows, row)
	}
	return classes, rows
}

// Iowa State University Extension A3-29 (PM 710), Table 1a, the cells read: printed to whole points. Two cells of the 80 to 149 hp tractor are off by one point, as
// the coefficients that memory has are rounded to four places; every other cell is met.
func TestPublishedRemainingValues(t *testing.T) {
	classes, rows := cells(t, "remaining_value.csv")
	if len(rows) != 114 {
		t.Fatalf("%d cells, not 114", len(rows))
	}
	off := map[string]int{}
	for i, row := range rows {
		got, err := RemainingValue(classes[i].Value, row[1], row[0])
		if err != nil {
			t.Fatal(err)
		}
		switch d := math.Abs(math.RoundToEven(100*got) - row[2]); {
		case d > 1:
			t.Errorf("%s, %g h a year, %g years: %.2f %%, published %g %%", classes[i].Name, row[0], row[1], 100*got, row[2])
		case d == 1:
			off[classes[i].Name]++
		}
	}
	if len(off) != 1 || off["tractor-80hp"] != 2 {
		t.Errorf("off by a point: %v, known are two of tractor-80hp", off)
	}
}

// The same publication, Table 3, printed to whole points.
func TestPublishedRepairCosts(t *testing.T) {
	classes, rows := cells(t, "repair.csv")
	if len(rows) != 59 {
		t.Fatalf("%d cells, not 59", len(rows))
	}
	for i, row := range rows {
		if !classes[i].Repair.Checked {
			t.Errorf("%s is held to the table and not marked as checked", classes[i].Name)
		}
		got, err := AccumulatedRepair(classes[i].Repair, 100, row[0])
		// 17.5 and 7.5 % are printed as 18 and 8: half a point either way.
		if err != nil || math.Abs(got-row[1]) > 0.5+1e-9 {
			t.Errorf("%s at %g h: %.2f %%, published %g %% (%v)", classes[i].Name, row[0], got, row[1], err)
		}
	}
}

// A class marked as checked is held to a table above; one that is not says so in its source.
func TestWhatIsCheckedIsSaid(t *testing.T) {
	held := map[string]int{}
	for _, name := range []string{"remaining_value.csv", "repair.csv"} {
		classes, _ := cells(t, name)
		for _, c := range classes {
			if name == "repair.csv" {
				held[c.Repair.Source]++
			} else {
				held[c.Value.Source]++
			}
		}
	}
	seen := map[string]bool{}
	for _, c := range Classes() {
		if seen[c.Name] {
			t.Errorf("%s stands twice", c.Name)
		}
		seen[c.Name] = true
		for what, x := range map[string]struct {
			source  string
			checked bool
		}{"repair": {c.Repair.Source, c.Repair.Checked}, "value": {c.Value.Source, c.Value.Checked}} {
			marked := strings.Contains(x.source, Recalled)
			if x.checked == marked || x.checked && held[x.source] < 9 {
				t.Errorf("%s, %s: checked %v, source %q, held to %d cells", c.Name, what, x.checked, x.source, held[x.source])
			}
		}
		if _, err := AccumulatedRepair(c.Repair, 1, c.Life); err != nil {
			t.Error(err)
		}
		if v, err := RemainingValue(c.Value, TableTo, 0); err != nil || v <= 0 {
			t.Errorf("%s is worth %g after %d years: %v", c.Name, v, TableTo, err)
		}
	}
}

func near(t *testing.T, what string, got, want, tolerance float64, err error) {
	t.Helper()
	if err != nil || !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %v, not %v (%v)", what, got, want, err)
	}
}

// The worked example of PM 710 (a tractor of 180 hp, list price 110,000, bought for 93,500, kept for 15 years at 400 h a year; interest 8 %, inflation 3 %;
// fuel at 1.00 a gallon), step by step. The depreciation, salvage, rates and fuel are printed there; the capital recovery is worked out from them by the
// formula printed there, in other arithmetic (as a sum of discounted payments, below).
func TestWorkedExample(t *testing.T) {
	c, _ := Find("tractor-150hp")
	left, err := RemainingValue(c.Value, 15, 400)
	near(t, "remaining value, 23 % printed", math.Round(100*left), 23, 0, err)
	salvage := 110000 * 0.23
	near(t, "salvage", salvage, 25300, 1e-6, nil)
	rate, err := RealRate(0.08, 0.03)
	near(t, "real rate", rate, 0.05, 1e-15, err)
	year, err := CapitalRecovery(93500, salvage, rate, 15)
	near(t, "capital recovery", year, 7835.544014950, 1e-6, err)
	gallons, err := FuelPerHour(180, DieselPerHP)
	near(t, "gallons an hour", gallons, 7.92, 1e-12, err)
	lube, err := Lubrication(gallons * 1.00)
	near(t, "lubrication an hour", lube, 1.188, 1e-12, err)
	gallons, err = FuelPerHour(180, GasolinePerHP)
	near(t, "gallons of gasoline an hour", gallons, 10.8, 1e-12, err)
	// A3-29, later edition: list price 150,000, 6,000 h, 25 % printed.
	spent, err := AccumulatedRepair(c.Repair, 150000, 6000)
	near(t, "accumulated repair", spent, 37800, 1e-6, err)
	near(t, "of the list price", math.Round(100*spent/150000), 25, 0, nil)
	// A trade article that quotes Iowa State: 105 hp, 10 years, 400 h a year, list price 75,000.
	c, _ = Find("tractor-80hp")
	left, err = RemainingValue(c.Value, 10, 400)
	near(t, "105 hp", math.Round(100*left)/100*75000, 27750, 1e-6, err)
}

// Capital recovery factors: 10 % over 10 years is that of a public calculator page (500,000 gives 81,373 a year); the others were worked out in decimal arithmetic.
func TestRecoveryFactor(t *testing.T) {
	for _, test := range []struct{ rate, years, want, within float64 }{
		{0.05, 15, 0.09634228760924, 1e-14},
		{0.08, 15, 0.11682954493602, 1e-14},
		{0.10, 10, 0.16274539488251, 1e-14},
		{0.10, 10, 81373.0 / 500000, 0.5 / 500000},
		{0, 8, 0.125, 0},
		{1, 1, 2, 1e-15},
	} {
		got, err := RecoveryFactor(test.rate, test.years)
		near(t, "factor", got, test.want, test.within, err)
	}
}

// Law: the yearly payments and the salvage, discounted one by one to the day of purchase, make up the price.
func TestPaymentsMakeUpThePrice(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		price, salvage := rapid.Float64Range(0, 1e6).Draw(t, "price"), rapid.Float64Range(0, 1e6).Draw(t, "salvage")
		rate, years := rapid.Float64Range(-0.1, 0.5).Draw(t, "rate"), rapid.IntRange(1, 40).Draw(t, "years")
		if rapid.IntRange(0, 4).Draw(t, "tiny") == 0 {
			rate /= 1e8
		}
		year, err := CapitalRecovery(price, salvage, rate, float64(years))
		if err != nil {
			t.Fatal(err)
		}
		sum, factor := 0.0, 1.0
		for range years {
			factor /= 1 + rate
			sum += year * factor
		}
		sum += salvage * factor
		if math.Abs(sum-price) > 1e-7*(1+price+salvage*factor+math.Abs(year)*factor*float64(years)) {
			t.Fatalf("%.9g a year for %d years at %g and %.9g at the end are worth %.9g, not %.9g", year, years, rate, salvage, sum, price)
		}
	})
}

// Laws: a machine is never worth more for being older or worked harder, nor has it cost less to repair for having worked longer; every answer lies where it can.
func TestNothingGrowsYounger(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.SampledFrom(classes).Draw(t, "class")
		age, hours := rapid.Float64Range(0, MostYears).Draw(t, "age"), rapid.Float64Range(0, 8000).Draw(t, "hours")
		older, more := min(MostYears, age+rapid.Float64Range(0, 50).Draw(t, "older")), hours+rapid.Float64Range(0, 700).Draw(t, "more")
		a, err := RemainingValue(c.Value, age, hours)
		if err != nil {
			t.Fatal(err)
		}
		b, err := RemainingValue(c.Value, older, more)
		if err != nil {
			t.Fatal(err)
		}
		if b > a || a > 1 || b < 0 {
			t.Fatalf("%s: worth %g, then %g", c.Name, a, b)
		}
		x, err := AccumulatedRepair(c.Repair, 1000, hours)
		if err != nil {
			t.Fatal(err)
		}
		y, err := AccumulatedRepair(c.Repair, 1000, more)
		if err != nil {
			t.Fatal(err)
		}
		if y < x || x < 0 {
			t.Fatalf("%s: cost %g, then %g", c.Name, x, y)
		}
	})
}

// Whatever the numbers, the answer is finite or an error of ErrInput.
func FuzzFinite(f *testing.F) {
	f.Add(0.0, 0.0, 0.0, 0.0, 0)
	f.Add(93500.0, 25300.0, 0.05, 15.0, 2)
	f.Add(math.NaN(), math.Inf(1), -1.0, 1e-300, 5)
	f.Add(1.0, 1.0, -0.5, 200.0, 16)
	f.Fuzz(func(t *testing.T, a, b, c, d float64, n int) {
		class := classes[uint(n)%uint(len(classes))]
		own := Class{Repair: Repair{RF1: c, RF2: d}, Value: Value{C1: b, C2: c, C3: d}}
		for name, got := range map[string]func() (float64, error){
			"real rate":  func() (float64, error) { return RealRate(c, d) },
			"factor":     func() (float64, error) { return RecoveryFactor(c, d) },
			"capital":    func() (float64, error) { return CapitalRecovery(a, b, c, d) },
			"repair":     func() (float64, error) { return AccumulatedRepair(class.Repair, a, b) },
			"value":      func() (float64, error) { return RemainingValue(class.Value, a, b) },
			"own repair": func() (float64, error) { return AccumulatedRepair(own.Repair, a, b) },
			"own value":  func() (float64, error) { return RemainingValue(own.Value, a, b) },
			"fuel":       func() (float64, error) { return FuelPerHour(a, c) },
			"oil":        func() (float64, error) { return Lubrication(a) },
		} {
			x, err := got()
			if err != nil && (!errors.Is(err, ErrInput) || x != 0) {
				t.Errorf("%s: %v with %v", name, x, err)
			}
			if math.IsNaN(x) || math.IsInf(x, 0) || x < 0 && name != "capital" && name != "real rate" {
				t.Errorf("%s of %g, %g, %g, %g is %g", name, a, b, c, d, x)
			}
		}
	})
}
