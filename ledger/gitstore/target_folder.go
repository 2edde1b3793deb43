package gitstore

import (
	"bufio"
	"bytes"
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"time"

	"github.com/go-git/go-git/v5/plumbing"
)

// folderTarget is a bare repository in a folder, perhaps on a USB stick:
// nothing is taken from the case of names, times of files or links, and whoever
// pulls it out leaves it whole: one pack is written, fsynced and renamed, and
// the references are moved after that.
type folderTarget struct {
	dir   string // as typed, absolute
	repo  *Store // with a visitor
	packs *packs
	there map[string]plumbing.Hash // as listed, also what is lost
	made  bool                     // by us, just now
}

// openFolder opens the target in dir. A folder that is empty, or not there
// while the one above it is, becomes a target if create is set.
func openFolder(d disk, patience time.Duration, dir, mark string, create bool) (*folderTarget, error) {
	if mark == "" {
		mark = "join"
	}
	t := &folderTarget{dir: dir, repo: &Store{dir: dir, disk: d, patience: patience, visitor: mark}}
	if IsBook(dir) {
		t.repo.dir = filepath.Join(dir, gitDir)
	}
	info, err := os.Stat(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		if _, err := os.Stat(filepath.Dir(dir)); err != nil || !create {
			return nil, noExchange(dir, fs.ErrNotExist, "there is no such folder; is the stick plugged in?")
		}
		if err := d.mkdir(dir); err != nil {
			return nil, noExchange(dir, err, "the folder cannot be made: %v", plainCause(err))
		}
	case err != nil:
		return nil, noExchange(dir, err, "%v", plainCause(err))
	case !info.IsDir():
		return nil, noExchange(dir, nil, "it is a file and not a folder")
	}
	if isRepository(t.repo.dir) {
		t.packs = t.repo.openPacks()
		return t, nil
	}
	if err := t.begin(create); err != nil {
		return nil, err
	}
	t.packs = t.repo.openPacks()
	return t, nil
}

// isRepository reports whether dir is a finished bare repository.
func isRepository(dir string) bool {
	head, err := os.Stat(filepath.Join(dir, "HEAD"))
	if err != nil || !head.Mode().IsRegular() || exists(filepath.Join(dir, unfinishedFile)) {
		return false
	}
	objects, err := os.Stat(filepath.Join(dir, "objects"))
	return err == nil && objects.IsDir()
}

// targetNames are the names that making a target makes.
var targetNames = map[string]bool{"HEAD": true, "config": true, "config.lock": true, "objects": true, "refs": true, idFile: true, unfinishedFile: true}

// begin makes an empty folder a target, durably. What an interrupted attempt
// left is cleared first.
func (t *folderTarget) begin(create bool) error {
	d, dir := t.repo.disk, t.dir
	entries, err := os.ReadDir(dir)
	if err != nil {
		return noExchange(dir, err, "%v", plainCause(err))
	}
	unfinished := exists(filepath.Join(dir, unfinishedFile))
	for _, e := range entries {
		if !unfinished || !targetNames[e.Name()] {
			return noExchange(dir, nil, "the folder holds other things (%q) and no logs; name the right folder, or an empty one", e.Name())
		}
	}
	if !create {
		return noExchange(dir, nil, "the folder is empty: there is no book in it")
	}
	fail := func(err error) error {
		return noExchange(dir, err, "the folder cannot be written to: %v", plainCause(err))
	}
	if !unfinished {
		f, err := d.create(filepath.Join(dir, unfinishedFile), 0o666)
		if err != nil {
			return fail(err)
		}
		f.Close()
	}
	for _, e := range entries {
		if e.Name() != unfinishedFile {
			if err := os.RemoveAll(filepath.Join(dir, e.Name())); err != nil {
				return fail(err)
			}
		}
	}
	if err := d.at("init", dir); err != nil {
		return fail(err)
	}
	if err := initRepository(dir); err != nil {
		return fail(err)
	}
	id := make([]byte, 16)
	rand.Read(id)
	f, err := d.create(filepath.Join(dir, idFile), 0o666)
	if err == nil {
		err = d.write(f, []byte(hex.EncodeToString(id)+"\n"))
		if cerr := f.Close(); err == nil {
			err = cerr
		}
	}
	if err != nil {
		return fail(err)
	}
	if err := d.syncTree(dir); err != nil {
		return fail(err)
	}
	if err := d.remove(filepath.Join(dir, unfinishedFile)); err != nil {
		return fail(err)
	}
	if err := d.syncDir(dir); err != nil {
		return fail(err)
	}
	t.made = true
	return nil
}

