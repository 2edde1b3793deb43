// Package audit looks at a whole book as a stranger would: it trusts no cache
// and no earlier verdict, and says what is wrong, late, odd or missing as
// findings with a fixed severity, code and wording. It also makes what is handed
// to others so that they can look for themselves: evidence about one machine for
// its buyer (WriteEvidence, ReadEvidence, VerifyEvidence; FORMAT.md section
// "Evidence") and a folder that stock OpenSSH checks (Stock).
//
// Invariants:
//
//   - The same entries and options give the same findings in the same order.
//   - An error means that something signed was changed, lost, mislabelled or
//     shown differently to others; a warning that a person should look; a note
//     is good to know. Only errors make a book not verify.
//   - Nothing that is passed over goes unsaid: what counts for nothing, cannot be
//     read or is not here is a finding.
//   - An Evidence exists only if every head in its file leads to a signature
//     that holds.
//
// It reads no file and asks no clock. It knows records one by one (package
// record) but does not replay them: whether a swap was possible is for package
// rules. It cannot tell whether a measurement was true, a clock right, or
// whether an entry that nobody else ever saw existed.
package audit

import (
	"cmp"
	"fmt"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"shedbook/ledger"
)

// Finding is one thing that is wrong or worth knowing, as package ledger has it.
type Finding = ledger.Finding

// Codes of the findings made here; those of package ledger come beside them.
// They are stable.
const (
	CodeNotChecked = "not-checked" // the book was loaded with signatures taken on trust
	CodePending    = "pending-log" // entries of a device that nobody has admitted
	CodeWaiting    = "waiting"     // entries that rest on what is not here

	CodeTagMismatch    = "tag-mismatch"    // the body is not about the machine of its label
	CodeWrongClass     = "wrong-class"     // work written without a label, or the other way round
	CodeUnreadable     = "unreadable"      // a record or private part that breaks its form
	CodeNewer          = "newer"           // newer shedbook needed
	CodeNoRight        = "no-right"        // written by someone who may not
	CodeUnknownMachine = "unknown-machine" // about a machine that nobody added
	CodeSharedKey      = "shared-key"      // two machines with one key

	CodeUnknownEntry   = "unknown-entry"   // corrects or strikes what is not here
	CodeCorrectControl = "correct-control" // corrects or strikes a control entry
	CodeNotOriginal    = "not-original"    // corrects or strikes a correction or strike
	CodeNotSame        = "not-same"        // corrects to another kind, machine or identity
	CodeStruckTwice    = "struck-twice"    // strikes what is struck
	CodeCorrectStruck  = "correct-struck"  // corrects what is struck

	CodeFuture      = "future-dated"   // recorded later than it is now
	CodeBackDated   = "back-dated"     // recorded before what it rests on
	CodeBeforeStamp = "before-stamp"   // dated before a stamp that does not hold it
	CodeDoneFuture  = "done-in-future" // the work was done after it was recorded
	CodeLate        = "late-entries"   // recorded long after the work

	CodeStampUnmet     = "stamp-unmet"     // a stamp of the book names what is not here
	CodeStampMissing   = "stamp-missing"   // a printed stamp's own entry is not here
	CodeStampAltered   = "stamp-altered"   // the print differs from the entry it names
	CodeStampOtherBook = "stamp-of-other"  // the print is of another book
	CodeRewound        = "rewound"         // a log ends before what was printed
	CodeLogMissing     = "log-missing"     // a log that was printed is not here at all
	CodeSplitView      = "split-view"      // at a printed place stands another entry
	CodeCountersign    = "bad-countersign" // a countersignature that does not hold
)

// ClockTolerance is how far clocks may disagree before it is a finding: a
// battery runs flat, a time zone is set wrong. LateAfter is how long after the
// work an entry is called late.
const (
	ClockTolerance = 24 * time.Hour
	LateAfter      = 7 * 24 * time.Hour
)

const timeForm = "2006-01-02T15:04:05Z"

// Options says what to hold a book against.
type Options struct {
	// Now is the auditor's clock; zero asks for nothing dated in the future.
	Now time.Time
	// Stamps are printed stamps from elsewhere (see ParseStampText).
	Stamps []StampText
}

// Check looks at everything in the book. Load it for this with no Log.Checked:
// what was taken on trust is a finding. Findings stand errors first, then
// warnings, then notes, each by log and line.
func Check(book *ledger.Book, o Options) []Finding {
	findings, _ := Examine(book, o)
	return findings
}

// Examine is Check and Summarize of what it found, each entry read once.
func Examine(book *ledger.Book, o Options) ([]Finding, Summary) {
	c := newCheck(book, o)
	c.run()
	found := sortFindings(c.findings)
	return found, c.summary(found)
}

