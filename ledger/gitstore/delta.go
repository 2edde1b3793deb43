package gitstore

import (
	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/format/packfile"
	"github.com/go-git/go-git/v5/storage/memory"
)

// deltas hands objects to go-git's pack encoder, most of them as deltas.
type deltas struct {
	*memory.Storage
	order  []plumbing.Hash
	deltas map[plumbing.Hash]*delta
}

// delta is an object given as what makes it out of another.
type delta struct {
	plumbing.EncodedObject
	base, actual plumbing.Hash
	size         int64
}

func (d *delta) BaseHash() plumbing.Hash   { return d.base }
func (d *delta) ActualHash() plumbing.Hash { return d.actual }
func (d *delta) ActualSize() int64         { return d.size }

// newDeltas takes the last object of each group as the base of the others. A
// log's files only grow, so a delta against the last version is a few bytes.
func newDeltas(objects []object) (*deltas, error) {
	d := &deltas{Storage: memory.NewStorage(), deltas: map[plumbing.Hash]*delta{}}
	last := map[string]object{}
	for _, o := range objects {
		if o.group != "" {
			last[o.group] = o
		}
	}
	for _, o := range objects {
		if _, err := d.Storage.EncodedObject(plumbing.AnyObject, o.hash); err == nil {
			continue // given twice
		}
		if _, err := d.Storage.SetEncodedObject(o.encoded()); err != nil {
			return nil, err
		}
		d.order = append(d.order, o.hash)
		base := last[o.group]
		if o.group == "" || base.hash == o.hash || base.kind != o.kind {
			continue
		}
		made, err := packfile.GetDelta(base.encoded(), o.encoded())
		if err != nil {
			return nil, err
		}
		if made.Size() < int64(len(o.data))*2/3 {
			d.deltas[o.hash] = &delta{EncodedObject: made, base: base.hash, actual: o.hash, size: int64(len(o.data))}
		}
	}
	return d, nil
}

// DeltaObject implements go-git's storer.DeltaObjectStorer.
func (d *deltas) DeltaObject(kind plumbing.ObjectType, hash plumbing.Hash) (plumbing.EncodedObject, error) {
	if made := d.deltas[hash]; made != nil {
		return made, nil
	}
	return d.Storage.EncodedObject(kind, hash)
}
