package ledger

import (
	"crypto/ed25519"
	"encoding/base64"
	"fmt"
	"io"
	"sync"
	"sync/atomic"
)

// Signing makes many entries of one device, one after the other, and signs them
// beside that, on another core. It can because an entry's id is that of its
// head, without the signature: so the next entry of the log can be made while
// the signature of the one before is still being worked out.
//
// Every signature is verified as [Sign] does it. Until Wait has returned nil
// the entries must not be stored, sent or shown as signed; where it returns an
// error, none of them exists and a book they were appended to must be dropped.
// The signer is asked by one goroutine at a time, in the order of the entries.
type Signing struct {
	signer Signer
	made   chan *Entry // not signed yet
	signed chan *Entry // not verified yet
	done   chan struct{}
	close  sync.Once
	failed atomic.Pointer[error]
}

// NewSigning starts to sign with s. Wait ends it.
func NewSigning(s Signer) *Signing {
	const ahead = 1024
	g := &Signing{signer: s, made: make(chan *Entry, ahead), signed: make(chan *Entry, ahead), done: make(chan struct{})}
	go func() {
		defer close(g.signed)
		g.each(g.made, func(e *Entry) error {
			if err := e.sign(g.signer); err != nil {
				return err
			}
			g.signed <- e
			return nil
		})
	}()
	go func() {
		defer close(g.done)
		pub := s.Public()
		g.each(g.signed, func(e *Entry) error { return e.checkSignature(pub) })
	}()
	return g
}

// each takes entries until there are no more; after a failure, of whatever
// entry, the rest is for nothing.
func (g *Signing) each(from <-chan *Entry, do func(*Entry) error) {
	for e := range from {
		if g.failed.Load() != nil {
			continue
		}
		if err := do(e); err != nil {
			err = fmt.Errorf("sign %s: %w", e.kind, err)
			g.failed.CompareAndSwap(nil, &err)
		}
	}
}

// Sign makes the entry that d describes as [Sign] does, but for its signature,
// which follows.
func (g *Signing) Sign(d Draft, at Position, random io.Reader) (*Entry, error) {
	if err := g.failed.Load(); err != nil {
		return nil, *err
	}
	e, err := unsigned(d, at, g.signer.Public(), random)
	if err != nil {
		return nil, err
	}
	g.made <- e
	return e, nil
}

// Wait returns when all entries are signed and their signatures verified, or
// with the first error. No entry can be made after it.
func (g *Signing) Wait() error {
	g.close.Do(func() { close(g.made) })
	<-g.done
	if err := g.failed.Load(); err != nil {
		return *err
	}
	return nil
}

// unsigned makes an entry with a signature of zeros, in which all but the
// signature was checked.
func unsigned(d Draft, at Position, pub ed25519.PublicKey, random io.Reader) (*Entry, error) {
	line, err := compose(d, at, pub, random)
	if err != nil {
		return nil, fmt.Errorf("sign %s: %w", d.Kind, err)
	}
	e, err := parseLine(line, false)
	if err != nil {
		return nil, fmt.Errorf("sign %s: %w", d.Kind, err)
	}
	return e, nil
}

// sign puts the signature into the line of an unsigned entry, and takes it from
// there, to be verified.
func (e *Entry) sign(s Signer) error {
	signature, err := s.Sign(toBeSigned(EntryNamespace, e.SignedBytes()))
	if err != nil {
		return err
	}
	if len(signature) != ed25519.SignatureSize {
		return ErrSignature
	}
	end := len(e.line) - len("\"}\n")
	text := e.line[end-base64.RawURLEncoding.EncodedLen(len(signature)) : end]
	base64.RawURLEncoding.Encode(text, signature)
	if !base64Into(e.signature[:], text) {
		return ErrSignature
	}
	return nil
}