func (c *check) run() {
	book := c.book
	c.findings = slices.Concat(book.Findings(), c.judged.Findings())
	if n := book.Relied(); n > 0 {
		c.findings = append(c.findings, Finding{Severity: ledger.Error, Code: CodeNotChecked,
			Message: fmt.Sprintf("the signatures of %d entries were taken on trust: an audit checks every one", n)})
	}
	c.statuses()
	c.records()
	c.amendments()
	c.clocks()
	c.stamps()
	c.prints()
}

// check is one audit on its way.
type check struct {
	book     *ledger.Book
	judged   *ledger.Judgement
	o        Options
	entries  []*ledger.Entry
	status   []ledger.Status // like entries
	facts    []fact          // like entries
	prev     []int           // of the entry each continues, -1 where that is not here
	at       map[ledger.ID]int
	devices  map[ledger.Writer]ledger.Device
	findings []Finding
}

func newCheck(book *ledger.Book, o Options) *check {
	c := &check{book: book, judged: book.Judge(), o: o, entries: book.Entries()}
	c.devices = make(map[ledger.Writer]ledger.Device)
	for _, d := range c.judged.Devices() {
		c.devices[d.Writer] = d
	}
	c.status = c.judged.Statuses()
	c.at = make(map[ledger.ID]int, len(c.entries))
	c.prev = make([]int, len(c.entries))
	last := make(map[ledger.Writer]int)
	for i, e := range c.entries {
		c.prev[i] = -1
		if j, ok := last[e.Writer()]; ok && c.entries[j].ID() == e.Prev() {
			c.prev[i] = j
		} else if j, ok := c.at[e.Prev()]; ok {
			c.prev[i] = j
		}
		last[e.Writer()] = i
		c.at[e.ID()] = i
	}
	return c
}

func (c *check) say(e *ledger.Entry, severity ledger.Severity, code, format string, args ...any) {
	log, line := c.book.Place(e)
	c.findings = append(c.findings, Finding{
		Severity: severity, Code: code, Writer: e.Writer(), Seq: e.Seq(), Entry: e.ID(),
		Log: log, Line: line, Message: fmt.Sprintf(format, args...),
	})
}

// statuses reports what is here and counts for nothing yet, once for each log.
// What a stop excludes, and what is missing, package ledger reports.
func (c *check) statuses() {
	pending, waiting := c.tally(), c.tally()
	for i, e := range c.entries {
		switch c.status[i] {
		case ledger.Pending:
			pending.add(e)
		case ledger.Waiting:
			waiting.add(e)
		}
	}
	for _, r := range pending.runs() {
		c.say(r.first, ledger.Note, CodePending, "%s of a device that no owner has admitted: kept, and %s for nothing until one does", entries(r.count), counts(r.count))
	}
	for _, r := range waiting.runs() {
		c.say(r.first, ledger.Warning, CodeWaiting, "%s %s for others that are not here, and %s for nothing until they come: sync with whoever may have them, or let an owner stop the log they are missing from",
			entries(r.count), verb(r.count, "waits", "wait"), counts(r.count))
	}
}

func entries(n int) string { return fmt.Sprintf("%d %s", n, verb(n, "entry", "entries")) }
func counts(n int) string  { return verb(n, "counts", "count") }
func verb(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

// tally gathers entries of one sort by log, so that a thousand alike are one
// finding.
type tally struct {
	byWriter map[ledger.Writer]*tallied
}

type tallied struct {
	first *ledger.Entry
	count int
}

func (c *check) tally() *tally { return &tally{make(map[ledger.Writer]*tallied)} }

// add takes e; entries come in the book's order.
func (t *tally) add(e *ledger.Entry) {
	r := t.byWriter[e.Writer()]
	if r == nil {
		r = &tallied{first: e}
		t.byWriter[e.Writer()] = r
	}
	r.count++
}

func (t *tally) runs() []*tallied {
	var out []*tallied
	for _, r := range t.byWriter {
		out = append(out, r)
	}
	slices.SortFunc(out, func(x, y *tallied) int { return x.first.Compare(y.first) })
	return out
}

// sortFindings puts the worst first; within a severity by place, then by what
// is said.
func sortFindings(findings []Finding) []Finding {
	slices.SortFunc(findings, func(f, g Finding) int {
		return cmp.Or(
			cmp.Compare(g.Severity, f.Severity),
			strings.Compare(f.Log, g.Log),
			cmp.Compare(f.Line, g.Line),
			f.Writer.Compare(g.Writer),
			cmp.Compare(f.Seq, g.Seq),
			f.Entry.Compare(g.Entry),
			strings.Compare(f.Code, g.Code),
			strings.Compare(f.Message, g.Message),
		)
	})
	return slices.Compact(findings)
}

// parallel calls f for 0 to n-1 on all cores, in no order.
func parallel(n int, f func(i int)) {
	const chunk = 128
	var next atomic.Int64
	var wait sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), n/chunk+1) {
		wait.Go(func() {
			for {
				start := int(next.Add(chunk)) - chunk
				if start >= n {
					return
				}
				for i := start; i < min(start+chunk, n); i++ {
					f(i)
				}
			}
		})
	}
	wait.Wait()
}
