package ledger

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Severity ranks findings.
type Severity uint8

// Error: the book does not verify. Warning: something a person should look at.
// Note: good to know.
const (
	Note Severity = iota + 1
	Warning
	Error
)

func (s Severity) String() string {
	switch s {
	case Error:
		return "error"
	case Warning:
		return "warning"
	}
	return "note"
}

// Codes of findings. They are stable.
const (
	CodeBrokenLine      = "broken-line"      // a line does not verify
	CodeUnverifiable    = "unverifiable"     // lines whose writer's key is nowhere
	CodeStrayLine       = "stray-line"       // an entry stands in another writer's log
	CodeOutOfOrder      = "out-of-order"     // a line does not continue the one above it
	CodeRepeatedLine    = "repeated-line"    // a line stands twice in a log
	CodeOtherBook       = "other-book"       // an entry of another book
	CodePrivateMissing  = "private-missing"  // a private part was taken out of a log
	CodeRefused         = "refused-entry"    // signed, but at odds with what it cites
	CodeMissingEntry    = "missing-entry"    // cited, but not here
	CodeFork            = "forked-log"       // a log goes on from one place twice
	CodeEmptyLog        = "empty-log"        // a log without lines
	CodeNoEffect        = "no-effect"        // an admit, stop or format that changes nothing
	CodeAfterStop       = "after-stop"       // entries beyond what a stop accepted
	CodeUnknownControl  = "unknown-control"  // a control entry that this version cannot read
	CodeStopTipMissing  = "stop-tip-missing" // a stop names an entry that is not here
	CodePendingTooLarge = "pending-limit"    // more from devices nobody admitted than is kept
)

// Finding is one thing that is wrong or worth knowing: where, and in plain
// words. Fields that do not apply are zero.
type Finding struct {
	Severity Severity
	Code     string
	Writer   Writer
	Seq      uint64
	Entry    ID
	Log      string // the log's name as the store gave it
	Line     int    // from 1
	Message  string
}

// String returns one line: where, what, code.
func (f Finding) String() string {
	var where []string
	if f.Log != "" {
		where = append(where, "log "+f.Log)
		if f.Line > 0 {
			where = append(where, fmt.Sprint("line ", f.Line))
		}
	} else if !f.Writer.IsZero() {
		where = append(where, "log "+f.Writer.String())
		if f.Seq > 0 {
			where = append(where, fmt.Sprint("entry ", f.Seq))
		}
	}
	if !f.Entry.IsZero() {
		where = append(where, "("+f.Entry.Short()+")")
	}
	place := strings.Join(where, " ")
	if place != "" {
		place += ": "
	}
	return fmt.Sprintf("%s: %s%s [%s]", f.Severity, place, f.Message, f.Code)
}

func (f Finding) compare(g Finding) int {
	return cmp.Or(
		strings.Compare(f.Log, g.Log),
		cmp.Compare(f.Line, g.Line),
		f.Writer.Compare(g.Writer),
		cmp.Compare(f.Seq, g.Seq),
		f.Entry.Compare(g.Entry),
		strings.Compare(f.Code, g.Code),
		strings.Compare(f.Message, g.Message),
		cmp.Compare(f.Severity, g.Severity),
	)
}

func sortFindings(findings []Finding) []Finding {
	slices.SortFunc(findings, Finding.compare)
	return slices.Compact(findings)
}