func (t *folderTarget) name() string { return t.dir }

// idFile, in a target that we made, holds its own random name.
const idFile = "shedbook-target"

var targetID = regexp.MustCompile(`^[0-9a-f]{32}$`)

func (t *folderTarget) id() string {
	if t.repo.dir != t.dir {
		if local, err := LocalOf(t.dir); err == nil {
			return local.Mark
		}
		return ""
	}
	data, err := readSmall(t.repo.git(idFile), maxRefBytes)
	if id := strings.TrimSpace(string(data)); err == nil && targetID.MatchString(id) {
		return id
	}
	return ""
}

func (t *folderTarget) begun() bool { return t.made }

func (t *folderTarget) close() { t.packs.close() }

// maxRefBytes is more than any reference or its lock holds.
const maxRefBytes = 1 << 10

// readSmall reads a file that must be a plain one and small.
func readSmall(path string, limit int64) ([]byte, error) {
	info, err := os.Lstat(path)
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, errors.New("it is not a plain file")
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, limit+1))
	if err == nil && int64(len(data)) > limit {
		err = fmt.Errorf("it has more than %d bytes", limit)
	}
	return data, err
}

func (t *folderTarget) list(context.Context) (*listing, error) {
	l := &listing{logs: map[string]plumbing.Hash{}}
	refuse := func(name, why string) {
		l.refused = append(l.refused, Refusal{Log: name, Why: why})
	}
	entries, err := os.ReadDir(t.repo.git("refs", "heads", "log"))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, noExchange(t.dir, err, "%v", plainCause(err))
	}
	for _, e := range entries {
		name := e.Name()
		if strings.HasSuffix(name, ".lock") || strings.Contains(name, ".lock_") {
			continue
		}
		if checkName(name) != nil {
			refuse(name, whyNoName)
			continue
		}
		data, err := readSmall(t.repo.git("refs", "heads", "log", name), maxRefBytes)
		if err != nil {
			refuse(name, plainCause(err))
			continue
		}
		// One that cannot be read was cut by a power failure: it is lost.
		l.logs[name], _ = parseHash(string(bytes.TrimRight(data, " \t\r\n")))
	}
	if err := t.listPacked(l, refuse); err != nil {
		return nil, err
	}
	t.there = map[string]plumbing.Hash{}
	for name, hash := range l.logs {
		t.there[name] = hash
		if !hash.IsZero() && !t.holds(hash) {
			l.logs[name] = plumbing.ZeroHash
		}
	}
	if head, err := readSmall(t.repo.git("HEAD"), maxRefBytes); err == nil {
		if name, ok := bytes.CutPrefix(bytes.TrimSpace(head), []byte("ref: "+refPrefix)); ok {
			l.shown = string(name)
		}
	}
	return l, nil
}

// maxPackedRefs bounds git's list of references: a book has at most maxLogs.
const maxPackedRefs = 16 << 20

func (t *folderTarget) listPacked(l *listing, refuse func(name, why string)) error {
	data, err := readSmall(t.repo.git("packed-refs"), maxPackedRefs)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return noExchange(t.dir, err, "its list of logs cannot be read: %v", plainCause(err))
	}
	for lines := bufio.NewScanner(bytes.NewReader(data)); lines.Scan(); {
		id, full, ok := strings.Cut(lines.Text(), " ")
		name, log := strings.CutPrefix(full, refPrefix)
		if !ok || !log {
			continue
		}
		if checkName(name) != nil {
			refuse(name, whyNoName)
		} else if _, loose := l.logs[name]; !loose {
			l.logs[name], _ = parseHash(id)
		}
	}
	return nil
}

const whyNoName = "it is not the name of a log"

// holds reports whether an object is there at all; its content is checked when
// it is read.
func (t *folderTarget) holds(hash plumbing.Hash) bool {
	if exists(t.repo.loosePath(hash)) {
		return true
	}
	if t.packs.contains(hash) {
		return true
	}
	if err := t.packs.scan(); err != nil {
		return false
	}
	return t.packs.contains(hash)
}

func (t *folderTarget) fetch(_ context.Context, w *wish) (map[string]fetched, error) {
	all := map[string]fetched{}
	for _, name := range w.logs {
		all[name] = fetched{from: t.repo.history(t.packs)}
	}
	return all, nil
}
