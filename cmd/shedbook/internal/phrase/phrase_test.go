package phrase

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"
)

// words is a small made-up drill: word -> proper name and kind.
type words map[string][2]string

var drill = words{
	"opener": {"opener", Noun}, "openers": {"opener", Noun}, "wheel": {"wheel", Noun}, "wheels": {"wheel", Noun},
	"left-wing": {"left-wing", Group}, "right-wing": {"right-wing", Group}, "front-rank": {"front-rank", Group}, "squeaky": {"squeaky", Group},
	"depth": {"depth", Setting}, "gauge-shims": {"gauge-shims", Setting}, "seed-path": {"seed-path", Setting}, "pressure": {"pressure", Setting},
	"disc-reach": {"disc-reach", Reading}, "hub-feel": {"hub-feel", Reading},
	"disc": {"disc", Part}, "discs": {"disc", Part}, "hub": {"hub", Part}, "wheel-bearing": {"wheel-bearing", Part},
	"grease": {"grease", Job}, "torque-check": {"torque-check", Job},
	"spring": {"spring", Setup}, "heavy-ground": {"heavy-ground", Setup},
	"area": {"area", Counter}, "hours": {"hours", Counter}, "trip-area": {"trip-area", Counter},
}

func (w words) Name(s string) (string, string, bool) { n, ok := w[s]; return n[0], n[1], ok }

func (w words) Place(noun, name string) bool {
	return noun == "wheel" && (name == "left-front" || name == "right-front")
}

func (w words) Words(kinds ...string) []string {
	var out []string
	for name, n := range w {
		for _, k := range kinds {
			if n[1] == k {
				out = append(out, name)
			}
		}
	}
	return out
}

func (w words) Measured(part, _ string) []string {
	return map[string][]string{"disc": {"disc-reach"}, "hub": {"hub-feel", "hub-play"}}[part]
}

func partial(f Form) Form { f.Partial = true; return f }

