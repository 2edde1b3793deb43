package gitstore

import (
	"bytes"
	"compress/zlib"
	"context"
	"crypto/sha1"
	"encoding/binary"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/go-git/go-git/v5/plumbing"
)

// rawPack writes packs byte by byte, as gitformat-pack(5) has them.
type rawPack struct {
	bytes.Buffer
	count uint32
}

// add adds an entry and returns where it begins. size is what it claims to have;
// -1: what it has.
func (p *rawPack) add(kind plumbing.ObjectType, size int, between, data []byte) int64 {
	if p.Len() == 0 {
		p.WriteString(packMagic + "????")
	}
	at := int64(p.Len())
	if size < 0 {
		size = len(data)
	}
	b := byte(kind)<<4 | byte(size&15)
	for size >>= 4; size > 0; size >>= 7 {
		p.WriteByte(b | 0x80)
		b = byte(size & 0x7f)
	}
	p.WriteByte(b)
	p.Write(between)
	w := zlib.NewWriter(&p.Buffer)
	w.Write(data)
	w.Close()
	p.count++
	return at
}

func (p *rawPack) finish() []byte {
	data := bytes.Clone(p.Bytes())
	binary.BigEndian.PutUint32(data[8:], p.count)
	sum := sha1.Sum(data)
	return append(data, sum[:]...)
}

func quarantineOf(t testing.TB, data []byte, limit int64) (*quarantine, error) {
	t.Helper()
	q, err := readQuarantine(context.Background(), filepath.Join(t.TempDir(), "pack"), bytes.NewReader(data), limit)
	if err == nil {
		t.Cleanup(q.close)
	}
	return q, err
}

