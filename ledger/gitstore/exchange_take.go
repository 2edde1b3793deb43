package gitstore

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"sync"
	"sync/atomic"

	"github.com/go-git/go-git/v5/plumbing"

	"shedbook/ledger"
)

// take brings what is new, checks it, and takes in what verifies.
func (x *exchange) take(ctx context.Context) error {
	if !x.anythingNew() {
		return nil
	}
	if err := x.readLines(); err != nil {
		return err
	}
	named := x.namedHere()
	known, unknown := x.wanted(named)
	if err := x.fetch(ctx, known, maxFetchBytes, 0); err != nil {
		return err
	}
	if err := x.fetch(ctx, unknown, maxPendingFetch, maxPendingLog); err != nil {
		return err
	}
	if err := x.readThere(ctx, append(known, unknown...), named); err != nil {
		return err
	}
	p, err := x.verify(ctx)
	if err != nil {
		return err
	}
	if err := x.ours(p); err != nil {
		return err
	}
	return x.adopt(p)
}

// ours refuses a target that holds another book and nothing of this one:
// sending there would mix them.
func (x *exchange) ours(p *plan) error {
	if x.otherBook.IsZero() || len(p.grown()) > 0 {
		return nil
	}
	for _, th := range x.there {
		if th.known {
			return nil
		}
	}
	return noExchange(x.t.name(), nil, "it holds another book, %s, and this one is %s; nothing was taken or sent", x.otherBook.Short(), x.book.Short())
}

// anythingNew reports whether the target has a log that is not known to be held.
func (x *exchange) anythingNew() bool {
	for _, th := range x.there {
		if !th.known {
			return true
		}
	}
	return false
}

// wanted returns the names of logs that are not known to be held, in order:
// those of writers that are here or named by an admit here, and the others.
// There may be far more than a book can have: what is beyond the limit is
// refused unseen. Who joins knows nobody, and wants all.
func (x *exchange) wanted(named map[string]bool) (known, unknown []string) {
	writers := maps.Clone(named)
	for name := range x.here {
		writers[name[:32]] = true
	}
	names := sortedNames(x.there)
	if i := slices.Index(names, x.shown); x.joining && i > 0 {
		names = slices.Insert(slices.Delete(names, i, i+1), 0, x.shown)
	}
	for _, name := range names {
		switch {
		case x.there[name].known:
		case x.joining || writers[name[:32]]:
			known = append(known, name)
		default:
			unknown = append(unknown, name)
		}
	}
	cut := func(names []string, limit int) []string {
		for _, name := range names[min(limit, len(names)):] {
			x.refuse(x.there[name], fmt.Sprintf("the target has more than %d logs that are new; this one was not looked at", maxLogs))
		}
		return names[:min(limit, len(names))]
	}
	known = cut(known, maxLogs)
	return known, cut(unknown, maxLogs-len(known))
}

func (x *exchange) refuse(th *thereLog, why string) {
	if th.why == "" {
		th.why, th.lines = why, nil
		x.report.Refused = append(x.report.Refused, Refusal{Log: th.name, Why: why})
	}
}

// fetch makes wanted logs readable, but for those that are already. limit and
// single bound the bytes that may come.
func (x *exchange) fetch(ctx context.Context, wanted []string, limit, single int64) error {
	var logs []string
	for _, name := range wanted {
		if th := x.there[name]; th.from == nil && th.why == "" {
			logs = append(logs, name)
		}
	}
	if len(logs) == 0 {
		return nil
	}
	x.progress("fetching", 0, 0)
	got, err := x.t.fetch(ctx, x.wish(logs, limit, single))
	if err != nil {
		return err
	}
	for _, name := range logs {
		switch f := got[name]; {
		case f.err != nil:
			x.refuse(x.there[name], whyOf(f.err))
		case f.from == nil:
			x.refuse(x.there[name], "the target did not hand it over")
		default:
			x.there[name].from = f.from
		}
	}
	return nil
}

