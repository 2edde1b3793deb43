package gitstore

import (
	"bytes"
	"errors"
	"fmt"
	"runtime"
	"sync"
	"sync/atomic"
	"time"

	"github.com/go-git/go-git/v5/plumbing"

	"shedbook/ledger"
)

// Logs returns every log held, whole, in name order, with all that has been
// acknowledged. Lines are as stored, each with its LF; they share memory and
// must not be changed. Signatures and chains are not checked here; Checked says
// up to where this device, or whoever records on it, checked the signatures
// before the entries were taken in, so that it is done once and not with every
// command. Whoever trusts nothing, as an audit, sets it to zero.
//
// It needs no lock and may run beside a writer: what it returns held together
// at one moment. A name, mode or size that does not belong in a log is a
// *[DamagedError] naming the log and the place.
func (s *Store) Logs() ([]ledger.Log, error) {
	var logs []ledger.Log
	var err error
	for try := range 4 { // others may be packing what is being read
		if try > 0 {
			time.Sleep(time.Duration(try) * 20 * time.Millisecond)
		}
		var st *state
		if st, err = s.snapshot(); err != nil {
			continue
		}
		if logs, err = s.readLogs(st); err == nil {
			s.mu.Lock()
			s.handed = st.ends()
			s.mu.Unlock()
		}
		if err == nil || !errors.Is(err, errMissing) {
			break
		}
	}
	return logs, err
}

func (s *Store) readLogs(st *state) ([]ledger.Log, error) {
	packs := s.openPacks()
	defer packs.close()
	from := s.history(packs)
	checked := map[string]ledger.ID{}
	if all, err := s.Seen(); err == nil { // else everything is checked
		for _, one := range all {
			checked[one.Log] = one.ID
		}
	}
	logs := make([]ledger.Log, 0, len(st.logs))
	for _, name := range sortedNames(st.logs) {
		lines, err := s.readLog(st, name, from)
		if err != nil {
			return nil, err
		}
		logs = append(logs, ledger.Log{Name: name, Lines: lines, Checked: checked[name]})
	}
	return logs, nil
}

// readLog reads one log: what lies in its place, and what is pending on top.
func (s *Store) readLog(st *state, name string, from fetch) ([][]byte, error) {
	l := st.logs[name]
	if l.tip().IsZero() {
		return nil, &DamagedError{Log: name, Path: s.git("refs", "heads", "log", name), Why: "it does not say where the log ends"}
	}
	lines, err := readLines(name, l.base, from)
	if err != nil {
		return nil, err
	}
	for _, r := range l.runs {
		lines = append(lines, r.lines...)
	}
	ref := st.refs[name]
	if ref.IsZero() || l.passed(ref) {
		return lines, nil
	}
	// Something was written past what is pending.
	further, err := readLines(name, ref, from)
	if err != nil {
		return nil, err
	}
	if len(further) < len(lines) || !sameLines(further[:len(lines)], lines) {
		return nil, &DamagedError{Log: name, Path: s.git("refs", "heads", "log", name), Why: "another program replaced it; open the book again to restore it"}
	}
	return further, nil
}

func sameLines(a, b [][]byte) bool {
	for i := range a {
		if !bytes.Equal(a[i], b[i]) {
			return false
		}
	}
	return true
}

// history reads objects for long reads: mostly from packs.
func (s *Store) history(packs *packs) fetch {
	return func(hash plumbing.Hash) (object, error) {
		o, err := packs.get(hash)
		if err == nil {
			return o, nil
		}
		o, looseErr := s.readLoose(hash)
		if looseErr == nil {
			return o, nil
		}
		if !errors.Is(looseErr, errMissing) {
			return object{}, looseErr
		}
		return packs.get(hash) // it may have been packed between the two looks
	}
}

// readLines reads a log up to a commit: every line of every file, in order.
func readLines(log string, commit plumbing.Hash, from fetch) ([][]byte, error) {
	if commit.IsZero() {
		return nil, nil
	}
	files, err := logFiles(log, commit, from)
	if err != nil {
		return nil, err
	}
	return readFiles(log, files, from, nil)
}