func TestParse(t *testing.T) {
	cl := func(c ...Clause) *Phrase { return &Phrase{Clauses: c} }
	grease := []Term{{Name: "grease", Kind: Job}}
	depth := func(v string) []Term { return []Term{{Name: "depth", Kind: Setting, Value: v}} }
	reach := func(v string) []Term { return []Term{{Name: "disc-reach", Kind: Reading, Value: v}} }
	at := func(p ...string) []string { return p }
	for _, test := range []struct {
		form Form
		line string // arguments between |
		want *Phrase
	}{
		{Did, "grease", cl(Clause{Terms: grease})},
		{Did, "grease|but|14,31", cl(Clause{Terms: grease, But: at("14", "31"), Said: "but 14 31"})},
		{Did, "grease|but|14,|31", cl(Clause{Terms: grease, But: at("14", "31"), Said: "but 14 31"})},
		{Did, "Grease|but|14|and|31", cl(Clause{Terms: grease, But: at("14", "31"), Said: "but 14 31"})},
		{Did, "grease|1-24", cl(Clause{Terms: grease, Places: at("1-24"), Said: "1-24"})},
		{Did, "left|wing|grease", cl(Clause{Terms: grease, Places: at("left-wing"), Said: "left wing"})},
		{Did, "openers|1-24,26|grease", cl(Clause{Terms: grease, Places: at("opener/1-24", "opener/26"), Said: "openers 1-24,26"})},
		{Did, "opener/1-24,26|30|grease", cl(Clause{Terms: grease, Places: at("opener/1-24", "opener/26", "opener/30"), Said: "opener/1-24,26 30"})},
		{Did, "torque check", cl(Clause{Terms: []Term{{Name: "torque-check", Kind: Job}}})},
		{Did, "all|but|14|grease", cl(Clause{Terms: grease, Places: at("all"), But: at("14"), Said: "all but 14"})},
		{Did, "wheel|left|front|grease", cl(Clause{Terms: grease, Places: at("wheel/left-front"), Said: "wheel left front"})},
		{Did, "wheels|but|right-front|grease", nil},
		{Did, "wheels|but|wheel/right-front|grease", cl(Clause{Terms: grease, Places: at("wheel"), But: at("wheel/right-front"), Said: "wheels but wheel/right-front"})},
		{Did, "opener/3,wheel/left-front|grease", cl(Clause{Terms: grease, Places: at("opener/3", "wheel/left-front"), Said: "opener/3,wheel/left-front"})},
		{Swap, "opener/12|disc", cl(Clause{Terms: []Term{{Name: "disc", Kind: Part}}, Places: at("opener/12"), Said: "opener/12"})},
		{Swap, "discs|12|and|30", cl(Clause{Terms: []Term{{Name: "disc", Kind: Part}}, Places: at("12", "30"), Said: "12 and 30"})},
		{Adjust, "left-wing|depth|+1", cl(Clause{Terms: depth("+1"), Places: at("left-wing"), Said: "left-wing"})},
		{Adjust, "left|wing|depth|-1", cl(Clause{Terms: depth("-1"), Places: at("left-wing"), Said: "left wing"})},
		{Adjust, "opener/1-48|depth=6", cl(Clause{Terms: depth("6"), Places: at("opener/1-48"), Said: "opener/1-48"})},
		{Adjust, "depth=-3", cl(Clause{Terms: []Term{{Name: "depth", Kind: Setting, Value: "-3", Fixed: true}}})},
		{Adjust, "depth|-3", cl(Clause{Terms: depth("-3")})},
		{Adjust, "depth=6|gauge-shims=2", cl(Clause{Terms: []Term{{Name: "depth", Kind: Setting, Value: "6"}, {Name: "gauge-shims", Kind: Setting, Value: "2"}}})},
		{Adjust, "depth|6|gauge|shims|2|but|14", cl(Clause{Terms: []Term{{Name: "depth", Kind: Setting, Value: "6"}, {Name: "gauge-shims", Kind: Setting, Value: "2"}}, But: at("14"), Said: "but 14"})},
		{Adjust, "setup=spring", cl(Clause{Terms: []Term{{Name: "spring", Kind: Setup}}})},
		{Adjust, "setup=heavy ground", cl(Clause{Terms: []Term{{Name: "heavy-ground", Kind: Setup}}})},
		{Adjust, "left-wing|setup|heavy|ground", cl(Clause{Terms: []Term{{Name: "heavy-ground", Kind: Setup}}, Places: at("left-wing"), Said: "left-wing"})},
		{Adjust, "spring|but|3", cl(Clause{Terms: []Term{{Name: "spring", Kind: Setup}}, But: at("3"), Said: "but 3"})},
		{Adjust, "depth|6|left-wing", cl(Clause{Terms: depth("6"), Places: at("left-wing"), Said: "left-wing"})},
		{Adjust, "left-wing|depth|to|7,|rest|6", cl(
			Clause{Terms: depth("7"), Places: at("left-wing"), Said: "left-wing"},
			Clause{Terms: depth("6"), Places: at("rest"), Said: "rest"})},
		{Adjust, "1-12|depth|7|13|depth|6", cl(
			Clause{Terms: depth("7"), Places: at("1-12"), Said: "1-12"},
			Clause{Terms: depth("6"), Places: at("13"), Said: "13"})},
		{Adjust, "left-wing|depth=7|right-wing|depth=6|gauge-shims=2", cl(
			Clause{Terms: depth("7"), Places: at("left-wing"), Said: "left-wing"},
			Clause{Terms: []Term{{Name: "depth", Kind: Setting, Value: "6"}, {Name: "gauge-shims", Kind: Setting, Value: "2"}}, Places: at("right-wing"), Said: "right-wing"})},
		{Adjust, "pressure|1100|psi|depth|6", cl(Clause{Terms: []Term{{Name: "pressure", Kind: Setting, Value: "1100 psi"}, {Name: "depth", Kind: Setting, Value: "6"}}})},
		{Adjust, "seed|path|carry-both", cl(Clause{Terms: []Term{{Name: "seed-path", Kind: Setting, Value: "carry-both"}}})},
		{Adjust, "depth|5|ft|3|in", cl(Clause{Terms: depth("5 ft 3 in")})}, // two units: the schedule refuses it and says how to write it
		{Measure, "12|disc-reach|5|1/4", cl(Clause{Terms: reach("5 1/4"), Places: at("12"), Said: "12"})},
		{Measure, "12|disc-reach|5 1/4", cl(Clause{Terms: reach("5 1/4"), Places: at("12"), Said: "12"})},
		{Measure, "12|disc-reach|5|1/4|in", cl(Clause{Terms: reach("5 1/4 in"), Places: at("12"), Said: "12"})},
		{Measure, `12|disc-reach|5|7/8"`, cl(Clause{Terms: reach(`5 7/8"`), Places: at("12"), Said: "12"})},
		{Measure, "12|disc-reach|5-7/8", cl(Clause{Terms: reach("5-7/8"), Places: at("12"), Said: "12"})},
		{Measure, "12|disc-reach=132mm", cl(Clause{Terms: reach("132mm"), Places: at("12"), Said: "12"})},
		{Measure, "12|disc-reach|-", cl(Clause{Terms: reach("-"), Places: at("12"), Said: "12"})},
		{Measure, "12|disc-reach|5.2>5.9", cl(Clause{Terms: reach("5.2>5.9"), Places: at("12"), Said: "12"})},
		{Measure, "12|hub|feel|watch", cl(Clause{Terms: []Term{{Name: "hub-feel", Kind: Reading, Value: "watch"}}, Places: at("12"), Said: "12"})},
		{Measure, "disc-reach", cl(Clause{Terms: reach("")})},
		{Measure, "disc-reach|left-wing", cl(Clause{Terms: reach(""), Places: at("left-wing"), Said: "left-wing"})},
		{Measure, "hub-feel|all|watch", cl(Clause{Terms: []Term{{Name: "hub-feel", Kind: Reading, Value: "watch"}}, Places: at("all"), Said: "all"})},
		{Measure, "hub-feel|opener|12|watch", cl(Clause{Terms: []Term{{Name: "hub-feel", Kind: Reading, Value: "watch"}}, Places: at("opener/12"), Said: "opener 12"})},
		{Measure, "disc-reach|but|14", cl(Clause{Terms: reach(""), But: at("14"), Said: "but 14"})},
		{Measure, "disc-reach|12=5.9|30=5|7/8|opener/31=-", cl(Clause{Terms: []Term{{Name: "disc-reach", Kind: Reading, Each: []Each{{"12", "5.9"}, {"30", "5 7/8"}, {"opener/31", "-"}}}}})},
		{Ask, "12-24|disc-reach|hub-feel", cl(Clause{Terms: []Term{{Name: "disc-reach", Kind: Reading}, {Name: "hub-feel", Kind: Reading}}, Places: at("12-24"), Said: "12-24"})},
		{Ask, "disc-reach,|hub|feel|but|14", cl(Clause{Terms: []Term{{Name: "disc-reach", Kind: Reading}, {Name: "hub-feel", Kind: Reading}}, But: at("14"), Said: "but 14"})},
		{Ask, "left-wing|disc|reach|and|hub-feel", cl(Clause{Terms: []Term{{Name: "disc-reach", Kind: Reading}, {Name: "hub-feel", Kind: Reading}}, Places: at("left-wing"), Said: "left-wing"})},
		{Count, "1812", cl(Clause{Terms: []Term{{Value: "1812"}}})},
		{Count, "1812|ac", cl(Clause{Terms: []Term{{Value: "1812 ac"}}})},
		{Count, "area=1812ac|hours=210h", cl(Clause{Terms: []Term{{Name: "area", Kind: Counter, Value: "1812ac"}, {Name: "hours", Kind: Counter, Value: "210h"}}})},
		{Count, "area|+40", cl(Clause{Terms: []Term{{Name: "area", Kind: Counter, Value: "+40"}}})},
		{Count, "trip|area|reset", cl(Clause{Terms: []Term{{Name: "trip-area", Kind: Counter, Act: "reset"}}})},
		{Count, "hours|replaced", cl(Clause{Terms: []Term{{Name: "hours", Kind: Counter, Act: "replaced"}}})},
		{Assume, "good", &Phrase{Flags: []string{"good"}}},
		{Assume, "disc|worn=50%", cl(Clause{Terms: []Term{{Name: "disc", Kind: Part, Worn: "50%"}}})},
		{Assume, "12-14|discs|worn|50|%|used=600ac", cl(Clause{Terms: []Term{{Name: "disc", Kind: Part, Worn: "50 %", Used: "600ac"}}, Places: at("12-14"), Said: "12-14"})},
		{Assume, "depth=6|good", &Phrase{Clauses: []Clause{{Terms: depth("6")}}, Flags: []string{"good"}}},
		{Assume, "grease", cl(Clause{Terms: grease})},
		{Fault, "opener/23|hub rough", &Phrase{Clauses: []Clause{{Places: at("opener/23"), Said: "opener/23"}}, Text: "hub rough"}},
		{Fault, "23|hub|rough", &Phrase{Clauses: []Clause{{Places: at("23"), Terms: []Term{{Name: "hub", Kind: Part}}, Said: "23"}}, Text: "rough"}},
		{Fault, "opener|9|leaks,|badly", &Phrase{Clauses: []Clause{{Places: at("opener/9"), Said: "opener 9"}}, Text: "leaks, badly"}},
		{Fault, "wheel|bearing|noisy", &Phrase{Clauses: []Clause{{Terms: []Term{{Name: "wheel-bearing", Kind: Part}}}}, Text: "noisy"}},
		{Fault, "all|lights|dead", &Phrase{Text: "all lights dead"}},
		{Fault, "all|but|14|hubs rough", &Phrase{Clauses: []Clause{{Places: at("all"), But: at("14"), Said: "all but 14"}}, Text: "hubs rough"}},
		{Note, "opener|3|but|not|bad", &Phrase{Clauses: []Clause{{Places: at("opener/3"), Said: "opener 3"}}, Text: "but not bad"}},
		{Note, "12 volts at the battery", &Phrase{Text: "12 volts at the battery"}},
		{Note, "depth=6 was too deep", &Phrase{Text: "depth=6 was too deep"}},
		{partial(Did), "but|14", cl(Clause{But: at("14"), Said: "but 14"})},
		{partial(Did), "1-24", cl(Clause{Places: at("1-24"), Said: "1-24"})},
		{partial(Measure), "5.4", cl(Clause{Terms: []Term{{Value: "5.4"}}})},
		{partial(Measure), "5|1/4", cl(Clause{Terms: []Term{{Value: "5 1/4"}}})},
		{partial(Measure), "opener/13", cl(Clause{Places: at("opener/13"), Said: "opener/13"})},
		{partial(Measure), "13|disc-reach|5.4", cl(Clause{Terms: reach("5.4"), Places: at("13"), Said: "13"})},
		{partial(Measure), "4=6|opener/39=5|1/8|40,41=-", cl(Clause{Terms: []Term{{Each: []Each{{"4", "6"}, {"opener/39", "5 1/8"}, {"opener/40", "-"}, {"opener/41", "-"}}}}})},
		{partial(Adjust), "7", cl(Clause{Terms: []Term{{Value: "7"}}})},
		{partial(Fault), "", &Phrase{}},
	} {
		t.Run(test.form.Verb+" "+test.line, func(t *testing.T) {
			var args []string
			if test.line != "" {
				args = strings.Split(test.line, "|")
			}
			got, err := Parse(drill, test.form, "drill", args)
			if test.want == nil {
				if err == nil {
					t.Fatalf("parsed to %+v, want an error", got)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(test.want, got, cmpopts.EquateEmpty()); d != "" {
				t.Error(d)
			}
		})
	}
}

func TestParseErrors(t *testing.T) {
	for _, test := range []struct {
		form Form
		line string
		want string
	}{
		{Did, "", "did what on drill? name a job"},
		{Did, "but|14", "did what on drill? name a job"},
		{Did, "grese", `drill has no "grese"`},
		{Did, "grease|but", `"but" what? the places left out are missing`},
		{Did, "grease|but|14|but|15", `"but" stands twice: name all that is left out in one list`},
		{Did, "grease|but|fourteen", `"but" what? the places left out are missing (found "fourteen")`},
		{Did, "grease|except|14", `"except": what is left out stands behind "but"`},
		{Did, "grease|torque-check", "grease and torque-check are two: a line of did records one"},
		{Did, "1-3|grease|left-wing", "left-wing: the places stand twice in one line"},
		{Did, "depth", `"depth" is a setting of drill, and did takes none`},
		{Did, "depth=6", `"depth" is a setting of drill, and did takes none`},
		{Did, "grease=6", "grease=6: grease takes no value"},
		{Adjust, "depth", "depth to what? its value is missing"},
		{Adjust, "depth=", "depth to what? its value is missing"},
		{Adjust, "left-wing", "adjust what on drill? name a setting and its value"},
		{Adjust, "left-wing|depth=7|right-wing", "right-wing: what of it? a place stands before what is said of it"},
		{Adjust, "grease", `"grease" is a job of drill, and adjust takes none`},
		{Adjust, "setup=summer", `drill has no set-up "summer"`},
		{Adjust, "setup", "which set-up? its name is missing"},
		{Adjust, "left-wing|depth=7|gauge-shims=1|rest|6", `"6" of what? not one setting is named before it`},
		{Measure, "disc-reach|5.9|5.8", `2 values are said: one for each place in the order of their numbers?`},
		{Measure, "disc-reach|3|5.8", `"5.8": places stand before what is said of them, its value after it`},
		{Measure, "12", "measure what on drill? name a reading"},
		{partial(Measure), "5.9|4=6", "two values are said in one line"},
		{Swap, "12", "swap what on drill? name a part"},
		{Swap, "12|disc=3", "disc=3: a part takes no value"},
		{Count, "", "what does the counter of drill show? a value is missing"},
		{Count, "area", "what does area show? its value is missing"},
		{Count, "acres=1812", `drill has no "acres"`},
		{Count, "left-wing|1812", `"left-wing" is a place of drill, and counter takes none`},
		{Assume, "disc", "disc how? say worn=50% or used=600ac"},
		{Fault, "opener/23", "what is wrong with drill? the words are missing"},
		{Note, "", "what is to be noted of drill? the words are missing"},
		{Note, " ", "an empty word says nothing"},
	} {
		t.Run(test.form.Verb+" "+test.line, func(t *testing.T) {
			var args []string
			if test.line != "" {
				args = strings.Split(test.line, "|")
			}
			got, err := Parse(drill, test.form, "drill", args)
			if err == nil {
				t.Fatalf("parsed to %+v", got)
			}
			if err.Error() != test.want {
				t.Errorf("got  %s\nwant %s", err, test.want)
			}
		})
	}
}

// Any phrase, written out in any of the ways people write it, reads as itself.
func TestPrintThenParse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		form := rapid.SampledFrom([]Form{Adjust, Measure, Swap, Did, Count, Assume}).Draw(t, "verb")
		want := drawPhrase(t, form)
		got, err := Parse(drill, form, "drill", want.Words())
		if err != nil {
			t.Fatalf("%q: %v", want.Words(), err)
		}
		if d := cmp.Diff(want, got, cmpopts.IgnoreFields(Clause{}, "Said")); d != "" {
			t.Fatalf("%q: %s", want.Words(), d)
		}
		loose := loosen(t, want.Words())
		got, err = Parse(drill, form, "drill", loose)
		if err != nil {
			t.Fatalf("%q: %v", loose, err)
		}
		if d := cmp.Diff(want, got, cmpopts.IgnoreFields(Clause{}, "Said")); d != "" {
			t.Fatalf("%q: %s", loose, d)
		}
	})
}

