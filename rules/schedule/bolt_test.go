package schedule

import (
	"fmt"
	"math"
	"math/big"
	"strings"
	"testing"
)

func bolted(t *testing.T, text, grade, finish string) *Bolt {
	t.Helper()
	th, err := parseThread(text)
	if err != nil {
		t.Fatal(err)
	}
	b := &Bolt{Thread: th.name, Grade: grade, Finish: finish, thread: th}
	var ok bool
	if b.proof, ok = th.proofStrength(grade); !ok {
		t.Fatalf("%s has no grade %s", text, grade)
	}
	return b
}

func float(r *big.Rat) float64 { f, _ := r.Float64(); return f }

// A fastener distributor's chart "based on IFI 5th Edition Technical Data N-12/N-16" for SAE J429 grades 5 and 8: K 0.20 dry and 0.15 plated, clamp load
// 75 % of the proof load. Stress areas as two thread tables print them (ASME B1.1). The proof strengths of 85,000 and 120,000 psi are from memory, of
// SAE J429; the chart's clamp loads bear them out within 0.5 %.
var torqueChart = []struct {
	grade, thread string
	clamp         float64 // lbf
	dry, plated   float64 // lbf.ft
	area          float64 // in2
}{
	{"5", "1/4-20", 2025, 8, 6.33, 0.0318}, {"5", "5/16-18", 3338, 17, 13, 0.0524}, {"5", "3/8-16", 4950, 31, 23, 0.0775}, {"5", "7/16-14", 6788, 50, 37, 0.1063},
	{"5", "1/2-13", 9075, 76, 57, 0.1419}, {"5", "9/16-12", 11625, 109, 82, 0.182}, {"5", "5/8-11", 14400, 150, 112, 0.226}, {"5", "3/4-10", 21300, 266, 200, 0.334},
	{"5", "7/8-9", 29475, 430, 322, 0.462}, {"5", "1-8", 38625, 644, 483, 0.606}, {"5", "1/4-28", 2325, 10, 7.25, 0.0364}, {"5", "3/8-24", 5588, 35, 26, 0.0878},
	{"5", "1/2-20", 10200, 85, 64, 0.1599}, {"5", "5/8-18", 16350, 170, 128, 0.256}, {"5", "3/4-16", 23775, 297, 223, 0.373},
	{"8", "1/4-20", 2850, 12, 9, 0.0318}, {"8", "5/16-18", 4725, 25, 18, 0.0524}, {"8", "3/8-16", 6975, 44, 33, 0.0775}, {"8", "7/16-14", 9600, 70, 52, 0.1063},
	{"8", "1/2-13", 12750, 106, 80, 0.1419}, {"8", "9/16-12", 16350, 153, 115, 0.182}, {"8", "5/8-11", 20325, 212, 159, 0.226}, {"8", "3/4-10", 30075, 376, 282, 0.334},
	{"8", "7/8-9", 41550, 606, 454, 0.462}, {"8", "1-8", 54525, 909, 682, 0.606}, {"8", "3/4-16", 33600, 420, 315, 0.373},
}

