package gitstore

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"

	"github.com/rogpeppe/go-internal/lockedfile"

	"shedbook/ledger"
)

// MendStep is one thing that [Store.Mend] did.
type MendStep struct {
	Log  string // its name; "": of no single log
	Text string // what was done, in plain words, without the log's name
}

// Mending says what a call of [Store.Mend] did and what it could not do.
type Mending struct {
	Steps []MendStep
	Kept  string   // folder inside the book that holds what was set aside; "": nothing was
	Left  []Damage // what is still wrong
}

// Mend puts right what can be put right from what the folder holds. Logs are
// written anew from their entries, wherever in the folder these lie, and only
// from entries whose signatures hold; the same entries in the same runs come out
// as the same commits. Nothing is destroyed: what is replaced or has no place
// goes into a numbered folder under kept/. Entries that are gone are noted as
// lost until an exchange brings them back; their log is not appended to before.
//
// The entries are durable in their new place before anything old is moved, so
// that a Mend which is interrupted is completed by the next. Where there is
// nothing to do, nothing is changed.
func (s *Store) Mend() (*Mending, error) {
	unlockSync, err := lockedfile.MutexAt(s.path(syncLock)).Lock()
	if err != nil {
		return nil, fmt.Errorf("cannot get hold of the book in %q: %w", s.dir, err)
	}
	defer unlockSync()
	unlock, err := s.lock()
	if err != nil {
		return nil, err
	}
	defer unlock()
	m := &mender{s: s, keep: &keeper{s: s}}
	if m.x, err = s.examine(); err != nil {
		return nil, err
	}
	defer func() { m.x.close() }()
	for _, step := range []func() error{m.lists, m.verify, m.logs, m.pending, m.references, m.seen, m.packs, m.rest, m.keep.finish} {
		if err := step(); err != nil {
			return m.result(nil), fmt.Errorf("cannot mend the book in %q: %w", s.dir, err)
		}
	}
	if _, err := s.recover(); err != nil && !IsDamage(err) {
		return m.result(nil), err
	}
	after, err := s.examine()
	if err != nil {
		return m.result(nil), err
	}
	defer after.close()
	return m.result(after.damages()), nil
}

// mender is one run of [Store.Mend].
type mender struct {
	s     *Store
	x     *exam
	keep  *keeper
	steps []MendStep
	moved bool // pending records are in packs now
}

func (m *mender) did(log, format string, args ...any) {
	m.steps = append(m.steps, MendStep{Log: log, Text: fmt.Sprintf(format, args...)})
}

func (m *mender) result(left []Damage) *Mending {
	return &Mending{Steps: m.steps, Kept: m.keep.dir, Left: left}
}

// verify finds logs with lines that do not belong in them: they are written anew
// without these.
func (m *mender) verify() error {
	x := m.x
	logs := x.held()
	for i := range logs {
		logs[i].Checked = ledger.ID{}
	}
	book, err := ledger.LoadPinned(m.s.BookID(), logs)
	if err != nil {
		return nil // the founding entry is not held: every line written is verified by itself
	}
	wrong := map[string]bool{}
	x.unsound = wrong
	for _, f := range book.Findings() {
		if f.Severity == ledger.Error && f.Log != "" && f.Line > 0 && lineFault[f.Code] {
			wrong[f.Log] = true
		}
	}
	for _, name := range sortedNames(wrong) {
		l := x.logs[name]
		if x.salvage == nil {
			x.gather()
		}
		l.inPlace, l.foreign = false, true
		x.find(l)
	}
	return nil
}

// Mends reports whether a finding of package ledger is about a line that does not
// belong where it stands, which [Store.Mend] takes out of its log.
func Mends(code string) bool { return lineFault[code] }

// lineFault are the codes of findings about a line that does not belong where it
// stands.
var lineFault = map[string]bool{ledger.CodeBrokenLine: true, ledger.CodeUnverifiable: true, ledger.CodeStrayLine: true,
	ledger.CodeOutOfOrder: true, ledger.CodeRepeatedLine: true, ledger.CodeOtherBook: true}

// pending drops what lies in packs now, or sets a damaged file aside.
func (m *mender) pending() error {
	switch {
	case m.x.badPending:
		if err := m.keep.move("pending/runs"); err != nil {
			return err
		}
		m.did("", "set the damaged file pending/runs aside")
	case m.moved && len(m.x.pending.records) > 0:
		if m.x.placed(m.x.pending.records) {
			return m.s.dropPending(&m.x.pending)
		}
		if err := m.keep.move("pending/runs"); err != nil {
			return err
		}
		m.did("", "set the file pending/runs aside: what it keeps continues what is not held")
	}
	return nil
}

// placed reports whether all entries of pending records have a place in a log.
func (x *exam) placed(records []record) bool {
	for _, r := range records {
		if r.log != "" && len(notAmong(r.lines, x.logs[r.log].lines)) > 0 {
			return false
		}
	}
	return true
}

