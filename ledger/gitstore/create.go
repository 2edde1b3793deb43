package gitstore

import (
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	git "github.com/go-git/go-git/v5"
	"github.com/go-git/go-git/v5/plumbing"

	"shedbook/ledger"
)

// unfinishedFile stands in a folder while [Create] works in it, so that an
// interrupted one can be told from a book and begun again.
const unfinishedFile = "unfinished"

// Create makes the folder of a new book in dir: a folder that does not exist
// or is empty. The book's id is that of its founding entry, which the caller
// appends next. On failure nothing is left behind. The result is durable: a
// power cut after Create returned does not undo it.
func Create(dir string, id ledger.ID) (*Store, error) {
	return create(disk{}, dir, id, nil)
}

// Found is Create for a book that has its first entries and settings from the
// start: fill writes them. Until it has, and if it returns an error, there is no
// book in dir, and another Found or Create begins anew.
func Found(dir string, id ledger.ID, fill func(*Store) error) (*Store, error) {
	return create(disk{}, dir, id, fill)
}

func create(d disk, dir string, id ledger.ID, fill func(*Store) error) (*Store, error) {
	if id.IsZero() {
		return nil, errors.New("a book needs the id of its founding entry")
	}
	if err := checkEmpty(dir); err != nil {
		return nil, err
	}
	made := firstMissing(dir)
	if err := build(d, dir, id, fill); err != nil {
		if cerr := clear(dir); cerr == nil && made != "" {
			os.RemoveAll(made)
		}
		return nil, fmt.Errorf("cannot start a book in %q: %w", dir, err)
	}
	return open(d, dir)
}

// build fills dir: the marker first, then local.toml and what fill adds, and at
// last the marker goes.
func build(d disk, dir string, id ledger.ID, fill func(*Store) error) error {
	if err := d.mkdir(dir); err != nil {
		return err
	}
	marker := filepath.Join(dir, unfinishedFile)
	if _, err := os.Lstat(marker); err == nil {
		if err := clear(dir); err != nil {
			return err
		}
	}
	f, err := d.create(marker, 0o666)
	if err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	for _, sub := range []string{pendingDir, seenDir, cacheDir} {
		if err := d.mkdir(filepath.Join(dir, sub)); err != nil {
			return err
		}
	}
	if err := d.at("init", filepath.Join(dir, gitDir)); err != nil {
		return err
	}
	if err := initRepository(filepath.Join(dir, gitDir)); err != nil {
		return err
	}
	mark := make([]byte, 16)
	rand.Read(mark)
	local := Local{Version: storeVersion, Book: id.String(), Mark: hex.EncodeToString(mark)}
	if err := writeLocal(d, filepath.Join(dir, localFile), local); err != nil {
		return err
	}
	if fill != nil {
		if err := fill(newStore(d, dir, local)); err != nil {
			return err
		}
	}
	if err := d.syncTree(dir); err != nil {
		return err
	}
	if err := d.syncDir(filepath.Dir(filepath.Clean(dir))); err != nil {
		return err
	}
	if err := d.remove(marker); err != nil {
		return err
	}
	return d.syncDir(dir)
}

// initRepository makes the bare repository. Nothing in it may be tidied away
// behind our back, and whoever sends to it may only add.
func initRepository(dir string) error {
	repo, err := git.PlainInitWithOptions(dir, &git.PlainInitOptions{
		Bare: true,
		// Replaced by the founder's log with the first append.
		InitOptions: git.InitOptions{DefaultBranch: plumbing.ReferenceName(refPrefix + "none")},
	})
	if err != nil {
		return err
	}
	config, err := repo.Config()
	if err != nil {
		return err
	}
	for _, o := range [][3]string{
		{"gc", "auto", "0"},
		{"maintenance", "auto", "false"},
		{"receive", "denyNonFastForwards", "true"},
		{"receive", "denyDeletes", "true"},
	} {
		config.Raw.Section(o[0]).SetOption(o[1], o[2])
	}
	if err := repo.SetConfig(config); err != nil {
		return err
	}
	for _, sub := range []string{"objects/pack", "refs/heads/log"} {
		if err := os.MkdirAll(filepath.Join(dir, filepath.FromSlash(sub)), 0o777); err != nil {
			return err
		}
	}
	return nil
}

// checkEmpty refuses a folder that holds anything but what an interrupted
// Create left.
func checkEmpty(dir string) error {
	entries, err := os.ReadDir(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return fmt.Errorf("cannot start a book in %q: %w", dir, err)
	case len(entries) == 0:
		return nil
	case IsBook(dir):
		return fmt.Errorf("cannot start a book in %q: there is one already", dir)
	}
	if _, err := os.Lstat(filepath.Join(dir, unfinishedFile)); err != nil {
		return fmt.Errorf("cannot start a book in %q: the folder is not empty (it holds %q); name a new or an empty one", dir, entries[0].Name())
	}
	for _, e := range entries {
		if !ours[e.Name()] {
			return fmt.Errorf("cannot start a book in %q: the folder is not empty (it holds %q); name a new or an empty one", dir, e.Name())
		}
	}
	return nil
}

// ours are the names Create makes.
var ours = map[string]bool{
	gitDir: true, pendingDir: true, seenDir: true, cacheDir: true, lockFile: true,
	localFile: true, localFile + ".tmp": true, unfinishedFile: true,
}

// clear removes what Create makes, the marker last.
func clear(dir string) error {
	for _, name := range []string{localFile, localFile + ".tmp", gitDir, pendingDir, seenDir, cacheDir, lockFile, unfinishedFile} {
		if err := os.RemoveAll(filepath.Join(dir, name)); err != nil {
			return err
		}
	}
	return nil
}

// firstMissing returns the topmost folder of dir that does not exist, "" if
// all do.
func firstMissing(dir string) string {
	missing := ""
	for path := filepath.Clean(dir); ; path = filepath.Dir(path) {
		if _, err := os.Lstat(path); err == nil {
			return missing
		}
		missing = path
		if path == filepath.Dir(path) {
			return missing
		}
	}
}
