package stats

import (
	"errors"
	"fmt"
	"math"
	"testing"
)

func livesOf(d [][]float64, count bool) []Life {
	var out []Life
	for i := range d[0] {
		l := Life{Time: d[0][i], Failed: d[1][i] == 1}
		if count {
			l.Count = d[2][i]
		}
		out = append(out, l)
	}
	return out
}

// Weibull fits: printed values of the NIST/SEMATECH e-Handbook 8.4.1.3 (eta 606.5280, beta 1.7208, log-likelihood -75.135, mean 540.737), and full digits by
// R's survreg for the others. Their book values, from memory: shock absorbers mu 10.23 sigma 0.3164 (Meeker and Escobar 1998, table 8.1), fans beta 1.058 eta 26297 (Nelson
// 1982), bearings beta 2.10 eta 81.9 (Lawless 1982).
func TestWeibull(t *testing.T) {
	for _, c := range []struct {
		name, file                                 string
		counted                                    bool
		eta, beta, logLik                          float64
		muSE, sigmaSE, etaSE, betaSE, b10, failure float64
	}{
		{"e-Handbook 8.4.1.3", "nist8413", false, 606.52755800, 1.7207972608, -75.13461816, 0.20594391, 0.16957998, 124.910656, 0.50215060, 164.022439, 10},
		{"shock absorbers", "shock", false, 27718.71812852, 3.1604703145, -123.99536119, 0.10989048, 0.07316545, 3046.023183, 0.73081839, 13600.034715, 11},
		{"diesel fans", "dieselfan", true, 26296.84517423, 1.0584458500, -135.15271994, 0.46588966, 0.23944403, 12251.428284, 0.26825097, 3137.240778, 12},
		{"ball bearings", "ballbearing", false, 81.87455872, 2.1018468638, -113.69195909, 0.10505005, 0.07439456, 8.600926, 0.32865733, 28.065089, 23},
		{"6-MP", "sixmp", false, 33.76515097, 1.3537345238, -41.65867848, 0.27336892, 0.20565176, 0, 0, 0, 9},
		{"placebo", "placebo", false, 9.48214126, 1.3704998593, -64.92010759, 0.16781546, 0.12664856, 0, 0, 0, 21},
	} {
		t.Run(c.name, func(t *testing.T) {
			w, err := FitWeibull(livesOf(table(t, c.file), c.counted))
			if err != nil {
				t.Fatal(err)
			}
			near(t, "eta", w.Eta, c.eta, 1e-8)
			near(t, "beta", w.Beta, c.beta, 1e-8)
			within(t, "log-likelihood", w.LogLik, c.logLik, 1e-7)
			near(t, "se of mu", w.MuSE, c.muSE, 1e-6)
			near(t, "se of sigma", w.SigmaSE, c.sigmaSE, 1e-6)
			if c.etaSE > 0 {
				near(t, "se of eta", w.EtaSE, c.etaSE, 1e-6)
				near(t, "se of beta", w.BetaSE, c.betaSE, 1e-6)
				b10, limits := w.Quantile(0.1, 0.95)
				near(t, "B10", b10, c.b10, 1e-7)
				if !limits.Contains(b10) || limits.Low <= 0 {
					t.Errorf("limits %v of B10 %v", limits, b10)
				}
			}
			if w.Failures != c.failure {
				t.Errorf("%v failures, want %v", w.Failures, c.failure)
			}
		})
	}
	w, err := FitWeibull(livesOf(table(t, "nist8413"), false))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "printed eta", w.Eta, 606.5280, 2e-6)
	within(t, "printed beta", w.Beta, 1.7208, 5e-5)
	within(t, "printed log-likelihood", w.LogLik, -75.135, 5e-4)
	within(t, "printed mean", w.Mean(), 540.737, 1e-3)
}

// With the shape held at 1 the fans' mean life is all hours over all failures: 344,440/12 = 28,703.3 h (Nelson 1982). A free fit has a likelihood no less.
func TestWeibullOfChance(t *testing.T) {
	lives := livesOf(table(t, "dieselfan"), true)
	hours, failures := 0.0, 0.0
	for _, l := range lives {
		hours += l.Time * l.Count
		failures += failed(l) * l.Count
	}
	near(t, "total hours over failures", hours/failures, 28703.3333333, 1e-9)
	w, err := FitWeibull(lives)
	if err != nil {
		t.Fatal(err)
	}
	if exponential := -failures*math.Log(hours/failures) - failures; w.LogLik < exponential {
		t.Errorf("log-likelihood %v is less than the exponential's %v", w.LogLik, exponential)
	}
}

// Laws: the chances over the parts of a span multiply, and a part that has not aged fails as the curve says.
func TestFailsWithin(t *testing.T) {
	w := &Weibull{Eta: 900, Beta: 2.5}
	for _, age := range []float64{0, 10, 500, 2000} {
		within(t, "survival in two steps", (1-w.FailsWithin(age, 100))*(1-w.FailsWithin(age+100, 250)), 1-w.FailsWithin(age, 350), 1e-12)
	}
	within(t, "new", w.FailsWithin(0, 300), 1-w.Survives(300), 1e-15)
	if w.FailsWithin(100, 0) != 0 || w.FailsWithin(-5, 10) != w.FailsWithin(0, 10) || w.Survives(-1) != 1 {
		t.Error("no use, or an age below nothing, fails nothing")
	}
}

