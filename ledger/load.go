package ledger

import (
	"cmp"
	"crypto/ed25519"
	"errors"
	"fmt"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
)

// Log is what a store hands over: one stored chain, whole and raw.
type Log struct {
	Name  string   // a hint: "<writer>" or "<writer>.<16 hex>"
	Lines [][]byte // each with its LF
	// Checked is the id of the last entry of this log whose signature, and
	// those of all before it, this device has checked before. For these Load
	// relies on the chain, whose ids pin every head and body, and on the tip
	// being the one remembered; it saves the signature's check and nothing
	// else. Zero checks everything.
	Checked ID
}

// Load verifies every line of every log, signatures on all cores, and puts the
// entries in order. The result does not depend on the order of logs. It fails
// only where there is no founding entry or more than one; whatever else is
// wrong is a Finding of the book.
func Load(logs []Log) (*Book, error) { return load(ID{}, logs) }

// LoadPinned is Load for a book whose id is known: other founding entries are
// findings, and only the absence of the known one is an error.
func LoadPinned(id ID, logs []Log) (*Book, error) {
	if id.IsZero() {
		return nil, errors.New("load: no book id was given")
	}
	return load(id, logs)
}

// line is one line on its way through Load.
type line struct {
	raw     []byte
	e       *Entry
	err     error
	checked bool
}

func load(pinned ID, logs []Log) (*Book, error) {
	logs = slices.Clone(logs)
	slices.SortFunc(logs, compareLogs)
	all, flat := spread(logs)
	keys := make(map[Writer]PublicKey)
	verifyLines(logs, all, flat, keys)
	b := &Book{verified: make(map[ID]*Entry, len(flat)), places: make(map[ID]place), keys: keys}
	for i := range logs {
		b.readLog(logs[i].Name, all[i])
	}
	for _, x := range flat {
		if x.checked {
			b.relied++
		}
	}
	if err := b.settleFounding(pinned); err != nil {
		return nil, err
	}
	b.arrange()
	return b, nil
}

var errNoKey = errors.New("no key is known for this writer: the first entry of the log, which carries it, does not verify")

func compareLogs(x, y Log) int {
	return cmp.Or(strings.Compare(x.Name, y.Name), x.Checked.Compare(y.Checked), slices.CompareFunc(x.Lines, y.Lines, slices.Compare[[]byte]))
}

// parallel calls f for every element, on all cores, in no order.
func parallel(lines []*line, f func(*line)) {
	const chunk = 64
	var next atomic.Int64
	var wait sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(lines)/chunk+1) {
		wait.Go(func() {
			for {
				start := int(next.Add(chunk)) - chunk
				if start >= len(lines) {
					return
				}
				for _, x := range lines[start:min(start+chunk, len(lines))] {
					f(x)
				}
			}
		})
	}
	wait.Wait()
}

// collectKeys gathers the public keys that control entries carry. A writer is
// the digest of its key, so a key needs no further proof that it is the
// writer's: whether the entry that carries it holds does not matter.
func collectKeys(lines []*line) map[Writer]PublicKey {
	keys := make(map[Writer]PublicKey)
	for _, x := range lines {
		if x.err != nil || x.e.head.Class != Control {
			continue
		}
		switch x.e.kind {
		case KindFound, KindRequest, KindAdmit:
			var record struct{ Key, Recovery PublicKey }
			if lenientDecode(x.e.Record(), &record) != nil {
				continue
			}
			for _, key := range []PublicKey{record.Key, record.Recovery} {
				if !key.IsZero() {
					keys[key.Writer()] = key
				}
			}
		}
	}
	return keys
}

// markChecked marks the lines that the entry of id tip pins: it and, along
// prev, all above it. Ids are digests, so nothing in them can have changed.
func markChecked(lines []line, tip ID) {
	if tip.IsZero() {
		return
	}
	at := slices.IndexFunc(lines, func(x line) bool { return x.err == nil && x.e.id == tip })
	for ; at >= 0 && lines[at].err == nil && lines[at].e.id == tip; at-- {
		lines[at].checked = true
		tip = lines[at].e.head.Prev
	}
}

