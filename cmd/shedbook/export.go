package main

import (
	"github.com/spf13/pflag"

	"shedbook/ledger/audit"
)

func exportCommand() *command {
	var evidence string
	var o audit.EvidenceOptions
	return &command{
		name: "export", section: "sharing", brief: "write the evidence about a machine for its buyer",
		usage:    []string{"export --evidence MACHINE FILE [--without-names] [--without-costs]"},
		examples: []string{"export --evidence drill drill.evidence", "export --evidence drill drill.evidence --without-costs"},
		about: `--evidence writes one file for the buyer of a machine: whatever the book says of it, in a form that shows that nothing was changed or left out, and nothing of any other machine's work. The buyer ` +
			`checks it with shedbook audit --evidence FILE, without a book.

Before a sale: shedbook stamp, have it countersigned by somebody from outside, and write the evidence after that.`,
		flags: func(fs *pflag.FlagSet) {
			fs.StringVar(&evidence, "evidence", "", "write the evidence for this `machine`")
			fs.BoolVar(&o.WithoutNames, "without-names", false, "hold back private parts that name somebody")
			fs.BoolVar(&o.WithoutCosts, "without-costs", false, "hold back private parts that name a price")
		},
		run: func(c *call) error {
			switch {
			case evidence == "":
				return usage("shedbook export --evidence drill drill.evidence", "what to export is missing")
			case len(c.args) != 1:
				return usage("shedbook export --evidence "+evidence+" "+evidence+".evidence", "--evidence takes the machine and then the file to write")
			}
			return c.writeEvidence(evidence, c.args[0], o)
		},
	}
}
