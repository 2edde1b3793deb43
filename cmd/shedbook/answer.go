package main

import (
	"fmt"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/ledger"
)

// recorded answers a write in plain words: what was recorded, its short id, and how to put it right. Entries of identity are put right by a correction only.
func (c *call) recorded(e *ledger.Entry, format string, a ...any) error {
	return c.recordedWith(nil, e, format, a...)
}

// recordedWith is recorded with notes below.
func (c *call) recordedWith(notes []string, e *ledger.Entry, format string, a ...any) error {
	words := fmt.Sprintf(format, a...)
	if c.json {
		x := repliedJSON{ID: e.ID().String(), Kind: e.Kind(), Words: words, Record: e.Record()}
		if c.dryRun {
			x.ID = ""
		}
		return c.printJSON(replyJSON{Format: 1, DryRun: c.dryRun, Recorded: []repliedJSON{x}, Notes: notes, Next: []nextJSON{}})
	}
	if c.dryRun {
		c.printf("would record: %s\n", words)
	} else {
		c.printf("recorded: %s [%s]\n", words, e.ID().Short())
		c.sayPutRight(e)
	}
	for _, n := range notes {
		c.printf("%s\n", table.Wrap("  "+table.Clean(n), c.columns(), "    "))
	}
	return nil
}

// sayPutRight says how an entry is corrected and taken back, on two lines where the terminal is narrow.
func (c *call) sayPutRight(e *ledger.Entry) {
	correct, strike := "to put it right: shedbook correct "+e.ID().Short()+" ...", "to take it back: shedbook strike "+e.ID().Short()
	between := "   "
	if len("  "+correct+between+strike) > c.columns() {
		between = "\n  "
	}
	c.say("  %s%s%s\n", correct, between, strike)
}
