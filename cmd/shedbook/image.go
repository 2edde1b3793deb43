package main

import (
	"time"

	"shedbook/ledger"
	"shedbook/ledger/gitstore"
)

// A command need not read and check a long book anew: it finds the entries as they were verified, and verifies what came since. What once was verified is not
// looked at again by it; so the whole is read from the logs at least every imageDays days, by every new build of the program, and by every audit.

const imageDays = 7

// keepAtLeast is how many entries a book has for its image, and what was found of it whole, to be worth keeping.
var keepAtLeast = 1000

// grown is how many entries may come to a book of n before what was kept of it is kept anew.
func grown(n int) int { return max(keepAtLeast/5, n/200) }

// reading is a book's entries as they were read.
type reading struct {
	log   *ledger.Book // nil where logs are to be loaded
	logs  []ledger.Log // whole, or what came since the image
	whole string       // the day on which all of it was read from the logs
}

// fromImage reads a book as its image has it, with what came since; nil where it must be read whole.
func (c *call) fromImage(store *gitstore.Store, mapped bool) *reading {
	today, err := time.Parse("2006-01-02", c.today())
	if err != nil {
		return nil
	}
	im := store.OpenImage(programID(), today.AddDate(0, 0, -imageDays).Format("2006-01-02"), c.today(), mapped)
	if im == nil {
		return nil
	}
	log, err := ledger.ReadImage(store.BookID(), im.Data)
	if err != nil {
		return nil
	}
	logs, err := store.LogsSince(im, func(name string) (int, []byte) {
		if lines, last := log.End(name); last != nil {
			return lines, last.Line()
		}
		return 0, nil
	})
	if err != nil || log.Extend(logs) != nil {
		return nil
	}
	return &reading{log: log, logs: logs, whole: im.Read()}
}

// keepImage keeps the image of a book that was just opened: of one read whole, and of one that got so much since that verifying it takes time.
func (b *book) keepImage(r *reading) {
	n, since := len(b.log.Entries()), 0
	for _, l := range r.logs {
		since += len(l.Lines)
	}
	if n >= keepAtLeast && (since == n || since > grown(n)) {
		b.store.KeepImage(programID(), r.whole, b.log.WriteImage)
	}
}
