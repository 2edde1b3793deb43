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
		c.say("  to put it right: shedbook correct %s ...   to take it back: shedbook strike %s\n", e.ID().Short(), e.ID().Short())
	}
	for _, n := range notes {
		c.printf("%s\n", table.Wrap("  "+table.Clean(n), c.columns(), "    "))
	}
	return nil
}
