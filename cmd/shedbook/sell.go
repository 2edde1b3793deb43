package main

import (
	"github.com/spf13/pflag"

	"shedbook/rules/record"
)

func machineSellCommand() *command {
	s := &said{}
	return &command{
		name: "machine sell", section: "machines", brief: "record that a machine was sold", writes: true,
		usage:    []string{"machine sell MACHINE [--who BUYER] [--cost price=AMOUNT]"},
		examples: []string{"machine sell drill --who \"Pim Reed\" --counter area=6420ac", "machine sell drill --done 2026-11-20 --cost price=41500"},
		about: `Its history stays; it comes due no more, and its name is free for the next one. Buyer and price can be held back from whoever is shown the book.

For the buyer, before: shedbook stamp, and shedbook export --evidence.`,
		flags: func(fs *pflag.FlagSet) { s.bindWork(fs); s.bindNote(fs) },
		run: func(c *call) error {
			if len(c.args) != 1 {
				return usage("shedbook "+c.cmd.examples[0], "machine sell takes one machine")
			}
			return c.aboutMachine(s, c.args[0], buildSell)
		},
	}
}

func buildSell(l *line) (record.Record, *record.Private, error) {
	r := &record.Sell{}
	if old := l.oldRecord(); old != nil {
		*r = *old.(*record.Sell)
	}
	var err error
	if r.Work, err = l.work(); err != nil {
		return nil, nil, err
	}
	if l.old == nil && l.m.Sold != "" {
		return nil, nil, failed("there-already", "shedbook history "+l.m.Name, "%s is sold already", l.m.Name)
	}
	p, err := l.private("")
	return r, p, err
}