// Nothing a person can type makes Parse panic or lose a word without saying so: what is read, written out, reads the same.
func TestAnyWords(t *testing.T) {
	pool := []string{"but", "all", "rest", "and", ",", "to", "setup", "setup=spring", "left", "wing", "12", "1-3", "14,31", "opener/2", "opener", "wheel",
		"left-front", "depth", "depth=6", "depth=-3", "6", "+1", "-", "1/4", "in", "psi", "disc", "disc-reach", "grease", "worn=5%", "good", "area", "reset", "=", "a=b", "/", "7,", "hub", "rough"}
	rapid.Check(t, func(t *rapid.T) {
		form := rapid.SampledFrom([]Form{Adjust, Measure, Ask, Swap, Did, Count, Assume, Fault, Note}).Draw(t, "verb")
		form.Partial = rapid.Bool().Draw(t, "partial")
		args := rapid.SliceOfN(rapid.SampledFrom(pool), 0, 7).Draw(t, "words")
		p, err := Parse(drill, form, "drill", args)
		if err != nil || form.Text || form.Partial {
			return
		}
		again, err := Parse(drill, form, "drill", p.Words())
		if err != nil {
			t.Fatalf("%q reads, but what it means, %q, does not: %v", args, p.Words(), err)
		}
		if d := cmp.Diff(p, again, cmpopts.IgnoreFields(Clause{}, "Said"), cmpopts.EquateEmpty()); d != "" {
			t.Fatalf("%q and %q differ: %s", args, p.Words(), d)
		}
	})
}

