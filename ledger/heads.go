package ledger

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"fmt"
	"maps"
	"slices"
	"sync"
)

// Proof is one entry as evidence shows it: at least its head, and all else that
// is not held back. Head.Body is not looked at where Body is given.
type Proof struct {
	Head      Head
	Body      []byte // canonical bytes; nil where withheld
	Private   []byte // canonical bytes; nil where there is none or it is held back
	Signature []byte // 64 bytes; nil where a later entry of the log vouches for the head
}

// Heads puts a book together from proofs. A head without a signature is as good
// as signed where an entry with one continues it, directly or through others:
// each head holds the id, a digest, of the head before it. The zero Heads is
// ready to use.
type Heads struct {
	entries []*Entry
	signed  []bool
	prev    []int          // of the entry each continues, -1 where that is not here
	last    map[Writer]int // entry added last of each log
	at      map[ID]int     // all entries; made where a log is no plain chain
	scratch []byte

	lines []*line
	keys  map[Writer]PublicKey // that the entries so far carry
	batch []*line              // signed, of known writers, not yet being checked
	later []*line              // signed, whose writer's key has not come yet
	wait  sync.WaitGroup
}

// Unproved is the error of Heads.Book: heads that lead to no signature that
// holds.
type Unproved struct {
	Index int    // of the entry in question, from 0 in the order of Add
	Ref   Ref    // the entry itself
	From  uint64 // the first entry of the log that no signature vouches for
	Why   string
}

func (u *Unproved) Error() string {
	return fmt.Sprintf("entries %d to %d of log %s: %s", u.From, u.Ref.Seq, u.Ref.Writer, u.Why)
}

// Add takes the next entry and returns its id. Entries come by (depth, id).
// Everything is checked that needs no signature: limits, digests, the head's
// members. Add keeps neither p nor what it refers to.
func (h *Heads) Add(p Proof) (ID, error) {
	e, err := h.entry(&p)
	if err != nil {
		return ID{}, err
	}
	if n := len(h.entries); n > 0 && h.entries[n-1].Compare(e) >= 0 {
		return ID{}, fmt.Errorf("the entry stands out of order: entries go by depth, then id")
	}
	if h.last == nil {
		h.last = make(map[Writer]int)
	}
	h.prev = append(h.prev, h.find(e))
	h.last[e.head.Writer] = len(h.entries)
	h.entries = append(h.entries, e)
	h.signed = append(h.signed, p.Signature != nil)
	h.check(e, p.Signature != nil)
	return e.id, nil
}

// check has the signature checked while more entries come. The goroutines end by
// themselves, whether Book is called or not.
func (h *Heads) check(e *Entry, signed bool) {
	const chunk = 64
	x := &line{e: e}
	h.lines = append(h.lines, x)
	if h.keys == nil {
		h.keys = make(map[Writer]PublicKey)
	}
	if e.head.Class == Control {
		maps.Copy(h.keys, collectKeys([]*line{x}))
	}
	if !signed {
		return
	}
	if _, known := h.keys[e.head.Writer]; !known {
		h.later = append(h.later, x)
		return
	}
	if h.batch = append(h.batch, x); len(h.batch) == chunk {
		h.launch()
	}
}

func (h *Heads) launch() {
	batch := h.batch
	pubs := make([]PublicKey, len(batch))
	for i, x := range batch {
		pubs[i] = h.keys[x.e.head.Writer]
	}
	h.batch = nil
	h.wait.Go(func() {
		for i, x := range batch {
			x.err = x.e.checkSignature(pubs[i].Ed25519())
		}
	})
}

// find returns the place of the entry that e continues, nearly always the one
// added last of its log.
func (h *Heads) find(e *Entry) int {
	if e.head.Prev.IsZero() {
		return -1
	}
	if i, ok := h.last[e.head.Writer]; ok && h.entries[i].id == e.head.Prev {
		return i
	}
	if h.at == nil {
		h.at = make(map[ID]int)
	}
	for i := len(h.at); i < len(h.entries); i++ {
		h.at[h.entries[i].id] = i
	}
	if i, ok := h.at[e.head.Prev]; ok {
		return i
	}
	return -1
}

func (h *Heads) entry(p *Proof) (*Entry, error) {
	if err := p.Head.check(); err != nil {
		return nil, err
	}
	if p.Signature != nil && len(p.Signature) != ed25519.SignatureSize {
		return nil, fmt.Errorf("a signature has %d bytes, not %d", ed25519.SignatureSize, len(p.Signature))
	}
	if p.Body != nil {
		return p.shown()
	}
	e := &Entry{head: p.Head}
	e.head.Seen = slices.Clone(p.Head.Seen)
	if p.Signature == nil {
		h.scratch = appendHead(h.scratch[:0], &e.head)
		e.id = sha256.Sum256(h.scratch)
		return e, e.checkPlace()
	}
	copy(e.signature[:], p.Signature)
	e.line = append(make([]byte, 0, 640+144*len(p.Head.Seen)), `{"head":`...)
	e.signed.start = uint32(len(e.line))
	e.line = appendHead(e.line, &e.head)
	e.signed.end = uint32(len(e.line))
	e.id = sha256.Sum256(e.SignedBytes())
	e.line = append(append(e.line, `,"sig":"`...), base64Text(p.Signature)...)
	e.line = append(e.line, "\"}\n"...)
	return e, e.checkPlace()
}

