package main

import (
	"fmt"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/ledger/gitstore"
)

type mendedJSON struct {
	Log    string `json:"log,omitempty"`
	Device string `json:"device,omitempty"`
	Done   string `json:"done"`
}

// mend puts right what the book's folder allows. A folder that cannot be opened otherwise is mended as it lies.
func (c *call) mend(dir string) (*gitstore.Mending, error) {
	store, err := gitstore.Open(dir)
	switch {
	case gitstore.IsDamage(err):
		store, err = gitstore.OpenDamaged(dir)
	case err == nil:
		for _, line := range store.Recovered() {
			c.say("%s\n", line)
		}
	}
	if err != nil {
		return nil, openError(dir, err)
	}
	m, err := store.Mend()
	if err != nil {
		if m != nil {
			b := &book{c: c, store: store, local: store.Local()}
			b.printMended(m)
		}
		return nil, failed("not-mended", "make room, or let nothing else work in the folder, then say it again; nothing was lost", "%v", err)
	}
	return m, nil
}

// printMended says each thing that was done.
func (b *book) printMended(m *gitstore.Mending) {
	line := func(format string, args ...any) {
		b.c.printf("%s\n", table.Wrap(table.Clean(fmt.Sprintf(format, args...)), b.c.columns(), "  "))
	}
	for _, step := range m.Steps {
		if step.Log != "" {
			line("mended: %s: %s", b.logName(step.Log), step.Text)
		} else {
			line("mended: %s", step.Text)
		}
	}
	if len(m.Steps) == 0 {
		line("nothing to mend")
	}
	if m.Kept != "" {
		line("what was set aside is kept in %s, inside the book's folder", m.Kept)
	}
	b.c.printf("\n")
}

func (b *book) mendedJSON(m *gitstore.Mending) []mendedJSON {
	if m == nil {
		return nil
	}
	out := []mendedJSON{}
	for _, step := range m.Steps {
		j := mendedJSON{Log: step.Log, Done: step.Text}
		if step.Log != "" {
			j.Device = b.logName(step.Log)
		}
		out = append(out, j)
	}
	return out
}
