package audit

import (
	"time"

	"shedbook/ledger"
)

// Summary is what an audit comes to.
type Summary struct {
	Book    ledger.ID
	Title   string
	Logs    int
	Devices int // admitted, the recovery key's included
	Entries int // held, counted or not
	Counts  int
	Pending int
	Waiting int
	Stopped int
	First   time.Time // earliest and latest `at` of entries that count
	Last    time.Time

	Work int // entries that count and say when work was done
	Late int // of these, recorded more than LateAfter after it

	Stamps []Stamped // that count, by (depth, id)

	Errors, Warnings, Notes int
}

// Sound reports that nothing was found that is an error.
func (s Summary) Sound() bool { return s.Errors == 0 }

// Stamped is a stamp of the book and who vouches for it.
type Stamped struct {
	Entry        *ledger.Entry
	Text         StampText
	Countersigns []Countersigned
	After        int // entries that count and are not in it
}

// Countersigned is a countersignature that holds.
type Countersigned struct {
	Entry *ledger.Entry
	By    ledger.Countersigner
	// OfTheBook: the key is that of a device of this book, so it adds nothing.
	OfTheBook bool
}

// Summarize counts what is in the book and in the findings that Check gave.
func Summarize(book *ledger.Book, findings []Finding) Summary {
	c := newCheck(book, Options{})
	c.readAll()
	return c.summary(findings)
}

func (c *check) summary(findings []Finding) Summary {
	s := Summary{Book: c.book.ID(), Title: c.book.Title(), Logs: len(c.book.Writers()), Entries: len(c.entries)}
	for _, d := range c.devices {
		if !d.Pending {
			s.Devices++
		}
	}
	for i, e := range c.entries {
		switch c.status[i] {
		case ledger.Counts:
			s.Counts++
			if s.First.IsZero() || e.At().Before(s.First) {
				s.First = e.At()
			}
			if e.At().After(s.Last) {
				s.Last = e.At()
			}
		case ledger.Pending:
			s.Pending++
		case ledger.Waiting:
			s.Waiting++
		case ledger.Stopped:
			s.Stopped++
		}
		if done := c.facts[i].done; done != "" {
			s.Work++
			if lateBy(e, done) > LateAfter {
				s.Late++
			}
		}
	}
	s.Stamps = c.stamped()
	s.Count(findings)
	return s
}

// Count makes findings the ones that the summary counts.
func (s *Summary) Count(findings []Finding) {
	s.Errors, s.Warnings, s.Notes = 0, 0, 0
	for _, f := range findings {
		switch f.Severity {
		case ledger.Error:
			s.Errors++
		case ledger.Warning:
			s.Warnings++
		default:
			s.Notes++
		}
	}
}

// stamped lists the stamps that count, with the countersignatures of them that
// hold and count.
func (c *check) stamped() []Stamped {
	var out []Stamped
	index := make(map[ledger.ID]int)
	for i, e := range c.entries {
		if e.Class() != ledger.Control || c.status[i] != ledger.Counts {
			continue
		}
		switch e.Kind() {
		case ledger.KindStamp:
			text, err := StampOf(e)
			if err != nil {
				continue
			}
			index[e.ID()] = len(out)
			out = append(out, Stamped{Entry: e, Text: text, After: c.after(e, text)})
		case ledger.KindCountersign:
			record, err := ledger.DecodeControl(e)
			if err != nil {
				continue
			}
			sign := record.(*ledger.Countersign)
			j, ok := index[sign.Stamp]
			if !ok {
				continue
			}
			if by, err := ledger.CheckCountersign(out[j].Entry, sign.Armor); err == nil {
				out[j].Countersigns = append(out[j].Countersigns, Countersigned{e, by, c.known(by)})
			}
		}
	}
	return out
}

// known reports whether a countersigner's key is that of a device of the book.
func (c *check) known(by ledger.Countersigner) bool {
	for _, d := range c.devices {
		if !d.Key.IsZero() && ledger.SSHFingerprint(d.Key.Ed25519()) == by.Fingerprint {
			return true
		}
	}
	return false
}

// after counts the entries that count and that the stamp does not hold, the
// stamp's own left out.
func (c *check) after(stamp *ledger.Entry, s StampText) int {
	within := c.within(s.Tips)
	n := 0
	for i, e := range c.entries {
		if c.status[i] == ledger.Counts && !within[i] && e != stamp {
			n++
		}
	}
	return n
}

// within marks the entries that the tips name or continue, like c.entries.
func (c *check) within(tips []ledger.Ref) []bool {
	out := make([]bool, len(c.entries))
	for _, tip := range tips {
		j, held := c.at[tip.ID]
		for held && j >= 0 && !out[j] {
			out[j] = true
			j = c.prev[j]
		}
	}
	return out
}