// shown makes the entry's line as it stands in its log and reads that.
func (p *Proof) shown() (*Entry, error) {
	if p.Signature == nil {
		return nil, fmt.Errorf("the entry shows its body but no signature")
	}
	h := p.Head
	h.Body = sha256.Sum256(p.Body)
	line := make([]byte, 0, len(p.Body)+len(p.Private)+640+144*len(h.Seen))
	line = append(append(line, `{"body":`...), p.Body...)
	line = appendHead(append(line, `,"head":`...), &h)
	if p.Private != nil {
		line = append(append(line, `,"private":`...), p.Private...)
	}
	line = append(append(line, `,"sig":"`...), base64Text(p.Signature)...)
	return parseLine(append(line, "\"}\n"...), false)
}

// check holds a head that was not read from canonical bytes to what they could
// say.
func (h *Head) check() error {
	switch year := h.At.UTC().Year(); {
	case year < 0 || year > 9999 || h.At.Nanosecond() != 0:
		return fmt.Errorf("at %s cannot be written", h.At)
	case h.Class != Control && h.Class != Shared && h.Class != Work:
		return fmt.Errorf("class is %q: it is control, shared or work", h.Class)
	case h.Seq < 1 || h.Seq > MaxInteger || h.Depth < 1 || h.Depth > MaxInteger:
		return fmt.Errorf("seq %d or depth %d is out of range", h.Seq, h.Depth)
	case len(h.Seen) > MaxSeen:
		return fmt.Errorf("seen cites more than %d entries", MaxSeen)
	}
	for i, ref := range h.Seen {
		if ref.Seq < 1 || ref.Seq > MaxInteger {
			return fmt.Errorf("seen cites entry %d", ref.Seq)
		}
		if i > 0 && h.Seen[i-1].Compare(ref) >= 0 {
			return fmt.Errorf("seen is not sorted by writer, seq and id")
		}
	}
	return nil
}

// Book checks every signature, on all cores, and that every head leads to one,
// and arranges the entries as LoadPinned does. The error is *Unproved where a
// signature does not hold or is missing. In such a book the bodies and private
// parts that were not given are no findings. The keys of writers come from the
// control entries, whose bodies are always there.
func (h *Heads) Book(pinned ID) (*Book, error) {
	for _, x := range h.later {
		if _, known := h.keys[x.e.head.Writer]; known {
			h.batch = append(h.batch, x)
		} else {
			x.err = errNoKey
		}
	}
	h.later = nil
	h.launch()
	h.wait.Wait()
	if err := h.pinned(h.lines); err != nil {
		return nil, err
	}
	b := &Book{verified: make(map[ID]*Entry, len(h.entries)), places: make(map[ID]place), keys: h.keys, heldBack: true}
	for _, e := range h.entries {
		b.verified[e.id] = e
	}
	if err := b.settleFounding(pinned); err != nil {
		return nil, err
	}
	b.arrange()
	return b, nil
}

// pinned reports the first entry, in the order of Add, that no signature holds
// for.
func (h *Heads) pinned(lines []*line) error {
	vouched := slices.Clone(h.signed)
	for i := len(vouched) - 1; i >= 0; i-- {
		if j := h.prev[i]; j >= 0 && vouched[i] {
			vouched[j] = true
		}
	}
	for i, x := range lines {
		switch {
		case x.err != nil:
			return &Unproved{i, x.e.Ref(), h.firstUnproved(i, lines), x.err.Error()}
		case !vouched[i]:
			return &Unproved{i, x.e.Ref(), h.firstUnproved(i, lines), "no signature of the log's last entry stands in it"}
		}
	}
	return nil
}

// firstUnproved goes back along the log of entry i to the one after the last
// signature that holds.
func (h *Heads) firstUnproved(i int, lines []*line) uint64 {
	for {
		j := h.prev[i]
		if j < 0 || h.signed[j] && lines[j].err == nil {
			return lines[i].e.head.Seq
		}
		i = j
	}
}

// Body returns the canonical bytes of the whole body, whose digest the head
// carries; nil where the body is withheld.
func (e *Entry) Body() []byte {
	if !e.HasBody() {
		return nil
	}
	// The line is canonical: body is its first member and head the next.
	return e.line[len(`{"body":`) : int(e.signed.start)-len(`,"head":`) : int(e.signed.start)-len(`,"head":`)]
}

// PrivatePart returns the canonical bytes of the whole private part, whose
// digest the body carries; nil if there is none or it is held back.
func (e *Entry) PrivatePart() []byte {
	if e.private.end == 0 {
		return nil
	}
	start := int(e.signed.end) + len(`,"private":`)
	end := start + bytes.LastIndex(e.line[start:], []byte(`,"sig":"`))
	return e.line[start:end:end]
}

// Place returns where the store had the entry: the log's name and the line from
// 1. They are "" and 0 where the entry came another way.
func (b *Book) Place(e *Entry) (log string, line int) {
	at, ok := b.places[e.id]
	if n := b.nodes.get(e.id); !ok && n != nil {
		at = n.place
	}
	return at.log, at.line
}

// Relied returns how many lines were taken without checking their signature,
// because Log.Checked vouched for them.
func (b *Book) Relied() int { return b.relied }
