package gitstore

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/go-git/go-git/v5/plumbing"

	"shedbook/ledger"
)

// tip is the end of a log: all that a further run needs to know of it. Its
// size does not depend on the log's length.
type tip struct {
	log    string
	commit plumbing.Hash // zero: the log has no entry yet
	seq    uint64        // of the last entry
	id     ledger.ID     // of the last entry

	root    []treeEntry // top of the tree
	folders []treeEntry // log/
	files   []treeEntry // the last folder of log/
	file    []byte      // the last file

	papers       []treeEntry            // paper/, once it was read
	paperFolders map[string][]treeEntry // those of its folders that were read; nil: none, nor papers
}

// extend returns the tip after one run and the objects the run makes, the
// commit last. papers are those that come with the run; their folders were read
// (see [tip.readPapers]). t is left as it was.
func (t *tip) extend(lines [][]byte, at time.Time, papers []paper) (*tip, []object, error) {
	if len(lines) == 0 {
		return nil, nil, errors.New("a run needs an entry")
	}
	n := &tip{log: t.log, seq: t.seq, papers: t.papers, paperFolders: t.paperFolders}
	n.root = append(n.root, t.root...)
	n.folders = append(n.folders, t.folders...)
	n.files = append(n.files, t.files...)
	n.file = append(n.file, t.file...)
	var objects []object
	add := func(kind plumbing.ObjectType, data []byte, group string) plumbing.Hash {
		o := newObject(kind, data, group)
		objects = append(objects, o)
		return o.hash
	}
	for i, line := range lines {
		fileNumber := int(n.seq / linesPerFile)
		folder, file := fileNumber/filesPerFolder, fileNumber%filesPerFolder
		if folder >= maxFolders {
			return nil, nil, fmt.Errorf("the log of %s is full", t.log)
		}
		if n.seq%linesPerFile == 0 {
			n.file = nil
			if file == 0 {
				n.files = nil
			}
		}
		n.file = append(n.file, line...)
		n.seq++
		last := i == len(lines)-1
		if !last && n.seq%linesPerFile != 0 {
			continue
		}
		path := fmt.Sprintf("log/%s/%s", folderName(folder), fileName(file))
		blob := add(plumbing.BlobObject, bytes.Clone(n.file), t.log+"/"+path)
		n.files = append(n.files[:file], treeEntry{fileName(file), modeFile, blob})
		if !last && n.seq%(linesPerFile*filesPerFolder) != 0 {
			continue
		}
		tree := add(plumbing.TreeObject, encodeTree(n.files), t.log+"/log/"+folderName(folder))
		n.folders = append(n.folders[:folder], treeEntry{folderName(folder), modeFolder, tree})
	}
	if len(n.root) == 0 {
		n.root = []treeEntry{
			{readmeName, modeFile, add(plumbing.BlobObject, []byte(readmeV1), "")},
			{"log", modeFolder, plumbing.ZeroHash},
		}
	}
	logTree := add(plumbing.TreeObject, encodeTree(n.folders), t.log+"/log")
	for i := range n.root {
		if n.root[i].name == "log" {
			n.root[i].hash = logTree
		}
	}
	n.addPapers(papers, add)
	root := add(plumbing.TreeObject, encodeTree(n.root), t.log+"/")
	commit := encodeCommit(t.log[:32], root, t.commit, t.seq+1, n.seq, at)
	n.commit = add(plumbing.CommitObject, commit, t.log)
	head, err := headOf(lines[len(lines)-1])
	if err != nil {
		return nil, nil, err
	}
	n.id = head.id
	return n, objects, nil
}

// lineHead is what this package reads of an entry line.
type lineHead struct {
	id  ledger.ID
	seq uint64
	at  time.Time
}

