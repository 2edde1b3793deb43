package gitstore

import (
	"errors"
	"fmt"
	"time"

	"github.com/go-git/go-git/v5/plumbing"

	"shedbook/ledger"
)

// ErrNoPaper is wrapped by the error of [Store.Paper] where no log has it.
var ErrNoPaper = errors.New("this paper is not in the book's folder")

// Paper reads a paper by its digest, from whichever log has it. Its bytes are
// what the digest says. The error wraps [ErrNoPaper] if it is not held.
func (s *Store) Paper(d ledger.ID) ([]byte, error) {
	if data, err := s.readPendingPaper(d); err == nil {
		return data, nil
	}
	var data []byte
	why := error(ErrNoPaper)
	err := s.eachPaperList(func(held map[ledger.ID]plumbing.Hash, from fetch) error {
		blob, ok := held[d]
		if !ok || data != nil {
			return nil
		}
		one, err := from.kind(plumbing.BlobObject, blob)
		if err == nil {
			err = checkPaper(d, one)
		}
		if errors.Is(err, errMissing) { // others may be packing it
			return err
		}
		if err != nil { // another log may have it whole
			why = &DamagedError{Path: paperDir + "/" + d.String()[:2] + "/" + d.String(), Why: err.Error()}
			return nil
		}
		data = one
		return nil
	})
	if err == nil && data == nil {
		err = why
	}
	if err != nil {
		return nil, fmt.Errorf("the paper %s: %w", d.Short(), err)
	}
	return data, nil
}

// Papers returns the digests of all papers held. Their bytes are not read.
func (s *Store) Papers() (map[ledger.ID]bool, error) {
	all := map[ledger.ID]bool{}
	err := s.eachPaperList(func(held map[ledger.ID]plumbing.Hash, from fetch) error {
		for d := range held {
			all[d] = true
		}
		return nil
	})
	return all, err
}

// eachPaperList calls f with the papers of each log, and again from the start
// where others were packing what was read.
func (s *Store) eachPaperList(f func(held map[ledger.ID]plumbing.Hash, from fetch) error) error {
	var err error
	for try := range 4 {
		if try > 0 {
			time.Sleep(time.Duration(try) * 20 * time.Millisecond)
		}
		if err = s.eachPaperListNow(f); !errors.Is(err, errMissing) {
			break
		}
	}
	return err
}

func (s *Store) eachPaperListNow(f func(map[ledger.ID]plumbing.Hash, fetch) error) error {
	st, err := s.snapshot()
	if err != nil {
		return err
	}
	packs := s.openPacks()
	defer packs.close()
	from := s.history(packs)
	for _, name := range sortedNames(st.logs) {
		commit := st.end(name)
		held, err := paperList(commit, from)
		if errors.Is(err, errMissing) && len(st.logs[name].runs) > 0 && !st.logs[name].base.IsZero() {
			// What is pending was not put in its place: [Store.Paper] looks into pending/ first.
			held, err = paperList(st.logs[name].base, from)
			for _, one := range st.logs[name].runs {
				for _, p := range one.papers {
					if _, err := s.readPendingPaper(p.digest); err == nil && held != nil {
						held[p.digest] = plumbing.ZeroHash
					}
				}
			}
		}
		if commit.IsZero() {
			continue
		}
		if err == nil {
			err = f(held, from)
		}
		if err != nil {
			return err
		}
	}
	return nil
}
