package gitstore

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"sort"
	"strings"
)

// mergePacks merges the smallest packs so that each remaining one holds at
// least twice what all smaller ones hold together: there are then few packs,
// and each object is copied a few times in its life. The old packs are removed
// once the new one has been read back.
func (s *Store) mergePacks() error {
	if exists(s.git("objects", "pack", "multi-pack-index")) {
		return nil // git's own index over all packs would then name packs that are gone
	}
	if err := s.removeLeftovers(); err != nil {
		return err
	}
	return s.mergeSmall()
}

// mergeSmall is mergePacks where other devices may be at work: a name without
// its pack may be half of what one of them is doing.
func (s *Store) mergeSmall() error {
	if exists(s.git("objects", "pack", "multi-pack-index")) {
		return nil
	}
	names, err := s.smallPacks()
	if err != nil || len(names) < 2 {
		return err
	}
	m := newMerger(s)
	defer m.close()
	for _, name := range names {
		if err := m.open(name); errors.Is(err, fs.ErrNotExist) {
			return nil // git's own housekeeping is at the same work: the next write looks again
		} else if err != nil {
			return fmt.Errorf("cannot read what is packed: %w", err)
		}
	}
	if err := m.tighten(); err != nil {
		return fmt.Errorf("cannot read what is packed: %w", err)
	}
	merged, err := m.write()
	if err != nil {
		return err
	}
	for _, name := range names {
		if name != merged {
			if err := s.removePack(name); err != nil {
				return err
			}
		}
	}
	return s.disk.syncDir(s.git("objects", "pack"))
}

// smallPacks returns the packs to merge: the longest row of smallest ones whose
// largest holds less than twice what the others hold.
func (s *Store) smallPacks() ([]string, error) {
	names, err := s.packNames()
	if err != nil {
		return nil, err
	}
	type sizedPack struct {
		name  string
		count int64
	}
	var packs []sizedPack
	for _, name := range names {
		if special := exists(s.git("objects", "pack", name+".keep")) ||
			exists(s.git("objects", "pack", name+".promisor")) ||
			exists(s.git("objects", "pack", name+".mtimes")); special {
			continue
		}
		count, err := s.packCount(name)
		if err != nil {
			continue // just removed, or not readable: not ours to touch
		}
		packs = append(packs, sizedPack{name, count})
	}
	sort.Slice(packs, func(i, j int) bool {
		if packs[i].count != packs[j].count {
			return packs[i].count < packs[j].count
		}
		return packs[i].name < packs[j].name
	})
	take, total := 0, int64(0)
	for i, p := range packs {
		if i > 0 && p.count < 2*total {
			take = i + 1
		}
		total += p.count
	}
	var chosen []string
	for _, p := range packs[:take] {
		chosen = append(chosen, p.name)
	}
	return chosen, nil
}

// packCount reads how many objects a pack's index (version 2) lists.
func (s *Store) packCount(name string) (int64, error) {
	f, err := os.Open(s.git("objects", "pack", name+".idx"))
	if err != nil {
		return 0, err
	}
	defer f.Close()
	var count [4]byte
	if _, err := f.ReadAt(count[:], 8+255*4); err != nil {
		return 0, err
	}
	return int64(binary.BigEndian.Uint32(count[:])), nil
}

// removePack removes a pack. The index goes last: a pack without an index would
// stop other programs built on go-git.
func (s *Store) removePack(name string) error {
	for _, ext := range []string{".pack", ".rev", ".bitmap", ".idx"} {
		if err := s.disk.remove(s.git("objects", "pack", name+ext)); err != nil {
			return err
		}
	}
	return nil
}

// removeLeftovers removes indexes without packs, which only a process of ours
// that died can have left, as git names the pack first and removes it last.
func (s *Store) removeLeftovers() error {
	entries, err := os.ReadDir(s.git("objects", "pack"))
	if err != nil {
		return err
	}
	for _, e := range entries {
		base, ok := strings.CutSuffix(e.Name(), ".idx")
		if ok && strings.HasPrefix(base, packPrefix) && !exists(s.git("objects", "pack", base+".pack")) {
			if err := s.removePack(base); err != nil {
				return err
			}
		}
	}
	return nil
}
