package schedule

import (
	"fmt"
	"math/big"
	"strings"

	"shedbook/rules/quantity"
)

// Bolt is a plain steel bolt or nut of a flange joint whose torque is computed because no manual names one: T = K F d, with a clamp load F of 75 % of
// the proof load. It is a guide for bolts that clamp plates and nothing else; readBolt refuses the rest.
type Bolt struct {
	Thread string // "3/4-10" or "M12x1.75"
	Grade  string // SAE J429 grade "5", "8", or ISO 898-1 property class "8.8", "10.9", "12.9"
	Finish string // "dry" or "plated"

	thread thread
	proof  int64 // proof strength, psi or MPa
}

// nutFactors are K of T = K F d: 0.20 for plain dry threads, 0.15 for plated ones (the chart "based on IFI Technical Data" that the test names).
var nutFactors = map[string]*big.Rat{"dry": big.NewRat(20, 100), "plated": big.NewRat(15, 100)}

// clampShare is the share of the proof load that a bolt is tightened to, as in the same chart.
var clampShare = big.NewRat(75, 100)

// thread is a screw thread: inch by diameter in inches and threads an inch, metric by diameter and pitch in millimetres.
type thread struct {
	name  string
	inch  bool
	d     *big.Rat
	pitch *big.Rat // of inch threads 1/n
}

// The threads that bolts are sold with, in the order of ASME B1.1 (UNC, UNF; 1-14 is UNS) and ISO 261 (coarse first). Another number is nearly always
// a slip of the pen, and would give a stress area of its own.
var (
	inchThreads = strings.Fields("1/4-20 5/16-18 3/8-16 7/16-14 1/2-13 9/16-12 5/8-11 3/4-10 7/8-9 1-8 " +
		"1/4-28 5/16-24 3/8-24 7/16-20 1/2-20 9/16-18 5/8-18 3/4-16 7/8-14 1-12 1-14")
	metricThreads = strings.Fields("M5x0.8 M6x1 M8x1.25 M10x1.5 M12x1.75 M14x2 M16x2 M18x2.5 M20x2.5 M22x2.5 M24x3 M27x3 M30x3.5 " +
		"M8x1 M10x1.25 M10x1 M12x1.5 M12x1.25 M14x1.5 M16x1.5 M18x1.5 M20x1.5 M22x1.5 M24x2 M27x2 M30x2")
)

// parseThread reads "3/4-10", "M12x1.75" or, of the coarse series, "M12". The error says which threads there are of that diameter.
func parseThread(text string) (thread, error) {
	typed := strings.NewReplacer(" ", "", "×", "x", "X", "x", "m", "M").Replace(strings.TrimSpace(text))
	known, cut := inchThreads, "-"
	if strings.HasPrefix(typed, "M") {
		known, cut = metricThreads, "x"
	}
	diameter, _, pitched := strings.Cut(typed, cut)
	var of []string
	for _, name := range known {
		d, p, _ := strings.Cut(name, cut)
		switch {
		case name == typed, !pitched && cut == "x" && d == typed: // the first of a metric diameter is the coarse one
			t := thread{name: name, inch: cut == "-", d: ratOf(strings.TrimPrefix(d, "M")), pitch: ratOf(p)}
			if t.inch {
				t.pitch.Inv(t.pitch)
			}
			return t, nil
		case d == diameter:
			of = append(of, name)
		}
	}
	if len(of) > 0 {
		return thread{}, fmt.Errorf("%q is no thread of a bolt: write %s", text, quoted(of, "or"))
	}
	return thread{}, fmt.Errorf(`%q is no thread from 1/4 to 1 in or M5 to M30: write "3/4-10", "M12x1.75" or, coarse, "M12"`, text)
}

// ratOf is a number of the tables above.
func ratOf(s string) *big.Rat {
	r, _ := new(big.Rat).SetString(s)
	return r
}

// quarterPi is pi/4 to 20 decimals.
var quarterPi = ratOf("0.78539816339744830962")

// stressArea is the tensile stress area in in2 or mm2: pi/4 (d - 0.9743/n)^2 of inch threads (ASME B1.1), pi/4 (d - 0.9382 P)^2 of metric ones (ISO 898-1).
func (t thread) stressArea() *big.Rat {
	k := ratOf("0.9382")
	if t.inch {
		k = ratOf("0.9743")
	}
	d := k.Sub(t.d, k.Mul(k, t.pitch))
	return d.Mul(d, d).Mul(d, quarterPi)
}

// proofStrength is that of the grade in psi (SAE J429: up to 1 in) or MPa (ISO 898-1); false where the thread's standard has no such grade.
func (t thread) proofStrength(grade string) (int64, bool) {
	of := map[string]int64{"8.8": 600, "10.9": 830, "12.9": 970}
	if t.d.Cmp(big.NewRat(16, 1)) <= 0 {
		of["8.8"] = 580
	}
	if t.inch {
		of = map[string]int64{"5": 85000, "8": 120000}
	}
	p, ok := of[grade]
	return p, ok
}

// clamp is the clamp load in lbf or N: 75 % of proof strength x stress area.
func (b *Bolt) clamp() *big.Rat {
	f := new(big.Rat).Mul(clampShare, new(big.Rat).SetInt64(b.proof))
	return f.Mul(f, b.thread.stressArea())
}

