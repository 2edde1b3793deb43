package gitstore

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strconv"
	"strings"

	"github.com/go-git/go-git/v5/plumbing"
)

// The file pending/runs is a row of records:
//
//	8 bytes   recordMagic
//	8 bytes   length of the payload, big-endian
//	32 bytes  SHA-256 of the payload
//	payload
//
// A payload is either one run of one log,
//
//	run <log> <number of lines> LF
//	(with papers: run <log> <number of lines> <number of papers> LF, and for each
//	<digest> <bytes> LF; they lie in pending/papers/)
//	the entry lines, each ended by LF
//	the bytes of the run's commit
//
// or the moves of logs whose commits lie in packs already (a bulk write),
//
//	move <number of logs> LF
//	<log> <old commit, or -> <new commit> LF    for each
//
// Each record is fsynced before the next is begun, so only the last can be torn.
const recordMagic = "shedrun1"

const recordHead = len(recordMagic) + 8 + sha256.Size

// record is one acknowledged write.
type record struct {
	log    string   // of a run
	lines  [][]byte // of a run, each with its LF
	commit []byte   // of a run
	papers []pendingPaper
	moves  []move
}

type move struct {
	log      string
	old, new plumbing.Hash
}

// encode returns the record as it stands in the file.
func (r record) encode() []byte {
	var payload bytes.Buffer
	if r.log != "" {
		if len(r.papers) == 0 {
			fmt.Fprintf(&payload, "run %s %d\n", r.log, len(r.lines))
		} else {
			fmt.Fprintf(&payload, "run %s %d %d\n", r.log, len(r.lines), len(r.papers))
			for _, p := range r.papers {
				fmt.Fprintf(&payload, "%s %d\n", p.digest, p.size)
			}
		}
		for _, line := range r.lines {
			payload.Write(line)
		}
		payload.Write(r.commit)
	} else {
		fmt.Fprintf(&payload, "move %d\n", len(r.moves))
		for _, m := range r.moves {
			old := "-"
			if !m.old.IsZero() {
				old = m.old.String()
			}
			fmt.Fprintf(&payload, "%s %s %s\n", m.log, old, m.new)
		}
	}
	sum := sha256.Sum256(payload.Bytes())
	out := make([]byte, 0, recordHead+payload.Len())
	out = append(out, recordMagic...)
	out = binary.BigEndian.AppendUint64(out, uint64(payload.Len()))
	out = append(out, sum[:]...)
	return append(out, payload.Bytes()...)
}

// splitRecord takes the first whole record off data; ok is false if there is
// none at its start.
func splitRecord(data []byte) (payload, rest []byte, ok bool) {
	if len(data) < recordHead || string(data[:len(recordMagic)]) != recordMagic {
		return nil, data, false
	}
	length := binary.BigEndian.Uint64(data[len(recordMagic):])
	body := data[recordHead:]
	if length > uint64(len(body)) {
		return nil, data, false
	}
	payload, rest = body[:length], body[length:]
	if sha256.Sum256(payload) != [sha256.Size]byte(data[recordHead-sha256.Size:recordHead]) {
		return nil, data, false
	}
	return payload, rest, true
}

// parseRecords reads the whole records at the start of data, and how many
// bytes they take. What follows them must be the torn end of one write: a
// whole record behind it means that acknowledged ones were damaged.
func parseRecords(data []byte) (records []record, good int64, err error) {
	rest := data
	for len(rest) > 0 {
		payload, after, ok := splitRecord(rest)
		if !ok {
			break
		}
		r, err := parsePayload(payload)
		if err != nil {
			return nil, 0, fmt.Errorf("record %d: %w", len(records)+1, err)
		}
		records = append(records, r)
		rest = after
	}
	good = int64(len(data) - len(rest))
	for tail := rest; len(tail) > 0; {
		i := bytes.Index(tail[1:], []byte(recordMagic))
		if i < 0 {
			break
		}
		tail = tail[1+i:]
		if _, _, ok := splitRecord(tail); ok {
			return nil, 0, fmt.Errorf("record %d cannot be read and others follow it", len(records)+1)
		}
	}
	return records, good, nil
}

