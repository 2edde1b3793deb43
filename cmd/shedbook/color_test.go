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
			if got := c.paint(stateStyle("overdue", "soon"), "overdue"); got != want {
				t.Errorf("got %q, want %q", got, want)
			}
		})
	}
}

func TestStateStyle(t *testing.T) {
	for _, test := range []struct{ state, severity, want string }{
		{"overdue", "tidy", red}, {"open", "stop", red}, {"due", "stop", red}, {"coming", "stop", ""}, {"unknown", "stop", ""}, {"due", "soon", yellow}, {"open", "winter", yellow}, {"later", "soon", dim}, {"coming", "soon", ""},
	} {
		if got := stateStyle(test.state, test.severity); got != test.want {
			t.Errorf("%s, %s: got %q, want %q", test.state, test.severity, got, test.want)
		}
	}
}