// readLog takes the entries of one log and reports lines that are wrong by
// themselves or stand in the wrong place.
func (b *Book) readLog(name string, lines []line) {
	writer := logWriter(name, lines)
	report := func(i int, severity Severity, code, message string) {
		f := Finding{Severity: severity, Code: code, Writer: writer, Seq: uint64(i + 1), Log: name, Line: i + 1, Message: message}
		if x := lines[i]; x.err == nil {
			f.Writer, f.Seq, f.Entry = x.e.head.Writer, x.e.head.Seq, x.e.id
		}
		b.load = append(b.load, f)
	}
	if len(lines) == 0 {
		b.load = append(b.load, Finding{Severity: Warning, Code: CodeEmptyLog, Writer: writer, Log: name, Message: "the log has no entries"})
	}
	above, aboveKnown := ID{}, true
	var noKey, firstNoKey int
	for i := range lines {
		x := &lines[i]
		if x.err != nil {
			if errors.Is(x.err, errNoKey) {
				if noKey++; noKey == 1 {
					firstNoKey = i
				}
			} else {
				report(i, Error, CodeBrokenLine, "the line does not verify: "+x.err.Error())
			}
			aboveKnown = false
			continue
		}
		continues := !aboveKnown || x.e.head.Prev == above
		switch {
		case x.e.head.Writer != writer:
			report(i, Error, CodeStrayLine, fmt.Sprintf("an entry of log %s stands in this log", x.e.head.Writer))
		case continues:
		case slices.ContainsFunc(lines[:i], func(y line) bool { return y.err == nil && y.e.id == x.e.id }):
			report(i, Error, CodeRepeatedLine, "the entry stands in this log twice")
		default:
			report(i, Error, CodeOutOfOrder, "the entry does not continue the one above it")
		}
		above, aboveKnown = x.e.id, true
		b.take(x.e, place{name, i + 1})
	}
	if noKey > 0 {
		report(firstNoKey, Error, CodeUnverifiable, fmt.Sprintf("%d lines from here cannot be checked: %v", noKey, errNoKey))
	}
}

// logWriter returns whose log it is: as its name says, else as its first
// readable line says.
func logWriter(name string, lines []line) Writer {
	hint, _, _ := strings.Cut(name, ".")
	if w, err := ParseWriter(hint); err == nil {
		return w
	}
	for _, x := range lines {
		if x.e != nil {
			return x.e.head.Writer
		}
	}
	return Writer{}
}

// take keeps e. The same entry may come in several logs; the line with the
// private part is kept, else the lesser, so that the order does not matter.
func (b *Book) take(e *Entry, at place) {
	if have := b.verified[e.id]; have == nil || betterLine(e, have) {
		b.verified[e.id] = e
	}
	if old, ok := b.places[e.id]; !ok || at.log < old.log || at.log == old.log && at.line < old.line {
		b.places[e.id] = at
	}
}

func betterLine(e, than *Entry) bool {
	if has, had := e.Private() != nil, than.Private() != nil; has != had {
		return has
	}
	return slices.Compare(e.line, than.line) < 0
}

// settleFounding finds the founding entry and sets aside what is of other books.
func (b *Book) settleFounding(pinned ID) error {
	var found []*Entry
	for _, e := range b.verified {
		if e.kind == KindFound && e.head.Class == Control && (pinned.IsZero() || e.id == pinned) {
			found = append(found, e)
		}
	}
	slices.SortFunc(found, (*Entry).Compare)
	switch {
	case len(found) == 0:
		wrong := ""
		if sortFindings(b.load); len(b.load) > 0 {
			wrong = "; " + b.load[0].String()
		}
		if pinned.IsZero() {
			return fmt.Errorf("there is no founding entry%s", wrong)
		}
		return fmt.Errorf("the founding entry %s of this book is not here%s", pinned.Short(), wrong)
	case len(found) > 1:
		return fmt.Errorf("there are %d founding entries, %s and %s among them: these are logs of different books",
			len(found), found[0].id.Short(), found[1].id.Short())
	}
	if err := b.takeFounding(found[0]); err != nil {
		return err
	}
	for id, e := range b.verified {
		if e.Book() != b.id {
			at := b.places[id]
			b.load = append(b.load, Finding{
				Severity: Error, Code: CodeOtherBook, Writer: e.head.Writer, Seq: e.head.Seq, Entry: id, Log: at.log, Line: at.line,
				Message: fmt.Sprintf("the entry belongs to another book, %s", e.Book().Short()),
			})
			delete(b.verified, id)
		}
	}
	return nil
}

// takeFounding makes b the book that e founds.
func (b *Book) takeFounding(e *Entry) error {
	var record Found
	if err := lenientDecode(e.Record(), &record); err != nil {
		return fmt.Errorf("the founding entry cannot be read: %w", err)
	}
	if err := record.check(); err != nil {
		return fmt.Errorf("the founding entry cannot be read: %w", err)
	}
	b.id, b.title = e.id, record.Title
	b.founder, b.recovery = record.Key.Writer(), record.Recovery.Writer()
	return nil
}

// Key returns the public key of a writer, where any entry that was read carries it.
func (b *Book) Key(w Writer) (ed25519.PublicKey, bool) {
	key, ok := b.keys[w]
	if !ok {
		return nil, false
	}
	return key.Ed25519(), true
}
