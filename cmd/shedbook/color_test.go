package main

import (
	"io"
	"testing"
)

// Colour only on a terminal, unless asked for; a set NO_COLOR (no-color.org) and a dumb terminal turn it off, --color rules over both.
func TestColored(t *testing.T) {
	for _, test := range []struct {
		name     string
		flag     string
		terminal bool
		vars     map[string]string
		want     bool
	}{
		{"terminal", "auto", true, nil, true},
		{"pipe", "auto", false, nil, false},
		{"NO_COLOR", "auto", true, map[string]string{"NO_COLOR": "1"}, false},
		{"empty NO_COLOR is not set", "auto", true, map[string]string{"NO_COLOR": ""}, true},
		{"dumb", "auto", true, map[string]string{"TERM": "dumb"}, false},
		{"always in a pipe", "always", false, nil, true},
		{"always rules over NO_COLOR", "always", false, map[string]string{"NO_COLOR": "1"}, true},
		{"never", "never", true, nil, false},
	} {
		t.Run(test.name, func(t *testing.T) {
			c := &call{env: &env{stdout: io.Discard, shows: test.terminal, getenv: func(k string) string { return test.vars[k] }}, common: &common{color: test.flag}}
			want := "overdue"
			if test.want {
				want = "\x1b[1;31moverdue\x1b[0m"
			}
			if got := c.paint(sectionStyle("overdue", false), "overdue"); got != want {
				t.Errorf("got %q, want %q", got, want)
			}
		})
	}
}

func TestSectionStyle(t *testing.T) {
	for _, test := range []struct {
		state string
		stops bool
		want  string
	}{{"overdue", false, red}, {"open", true, red}, {"due", true, red}, {"coming", false, bold}, {"unknown", false, bold}, {"due", false, yellow}, {"open", false, yellow}, {"later", false, dim}} {
		if got := sectionStyle(test.state, test.stops); got != test.want {
			t.Errorf("%s, stops %v: got %q, want %q", test.state, test.stops, got, test.want)
		}
	}
}
