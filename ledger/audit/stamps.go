package audit

import (
	"bytes"
	"fmt"
	"strings"

	"shedbook/ledger"
)

// stamps holds the book to its own stamps that count: what they name must be
// here, what is not in them must not be dated before them, and what is said to
// countersign them must.
func (c *check) stamps() {
	for i, e := range c.entries {
		if e.Class() != ledger.Control || c.status[i] != ledger.Counts {
			continue
		}
		decoded, err := ledger.DecodeControl(e)
		if err != nil {
			continue // reported by the judgement
		}
		switch r := decoded.(type) {
		case *ledger.Stamp:
			c.stamp(e, r)
		case *ledger.Countersign:
			c.countersign(e, r)
		}
	}
}

func (c *check) stamp(e *ledger.Entry, s *ledger.Stamp) {
	for _, tip := range s.Tips {
		if j, held := c.at[tip.ID]; held && c.entries[j].Ref() == tip {
			continue
		}
		c.say(e, ledger.Error, CodeStampUnmet, "the stamp of %s holds entry %d of log %s as %s, which is not here: it was lost or taken out; sync with whoever may have it",
			e.At().Format(timeForm), tip.Seq, tip.Writer, tip.ID.Short())
	}
	c.beforeStamp(e, s)
}

// beforeStamp reports entries that say they were recorded before the stamp, of
// logs that the stamp knows further back: either they were recorded out of reach
// of it, or dated back.
func (c *check) beforeStamp(stamp *ledger.Entry, s *ledger.Stamp) {
	within := c.within(s.Tips)
	known := make(map[ledger.Writer]bool)
	for _, tip := range s.Tips {
		known[tip.Writer] = true
	}
	t := c.tally()
	for i, e := range c.entries {
		if c.status[i] != ledger.Counts || !known[e.Writer()] || within[i] || e.Writer() == stamp.Writer() {
			continue
		}
		if stamp.At().Sub(e.At()) > ClockTolerance {
			t.add(e)
		}
	}
	for _, r := range t.runs() {
		c.say(r.first, ledger.Note, CodeBeforeStamp, "%s of this log %s dated before the stamp %s of %s, which does not hold %s: recorded where that device could not know, or dated back",
			entries(r.count), verb(r.count, "is", "are"), stamp.ID().Short(), stamp.At().Format(timeForm), verb(r.count, "it", "them"))
	}
}

func (c *check) countersign(e *ledger.Entry, r *ledger.Countersign) {
	j, held := c.at[r.Stamp]
	if !held {
		c.say(e, ledger.Warning, CodeCountersign, "it countersigns stamp %s, which is not here", r.Stamp.Short())
		return
	}
	if _, err := ledger.CheckCountersign(c.entries[j], r.Armor); err != nil {
		c.say(e, ledger.Warning, CodeCountersign, "the countersignature of stamp %s does not hold: %v", r.Stamp.Short(), err)
	}
}

// prints compares printed stamps with the book.
func (c *check) prints() {
	for _, s := range c.o.Stamps {
		c.print(s)
	}
}

func (c *check) print(s StampText) {
	report := func(ref ledger.Ref, severity ledger.Severity, code, format string, args ...any) {
		c.findings = append(c.findings, Finding{
			Severity: severity, Code: code, Writer: ref.Writer, Seq: ref.Seq, Entry: ref.ID,
			Message: "the printed stamp " + s.Stamp.Short() + " of " + s.At.Format(timeForm) + " " + fmt.Sprintf(format, args...),
		})
	}
	if s.Book != c.book.ID() {
		report(ledger.Ref{}, ledger.Error, CodeStampOtherBook, "is of book %s, this is book %s", s.Book.Short(), c.book.ID().Short())
		return
	}
	if e := c.book.Entry(s.Stamp); e == nil {
		report(ledger.Ref{}, ledger.Warning, CodeStampMissing, "is not in this book: sync with the device that made it")
	} else if text, err := ledger.StampText(e); err != nil || !bytes.Equal(text, s.Text()) {
		report(e.Ref(), ledger.Error, CodeStampAltered, "says something else than the entry it names")
	}
	for _, tip := range s.Tips {
		if e := c.book.Entry(tip.ID); e != nil {
			if e.Ref() != tip {
				report(tip, ledger.Error, CodeStampAltered, "has entry %s as entry %d of log %s, where it does not stand", tip.ID.Short(), tip.Seq, tip.Writer)
			}
			continue
		}
		last, here := c.place(tip)
		switch {
		case len(here) > 0:
			report(tip, ledger.Error, CodeSplitView,
				"has entry %d of log %s as %s, here it is %s: the key of that log signed both; who holds it, or a copy of it, has shown two histories; keep the print, it is the proof",
				tip.Seq, tip.Writer, tip.ID.Short(), strings.Join(here, " and "))
		case last == 0:
			report(tip, ledger.Error, CodeLogMissing, "has entry %d of log %s, of which nothing is here: sync with whoever may have it", tip.Seq, tip.Writer)
		case last > tip.Seq:
			report(tip, ledger.Error, CodeRewound, "has entry %d of log %s, which is not here, though entry %d is: it was lost or taken out; sync with whoever may have it", tip.Seq, tip.Writer, last)
		default:
			report(tip, ledger.Error, CodeRewound, "has entry %d of log %s, here that log ends at entry %d: later entries were lost or taken out; sync with whoever may have them", tip.Seq, tip.Writer, last)
		}
	}
}

// place returns the greatest seq held of the ref's log, and the ids that stand
// at the ref's own place.
func (c *check) place(ref ledger.Ref) (last uint64, here []string) {
	for _, e := range c.entries {
		if e.Writer() != ref.Writer {
			continue
		}
		last = max(last, e.Seq())
		if e.Seq() == ref.Seq {
			here = append(here, e.ID().Short())
		}
	}
	return last, here
}
