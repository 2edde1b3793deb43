package schedule

import (
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

func itoa(n int) string { return strconv.Itoa(n) }

func option(name, value string) record.Option { return record.Option{Name: name, Value: value} }

func TestFitMistakes(t *testing.T) {
	s, _ := Builtin("disc-drill")
	for _, c := range []struct {
		name    string
		options []record.Option
		groups  []record.Group
		want    string
	}{
		{"unknown option", []record.Option{option("opener", "48")}, nil, `kind disc-drill has no option "opener": did you mean "openers"?`},
		{"out of range", []record.Option{option("openers", "500")}, nil, `option openers is a whole number from 1 to 160, not "500"`},
		{"no number", []record.Option{option("openers", "many")}, nil, `option openers is a whole number from 1 to 160, not "many"`},
		{"no choice", []record.Option{option("discs", "double")}, nil, `option discs cannot be "double": write single or pair`},
		{"no amount", []record.Option{option("depth-step", "3 psi")}, nil, `option depth-step: "3 psi" is a pressure, but a length is wanted, such as 3 in`},
		{"too little", []record.Option{option("depth-step", "0.01 in")}, nil, `option depth-step is at least 0.03125 in, not 0.01 in`},
		{"neither yes nor no", []record.Option{option("boots", "true")}, nil, `option boots is yes or no, not "true"`},
		{"group of places it has not", nil, []record.Group{{Name: "far", Positions: record.Span("opener", 40, 41)}}, `group "far" names opener/41: this machine has openers 1 to 40`},
		{"group with a taken name", nil, []record.Group{{Name: "discs", Positions: record.Span("opener", 1, 2)}}, `group "discs" has the name of a part of kind disc-drill: choose another`},
		{"group with a reserved name", nil, []record.Group{{Name: "all", Positions: record.Span("opener", 1, 2)}}, `group "all" cannot have that name: the word is reserved`},
		{"two groups of one name", nil, []record.Group{{Name: "a", Positions: record.Span("opener", 1, 2)}, {Name: "a", Positions: record.Span("opener", 3, 4)}},
			`group "a" has the name of a group of kind disc-drill: choose another`},
	} {
		t.Run(c.name, func(t *testing.T) {
			if _, err := s.Fit(c.options, c.groups, nil); err == nil || err.Error() != c.want {
				t.Errorf("got %v, want %s", err, c.want)
			}
		})
	}
}

func TestFitOptions(t *testing.T) {
	s, _ := Builtin("disc-drill")
	f, err := s.Fit([]record.Option{option("openers", "24"), option("discs", "pair"), option("depth-step", "1/2 in")}, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	if got := f.All("opener").String(); got != "opener/1-24" {
		t.Errorf("openers: %s", got)
	}
	r, _ := f.Reading("disc-reach")
	if _, ok := f.Reading("disc-contact"); !ok || !r.Handed {
		t.Error("a drill with pairs has no contact of discs, or one-handed ones")
	}
	d, _ := f.Setting("depth")
	if w, _ := d.Worth(amount("3")); w != quantity.MustParse("1 in") {
		t.Errorf("two steps of 1/2 in are %s", w)
	}
	var values []string
	for _, o := range f.OptionValues {
		values = append(values, o.Name+"="+o.Value)
	}
	want := "openers=24 ranks=2 discs=pair depth-steps=12 depth-step=0.5 in disc-new=6.5 in gauge-wheels=yes coupling=no packer-offset=no scrapers=yes boots=yes " +
		"grease-points=5 width=30 ft speed=5 mi/h efficiency=70 %"
	if diff := cmp.Diff(want, strings.Join(values, " ")); diff != "" {
		t.Error(diff)
	}
}

// What a machine has not is gone, and whatever names it.
func TestFitPrunes(t *testing.T) {
	s, _ := Builtin("disc-drill")
	f, err := s.Fit([]record.Option{option("scrapers", "no"), option("ranks", "1")}, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, word := range []string{"scraper", "scrapers", "scraper-notch", "scraper-gap", "scraper-height", "scraper-face", "disc-contact", "disc-difference", "rear-rank"} {
		if n, ok := f.Lookup(word); ok {
			t.Errorf("%s is still a %s", word, n.What)
		}
	}
	swap, _ := f.Job("disc-swap")
	if len(swap.Next) != 0 || len(swap.Try) != 0 || len(swap.When) != 2 {
		t.Errorf("disc-swap: next %v, try %v, %d triggers", swap.Next, swap.Try, len(swap.When))
	}
	if len(f.Relations) != 0 {
		t.Errorf("relations: %+v", f.Relations)
	}
	autumn, _ := f.Setup("autumn")
	for _, v := range autumn.Values {
		if v.Setting != "depth" && v.Setting != "gauge-hole" || v.Where != "" {
			t.Errorf("autumn sets %+v", v)
		}
	}
	arm, _ := f.Assembly("arm")
	if diff := cmp.Diff([]string{"disc", "hub-bearing", "gauge-wheel", "packer-wheel", "packer-bearing", "seed-boot"}, arm.Parts); diff != "" {
		t.Error(diff)
	}
	if disc, _ := f.Part("discs"); disc.Handed {
		t.Error("single discs are handed")
	}
}

// anyOptions draws a machine of a kind.
func anyOptions(t *rapid.T, s *Schedule) []record.Option {
	var out []record.Option
	for _, o := range s.Options {
		if rapid.Bool().Draw(t, o.Name) {
			continue
		}
		v := o.Default
		switch o.Type {
		case "count":
			v = itoa(rapid.IntRange(o.Min, o.Max).Draw(t, "count"))
		case "choice":
			v = rapid.SampledFrom(o.Choices).Draw(t, "choice")
		case "yes-no":
			v = rapid.SampledFrom([]string{"yes", "no"}).Draw(t, "yes-no")
		case "amount":
			v = rapid.SampledFrom([]string{o.Low.String(), o.High.String(), o.Default}).Draw(t, "amount")
		}
		out = append(out, option(o.Name, v))
	}
	return out
}

// Law: every machine of a built-in kind fits, no reference is left dangling, and no condition on an option is left.
func TestFitAnyMachine(t *testing.T) {
	fewerChecks(t)
	for _, s := range Builtins() {
		t.Run(s.Name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				f, err := s.Fit(anyOptions(t, s), nil, nil)
				if err != nil {
					t.Fatal(err)
				}
				checkWhole(t, f)
			})
		})
	}
}

