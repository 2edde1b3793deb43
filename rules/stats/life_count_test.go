package stats

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// Bearing cages: eta 11,792 h and beta 2.035 (Meeker and Escobar 1998, section 8.4, from memory). Of the 1,697 still running, 5.057 are expected to fail in their next 300 h
// (Escobar and Meeker, Statistical prediction based on censored life data, Technometrics 41, 1999, from memory).
func TestExpectedFailures(t *testing.T) {
	lives := livesOf(table(t, "bearingcage"), true)
	w, err := FitWeibull(lives)
	if err != nil {
		t.Fatal(err)
	}
	if w.N != 1703 || w.Failures != 6 {
		t.Fatalf("%v of %v failed, want 6 of 1,703", w.Failures, w.N)
	}
	within(t, "eta", w.Eta, 11792, 0.5)
	within(t, "beta", w.Beta, 2.035, 5e-4)
	var running []Ageing
	for _, l := range lives {
		for range int(l.Count) {
			if !l.Failed {
				running = append(running, Ageing{Age: l.Time, Use: 300})
			}
		}
	}
	within(t, "fail in the next 300 h", w.FailsOf(running, 0), 5.057, 2e-3) // their sum is of chances rounded to some digits
}

// A life that is cut in two, watched from new to somewhere and from there to its end, says the same as in one piece: the likelihood is the product. So the published
// fits must come out of lives first watched in the middle too. Every life is cut somewhere else.
func TestLateLives(t *testing.T) {
	for _, file := range []string{"nist8413", "shock", "dieselfan", "ballbearing", "sixmp"} {
		whole := livesOf(table(t, file), file == "dieselfan")
		var cut []Life
		for i, l := range whole {
			at := l.Time * float64(1+i%7) / 8
			cut = append(cut, Life{Time: at, Count: l.Count}, Life{Time: l.Time, Failed: l.Failed, Count: l.Count, From: at})
		}
		want, err := FitWeibull(whole)
		if err != nil {
			t.Fatal(err)
		}
		got, err := FitWeibull(cut)
		if err != nil {
			t.Fatalf("%s: %v", file, err)
		}
		near(t, file+" eta", got.Eta, want.Eta, 1e-9)
		near(t, file+" beta", got.Beta, want.Beta, 1e-9)
		near(t, file+" se of eta", got.EtaSE, want.EtaSE, 1e-7)
		near(t, file+" se of beta", got.BetaSE, want.BetaSE, 1e-7)
		near(t, file+" log-likelihood", got.LogLik, want.LogLik, 1e-9)
		one, err := KaplanMeier(whole)
		if err != nil {
			t.Fatal(err)
		}
		two, err := KaplanMeier(cut)
		if err != nil || len(two) != len(one) {
			t.Fatalf("%s: %d steps, want %d: %v", file, len(two), len(one), err)
		}
		for i := range one {
			if one[i].AtRisk != two[i].AtRisk || math.Abs(one[i].Share-two[i].Share) > 1e-12 || math.Abs(one[i].SE-two[i].SE) > 1e-12 {
				t.Errorf("%s: %+v, want %+v", file, two[i], one[i])
			}
		}
	}
}

// What is watched late and cannot tell a life says so.
func TestLateLivesRefused(t *testing.T) {
	for name, lives := range map[string][]Life{
		"ended before it began": {{Time: 5, From: 5, Failed: true}, {Time: 9}},
		"below nothing":         {{Time: 5, From: -1, Failed: true}, {Time: 9}},
		"not a number":          {{Time: 5, From: math.NaN(), Failed: true}, {Time: 9}},
	} {
		if w, err := FitWeibull(lives); err != ErrNotFinite {
			t.Errorf("%s: %v, %v", name, w, err)
		}
		if s, err := KaplanMeier(lives); err != ErrNotFinite {
			t.Errorf("%s: %v, %v", name, s, err)
		}
	}
	if w, err := FitWeibull([]Life{{Time: 5, From: 4.99, Failed: true}, {Time: 6, From: 5.99, Failed: true}, {Time: 7, From: 6.99, Failed: true}}); err == nil && (math.IsNaN(w.Eta) || math.IsNaN(w.EtaSE)) {
		t.Errorf("%+v", w)
	}
}

