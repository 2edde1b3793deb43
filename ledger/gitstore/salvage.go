package gitstore

import (
	"bytes"
	"cmp"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/go-git/go-git/v5/plumbing"

	"shedbook/ledger"
)

// salvage is every entry that lies anywhere in a book's folder: in objects of
// any age, whole or out of damaged packs, in pending/, in cache/, and in what
// earlier mendings set aside. Nothing is believed because of where it lies: an
// entry counts as found when its signature holds.
type salvage struct {
	book  ledger.ID
	raw   map[[sha256.Size]byte]bool
	lines map[string][][]byte          // by writer, not verified
	keys  map[string]ed25519.PublicKey // by writer
	runs  map[string]map[uint64]bool   // by log writer: entries after which a run ended
	found map[string]*found

	papers map[ledger.ID]plumbing.Hash // every file that is none of entries, by its digest
}

// found are the verified entries of one writer.
type found struct {
	entries map[ledger.ID]*ledger.Entry
	next    map[ledger.ID][]*ledger.Entry // by what they continue; by the zero id: first entries
}

func newSalvage(book ledger.ID) *salvage {
	return &salvage{book: book, raw: map[[sha256.Size]byte]bool{}, lines: map[string][][]byte{}, keys: map[string]ed25519.PublicKey{},
		runs: map[string]map[uint64]bool{}, found: map[string]*found{}, papers: map[ledger.ID]plumbing.Hash{}}
}

var entryStart = []byte(`{"body":{`)

// object takes the lines of a file, or the ends of a run from a commit.
func (v *salvage) object(kind plumbing.ObjectType, data []byte) {
	switch kind {
	case plumbing.BlobObject:
		v.text(data)
		if len(data) <= ledger.MaxPaper && !bytes.HasPrefix(data, entryStart) {
			v.papers[sha256.Sum256(data)] = hashOf(kind, data)
		}
	case plumbing.CommitObject:
		v.commit(data)
	}
}

// text takes every line that looks like an entry.
func (v *salvage) text(data []byte) {
	for len(data) > 0 {
		i := bytes.IndexByte(data, '\n')
		if i < 0 {
			return
		}
		line := data[:i+1]
		data = data[i+1:]
		if len(line) > ledger.MaxLine || !bytes.HasPrefix(line, entryStart) {
			continue
		}
		if sum := sha256.Sum256(line); !v.raw[sum] {
			v.raw[sum] = true
			v.line(bytes.Clone(line))
		}
	}
}

func (v *salvage) line(line []byte) {
	var entry struct {
		Head struct {
			Writer string `json:"writer"`
			Class  string `json:"class"`
		} `json:"head"`
		Body struct {
			Record json.RawMessage `json:"record"`
		} `json:"body"`
	}
	if json.Unmarshal(line, &entry) != nil || entry.Head.Writer == "" {
		return
	}
	v.lines[entry.Head.Writer] = append(v.lines[entry.Head.Writer], line)
	var record struct {
		Key      ledger.PublicKey `json:"key"`
		Recovery ledger.PublicKey `json:"recovery"`
	}
	if entry.Head.Class != "control" || json.Unmarshal(entry.Body.Record, &record) != nil {
		return
	}
	for _, key := range []ledger.PublicKey{record.Key, record.Recovery} {
		if !key.IsZero() { // a writer is the digest of its key
			v.keys[key.Writer().String()] = key.Ed25519()
		}
	}
}

// commit notes where a run of ours began and ended.
func (v *salvage) commit(data []byte) {
	last, ok := lastEntry(data)
	_, rest, ok2 := bytes.Cut(data, []byte("\nauthor shedbook <"))
	log, _, ok3 := bytes.Cut(rest, []byte("@book.invalid>"))
	_, message, ok4 := bytes.Cut(data, []byte("\n\n"))
	if !ok || !ok2 || !ok3 || !ok4 {
		return
	}
	ends := v.runs[string(log)]
	if ends == nil {
		ends = map[uint64]bool{}
		v.runs[string(log)] = ends
	}
	ends[last] = true
	var first, to uint64
	if n, _ := fmt.Sscanf(string(message), "entries %d-%d\n", &first, &to); n == 2 && first > 1 {
		ends[first-1] = true
	} else if n == 0 && last > 1 {
		ends[last-1] = true
	}
}

