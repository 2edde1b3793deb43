package gitstore

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"strconv"
	"strings"

	"github.com/go-git/go-git/v5/plumbing"

	"shedbook/ledger"
)

// pendingPaper is a paper of a pending run.
type pendingPaper struct {
	digest ledger.ID
	size   int
}

// parsePapers reads the list of papers of a pending run.
func parsePapers(count string, rest []byte) ([]pendingPaper, []byte, error) {
	n, err := strconv.Atoi(count)
	if err != nil || n < 1 || n > ledger.MaxPapers {
		return nil, nil, errors.New("that is no number of papers")
	}
	var all []pendingPaper
	for range n {
		line, after, ok := bytes.Cut(rest, []byte("\n"))
		digest, size, ok2 := strings.Cut(string(line), " ")
		if !ok || !ok2 {
			return nil, nil, errors.New("its list of papers is cut short")
		}
		p := pendingPaper{}
		if p.digest, err = ledger.ParseID(digest); err == nil {
			p.size, err = strconv.Atoi(size)
		}
		if err != nil {
			return nil, nil, err
		}
		all, rest = append(all, p), after
	}
	return all, rest, nil
}

func listed(papers []paper) []pendingPaper {
	var all []pendingPaper
	for _, p := range papers {
		all = append(all, pendingPaper{p.digest, len(p.data)})
	}
	return all
}

// paperBytes are the bytes of papers of pending runs.
func (p pending) paperBytes() (total int) {
	for _, r := range p.records {
		for _, one := range r.papers {
			total += one.size
		}
	}
	return total
}

// writePapers makes a run's papers durable, before the run is acknowledged.
func (s *Store) writePapers(papers []paper) error {
	if len(papers) == 0 {
		return nil
	}
	dir := s.path(pendingDir, pendingPapers)
	if !exists(dir) {
		if err := s.disk.mkdir(dir); err != nil {
			return err
		}
		if err := s.disk.syncDir(s.path(pendingDir)); err != nil {
			return err
		}
	}
	for _, p := range papers {
		if err := s.disk.replace(s.path(pendingDir, pendingPapers, p.digest.String()), p.data, true); err != nil {
			return err
		}
	}
	return nil
}

// dropPapers removes the papers of runs that are pending no more, and those of
// runs that never came to be acknowledged.
func (s *Store) dropPapers() error {
	files, err := os.ReadDir(s.path(pendingDir, pendingPapers))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	for _, f := range files {
		if err := s.disk.remove(s.path(pendingDir, pendingPapers, f.Name())); err != nil {
			return err
		}
	}
	return nil
}

// readPendingPaper reads a paper of a run that is not packed yet.
func (s *Store) readPendingPaper(d ledger.ID) ([]byte, error) {
	path := s.path(pendingDir, pendingPapers, d.String())
	f, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	if f.Size() > ledger.MaxPaper {
		return nil, &DamagedError{Path: path, Why: "it is too large for a paper"}
	}
	data, err := os.ReadFile(path)
	if err == nil {
		err = checkPaper(d, data)
	}
	return data, err
}

// runPapers reads the papers of a pending run: from pending/, else, where that
// is damaged, from the log itself.
func (s *Store) runPapers(one run, from fetch) ([]paper, error) {
	var all []paper
	for _, p := range one.papers {
		d := p.digest
		data, err := s.readPendingPaper(d)
		if err != nil {
			data, err = s.placedPaper(one.commit, d, from)
		}
		if err != nil {
			return nil, &DamagedError{Path: s.path(pendingDir, pendingPapers, d.String()), Why: "this paper of an acknowledged entry cannot be read: " + err.Error()}
		}
		all = append(all, paper{d, data})
	}
	return all, nil
}

// placedPaper reads a paper from the place that a log has for it.
func (s *Store) placedPaper(commit plumbing.Hash, d ledger.ID, from fetch) ([]byte, error) {
	held, err := paperList(commit, from)
	if err != nil {
		return nil, err
	}
	blob, ok := held[d]
	if !ok {
		return nil, errMissing
	}
	data, err := from.kind(plumbing.BlobObject, blob)
	if err == nil {
		err = checkPaper(d, data)
	}
	return data, err
}
