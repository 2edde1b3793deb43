package ledger

import (
	"bytes"
	"crypto/ed25519"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"fmt"
	"io"

	"golang.org/x/crypto/ssh"
)

// ErrPassphrase is what ParseKey fails with where a key is protected and the
// passphrase is missing or wrong.
var ErrPassphrase = errors.New("the key is protected by a passphrase")

// Key is a device's private key. It implements Signer.
type Key struct{ private ed25519.PrivateKey }

// NewKey makes a key from 32 bytes of random.
func NewKey(random io.Reader) (*Key, error) {
	seed := make([]byte, ed25519.SeedSize)
	if _, err := io.ReadFull(random, seed); err != nil {
		return nil, fmt.Errorf("make a key: %w", err)
	}
	return KeyFromSeed(seed)
}

// KeyFromSeed makes the key of a seed (RFC 8032 section 5.1.5), 32 bytes: the
// form in which a recovery key stands on paper.
func KeyFromSeed(seed []byte) (*Key, error) {
	if len(seed) != ed25519.SeedSize {
		return nil, fmt.Errorf("a key's seed has %d bytes, not %d", ed25519.SeedSize, len(seed))
	}
	return &Key{ed25519.NewKeyFromSeed(seed)}, nil
}

// ParseKey reads a private key in OpenSSH format; it must be an ssh-ed25519
// key. The error is ErrPassphrase where the passphrase is missing or wrong.
func ParseKey(pemBytes, passphrase []byte) (*Key, error) {
	block, _ := pem.Decode(pemBytes)
	if block == nil || block.Type != "OPENSSH PRIVATE KEY" {
		return nil, errors.New("not a private key in OpenSSH format")
	}
	raw, err := ssh.ParseRawPrivateKey(pemBytes)
	if missing := (*ssh.PassphraseMissingError)(nil); errors.As(err, &missing) {
		if len(passphrase) == 0 {
			return nil, ErrPassphrase
		}
		raw, err = ssh.ParseRawPrivateKeyWithPassphrase(pemBytes, passphrase)
		if errors.Is(err, x509.IncorrectPasswordError) {
			return nil, fmt.Errorf("%w: this is not it", ErrPassphrase)
		}
	}
	if err != nil {
		return nil, fmt.Errorf("read the private key: %w", err)
	}
	private, ok := raw.(*ed25519.PrivateKey)
	if !ok {
		return nil, errors.New("the private key is not of type ssh-ed25519: make one with `ssh-keygen -t ed25519`")
	}
	return &Key{*private}, nil
}

// Marshal writes the key in OpenSSH format, protected where there is a
// passphrase. The result is secret.
func (k *Key) Marshal(comment string, passphrase []byte) ([]byte, error) {
	var block *pem.Block
	var err error
	if len(passphrase) == 0 {
		block, err = ssh.MarshalPrivateKey(k.private, comment)
	} else {
		block, err = ssh.MarshalPrivateKeyWithPassphrase(k.private, comment, passphrase)
	}
	if err != nil {
		return nil, fmt.Errorf("write the private key: %w", err)
	}
	return pem.EncodeToMemory(block), nil
}

// Seed returns the 32 bytes that KeyFromSeed takes. They are secret.
func (k *Key) Seed() []byte { return k.private.Seed() }

// Public returns the public key.
func (k *Key) Public() ed25519.PublicKey { return k.private.Public().(ed25519.PublicKey) }

// Sign returns the 64 bytes of the Ed25519 signature of message.
func (k *Key) Sign(message []byte) ([]byte, error) { return ed25519.Sign(k.private, message), nil }

// String keeps the private key out of anything printed by mistake.
func (k *Key) String() string { return "key " + SSHFingerprint(k.Public()) }

// GoString is String.
func (k *Key) GoString() string { return k.String() }

// ParsePublicKey reads one line of a .pub file, "ssh-ed25519 AAAA... comment".
func ParsePublicKey(authorizedLine []byte) (ed25519.PublicKey, error) {
	key, _, options, rest, err := ssh.ParseAuthorizedKey(authorizedLine)
	if err != nil {
		return nil, errors.New(`not a public key: expected one line "ssh-ed25519 AAAA..."`)
	}
	if len(options) > 0 || len(bytes.TrimSpace(rest)) > 0 {
		return nil, errors.New(`expected one public key and nothing else: "ssh-ed25519 AAAA..."`)
	}
	crypto, ok := key.(ssh.CryptoPublicKey)
	if ok && key.Type() == keyType {
		if pub, ok := crypto.CryptoPublicKey().(ed25519.PublicKey); ok && len(pub) == ed25519.PublicKeySize {
			return pub, nil
		}
	}
	return nil, fmt.Errorf("the public key is of type %s: only ssh-ed25519 keys sign entries", key.Type())
}

// FormatPublicKey writes the line of a .pub file, LF included.
func FormatPublicKey(pub ed25519.PublicKey, comment string) []byte {
	key, err := ssh.NewPublicKey(pub)
	if err != nil {
		return nil
	}
	line := bytes.TrimSuffix(ssh.MarshalAuthorizedKey(key), []byte("\n"))
	if comment != "" {
		line = append(append(line, ' '), comment...)
	}
	return append(line, '\n')
}