// The chart rounds its clamp loads (to 25 or 75 lbf) before it works out torques. With its own loads K F d meets every row within 0.6 lbf.ft; with loads
// from the formulas two rows are off by more, at most 0.74 lbf.ft (7/8-9 grade 5: 429.3 for its 430).
func TestBoltTorqueChart(t *testing.T) {
	for _, row := range torqueChart {
		for finish, want := range map[string]float64{"dry": row.dry, "plated": row.plated} {
			b := bolted(t, row.thread, row.grade, finish)
			if got := float(b.thread.stressArea()); math.Abs(got-row.area) > 0.0006 {
				t.Errorf("%s: stress area %.5f in2, the tables print %g", row.thread, got, row.area)
			}
			if got := float(b.clamp()); math.Abs(got/row.clamp-1) > 0.005 {
				t.Errorf("%s grade %s: clamp load %.0f lbf, the chart prints %g", row.thread, row.grade, got, row.clamp)
			}
			if got := float(nutFactors[finish]) * row.clamp * float(b.thread.d) / 12; math.Abs(got-want) > 0.6 {
				t.Errorf("%v: %.2f lbf.ft from the chart's clamp load, the chart prints %g", b, got, want)
			}
			if got := float(b.torque()); math.Abs(got-want) > 0.75 {
				t.Errorf("%v: %.2f lbf.ft, the chart prints %g", b, got, want)
			}
			if shown := b.Torque(); shown.Unit().String() != "lbf.ft" || math.Abs(shown.Float64()-float(b.torque())) > 0.5 {
				t.Errorf("%v: %s shown for %.2f", b, shown, float(b.torque()))
			}
		}
	}
}

// ISO 898-1, coarse threads: stress areas (mm2) and proof loads (N) as two fastener pages reproduce its tables; 0: not seen. The proof strengths of 830
// and 970 MPa are from memory; the loads bear them out.
func TestBoltProofLoadsISO898(t *testing.T) {
	for _, row := range []struct {
		thread string
		area   float64
		loads  [3]float64 // 8.8, 10.9, 12.9
	}{
		{"M5", 14.2, [3]float64{8230, 11800, 13800}}, {"M6", 20.1, [3]float64{11600, 16700, 19500}}, {"M8", 36.6, [3]float64{21200, 30400, 35500}},
		{"M10", 58, [3]float64{33700, 48100, 56300}}, {"M12", 84.3, [3]float64{48900, 70000, 81800}}, {"M14", 115, [3]float64{66700, 95500, 112000}},
		{"M16", 157, [3]float64{91000, 130000, 0}}, {"M18", 192, [3]float64{}}, {"M20", 245, [3]float64{}}, {"M24", 353, [3]float64{}}, {"M30", 561, [3]float64{}},
	} {
		for i, class := range []string{"8.8", "10.9", "12.9"} {
			b := bolted(t, row.thread, class, "dry")
			if got := float(b.thread.stressArea()); math.Abs(got/row.area-1) > 0.005 {
				t.Errorf("%s: stress area %.2f mm2, the table prints %g", row.thread, got, row.area)
			}
			if load := row.area * float64(b.proof); row.loads[i] != 0 && math.Abs(load/row.loads[i]-1) > 0.006 {
				t.Errorf("%s class %s: proof load %.0f N from the printed area, the table prints %g", row.thread, class, load, row.loads[i])
			}
		}
	}
	if b := bolted(t, "M18", "8.8", "dry"); b.proof != 600 { // ISO 898-1: 580 MPa up to 16 mm, 600 above
		t.Errorf("M18 class 8.8: proof strength %d MPa, want 600", b.proof)
	}
}

