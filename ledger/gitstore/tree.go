package gitstore

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"time"

	"github.com/go-git/go-git/v5/plumbing"
)

// The tree of a log's last commit:
//
//	README.md             fixed bytes
//	log/NNNN/NN.jsonl     entries, linesPerFile a file, filesPerFolder files a folder
//	paper/aa/<sha256>     papers that entries of the log name
//
// Anything else, and any mode but that of a plain file or a folder, is refused.
const (
	linesPerFile   = 100
	filesPerFolder = 100
	maxFolders     = 10000
)

const (
	modeFile   = "100644"
	modeFolder = "40000"
)

type treeEntry struct {
	name string
	mode string
	hash plumbing.Hash
}

func (e treeEntry) isFolder() bool { return e.mode == modeFolder }

// encodeTree writes entries, which must stand in git's order already. (For the
// names used here that is byte order.)
func encodeTree(entries []treeEntry) []byte {
	var out []byte
	for _, e := range entries {
		out = append(out, e.mode...)
		out = append(out, ' ')
		out = append(out, e.name...)
		out = append(out, 0)
		out = append(out, e.hash[:]...)
	}
	return out
}

// parseTree reads a tree strictly: the two modes, names in rising order.
func parseTree(data []byte) ([]treeEntry, error) {
	var entries []treeEntry
	for len(data) > 0 {
		mode, rest, ok := bytes.Cut(data, []byte(" "))
		if !ok {
			return nil, errors.New("the folder's list of names is cut short")
		}
		name, rest, ok := bytes.Cut(rest, []byte{0})
		if !ok || len(rest) < len(plumbing.ZeroHash) {
			return nil, errors.New("the folder's list of names is cut short")
		}
		e := treeEntry{name: string(name), mode: string(mode)}
		copy(e.hash[:], rest)
		if e.mode != modeFile && e.mode != modeFolder {
			return nil, fmt.Errorf("%q is neither a plain file nor a folder (its mode is %q)", e.name, e.mode)
		}
		if n := len(entries); n > 0 && entries[n-1].name >= e.name {
			return nil, fmt.Errorf("the name %q is out of order", e.name)
		}
		entries = append(entries, e)
		data = rest[len(e.hash):]
	}
	return entries, nil
}

var (
	paperFolder = regexp.MustCompile(`^[0-9a-f]{2}$`)
	paperFile   = regexp.MustCompile(`^[0-9a-f]{64}$`)
)

// checkRoot checks the names at the top of a log's tree and returns its log
// and paper folders.
func checkRoot(entries []treeEntry) (log, paper plumbing.Hash, err error) {
	readme := false
	for _, e := range entries {
		switch {
		case e.name == readmeName && !e.isFolder():
			readme = true
		case e.name == "log" && e.isFolder():
			log = e.hash
		case e.name == "paper" && e.isFolder():
			paper = e.hash
		default:
			return log, paper, placeError{e.name, "it does not belong in a log"}
		}
	}
	if log.IsZero() {
		return log, paper, placeError{"log", "it is missing"}
	}
	if !readme {
		return log, paper, placeError{readmeName, "it is missing"}
	}
	return log, paper, nil
}

// checkRow checks that entries are named 0, 1, 2 ... without a gap, as format
// says, all folders or all files.
func checkRow(path, format string, folders bool, limit int, entries []treeEntry) error {
	if len(entries) == 0 {
		return placeError{path, "it is empty"}
	}
	for i, e := range entries {
		if want := fmt.Sprintf(format, i); e.name != want || e.isFolder() != folders || i >= limit {
			return placeError{path + "/" + e.name, fmt.Sprintf("it does not belong in a log; %q belongs here", want)}
		}
	}
	return nil
}

// placeError names a place inside a log's tree.
type placeError struct{ path, why string }

func (e placeError) Error() string { return fmt.Sprintf("%q: %s", e.path, e.why) }

func folderName(n int) string { return fmt.Sprintf("%04d", n) }
func fileName(n int) string   { return fmt.Sprintf("%02d.jsonl", n) }

// commitOf is what this package reads of a commit.
type commitOf struct {
	tree   plumbing.Hash
	parent plumbing.Hash // zero: none
}

// parseCommit reads a commit's tree and its one parent, if any. Two parents
// are refused: logs are never merged.
func parseCommit(data []byte) (commitOf, error) {
	var c commitOf
	take := func(word string) (hash plumbing.Hash, ok bool) {
		line, rest, found := bytes.Cut(data, []byte("\n"))
		text, found2 := bytes.CutPrefix(line, []byte(word+" "))
		if !found || !found2 {
			return hash, false
		}
		hash, ok = parseHash(string(text))
		if ok {
			data = rest
		}
		return hash, ok
	}
	var ok bool
	if c.tree, ok = take("tree"); !ok {
		return c, errors.New("the record of its last write cannot be read")
	}
	c.parent, _ = take("parent")
	if _, more := take("parent"); more {
		return c, errors.New("two logs were merged into it, which is never done")
	}
	if !bytes.HasPrefix(data, []byte("author ")) {
		return c, errors.New("the record of its last write cannot be read")
	}
	return c, nil
}

// encodeCommit writes the commit of one run: entries first to last of a log,
// the last of them recorded at at.
func encodeCommit(log string, tree, parent plumbing.Hash, first, last uint64, at time.Time) []byte {
	seconds := max(at.Unix(), 0) // git knows no time before 1970
	who := fmt.Sprintf("shedbook <%s@book.invalid> %d +0000", log, seconds)
	var out bytes.Buffer
	fmt.Fprintf(&out, "tree %s\n", tree)
	if !parent.IsZero() {
		fmt.Fprintf(&out, "parent %s\n", parent)
	}
	fmt.Fprintf(&out, "author %s\ncommitter %s\n\n", who, who)
	if first == last {
		fmt.Fprintf(&out, "entry %d\n", first)
	} else {
		fmt.Fprintf(&out, "entries %d-%d\n", first, last)
	}
	return out.Bytes()
}
