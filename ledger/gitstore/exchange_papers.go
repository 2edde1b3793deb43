package gitstore

import (
	"bytes"
	"errors"
	"fmt"
	"slices"

	"github.com/go-git/go-git/v5/plumbing"

	"shedbook/ledger"
)

// paperSource is where the papers of a log that is written anew come from.
type paperSource struct {
	list    map[ledger.ID]plumbing.Hash // what is there
	from    fetch
	ours    fetch  // where the log is written to
	pending *Store // the papers of runs that were never packed; nil: none
	limit   int64  // bytes; 0: none
	refuse  func(ledger.ID, string)

	taken int64
	count int
	begun bool
}

// upTo returns the papers that go into the run which ends with entry seq: those
// that its entries name, and into the first run also those that entries before
// it name and that never came. What is not there, or not what it should be, is
// left out: no entry is kept back for it.
func (p *paperSource) upTo(t *tip, lines [][]byte, seq uint64) ([]paper, error) {
	first := t.seq
	if !p.begun {
		p.begun, first = true, 0
	}
	names := named(lines[first:seq])
	if len(names) == 0 {
		return nil, nil
	}
	if err := t.readPapers(names, p.ours); err != nil {
		return nil, err
	}
	var all []paper
	for _, d := range names {
		if t.holdsPaper(d) {
			continue
		}
		data, err := p.read(d)
		switch {
		case errors.Is(err, errMissing):
		case err != nil:
			p.no(d, err.Error())
		case p.count >= ledger.MaxPapers:
			p.no(d, fmt.Sprintf("the log has more than %d papers", ledger.MaxPapers))
		case p.limit > 0 && p.taken+int64(len(data)) > p.limit:
			p.no(d, fmt.Sprintf("the papers of this log have more than %d bytes", p.limit))
		default:
			p.taken += int64(len(data))
			p.count++
			all = append(all, paper{d, data})
		}
	}
	return all, nil
}

func (p *paperSource) no(d ledger.ID, why string) {
	if p.refuse != nil {
		p.refuse(d, why)
	}
}

// read reads a paper and holds it to its digest.
func (p *paperSource) read(d ledger.ID) ([]byte, error) {
	if p.pending != nil {
		if data, err := p.pending.readPendingPaper(d); err == nil {
			return data, nil
		}
	}
	blob, ok := p.list[d]
	if !ok {
		return nil, errMissing
	}
	data, err := p.from.kind(plumbing.BlobObject, blob)
	if err == nil {
		err = checkPaper(d, data)
	}
	return data, err
}

// papersThere looks for the papers of a log of the target. One that no entry of
// the log names is refused and not read.
func (x *exchange) papersThere(p *plan, l *planLog) *paperSource {
	have := &paperSource{from: l.origin.from, limit: ledger.MaxPaperBytes}
	have.ours = func(hash plumbing.Hash) (object, error) {
		packs := x.s.openPacks()
		defer packs.close()
		return x.s.history(packs)(hash)
	}
	have.refuse = func(d ledger.ID, why string) {
		x.report.Papers = append(x.report.Papers, PaperRefusal{Log: l.origin.name, Digest: d, Why: why})
	}
	if w, err := ledger.ParseWriter(l.name[:32]); err == nil {
		if d, ok := p.book.Judge().Device(w); ok && d.Pending {
			have.limit = ledger.MaxPendingPaperBytes
		}
	}
	list, err := paperList(l.origin.commit, l.origin.from)
	if err != nil { // the log was read from there a moment ago
		return have
	}
	have.list = list
	if len(list) == 0 {
		return have
	}
	if h := x.here[l.name]; h != nil {
		if held, err := paperList(h.commit, have.ours); err == nil {
			have.count = len(held)
		}
	}
	wanted := map[ledger.ID]bool{}
	for _, d := range named(l.lines) {
		wanted[d] = true
	}
	var stray []ledger.ID
	for d := range list {
		if !wanted[d] {
			stray = append(stray, d)
		}
	}
	slices.SortFunc(stray, func(a, b ledger.ID) int { return bytes.Compare(a[:], b[:]) })
	for i, d := range stray {
		if i == maxStrayPapers {
			have.refuse(d, fmt.Sprintf("no entry names it, nor %d others", len(stray)-i-1))
			break
		}
		have.refuse(d, "no entry names it")
	}
	return have
}

// maxStrayPapers is how many papers that no entry names are told one by one.
const maxStrayPapers = 10

func digests(papers []paper) []ledger.ID {
	var all []ledger.ID
	for _, p := range papers {
		all = append(all, p.digest)
	}
	return all
}