// Worked on paper: M12x1.75 class 8.8, dry. d2 = 12 - 0.9382 x 1.75 = 10.35815; area 0.785398 x 107.29127 = 84.267; clamp 0.75 x 580 x 84.267 = 36656 N;
// torque 0.20 x 36656 x 0.012 = 87.97 N.m. And 3/4-10 grade 5: 0.75 - 0.09743 = 0.65257, squared 0.425848, area 0.33446; clamp 0.75 x 85000 x 0.33446 =
// 21322 lbf; torque 0.20 x 21322 x 0.75 / 12 = 266.5 lbf.ft; plated three quarters of that, 199.9.
func TestBoltByHand(t *testing.T) {
	for _, c := range []struct{ thread, grade, finish, want, why string }{
		{"M12x1.75", "8.8", "dry", "88 N.m", "stress area 84.3 mm2 = pi/4 x (12 mm - 0.9382 x 1.75 mm)^2 (ISO 898-1); proof strength 580 MPa (class 8.8 of ISO 898-1); " +
			"clamp load 36656 N = 75 % x 580 MPa x 84.3 mm2; torque 88 N.m = 0.20 x 36656 N x 12 mm / 1000 mm"},
		{"3/4-10", "5", "dry", "267 lbf.ft", "stress area 0.3345 in2 = pi/4 x (0.75 in - 0.9743/10)^2 (ASME B1.1); proof strength 85000 psi (grade 5 of SAE J429); " +
			"clamp load 21322 lbf = 75 % x 85000 psi x 0.3345 in2; torque 267 lbf.ft = 0.20 x 21322 lbf x 0.75 in / 12 in"},
		{"3/4 - 10", "5", "plated", "200 lbf.ft", ""}, {"m12", "8.8", "dry", "88 N.m", ""}, {"M12 X 1.75", "8.8", "plated", "66 N.m", ""}, {"1/4-20", "5", "plated", "6.3 lbf.ft", ""},
	} {
		b := bolted(t, c.thread, c.grade, c.finish)
		if got := b.Torque().String(); got != c.want {
			t.Errorf("%v: %s, by hand %s", b, got, c.want)
		}
		if c.why != "" && b.Why() != c.why {
			t.Errorf("%v:\n got %s\nwant %s", b, b.Why(), c.why)
		}
	}
}

// Every thread that is known reads back, has a stress area below that of its shank, and of one diameter the finer thread has the greater area.
func TestBoltThreads(t *testing.T) {
	areas := map[string][]float64{}
	for _, name := range append(append([]string(nil), inchThreads...), metricThreads...) {
		th, err := parseThread(name)
		if err != nil {
			t.Fatal(err)
		}
		d := float(th.d)
		a := float(th.stressArea())
		if share := a / (d * d * math.Pi / 4); share < 0.6 || share > 0.95 {
			t.Errorf("%s: its stress area is %.2f of its shank's", name, share)
		}
		key := fmt.Sprint(th.inch, d)
		areas[key] = append(areas[key], a/float(th.pitch)) // finer: greater area, smaller pitch
	}
	for d, of := range areas {
		for i := 1; i < len(of); i++ {
			if of[i] <= of[i-1] && d != "true1" {
				t.Errorf("threads of diameter %s do not go from coarse to fine: %v", d, of)
			}
		}
	}
}

const flangeBolt = `joint = "flange", bolt = "3/4-10", grade = "5", finish = "dry"`

