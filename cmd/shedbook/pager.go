package main

import (
	"bytes"
	"os"
	"os/exec"
	"strings"
)

// paged runs a command's printing with a pager behind it: only on a terminal, only for text, and only where one is to be had. SHEDBOOK_PAGER names it,
// else PAGER, else less is tried; "cat" means none, and so does --no-pager. less gets LESS=FRX where LESS is not set: it leaves at once when everything fits on
// one screen, and lets colours through. A pager that is closed early is no error.
func (c *call) paged(print func() error) error {
	words := c.pager()
	if len(words) == 0 {
		return print()
	}
	terminal := c.stdout
	var text bytes.Buffer
	e := *c.env
	e.stdout = &text
	c.env = &e
	err := print()
	e.stdout = terminal
	cmd := exec.Command(words[0], words[1:]...)
	cmd.Stdin, cmd.Stdout, cmd.Stderr = bytes.NewReader(text.Bytes()), terminal, c.stderr
	if out, ok := terminal.(*output); ok {
		cmd.Stdout = out.Writer // the terminal itself: a pager looks whether it is one
	}
	cmd.Env = os.Environ()
	if c.getenv("LESS") == "" {
		cmd.Env = append(cmd.Env, "LESS=FRX")
	}
	if cmd.Start() != nil {
		_, werr := terminal.Write(text.Bytes())
		if err == nil {
			err = werr
		}
		return err
	}
	_ = cmd.Wait() // how a person leaves a pager says nothing about the command
	return err
}

// pager is the pager's command line, nil for none.
func (c *call) pager() []string {
	if !c.shows || c.json || c.noPager || c.getenv("TERM") == "dumb" {
		return nil
	}
	for _, name := range []string{"SHEDBOOK_PAGER", "PAGER"} {
		switch words := strings.Fields(c.getenv(name)); {
		case len(words) == 1 && words[0] == "cat":
			return nil
		case len(words) > 0:
			return words
		}
	}
	if path, err := exec.LookPath("less"); err == nil {
		return []string{path}
	}
	return nil
}
