package schedule

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"shedbook/rules/record"
)

const placesKind = header + `
[place.opener]
count = 48
ranks = 2
walk = "serpentine"
[place.seed-box]
plural = "seed-boxes"
count = 3
[place.wheel]
names = ["left-front", "right-front", "left-rear", "right-rear"]
[group.left-wing]
of = "opener"
from = 0
to = "1/3"
[group.rear-rank]
of = "opener"
rank = "rear"
[group.rears]
of = "wheel"
list = "left-rear,right-rear"
[group.odd]
of = "opener"
step = 2
[pair.neighbour]
of = "opener"
how = "neighbours"
`

// farm is the farm's own: an arm painted red, and two wheel tracks.
var farm = []record.Group{
	{Name: "red", Positions: record.Span("opener", 7, 7)},
	{Name: "wheel-track", Positions: record.NewPositions(record.Position{Noun: "opener", Number: 10}, record.Position{Noun: "opener", Number: 39})},
}

func places(t testing.TB) *Fitted {
	t.Helper()
	s, err := Parse("t.toml", []byte(placesKind))
	if err != nil {
		t.Fatal(err)
	}
	f, err := s.Fit(nil, farm, nil)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func TestParseWhere(t *testing.T) {
	f := places(t)
	for _, c := range []struct{ noun, text, want string }{
		{"opener", "", "opener/1-48"},
		{"", "", ""},
		{"", "the whole machine", ""},
		{"", "all", ""},
		{"opener", "all", "opener/1-48"},
		{"opener", "12", "opener/12"},
		{"opener", "1-13,15", "opener/1-13,opener/15"},
		{"opener", "1-13, 15", "opener/1-13,opener/15"},
		{"opener", "3 1 2", "opener/1-3"},
		{"opener", "opener/12", "opener/12"},
		{"opener", "Opener/12,14-16", "opener/12,opener/14-16"},
		{"opener", "opener/1-48 but 14", "opener/1-13,opener/15-48"},
		{"opener", "openers but 14,31", "opener/1-13,opener/15-30,opener/32-48"},
		{"opener", "but 1-47", "opener/48"},
		{"opener", "opener 12", "opener/12"},
		{"opener", "openers 3, 7-9", "opener/3,opener/7-9"},
		{"opener", "all 48 openers", "opener/1-48"},
		{"opener", "left-wing", "opener/1-16"},
		{"opener", "left wing but 3", "opener/1-2,opener/4-16"},
		{"opener", "left-wing rear-rank but left-wing", "opener/18,opener/20,opener/22,opener/24,opener/26,opener/28,opener/30,opener/32,opener/34,opener/36,opener/38,opener/40,opener/42,opener/44,opener/46,opener/48"},
		{"opener", "red and wheel track", "opener/7,opener/10,opener/39"},
		{"", "wheel/left-front", "wheel/left-front"},
		{"", "left-front", "wheel/left-front"},
		{"wheel", "rears", "wheel/left-rear,wheel/right-rear"},
		{"wheel", "but left-rear", "wheel/left-front,wheel/right-front,wheel/right-rear"},
		{"", "seed-box 2", "seed-box/2"},
		{"", "openers 1-3 and wheel left-front", "opener/1-3,wheel/left-front"},
		{"", "seed-boxes opener/4", "opener/4,seed-box/1-3"},
	} {
		got, err := f.ParseWhere(c.noun, c.text)
		if err != nil || got.String() != c.want {
			t.Errorf("%q of %q: %s, %v; want %s", c.text, c.noun, got, err, c.want)
		}
	}
}

func TestParseWhereMistakes(t *testing.T) {
	f := places(t)
	for _, c := range []struct{ noun, text, want string }{
		{"opener", "49", `"49" names no place: this machine has openers 1 to 48`},
		{"opener", "0", `"0" names no place: "0" is no number of a place: write 12, 1-16 or 1-13,15`},
		{"opener", "9-3", `"9-3" names no place: "9-3" runs backwards: write 3-9`},
		{"opener", "openr/3", `"openr/3" names no place: did you mean "opener" or "openers"?`},
		{"opener", "left-wnig", `"left-wnig" names no place: did you mean "left-wing"?`},
		{"opener", "barn", `"barn" names no place: this machine has openers 1 to 48`},
		{"opener", "wheel/left-front", `"wheel/left-front" is no opener: this machine has openers 1 to 48`},
		{"wheel", "left-frnt", `"left-frnt" names no place: did you mean "left-front"?`},
		{"wheel", "3", `"3" names no place: this machine has wheels left-front, right-front, left-rear and right-rear`},
		{"", "3", `"3" could be several places: name the noun: this machine has openers, seed-boxes and wheels`},
		{"opener", "all 40 openers", `"all 40" is not how many there are: this machine has openers 1 to 48`},
		{"opener", "1-13 but 14", `"14" cannot be left out: it is not among openers 1-13`},
		{"opener", "3 but 3", `"but 3" leaves nothing: name fewer after but`},
		{"opener", "3 but", `"but" is followed by nothing: say which are left out: but 14,31`},
		{"opener", "3 but 4 but 5", `"but" stands there twice: write it once: but 14,31`},
		{"opener", "the whole machine", `"the whole machine" is not a place: this machine has openers 1 to 48`},
	} {
		got, err := f.ParseWhere(c.noun, c.text)
		if err == nil || err.Error() != c.want {
			t.Errorf("%q of %q: %s, %v; want %s", c.text, c.noun, got, err, c.want)
		}
		if _, ok := err.(*PositionError); err != nil && !ok {
			t.Errorf("%q: the error is a %T", c.text, err)
		}
	}
}

func TestDescribe(t *testing.T) {
	f := places(t)
	for _, c := range []struct{ text, want string }{
		{"", "the whole machine"},
		{"openers", "all 48 openers"},
		{"opener/12", "opener 12"},
		{"opener/3,7-9", "openers 3, 7-9"},
		{"opener/3,4", "openers 3, 4"},
		{"openers but 14", "openers 1-48 but 14"},
		{"openers but 14,31", "openers 1-48 but 14, 31"},
		{"opener/1-40", "openers 1-40"},
		{"left-wing", "left wing"},
		{"opener/1-16", "left wing"},
		{"red", "red"},
		{"opener/10,39", "wheel track"},
		{"wheel/left-front", "wheel left-front"},
		{"wheel/right-front,left-front", "wheels left-front, right-front"},
		{"wheels but left-rear", "all 4 wheels but left-rear"},
		{"wheels", "all 4 wheels"},
		{"seed-box/2", "seed-box 2"},
		{"openers 1-3 and wheel left-front", "openers 1-3 and wheel left-front"},
	} {
		set, err := f.ParseWhere("", c.text)
		if err != nil {
			t.Fatal(err)
		}
		if got := f.Describe(set, ""); got != c.want {
			t.Errorf("%q: %q, want %q", c.text, got, c.want)
		}
	}
}

// setOf draws a set of places of the machine, often long runs, often all but few.
func setOf(t *rapid.T, f *Fitted) record.Positions {
	var out []record.Position
	for _, p := range f.Places {
		all := f.All(p.Noun).All()
		switch rapid.IntRange(0, 4).Draw(t, p.Noun) {
		case 0:
		case 1:
			out = append(out, all...)
		case 2:
			a := rapid.IntRange(0, len(all)-1).Draw(t, "from")
			b := rapid.IntRange(a, len(all)-1).Draw(t, "to")
			out = append(out, all[a:b+1]...)
		case 3:
			odds := rapid.IntRange(1, 9).Draw(t, "odds")
			for _, q := range all {
				if rapid.IntRange(0, 9).Draw(t, "in") < odds {
					out = append(out, q)
				}
			}
		case 4:
			names := append(f.groupsByName(), f.Farm...)
			out = append(out, names[rapid.IntRange(0, len(names)-1).Draw(t, "group")].Positions.All()...)
		}
	}
	return record.NewPositions(out...)
}

// Law: what Describe says, ParseWhere reads back, whatever the noun spoken of.
func TestDescribeReadsBack(t *testing.T) {
	f := places(t)
	rapid.Check(t, func(t *rapid.T) {
		set := setOf(t, f)
		text := f.Describe(set, "")
		if got, err := f.ParseWhere("", text); err != nil || !got.Equal(set) {
			t.Fatalf("%s is said as %q, which is read as %s, %v", set, text, got, err)
		}
		ranges := set.Ranges()
		if len(ranges) == 0 || ranges[0].Noun != ranges[len(ranges)-1].Noun {
			return
		}
		noun := ranges[0].Noun
		if got, err := f.ParseWhere(noun, f.Describe(set, noun)); err != nil || !got.Equal(set) {
			t.Fatalf("of %s: %s is said as %q, which is read as %s, %v", noun, set, text, got, err)
		}
	})
}

// Law: the stored forms, joined by blanks, are read back too.
func TestStoredFormsReadBack(t *testing.T) {
	f := places(t)
	rapid.Check(t, func(t *rapid.T) {
		set := setOf(t, f)
		if set.IsZero() {
			return
		}
		if got, err := f.ParsePositions("", set.Strings(), nil); err != nil || !got.Equal(set) {
			t.Fatalf("%s is read as %s, %v", set, got, err)
		}
	})
}

// Law: words of any kind are resolved or refused, never more than the machine has.
func TestParseWhereAnything(t *testing.T) {
	f := places(t)
	words := []string{"opener", "openers", "wheel", "all", "48", "1-3", "but", "and", "left", "wing", "left-wing", "/", "opener/", "opener/1", ",", "-", "1-", "the", "red", "seed-box", "rears", "9999999", "é"}
	rapid.Check(t, func(t *rapid.T) {
		text := strings.Join(rapid.SliceOfN(rapid.SampledFrom(words), 0, 6).Draw(t, "words"), rapid.SampledFrom([]string{" ", ", ", ""}).Draw(t, "between"))
		set, err := f.ParseWhere(rapid.SampledFrom([]string{"", "opener", "wheel"}).Draw(t, "noun"), text)
		if err != nil {
			return
		}
		for _, p := range set.All() {
			if !f.has(p) {
				t.Fatalf("%q gives %s, which the machine has not", text, p)
			}
		}
	})
}

// Law: walking is a permutation of the set.
func TestWalkIsPermutation(t *testing.T) {
	f := places(t)
	rapid.Check(t, func(t *rapid.T) {
		set := setOf(t, f)
		walk := f.Walk(set)
		if len(walk) != set.Len() || !record.NewPositions(walk...).Equal(set) {
			t.Fatalf("walking %s gives %v", set, walk)
		}
	})
}

func TestWalk(t *testing.T) {
	for _, c := range []struct {
		ranks, walk string
		want        string
	}{
		{"1", "serpentine", "1 2 3 4 5 6 7"},
		{"2", "serpentine", "1 3 5 7 6 4 2"},
		{"3", "serpentine", "1 4 7 5 2 3 6"},
		{"2", "line", "1 2 3 4 5 6 7"},
	} {
		f := mustFit(t, header+"[place.row]\ncount = 7\nranks = "+c.ranks+"\nwalk = \""+c.walk+"\"\n")
		var got []string
		for _, p := range f.Walk(f.All("row")) {
			got = append(got, strings.TrimPrefix(p.String(), "row/"))
		}
		if strings.Join(got, " ") != c.want {
			t.Errorf("%s ranks, %s: %v, want %s", c.ranks, c.walk, got, c.want)
		}
	}
}

// Shares of the width go by the middle of a place: of 40 openers a third is the first 13, of 5 rows the middle third is the middle one.
func TestGroups(t *testing.T) {
	for _, c := range []struct{ count, group, want string }{
		{"40", "from = 0\nto = \"1/3\"", "row/1-13"},
		{"40", "from = \"1/3\"\nto = \"2/3\"", "row/14-27"},
		{"40", "from = \"2/3\"\nto = 1", "row/28-40"},
		{"5", "from = \"1/3\"\nto = \"2/3\"", "row/3"},
		{"9", "rank = \"front\"", "row/1,row/3,row/5,row/7,row/9"},
		{"9", "rank = 2", "row/2,row/4,row/6,row/8"},
		{"9", "step = 3\nstart = 2", "row/2,row/5,row/8"},
		{"9", "list = \"1-3,8-20\"", "row/1-3,row/8-9"},
	} {
		f := mustFit(t, header+"[place.row]\ncount = "+c.count+"\nranks = 2\n[group.g]\nof = \"row\"\n"+c.group+"\n")
		if got, ok := f.GroupPositions("g"); !ok || got.String() != c.want {
			t.Errorf("%s of %s: %s, want %s", c.group, c.count, got, c.want)
		}
	}
	f := mustFit(t, header+"[place.row]\ncount = 4\n[group.rear]\nof = \"row\"\nrank = \"rear\"\n")
	if _, ok := f.GroupPositions("rear"); ok {
		t.Error("one rank has a rear rank")
	}
}

// Law: three thirds cover every place once.
func TestThirdsCover(t *testing.T) {
	s, ok := Builtin("disc-drill")
	if !ok {
		t.Fatal("no drill")
	}
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 160).Draw(t, "openers")
		f, err := s.Fit([]record.Option{{Name: "openers", Value: itoa(n)}}, nil, nil)
		if err != nil {
			t.Fatal(err)
		}
		sum, set := 0, record.Positions{}
		for _, g := range []string{"left-wing", "middle", "right-wing"} {
			p, _ := f.GroupPositions(g)
			sum += p.Len()
			set = set.Union(p)
		}
		if sum != n || set.Len() != n {
			t.Fatalf("%d openers: thirds hold %d, together %d", n, sum, set.Len())
		}
	})
}

func TestPairs(t *testing.T) {
	f := places(t)
	for _, c := range []struct{ of, want int }{{1, 2}, {2, 1}, {47, 48}} {
		if q, ok := f.PairOf(record.Position{Noun: "opener", Number: c.of}); !ok || q.Number != c.want {
			t.Errorf("the partner of %d is %v", c.of, q)
		}
	}
	if q, ok := f.PairOf(record.Position{Noun: "wheel", Name: "left-front"}); ok {
		t.Errorf("a wheel has the partner %v", q)
	}
	odd := mustFit(t, header+"[place.row]\ncount = 5\n[pair.m]\nof = \"row\"\nhow = \"mirror\"\n")
	if _, ok := odd.PairOf(record.Position{Noun: "row", Number: 3}); ok {
		t.Error("the middle one of five has a partner")
	}
}