// seen notes what is held and verified, and what is lost.
func (m *mender) seen() error {
	for _, name := range m.x.badSeen {
		if err := m.keep.move("seen/" + name + ".toml"); err != nil {
			return err
		}
	}
	if m.x.missingFolder(seenDir) {
		if err := m.s.disk.mkdir(m.s.path(seenDir)); err != nil {
			return err
		}
	}
	noted := 0
	for _, name := range sortedNames(m.x.logs) {
		l := m.x.logs[name]
		old, had := m.x.seen[name]
		one := Seen{Log: name}
		switch {
		case l.end != nil:
			one.Seq, one.ID, one.commit = l.end.seq, l.end.id, l.end.commit
		case !l.rebuild && len(l.lines) > 0 && !m.x.unsound[name]:
			if had && ends(l.lines, old.Seq, old.ID) {
				continue
			}
			head, err := headOf(l.lines[len(l.lines)-1])
			if err != nil {
				continue
			}
			one.Seq, one.ID, one.commit = uint64(len(l.lines)), head.id, m.x.st.end(name)
		}
		if l.seq > 0 && !ends(l.lines, l.seq, l.id) {
			one.LostSeq, one.LostID = l.seq, l.id.String()
		}
		if one.Seq == 0 && one.LostSeq == 0 || had && one.Seq == old.Seq && one.ID == old.ID && one.commit == old.commit && one.LostSeq == old.LostSeq && one.LostID == old.LostID {
			continue
		}
		if err := m.s.putSeen(one); err != nil {
			return err
		}
		switch {
		case one.LostSeq > 0:
			single := one.LostSeq == one.Seq+1
			m.did(name, "noted that %s %s not in this log, until an exchange brings %s back", span(one.Seq+1, one.LostSeq), verb(single, "is", "are"), verb(single, "it", "them"))
		case !had:
			noted++
		}
	}
	if noted > 0 {
		m.did("", "noted again up to where %d %s seen and verified", noted, verb(noted == 1, "log was", "logs were"))
	}
	return m.s.disk.syncTree(m.s.path(seenDir))
}

// lists makes lists of whole packed files anew, and looks again.
func (m *mender) lists() error {
	dir, done := "git/objects/pack/", 0
	for _, b := range m.x.badPacks {
		if !b.whole {
			continue
		}
		index, err := listPack(m.s.git("objects", "pack", b.name+".pack"))
		if err != nil {
			continue // what can be read of it is written anew
		}
		if err := m.keep.move(dir + b.name + ".idx"); err != nil {
			return err
		}
		temp := m.s.temp(m.s.git("objects", "pack"), "idx")
		if err := m.s.writeIndex(temp, index); err != nil {
			return err
		}
		if err := m.s.disk.rename(temp, m.s.git("objects", "pack", b.name+".idx")); err != nil {
			return err
		}
		if err := m.s.disk.syncDir(m.s.git("objects", "pack")); err != nil {
			return err
		}
		m.did("", "made the list of what is in the packed file %s anew", shortPack(dir+b.name+".pack"))
		done++
	}
	if done == 0 {
		return nil
	}
	x, err := m.s.examine()
	if err == nil {
		m.x.close()
		m.x = x
	}
	return err
}

// packs sets damaged files aside, now that what they held is written elsewhere.
func (m *mender) packs() error {
	dir := "git/objects/pack/"
	for _, b := range m.x.badPacks {
		for _, ext := range []string{".idx", ".rev", ".bitmap", ".keep", ".promisor", ".mtimes", ".pack"} {
			if err := m.keep.move(dir + b.name + ext); err != nil {
				return err
			}
		}
		m.did("", "set the damaged packed file %s aside", shortPack(dir+b.name+".pack"))
	}
	for _, rel := range m.x.badPieces {
		if hash, ok := parseHash(strings.ReplaceAll(strings.TrimPrefix(rel, "git/objects/"), "/", "")); ok {
			if _, err := m.s.readLoose(hash); err == nil {
				continue // written anew
			}
		}
		if err := m.keep.move(rel); err != nil {
			return err
		}
		m.did("", "set the damaged file %s aside", rel)
	}
	return nil
}

// rest makes the folder stand by itself, and makes folders that are missing.
func (m *mender) rest() error {
	if len(m.x.borrowed) > 0 {
		if err := m.keep.move("git/objects/info/alternates"); err != nil {
			return err
		}
		m.did("", "made this folder hold its entries itself; it borrows no more")
	}
	if exists(m.s.git("shallow")) {
		if err := m.keep.move("git/shallow"); err != nil {
			return err
		}
		m.did("", "made this folder a whole copy")
	}
	for _, name := range []string{pendingDir, seenDir, cacheDir} {
		if !m.x.missingFolder(name) {
			continue
		}
		if err := m.s.disk.mkdir(m.s.path(name)); err != nil {
			return err
		}
		if name != seenDir {
			m.did("", "made the folder %s/ again", name)
		}
	}
	return m.danglingFound()
}

// danglingFound sets aside notes of commits that are not held any more, at which
// git would stop.
func (m *mender) danglingFound() error {
	dir := m.s.git("refs", "shedbook", "found")
	files, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	from := m.s.openPacks()
	defer from.close()
	history := m.s.history(from)
	for _, f := range files {
		data, err := os.ReadFile(m.s.git("refs", "shedbook", "found", f.Name()))
		if err != nil {
			return err
		}
		if hash, ok := parseHash(strings.TrimSpace(string(data))); ok {
			if _, err := history.commit(hash); err == nil {
				continue
			}
		}
		if err := m.keep.move("git/refs/shedbook/found/" + f.Name()); err != nil {
			return err
		}
		m.did("", "set aside a note of what is not held any more, git/refs/shedbook/found/%s", f.Name())
	}
	return nil
}
