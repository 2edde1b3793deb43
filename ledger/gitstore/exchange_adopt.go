package gitstore

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/go-git/go-git/v5/plumbing"

	"shedbook/ledger"
)

// adopt records what verified, in one step. No object of the target is taken
// over: each run is written anew from its verified lines, and comes out as the
// same commit, unless someone has written the log's commits otherwise. Then the
// same entries lie here under commits of our own.
func (x *exchange) adopt(p *plan) error {
	grown := p.grown()
	if len(grown) > 0 {
		x.progress("recording", 0, 0)
		err := x.s.Bulk(func(tx *Tx) error {
			for _, l := range grown {
				if err := x.adoptLog(tx, p, l); err != nil {
					return err
				}
			}
			return nil
		})
		if err != nil {
			return err
		}
		for _, l := range grown {
			w, _ := ledger.ParseWriter(l.name[:32]) // checked with the log's name
			x.report.Came = append(x.report.Came, LogMove{Log: l.name, Writer: w, From: uint64(l.common), To: uint64(len(l.lines))})
			if l.beside != "" && l.held == 0 {
				x.report.Forks = append(x.report.Forks, Fork{Writer: w, Log: l.beside, Beside: l.name, At: uint64(l.common) + 1})
			}
		}
		x.report.Book = p.book
		x.lines = nil
		if err := x.readHere(); err != nil {
			return err
		}
	}
	for _, name := range sortedNames(x.there) {
		th := x.there[name]
		if th.lines == nil || th.why != "" {
			continue
		}
		head, err := headOf(th.lines[len(th.lines)-1])
		if err != nil {
			return err
		}
		if err := x.settle(th, uint64(len(th.lines)), head.id); err != nil {
			return err
		}
	}
	return nil
}

// adoptLog appends the new lines of one log, run by run.
func (x *exchange) adoptLog(tx *Tx, p *plan, l *planLog) error {
	t, err := tx.tip(l.name)
	if err != nil {
		return fmt.Errorf("cannot read the end of the log of %s: %w", l.name, err)
	}
	if t.seq != uint64(l.held) {
		return fmt.Errorf("the log of %s was written to while the exchange went on; sync again", l.name)
	}
	have := x.papersThere(p, l)
	for _, end := range runEnds(l.origin, t.seq) {
		papers, err := have.upTo(t, l.lines, end)
		if err != nil {
			return err
		}
		next, objects, err := extendTo(t, l.lines, end, papers)
		if err != nil {
			return err
		}
		if err := tx.bulk.add(tx, t, next, l.lines[t.seq:end], objects); err != nil {
			return err
		}
		t = next
	}
	if t.seq == uint64(len(l.lines)) {
		return nil
	}
	papers, err := have.upTo(t, l.lines, uint64(len(l.lines)))
	if err != nil {
		return err
	}
	next, objects, err := extendTo(t, l.lines, uint64(len(l.lines)), papers)
	if err != nil {
		return err
	}
	return tx.bulk.add(tx, t, next, l.lines[t.seq:], objects)
}

// extendTo makes one run of the lines from t's end to entry seq.
func extendTo(t *tip, lines [][]byte, seq uint64, papers []paper) (*tip, []object, error) {
	head, err := headOf(lines[seq-1])
	if err != nil {
		return nil, nil, err
	}
	return t.extend(lines[t.seq:seq], head.at, papers)
}

// runEnds reads after which entries past low the runs of a log of the target
// ended, as its commits say. It is a hint: nil if they make no sense.
func runEnds(th *thereLog, low uint64) []uint64 {
	total := uint64(len(th.lines))
	var ends []uint64
	last := total + 1
	for at := th.commit; !at.IsZero(); {
		raw, err := th.from.kind(plumbing.CommitObject, at)
		if err != nil {
			return nil
		}
		c, err := parseCommit(raw)
		if err != nil {
			return nil
		}
		seq, ok := lastEntry(raw)
		if !ok || seq >= last {
			return nil
		}
		if seq <= low {
			break
		}
		ends = append(ends, seq)
		at, last = c.parent, seq
	}
	if len(ends) == 0 || ends[0] != total {
		return nil
	}
	slices.Reverse(ends)
	return ends
}

// lastEntry reads the number of a run's last entry from its commit.
func lastEntry(commit []byte) (uint64, bool) {
	_, message, ok := bytes.Cut(commit, []byte("\n\n"))
	if !ok {
		return 0, false
	}
	text := strings.TrimSuffix(string(message), "\n")
	number, ok := strings.CutPrefix(text, "entry ")
	if !ok {
		if _, number, ok = strings.Cut(text, "-"); !ok {
			return 0, false
		}
	}
	n, err := strconv.ParseUint(number, 10, 64)
	return n, err == nil && n > 0
}

// findBook learns which book a target has, before there is one here.
func (x *exchange) findBook(ctx context.Context) error {
	l, err := x.t.list(ctx)
	if err != nil {
		return err
	}
	x.report.Refused = append(x.report.Refused, l.refused...)
	x.shown = l.shown
	x.there = map[string]*thereLog{}
	for name, commit := range l.logs {
		if !commit.IsZero() {
			x.there[name] = &thereLog{name: name, commit: commit}
		}
	}
	if len(x.there) == 0 {
		return noExchange(x.t.name(), nil, "there is no book in it yet")
	}
	wanted, _ := x.wanted(nil)
	if err := x.fetch(ctx, wanted, maxFetchBytes, 0); err != nil {
		return err
	}
	found := map[ledger.ID]bool{}
	var why error
	for _, name := range wanted {
		th := x.there[name]
		if th.from == nil {
			continue
		}
		line, err := firstLine(&logState{name: name, base: th.commit}, th.from)
		if err == nil {
			var e *ledger.Entry
			if e, err = ledger.Verify(line, nil); err == nil && e.Kind() == ledger.KindFound {
				found[e.ID()] = true
			}
		}
		if err != nil && (why == nil || name == x.shown) {
			why = fmt.Errorf("the log %s: %w", name, err)
		}
	}
	switch {
	case !x.book.IsZero() && found[x.book]:
		return nil
	case len(found) == 0:
		if why == nil {
			why = errors.New("none of its logs begins one")
		}
		return noExchange(x.t.name(), why, "there is no book in it that can be read: %v", why)
	}
	var ids []string
	for id := range found {
		if ids = append(ids, id.Short()); x.book.IsZero() && len(found) == 1 {
			x.book = id
			return nil
		}
	}
	slices.Sort(ids)
	if x.book.IsZero() {
		return noExchange(x.t.name(), nil, "it holds %d books (%s): say which one", len(ids), strings.Join(ids, ", "))
	}
	return noExchange(x.t.name(), nil, "it holds another book, %s, and not %s", strings.Join(ids, ", "), x.book.Short())
}