// Exact limits of a Poisson mean: of none seen 3.689 at 95 %, as the R function pois.exact of epitools gives it; the rest of the table from memory (Garwood 1936; Pearson and Hartley, Biometrika
// Tables for Statisticians, table 40). And by what they are: at its lower limit so many or more come with the tail's chance, at its upper so many or fewer.
func TestPoissonLimits(t *testing.T) {
	for count, want := range map[int]Interval{0: {0, 3.689}, 1: {0.0253, 5.572}, 2: {0.242, 7.225}, 5: {1.623, 11.668}, 10: {4.795, 18.390}} {
		got := PoissonLimits(count, 0.95)
		within(t, fmt.Sprint("lower of ", count), got.Low, want.Low, 5.1e-4)
		within(t, fmt.Sprint("upper of ", count), got.High, want.High, 5.1e-4)
	}
	for _, count := range []int{1, 3, 20, 200} {
		l := PoissonLimits(count, 0.8)
		within(t, "at the lower limit", 1-distuv.Poisson{Lambda: l.Low}.CDF(float64(count-1)), 0.1, 1e-9)
		within(t, "at the upper limit", distuv.Poisson{Lambda: l.High}.CDF(float64(count)), 0.1, 1e-9)
	}
}

// With all chances alike it is the binomial; with chances of 0 and 1 it is certain; two on paper: 0.5 and 0.2 give 0.4, 0.5, 0.1.
func TestPoissonBinomial(t *testing.T) {
	alike := make([]float64, 40)
	for i := range alike {
		alike[i] = 0.07
	}
	for k, got := range PoissonBinomial(alike) {
		within(t, fmt.Sprint(k, " of 40"), got, distuv.Binomial{N: 40, P: 0.07}.Prob(float64(k)), 1e-14)
	}
	got := PoissonBinomial([]float64{0.5, 0.2})
	for k, want := range []float64{0.4, 0.5, 0.1} {
		within(t, fmt.Sprint(k, " of two"), got[k], want, 1e-15)
	}
	if CountQuantile(got, 0.4) != 0 || CountQuantile(got, 0.41) != 1 || CountQuantile(got, 0.9) != 1 || CountQuantile(got, 0.95) != 2 || math.Abs(CountMean(got)-0.7) > 1e-15 {
		t.Error("quantiles or mean of 0.4, 0.5, 0.1")
	}
	if got := PoissonBinomial([]float64{0, 1, 1}); got[2] != 1 || CountQuantile(got, 0.1) != 2 {
		t.Errorf("certain: %v", got)
	}
	if got := PoissonBinomial(nil); len(got) != 1 || got[0] != 1 || CountQuantile(got, 0.9) != 0 {
		t.Errorf("of nothing: %v", got)
	}
}

// A count ahead whose rate is known from a count only, 7 in 100 and 30 to come: a gamma of shape 7.5 mixed into a Poisson has the mean 7.5 x 0.3 = 2.25 and the variance
// 2.25 x 1.3 = 2.925. On paper the chance of none is (100/130)^7.5 = 0.1398. What is beyond the most is put to the most.
func TestPoissonAhead(t *testing.T) {
	got := PoissonAhead(7, 100, 30, 200)
	mean, square2 := CountMean(got), 0.0
	for k, c := range got {
		square2 += float64(k*k) * c
	}
	within(t, "mean", mean, 2.25, 1e-9)
	within(t, "variance", square2-mean*mean, 2.925, 1e-9)
	within(t, "none", got[0], 0.1398, 5e-5)
	few := PoissonAhead(7, 100, 30, 2)
	within(t, "most", few[2], 1-got[0]-got[1], 1e-12)
	for _, nothing := range [][]float64{PoissonAhead(3, 0, 30, 4), PoissonAhead(3, 100, 0, 4)} {
		if nothing[0] != 1 {
			t.Errorf("of nothing: %v", nothing)
		}
	}
}

