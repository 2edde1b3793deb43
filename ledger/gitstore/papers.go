package gitstore

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/go-git/go-git/v5/plumbing"

	"shedbook/ledger"
)

// Papers (photos, invoices) lie beside the entries of the log that names them,
// in paper/aa/<sha256>: once a log, however many of its entries name one. A paper
// comes with the first run that names it, so that the same runs and papers make
// the same commits everywhere.
//
// A run's papers are written to pending/papers/ and fsynced before the run is
// acknowledged. They stay there until its objects lie in a pack.

const (
	paperDir       = "paper"
	pendingPapers  = "papers"
	packPaperBytes = 32 << 20 // packing is due after this many bytes of papers
)

// paper is one on its way into a log.
type paper struct {
	digest ledger.ID
	data   []byte
}

// checkPaper is why bytes cannot be the paper of a digest; nil if they are it.
func checkPaper(digest ledger.ID, data []byte) error {
	switch {
	case len(data) > ledger.MaxPaper:
		return fmt.Errorf("it has %d bytes, more than %d", len(data), ledger.MaxPaper)
	case sha256.Sum256(data) != [sha256.Size]byte(digest):
		return errors.New("it is not what its name says: it was changed, or is another")
	}
	return nil
}

// readPapers reads the list of a log's paper folders, and those in which papers
// of these digests belong, into t.
func (t *tip) readPapers(digests []ledger.ID, from fetch) error {
	_, root, err := checkRoot(t.root)
	if len(t.root) > 0 && err != nil {
		return err
	}
	if t.paperFolders == nil {
		t.paperFolders = map[string][]treeEntry{}
		if !root.IsZero() {
			if t.papers, err = from.tree(root); err != nil {
				return err
			}
		}
	}
	for _, d := range digests {
		aa := d.String()[:2]
		if _, ok := t.paperFolders[aa]; ok {
			continue
		}
		var list []treeEntry
		for _, folder := range t.papers {
			if folder.name == aa {
				if list, err = from.tree(folder.hash); err != nil {
					return err
				}
			}
		}
		t.paperFolders[aa] = list
	}
	return nil
}

// holdsPaper reports whether the log has a paper; its folder was read.
func (t *tip) holdsPaper(d ledger.ID) bool {
	_, ok := findName(t.paperFolders[d.String()[:2]], d.String())
	return ok
}

// addPapers puts papers into n, whose folders were read, and hands out their objects.
func (n *tip) addPapers(papers []paper, add func(plumbing.ObjectType, []byte, string) plumbing.Hash) {
	if len(papers) == 0 {
		return
	}
	n.paperFolders = maps.Clone(n.paperFolders)
	touched := map[string]bool{}
	for _, p := range papers {
		name := p.digest.String()
		folder := n.paperFolders[name[:2]]
		at, held := findName(folder, name)
		if held {
			continue
		}
		blob := add(plumbing.BlobObject, p.data, "")
		n.paperFolders[name[:2]] = slices.Insert(slices.Clone(folder), at, treeEntry{name, modeFile, blob})
		touched[name[:2]] = true
	}
	n.papers = slices.Clone(n.papers)
	for _, aa := range sortedNames(touched) {
		tree := add(plumbing.TreeObject, encodeTree(n.paperFolders[aa]), n.log+"/"+paperDir+"/"+aa)
		n.papers = putName(n.papers, treeEntry{aa, modeFolder, tree})
	}
	if len(touched) > 0 {
		tree := add(plumbing.TreeObject, encodeTree(n.papers), n.log+"/"+paperDir)
		n.root = putName(n.root, treeEntry{paperDir, modeFolder, tree})
	}
}

func findName(list []treeEntry, name string) (int, bool) {
	return slices.BinarySearchFunc(list, name, func(e treeEntry, name string) int { return strings.Compare(e.name, name) })
}

func putName(list []treeEntry, e treeEntry) []treeEntry {
	at, held := findName(list, e.name)
	if held {
		list[at] = e
		return list
	}
	return slices.Insert(list, at, e)
}

// named returns the papers that lines name, each once, in their order.
func named(lines [][]byte) []ledger.ID {
	var all []ledger.ID
	seen := map[ledger.ID]bool{}
	for _, line := range lines {
		for _, d := range ledger.NamedPapers(line) {
			if !seen[d] {
				seen[d], all = true, append(all, d)
			}
		}
	}
	return all
}

// paperList lists the papers of a log's commit.
func paperList(commit plumbing.Hash, from fetch) (map[ledger.ID]plumbing.Hash, error) {
	c, err := from.commit(commit)
	if err != nil {
		return nil, err
	}
	root, err := from.tree(c.tree)
	if err != nil {
		return nil, err
	}
	all := map[ledger.ID]plumbing.Hash{}
	_, tree, err := checkRoot(root)
	if err != nil || tree.IsZero() {
		return all, err
	}
	folders, err := from.tree(tree)
	if err != nil {
		return nil, err
	}
	for _, folder := range folders {
		files, err := from.tree(folder.hash)
		if err != nil {
			return nil, err
		}
		for _, f := range files {
			if d, err := ledger.ParseID(f.name); err == nil {
				all[d] = f.hash
			}
		}
	}
	return all, nil
}

// given checks the papers that come with a run and returns those that the log
// lacks.
func (t *tip) given(lines [][]byte, data [][]byte, from fetch) ([]paper, error) {
	if len(data) == 0 {
		return nil, nil
	}
	names := named(lines)
	if err := t.readPapers(names, from); err != nil {
		return nil, err
	}
	var all []paper
	for _, d := range data {
		p := paper{sha256.Sum256(d), d}
		if err := checkPaper(p.digest, d); err != nil {
			return nil, fmt.Errorf("the paper %s: %w", p.digest.Short(), err)
		}
		if !slices.Contains(names, p.digest) {
			return nil, fmt.Errorf("no entry names the paper %s", p.digest.Short())
		}
		if !t.holdsPaper(p.digest) && !slices.ContainsFunc(all, func(q paper) bool { return q.digest == p.digest }) {
			all = append(all, p)
		}
	}
	if len(all) > 0 && !t.commit.IsZero() {
		held, err := paperList(t.commit, from)
		if err == nil && len(held)+len(all) > ledger.MaxPapers {
			return nil, fmt.Errorf("the log of %s has %d papers, and may have %d", t.log, len(held), ledger.MaxPapers)
		}
	}
	return all, nil
}
