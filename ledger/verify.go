package ledger

import (
	"crypto/ed25519"
	"errors"
)

// ErrSignature is what a line fails with that is well formed but not signed by
// the key of its writer.
var ErrSignature = errors.New("the signature is not by this writer over this entry")

// Verify reads one raw line of a log, its LF included, and checks all that can
// be checked without the rest of the book: strict canonical form, limits,
// digests of body and private, id and signature. pub is the key of the line's
// writer; it may be nil for the first entry of a log, which carries its own.
// The private part may be held back; HasPrivate tells. Verify keeps line.
func Verify(line []byte, pub ed25519.PublicKey) (*Entry, error) {
	return verify(line, pub, false)
}

// VerifyHead is Verify for evidence, where the bodies of shared and work
// entries may be withheld: such an entry still proves that it stands at its
// place in its log, and nothing else.
func VerifyHead(line []byte, pub ed25519.PublicKey) (*Entry, error) {
	return verify(line, pub, true)
}

func verify(line []byte, pub ed25519.PublicKey, withheld bool) (*Entry, error) {
	e, err := parseLine(line, withheld)
	if err != nil {
		return nil, err
	}
	if pub == nil {
		key, err := ownKey(e)
		if err != nil {
			return nil, errors.New("no key is known for this writer")
		}
		pub = key.Ed25519()
	}
	if err := e.checkSignature(pub); err != nil {
		return nil, err
	}
	return e, nil
}

func (e *Entry) checkSignature(pub ed25519.PublicKey) error {
	if len(pub) != ed25519.PublicKeySize || WriterOf(pub) != e.head.Writer {
		return errors.New("the key is not this writer's")
	}
	if !ed25519.Verify(pub, toBeSigned(EntryNamespace, e.SignedBytes()), e.signature[:]) {
		return ErrSignature
	}
	return nil
}