func TestBoltMistakes(t *testing.T) {
	job := func(torque string) string { return prelude + "[job.frame]\ntorques = [" + torque + "]\n" }
	manual := `: write value = "75 lbf.ft" or the like, as the operator's manual has it`
	testMistakes(t, []mistake{
		{"value and bolt", job(`{ what = "bracket bolt", value = "200 lbf.ft", joint = "flange", §bolt = "3/4-10", grade = "5", finish = "dry" }`),
			[]string{`torques of job "frame" has both value and bolt: keep value where the manual names one: then nothing is computed`}},
		{"no joint", job(`§{ what = "bracket bolt", bolt = "3/4-10", grade = "5", finish = "dry" }`),
			[]string{`torques of job "frame" has no joint: write joint = "flange" where plain steel bolts clamp plates; of anything else write value = "75 lbf.ft" or the like, as the operator's manual has it`}},
		{"another joint", job(`{ what = "bracket bolt", joint = §"pivot", bolt = "3/4-10", grade = "5", finish = "dry" }`),
			[]string{`joint of torques of job "frame" is "pivot"; a torque is computed for flange joints only, plain steel bolts that clamp plates: of anything else write value = "75 lbf.ft" or the like, as the operator's manual has it`}},
		{"no finish", job(`§{ what = "bracket bolt", joint = "flange", bolt = "3/4-10", grade = "5" }`),
			[]string{`torques of job "frame" has no finish: write finish = "dry" (plain, not oiled; K 0.20) or "plated" (K 0.15)`}},
		{"a finish unknown", job(`{ what = "bracket bolt", joint = "flange", bolt = "3/4-10", grade = "5", finish = §"oiled" }`),
			[]string{`finish of torques of job "frame" is "oiled": write "dry" or "plated"`}},
		{"a thread there is not", job(`{ what = "bracket bolt", joint = "flange", bolt = §"3/4-11", grade = "5", finish = "dry" }`),
			[]string{`bolt of torques of job "frame": "3/4-11" is no thread of a bolt: write "3/4-10" or "3/4-16"`}},
		{"a pitch there is not", job(`{ what = "bracket bolt", joint = "flange", bolt = §"M12x2", grade = "8.8", finish = "dry" }`),
			[]string{`bolt of torques of job "frame": "M12x2" is no thread of a bolt: write "M12x1.75", "M12x1.5" or "M12x1.25"`}},
		{"no thread", job(`{ what = "bracket bolt", joint = "flange", bolt = §"big", grade = "5", finish = "dry" }`),
			[]string{`bolt of torques of job "frame": "big" is no thread from 1/4 to 1 in or M5 to M30: write "3/4-10", "M12x1.75" or, coarse, "M12"`}},
		{"a grade of the other kind", job(`{ what = "bracket bolt", joint = "flange", bolt = "3/4-10", grade = §8.8, finish = "dry" }`),
			[]string{`grade of torques of job "frame" is "8.8", which 3/4-10 has not: write "5" (three marks on the head) or "8" (six)`}},
		{"no grade", job(`§{ what = "bracket bolt", joint = "flange", bolt = "M12", finish = "dry" }`),
			[]string{`torques of job "frame" has no grade: write grade = "8.8", "10.9" or "12.9", as on the bolt's head`}},
		{"a grade and no bolt", job(`{ what = "bracket bolt", value = "200 lbf.ft", §grade = "5" }`), []string{`grade of torques of job "frame" goes with bolt only: take it out`}},
		{"a range", job(`{ what = "bracket bolt", §min = "200 lbf.ft", §max = "210 lbf.ft", ` + flangeBolt + ` }`),
			[]string{`torques of job "frame" has min, but its torque is computed: min and max go with value: take it out`, `torques of job "frame" has max, but its torque is computed: min and max go with value: take it out`}},
		{"a size", job(`{ what = "bracket bolt", size = §"3/4 in", ` + flangeBolt + ` }`), []string{`torques of job "frame" has both size and bolt: take it out: bolt says the size`}},
		{"left-hand", job(`{ what = "bracket bolt", §left_hand = true, ` + flangeBolt + ` }`),
			[]string{`no torque is computed for a left-hand thread: a left-hand thread holds something that turns and has a figure of its own` + manual}},
		{"by the job", prelude + "[job.wheel-off]\ntorques = [{ what = \"bolt\", joint = \"flange\", bolt = §\"3/4-10\", grade = \"5\", finish = \"dry\" }]\n",
			[]string{`no torque is computed where job "wheel-off" says "wheel": a wheel comes off when its nuts are wrong, and every wheel has its own figure` + manual}},
		{"by the job's title", prelude + "[job.j]\ntitle = \"new bearings\"\ntorques = [{ what = \"bolt\", joint = \"flange\", bolt = §\"3/4-10\", grade = \"5\", finish = \"dry\" }]\n",
			[]string{`no torque is computed where the title of job "j" says "bearing": its torque sets a bearing, far below what its thread could bear` + manual}},
		{"by the job's places", prelude + "[job.j]\nof = \"wheel\"\ntorques = [{ what = \"bolt\", joint = \"flange\", bolt = §\"3/4-10\", grade = \"5\", finish = \"dry\" }]\n",
			[]string{`no torque is computed where of of job "j" says "wheel": a wheel comes off when its nuts are wrong, and every wheel has its own figure` + manual}},
	})
}

