package gitstore

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/go-git/go-git/v5/plumbing"
)

// cache/<log> holds copies of the objects that [readTip] reads, so that a write
// opens no pack, however large the book. Its objects are found by their hash,
// so a stale or damaged file is merely of no use. It may be deleted at any time.

// readCache returns the cached objects of a log, by hash.
func (s *Store) readCache(log string) map[plumbing.Hash]object {
	held := map[plumbing.Hash]object{}
	data, err := os.ReadFile(s.path(cacheDir, log))
	if err != nil {
		return held
	}
	for len(data) > 0 {
		line, rest, ok := bytes.Cut(data, []byte("\n"))
		kindText, sizeText, ok2 := strings.Cut(string(line), " ")
		kind, err := plumbing.ParseObjectType(kindText)
		size, err2 := strconv.Atoi(sizeText)
		if !ok || !ok2 || err != nil || err2 != nil || size < 0 || size > len(rest) {
			break
		}
		o := newObject(kind, rest[:size], "")
		held[o.hash] = o
		data = rest[size:]
	}
	return held
}

// writeCache keeps objects as the cache of a log. It is a convenience only:
// nothing is reported if it cannot be written.
func (s *Store) writeCache(log string, objects []object) {
	var out bytes.Buffer
	for _, o := range objects {
		fmt.Fprintf(&out, "%s %d\n", o.kind, len(o.data))
		out.Write(o.data)
	}
	_ = s.disk.replace(s.path(cacheDir, log), out.Bytes(), false)
}

// tipFetch reads the objects of a log's tip: loose ones, cached ones, and only
// then packs. What it read is kept in read; fromPacks tells whether a pack had
// to be opened.
type tipFetch struct {
	s         *Store
	cached    map[plumbing.Hash]object
	packs     *packs
	read      []object
	fromPacks bool
}

func (t *tipFetch) get(hash plumbing.Hash) (object, error) {
	o, err := t.s.readLoose(hash)
	if err != nil {
		var ok bool
		if o, ok = t.cached[hash]; !ok {
			if o, err = t.packs.get(hash); err != nil {
				return object{}, err
			}
			t.fromPacks = true
		}
	}
	t.read = append(t.read, o)
	return o, nil
}

// Kept returns what [Store.Keep] last kept under a name, nil where there is nothing.
func (s *Store) Kept(name string) []byte {
	data, err := os.ReadFile(s.path(cacheDir, name+keptExt))
	if err != nil {
		return nil
	}
	return data
}

// KeptIn is the file in which [Store.Keep] keeps what has a name, of the book in dir: for whoever wants to read it without opening the book.
func KeptIn(dir, name string) string { return filepath.Join(dir, cacheDir, name+keptExt) }

// Keep keeps what was worked out from the book, for the next command on this device to find again. It may be gone or stale at any time, and nothing is reported
// where it cannot be written: who keeps something must be able to tell whether it still holds.
func (s *Store) Keep(name string, data []byte) {
	_ = s.disk.replace(s.path(cacheDir, name+keptExt), data, false)
}

// keptExt ends the names of what is kept: no log is called so.
const keptExt = ".kept"
