package gitstore

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/go-git/go-git/v5/plumbing"
)

func (t *folderTarget) send(ctx context.Context, p *parcel) (map[string]error, error) {
	if err := t.writeObjects(p); err != nil {
		return nil, fmt.Errorf("cannot write to the folder %q: %w", t.dir, err)
	}
	done := map[string]error{}
	for _, m := range p.moves {
		if err := ctx.Err(); err != nil {
			return done, err
		}
		err := t.move(m.log, t.there[m.log], m.new, func(held plumbing.Hash) bool {
			return p.all || p.objects[held]
		})
		var busy *BusyError
		var moved *movedError
		if err != nil && !errors.As(err, &busy) && !errors.As(err, &moved) {
			// The folder takes no more: what follows cites what is not there.
			return done, fmt.Errorf("cannot write to the folder %q: %w", t.dir, err)
		}
		done[m.log] = err
	}
	if names, err := t.repo.packNames(); err == nil && len(names) > packPacks && t.repo.dir == t.dir {
		// What was sent is there; that it could lie tighter is for next time.
		_ = t.repo.mergeSmall()
	}
	return done, nil
}

// writeObjects writes one pack.
func (t *folderTarget) writeObjects(p *parcel) error {
	m := newMerger(t.repo)
	m.from, m.extra = p.from, p.made
	m.whole = p.from.openPacks()
	defer m.close()
	if err := p.load(m); err != nil {
		return err
	}
	if m.count() == 0 {
		return nil
	}
	_, err := m.write()
	return err
}

// load opens the packs of what is sent, and adds what lies in none.
func (p *parcel) load(m *merger) error {
	for try := range 4 { // whoever records meanwhile may be merging packs
		names, err := p.from.packNames()
		for _, name := range names {
			if err == nil {
				err = m.open(name)
			}
		}
		if err == nil {
			break
		}
		if try == 3 || !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		for _, pack := range m.packs {
			pack.file.Close()
		}
		m.packs = nil
	}
	if p.all {
		return nil
	}
	m.only = p.objects
	packed := map[plumbing.Hash]bool{}
	for _, pack := range m.packs {
		for _, e := range pack.entries {
			packed[e.Hash] = true
		}
	}
	for hash := range p.objects {
		if packed[hash] {
			continue
		}
		o, err := p.from.readLoose(hash)
		if err != nil {
			return err
		}
		m.extra = append(m.extra, o)
	}
	slices.SortFunc(m.extra, func(a, b object) int { return bytes.Compare(a.hash[:], b.hash[:]) })
	return nil
}

// move moves a reference as git does. A lock that outlasts the wait was left by
// a device that was cut off; if what it was about to write is in what was just
// sent, or nothing readable, it never will be missed and is taken away. It is
// no harm if that device lives: its own last step then fails.
func (t *folderTarget) move(log string, old, new plumbing.Hash, sent func(plumbing.Hash) bool) error {
	d := t.repo.disk
	dir := t.repo.git("refs", "heads", "log")
	path, lock := filepath.Join(dir, log), filepath.Join(dir, log+".lock")
	if err := d.mkdir(dir); err != nil {
		return err
	}
	var f *os.File
	tired, patience := false, time.After(t.repo.patience)
	for {
		var err error
		if f, err = d.create(lock, 0o666); err == nil {
			break
		}
		if !errors.Is(err, fs.ErrExist) {
			return err
		}
		if tired {
			left, err := readSmall(lock, maxRefBytes)
			if err != nil && !errors.Is(err, fs.ErrNotExist) {
				return err
			}
			held, whole := parseHash(strings.TrimSpace(string(left)))
			if err == nil && whole && held != new && !sent(held) {
				return &BusyError{Log: log, Path: lock}
			}
			if err := d.remove(lock); err != nil {
				return err
			}
			continue
		}
		select {
		case <-patience:
			tired = true
		case <-time.After(10 * time.Millisecond):
		}
	}
	err := d.write(f, []byte(new.String()+"\n"))
	if err == nil {
		if found := t.reference(log); found != old && found != new {
			err = &movedError{log: log, expected: old, found: found}
		}
	}
	if err == nil {
		err = d.sync(f)
	}
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err == nil {
		err = d.rename(lock, path)
	}
	if err != nil {
		os.Remove(lock)
		if t.reference(log) == new { // another device was about to say the same
			return nil
		}
		return err
	}
	for _, up := range []string{dir, t.repo.git("refs", "heads"), t.repo.git("refs"), t.repo.git()} {
		if err := d.syncDir(up); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return nil
}

// reference reads where a log ends now; zero where that cannot be read.
func (t *folderTarget) reference(log string) plumbing.Hash {
	data, err := readSmall(t.repo.git("refs", "heads", "log", log), maxRefBytes)
	if err == nil {
		hash, _ := parseHash(strings.TrimSpace(string(data)))
		return hash
	}
	l := &listing{logs: map[string]plumbing.Hash{}}
	if err := t.listPacked(l, func(string, string) {}); err != nil {
		return plumbing.ZeroHash
	}
	return l.logs[log]
}

func (t *folderTarget) show(log string) bool {
	d, path := t.repo.disk, t.repo.git("HEAD")
	content := []byte("ref: " + refPrefix + log + "\n")
	temp := path + "." + t.repo.visitor + ".tmp"
	f, err := d.createTemp(temp, 0o666)
	if err != nil {
		return false
	}
	err = d.write(f, content)
	if err == nil {
		err = d.sync(f)
	}
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err == nil {
		err = d.rename(temp, path)
	}
	if err != nil {
		os.Remove(temp)
		return false
	}
	return d.syncDir(t.repo.git()) == nil
}

// plainCause says what went wrong without the name of the system call.
func plainCause(err error) string {
	var path *fs.PathError
	if errors.As(err, &path) {
		return fmt.Sprintf("%q: %v", path.Path, path.Err)
	}
	return err.Error()
}