// The kinds of fasteners for which a torque computed from the bolt is the wrong tool, as people name them; and plain ones, which must not be refused.
func TestBoltRefused(t *testing.T) {
	for _, what := range []string{"spindle nut", "bearing cap bolt", "hub bolts", "wheel nut", "Wheel-nut", "lug nuts", "rim clamp", "castle nut", "castellated nut", "left-hand bolt", "left hand nut",
		"lock nut", "locknut", "self-locking nut", "nyloc nut", "bolt in aluminium", "aluminum housing bolt", "plastic tank bolt", "hydraulic fitting", "hose end", "banjo bolt", "cylinder head bolt",
		"stainless bolt", "flywheel bolt", "slip clutch bolt", "brake caliper bolt"} {
		text := prelude + "[job.frame]\ntorques = [{ what = \"" + what + "\", " + flangeBolt + " }]\n"
		_, err := Parse("t.toml", []byte(text))
		if err == nil || !strings.Contains(err.Error(), "no torque is computed where torques of job \"frame\" says") {
			t.Errorf("%s: %v", what, err)
		}
		at := fmt.Sprintf("t.toml:%d:%d: ", strings.Count(text, "\n"), strings.Index("torques = [{ what = ", "what")+len("what = ")+1)
		if err != nil && !strings.HasPrefix(err.Error(), at) {
			t.Errorf("%s: %v, want it at %s", what, err, at)
		}
	}
	for _, what := range []string{"bracket bolt", "frame bolt", "flange nut", "drawbar bolt", "tool bar clamp", "block bolt", "shrub guard bolt", "trim bolt"} {
		if _, err := Parse("t.toml", []byte(prelude+"[job.frame]\ntorques = [{ what = \""+what+"\", "+flangeBolt+" }]\n")); err != nil {
			t.Errorf("%s: %v", what, err)
		}
	}
}

// A farm's own value, with its manual's page, takes the place of what was computed; taken back, it is computed again. A bolt never takes a value's place.
func TestBoltOverridden(t *testing.T) {
	s, err := Parse("t.toml", []byte(prelude+"[job.frame]\ntorques = [{ what = \"bracket bolt\", "+flangeBolt+" }]\n"))
	if err != nil {
		t.Fatal(err)
	}
	fit := func(list ...Override) Torque {
		t.Helper()
		f, err := s.Fit(nil, nil, list)
		if err != nil {
			t.Fatal(err)
		}
		if len(f.Dropped) > 0 {
			t.Fatalf("dropped: %+v", f.Dropped)
		}
		j, _ := f.Job("frame")
		return j.Torques[0]
	}
	if q := fit(); q.Bolt == nil || q.Value.String() != "267 lbf.ft" || q.Size != "3/4-10 grade 5, dry" {
		t.Errorf("%+v", q)
	}
	manual := Override{Path: "job.frame.torques.1.value", Value: `"220 lbf.ft"`, Page: "p. 112"}
	if q := fit(manual); q.Bolt != nil || q.Value.String() != "220 lbf.ft" || q.Size != "3/4-10 grade 5, dry" {
		t.Errorf("with the manual's value: %+v", q)
	}
	back := manual
	back.Value = ""
	if q := fit(manual, back); q.Bolt == nil || q.Value.String() != "267 lbf.ft" {
		t.Errorf("taken back: %+v", q)
	}
	if q := fit(Override{Path: "job.frame.torques.1.finish", Value: `"plated"`}); q.Value.String() != "200 lbf.ft" {
		t.Errorf("plated: %+v", q)
	}
	if err := s.CheckOverride("job.frame.torques.1.what", `"wheel nut"`); err == nil || !strings.Contains(err.Error(), "no torque is computed") {
		t.Errorf("made a wheel nut: %v", err)
	}
	if err := s.CheckOverride("job.torque.torques.1.bolt", `"M12"`); err == nil {
		t.Error("a bolt stands beside a value")
	}
}