// wish says what is wanted and what is held.
func (x *exchange) wish(logs []string, limit, single int64) *wish {
	w := &wish{logs: logs, limit: limit, single: single, came: func(n int64) { x.progress("fetching", int(n), 0) }}
	if x.s == nil {
		return w
	}
	w.held = x.s.history(x.packs)
	for _, name := range sortedNames(x.here) {
		w.haves = append(w.haves, x.here[name].commit)
	}
	return w
}

// readThere reads logs and checks the signature of every entry that is not
// held. Logs of writers nobody is known to have admitted come last, as they
// must be small: whom the others admit is known by then.
func (x *exchange) readThere(ctx context.Context, wanted []string, named map[string]bool) error {
	left, done := wanted, 0
	tell := func() {
		x.progress("checking", done, len(wanted))
		done++
	}
	for len(left) > 0 {
		var later []string
		for _, name := range left {
			if w := name[:32]; !named[w] && !x.founds(name) {
				later = append(later, name)
				continue
			}
			tell()
			if err := x.readOne(ctx, name, named, 0); err != nil {
				return err
			}
		}
		if len(later) == len(left) {
			for _, name := range later {
				tell()
				if err := x.readOne(ctx, name, named, ledger.MaxPendingBytes); err != nil {
					return err
				}
			}
			break
		}
		left = later
	}
	return nil
}

// namedHere returns the writers whom an admit held here names, founder and
// recovery key included: their logs may be of any length.
func (x *exchange) namedHere() map[string]bool {
	named := map[string]bool{}
	for _, lines := range x.lines {
		for _, line := range lines {
			noteNames(line, named)
		}
	}
	return named
}

// noteNames notes whom a verified entry takes into the book.
func noteNames(line []byte, named map[string]bool) {
	if !bytes.Contains(line, []byte(`"class":"control"`)) {
		return
	}
	var entry struct {
		Body struct {
			Kind   string `json:"kind"`
			Record struct {
				Key      ledger.PublicKey `json:"key"`
				Recovery ledger.PublicKey `json:"recovery"`
			} `json:"record"`
		} `json:"body"`
	}
	if err := json.Unmarshal(line, &entry); err != nil {
		return
	}
	record := entry.Body.Record
	switch entry.Body.Kind {
	case ledger.KindFound:
		named[record.Key.Writer().String()] = true
		named[record.Recovery.Writer().String()] = true
	case ledger.KindAdmit:
		named[record.Key.Writer().String()] = true
	}
}

// founds reports whether a log begins with this book's founding entry.
func (x *exchange) founds(name string) bool {
	th := x.there[name]
	if th.from == nil {
		return false
	}
	line, err := firstLine(&logState{name: name, base: th.commit}, th.from)
	if err != nil {
		return false
	}
	head, err := headOf(line)
	return err == nil && head.id == x.book
}

// readOne reads a log of the target and checks what is not held; with a limit
// it may have no more than that many bytes. What is wrong is a refusal.
func (x *exchange) readOne(ctx context.Context, name string, named map[string]bool, limit int64) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	th := x.there[name]
	if th.from == nil {
		return nil
	}
	c := &logCheck{x: x, limit: limit, named: map[string]bool{}}
	lines, err := c.read(th)
	if err != nil {
		if !c.otherBook.IsZero() {
			x.otherBook = c.otherBook
		}
		x.refuse(th, whyOf(err))
		return nil
	}
	th.lines = lines
	if limit == 0 { // strangers cannot take each other in
		maps.Copy(named, c.named)
	}
	return nil
}

// logCheck checks one log of a target while it is read.
type logCheck struct {
	x     *exchange
	limit int64 // of bytes; 0: none
	held  [][]byte
	host  string // the log here that held is of
	skip  int    // files of it that are the same here, and are not read
	pub   ed25519.PublicKey
	bytes atomic.Int64

	mu        sync.Mutex
	named     map[string]bool
	otherBook ledger.ID
}

