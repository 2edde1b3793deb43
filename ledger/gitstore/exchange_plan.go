package gitstore

import (
	"bytes"
	"context"
	"fmt"
	"slices"

	"shedbook/ledger"
)

// plan is what this book's logs would be with what came.
type plan struct {
	logs map[string]*planLog
	book *ledger.Book // they together, verified
}

// planLog is one log of a plan.
type planLog struct {
	name   string
	lines  [][]byte
	origin *thereLog // where its further lines come from; nil: nothing is new
	held   int       // lines that lie here under this name
	common int       // lines that lie here at all
	beside string    // the log beside which it goes
}

// grown returns the logs with something new, in name order.
func (p *plan) grown() []*planLog {
	var all []*planLog
	for _, name := range sortedNames(p.logs) {
		if l := p.logs[name]; l.origin != nil {
			all = append(all, l)
		}
	}
	return all
}

// arrange lays the logs of the target that were not refused over those here.
func (x *exchange) arrange() *plan {
	p := &plan{logs: map[string]*planLog{}}
	for name, lines := range x.lines {
		p.logs[name] = &planLog{name: name, lines: lines, held: len(lines), common: len(lines)}
	}
	for _, name := range sortedNames(x.there) {
		if th := x.there[name]; th.lines != nil && th.why == "" {
			p.place(th)
		}
	}
	return p
}

// place finds where a log of the target belongs: it extends one of ours, is
// within one, or goes beside.
func (p *plan) place(th *thereLog) {
	var longest *planLog // of those that th extends
	for _, name := range sameWriter(p.logs, th.name) {
		l := p.logs[name]
		common := commonLines(l.lines, th.lines)
		switch {
		case common == len(th.lines):
			return
		case common == len(l.lines) && (longest == nil || len(l.lines) > len(longest.lines) || len(l.lines) == len(longest.lines) && name == th.name):
			longest = l
		}
	}
	if longest != nil {
		longest.lines, longest.origin = th.lines, th
		return
	}
	plain := th.name[:32]
	name := besideName(plain, th.lines, func(name string) ([][]byte, bool) {
		l, ok := p.logs[name]
		if !ok {
			return nil, false
		}
		return l.lines, true
	})
	n := &planLog{name: name, lines: th.lines, origin: th}
	for _, other := range sameWriter(p.logs, name) { // what is new of it is what no other has
		n.common = max(n.common, commonLines(p.logs[other].lines[:p.logs[other].held], th.lines))
	}
	if name != plain {
		n.beside = plain
	}
	p.logs[name] = n
}

// besideName returns the name for a chain where others of the same writer lie:
// the plain one if it is free, else that with the first 16 digits of the id of
// the first entry in which it differs from the one there.
func besideName(plain string, lines [][]byte, there func(name string) ([][]byte, bool)) string {
	name := plain
	for {
		other, taken := there(name)
		if !taken {
			return name
		}
		common := commonLines(other, lines)
		at := min(common, len(lines)-1)
		head, err := headOf(lines[at])
		if err != nil { // it was verified
			return name
		}
		next := plain + "." + head.id.String()[:16]
		if next == name { // the other has less than that entry
			return name
		}
		name = next
	}
}

// commonLines returns how many entries two chains have in common from their
// beginning. The private part of an entry may be held back in one of them.
func commonLines(a, b [][]byte) int {
	n := min(len(a), len(b))
	for i := range n {
		if bytes.Equal(a[i], b[i]) {
			continue
		}
		p, err := headOf(a[i])
		q, err2 := headOf(b[i])
		if err != nil || err2 != nil || p.id != q.id {
			return i
		}
	}
	return n
}