// What cannot give a life says so.
func TestLivesRefused(t *testing.T) {
	for name, c := range map[string]struct {
		lives []Life
		want  error
	}{
		"none":                       {nil, ErrNoFailures},
		"nothing failed":             {[]Life{{Time: 5}, {Time: 9}}, ErrNoFailures},
		"one failed, nothing else":   {[]Life{{Time: 5, Failed: true}}, ErrTooFew},
		"all failed at once":         {[]Life{{Time: 5, Failed: true}, {Time: 5, Failed: true}}, ErrTooFew},
		"failed last, rest censored": {[]Life{{Time: 5}, {Time: 5, Failed: true}, {Time: 3}}, ErrTooFew},
		"no time":                    {[]Life{{Time: 0, Failed: true}, {Time: 5, Failed: true}}, ErrNotFinite},
		"not a number":               {[]Life{{Time: math.NaN(), Failed: true}}, ErrNotFinite},
	} {
		if w, err := FitWeibull(c.lives); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, %v, want %v", name, w, err, c.want)
		}
	}
	if _, err := KaplanMeier([]Life{{Time: 3}}); !errors.Is(err, ErrNoFailures) {
		t.Error(err)
	}
	if _, err := MeanCumulative([]Watch{{End: 5}}); !errors.Is(err, ErrNoFailures) {
		t.Error(err)
	}
	if _, err := MeanCumulative([]Watch{{End: 5, Replaced: []float64{6}}}); !errors.Is(err, ErrNotFinite) {
		t.Error(err)
	}
	// one that failed and one that outlived it is little, but something
	if w, err := FitWeibull([]Life{{Time: 5, Failed: true}, {Time: 9}}); err != nil || !(w.Eta > 5) {
		t.Errorf("%+v, %v", w, err)
	}
}

// Kaplan-Meier of the 6-mercaptopurine trial and of the shock absorbers, as R's survival gives them.
func TestKaplanMeier(t *testing.T) {
	for _, name := range []string{"sixmp", "shock"} {
		got, err := KaplanMeier(livesOf(table(t, name), false))
		want := table(t, name+"_km")
		if err != nil || len(got) != len(want[0]) {
			t.Fatalf("%s: %d steps, want %d: %v", name, len(got), len(want[0]), err)
		}
		for i, s := range got {
			at := fmt.Sprint(name, " at ", s.Time, ": ")
			if s.Time != want[0][i] || s.AtRisk != want[1][i] || s.Failed != want[2][i] {
				t.Errorf("%s%v of %v, want %v of %v at %v", at, s.Failed, s.AtRisk, want[2][i], want[1][i], want[0][i])
			}
			within(t, at+"share", s.Share, want[3][i], 1e-9)
			within(t, at+"standard error", s.SE, want[4][i], 1e-9)
			if name == "sixmp" {
				l := s.Limits(0.95)
				within(t, at+"lower limit", l.Low, want[7][i], 1e-7)
				within(t, at+"upper limit", l.High, want[8][i], 1e-7)
			}
		}
	}
}

// The leukaemia data as the tests of R's survival print them ("results can be found in Miller"), within half a unit of the last printed digit.
func TestKaplanMeierPrinted(t *testing.T) {
	d, want := table(t, "aml"), table(t, "aml_km")
	row := 0
	for group := 1.0; group <= 2; group++ {
		var lives []Life
		for i := range d[0] {
			if d[2][i] == group {
				lives = append(lives, Life{Time: d[0][i], Failed: d[1][i] == 1})
			}
		}
		got, err := KaplanMeier(lives)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range got {
			if row >= len(want[0]) || want[0][row] != group || want[1][row] != s.Time {
				t.Fatalf("a step at %v of group %v that is not printed", s.Time, group)
			}
			at := fmt.Sprint("group ", group, " at ", s.Time)
			within(t, at, s.Share, want[4][row], 5.1e-4)
			if !math.IsNaN(want[5][row]) && s.Share > 0 {
				within(t, at+" standard error", s.SE, want[5][row], 5.1e-5)
				l := s.Limits(0.95)
				within(t, at+" lower", l.Low, want[6][row], 5.1e-5)
				within(t, at+" upper", l.High, want[7][row], 5.1e-4)
			}
			row++
		}
	}
	if row != len(want[0]) {
		t.Errorf("%d steps of %d", row, len(want[0]))
	}
}

// Valve seats replaced again and again (Nelson and Doganaksoy 1989).
func TestMeanCumulative(t *testing.T) {
	d, want := table(t, "valveseat"), table(t, "valveseat_mcf")
	watches := map[int]*Watch{}
	var order []int
	for i := range d[0] {
		id := int(d[0][i])
		if watches[id] == nil {
			watches[id] = &Watch{}
			order = append(order, id)
		}
		if d[2][i] == 1 {
			watches[id].Replaced = append(watches[id].Replaced, d[1][i])
		} else {
			watches[id].End = d[1][i]
		}
	}
	var places []Watch
	for _, id := range order {
		places = append(places, *watches[id])
	}
	got, err := MeanCumulative(places)
	if err != nil || len(got) != len(want[0]) || len(places) != 41 {
		t.Fatalf("%d steps of %d engines, want %d of 41: %v", len(got), len(places), len(want[0]), err)
	}
	for i, r := range got {
		if r.Age != want[0][i] || float64(r.AtRisk) != want[1][i] || float64(r.Replacements) != want[2][i] {
			t.Errorf("%+v, want %v %v %v", r, want[0][i], want[1][i], want[2][i])
		}
		within(t, fmt.Sprint("at ", r.Age), r.Mean, want[3][i], 6e-11)
	}
}