// damagedAt names the place in a log where err was met.
func damagedAt(log, path string, err error) error {
	var place placeError
	if errors.As(err, &place) {
		return &DamagedError{Log: log, Path: place.path, Why: place.why}
	}
	return &DamagedError{Log: log, Path: path, Why: err.Error(), cause: err}
}

// logFiles lists the files of a log, in order, and checks names and modes.
func logFiles(log string, commit plumbing.Hash, from fetch) ([]filePlace, error) {
	damaged := func(path string, err error) error { return damagedAt(log, path, err) }
	c, err := from.commit(commit)
	if err != nil {
		return nil, damaged("the last write", err)
	}
	root, err := from.tree(c.tree)
	if err != nil {
		return nil, damaged("/", err)
	}
	logTree, paperTree, err := checkRoot(root)
	if err != nil {
		return nil, damaged("/", err)
	}
	if err := checkPapers(paperTree, from); err != nil {
		return nil, damaged("paper", err)
	}
	folders, err := from.tree(logTree)
	if err != nil {
		return nil, damaged("log", err)
	}
	if err := checkRow("log", "%04d", true, maxFolders, folders); err != nil {
		return nil, damaged("log", err)
	}
	var all []filePlace
	for i, folder := range folders {
		path := "log/" + folder.name
		files, err := from.tree(folder.hash)
		if err != nil {
			return nil, damaged(path, err)
		}
		if err := checkRow(path, "%02d.jsonl", false, filesPerFolder, files); err != nil {
			return nil, damaged(path, err)
		}
		lastFolder := i == len(folders)-1
		if !lastFolder && len(files) != filesPerFolder {
			return nil, damaged(path, fmt.Errorf("it holds %d files and is not the last folder", len(files)))
		}
		for _, file := range files {
			all = append(all, filePlace{path + "/" + file.name, file.hash})
		}
	}
	return all, nil
}

// filePlace is one file of a log.
type filePlace struct {
	path string
	hash plumbing.Hash
}

// readFiles reads the files of a log on all cores. All but the last must be
// full. check, if given, is called with the lines of each file, on any core; no
// further file is read once it or the reading has failed. Of several errors the
// first file's is returned.
func readFiles(log string, files []filePlace, from fetch, check func(file int, lines [][]byte) error) ([][]byte, error) {
	parts := make([][][]byte, len(files))
	errs := make([]error, len(files))
	var next atomic.Int64
	var failed atomic.Bool
	var workers sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(files)) {
		workers.Go(func() {
			for i := int(next.Add(1)) - 1; i < len(files) && !failed.Load(); i = int(next.Add(1)) - 1 {
				data, err := from.kind(plumbing.BlobObject, files[i].hash)
				if err == nil {
					parts[i], err = splitLines(data)
				}
				if err == nil && i < len(files)-1 && len(parts[i]) != linesPerFile {
					err = fmt.Errorf("it has %d lines and is not the last file", len(parts[i]))
				}
				if err == nil && check != nil {
					err = check(i, parts[i])
				}
				if errs[i] = err; err != nil {
					failed.Store(true)
				}
			}
		})
	}
	workers.Wait()
	var all [][]byte
	for i, part := range parts {
		if errs[i] != nil {
			return nil, damagedAt(log, files[i].path, errs[i])
		}
		all = append(all, part...)
	}
	return all, nil
}

// checkPapers checks the names and modes of the folder for papers.
func checkPapers(hash plumbing.Hash, from fetch) error {
	if hash.IsZero() {
		return nil
	}
	folders, err := from.tree(hash)
	if err != nil {
		return err
	}
	for _, folder := range folders {
		path := "paper/" + folder.name
		if !folder.isFolder() || !paperFolder.MatchString(folder.name) {
			return placeError{path, "it does not belong in a log"}
		}
		files, err := from.tree(folder.hash)
		if err != nil {
			return placeError{path, err.Error()}
		}
		for _, file := range files {
			if file.isFolder() || !paperFile.MatchString(file.name) || file.name[:2] != folder.name {
				return placeError{path + "/" + file.name, "it does not belong in a log"}
			}
		}
	}
	return nil
}
