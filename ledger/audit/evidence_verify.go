package audit

import (
	"fmt"

	"shedbook/ledger"
	"shedbook/rules/record"
)

// VerifyEvidence says whether the evidence is whole and what in it is odd: that
// no head is left out, every entry labelled for the machine is shown and is
// about it, and the stamps, those given in o among them, are met. All that Check
// says of a book stands in it too.
func VerifyEvidence(ev *Evidence, o Options) []Finding {
	findings, _ := ExamineEvidence(ev, o)
	return findings
}

// ExamineEvidence is VerifyEvidence and Summarize of what it found, each entry read once.
func ExamineEvidence(ev *Evidence, o Options) ([]Finding, Summary) {
	c := newCheck(ev.Book, o)
	c.run()
	v := &verification{c, ev, nil}
	for _, f := range c.findings {
		switch f.Code {
		case ledger.CodeMissingEntry:
			f.Severity, f.Code = ledger.Error, CodeLeftOut
			f.Message = fmt.Sprintf("entry %d of this log is not in the evidence, though others cite it: whether it is about the machine cannot be told", f.Seq)
		case CodeUnknownMachine:
			continue // said below, by what it means to a buyer
		}
		v.findings = append(v.findings, f)
	}
	v.complete(v.machine())
	v.stamped()
	found := sortFindings(v.findings)
	return found, c.summary(found)
}

type verification struct {
	*check
	ev       *Evidence
	findings []Finding
}

func (v *verification) say(e *ledger.Entry, severity ledger.Severity, code, format string, args ...any) {
	f := Finding{Severity: severity, Code: code, Message: fmt.Sprintf(format, args...)}
	if e != nil {
		f.Writer, f.Seq, f.Entry = e.Writer(), e.Seq(), e.ID()
	}
	v.findings = append(v.findings, f)
}

// machine holds the key to the entry that added the machine, and reports whether
// that is here at all.
func (v *verification) machine() bool {
	key, err := keyOf(v.ev.Book, v.ev.Machine)
	if err != nil {
		v.say(nil, ledger.Error, CodeNoMachine, "%v", err)
		return false
	}
	e := v.ev.Book.Entry(v.ev.Machine)
	switch {
	case key != v.ev.Key:
		v.say(e, ledger.Error, CodeNoMachine, "the key that the evidence gives is not the one the machine was added with")
	case v.status[v.at[e.ID()]] != ledger.Counts:
		v.say(e, ledger.Error, CodeNoMachine, "the entry that added the machine does not count (%s)", v.judged.Status(e))
	case !v.owner(e.Writer()):
		v.say(e, ledger.Error, CodeNoMachine, "the entry that added the machine is not by an owner")
	}
	return true
}

// complete works out every tag anew: what has the machine's must be shown, and
// be about the machine, where that is known.
func (v *verification) complete(known bool) {
	matches := make([]bool, len(v.entries))
	parallel(len(v.entries), func(i int) { matches[i] = v.entries[i].TagMatches(v.ev.Key) })
	heldBack, not := 0, v.tally()
	for i, e := range v.entries {
		switch {
		case matches[i] && !e.HasBody():
			v.say(e, ledger.Error, CodeWithheld, "an entry of this machine, recorded %s, is not shown", e.At().Format(timeForm))
			continue
		case e.Class() != ledger.Work && !e.HasBody():
			v.say(e, ledger.Error, CodeWithheld, "a %s entry, recorded %s, is not shown: these are never held back", e.Class(), e.At().Format(timeForm))
			continue
		case !e.HasBody():
			continue
		}
		if e.HasPrivate() && e.Private() == nil {
			heldBack++
		}
		if !matches[i] {
			continue
		}
		if v.status[i] != ledger.Counts {
			not.add(e)
		}
		if r, err := record.Decode(e.Kind(), e.Record()); err == nil && known && e.ID() != v.ev.Machine {
			if about := record.MachineOf(r); string(about) != v.ev.Machine.String() {
				v.say(e, ledger.Error, CodeTagMismatch, "%s entry is labelled for this machine, but is about another: it counts for nothing", article(e.Kind()))
			}
		}
	}
	for _, r := range not.runs() {
		v.say(r.first, ledger.Note, CodeNotCounted, "%s of this machine in this log %s not count (%s, the first of them)", entries(r.count), verb(r.count, "does", "do"), v.judged.Status(r.first))
	}
	if heldBack > 0 {
		v.say(nil, ledger.Note, CodeHeldBack, "the private parts of %s are held back: names, costs, words or papers; what is shown is not changed by that", entries(heldBack))
	}
}

// stamped says up to when the logs are proved whole, and by whom.
func (v *verification) stamped() {
	stamps := v.check.stamped()
	if len(stamps) == 0 {
		v.say(nil, ledger.Warning, CodeNoStamp, "no stamp is in the evidence: nothing shows that the logs were not cut before it was made")
		return
	}
	last := stamps[len(stamps)-1]
	outside := false
	for _, s := range last.Countersigns {
		outside = outside || !s.OfTheBook
	}
	if !outside {
		v.say(last.Entry, ledger.Warning, CodeOwnStamp, "the last stamp, of %s, is countersigned by nobody from outside the book: a stamp that only the seller signed proves nothing against the seller", last.Entry.At().Format(timeForm))
	}
	within := v.within(last.Text.Tips)
	after := v.tally()
	for i, e := range v.entries {
		if !within[i] && e.HasBody() && e.TagMatches(v.ev.Key) {
			after.add(e)
		}
	}
	for _, r := range after.runs() {
		v.say(r.first, ledger.Note, CodeAfterStamp, "%s of this machine in this log %s after the last stamp, of %s: that nothing was left out is proved up to the stamp only",
			entries(r.count), verb(r.count, "comes", "come"), last.Entry.At().Format(timeForm))
	}
}