func drawPhrase(t *rapid.T, f Form) *Phrase {
	p := &Phrase{}
	n := 1
	if f.Many && f.Verb == "adjust" {
		n = rapid.IntRange(1, 3).Draw(t, "clauses")
	}
	for i := range n {
		var c Clause
		if f.Verb != "counter" && (i > 0 || rapid.Bool().Draw(t, "places?")) {
			c.Places = drawPlaces(t)
		}
		if f.Verb != "counter" && (n == 1 || len(c.Places) > 0) && rapid.Bool().Draw(t, "but?") { // what is left out of all ends a line
			c.But = named(t)
		}
		c.Terms = drawTerms(t, f)
		p.Clauses = append(p.Clauses, c)
	}
	if len(f.Flags) > 0 && rapid.Bool().Draw(t, "good?") {
		p.Flags = []string{"good"}
	}
	return p
}

func drawPlaces(t *rapid.T) []string {
	if rapid.IntRange(0, 5).Draw(t, "bare") == 0 {
		return []string{"12", "14-16"}
	}
	return named(t)
}

// named are places that say their noun. After "but" a bare number takes the noun said before it, so it would not come back as it was.
func named(t *rapid.T) []string {
	return rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"opener/12", "opener/1-48", "left-wing", "squeaky", "wheel/left-front"}), 1, 3, rapid.ID).Draw(t, "places")
}