// Deltas upon deltas, by distance and by name, before and behind their bases,
// come out as what they were made of.
func TestQuarantineReads(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	versions := [][]byte{[]byte(strings.Repeat("a first line that is kept\n", 40))}
	for len(versions) < 40 {
		last := bytes.Clone(versions[len(versions)-1])
		last[random.IntN(len(last))] = 'x'
		versions = append(versions, append(last, fmt.Sprintf("line %d\n", len(versions))...))
	}
	var p rawPack
	at := map[int]int64{}
	at[0] = p.add(plumbing.BlobObject, -1, nil, versions[0])
	for i := 1; i < len(versions); i++ {
		base := random.IntN(i)
		delta := makeDelta(versions[base], versions[i])
		if i%3 == 0 {
			hash := hashOf(plumbing.BlobObject, versions[base])
			at[i] = p.add(plumbing.REFDeltaObject, -1, hash[:], delta)
		} else {
			at[i] = p.add(plumbing.OFSDeltaObject, -1, encodeDistance(int64(p.Len())-at[base]), delta)
		}
	}
	// A delta before its base, by name.
	early, late := []byte("early\n"), []byte("early\nand late\n")
	hash := hashOf(plumbing.TreeObject, late)
	p.add(plumbing.REFDeltaObject, -1, hash[:], makeDelta(late, early))
	p.add(plumbing.TreeObject, -1, nil, late)
	q, err := quarantineOf(t, p.finish(), 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range versions {
		o, err := q.get(hashOf(plumbing.BlobObject, want))
		if err != nil || o.kind != plumbing.BlobObject || !bytes.Equal(o.data, want) {
			t.Errorf("version %d: %v", i, err)
		}
	}
	if o, err := q.get(hashOf(plumbing.TreeObject, early)); err != nil || o.kind != plumbing.TreeObject || !bytes.Equal(o.data, early) {
		t.Errorf("a delta before its base: %v", err)
	}
	if _, err := q.get(hashOf(plumbing.BlobObject, []byte("not there"))); !errors.Is(err, errMissing) {
		t.Errorf("what is not there: %v", err)
	}
}

// What is too large, too deep, cut or made up is refused, and costs no memory.
func TestQuarantineRefuses(t *testing.T) {
	small := []byte("a small base\n")
	bomb := func(size uint64) []byte { // a delta that claims to make so much
		out := binary.AppendUvarint(nil, uint64(len(small)))
		out = binary.AppendUvarint(out, size)
		return appendCopy(out, 0, len(small))
	}
	good := func() *rawPack {
		var p rawPack
		p.add(plumbing.BlobObject, -1, nil, small)
		return &p
	}
	for _, c := range []struct {
		name string
		data func() []byte
		why  string
	}{
		{"nothing", func() []byte { return nil }, errCut.Error()},
		{"something else", func() []byte { return []byte("<html>not found</html>, and more") }, errCut.Error()},
		{"cut", func() []byte { return good().finish()[:20] }, errCut.Error()},
		{"more entries than there are", func() []byte {
			p := good()
			p.count = 7
			return p.finish()[:p.Len()]
		}, errCut.Error()},
		{"more entries than any book has", func() []byte {
			p := good()
			p.count = 1<<32 - 1
			return p.finish()
		}, "what came holds 4294967295 objects, more than 16777216"},
		{"a huge file", func() []byte {
			var p rawPack
			p.add(plumbing.BlobObject, 1<<38, nil, small)
			return p.finish()
		}, "a part of what came cannot be read: it has 274877906944 bytes, more than 6553600"},
		{"a size without end", func() []byte {
			var p rawPack
			p.WriteString(packMagic + "????")
			p.count = 1
			p.Write(bytes.Repeat([]byte{0xff}, 100))
			return p.finish()
		}, "a part of what came cannot be read: its size cannot be read"},
		{"more than it claims", func() []byte {
			var p rawPack
			p.add(plumbing.BlobObject, 10, nil, bytes.Repeat([]byte("x"), 1<<20))
			return p.finish()
		}, "a part of what came cannot be read: it is longer than it says"},
		{"a label", func() []byte {
			var p rawPack
			p.add(plumbing.TagObject, -1, nil, []byte("object"))
			return p.finish()
		}, "a part of what came cannot be read: it has 6 bytes, more than 0"},
		{"a delta of what is before the beginning", func() []byte {
			p := good()
			p.add(plumbing.OFSDeltaObject, -1, encodeDistance(1<<40), makeDelta(small, small))
			return p.finish()
		}, "a part of what came cannot be read: what it is made out of is not there"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := quarantineOf(t, c.data(), 1<<20)
			if err == nil || err.Error() != c.why {
				t.Errorf("error %v, want %s", err, c.why)
			}
		})
	}

	t.Run("too much", func(t *testing.T) {
		_, err := quarantineOf(t, good().finish(), 20)
		if large := (*tooLargeError)(nil); !errors.As(err, &large) || err.Error() != "more than 20 bytes came" {
			t.Errorf("error %v", err)
		}
	})

	// These are passed over: whatever needs what they make is missing.
	for _, c := range []struct {
		name string
		add  func(p *rawPack)
		made []byte
	}{
		{"a delta that makes too much", func(p *rawPack) {
			p.add(plumbing.OFSDeltaObject, -1, encodeDistance(int64(p.Len())-packHead), bomb(1<<40))
		}, nil},
		{"a delta that really makes too much", func(p *rawPack) {
			base := bytes.Repeat([]byte("x"), 0xffff)
			at := p.add(plumbing.BlobObject, -1, nil, base)
			out := binary.AppendUvarint(nil, uint64(len(base)))
			out = binary.AppendUvarint(out, uint64(120*len(base)))
			for range 120 {
				out = appendCopy(out, 0, len(base))
			}
			p.add(plumbing.OFSDeltaObject, -1, encodeDistance(int64(p.Len())-at), out)
		}, bytes.Repeat([]byte("x"), 120*0xffff)},
		{"a delta of another size", func(p *rawPack) {
			p.add(plumbing.OFSDeltaObject, -1, encodeDistance(int64(p.Len())-packHead), makeDelta(append(small, 'x'), small))
		}, nil},
		{"a delta that copies from beyond", func(p *rawPack) {
			out := binary.AppendUvarint(nil, uint64(len(small)))
			out = binary.AppendUvarint(out, 100)
			p.add(plumbing.OFSDeltaObject, -1, encodeDistance(int64(p.Len())-packHead), appendCopy(out, 5000, 100))
		}, nil},
		{"two deltas of each other", func(p *rawPack) {
			a, b := plumbing.NewHash(strings.Repeat("ab", 20)), plumbing.NewHash(strings.Repeat("cd", 20))
			p.add(plumbing.REFDeltaObject, -1, a[:], makeDelta(small, small))
			p.add(plumbing.REFDeltaObject, -1, b[:], makeDelta(small, small))
		}, nil},
		{"a delta of itself", func(p *rawPack) {
			hash := hashOf(plumbing.BlobObject, small)
			p.add(plumbing.REFDeltaObject, -1, hash[:], makeDelta(small, small))
		}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := good()
			c.add(p)
			q, err := quarantineOf(t, p.finish(), 1<<20)
			if err != nil {
				t.Fatal(err)
			}
			for _, made := range [][]byte{[]byte("anything"), c.made} {
				if _, err := q.get(hashOf(plumbing.BlobObject, made)); !errors.Is(err, errMissing) {
					t.Errorf("error %v", err)
				}
			}
			if o, err := q.get(hashOf(plumbing.BlobObject, small)); err != nil || !bytes.Equal(o.data, small) {
				t.Errorf("the base: %v", err)
			}
		})
	}

	t.Run("a tower of deltas", func(t *testing.T) {
		p := good()
		at := int64(packHead)
		versions := [][]byte{small}
		for i := range maxChain + 10 {
			next := append(slices.Clone(small), fmt.Sprint(i)...)
			at = p.add(plumbing.OFSDeltaObject, -1, encodeDistance(int64(p.Len())-at), makeDelta(versions[i], next))
			versions = append(versions, next)
		}
		q, err := quarantineOf(t, p.finish(), 1<<24)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := q.get(hashOf(plumbing.BlobObject, versions[maxChain])); err != nil {
			t.Errorf("as deep as may be: %v", err)
		}
		if _, err := q.get(hashOf(plumbing.BlobObject, versions[maxChain+1])); !errors.Is(err, errMissing) {
			t.Errorf("deeper: %v", err)
		}
	})
}

// No bytes make reading fail otherwise than by an error.
func FuzzQuarantine(f *testing.F) {
	var p rawPack
	base := []byte(strings.Repeat("a base\n", 10))
	at := p.add(plumbing.BlobObject, -1, nil, base)
	p.add(plumbing.OFSDeltaObject, -1, encodeDistance(int64(p.Len())-at), makeDelta(base, append(base, "more"...)))
	f.Add(p.finish())
	f.Add([]byte(packMagic))
	dir := f.TempDir()
	f.Fuzz(func(t *testing.T, data []byte) {
		path := filepath.Join(dir, "pack")
		os.Remove(path)
		q, err := readQuarantine(context.Background(), path, bytes.NewReader(data), 1<<20)
		if err != nil {
			return
		}
		defer q.close()
		if _, err := q.get(plumbing.ZeroHash); err == nil {
			t.Error("an object of the zero id")
		}
		for hash := range q.index {
			if o, err := q.get(hash); err == nil && hashOf(o.kind, o.data) != hash {
				t.Errorf("%s is something else", hash)
			}
		}
	})
}