// headOf reads the head of a stored line. The line was verified before it was
// stored or will be by whoever loads it: its form is taken for granted here.
func headOf(line []byte) (lineHead, error) {
	var outer struct {
		Head json.RawMessage `json:"head"`
	}
	var inner struct {
		Seq uint64    `json:"seq"`
		At  time.Time `json:"at"`
	}
	if err := json.Unmarshal(line, &outer); err != nil {
		return lineHead{}, fmt.Errorf("a line is not an entry: %w", err)
	}
	if err := json.Unmarshal(outer.Head, &inner); err != nil {
		return lineHead{}, fmt.Errorf("a line is not an entry: %w", err)
	}
	return lineHead{id: sha256.Sum256(outer.Head), seq: inner.Seq, at: inner.At}, nil
}

// fetch reads an object from wherever it is held.
type fetch func(plumbing.Hash) (object, error)

func (f fetch) kind(kind plumbing.ObjectType, hash plumbing.Hash) ([]byte, error) {
	o, err := f(hash)
	if err != nil {
		return nil, err
	}
	if o.kind != kind {
		return nil, errors.New("something else stands in its place")
	}
	return o.data, nil
}

func (f fetch) tree(hash plumbing.Hash) ([]treeEntry, error) {
	data, err := f.kind(plumbing.TreeObject, hash)
	if err != nil {
		return nil, err
	}
	return parseTree(data)
}

func (f fetch) commit(hash plumbing.Hash) (commitOf, error) {
	data, err := f.kind(plumbing.CommitObject, hash)
	if err != nil {
		return commitOf{}, err
	}
	return parseCommit(data)
}

// readTip reads the end of a log: its commit, three trees and its last file.
func readTip(log string, commit plumbing.Hash, from fetch) (*tip, error) {
	t := &tip{log: log, commit: commit}
	if commit.IsZero() {
		return t, nil
	}
	c, err := from.commit(commit)
	if err != nil {
		return nil, err
	}
	if t.root, err = from.tree(c.tree); err != nil {
		return nil, err
	}
	logTree, _, err := checkRoot(t.root)
	if err != nil {
		return nil, err
	}
	if t.folders, err = from.tree(logTree); err != nil {
		return nil, err
	}
	if err := checkRow("log", "%04d", true, maxFolders, t.folders); err != nil {
		return nil, err
	}
	folder := len(t.folders) - 1
	if t.files, err = from.tree(t.folders[folder].hash); err != nil {
		return nil, err
	}
	path := "log/" + folderName(folder)
	if err := checkRow(path, "%02d.jsonl", false, filesPerFolder, t.files); err != nil {
		return nil, err
	}
	file := len(t.files) - 1
	if t.file, err = from.kind(plumbing.BlobObject, t.files[file].hash); err != nil {
		return nil, err
	}
	lines, err := splitLines(t.file)
	if err != nil {
		return nil, placeError{path + "/" + fileName(file), err.Error()}
	}
	head, err := headOf(lines[len(lines)-1])
	if err != nil {
		return nil, placeError{path + "/" + fileName(file), err.Error()}
	}
	t.id = head.id
	t.seq = uint64((folder*filesPerFolder+file)*linesPerFile + len(lines))
	return t, nil
}

// splitLines splits a file into its 1 to linesPerFile lines, LF included.
func splitLines(data []byte) ([][]byte, error) {
	var lines [][]byte
	for len(data) > 0 {
		i := bytes.IndexByte(data, '\n')
		if i < 0 {
			return nil, errors.New("its last line is cut short")
		}
		if i+1 > ledger.MaxLine {
			return nil, fmt.Errorf("line %d has %d bytes, at most %d are allowed", len(lines)+1, i+1, ledger.MaxLine)
		}
		lines = append(lines, data[:i+1:i+1])
		data = data[i+1:]
	}
	if len(lines) == 0 || len(lines) > linesPerFile {
		return nil, fmt.Errorf("it has %d lines, 1 to %d are allowed", len(lines), linesPerFile)
	}
	return lines, nil
}
