package gitstore

import (
	"bufio"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/format/idxfile"
)

// Packing is due after this many runs or bytes pending, or this many packs.
const (
	packRuns  = 200
	packBytes = 4 << 20
	packPacks = 20
)

func (s *Store) packIsDue(p pending) (bool, error) {
	if len(p.records) >= s.packRuns || p.good >= packBytes || p.paperBytes() >= packPaperBytes {
		return true, nil
	}
	names, err := s.packNames()
	return len(names) > packPacks, err
}

// Pack moves what is pending into a pack, deletes the loose objects that lie in
// packs, and merges small packs. It happens by itself at the end of an update,
// after 200 runs or 20 packs; it may be called at any time.
func (s *Store) Pack() error {
	unlock, err := s.lock()
	if err != nil {
		return err
	}
	defer unlock()
	if _, err := s.recover(); err != nil {
		return err
	}
	return s.pack()
}

// pack does the work. The caller holds the lock and has recovered.
func (s *Store) pack() error {
	p, err := s.readPending()
	if err != nil {
		return err
	}
	refs, err := s.references()
	if err != nil {
		return err
	}
	st, err := s.fold(p, refs)
	if err != nil {
		return err
	}
	g := &gathering{s: s, made: map[plumbing.Hash]object{}, seen: map[plumbing.Hash]bool{}}
	packs := s.openPacks()
	defer packs.close()
	r := &recovery{s: s, st: st, packs: packs, from: s.history(packs)}
	var tips []*tip
	for _, name := range sortedNames(st.logs) {
		l := st.logs[name]
		if ref := refs[name]; ref != l.tip() {
			if ahead, err := r.contains(ref, l.tip()); err != nil || !ahead {
				return fmt.Errorf("the log of %s is not in its place yet", name)
			}
		}
		if len(l.runs) == 0 {
			continue
		}
		end, objects, err := s.replay(l, r.from)
		if err != nil {
			return err
		}
		tips = append(tips, end)
		for _, o := range objects {
			g.made[o.hash] = o
			g.order = append(g.order, o)
		}
	}
	for _, name := range sortedNames(refs) {
		g.walk(name, refs[name])
	}
	fresh, err := s.notPacked(g.order)
	if err != nil {
		return err
	}
	if len(fresh) > 0 {
		if _, err := s.writePack(fresh); err != nil {
			return err
		}
	}
	packs.close()
	if len(p.records) > 0 {
		for name := range p.logs() {
			if err := s.syncReference(name); err != nil {
				return err
			}
		}
		if err := s.dropPending(&p); err != nil {
			return err
		}
	}
	for _, t := range tips {
		s.cacheTip(t, g.made)
	}
	if err := s.removeLoose(g.order); err != nil {
		return err
	}
	return s.mergePacks()
}

// gathering collects the objects to pack: those made from pending runs, and
// any other loose one that a log reaches.
type gathering struct {
	s     *Store
	made  map[plumbing.Hash]object
	seen  map[plumbing.Hash]bool
	order []object
}

// walk follows a log back as far as its objects are loose. One that is not
// loose is packed, and so is what it reaches.
func (g *gathering) walk(log string, commit plumbing.Hash) {
	for at := commit; !at.IsZero(); {
		o, ok := g.visit(at, log)
		if !ok {
			return
		}
		c, err := parseCommit(o.data)
		if err != nil {
			return
		}
		g.walkTree(c.tree, log+"/")
		at = c.parent
	}
}

func (g *gathering) walkTree(tree plumbing.Hash, group string) {
	o, ok := g.visit(tree, group)
	if !ok {
		return
	}
	entries, err := parseTree(o.data)
	if err != nil {
		return
	}
	for _, e := range entries {
		below := group + "/" + e.name
		if e.isFolder() {
			g.walkTree(e.hash, below)
		} else {
			g.visit(e.hash, below)
		}
	}
}

func (g *gathering) visit(hash plumbing.Hash, group string) (object, bool) {
	if g.seen[hash] {
		return object{}, false
	}
	g.seen[hash] = true
	if o, ok := g.made[hash]; ok {
		return o, true
	}
	o, err := g.s.readLoose(hash)
	if err != nil {
		return object{}, false // packed; or damaged, and then left where it is
	}
	o.group = group
	g.order = append(g.order, o)
	return o, true
}