// records takes what pending/ holds.
func (v *salvage) records(records []record) {
	for _, r := range records {
		for _, line := range r.lines {
			v.text(line)
		}
		if r.log != "" {
			v.commit(r.commit)
		}
	}
}

// folder takes the entries that lie in plain files of a folder.
func (v *salvage) folder(dir string) {
	_ = filepath.WalkDir(dir, func(path string, e os.DirEntry, err error) error {
		if err == nil && e.Type().IsRegular() && strings.HasSuffix(path, ".jsonl") {
			if data, err := os.ReadFile(path); err == nil {
				v.text(data)
			}
		}
		return nil
	})
}

// of verifies the entries of one writer.
func (v *salvage) of(writer string) *found {
	if f := v.found[writer]; f != nil {
		return f
	}
	f := &found{entries: map[ledger.ID]*ledger.Entry{}, next: map[ledger.ID][]*ledger.Entry{}}
	v.found[writer] = f
	for _, line := range v.lines[writer] {
		e, err := ledger.Verify(line, v.keys[writer])
		if err != nil || e.Book() != v.book {
			continue
		}
		if old := f.entries[e.ID()]; old == nil || old.Private() == nil && e.Private() != nil {
			f.entries[e.ID()] = e
		}
	}
	for _, e := range f.entries {
		f.next[e.Prev()] = append(f.next[e.Prev()], e)
	}
	for _, list := range f.next {
		slices.SortFunc(list, (*ledger.Entry).Compare)
	}
	return f
}

// unproved returns the lines of a writer whose key is not held, by number.
func (v *salvage) unproved(writer string) [][]byte {
	if v.keys[writer] != nil {
		return nil
	}
	lines := slices.Clone(v.lines[writer])
	slices.SortFunc(lines, func(a, b []byte) int {
		p, _ := headOf(a)
		q, _ := headOf(b)
		return cmp.Or(cmp.Compare(p.seq, q.seq), bytes.Compare(a, b))
	})
	return lines
}

// chain returns the entries of a log from the first one on: by way of the entry
// want, where that is held without a gap before it, and else as far as they go;
// of several ways the longest, unless other names it. apart are the entries
// that are held behind a gap.
func (f *found) chain(want ledger.ID, other func(ledger.ID) bool) (chain, apart []*ledger.Entry) {
	begins := map[ledger.ID]bool{} // entries that lead to a first one
	for queue := slices.Clone(f.next[ledger.ID{}]); len(queue) > 0; queue = queue[1:] {
		begins[queue[0].ID()] = true
		queue = append(queue, f.next[queue[0].ID()]...)
	}
	if begins[want] {
		for at := want; !at.IsZero(); at = f.entries[at].Prev() {
			chain = append(chain, f.entries[at])
		}
		slices.Reverse(chain)
	}
	height := f.heights(begins, other)
	at := ledger.ID{}
	if n := len(chain); n > 0 {
		at = chain[n-1].ID()
	}
	for {
		var best *ledger.Entry
		for _, e := range f.next[at] {
			if height[e.ID()] > 0 && (best == nil || height[e.ID()] > height[best.ID()]) {
				best = e
			}
		}
		if best == nil {
			break
		}
		chain = append(chain, best)
		at = best.ID()
	}
	for id, e := range f.entries {
		if !begins[id] {
			apart = append(apart, e)
		}
	}
	slices.SortFunc(apart, (*ledger.Entry).Compare)
	return chain, apart
}

// heights returns how many entries the longest way on from each has, itself
// included; none for those that are the beginning of another log's own part.
func (f *found) heights(begins map[ledger.ID]bool, other func(ledger.ID) bool) map[ledger.ID]int {
	var all []*ledger.Entry
	for id := range begins {
		all = append(all, f.entries[id])
	}
	slices.SortFunc(all, func(a, b *ledger.Entry) int { return b.Compare(a) }) // later ones first
	height := map[ledger.ID]int{}
	for _, e := range all {
		if other(e.ID()) {
			continue
		}
		h := 0
		for _, n := range f.next[e.ID()] {
			h = max(h, height[n.ID()])
		}
		height[e.ID()] = h + 1
	}
	return height
}

// ends returns after which of a log's first n entries its runs ended, as far as
// their commits are held; the last is n.
func (v *salvage) ends(log string, n uint64) []uint64 {
	var all []uint64
	for seq := range v.runs[log[:32]] {
		if seq < n {
			all = append(all, seq)
		}
	}
	slices.Sort(all)
	return append(all, n)
}
