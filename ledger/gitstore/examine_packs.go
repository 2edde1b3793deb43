package gitstore

import (
	"context"
	"crypto/sha1"
	"encoding/hex"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"io/fs"
	"os"
	"path"
	"slices"
	"strings"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/format/idxfile"
	"github.com/go-git/go-git/v5/plumbing/format/objfile"

	"shedbook/ledger"
)

// badPack is a packed file that is not what its checksums say.
type badPack struct {
	name   string // "pack-<hex>"
	whole  bool   // the file itself is; its list is missing or damaged
	listed bool   // its list is whole
}

// objectKinds are those that a book's repository holds.
var objectKinds = []plumbing.ObjectType{plumbing.CommitObject, plumbing.TreeObject, plumbing.BlobObject}

// readPacks holds every packed file to its checksums, and so to its bytes.
func (x *exam) readPacks() error {
	entries, err := os.ReadDir(x.s.git("objects", "pack"))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	has := map[string]bool{}
	for _, e := range entries {
		has[e.Name()] = true
	}
	skip := map[string]bool{}
	for _, e := range entries {
		ext := path.Ext(e.Name())
		name := strings.TrimSuffix(e.Name(), ext)
		if !strings.HasPrefix(name, packPrefix) || ext != ".pack" && (ext != ".idx" || has[name+".pack"]) {
			continue
		}
		if ext == ".idx" {
			continue // a list without its file: the next packing clears it away
		}
		b := badPack{name: name}
		b.whole = wholeFile(x.s.git("objects", "pack", name+".pack"))
		b.listed = has[name+".idx"] && wholeFile(x.s.git("objects", "pack", name+".idx")) && x.listIsOf(name)
		if b.whole && b.listed {
			continue
		}
		x.badPacks = append(x.badPacks, b)
		skip[name] = true
		what := Damage{Severity: ledger.Error, Code: CodePackIndex, Path: "git/objects/pack/" + name + ".idx", Mend: true}
		switch {
		case !b.whole:
			what.Code, what.Path = CodePack, "git/objects/pack/"+name+".pack"
			what.Message = fmt.Sprintf("the packed file %s is cut short or damaged", shortPack(what.Path))
		case has[name+".idx"]:
			what.Message = fmt.Sprintf("the list of what is in a packed file, %s, is damaged", shortPack(what.Path))
		default:
			what.Message = fmt.Sprintf("the list of what is in a packed file, %s, is missing", shortPack(what.Path))
		}
		x.found = append(x.found, what)
	}
	x.packs = x.s.openPacks()
	x.packs.skip = skip
	x.from = x.s.history(x.packs)
	return nil
}

// shortPack shortens the name of a packed file, of which a screen needs no 40 digits.
func shortPack(name string) string {
	dir, file := path.Split(name)
	ext := path.Ext(file)
	base := strings.TrimSuffix(file, ext)
	if len(base) <= len(packPrefix)+8 {
		return name
	}
	return dir + base[:len(packPrefix)+8] + "*" + ext
}

// wholeFile reports whether a file ends with the SHA-1 of what is before.
func wholeFile(name string) bool {
	f, err := os.Open(name)
	if err != nil {
		return false
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil || info.Size() <= 2*sha1.Size {
		return false
	}
	sum := sha1.New()
	if _, err := io.Copy(sum, io.NewSectionReader(f, 0, info.Size()-sha1.Size)); err != nil {
		return false
	}
	var end [sha1.Size]byte
	_, err = f.ReadAt(end[:], info.Size()-sha1.Size)
	return err == nil && [sha1.Size]byte(sum.Sum(nil)) == end
}

// listIsOf reports whether a pack's index can be read and names that pack.
func (x *exam) listIsOf(name string) bool {
	r, err := x.s.openPack(name)
	if err != nil {
		return false
	}
	defer r.file.Close()
	id, err := r.id()
	return err == nil && plumbing.Hash(r.index.PackfileChecksum) == id
}

// readPieces reads every loose object.
func (x *exam) readPieces() error {
	folders, err := os.ReadDir(x.s.git("objects"))
	if err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			return nil
		}
		return err
	}
	for _, folder := range folders {
		if len(folder.Name()) != 2 || !folder.IsDir() {
			continue
		}
		files, err := os.ReadDir(x.s.git("objects", folder.Name()))
		if err != nil {
			return err
		}
		for _, file := range files {
			hash, ok := parseHash(folder.Name() + file.Name())
			if !ok {
				continue
			}
			o, err := x.s.readLoose(hash)
			if err == nil {
				x.loose = append(x.loose, o)
				continue
			}
			if foreignPiece(x.s.loosePath(hash)) {
				continue // of a kind that no log has
			}
			rel := "git/objects/" + folder.Name() + "/" + file.Name()
			x.badPieces = append(x.badPieces, rel)
			if _, err := x.packs.get(hash); err != nil {
				x.needs[hash] = rel
			}
		}
	}
	return nil
}

// foreignPiece reports whether a loose object is whole, though of a size or kind
// that a log has not: someone else's.
func foreignPiece(name string) bool {
	f, err := os.Open(name)
	if err != nil {
		return false
	}
	defer f.Close()
	r, err := objfile.NewReader(f)
	if err != nil {
		return false
	}
	defer r.Close()
	kind, size, err := r.Header()
	if err != nil || size <= maxBytes[kind] {
		return false
	}
	n, err := io.Copy(io.Discard, io.LimitReader(r, size+1))
	return err == nil && n == size
}