func drawTerms(t *rapid.T, f Form) []Term {
	setting := func() Term {
		return Term{Name: rapid.SampledFrom([]string{"depth", "gauge-shims", "pressure"}).Draw(t, "setting"), Kind: Setting,
			Value: rapid.SampledFrom([]string{"6", "+1", "-0.25 in", "5 1/4", "1100 psi", "carry-both"}).Draw(t, "value")}
	}
	switch f.Verb {
	case "did":
		return []Term{{Name: rapid.SampledFrom([]string{"grease", "torque-check"}).Draw(t, "job"), Kind: Job}}
	case "swap":
		return []Term{{Name: rapid.SampledFrom([]string{"disc", "hub", "wheel-bearing"}).Draw(t, "part"), Kind: Part}}
	case "measure":
		term := Term{Name: "disc-reach", Kind: Reading, Value: rapid.SampledFrom([]string{"5.9", "5 1/4", "-", "5.2>5.9", "132 mm", "watch"}).Draw(t, "value")}
		return []Term{term}
	case "counter":
		return []Term{{Name: "area", Kind: Counter, Value: rapid.SampledFrom([]string{"1812", "+40", "1812 ac"}).Draw(t, "value")}, {Name: "trip-area", Kind: Counter, Act: "reset"}}
	case "assume":
		return []Term{setting(), {Name: "disc", Kind: Part, Worn: "50%"}, {Name: "grease", Kind: Job}}
	}
	if rapid.Bool().Draw(t, "setup?") {
		return []Term{{Name: "heavy-ground", Kind: Setup}}
	}
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Term { return setting() }), 1, 2).Draw(t, "terms")
}

