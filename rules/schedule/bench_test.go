package schedule

import "testing"

func BenchmarkParse(b *testing.B) {
	s, _ := Builtin("disc-drill")
	for b.Loop() {
		if _, err := Parse("d.toml", []byte(s.Text)); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFit(b *testing.B) {
	s, _ := Builtin("disc-drill")
	overrides := []Override{{Path: "job.grease.when.1.every", Value: `"120 h"`}, {Path: "setting.scraper-notch.max", Value: "5"}, {Path: "job.grease.minutes", Value: "3"}}
	for b.Loop() {
		if _, err := s.Fit(nil, nil, overrides); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkDescribe(b *testing.B) {
	s, _ := Builtin("disc-drill")
	f, _ := s.Fit(nil, nil, nil)
	set, _ := f.ParseWhere("opener", "openers but 14, 31")
	for b.Loop() {
		f.Describe(set, "opener")
	}
}
