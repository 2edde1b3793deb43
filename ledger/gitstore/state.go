package gitstore

import (
	"errors"
	"fmt"
	"maps"
	"time"

	"github.com/go-git/go-git/v5/plumbing"
)

// state is where the logs of a book stand.
type state struct {
	pending pending
	refs    map[string]plumbing.Hash
	logs    map[string]*logState
}

// logState is where one log stands: a commit that lies safely in the
// repository, and the runs acknowledged since.
type logState struct {
	name string
	base plumbing.Hash // zero: the log begins with runs
	runs []run
}

// run is an acknowledged run that only pending/ is trusted to hold.
type run struct {
	lines  [][]byte
	raw    []byte // the commit
	papers []pendingPaper
	commit plumbing.Hash
}

// tip returns the last commit of the log.
func (l *logState) tip() plumbing.Hash {
	if n := len(l.runs); n > 0 {
		return l.runs[n-1].commit
	}
	return l.base
}

// passed reports whether hash is the log's tip or one it had on the way there,
// so that a reference found there is at most late.
func (l *logState) passed(hash plumbing.Hash) bool {
	if hash == l.base {
		return true
	}
	for _, r := range l.runs {
		if r.commit == hash {
			return true
		}
	}
	return false
}

// end returns the last commit of a log: that of its reference where something
// was written past what is pending.
func (st *state) end(name string) plumbing.Hash {
	l := st.logs[name]
	if ref := st.refs[name]; !ref.IsZero() && !l.passed(ref) {
		return ref
	}
	return l.tip()
}

// logEnd is where a log ends, and where its reference stands.
type logEnd struct{ tip, ref plumbing.Hash }

// ends are the ends of all logs. Two states with the same ends hold the same lines.
func (st *state) ends() map[string]logEnd {
	all := make(map[string]logEnd, len(st.logs))
	for name, l := range st.logs {
		all[name] = logEnd{l.tip(), st.refs[name]}
	}
	return all
}

func (l *logState) add(r record) error {
	c, err := parseCommit(r.commit)
	if err != nil {
		return err
	}
	if c.parent != l.tip() {
		return errors.New("it does not follow the one before it")
	}
	l.runs = append(l.runs, run{lines: r.lines, raw: r.commit, papers: r.papers, commit: hashOf(plumbing.CommitObject, r.commit)})
	return nil
}

// fold lays the pending records over the references.
func (s *Store) fold(p pending, refs map[string]plumbing.Hash) (*state, error) {
	st := &state{pending: p, refs: refs, logs: map[string]*logState{}}
	for name, hash := range refs {
		st.logs[name] = &logState{name: name, base: hash}
	}
	held := map[string]*logState{}
	for i, r := range p.records {
		for _, m := range r.moves {
			held[m.log] = &logState{name: m.log, base: m.new}
		}
		if r.log == "" {
			continue
		}
		l := held[r.log]
		if l == nil {
			c, err := parseCommit(r.commit)
			if err != nil {
				return nil, &DamagedError{Path: s.path(pendingDir, pendingFile), Log: r.log, Why: fmt.Sprintf("record %d: %v", i+1, err)}
			}
			l = &logState{name: r.log, base: c.parent}
			held[r.log] = l
		}
		if err := l.add(r); err != nil {
			return nil, &DamagedError{Path: s.path(pendingDir, pendingFile), Log: r.log, Why: fmt.Sprintf("record %d: %v", i+1, err)}
		}
	}
	maps.Copy(st.logs, held)
	return st, nil
}

// logs returns the names of the logs that have pending records.
func (p pending) logs() map[string]bool {
	names := map[string]bool{}
	for _, r := range p.records {
		if r.log != "" {
			names[r.log] = true
		}
		for _, m := range r.moves {
			names[m.log] = true
		}
	}
	return names
}

// snapshot reads the state without the book's lock: pending records and
// references are read again until nothing moved in between, so that what is
// seen of one log is never older than what another log cites of it.
func (s *Store) snapshot() (*state, error) {
	p, err := s.readPending()
	if err != nil {
		return nil, err
	}
	refs, err := s.references()
	if err != nil {
		return nil, err
	}
	for range 100 {
		p2, err := s.readPending()
		if err != nil {
			return nil, err
		}
		refs2, err := s.references()
		if err != nil {
			return nil, err
		}
		same := p2.good == p.good && len(p2.records) == len(p.records) && maps.Equal(refs, refs2)
		p, refs = p2, refs2
		if same {
			break
		}
		time.Sleep(2 * time.Millisecond)
	}
	return s.fold(p, refs)
}