// Law: where the curve is known for certain the chances are those of its own FailsWithin; a second cause without wear is the exponential.
func TestFailingOfACertainCurve(t *testing.T) {
	w := &Weibull{Mu: math.Log(900), Sigma: 1 / 2.5, Eta: 900, Beta: 2.5}
	parts := []Ageing{{0, 300}, {500, 300}, {1200, 100}, {400, 0}}
	var want []float64
	for _, p := range parts {
		want = append(want, 1-(1-w.FailsWithin(p.Age, p.Use))*math.Exp(-1e-4*p.Use))
	}
	got := w.Failing(parts, 1e-4)
	for k, c := range PoissonBinomial(want) {
		within(t, fmt.Sprint("chance of ", k), got[k], c, 1e-12)
	}
	within(t, "mean", w.FailsOf(parts, 1e-4), CountMean(got), 1e-12)
	sum := 0.0
	for _, c := range (&Weibull{Mu: 6, Sigma: 0.5, MuSE: 0.4, SigmaSE: 0.3, muSigma: 0.05, Eta: math.Exp(6), Beta: 2}).Failing(parts, 0) {
		sum += c
	}
	within(t, "chances in all", sum, 1, 1e-9)
}

// Laws: groups that are one and the same set do not differ at all; groups of quite different lives do; with one group there is nothing to differ.
func TestDiffer(t *testing.T) {
	fit := func(lives ...Life) *Weibull {
		w, err := FitWeibull(lives)
		if err != nil {
			t.Fatal(err)
		}
		return w
	}
	a, b := livesOf(table(t, "sixmp"), false), livesOf(table(t, "placebo"), false)
	both := append(append([]Life{}, a...), b...)
	within(t, "the same twice", Differ(fit(append(append([]Life{}, a...), a...)...), []*Weibull{fit(a...), fit(a...)}), 1, 1e-6)
	if p := Differ(fit(both...), []*Weibull{fit(a...), fit(b...)}); p > 0.001 {
		t.Errorf("remission under 6-mercaptopurine and under placebo: %v", p) // 23 weeks and 8 in the middle, so published since 1963
	}
	if Differ(fit(a...), []*Weibull{fit(a...)}) != 1 {
		t.Error("one group differs from itself")
	}
}

// How far the range of the count holds when it is forecast from few failures: 40 parts with a shape of 2.5 that are renewed as they fail, watched for a while; how many of
// those in place fail in the next stretch. The 80 % range of counts, whole numbers and so a little wide, is to hold about as often as it says.
func TestCountHolds(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	life := func() float64 { return 1000 * math.Pow(-math.Log(1-r.Float64()), 1/2.5) }
	held, of := 0, 0
	for range 150 {
		var lives []Life
		var running []Ageing
		left := make([]float64, 0, 40)
		for range 40 {
			age := 0.0
			next := life()
			for end := 1100 * r.Float64(); ; {
				if next > end-age {
					lives = append(lives, Life{Time: end - age})
					running = append(running, Ageing{end - age, 200})
					left = append(left, next-(end-age))
					break
				}
				lives = append(lives, Life{Time: next, Failed: true})
				age += next
				next = life()
			}
		}
		w, err := FitWeibull(lives)
		if err != nil {
			continue
		}
		failed := 0
		for _, l := range left {
			if l <= 200 {
				failed++
			}
		}
		chances := w.Failing(running, 0)
		of++
		if failed >= CountQuantile(chances, 0.1) && failed <= CountQuantile(chances, 0.9) {
			held++
		}
	}
	if share := float64(held) / float64(of); of < 140 || share < 0.78 || share > 0.97 {
		t.Errorf("held %d of %d times", held, of)
	} else {
		t.Logf("held %d of %d times", held, of)
	}
}
