package main

import (
	"path/filepath"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/ledger/audit"
)

type saleJSON struct {
	Format   int          `json:"format"`
	On       string       `json:"on"`
	Machine  string       `json:"machine"`
	ID       string       `json:"id"` // of the entry that added the machine
	Page     writtenJSON  `json:"page"`
	Evidence evidenceFile `json:"evidence"`
	Sound    bool         `json:"sound"`       // the book verifies
	Wrong    int          `json:"wrong"`       // lines under what is wrong today
	Names    []string     `json:"names_found"` // with --without-names: parts of people's names that stand in it all the same
}

type writtenJSON struct {
	File  string `json:"file"`
	Bytes int64  `json:"bytes"`
}

type evidenceFile struct {
	File     string `json:"file"`
	Bytes    int64  `json:"bytes"`
	Digest   string `json:"digest"` // of what it proves
	SHA256   string `json:"sha256"` // of the file
	Entries  int    `json:"entries"`
	About    int    `json:"about"`
	HeldBack int    `json:"held_back"`
}

// saleOptions are the seller's choices.
type saleOptions struct {
	out          string
	withoutNames bool
	withoutCosts bool
	statements   []string
	price        string
	word         string // the buyer's, for the spot-check card
	contact      string
	machine      string // as typed
}

// evidence is what to hold back. Words are held back with the names, for names cannot be found in them.
func (o *saleOptions) evidence() audit.EvidenceOptions {
	return audit.EvidenceOptions{WithoutNames: o.withoutNames, WithoutWords: o.withoutNames, WithoutCosts: o.withoutCosts}
}

func saleFileCommand() *command {
	var o saleOptions
	return &command{
		name: "salefile", section: "sharing", brief: "write what a buyer wants to see, with its evidence", reads: true,
		usage:    []string{"salefile MACHINE [--out FILE.html] [--statement TEXT]... [--price TEXT] [--contact TEXT] [--word WORD] [--without-names] [--without-costs]"},
		examples: []string{"salefile drill", `salefile drill --statement "no liens" --price "on request"`, "salefile drill --without-names --without-costs"},
		about: `Writes one page for a buyer and, beside it, the evidence that the page is made from: FILE.html and FILE.evidence, over what is there. The page tells first what is wrong today and what is left ` +
			`of the dear parts, then what was done, by whom and how soon it was written down, and how to check all of it. It has a card to measure by and a half sheet for the windscreen. ` +
			`It opens in any browser, needs nothing else, and prints on Letter and A4.

--statement is your own word, which no entry says: liens, accidents, fire, flood. It is marked so, and the usual ones you leave out are named as not said. --price and --contact stand on the windscreen card only.

--without-names makes people "hand 1", "hand 2", and leaves out every free word, shop and price, in the evidence too: a name cannot be found reliably in a note. Names of farms, yards, fields, seasons ` +
			`and machines stay; parts of people's names found in those are told. --without-costs leaves out what an entry with a price says in words and money; other notes stay, and may speak of money. Either leaves out all photos and papers: they may show names or prices.

Photos kept with the entry that added the machine, and with its last large jobs, stand in the page, small. Other papers are only named; give them yourself: shedbook paper.

Before a sale: shedbook stamp, and have it countersigned by somebody from outside.`,
		flags: func(fs *pflag.FlagSet) {
			fs.StringVar(&o.out, "out", "", "the page's `file`; else MACHINE-sale-file.html here")
			fs.StringArrayVar(&o.statements, "statement", nil, "your own `word` to the buyer; repeatable")
			fs.StringVar(&o.price, "price", "", "on the windscreen card: the `price`")
			fs.StringVar(&o.contact, "contact", "", "on the windscreen card: whom to `call`")
			fs.StringVar(&o.word, "word", "", "the buyer's own `word`: draws the places on the spot-check card anew")
			fs.BoolVar(&o.withoutNames, "without-names", false, "nobody's name, no free words")
			fs.BoolVar(&o.withoutCosts, "without-costs", false, "no prices and invoices")
		},
		run: func(c *call) error {
			if len(c.args) != 1 {
				return usage("shedbook salefile drill", "salefile takes one machine")
			}
			o.machine = c.args[0]
			if err := o.check(); err != nil {
				return err
			}
			return c.writeSaleFile(o)
		},
	}
}

// check holds what the seller says himself to what a page takes.
func (o *saleOptions) check() error {
	if o.out == "-" {
		return usage("name a file", "--out takes a file, not -: the evidence is written beside it")
	}
	for _, s := range o.statements {
		if err := checkWords("--statement", s, 2000); err != nil {
			return err
		}
	}
	for _, x := range []struct{ flag, said string }{{"--price", o.price}, {"--contact", o.contact}, {"--word", o.word}} {
		if x.said == "" {
			continue
		}
		if err := checkWords(x.flag, x.said, 200); err != nil {
			return err
		}
	}
	return nil
}

// evidenceBeside is the evidence's file name: the page's, with another ending.
func evidenceBeside(page string) string {
	return strings.TrimSuffix(page, filepath.Ext(page)) + ".evidence"
}

// writeSaleFile writes both files. The page is made from the evidence as a buyer reads it, so it cannot say what the evidence does not hold.
func (c *call) writeSaleFile(o saleOptions) error {
	s, err := c.saleFile(&o)
	if err != nil {
		return err
	}
	page, err := s.page()
	if err != nil {
		return err
	}
	if err := c.replaceFile(evidenceBeside(o.out), s.proof.raw); err != nil {
		return err
	}
	if err := c.replaceFile(o.out, page); err != nil {
		return err
	}
	found := s.namesFound()
	if err := c.saidSaleFile(s, page, found); err != nil {
		return err
	}
	return s.whole.soundness()
}

// saidSaleFile tells what was written.
func (c *call) saidSaleFile(s *saleFile, page []byte, found []string) error {
	o, info := s.o, s.proof.info
	if c.json {
		return c.printJSON(saleJSON{Format: 1, On: s.st.On, Machine: s.m.Name, ID: string(s.m.ID), Page: writtenJSON{o.out, int64(len(page))},
			Evidence: evidenceFile{evidenceBeside(o.out), int64(len(s.proof.raw)), s.proof.ev.Digest().String(), s.proof.sum, info.Entries, info.Machine, info.HeldBack},
			Sound:    s.sound, Wrong: s.wrong, Names: strs(found)})
	}
	line := c.lines()
	c.aside()("", "wrote the sale file of %s: %s, %s", s.m.Name, o.out, kilobytes(int64(len(page))))
	line("", "and its evidence: %s, %s; give both to the buyer", evidenceBeside(o.out), kilobytes(int64(len(s.proof.raw))))
	if s.wrong > 0 {
		line("", "it says what is wrong today: %s", countWords(s.wrong, "line"))
	} else {
		line("", "nothing is written as wrong today, and it says what that means")
	}
	if info.HeldBack > 0 {
		line("", "held back: the private part of %s", entryCount(info.HeldBack))
	}
	if len(found) > 0 {
		line("", "parts of people's names that stand in it all the same, in names of farms, yards, fields, seasons or machines or in your own words: %s", strings.Join(found, ", "))
	}
	if not := s.unsaid(); len(not) > 0 {
		c.say("not said by you, and the page says so: %s (--statement)\n", strings.Join(not, ", "))
	}
	if sum := s.proof.sums; len(sum.Stamps) == 0 || sum.Stamps[len(sum.Stamps)-1].After > 0 {
		c.say("before a sale: shedbook stamp, have it countersigned by somebody from outside, and write this anew\n")
	}
	return nil
}
