package gitstore

import (
	"os"
	"slices"
	"sync/atomic"

	"github.com/go-git/go-git/v5/plumbing"
)

// closed reports whether everything that any commit or folder names is held: then
// every state of every log is, and none needs to be walked.
func (x *exam) closed() bool {
	pieces := make(map[plumbing.Hash]bool, len(x.loose))
	for _, o := range x.loose {
		pieces[o.hash] = true
	}
	if x.packs.scan() != nil {
		return false
	}
	holds := func(hash plumbing.Hash) bool { return hash.IsZero() || pieces[hash] || x.packs.contains(hash) }
	commit := func(data []byte) bool {
		c, err := parseCommit(data)
		return err == nil && holds(c.tree) && holds(c.parent)
	}
	folder := func(data []byte) bool {
		entries, err := parseTree(data)
		return err == nil && !slices.ContainsFunc(entries, func(e treeEntry) bool { return !holds(e.hash) })
	}
	for _, o := range x.loose {
		if o.kind == plumbing.CommitObject && !commit(o.data) || o.kind == plumbing.TreeObject && !folder(o.data) {
			return false
		}
	}
	for _, name := range sortedNames(x.packs.open) {
		file, err := os.Open(x.s.git("objects", "pack", name+".pack"))
		if err != nil {
			return false
		}
		q := scanPack(file)
		var open atomic.Bool
		for kind, whole := range map[plumbing.ObjectType]func([]byte) bool{plumbing.CommitObject: commit, plumbing.TreeObject: folder} {
			err := q.each(kind, func(data []byte) {
				if !open.Load() && !whole(data) {
					open.Store(true)
				}
			})
			if err != nil {
				open.Store(true)
			}
		}
		file.Close()
		if open.Load() {
			return false
		}
	}
	return true
}
