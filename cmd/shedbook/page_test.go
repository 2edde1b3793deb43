package main

import "testing"

func TestSafeName(t *testing.T) {
	for _, x := range []struct {
		words []string
		want  string
	}{
		{[]string{"drill", "job card"}, "drill-job-card.html"},
		{[]string{"../../etc/passwd"}, "etc-passwd.html"},
		{[]string{"NUL"}, "shed-nul.html"},
		{[]string{"Größe", "..", "\x00\u202e"}, "gr-e.html"},
		{[]string{"日本"}, "shed.html"},
	} {
		if got := safeName("html", x.words...); got != x.want {
			t.Errorf("%q: %q, want %q", x.words, got, x.want)
		}
	}
}