type fatal interface{ Fatalf(string, ...any) }

// checkWhole looks up every name a fitted schedule uses.
func checkWhole(t fatal, f *Fitted) {
	is := func(word string, whats ...string) {
		if word == "" {
			return
		}
		if n, ok := f.Lookup(word); !ok || !contains(whats, n.What) {
			t.Fatalf("%q is no %v", word, whats)
		}
	}
	all := func(words []string, whats ...string) {
		for _, w := range words {
			is(w, whats...)
		}
	}
	var only func(list []Only)
	only = func(list []Only) {
		for _, o := range list {
			if o.Option != "" {
				t.Fatalf("a condition on option %s is left", o.Option)
			}
			is(o.Setting, "setting")
			is(o.Reading, "reading")
			only(o.Any)
		}
	}
	for _, x := range f.Parts {
		is(x.Of, "noun")
		all(x.With, "part")
	}
	for _, x := range f.Assemblies {
		all(x.Parts, "part")
	}
	for _, x := range f.Readings {
		is(x.Part, "part")
		all(x.Wears, "counter")
		if x.Computed != nil {
			for _, from := range x.Computed.Things() {
				name, _ := splitHand(from)
				is(name, "reading", "setting")
			}
		}
	}
	for _, x := range f.Jobs {
		is(x.Of, "noun")
		is(x.Group, "group")
		is(x.Swaps, "part", "assembly")
		only(x.Only)
		for _, list := range [][]string{x.Includes, x.Loosens, x.Next, x.Try} {
			all(list, "job")
		}
		all(x.Sets, "setting")
		all(x.Measures, "reading")
		for _, c := range x.Cautions {
			if _, ok := f.Caution(c); !ok {
				t.Fatalf("job %s: no caution %q", x.Name, c)
			}
		}
		for _, g := range x.When {
			is(g.Past, "reading")
			is(g.Forecast, "reading")
			is(g.Made, "part")
			is(g.Until, "job")
			only(g.While)
			for _, k := range g.Factors {
				only(k.While)
			}
			for _, list := range [][]Interval{g.Every, g.First, g.Series} {
				for _, i := range list {
					is(i.Counter, "counter")
				}
			}
		}
	}
	for _, x := range f.Setups {
		if _, err := f.Changes(&x); err != nil {
			t.Fatalf("set-up %s: %v", x.Name, err)
		}
	}
}

