package audit

import (
	"fmt"

	"shedbook/ledger"
	"shedbook/rules/record"
)

// Evidence is what a file of evidence proved: every head in it leads to a
// signature that holds. What it does not show is held back, not lost.
// VerifyEvidence says whether it is whole.
type Evidence struct {
	Book    *ledger.Book      // of all heads; bodies where shown
	Machine ledger.ID         // the entry that added the machine
	Key     ledger.MachineKey // finds the machine's entries among the heads
}

// EvidenceOptions says what to hold back.
type EvidenceOptions struct {
	// WithoutNames holds back every private part that has a name: of people,
	// devices, shops, dealers, buyers, and of a file that was imported. Free words in the same part go with it.
	WithoutNames bool
	// WithoutCosts holds back every private part that has an amount of money. Both
	// hold back those that name papers: a photo or an invoice may show either.
	WithoutCosts bool
	// WithoutWords holds back the private part of everything but control
	// entries, whatever it has: names cannot be found in free words, so who must
	// be sure that none is shown leaves all words out.
	WithoutWords bool
}

// EvidenceInfo is what went into a file of evidence.
type EvidenceInfo struct {
	Entries  int   // all heads
	Shown    int   // of these, with their bodies
	Machine  int   // of these, labelled for the machine
	HeldBack int   // private parts held back
	Bytes    int64 // of the file
}

// Limits of a file of evidence, as FORMAT.md section "Limits" lists them.
const (
	MaxEvidenceLine    = ledger.MaxLine + 1024 // bytes of a line, its LF included
	MaxEvidenceEntries = 1 << 22
)

// Codes of what VerifyEvidence and EvidenceError find, beside those of Check.
const (
	CodeEvidenceTruncated = "evidence-truncated" // the file ends too early
	CodeEvidenceDamaged   = "evidence-damaged"   // not a file of evidence, or not as one is written
	CodeEvidenceChanged   = "evidence-changed"   // the heads do not lead to the signatures
	CodeWithheld          = "withheld"           // an entry of the machine is not shown
	CodeLeftOut           = "left-out"           // a head is not there
	CodeNoMachine         = "no-machine"         // the entry that added the machine is not shown or not valid
	CodeHeldBack          = "held-back"          // private parts are not shown
	CodeNotCounted        = "not-counted"        // entries of the machine that do not count
	CodeNoStamp           = "no-stamp"           // nothing says up to when the logs are whole
	CodeOwnStamp          = "own-stamp"          // nobody from outside countersigned
	CodeAfterStamp        = "after-stamp"        // entries of the machine after the last stamp
)

// EvidenceError says why a file is no evidence: nothing in it was believed.
type EvidenceError struct {
	Code    string
	Line    int // of the file once unpacked, from 1; 0 where it is of no line
	Message string
}

func (e *EvidenceError) Error() string {
	if e.Line == 0 {
		return "the evidence: " + e.Message
	}
	return fmt.Sprintf("line %d of the evidence: %s", e.Line, e.Message)
}

// Finding is the error as a finding.
func (e *EvidenceError) Finding() Finding {
	return Finding{Severity: ledger.Error, Code: e.Code, Line: e.Line, Message: e.Error()}
}

// Entries returns the entries labelled for the machine, by (depth, id), as far
// as they are shown.
func (ev *Evidence) Entries() []*ledger.Entry {
	var out []*ledger.Entry
	for _, e := range ev.Book.Entries() {
		if e.HasBody() && e.TagMatches(ev.Key) {
			out = append(out, e)
		}
	}
	return out
}

// Info counts what is in the evidence; Bytes is not known.
func (ev *Evidence) Info() EvidenceInfo {
	var info EvidenceInfo
	for _, e := range ev.Book.Entries() {
		info.count(e, ev.Key, e.HasBody(), e.HasBody() && e.HasPrivate() && e.Private() == nil)
	}
	return info
}

func (i *EvidenceInfo) count(e *ledger.Entry, key ledger.MachineKey, shown, heldBack bool) {
	i.Entries++
	if shown {
		i.Shown++
		if e.TagMatches(key) {
			i.Machine++
		}
	}
	if heldBack {
		i.HeldBack++
	}
}

// Visible says in plain words what anyone who has the file can see beyond the
// machine itself; it is the same for every file.
func (*Evidence) Visible() []string {
	return []string{
		"every entry about this machine, but for private parts held back",
		"the whole book's farms, yards, seasons and schedules, and who took part with which device",
		"of all other entries: how many there are, when each was recorded and by which device; not what they say, nor which of them belong together",
	}
}

// Unproved says in plain words what no evidence can show.
func (*Evidence) Unproved() []string {
	return []string{
		"that work was written down at all, or a measurement true",
		"that a clock was right",
		"that the machine has no other identity in this book or another",
		"that no entry was recorded after the last stamp and left out, or before it and never seen by another device",
	}
}

// holdsBack reports whether o keeps e's private part from being shown.
func (o EvidenceOptions) holdsBack(e *ledger.Entry) bool {
	if e.Private() == nil || o == (EvidenceOptions{}) {
		return false
	}
	if e.Class() == ledger.Control {
		return o.WithoutNames
	}
	if o.WithoutWords {
		return true
	}
	p, err := record.DecodePrivate(e.Private())
	if err != nil { // whatever it holds
		return true
	}
	if len(p.Papers) > 0 && (o.WithoutNames || o.WithoutCosts) {
		return true // a photo or invoice may show either
	}
	return o.WithoutNames && (p.Name != "" || p.Who != "" || p.Entered != nil || p.Imported != nil && p.Imported.Name != "") || o.WithoutCosts && len(p.Costs) > 0
}