func parsePayload(payload []byte) (record, error) {
	first, rest, ok := bytes.Cut(payload, []byte("\n"))
	words := strings.Split(string(first), " ")
	switch {
	case ok && (len(words) == 3 || len(words) == 4) && words[0] == "run":
		n, err := strconv.Atoi(words[2])
		if err != nil || n < 1 || checkName(words[1]) != nil {
			return record{}, fmt.Errorf("it begins %q", first)
		}
		r := record{log: words[1]}
		if len(words) == 4 {
			if r.papers, rest, err = parsePapers(words[3], rest); err != nil {
				return record{}, fmt.Errorf("it begins %q: %w", first, err)
			}
		}
		for range n {
			i := bytes.IndexByte(rest, '\n')
			if i < 0 {
				return record{}, fmt.Errorf("it has fewer than %d lines", n)
			}
			r.lines = append(r.lines, rest[:i+1:i+1])
			rest = rest[i+1:]
		}
		r.commit = rest
		return r, nil
	case ok && len(words) == 2 && words[0] == "move":
		var r record
		for line := range strings.Lines(string(rest)) {
			part := strings.Split(strings.TrimSuffix(line, "\n"), " ")
			if len(part) != 3 || checkName(part[0]) != nil {
				return record{}, fmt.Errorf("it has the line %q", line)
			}
			old, oldOK := parseHash(part[1])
			new, newOK := parseHash(part[2])
			if !newOK || !oldOK && part[1] != "-" {
				return record{}, fmt.Errorf("it has the line %q", line)
			}
			r.moves = append(r.moves, move{log: part[0], old: old, new: new})
		}
		if strconv.Itoa(len(r.moves)) != words[1] {
			return record{}, fmt.Errorf("it has %d lines and should have %s", len(r.moves), words[1])
		}
		return r, nil
	}
	return record{}, fmt.Errorf("it begins %q, which this program does not know; use a newer shedbook", first)
}

// pending is what pending/runs holds.
type pending struct {
	records []record
	good    int64 // bytes of whole records
	size    int64 // bytes of the file
}

func (s *Store) readPending() (pending, error) {
	path := s.path(pendingDir, pendingFile)
	data, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return pending{}, nil
	}
	if err != nil {
		return pending{}, err
	}
	records, good, err := parseRecords(data)
	if err != nil {
		return pending{}, &DamagedError{Path: path, Why: err.Error() + "; nothing was changed; bring back this file from a copy of the folder"}
	}
	return pending{records: records, good: good, size: int64(len(data))}, nil
}

// acknowledge appends a record durably: when it returns nil, the record
// survives a crash. On an error it tries to leave the file as it was.
func (s *Store) acknowledge(p *pending, r record) error {
	path := s.path(pendingDir, pendingFile)
	data := r.encode()
	if err := s.writePending(path, p.good, data); err != nil {
		if terr := s.disk.truncate(path, p.good); terr != nil && !errors.Is(terr, fs.ErrNotExist) {
			return fmt.Errorf("%w; %w", err, ErrMayStand)
		}
		return err
	}
	p.records = append(p.records, r)
	p.good += int64(len(data))
	p.size = p.good
	return nil
}

// ErrMayStand is wrapped by the error of a write that failed where what it had
// written could not be cut off again: that holds if it is whole.
var ErrMayStand = errors.New("whether it was recorded shows when the book is next opened")

func (s *Store) writePending(path string, at int64, data []byte) error {
	if err := s.disk.at("append", path); err != nil {
		return err
	}
	_, err := os.Lstat(path)
	isNew := errors.Is(err, fs.ErrNotExist)
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE, 0o666)
	if err != nil {
		return err
	}
	defer f.Close()
	if _, err := f.Seek(at, 0); err != nil {
		return err
	}
	if err := s.disk.write(f, data); err != nil {
		return err
	}
	if err := s.disk.sync(f); err != nil {
		return err
	}
	if isNew {
		return s.disk.syncDir(s.path(pendingDir))
	}
	return nil
}

// cutTorn removes the torn end of the file: it was never acknowledged.
func (s *Store) cutTorn(p *pending) error {
	if p.size == p.good {
		return nil
	}
	if err := s.disk.truncate(s.path(pendingDir, pendingFile), p.good); err != nil {
		return err
	}
	p.size = p.good
	s.note("the last write to this book was interrupted; what it had not finished recording was removed")
	return nil
}

// dropPending forgets all records. The file is removed, not cut, so that a
// reader who has it open reads it to its end.
func (s *Store) dropPending(p *pending) error {
	if err := s.disk.remove(s.path(pendingDir, pendingFile)); err != nil {
		return err
	}
	if err := s.disk.syncDir(s.path(pendingDir)); err != nil {
		return err
	}
	*p = pending{}
	return s.dropPapers()
}
