package gitstore

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
)

// disk is the only way this package changes files. Every change passes through
// at, where a test can end the process or make the change fail.
type disk struct {
	fault func(op, path string) error // nil outside tests
}

func (d disk) at(op, path string) error {
	if d.fault == nil {
		return nil
	}
	return d.fault(op, path)
}

// create makes path anew for writing; it is an error if it exists.
func (d disk) create(path string, perm fs.FileMode) (*os.File, error) {
	if err := d.at("create", path); err != nil {
		return nil, err
	}
	return os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, perm)
}

// createTemp is create for a temporary file, of which a process that died may
// have left one.
func (d disk) createTemp(path string, perm fs.FileMode) (*os.File, error) {
	f, err := d.create(path, perm)
	if !errors.Is(err, fs.ErrExist) {
		return f, err
	}
	if err := d.remove(path); err != nil {
		return nil, err
	}
	return d.create(path, perm)
}

// write writes all of data to f at its current place.
func (d disk) write(f *os.File, data []byte) error {
	if err := d.at("write", f.Name()); err != nil {
		return err
	}
	_, err := f.Write(data)
	return err
}

// sync forces f to the medium.
func (d disk) sync(f *os.File) error {
	if err := d.at("sync", f.Name()); err != nil {
		return err
	}
	return f.Sync()
}

// rename moves from to to, replacing it.
func (d disk) rename(from, to string) error {
	if err := d.at("rename", to); err != nil {
		return err
	}
	return os.Rename(from, to)
}

// remove deletes path; one that is gone already is no error.
func (d disk) remove(path string) error {
	if err := d.at("remove", path); err != nil {
		return err
	}
	if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// truncate cuts path to size and forces that to the medium.
func (d disk) truncate(path string, size int64) error {
	if err := d.at("truncate", path); err != nil {
		return err
	}
	f, err := os.OpenFile(path, os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	defer f.Close()
	if err := f.Truncate(size); err != nil {
		return err
	}
	return f.Sync()
}

// mkdir makes a folder and those above it.
func (d disk) mkdir(path string) error {
	if err := d.at("mkdir", path); err != nil {
		return err
	}
	return os.MkdirAll(path, 0o777)
}

// syncDir forces a folder's names to the medium, where the system can.
func (d disk) syncDir(dir string) error {
	if err := d.at("syncdir", dir); err != nil {
		return err
	}
	if runtime.GOOS == "windows" { // a folder cannot be opened for this there
		return nil
	}
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer f.Close()
	return f.Sync()
}

// replace writes a file whole: to a temporary name beside it, renamed over it.
// With durable the content and the name are forced to the medium first and
// after. The temporary name is fixed: callers hold the book's lock, so that an
// interrupted one is overwritten by the next.
func (d disk) replace(path string, data []byte, durable bool) error {
	temp := path + ".tmp"
	f, err := d.createTemp(temp, 0o666)
	if err != nil {
		return err
	}
	err = d.write(f, data)
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
		return fmt.Errorf("cannot write %q: %w", path, err)
	}
	if durable {
		return d.syncDir(filepath.Dir(path))
	}
	return nil
}

// syncTree forces every file and folder under dir, itself included.
func (d disk) syncTree(dir string) error {
	return filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case e.IsDir():
			return d.syncDir(path)
		case e.Type().IsRegular():
			return d.syncFile(path)
		}
		return nil
	})
}

// syncFile forces a file that is there already to the medium.
func (d disk) syncFile(path string) error {
	flag := os.O_RDONLY
	if runtime.GOOS == "windows" { // which flushes only what may be written
		flag = os.O_RDWR
	}
	f, err := os.OpenFile(path, flag, 0)
	if err != nil {
		if runtime.GOOS == "windows" && errors.Is(err, fs.ErrPermission) {
			return nil // a read-only file: whoever wrote it flushed it
		}
		return err
	}
	defer f.Close()
	return d.sync(f)
}

// exists reports whether a file or folder is there.
func exists(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}
