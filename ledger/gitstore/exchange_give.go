package gitstore

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"slices"
	"strings"

	"github.com/go-git/go-git/v5/plumbing"

	"shedbook/ledger"
)

// sending is one log that the target lacks, wholly or in part.
type sending struct {
	here  *hereLog
	there string        // its name there
	old   plumbing.Hash // where it ends there; zero: it is new there
	from  uint64        // entries the target has of it
	new   plumbing.Hash
	depth uint64 // of its last entry
}

// give sends what the target lacks.
func (x *exchange) give(ctx context.Context) error {
	if x.joining {
		return nil
	}
	sendings, err := x.sendings()
	if err != nil {
		return err
	}
	if len(sendings) > 0 {
		x.progress("sending", 0, len(sendings))
		if err := x.send(ctx, sendings); err != nil {
			return err
		}
	}
	x.showFounder()
	return nil
}

// sendings finds what the target lacks, and under which name it goes there. A
// log that others cite comes before them: what an entry cites has a lesser
// depth. Where the founder's log is new, it is the first of all: without it
// nobody can join.
func (x *exchange) sendings() ([]*sending, error) {
	var all []*sending
	taken := map[string]bool{}
	for _, name := range sortedNames(x.here) {
		h := x.here[name]
		held, best, err := x.lookup(h, taken)
		if err != nil {
			return nil, err
		}
		if held {
			continue
		}
		if h.wrong != "" {
			x.report.Unsent = append(x.report.Unsent, Refusal{Log: name, Why: "it does not verify here: " + h.wrong})
			continue
		}
		s := &sending{here: h, new: h.commit}
		if best != nil {
			s.there, s.old, s.from = best.name, best.commit, best.seq
		} else if s.there, err = x.freeName(h, taken); err != nil {
			return nil, err
		}
		taken[s.there] = true
		all = append(all, s)
	}
	for _, s := range all {
		line, err := lineAt(s.here.name, s.here.commit, s.here.seq, x.s.history(x.packs))
		if err != nil {
			return nil, err
		}
		var entry struct {
			Head struct {
				Depth uint64 `json:"depth"`
			} `json:"head"`
		}
		if err := json.Unmarshal(line, &entry); err != nil {
			return nil, err
		}
		s.depth = entry.Head.Depth
	}
	founder := x.founder()
	first := func(s *sending) int {
		if s.from == 0 && s.here.name == founder {
			return 0
		}
		return 1
	}
	slices.SortFunc(all, func(a, b *sending) int {
		return cmp.Or(cmp.Compare(first(a), first(b)), cmp.Compare(a.depth, b.depth), a.here.id.Compare(b.here.id), strings.Compare(a.there, b.there))
	})
	return all, nil
}

// lookup reports whether the target holds all of a log, and else which of its
// logs has the most of it and nothing more.
func (x *exchange) lookup(h *hereLog, taken map[string]bool) (held bool, best *thereLog, err error) {
	for _, name := range sameWriter(x.there, h.name) {
		th := x.there[name]
		if !th.known {
			continue
		}
		if th.seq >= h.seq {
			if held, err = x.holds(x.here[th.host], h.seq, h.id); held || err != nil {
				return held, nil, err
			}
			continue
		}
		begins, err := x.holds(h, th.seq, th.id)
		if err != nil {
			return false, nil, err
		}
		if begins && !taken[name] && (best == nil || th.seq > best.seq) {
			best = th
		}
	}
	return false, best, nil
}

// freeName returns a name for a log that no log there begins: the plain one, or
// one beside what the target has under it.
func (x *exchange) freeName(h *hereLog, taken map[string]bool) (string, error) {
	plain := h.name[:32]
	free := func(name string) bool { return x.there[name] == nil && !taken[name] }
	if free(plain) {
		return plain, nil
	}
	if err := x.readLines(); err != nil {
		return "", err
	}
	return besideName(plain, x.lines[h.name], func(name string) ([][]byte, bool) {
		if free(name) {
			return nil, false
		}
		if th := x.there[name]; th != nil && th.known {
			return x.lines[th.host][:th.seq], true
		}
		for host := range x.here { // taken by another of ours, just now
			if host != h.name && host[:32] == plain && name == plain && x.there[name] == nil {
				return x.lines[host], true
			}
		}
		return nil, true // what does not verify has nothing in common with ours
	}), nil
}

func (x *exchange) send(ctx context.Context, sendings []*sending) error {
	if err := x.packPending(); err != nil {
		return err
	}
	p := &parcel{from: x.s, all: len(x.there) == 0, objects: map[plumbing.Hash]bool{}}
	for _, s := range sendings {
		if err := x.gather(ctx, p, s); err != nil {
			return err
		}
		p.moves = append(p.moves, parcelMove{log: s.there, old: s.old, new: s.new, seq: s.here.seq})
	}
	done, err := x.t.send(ctx, p)
	for _, s := range sendings {
		switch failed, tried := done[s.there]; {
		case !tried:
		case failed != nil:
			x.report.Unsent = append(x.report.Unsent, Refusal{Log: s.here.name, Why: plainCause(failed)})
		default:
			x.sent(s)
		}
	}
	return err
}