func TestNames(t *testing.T) {
	s, _ := Builtin("disc-drill")
	f, err := s.Fit(nil, []record.Group{{Name: "red", Positions: record.Span("opener", 7, 7)}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for word, what := range map[string]string{"opener": "noun", "openers": "noun", "left-wing": "group", "disc": "part", "discs": "part", "depth": "setting",
		"disc-reach": "reading", "grease": "job", "spring": "setup", "area": "counter", "arm": "assembly", "red": "alias"} {
		if n, ok := f.Lookup(word); !ok || n.What != what {
			t.Errorf("%s is a %q", word, n.What)
		}
	}
	if n, _ := f.Lookup("openers"); n.Word != "opener" {
		t.Errorf("openers stands for %q", n.Word)
	}
	names := f.Names()
	for i := 1; i < len(names); i++ {
		if names[i-1].Word >= names[i].Word {
			t.Fatalf("%s stands before %s", names[i-1].Word, names[i].Word)
		}
	}
}

// A later value of a set-up rules over an earlier one where both name a place.
func TestChanges(t *testing.T) {
	s, _ := Builtin("disc-drill")
	f, err := s.Fit([]record.Option{option("openers", "6"), option("coupling", "yes")}, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	autumn, _ := f.Setup("autumn")
	changes, err := f.Changes(autumn)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, c := range changes {
		got = append(got, c.Positions.String()+" "+c.Setting+"="+c.To.String())
	}
	want := []string{"opener/1,opener/3,opener/5 depth=5", "opener/2,opener/4,opener/6 depth=6", "opener/1-6 coupling=gauge-locked-up", "opener/1-6 gauge-hole=2"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// Fitting leaves the schedule as it was.
func TestFitChangesNothing(t *testing.T) {
	s, err := Parse("t.toml", []byte(prelude))
	if err != nil {
		t.Fatal(err)
	}
	before := s.Paths()
	if _, err := s.Fit([]record.Option{option("rows", "3")}, nil, []Override{{Path: "setting.depth.max", Value: "4"}}); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(before, s.Paths()); diff != "" {
		t.Error(diff)
	}
	if d, _ := find(s.Settings, "depth", func(x *Setting) string { return x.Name }); d.Max != quantity.MustParse("10") {
		t.Errorf("max of depth is %s now", d.Max)
	}
}

func TestFind(t *testing.T) {
	f := mustFit(t, placesKind)
	if c := f.MainCounter(); c != nil {
		t.Errorf("a kind without counters has %+v", c)
	}
	if got := f.Rank(record.Position{Noun: "opener", Number: 4}); got != 2 {
		t.Errorf("opener 4 stands in rank %d", got)
	}
	if got := f.Rank(record.Position{Noun: "wheel", Name: "left-front"}); got != 0 {
		t.Errorf("a wheel stands in rank %d", got)
	}
	p, n, ok := f.Noun("seed-boxes")
	if !ok || n != 3 || p.Noun != "seed-box" || p.Count != "3" {
		t.Errorf("%+v, %d", p, n)
	}
	s, _ := Builtin("disc-drill")
	drill, err := s.Fit(nil, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	if c, ok := drill.Counter("trip-area"); !ok || !c.Trip {
		t.Errorf("%+v", c)
	}
	if _, ok := drill.Counter("bales"); ok {
		t.Error("a drill counts bales")
	}
	if drill.All("barn").Len() != 0 || drill.All("").Len() != 0 {
		t.Error("the machine as a whole has places")
	}
}

func TestIntervalString(t *testing.T) {
	f := mustFit(t, hardRules[4].text)
	j, _ := f.Job("knotter")
	if got := j.When[0].Every[0].String() + ", " + j.When[1].Every[0].String(); got != "2000 bales, 50 h on separator" {
		t.Error(got)
	}
}

// What cannot be kept is told with its place also when only the chosen options make it so.
func TestFitTellsWhere(t *testing.T) {
	s, err := Parse("t.toml", []byte(header+"[option.n]\ntype = \"count\"\nmin = 2\nmax = 9\ndefault = 9\n[setting.s]\ntype = \"count\"\nmin = 1\nmax = \"=n\"\n"+
		"[setup.u]\nvalues = [{ setting = \"s\", to = 5 }]\n"))
	if err != nil {
		t.Fatal(err)
	}
	_, err = s.Fit([]record.Option{option("n", "4")}, nil, nil)
	want := "t.toml:14:33: to of a value of setup \"u\": s cannot be 5: it goes from 1 to 4"
	if err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
}
