package ledger

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"fmt"
	"slices"
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
	scratch []byte
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
	h.entries = append(h.entries, e)
	h.signed = append(h.signed, p.Signature != nil)
	return e.id, nil
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
	switch at, ok := parseTime(h.At.AppendFormat(nil, timeForm)); {
	case !ok || !at.Equal(h.At):
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
	lines := make([]*line, len(h.entries))
	var check []*line
	for i, e := range h.entries {
		lines[i] = &line{e: e}
		if h.signed[i] {
			check = append(check, lines[i])
		}
	}
	keys := collectKeys(lines)
	parallel(check, func(x *line) {
		if pub, ok := keys[x.e.head.Writer]; ok {
			x.err = x.e.checkSignature(pub.Ed25519())
		} else {
			x.err = errNoKey
		}
	})
	if err := h.pinned(lines); err != nil {
		return nil, err
	}
	b := &Book{verified: make(map[ID]*Entry, len(h.entries)), places: make(map[ID]place), keys: keys, heldBack: true}
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
	at := make(map[ID]int, len(lines))
	for i, x := range lines {
		at[x.e.id] = i
	}
	vouched := make([]bool, len(lines))
	for i, x := range slices.Backward(lines) {
		vouched[i] = vouched[i] || h.signed[i]
		if j, ok := at[x.e.head.Prev]; ok && vouched[i] {
			vouched[j] = true
		}
	}
	for i, x := range lines {
		switch {
		case x.err != nil:
			return &Unproved{i, x.e.Ref(), h.firstUnproved(x.e, at, lines), x.err.Error()}
		case !vouched[i]:
			return &Unproved{i, x.e.Ref(), h.firstUnproved(x.e, at, lines), "no signature of the log's last entry stands in it"}
		}
	}
	return nil
}

// firstUnproved goes back along e's log to the entry after the last signature
// that holds.
func (h *Heads) firstUnproved(e *Entry, at map[ID]int, lines []*line) uint64 {
	first := e.head.Seq
	for {
		i, ok := at[e.head.Prev]
		if !ok || h.signed[i] && lines[i].err == nil {
			return first
		}
		e = lines[i].e
		first = e.head.Seq
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
	at := b.places[e.id]
	return at.log, at.line
}

// Relied returns how many lines were taken without checking their signature,
// because Log.Checked vouched for them.
func (b *Book) Relied() int { return b.relied }
