package ledger

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"io"
)

// ID names an entry: the SHA-256 of its canonical head. The same type holds
// other SHA-256 digests. Its text form is 64 lower-case hex digits.
type ID [sha256.Size]byte

// IsZero reports whether id is absent.
func (id ID) IsZero() bool { return id == ID{} }

// String returns 64 lower-case hex digits.
func (id ID) String() string { return hex.EncodeToString(id[:]) }

// Short returns the first 8 hex digits, for people to read.
func (id ID) Short() string { return hex.EncodeToString(id[:4]) }

// Compare orders ids by their bytes, which is the order of their text.
func (id ID) Compare(other ID) int { return bytes.Compare(id[:], other[:]) }

// MarshalText returns the hex form.
func (id ID) MarshalText() ([]byte, error) { return []byte(id.String()), nil }

// UnmarshalText accepts exactly what ParseID accepts.
func (id *ID) UnmarshalText(text []byte) error {
	var out ID
	if !hexInto(out[:], text) {
		return fmt.Errorf("%q is not an id: it has 64 lower-case hex digits", text)
	}
	*id = out
	return nil
}

// ParseID reads 64 lower-case hex digits.
func ParseID(s string) (ID, error) {
	var id ID
	err := id.UnmarshalText([]byte(s))
	return id, err
}

// Writer names a device: the first 20 bytes of the SHA-256 of its public key.
// Its text form is 32 characters of lower-case base32 (RFC 4648, no padding).
type Writer [20]byte

// WriterOf returns the writer that signs with pub.
func WriterOf(pub ed25519.PublicKey) Writer {
	sum := sha256.Sum256(pub)
	return Writer(sum[:20])
}

// IsZero reports whether w is absent.
func (w Writer) IsZero() bool { return w == Writer{} }

// String returns the 32 characters of lower-case base32.
func (w Writer) String() string {
	var text [32]byte
	w.encode(&text)
	return string(text[:])
}

func (w *Writer) append(b []byte) []byte {
	var text [32]byte
	w.encode(&text)
	return append(b, text[:]...)
}

// encode writes the base32 text by hand: it stands in every sort comparison,
// and five bytes are eight digits without rest.
func (w *Writer) encode(text *[32]byte) {
	for i := range 4 {
		b := w[5*i : 5*i+5]
		v := uint64(b[0])<<32 | uint64(b[1])<<24 | uint64(b[2])<<16 | uint64(b[3])<<8 | uint64(b[4])
		for j := 7; j >= 0; j-- {
			text[8*i+j] = base32Digits[v&31]
			v >>= 5
		}
	}
}

// Compare orders writers by their text, the order in which `seen` is sorted.
// (The order of the digest's bytes differs: base32 puts digits after letters.)
func (w Writer) Compare(other Writer) int {
	if w == other {
		return 0
	}
	var a, b [32]byte
	w.encode(&a)
	other.encode(&b)
	return bytes.Compare(a[:], b[:])
}

// MarshalText returns the base32 form.
func (w Writer) MarshalText() ([]byte, error) { return []byte(w.String()), nil }

// UnmarshalText accepts exactly what ParseWriter accepts.
func (w *Writer) UnmarshalText(text []byte) error {
	var out Writer
	if !base32Into(&out, text) {
		return fmt.Errorf("%q is not a device's name: it has 32 letters a-z and digits 2-7", text)
	}
	*w = out
	return nil
}

// ParseWriter reads 32 characters of lower-case base32.
func ParseWriter(s string) (Writer, error) {
	var w Writer
	err := w.UnmarshalText([]byte(s))
	return w, err
}

// Tag is a work entry's sealed hint at its machine: see TagOf.
type Tag [10]byte

// String returns 20 lower-case hex digits.
func (t Tag) String() string { return hex.EncodeToString(t[:]) }

// MachineKey is the secret by which a machine's entries are found. Its text
// form is base64url without padding, 43 characters.
type MachineKey [32]byte

// NewMachineKey draws a key from random.
func NewMachineKey(random io.Reader) (MachineKey, error) {
	var key MachineKey
	if _, err := io.ReadFull(random, key[:]); err != nil {
		return MachineKey{}, fmt.Errorf("make a machine key: %w", err)
	}
	return key, nil
}