// torque is K F d in lbf.ft or N.m, not rounded.
func (b *Bolt) torque() *big.Rat {
	to := int64(1000) // mm in a metre
	if b.thread.inch {
		to = 12 // inches in a foot
	}
	t := new(big.Rat).Mul(nutFactors[b.Finish], b.clamp())
	return t.Mul(t, b.thread.d).Quo(t, big.NewRat(to, 1))
}

// Torque is K F d in lbf.ft or N.m, to a whole number from 20 up and to a tenth below: finer than a wrench and far finer than K is known.
func (b *Bolt) Torque() quantity.Quantity {
	t, places, unit := b.torque(), 0, "N.m"
	if t.Cmp(big.NewRat(20, 1)) < 0 {
		places = 1
	}
	if b.thread.inch {
		unit = "lbf.ft"
	}
	q, _ := quantity.FromRat(t, quantity.MustUnit(unit), places) // of the threads above none comes near 15 digits
	return q
}

// String is "3/4-10 grade 5, dry".
func (b *Bolt) String() string { return b.Thread + " " + b.kind() + ", " + b.Finish }

func (b *Bolt) kind() string {
	if b.thread.inch {
		return "grade " + b.Grade
	}
	return "class " + b.Grade
}

// Short says that the torque is computed, and on what: it stands wherever the torque does.
func (b *Bolt) Short() string {
	return fmt.Sprintf("computed from the bolt: K %s x 75 %% of proof load; the manual's figure rules", nutFactors[b.Finish].FloatString(2))
}

// Why is the whole arithmetic.
func (b *Bolt) Why() string {
	t, f := b.thread, b.clamp().FloatString(0)
	k := nutFactors[b.Finish].FloatString(2)
	if t.inch {
		n := new(big.Rat).Inv(t.pitch).RatString()
		d := trimmed(t.d.FloatString(4))
		return fmt.Sprintf("stress area %s in2 = pi/4 x (%s in - 0.9743/%s)^2 (ASME B1.1); proof strength %d psi (grade %s of SAE J429); clamp load %s lbf = 75 %% x %[4]d psi x %[1]s in2; "+
			"torque %[7]s = %[8]s x %[6]s lbf x %[2]s in / 12 in", t.stressArea().FloatString(4), d, n, b.proof, b.Grade, f, b.Torque(), k)
	}
	return fmt.Sprintf("stress area %s mm2 = pi/4 x (%s mm - 0.9382 x %s mm)^2 (ISO 898-1); proof strength %d MPa (class %s of ISO 898-1); clamp load %s N = 75 %% x %[4]d MPa x %[1]s mm2; "+
		"torque %[7]s = %[8]s x %[6]s N x %[2]s mm / 1000 mm", t.stressArea().FloatString(1), t.d.RatString(), trimmed(t.pitch.FloatString(2)), b.proof, b.Grade, f, b.Torque(), k)
}

// trimmed is a decimal fraction without zeros at its end.
func trimmed(s string) string { return strings.TrimSuffix(strings.TrimRight(s, "0"), ".") }

// refusal is a kind of fastener for which no torque is computed: words of which one begins a word (or, two words, stands) in what describes it, and why.
type refusal struct {
	words []string
	why   string
}

// refusals are common practice, no source but the trade's: their right torque has little to do with what their thread could bear.
var refusals = []refusal{
	{[]string{"spindle", "bearing", "hub", "pinion", "axle nut"}, "its torque sets a bearing, far below what its thread could bear"},
	{[]string{"wheel", "flywheel", "rim", "lug", "tyre", "tire"}, "a wheel comes off when its nuts are wrong, and every wheel has its own figure"},
	{[]string{"castle", "castellated", "slotted", "cotter"}, "a castle nut is set by play or preload, then to the next hole for the pin"},
	{[]string{"left-hand", "left hand", "lefthand"}, "a left-hand thread holds something that turns and has a figure of its own"},
	{[]string{"lock nut", "locknut", "locking", "nyloc", "nylon", "prevailing"}, "a lock nut's own drag is not in K, and one used again holds less"},
	{[]string{"alumin", "brass", "bronze"}, "threads in soft metal strip long before a steel bolt is tight"},
	{[]string{"plastic", "polymer", "rubber", "wood"}, "it is crushed long before a steel bolt is tight"},
	{[]string{"hydraulic", "hose", "fitting", "flare", "banjo"}, "a hydraulic fitting seals by its seat and has a figure of its own"},
	{[]string{"cylinder head", "head bolt", "head stud", "connecting rod", "stretch bolt", "yield"}, "it is tightened by steps and angles of its own"},
	{[]string{"slip clutch"}, "a slip clutch is set by the length of its springs"},
	{[]string{"brake", "steering"}, "a life hangs on it, and it has a figure of its own"},
	{[]string{"stainless"}, "no SAE J429 grade or ISO 898-1 class holds for stainless steel, and it galls"},
}

// refused says which word of a text makes it a fastener for which no torque is computed, and why; "" where none does.
func refused(text string) (word, why string) {
	words := strings.FieldsFunc(strings.ToLower(text), func(c rune) bool { return !(c >= 'a' && c <= 'z' || c > 0x7f) })
	line := " " + strings.Join(words, " ")
	for _, r := range refusals {
		for _, w := range r.words {
			if strings.Contains(line, " "+strings.ReplaceAll(w, "-", " ")) {
				return w, r.why
			}
		}
	}
	return "", ""
}
