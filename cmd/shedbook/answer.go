package main

import (
	"fmt"

	"shedbook/ledger"
)

// recorded answers a write in plain words: what was recorded, its short id, and how to put it right. Entries of identity are put right by a correction only.
func (c *call) recorded(e *ledger.Entry, format string, a ...any) error {
	if c.dryRun {
		c.printf("would record: %s\n", fmt.Sprintf(format, a...))
		return nil
	}
	c.printf("recorded: %s [%s]\n", fmt.Sprintf(format, a...), e.ID().Short())
	c.say("  to put it right: shedbook correct %s ...   to take it back: shedbook strike %s\n", e.ID().Short(), e.ID().Short())
	return nil
}