// MarshalText returns the base64url form.
func (k MachineKey) MarshalText() ([]byte, error) { return base64Text(k[:]), nil }

// UnmarshalText reads the base64url form.
func (k *MachineKey) UnmarshalText(text []byte) error {
	var out MachineKey
	if !base64Into(out[:], text) {
		return fmt.Errorf("%q is not a machine's key: it has 43 characters of base64url", text)
	}
	*k = out
	return nil
}

// TagOf returns the tag of the entry that writer w signs at seq about the
// machine of key. Whoever has the key finds all of a machine's entries among
// the heads; to anyone else tags are noise and cannot be linked.
func TagOf(key MachineKey, w Writer, seq uint64) Tag {
	const prefix = "shedbook-tag-v1\n"
	buf := make([]byte, 0, len(prefix)+len(key)+len(w)+8)
	buf = append(buf, prefix...)
	buf = append(buf, key[:]...)
	buf = append(buf, w[:]...)
	buf = binary.BigEndian.AppendUint64(buf, seq)
	sum := sha256.Sum256(buf)
	return Tag(sum[:10])
}

// PublicKey is an Ed25519 public key as records carry it: base64url text.
type PublicKey [ed25519.PublicKeySize]byte

// PublicKeyOf copies pub, which must have 32 bytes.
func PublicKeyOf(pub ed25519.PublicKey) PublicKey { return PublicKey(pub) }

// Ed25519 returns the key as the standard library takes it.
func (k PublicKey) Ed25519() ed25519.PublicKey { return ed25519.PublicKey(k[:]) }

// Writer returns the writer that signs with k.
func (k PublicKey) Writer() Writer { return WriterOf(k[:]) }

// IsZero reports whether k is absent.
func (k PublicKey) IsZero() bool { return k == PublicKey{} }

// String returns the base64url form.
func (k PublicKey) String() string { return string(base64Text(k[:])) }

// MarshalText returns the base64url form.
func (k PublicKey) MarshalText() ([]byte, error) { return base64Text(k[:]), nil }

// UnmarshalText reads the base64url form.
func (k *PublicKey) UnmarshalText(text []byte) error {
	var out PublicKey
	if !base64Into(out[:], text) {
		return fmt.Errorf("%q is not a public key: it has 43 characters of base64url", text)
	}
	*k = out
	return nil
}

const base32Digits = "abcdefghijklmnopqrstuvwxyz234567"

func base32Into(w *Writer, text []byte) bool {
	if len(text) != 32 {
		return false
	}
	for i := range 4 {
		var v uint64
		for _, c := range text[8*i : 8*i+8] {
			switch {
			case 'a' <= c && c <= 'z':
				v = v<<5 | uint64(c-'a')
			case '2' <= c && c <= '7':
				v = v<<5 | uint64(c-'2'+26)
			default:
				return false
			}
		}
		w[5*i], w[5*i+1], w[5*i+2], w[5*i+3], w[5*i+4] = byte(v>>32), byte(v>>24), byte(v>>16), byte(v>>8), byte(v)
	}
	return true
}

// hexInto decodes lower-case hex only: one value has one text.
func hexInto(dst, text []byte) bool {
	if len(text) != 2*len(dst) {
		return false
	}
	for i := range dst {
		hi, lo := hexDigit[text[2*i]], hexDigit[text[2*i+1]]
		if hi|lo > 15 {
			return false
		}
		dst[i] = hi<<4 | lo
	}
	return true
}

var hexDigit = func() (table [256]byte) {
	for i := range table {
		table[i] = 0xff
	}
	for i, c := range []byte("0123456789abcdef") {
		table[c] = byte(i)
	}
	return table
}()

func base64Text(b []byte) []byte {
	return base64.RawURLEncoding.AppendEncode(nil, b)
}

// base64Into decodes base64url without padding. Strict refuses stray bits in
// the last character, and the exact length refuses the line breaks that the
// standard decoder skips: one value has one text.
func base64Into(dst, text []byte) bool {
	if len(text) != base64.RawURLEncoding.EncodedLen(len(dst)) || bytes.ContainsAny(text, "\r\n") {
		return false
	}
	n, err := base64.RawURLEncoding.Strict().Decode(dst, text)
	return err == nil && n == len(dst)
}