// sent reports one log, and notes that the target has it now.
func (x *exchange) sent(s *sending) {
	w, _ := ledger.ParseWriter(s.here.name[:32]) // checked with the log's name
	from := s.from
	if m, ok := x.memory.byName[s.there]; ok && m.Seq > from {
		back := min(m.Seq, s.here.seq)
		x.report.Restored = append(x.report.Restored, LogMove{Log: s.here.name, Writer: w, From: from, To: back})
		from = back
	}
	if from < s.here.seq {
		x.report.Sent = append(x.report.Sent, LogMove{Log: s.here.name, Writer: w, From: from, To: s.here.seq})
	}
	x.there[s.there] = &thereLog{name: s.there, commit: s.new, seq: s.here.seq, id: s.here.id, known: true, host: s.here.name}
}

// packPending puts what is pending into a pack: packs are copied as they are.
func (x *exchange) packPending() error {
	p, err := x.s.readPending()
	if err != nil || len(p.records) == 0 {
		return err
	}
	return x.s.Pack()
}

// gather adds the objects that the target needs for a log: those of the runs
// past what it has. Where it has the same entries under other commits, one run
// is made on top of those.
func (x *exchange) gather(ctx context.Context, p *parcel, s *sending) error {
	if p.all {
		return nil
	}
	g := &needed{from: x.s.history(x.packs), objects: p.objects, has: map[plumbing.Hash]bool{}}
	joined, err := g.walk(s.here.commit, s.old)
	if err != nil {
		return fmt.Errorf("cannot read the log of %s to send it: %w", s.here.name, err)
	}
	if joined {
		return nil
	}
	th := x.there[s.there]
	if th.from == nil {
		w := x.wish([]string{th.name}, maxFetchBytes, 0)
		w.haves = nil // its own objects are wanted
		got, err := x.t.fetch(ctx, w)
		if err != nil {
			return err
		}
		if f := got[th.name]; f.err != nil {
			return f.err
		} else {
			th.from = f.from
		}
	}
	t, err := readTip(s.here.name, s.old, th.from)
	if err != nil {
		return fmt.Errorf("cannot read the end of the log %s there: %w", s.there, err)
	}
	if err := x.readLines(); err != nil {
		return err
	}
	if t.seq != s.from || t.id != th.id {
		return fmt.Errorf("the log %s there has changed meanwhile", s.there)
	}
	have := &paperSource{from: x.s.history(x.packs), ours: th.from}
	if have.list, err = paperList(s.here.commit, have.from); err != nil {
		return err
	}
	papers, err := have.upTo(t, x.lines[s.here.name], s.here.seq)
	if err != nil {
		return err
	}
	next, objects, err := extendTo(t, x.lines[s.here.name], s.here.seq, papers)
	if err != nil {
		return err
	}
	p.made = append(p.made, objects...)
	s.new = next.commit
	return nil
}

// needed collects the objects of a log's runs.
type needed struct {
	from    fetch
	objects map[plumbing.Hash]bool
	has     map[plumbing.Hash]bool // the target has them
}

// walk collects what lies between commit old (zero: nothing) and tip; false, and
// nothing collected, if old is not before tip.
func (g *needed) walk(tip, old plumbing.Hash) (bool, error) {
	var commits []plumbing.Hash
	var trees []plumbing.Hash
	for at := tip; at != old; {
		if at.IsZero() {
			return false, nil
		}
		c, err := g.from.commit(at)
		if err != nil {
			return false, err
		}
		commits, trees = append(commits, at), append(trees, c.tree)
		at = c.parent
	}
	if !old.IsZero() {
		c, err := g.from.commit(old)
		if err != nil {
			return false, err
		}
		if err := g.tree(c.tree, g.has); err != nil {
			return false, err
		}
	}
	for i := len(commits) - 1; i >= 0; i-- {
		g.objects[commits[i]] = true
		if err := g.tree(trees[i], g.objects); err != nil {
			return false, err
		}
	}
	return true, nil
}

// tree adds a tree and what it holds to a set, but for what the target has.
func (g *needed) tree(hash plumbing.Hash, to map[plumbing.Hash]bool) error {
	if to[hash] || g.has[hash] {
		return nil
	}
	to[hash] = true
	entries, err := g.from.tree(hash)
	if err != nil {
		return err
	}
	for _, e := range entries {
		if !e.isFolder() {
			if !g.has[e.hash] {
				to[e.hash] = true
			}
		} else if err := g.tree(e.hash, to); err != nil {
			return err
		}
	}
	return nil
}

// founder returns the name of the founder's log here, to which HEAD points; ""
// where there is none.
func (x *exchange) founder() string {
	head, err := os.ReadFile(x.s.git("HEAD"))
	if err != nil {
		return ""
	}
	name, _ := strings.CutPrefix(strings.TrimSpace(string(head)), "ref: "+refPrefix)
	if x.here[name] == nil {
		return ""
	}
	return name
}

// showFounder makes a plain copy of the target show the founder's log.
func (x *exchange) showFounder() {
	founder := x.founder()
	if founder == "" {
		return
	}
	shows := func(name string) bool {
		th := x.there[name]
		return th != nil && th.known && th.host == founder
	}
	if shows(x.shown) {
		return
	}
	for _, name := range sameWriter(x.there, founder) {
		if !shows(name) {
			continue
		}
		if !x.t.show(name) {
			x.report.Show = refPrefix + name
		}
		return
	}
}
