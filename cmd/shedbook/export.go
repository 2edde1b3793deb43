package main

import (
	"github.com/spf13/pflag"

	"shedbook/ledger/audit"
)

func exportCommand() *command {
	var evidence, table, before string
	var bom bool
	var o audit.EvidenceOptions
	return &command{
		name: "export", section: "sharing", brief: "write a buyer's evidence, or a table for a spreadsheet",
		usage:    []string{"export --evidence MACHINE FILE [--without-names] [--without-costs]", "export --csv entries|state|due|prepare FILE [MACHINE] [--before SEASON|DATE] [--bom]"},
		examples: []string{"export --evidence drill drill.evidence", "export --csv due due.csv", "export --csv state drill.csv drill", `export --csv prepare parts.csv --before "spring 2027"`},
		about: `--evidence writes one file for the buyer of a machine: whatever the book says of it, in a form that shows that nothing was changed or left out, and nothing of any other machine's work. The buyer ` +
			`checks it with shedbook audit --evidence FILE, without a book.

Before a sale: shedbook stamp, have it countersigned by somebody from outside, and write the evidence after that.

--csv writes a table for a spreadsheet (RFC 4180), over what is there: every entry; what is so of each machine; what is due; or the parts and the work before a season. FILE - is the standard output. ` +
			`A note that a spreadsheet would take for a formula gets a ' in front. --bom marks the file for programs that take it for another encoding without.`,
		flags: func(fs *pflag.FlagSet) {
			fs.StringVar(&evidence, "evidence", "", "write the evidence for this `machine`")
			fs.StringVar(&table, "csv", "", "write this `table`: entries, state, due, prepare")
			fs.StringVar(&before, "before", "", "with --csv prepare: the `season or day` by which it is to be done")
			fs.BoolVar(&bom, "bom", false, "with --csv: a byte order mark first")
			fs.BoolVar(&o.WithoutNames, "without-names", false, "hold back private parts that name somebody")
			fs.BoolVar(&o.WithoutCosts, "without-costs", false, "hold back private parts that name a price")
		},
		run: func(c *call) error {
			switch {
			case table != "" && evidence != "":
				return usage("", "--evidence and --csv are two files: one at a time")
			case table != "":
				return c.exportSheet(table, before, bom, c.args)
			case evidence == "":
				return usage("shedbook export --evidence drill drill.evidence", "what to export is missing")
			case len(c.args) != 1:
				return usage("shedbook export --evidence "+evidence+" "+evidence+".evidence", "--evidence takes the machine and then the file to write")
			}
			return c.writeEvidence(evidence, c.args[0], o)
		},
	}
}
