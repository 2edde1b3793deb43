package ledger

import (
	"cmp"
	"crypto/ed25519"
	"time"
)

// Class says who needs an entry: Control entries say who takes part, Shared
// ones name the book's farms, yards, people, seasons and schedules, and each
// Work entry concerns one machine, by its tag.
type Class string

// The three classes.
const (
	Control Class = "control"
	Shared  Class = "shared"
	Work    Class = "work"
)

// Ref cites one entry: its id, and where it stands in its log.
type Ref struct {
	ID     ID     `json:"id"`
	Seq    uint64 `json:"seq"`
	Writer Writer `json:"writer"`
}

// Compare orders refs as `seen` and a stamp list them: writer (text), seq, id.
func (r Ref) Compare(other Ref) int {
	if c := r.Writer.Compare(other.Writer); c != 0 {
		return c
	}
	if c := cmp.Compare(r.Seq, other.Seq); c != 0 {
		return c
	}
	return r.ID.Compare(other.ID)
}

// Head is the signed part of an entry. FORMAT.md section "Head" has the terms.
type Head struct {
	Book   ID // zero in the founding entry, whose own id it is
	Writer Writer
	Seq    uint64 // 1, 2, 3 ... along a chain
	Prev   ID     // zero at seq 1
	Seen   []Ref
	Depth  uint64
	At     time.Time // UTC, whole seconds: when it was recorded, as its writer's clock had it
	Class  Class
	Tag    Tag // work only
	HasTag bool
	Body   ID // SHA-256 of the canonical body
}

// Entry is one verified entry. Only Verify, VerifyHead, Sign, Load and, up to its
// Wait without the signature, a Signing make one.
type Entry struct {
	id   ID
	head Head
	kind string
	line []byte
	// Offsets into line; an end of 0 means that the part is absent.
	signed, record, private span
	privateDigest           ID
	signature               [ed25519.SignatureSize]byte
}

// span is a half-open range of a line. A line has at most 64 KiB.
type span struct{ start, end uint32 }

func (e *Entry) part(s span) []byte {
	if s.end == 0 {
		return nil
	}
	return e.line[s.start:s.end:s.end]
}

// ID returns the SHA-256 of the canonical head.
func (e *Entry) ID() ID { return e.id }

// Head returns the signed head. Its Seen must not be changed.
func (e *Entry) Head() Head { return e.head }

// Book returns the id of the book's founding entry, which is its own id there.
func (e *Entry) Book() ID {
	if e.head.Book.IsZero() {
		return e.id
	}
	return e.head.Book
}

// Writer returns the device whose key signed the entry.
func (e *Entry) Writer() Writer { return e.head.Writer }

// Seq returns the place in the writer's log, from 1.
func (e *Entry) Seq() uint64 { return e.head.Seq }

// Prev returns the id of the entry before it in its log, zero at seq 1.
func (e *Entry) Prev() ID { return e.head.Prev }

// Seen returns the entries of other logs that it cites. They must not be changed.
func (e *Entry) Seen() []Ref { return e.head.Seen }

// Depth returns 1 + the greatest depth among prev and seen, as signed.
func (e *Entry) Depth() uint64 { return e.head.Depth }

// At returns when the entry was recorded, as its writer's clock had it. It
// proves nothing about time.
func (e *Entry) At() time.Time { return e.head.At }

// Class returns control, shared or work.
func (e *Entry) Class() Class { return e.head.Class }

// Kind returns the body's kind, "" where the body is withheld.
func (e *Entry) Kind() string { return e.kind }

// HasBody reports whether the body is here. It always is in a log; in evidence
// it may be withheld (see VerifyHead).
func (e *Entry) HasBody() bool { return e.record.end != 0 }

// Record returns the canonical JSON object of the body's record, nil where the
// body is withheld.
func (e *Entry) Record() []byte { return e.part(e.record) }

// Private returns the canonical JSON object of the private part's record, nil
// if there is none or it is held back.
func (e *Entry) Private() []byte { return e.part(e.private) }

// HasPrivate reports whether the body carries the digest of a private part,
// which may be held back.
func (e *Entry) HasPrivate() bool { return !e.privateDigest.IsZero() }

// Line returns the whole line, its LF included; nothing where evidence gives the
// head alone.
func (e *Entry) Line() []byte { return e.line[:len(e.line):len(e.line)] }

// Signature returns the 64 bytes of the Ed25519 signature.
func (e *Entry) Signature() []byte { return append([]byte(nil), e.signature[:]...) }

// SignedBytes returns the canonical head: the message that
// `ssh-keygen -Y verify -n shedbook-entry-v1` takes with Armor.
func (e *Entry) SignedBytes() []byte {
	if e.line == nil {
		return appendHead(nil, &e.head)
	}
	return e.part(e.signed)
}

// Armor rebuilds the signature file, byte for byte as ssh-keygen writes it.
func (e *Entry) Armor(pub ed25519.PublicKey) []byte {
	return armor(pub, EntryNamespace, e.signature[:])
}

// TagMatches reports whether the entry carries the tag that the machine of key
// has at this place of this log.
func (e *Entry) TagMatches(key MachineKey) bool {
	return e.head.HasTag && e.head.Tag == TagOf(key, e.head.Writer, e.head.Seq)
}

// Ref returns how other entries cite e.
func (e *Entry) Ref() Ref { return Ref{ID: e.id, Seq: e.head.Seq, Writer: e.head.Writer} }

// Compare orders entries by (depth, id), an order that respects causality.
func (e *Entry) Compare(other *Entry) int {
	if c := cmp.Compare(e.head.Depth, other.head.Depth); c != 0 {
		return c
	}
	return e.id.Compare(other.id)
}