// notPacked returns those of objects that no pack holds yet. Where another
// program packed some, its packs are forced to the medium, as what is pending
// is about to rest on them.
func (s *Store) notPacked(objects []object) (fresh []object, err error) {
	for range 5 {
		fresh, err = s.notPackedNow(objects)
		if !errors.Is(err, fs.ErrNotExist) {
			break
		}
		// Packs were replaced by other ones meanwhile: look again.
	}
	return fresh, err
}

func (s *Store) notPackedNow(objects []object) ([]object, error) {
	packs := s.openPacks()
	defer packs.close()
	if err := packs.scan(); err != nil {
		return nil, err
	}
	var fresh []object
	for _, o := range objects {
		held, err := packs.find(o.hash)
		if err != nil || held.kind != o.kind || string(held.data) != string(o.data) {
			fresh = append(fresh, o)
		}
	}
	if len(fresh) == len(objects) {
		return fresh, nil
	}
	for _, name := range sortedNames(packs.open) {
		for _, ext := range []string{".pack", ".idx"} {
			if err := s.disk.syncFile(s.git("objects", "pack", name+ext)); err != nil {
				return nil, err
			}
		}
	}
	return fresh, s.disk.syncDir(s.git("objects", "pack"))
}

// writePack writes objects as one pack, older versions as deltas of the last
// one of their group, and returns its name once it is durable and read back.
func (s *Store) writePack(objects []object) (name string, err error) {
	m := newMerger(s)
	defer m.close()
	m.extra = objects
	return m.write()
}

// createPackFile makes a temporary file among the packs.
func (s *Store) createPackFile(path string) (*os.File, error) {
	if dir := filepath.Dir(path); !exists(dir) {
		if err := s.disk.mkdir(dir); err != nil {
			return nil, err
		}
	}
	return s.disk.createTemp(path, 0o444)
}

// installPack gives a pack that was read back its index and its name, durably.
//
// The index gets its name first: git looks for indexes, and passes over one
// whose pack is not there yet; this package needs both.
func (s *Store) installPack(temp string, index *idxfile.MemoryIndex) (string, error) {
	tempIndex := s.temp(s.git("objects", "pack"), "idx")
	if err := s.writeIndex(tempIndex, index); err != nil {
		os.Remove(tempIndex)
		return "", err
	}
	checksum := plumbing.Hash(index.PackfileChecksum)
	name := packPrefix + checksum.String()
	if err := s.disk.rename(tempIndex, s.git("objects", "pack", name+".idx")); err != nil {
		return "", err
	}
	if err := s.disk.rename(temp, s.git("objects", "pack", name+".pack")); err != nil {
		return "", err
	}
	if err := s.disk.syncDir(s.git("objects", "pack")); err != nil {
		return "", err
	}
	r, err := s.openPack(name)
	if err != nil {
		return "", err
	}
	defer r.file.Close()
	if id, err := r.id(); err != nil || id != checksum {
		return "", errors.New("a pack did not read back under its name")
	}
	return name, nil
}

func (s *Store) writeIndex(path string, index *idxfile.MemoryIndex) error {
	f, err := s.createPackFile(path)
	if err != nil {
		return err
	}
	defer f.Close()
	if err := s.disk.at("write", path); err != nil {
		return err
	}
	w := bufio.NewWriter(f)
	if _, err := idxfile.NewEncoder(w).Encode(index); err != nil {
		return err
	}
	if err := w.Flush(); err != nil {
		return err
	}
	return s.disk.sync(f)
}

// syncReference forces a log's reference, loose or packed, to the medium.
func (s *Store) syncReference(name string) error {
	for _, path := range []string{s.git("refs", "heads", "log", name), s.git("packed-refs")} {
		if err := s.disk.syncFile(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return nil
}

// removeLoose deletes loose objects that lie in a pack that was read back.
func (s *Store) removeLoose(objects []object) error {
	for _, o := range objects {
		if err := s.disk.remove(s.loosePath(o.hash)); err != nil {
			return err
		}
	}
	return nil
}

// cacheTip keeps the objects of a log's tip at hand, now that they are packed.
func (s *Store) cacheTip(t *tip, made map[plumbing.Hash]object) {
	f := &tipFetch{s: s, cached: made, packs: s.openPacks()}
	defer f.packs.close()
	if _, err := readTip(t.log, t.commit, f.get); err == nil {
		s.writeCache(t.log, f.read)
	}
}