// verify loads this book together with what came, and refuses what is wrong
// until nothing is. No entry here is ever given up for one that came.
func (x *exchange) verify(ctx context.Context) (*plan, error) {
	for {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		p := x.arrange()
		grown := p.grown()
		if len(grown) == 0 {
			return p, nil
		}
		var logs []ledger.Log
		for _, name := range sortedNames(p.logs) {
			logs = append(logs, x.checked(p.logs[name]))
		}
		book, err := ledger.LoadPinned(x.book, logs)
		if err != nil {
			return nil, noExchange(x.t.name(), err, "what is there cannot be read together: %v", err)
		}
		p.book = book
		if !x.refuseWrong(p) && !x.refusePending(p) {
			x.count(p)
			return p, nil
		}
	}
}

// checked hands a log to ledger.Load. Signatures that were checked once, when
// its lines were taken in or read just now, are not checked again.
func (x *exchange) checked(l *planLog) ledger.Log {
	log := ledger.Log{Name: l.name, Lines: l.lines}
	if h := x.here[l.name]; h != nil && h.seen {
		log.Checked = h.id
	}
	if l.origin != nil && (l.held == 0 || !log.Checked.IsZero()) && l.held == l.common {
		if head, err := headOf(l.lines[len(l.lines)-1]); err == nil {
			log.Checked = head.id
		}
	}
	return log
}

// refuseWrong refuses logs whose new lines have errors.
func (x *exchange) refuseWrong(p *plan) bool {
	wrong := map[*thereLog]bool{}
	for _, f := range p.book.Findings() {
		l := p.logs[f.Log]
		if f.Severity != ledger.Error || l == nil || l.origin == nil || f.Line <= l.common {
			continue
		}
		if !wrong[l.origin] {
			wrong[l.origin] = true
			x.refuse(l.origin, fmt.Sprintf("line %d: %s", f.Line, f.Message))
		}
	}
	return len(wrong) > 0
}

// refusePending keeps the logs of devices nobody admitted within the limits of
// ledger/FORMAT.md: those that are here already stay.
func (x *exchange) refusePending(p *plan) bool {
	judgement := p.book.Judge()
	pending := func(l *planLog) bool {
		w, err := ledger.ParseWriter(l.name[:32])
		if err != nil {
			return false
		}
		d, ok := judgement.Device(w)
		return ok && d.Pending
	}
	logs := 0
	for _, name := range sortedNames(x.lines) {
		if pending(p.logs[name]) {
			logs++
		}
	}
	refused := false
	for _, l := range p.grown() {
		if !pending(l) {
			continue
		}
		size := 0
		for _, line := range l.lines {
			size += len(line)
		}
		if l.held == 0 {
			logs++
		}
		switch {
		case size > ledger.MaxPendingBytes:
			x.refuse(l.origin, fmt.Sprintf("nobody here has admitted this device yet, and its log has more than %d bytes", ledger.MaxPendingBytes))
		case l.held == 0 && logs > ledger.MaxPendingLogs:
			x.refuse(l.origin, fmt.Sprintf("nobody here has admitted this device yet, and more than %d such logs are not kept", ledger.MaxPendingLogs))
		default:
			continue
		}
		refused = true
	}
	return refused
}

// count counts the entries that wait for others, and those of devices that
// nobody admitted.
func (x *exchange) count(p *plan) {
	judgement := p.book.Judge()
	waiting, pending := map[ledger.Writer]uint64{}, map[ledger.Writer]uint64{}
	for _, e := range p.book.Entries() {
		switch judgement.Status(e) {
		case ledger.Waiting:
			waiting[e.Writer()]++
		case ledger.Pending:
			pending[e.Writer()]++
		}
	}
	list := func(counts map[ledger.Writer]uint64) []LogMove {
		var all []LogMove
		for w, n := range counts {
			all = append(all, LogMove{Log: w.String(), Writer: w, To: n})
		}
		slices.SortFunc(all, func(a, b LogMove) int { return a.Writer.Compare(b.Writer) })
		return all
	}
	x.report.Waiting, x.report.Pending = list(waiting), list(pending)
}