func (c *logCheck) read(th *thereLog) ([][]byte, error) {
	files, err := logFiles(th.name, th.commit, th.from)
	if err != nil {
		return nil, err
	}
	// A few objects, each named a thousand times, would fill any memory.
	twice := map[plumbing.Hash]bool{}
	for _, f := range files {
		if twice[f.hash] {
			return nil, placeError{f.path, "the same file stands in the log twice"}
		}
		twice[f.hash] = true
	}
	if c.limit > 0 && int64(len(files)-1)*linesPerFile*leastLine > c.limit {
		return nil, c.tooLong()
	}
	for _, name := range sameWriter(c.x.lines, th.name) {
		if c.held == nil || name == th.name {
			c.held, c.host = c.x.lines[name], name
		}
	}
	if err := c.findKey(th, files[0]); err != nil {
		return nil, err
	}
	c.skip = c.same(files)
	lines, err := readFiles(th.name, files[c.skip:], th.from, c.check)
	if err != nil {
		return nil, err
	}
	return slices.Concat(c.held[:c.skip*linesPerFile], lines), nil
}

// same returns how many full files at the beginning of a log are named by the
// digests that they have here: ours stand for them, and how long a log has
// become does not matter.
func (c *logCheck) same(files []filePlace) int {
	h := c.x.here[c.host]
	if h == nil || c.limit > 0 {
		return 0
	}
	ours, err := logFiles(c.host, h.commit, c.x.s.history(c.x.packs))
	if err != nil {
		return 0
	}
	n := 0
	for n < min(len(files), len(ours), len(c.held)/linesPerFile) && files[n].hash == ours[n].hash {
		n++
	}
	return n
}

// leastLine is less than the bytes of any entry: a head alone has more.
const leastLine = 300

func (c *logCheck) tooLong() error {
	return fmt.Errorf("nobody here has admitted this device yet, and its log has more than %d bytes", c.limit)
}

// findKey learns the key of the log's writer from its first entry.
func (c *logCheck) findKey(th *thereLog, first filePlace) error {
	var line []byte
	if len(c.held) > 0 {
		line = c.held[0]
	} else {
		lines, err := readFiles(th.name, []filePlace{first}, th.from, nil)
		if err != nil {
			return err
		}
		line = lines[0]
	}
	e, err := ledger.Verify(line, nil)
	if err != nil {
		return placeError{first.path, fmt.Sprintf("line 1: %v", err)}
	}
	record, err := ledger.DecodeControl(e)
	if err != nil {
		return placeError{first.path, fmt.Sprintf("line 1: %v", err)}
	}
	switch r := record.(type) {
	case *ledger.Found:
		c.pub = r.Key.Ed25519()
	case *ledger.Request:
		c.pub = r.Key.Ed25519()
	}
	return nil
}

// check is called with the lines of one file.
func (c *logCheck) check(file int, lines [][]byte) error {
	for i, line := range lines {
		if total := c.bytes.Add(int64(len(line))); c.limit > 0 && total > c.limit {
			return c.tooLong()
		}
		n := (c.skip+file)*linesPerFile + i
		if n < len(c.held) && bytes.Equal(line, c.held[n]) {
			continue
		}
		e, err := ledger.Verify(line, c.pub)
		if err != nil {
			return fmt.Errorf("line %d: %w", i+1, err)
		}
		if e.Book() != c.x.book {
			c.mu.Lock()
			c.otherBook = e.Book()
			c.mu.Unlock()
			return fmt.Errorf("line %d: the entry belongs to another book, %s", i+1, e.Book().Short())
		}
		if e.HasPrivate() && e.Private() == nil {
			return fmt.Errorf("line %d: the entry's private part was taken out; another copy may have it", i+1)
		}
		c.mu.Lock()
		noteNames(line, c.named)
		c.mu.Unlock()
	}
	return nil
}
