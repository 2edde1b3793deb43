package main

import (
	"bytes"
	"io"
	"strings"
	"testing"
)

// pagedWith prints one line through a pager on what counts as a terminal.
func pagedWith(vars map[string]string, terminal, json bool, print func(*call) error, flags ...string) (string, error) {
	var out bytes.Buffer
	e := &env{stdin: strings.NewReader(""), stdout: &out, stderr: io.Discard, shows: terminal, getenv: func(k string) string { return vars[k] }}
	c := &call{env: e, common: &common{color: "auto", json: json}}
	fs := newFlagSet("due")
	c.common.flags(fs, &command{reads: true})
	if err := fs.Parse(flags); err != nil {
		return "", err
	}
	err := c.paged(func() error { return print(c) })
	return out.String(), err
}

func TestPaged(t *testing.T) {
	line := func(c *call) error { c.printf("one\n"); return nil }
	for _, test := range []struct {
		name           string
		vars           map[string]string
		terminal, json bool
		want           string
	}{
		{"pager on a terminal", map[string]string{"SHEDBOOK_PAGER": "sed s/^/|/"}, true, false, "|one\n"},
		{"own pager before PAGER", map[string]string{"SHEDBOOK_PAGER": "sed s/^/|/", "PAGER": "sed s/^/-/"}, true, false, "|one\n"},
		{"PAGER", map[string]string{"PAGER": "sed s/^/-/"}, true, false, "-one\n"},
		{"none in a pipe", map[string]string{"SHEDBOOK_PAGER": "sed s/^/|/"}, false, false, "one\n"},
		{"none for programs", map[string]string{"SHEDBOOK_PAGER": "sed s/^/|/"}, true, true, "one\n"},
		{"none on a dumb terminal", map[string]string{"SHEDBOOK_PAGER": "sed s/^/|/", "TERM": "dumb"}, true, false, "one\n"},
		{"cat is none", map[string]string{"SHEDBOOK_PAGER": "cat", "PAGER": "sed s/^/|/"}, true, false, "one\n"},
		{"a pager that is not there", map[string]string{"SHEDBOOK_PAGER": "/no/such/pager"}, true, false, "one\n"},
		{"a pager that leaves at once", map[string]string{"SHEDBOOK_PAGER": "true"}, true, false, ""},
		{"a pager that fails", map[string]string{"SHEDBOOK_PAGER": "false"}, true, false, ""},
	} {
		t.Run(test.name, func(t *testing.T) {
			got, err := pagedWith(test.vars, test.terminal, test.json, line)
			if got != test.want || err != nil {
				t.Errorf("got %q, %v, want %q", got, err, test.want)
			}
		})
	}
}

// What the command says of itself is kept: its error comes out behind the pager, and a pager closed early while much is printed is no error.
func TestPagedKeepsTheError(t *testing.T) {
	_, err := pagedWith(map[string]string{"SHEDBOOK_PAGER": "sed s/^/|/"}, true, false, func(c *call) error { return exitCode(exitUnsound) })
	if err != exitCode(exitUnsound) {
		t.Errorf("got %v", err)
	}
	plain, err := pagedWith(map[string]string{"SHEDBOOK_PAGER": "sed s/^/|/"}, true, false, func(c *call) error { c.printf("one\n"); return nil }, "--no-pager")
	if plain != "one\n" || err != nil {
		t.Errorf("--no-pager: %q, %v", plain, err)
	}
	_, err = pagedWith(map[string]string{"SHEDBOOK_PAGER": "head -1"}, true, false, func(c *call) error {
		c.printf("%s", strings.Repeat("a long line of the list\n", 100000))
		return nil
	})
	if err != nil {
		t.Errorf("closed early: %v", err)
	}
}
