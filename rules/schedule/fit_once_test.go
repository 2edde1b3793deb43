package schedule

import (
	"fmt"
	"reflect"
	"testing"

	"shedbook/rules/record"
)

// TestFitOnce wants one fit from one set of arguments, another from any other, however the words are cut, and a mistake told each time.
func TestFitOnce(t *testing.T) {
	s, err := ParseOnce("example.toml", Example())
	if err != nil {
		t.Fatal(err)
	}
	other, err := Parse("example.toml", []byte(Example()))
	if err != nil {
		t.Fatal(err)
	}
	type arguments struct {
		of        *Schedule
		options   []record.Option
		groups    []record.Group
		overrides []Override
	}
	own := func(path, value, page, entry string) []Override {
		return []Override{{Path: path, Value: value, Page: page, Entry: record.ID(entry)}}
	}
	cases := []arguments{
		{of: s},
		{of: other},
		{of: s, overrides: own("a", "bc", "", "")},
		{of: s, overrides: own("ab", "c", "", "")},
		{of: s, overrides: own("ab", "", "c", "")},
		{of: s, overrides: own("ab", "", "", "c")},
		{of: s, overrides: append(own("a", "1", "", ""), own("a", "2", "", "")...)},
		{of: s, overrides: append(own("a", "2", "", ""), own("a", "1", "", "")...)},
	}
	for _, o := range s.Options {
		cases = append(cases, arguments{of: s, options: []record.Option{{Name: o.Name, Value: o.Default}}})
	}
	seen := map[*Fitted]int{}
	for i, c := range cases {
		f, err := c.of.Fit(c.options, c.groups, c.overrides)
		if err != nil {
			t.Fatalf("case %d: %v", i, err)
		}
		if before, ok := seen[f]; ok {
			t.Errorf("cases %d and %d have one fit", before, i)
		}
		seen[f] = i
		again, err := c.of.Fit(c.options, c.groups, c.overrides)
		if err != nil || again != f {
			t.Errorf("case %d: fitted anew (%v)", i, err)
		}
		if plain, err := c.of.fit(c.options, c.groups, c.overrides); err != nil || !reflect.DeepEqual(plain, f) {
			t.Errorf("case %d: not what fitting gives (%v)", i, err)
		}
	}
	first, _ := s.Fit(nil, nil, nil)
	for i := range maxFits {
		if _, err := s.Fit(nil, nil, own("x", fmt.Sprint(i), "", "")); err != nil {
			t.Fatal(err)
		}
	}
	if len(fits.made) > maxFits {
		t.Errorf("%d fits are kept, more than %d", len(fits.made), maxFits)
	}
	if again, err := s.Fit(nil, nil, nil); err != nil || !reflect.DeepEqual(again, first) {
		t.Errorf("a fit that was dropped is not made again alike (%v)", err)
	}
	for range 2 {
		if _, err := s.Fit([]record.Option{{Name: "no such"}}, nil, nil); err == nil {
			t.Error("an unknown option is not told")
		}
	}
}
