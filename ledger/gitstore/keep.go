package gitstore

import (
	"fmt"
	"os"
	"path"
	"path/filepath"

	"github.com/go-git/go-git/v5/plumbing"
)

// keptDir holds what a mending set aside, each in a numbered folder of its own:
// the files as they were, under the names they had in the book, and entries that
// have no place as plain lines. It is never synced and never cleared by itself.
const keptDir = "kept"

// keeper sets things aside. Its folder is made with the first of them.
type keeper struct {
	s   *Store
	dir string // "kept/3"; "" as long as nothing was set aside
}

// path returns where something goes, and makes the folders.
func (k *keeper) path(rel string) (string, error) {
	if k.dir == "" {
		n := 1
		for exists(k.s.path(keptDir, fmt.Sprint(n))) {
			n++
		}
		k.dir = path.Join(keptDir, fmt.Sprint(n))
	}
	full := k.s.path(filepath.FromSlash(k.dir), filepath.FromSlash(rel))
	if err := k.s.disk.mkdir(filepath.Dir(full)); err != nil {
		return "", err
	}
	return full, nil
}

// move sets a file of the book aside.
func (k *keeper) move(rel string) error {
	from := k.s.path(filepath.FromSlash(rel))
	if !exists(from) {
		return nil
	}
	to, err := k.path(rel)
	if err != nil {
		return err
	}
	if err := k.s.disk.syncFile(from); err != nil && !os.IsPermission(err) {
		return err
	}
	if err := k.s.disk.rename(from, to); err != nil {
		return err
	}
	if err := k.s.disk.syncDir(filepath.Dir(to)); err != nil {
		return err
	}
	return k.s.disk.syncDir(filepath.Dir(from))
}

// write keeps lines or a copy.
func (k *keeper) write(rel string, data []byte) error {
	to, err := k.path(rel)
	if err != nil {
		return err
	}
	return k.s.disk.replace(to, data, true)
}

// finish forces the names of the folders to the medium.
func (k *keeper) finish() error {
	if k.dir == "" {
		return nil
	}
	for _, dir := range []string{k.s.path(filepath.FromSlash(k.dir)), k.s.path(keptDir), k.s.path()} {
		if err := k.s.disk.syncDir(dir); err != nil {
			return err
		}
	}
	return nil
}

// foundName is where a commit that lost its place stays held.
func foundName(commit plumbing.Hash) string {
	return "refs/shedbook/found/" + commit.String()[:16]
}
