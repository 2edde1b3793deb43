package ledger

import (
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"strconv"
	"time"
)

// Signer signs SSHSIG to-be-signed bytes with an Ed25519 key: a *Key, or an
// agent's through AgentSigner.
type Signer interface {
	Public() ed25519.PublicKey
	Sign(message []byte) (signature []byte, err error) // 64 bytes
}

// Draft is what an entry is made of. Record and Private are anything that
// encoding/json writes as an object; a nil Record is the empty object, a nil
// Private means that there is none. Machine is given for work entries only.
// At is the clock's time; Sign never writes one before the previous entry's.
type Draft struct {
	Class   Class
	Kind    string
	Record  any
	Private any
	Machine *MachineKey
	At      time.Time
}

// Position is where the next entry of a log goes; Book.Next gives it. The zero
// Position is that of a founding entry. A zero Depth stands for 1.
type Position struct {
	Book   ID
	Seq    uint64
	Prev   ID
	Seen   []Ref // sorted
	Depth  uint64
	PrevAt time.Time
}

// Sign makes the entry that d describes, at its position, and verifies it
// before it returns it. The salts come from random. Text is made NFC; floats,
// null, bad member names, refused code points and too long lines are errors
// that name the member.
func Sign(d Draft, at Position, s Signer, random io.Reader) (*Entry, error) {
	e, err := unsigned(d, at, s.Public(), random)
	if err != nil {
		return nil, err
	}
	if err = e.sign(s); err == nil {
		err = e.checkSignature(s.Public())
	}
	if err != nil {
		return nil, fmt.Errorf("sign %s: %w", d.Kind, err)
	}
	return e, nil
}

// compose makes a line with a signature of zeros.
func compose(d Draft, at Position, pub ed25519.PublicKey, random io.Reader) ([]byte, error) {
	if !validKind(d.Kind) {
		return nil, fmt.Errorf("%q cannot be a kind: 1 to %d of a-z, 0-9 and _, the first a letter", d.Kind, MaxKind)
	}
	if d.Class == Work && d.Machine == nil {
		return nil, errors.New("a work entry needs its machine's key")
	}
	if d.Class != Work && d.Machine != nil {
		return nil, fmt.Errorf("a %s entry concerns no machine", d.Class)
	}
	record, err := canonicalObject(d.Record, "record", 2)
	if err != nil {
		return nil, err
	}
	var private, privateDigest []byte
	if d.Private != nil {
		if private, err = canonicalObject(d.Private, "private", 2); err != nil {
			return nil, err
		}
		salt, err := drawSalt(random)
		if err != nil {
			return nil, err
		}
		private = []byte(`{"record":` + string(private) + `,"salt":"` + salt + `"}`)
		sum := ID(sha256.Sum256(private))
		privateDigest = []byte(`,"private":"` + sum.String() + `"`)
	}
	salt, err := drawSalt(random)
	if err != nil {
		return nil, err
	}
	if d.Class == Control {
		if err := checkControl(d.Kind, record, private); err != nil {
			return nil, err
		}
	}
	body := []byte(`{"kind":"` + d.Kind + `"` + string(privateDigest) + `,"record":` + string(record) + `,"salt":"` + salt + `"}`)

	head := composeHead(d, at, WriterOf(pub), sha256.Sum256(body))
	line := make([]byte, 0, len(body)+len(head)+len(private)+150)
	line = append(append(line, `{"body":`...), body...)
	line = append(append(line, `,"head":`...), head...)
	if private != nil {
		line = append(append(line, `,"private":`...), private...)
	}
	line = append(line, `,"sig":"`...)
	line = append(line, base64Text(make([]byte, ed25519.SignatureSize))...)
	return append(line, "\"}\n"...), nil
}

func composeHead(d Draft, at Position, w Writer, body ID) []byte {
	h := Head{
		Book: at.Book, Writer: w, Seq: max(at.Seq, 1), Prev: at.Prev, Seen: at.Seen, Depth: max(at.Depth, 1),
		At: d.At.UTC().Truncate(time.Second), Class: d.Class, Body: body,
	}
	if h.At.Before(at.PrevAt) {
		h.At = at.PrevAt.UTC()
	}
	if d.Machine != nil {
		h.HasTag, h.Tag = true, TagOf(*d.Machine, w, h.Seq)
	}
	return appendHead(nil, &h)
}

// appendHead appends the canonical bytes of h.
func appendHead(b []byte, h *Head) []byte {
	b = append(b, `{"at":"`...)
	b = appendTime(b, h.At.UTC())
	b = append(b, `","body":"`...)
	b = hex.AppendEncode(b, h.Body[:])
	b = append(b, '"')
	if !h.Book.IsZero() {
		b = append(b, `,"book":"`...)
		b = hex.AppendEncode(b, h.Book[:])
		b = append(b, '"')
	}
	b = append(b, `,"class":"`...)
	b = append(b, h.Class...)
	b = append(b, `","depth":`...)
	b = strconv.AppendUint(b, h.Depth, 10)
	if !h.Prev.IsZero() {
		b = append(b, `,"prev":"`...)
		b = hex.AppendEncode(b, h.Prev[:])
		b = append(b, '"')
	}
	b = append(b, `,"seen":[`...)
	for i, ref := range h.Seen {
		if i > 0 {
			b = append(b, ',')
		}
		b = append(b, `{"id":"`...)
		b = hex.AppendEncode(b, ref.ID[:])
		b = append(b, `","seq":`...)
		b = strconv.AppendUint(b, ref.Seq, 10)
		b = append(b, `,"writer":"`...)
		b = ref.Writer.append(b)
		b = append(b, `"}`...)
	}
	b = append(b, `],"seq":`...)
	b = strconv.AppendUint(b, h.Seq, 10)
	if h.HasTag {
		b = append(b, `,"tag":"`...)
		b = hex.AppendEncode(b, h.Tag[:])
		b = append(b, '"')
	}
	b = append(b, `,"v":1,"writer":"`...)
	b = h.Writer.append(b)
	return append(b, `"}`...)
}

func drawSalt(random io.Reader) (string, error) {
	var salt [16]byte
	if _, err := io.ReadFull(random, salt[:]); err != nil {
		return "", fmt.Errorf("draw a salt: %w", err)
	}
	return string(base64Text(salt[:])), nil
}