// eachPacked calls f with every object of the packs, damaged ones as far as they
// can be read.
func (x *exam) eachPacked(s *Store, bad []badPack, f func(plumbing.ObjectType, []byte)) {
	skip := map[string]bool{}
	for _, b := range bad {
		skip[b.name] = true
		x.eachOfBad(s, b, f)
	}
	names, err := s.packNames()
	if err != nil {
		return
	}
	for _, name := range names {
		if !skip[name] {
			eachListed(s, name, f)
		}
	}
}

// eachListed reads the objects that a pack's list names; those that cannot be
// read are passed over.
func eachListed(s *Store, name string, f func(plumbing.ObjectType, []byte)) {
	r, err := s.openPack(name)
	if err != nil {
		return
	}
	defer r.file.Close()
	all, err := r.index.EntriesByOffset()
	if err != nil {
		return
	}
	defer all.Close()
	for {
		e, err := all.Next()
		if err != nil {
			return
		}
		if o, err := r.get(e.Hash); err == nil {
			f(o.kind, o.data)
		}
	}
}

// eachOfBad reads what can be read of a damaged pack: by its list where that is
// whole, else from its beginning on.
func (x *exam) eachOfBad(s *Store, b badPack, f func(plumbing.ObjectType, []byte)) {
	if b.listed {
		eachListed(s, b.name, f)
		return
	}
	q, err := rawPackFile(s.git("objects", "pack", b.name+".pack"))
	if err != nil {
		return
	}
	defer q.file.Close()
	for _, hash := range q.hashes() {
		if o, err := q.get(hash); err == nil {
			f(o.kind, o.data)
		}
	}
}

// rawPackFile reads through a pack without its list. Where it is damaged, what
// stands before that is known.
func rawPackFile(name string) (*quarantine, error) {
	file, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	q := scanPack(file)
	for _, kind := range objectKinds {
		if err := q.resolve(kind); err != nil {
			file.Close()
			return nil, err
		}
	}
	return q, nil
}

// scanPack reads through a pack; what it could not read is no more.
func scanPack(file *os.File) *quarantine {
	q := &quarantine{file: file, at: map[int64]int{}, index: map[plumbing.Hash]int{}, done: map[plumbing.ObjectType]bool{}}
	_ = q.scan(context.Background())
	return q
}

// hashes returns the ids of all objects known, in the order of the file.
func (q *quarantine) hashes() []plumbing.Hash {
	all := make([]plumbing.Hash, 0, len(q.index))
	for hash := range q.index {
		all = append(all, hash)
	}
	slices.SortFunc(all, func(a, b plumbing.Hash) int { return q.index[a] - q.index[b] })
	return all
}

// listPack makes the index of a pack that is whole.
func listPack(name string) (*idxfile.MemoryIndex, error) {
	q, err := rawPackFile(name)
	if err != nil {
		return nil, err
	}
	defer q.file.Close()
	if len(q.index) != len(q.entries) || len(q.entries) == 0 {
		return nil, fmt.Errorf("%d of %d parts of %q can be read", len(q.index), len(q.entries), name)
	}
	info, err := q.file.Stat()
	if err != nil {
		return nil, err
	}
	var trailer plumbing.Hash
	if _, err := q.file.ReadAt(trailer[:], info.Size()-sha1.Size); err != nil {
		return nil, err
	}
	var index idxfile.Writer
	if err := index.OnHeader(uint32(len(q.entries))); err != nil {
		return nil, err
	}
	for _, hash := range q.hashes() {
		i := q.index[hash]
		end := info.Size() - sha1.Size
		if i+1 < len(q.entries) {
			end = q.entries[i+1].offset
		}
		sum := crc32.NewIEEE()
		if _, err := io.Copy(sum, io.NewSectionReader(q.file, q.entries[i].offset, end-q.entries[i].offset)); err != nil {
			return nil, err
		}
		index.Add(hash, uint64(q.entries[i].offset), sum.Sum32())
	}
	if err := index.OnFooter(trailer); err != nil {
		return nil, err
	}
	return index.Index()
}

// borrows reads the folders from which git would read objects besides its own:
// one a line in objects/info/alternates.
func (s *Store) borrows() []string {
	data, err := os.ReadFile(s.git("objects", "info", "alternates"))
	if err != nil {
		return nil
	}
	var all []string
	for line := range strings.Lines(string(data)) {
		dir := strings.TrimRight(line, "\r\n")
		if dir == "" || strings.HasPrefix(dir, "#") {
			continue
		}
		if !path.IsAbs(dir) && !strings.Contains(dir, ":") {
			dir = s.git("objects") + "/" + dir
		}
		all = append(all, dir)
	}
	return all
}

// shortened reads at which commits a shortened copy ends.
func (s *Store) shortened() map[plumbing.Hash]bool {
	data, err := os.ReadFile(s.git("shallow"))
	if err != nil {
		return nil
	}
	all := map[plumbing.Hash]bool{}
	for line := range strings.Lines(string(data)) {
		if hash, err := hex.DecodeString(strings.TrimSpace(line)); err == nil && len(hash) == len(plumbing.ZeroHash) {
			all[plumbing.Hash(hash)] = true
		}
	}
	return all
}
