package schedule

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"shedbook/rules/record"
)

// A machine fitted once more is the same; whatever it is fitted to that differs gives another, as Fit makes it.
func TestFitOnce(t *testing.T) {
	s, ok := Builtin("disc-drill")
	if !ok {
		t.Fatal("no disc drill")
	}
	at := func(text string) record.Positions {
		p, err := record.ParsePositions([]string{text})
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	type to struct {
		options   []record.Option
		groups    []record.Group
		overrides []Override
	}
	all := []to{
		{},
		{options: []record.Option{{Name: "openers", Value: "36"}}},
		{options: []record.Option{{Name: "openers", Value: "48"}}},
		{groups: []record.Group{{Name: "tramline", Positions: at("opener/3")}}},
		{groups: []record.Group{{Name: "tramline", Positions: at("opener/4")}}},
		{groups: []record.Group{{Name: "tramlines", Positions: at("opener/4")}}},
		{overrides: []Override{{Path: "torque", Value: "x", Entry: "1"}}},
		{overrides: []Override{{Path: "torque", Value: "x", Entry: "2"}}},
		{overrides: []Override{{Path: "torque", Value: "x", Page: "7", Entry: "2"}}},
		{overrides: []Override{{Path: "torquex", Entry: "2"}}},
	}
	made := map[*Fitted]int{}
	for i, x := range all {
		once, err := s.FitOnce(x.options, x.groups, x.overrides)
		if err != nil {
			t.Fatal(err)
		}
		if before, had := made[once]; had {
			t.Errorf("%d is given for %d", before, i)
		}
		made[once] = i
		if again, err := s.FitOnce(x.options, x.groups, x.overrides); again != once || err != nil {
			t.Errorf("%d is made twice, %v", i, err)
		}
		plain, err := s.Fit(x.options, x.groups, x.overrides)
		if err != nil {
			t.Fatal(err)
		}
		type told struct {
			Options   []record.Option
			Overrides []Override
			Dropped   []Dropped
			Farm      []string
			Text      string
			Jobs      int
		}
		tell := func(f *Fitted) told {
			out := told{f.OptionValues, f.Overrides, f.Dropped, nil, f.Text, len(f.Jobs)}
			for _, g := range f.Farm {
				out.Farm = append(out.Farm, g.Name+" "+g.Positions.String())
			}
			return out
		}
		if diff := cmp.Diff(tell(plain), tell(once)); diff != "" {
			t.Errorf("%d: %s", i, diff)
		}
	}
	if _, err := s.FitOnce([]record.Option{{Name: "no-such", Value: "1"}}, nil, nil); err == nil {
		t.Error("an option that the kind has not")
	}
}
