package ledger

import (
	"encoding/hex"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"
)

// Book is a set of verified entries: logs that cite each other. Load makes it.
type Book struct {
	id       ID
	title    string
	founder  Writer
	recovery Writer
	found    *node

	verified map[ID]*Entry // of this book, refused ones too; of one made from an image, those added since
	imaged   bool          // made from an image
	nodes    *nodeTable    // held: verified and not refused
	order    []*node       // nodes by (depth, id)
	partial  []*node       // those of order that are not whole
	logs     map[Writer]*log
	writers  map[Writer]uint32 // indexes used by past
	keys     map[Writer]PublicKey
	missing  map[ID]*gap
	places   map[ID]place
	relied   int       // lines whose signature was not checked again
	heldBack bool      // evidence: what is not shown was not lost
	load     []Finding // from reading the logs
	graph    []Finding // from placing the entries

	mu        sync.Mutex // guards what is made when asked for
	entries   []*Entry
	judgement *Judgement
	cited     map[Writer]*cited
}

// log is what is held of one writer, one chain or several.
type log struct {
	tips     []*node // held entries that no held entry continues, by (seq, id)
	count    int
	bytes    int
	controls []*node // control entries by (depth, id)
}

// gap is an entry that is cited but not here.
type gap struct {
	ref   Ref
	by    *node // the first, by (depth, id), that cites it
	count int   // how many cite it
}

// ID returns the id of the founding entry.
func (b *Book) ID() ID { return b.id }

// Title returns the title given by the founding entry.
func (b *Book) Title() string { return b.title }

// Founding returns the founding entry.
func (b *Book) Founding() *Entry { return b.found.e }

// Entries returns every held entry by (depth, id), an order in which each entry
// follows all it cites. Waiting, pending and stopped entries are among them;
// Judgement.Status tells. The slice must not be changed.
func (b *Book) Entries() []*Entry {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.entries == nil {
		b.entries = make([]*Entry, len(b.order))
		for i, n := range b.order {
			b.entries[i] = n.e
		}
	}
	return b.entries[:len(b.entries):len(b.entries)]
}

// Entry returns the held entry of that id, or nil.
func (b *Book) Entry(id ID) *Entry {
	if n := b.nodes.get(id); n != nil {
		return n.e
	}
	return nil
}

// Find returns the held entries whose id starts with prefix, at least 4
// lower-case hex digits, sorted by id.
func (b *Book) Find(prefix string) []*Entry {
	if len(prefix) < minPrefix || len(prefix) > 2*len(ID{}) || strings.Trim(prefix, "0123456789abcdef") != "" {
		return nil
	}
	whole, _ := hex.DecodeString(prefix[:len(prefix)&^1])
	var found []*Entry
	for _, n := range b.order {
		if string(n.e.id[:len(whole)]) == string(whole) && strings.HasPrefix(n.e.id.String(), prefix) {
			found = append(found, n.e)
		}
	}
	slices.SortFunc(found, func(x, y *Entry) int { return x.id.Compare(y.id) })
	return found
}

// Writers returns every writer of whom an entry is held, sorted.
func (b *Book) Writers() []Writer {
	var out []Writer
	for w, l := range b.logs {
		if l.count > 0 {
			out = append(out, w)
		}
	}
	slices.SortFunc(out, Writer.Compare)
	return out
}

// Tips returns the entries of w that nothing continues: one, several where the
// log forked or has a gap, none where nothing of it is held. By (seq, id).
func (b *Book) Tips(w Writer) []Ref {
	l := b.logs[w]
	if l == nil {
		return nil
	}
	refs := make([]Ref, len(l.tips))
	for i, n := range l.tips {
		refs[i] = n.e.Ref()
	}
	return refs
}

// KnownAt returns the latest `at` in e's causal past, e itself included: the
// day by which all that e rests on had been recorded, as the clocks had it.
func (b *Book) KnownAt(e *Entry) time.Time {
	if n := b.nodes.get(e.id); n != nil {
		return time.Unix(n.knownAt, 0).UTC()
	}
	return e.head.At
}

// Findings returns what is wrong with the logs and the chains in them, sorted.
// What has no effect or is stopped is in Judge().Findings().
func (b *Book) Findings() []Finding {
	out := slices.Concat(b.load, b.graph)
	for _, m := range b.missing {
		out = append(out, b.gapFinding(m))
	}
	for w, l := range b.logs {
		if f, forked := b.forkFinding(w, l); forked {
			out = append(out, f)
		}
	}
	return sortFindings(out)
}

// Sound returns nil, or the first Error among Findings.
func (b *Book) Sound() error {
	for _, f := range b.Findings() {
		if f.Severity == Error {
			return fmt.Errorf("the book does not verify: %s", strings.TrimPrefix(f.String(), "error: "))
		}
	}
	return nil
}

func (b *Book) at(n *node, severity Severity, code, message string) Finding {
	return Finding{
		Severity: severity, Code: code,
		Writer: n.e.head.Writer, Seq: n.e.head.Seq, Entry: n.e.id,
		Log: n.place.log, Line: n.place.line, Message: message,
	}
}

func (b *Book) gapFinding(m *gap) Finding {
	others := ""
	if m.count > 1 {
		others = fmt.Sprintf(" and %d more", m.count-1)
	}
	return Finding{
		Severity: Warning, Code: CodeMissingEntry,
		Writer: m.ref.Writer, Seq: m.ref.Seq, Entry: m.ref.ID,
		Message: fmt.Sprintf("entry %d of this log is not here, but entry %s of log %s cites it%s: what rests on it waits; sync with whoever may have it",
			m.ref.Seq, m.by.e.id.Short(), m.by.e.head.Writer, others),
	}
}

// forkFinding names the first entries in which two chains of one key differ.
func (b *Book) forkFinding(w Writer, l *log) (Finding, bool) {
	var a, c *node
	for i, x := range l.tips {
		for _, y := range l.tips[i+1:] {
			if p, q := part(x, y); p != nil && (a == nil || p.e.head.Seq < a.e.head.Seq) {
				a, c = p, q
			}
		}
	}
	if a == nil {
		return Finding{}, false
	}
	if c.e.Compare(a.e) < 0 {
		a, c = c, a
	}
	return b.at(a, Warning, CodeFork, fmt.Sprintf(
		"the log goes on twice from here, with entry %s recorded %s and entry %s recorded %s: its key was used in two places, as after a copied folder or a restored backup; usually innocent, both are kept and count; go on with a new key on each machine and let an owner stop this one",
		a.e.id.Short(), a.e.head.At.Format(timeForm), c.e.id.Short(), c.e.head.At.Format(timeForm))), true
}

// part returns the first entries, of equal seq, in which the chains of two tips
// differ; nil where they do not overlap (a gap, not a fork).
func part(x, y *node) (*node, *node) {
	var p, q *node
	for x != nil && y != nil && x != y {
		switch {
		case x.e.head.Seq > y.e.head.Seq:
			x = x.prev
		case y.e.head.Seq > x.e.head.Seq:
			y = y.prev
		default:
			p, q = x, y
			x, y = x.prev, y.prev
		}
	}
	return p, q
}