// loosen writes a line in other ways that mean the same: blanks for "-" in names and for "=", capitals, quotes, "and".
func loosen(t *rapid.T, line []string) []string {
	var out []string
	for i, w := range line {
		name, value, eq := strings.Cut(w, "=")
		if rapid.Bool().Draw(t, "capital") && !eq && !isNumeric(w) && w != "-" {
			w, name = strings.ToUpper(w), strings.ToUpper(name)
		}
		switch {
		case eq && name == "setup":
			out = append(out, "setup", strings.ReplaceAll(value, "-", " "))
		case eq && rapid.Bool().Draw(t, "apart"):
			out = append(append(out, strings.Split(name, "-")...), strings.Fields(value)...)
		case !eq && strings.ContainsRune(name, '-') && name[0] >= 'A' && !strings.ContainsAny(name, "/0123456789") && rapid.Bool().Draw(t, "blanks"):
			out = append(out, strings.Split(name, "-")...)
		case i+1 < len(line) && rapid.IntRange(0, 4).Draw(t, "quote") == 0:
			out = append(out, fmt.Sprintf(" %s ", w))
		default:
			out = append(out, w)
		}
	}
	return out
}

// A part's name where a reading's is meant gets the reading, not another verb.
func TestPartForItsReading(t *testing.T) {
	for _, c := range []struct {
		form Form
		line string
		hint string
	}{
		{Measure, "3 disc 5.5", "shedbook measure drill 3 disc-reach 5.5"}, {Measure, "3 hub 1", "shedbook measure drill 3 hub-feel 1 (or hub-play)"},
		{Measure, "3 disc", "shedbook measure drill 3 disc-reach --ask"}, {Measure, "disc-reach 3 5.8", "shedbook measure drill 3 disc-reach 5.8"},
		{Measure, "3 disc-reach 5.9 5 7/8 5.7", `shedbook measure drill 3-5 disc-reach --values "5.9,5 7/8,5.7" (or --ask, which asks place by place)`},
		{Measure, "left-wing disc-reach 5,9 5,8", `shedbook measure drill left-wing disc-reach --values "5,9;5,8" (or --ask, which asks place by place)`},
		{Measure, "3 wheel-bearing 1", "shedbook swap drill wheel-bearing"}, {Adjust, "3 disc 5.5", "shedbook swap drill disc"},
	} {
		_, err := Parse(drill, c.form, "drill", strings.Fields(c.line))
		var e *Error
		if !errors.As(err, &e) || e.Hint != c.hint {
			t.Errorf("%s %s: got %+v, want the hint %q", c.form.Verb, c.line, e, c.hint)
		}
	}
}
