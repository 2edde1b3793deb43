package gitstore

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/format/objfile"

	"shedbook/ledger"
)

// Sizes beyond which an object is refused before it is inflated.
const (
	maxFileBytes   = linesPerFile * ledger.MaxLine
	maxTreeBytes   = 1 << 20
	maxCommitBytes = 64 << 10
)

var maxBytes = map[plumbing.ObjectType]int64{
	plumbing.BlobObject:   maxFileBytes,
	plumbing.TreeObject:   maxTreeBytes,
	plumbing.CommitObject: maxCommitBytes,
}

// object is one git object, whole.
type object struct {
	kind plumbing.ObjectType
	hash plumbing.Hash
	data []byte

	// group names what the object is a version of ("file", "folder" ... of one
	// log). In a pack, older versions are stored as what makes them out of the
	// last one. "" if unknown.
	group string
}

func newObject(kind plumbing.ObjectType, data []byte, group string) object {
	return object{kind: kind, hash: hashOf(kind, data), data: data, group: group}
}

func (s *Store) loosePath(hash plumbing.Hash) string {
	name := hash.String()
	return s.git("objects", name[:2], name[2:])
}

// errMissing says that an object is not held in the place asked.
var errMissing = errors.New("it is missing")

// readLoose reads a loose object and checks its hash: what was written before
// a power cut may be anything.
func (s *Store) readLoose(hash plumbing.Hash) (object, error) {
	f, err := os.Open(s.loosePath(hash))
	if errors.Is(err, fs.ErrNotExist) {
		return object{}, errMissing
	}
	if err != nil {
		return object{}, err
	}
	defer f.Close()
	r, err := objfile.NewReader(f)
	if err != nil {
		return object{}, err
	}
	defer r.Close()
	kind, size, err := r.Header()
	if err != nil {
		return object{}, err
	}
	if size < 0 || size > maxBytes[kind] {
		return object{}, fmt.Errorf("it has %d bytes", size)
	}
	data, err := io.ReadAll(io.LimitReader(r, size+1))
	if err != nil {
		return object{}, err
	}
	if int64(len(data)) != size || r.Hash() != hash {
		return object{}, errors.New("its content is not what its name says")
	}
	return object{kind: kind, hash: hash, data: data}, nil
}

// writeLoose writes objects, each to a temporary name that is then renamed.
// They are not fsynced: pending/ still holds what they are made of. A sound
// one that is there already is left alone.
func (s *Store) writeLoose(objects []object) error {
	for _, o := range objects {
		if _, err := s.readLoose(o.hash); err == nil {
			continue
		}
		var buf bytes.Buffer
		w := objfile.NewWriter(&buf)
		if err := w.WriteHeader(o.kind, int64(len(o.data))); err != nil {
			return err
		}
		if _, err := w.Write(o.data); err != nil {
			return err
		}
		if err := w.Close(); err != nil {
			return err
		}
		err := s.writeLooseFile(s.loosePath(o.hash), buf.Bytes())
		for range 100 {
			if !errors.Is(err, fs.ErrNotExist) {
				break
			}
			// The folder is new; or a git that tidies removed it while empty, or
			// the temporary file in it.
			if err := s.disk.mkdir(filepath.Dir(s.loosePath(o.hash))); err != nil {
				return err
			}
			err = s.writeLooseFile(s.loosePath(o.hash), buf.Bytes())
		}
		if err != nil {
			return err
		}
	}
	return nil
}

func (s *Store) writeLooseFile(path string, data []byte) error {
	// git clears away files of this name that are left over.
	temp := s.temp(filepath.Dir(path), "obj")
	f, err := s.disk.createTemp(temp, 0o444)
	if err != nil {
		return err
	}
	err = s.disk.write(f, data)
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err == nil {
		err = s.disk.rename(temp, path)
	}
	if err != nil {
		os.Remove(temp)
	}
	return err
}
