package schedule

import (
	"errors"
	"testing"
)

// FuzzParse: no text makes Parse panic; every mistake has a place; what parses fits with its defaults, and each of its values may be put back as it is.
func FuzzParse(f *testing.F) {
	f.Add(prelude)
	f.Add(Example())
	for _, s := range Builtins() {
		f.Add(s.Text)
	}
	for _, r := range hardRules {
		f.Add(r.text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s, err := Parse("fuzz.toml", []byte(text))
		if err != nil {
			var list Errors
			if !errors.As(err, &list) || len(list) == 0 {
				t.Fatalf("an error that is no Errors: %v", err)
			}
			for _, e := range list {
				if e.Line < 1 || e.Column < 1 || e.Message == "" {
					t.Fatalf("a mistake without a place: %#v", e)
				}
			}
			return
		}
		fitted, err := s.Fit(nil, nil, nil)
		if err != nil {
			t.Fatalf("parses and does not fit: %v", err)
		}
		for _, p := range fitted.Places {
			all := fitted.All(p.Noun)
			if back, err := fitted.ParseWhere("", fitted.Describe(all, p.Noun)); err != nil || !back.Equal(all) {
				t.Fatalf("%q does not mean every %s: %v, %v", fitted.Describe(all, p.Noun), p.Noun, back, err)
			}
		}
		paths := s.Paths()
		if len(paths) > 0 {
			p := paths[len(text)%len(paths)]
			if err := s.CheckOverride(p.Path, p.Value); err != nil {
				t.Fatalf("%s does not take its own value %s: %v", p.Path, p.Value, err)
			}
		}
	})
}
