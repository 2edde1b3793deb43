package ledger

import (
	"crypto/ed25519"
	"crypto/sha512"
	"encoding/base64"
	"encoding/binary"

	"golang.org/x/crypto/ssh"
)

// Namespaces of SSHSIG signatures: what a key signed for one cannot be shown as
// the other, nor as a signed git object or login.
const (
	EntryNamespace = "shedbook-entry-v1"
	StampNamespace = "shedbook-stamp-v1"
)

const keyType = "ssh-ed25519"

// toBeSigned returns the bytes that are signed for message, as OpenSSH's
// PROTOCOL.sshsig section 2 lays them out, with hash algorithm sha512.
func toBeSigned(namespace string, message []byte) []byte {
	sum := sha512.Sum512(message)
	b := make([]byte, 0, 6+4+len(namespace)+4+4+6+4+len(sum))
	b = append(b, "SSHSIG"...)
	b = appendString(b, namespace)
	b = appendString(b, "") // reserved
	b = appendString(b, "sha512")
	return appendString(b, string(sum[:]))
}

// armor returns the signature file that ssh-keygen -Y sign writes: the blob of
// PROTOCOL.sshsig section 3 in base64 lines of 70 characters. (The document
// says 76; ssh-keygen writes 70.)
func armor(pub ed25519.PublicKey, namespace string, signature []byte) []byte {
	b := []byte("SSHSIG\x00\x00\x00\x01")
	b = appendString(b, string(appendString(appendString(nil, keyType), string(pub))))
	b = appendString(b, namespace)
	b = appendString(b, "") // reserved
	b = appendString(b, "sha512")
	b = appendString(b, string(appendString(appendString(nil, keyType), string(signature))))
	text := base64.StdEncoding.EncodeToString(b)
	out := []byte("-----BEGIN SSH SIGNATURE-----\n")
	for len(text) > 0 {
		n := min(70, len(text))
		out = append(append(out, text[:n]...), '\n')
		text = text[n:]
	}
	return append(out, "-----END SSH SIGNATURE-----\n"...)
}

func appendString(b []byte, s string) []byte {
	return append(binary.BigEndian.AppendUint32(b, uint32(len(s))), s...)
}

// SSHFingerprint returns "SHA256:..." as ssh-keygen -l prints it.
func SSHFingerprint(pub ed25519.PublicKey) string {
	key, err := ssh.NewPublicKey(pub)
	if err != nil {
		return ""
	}
	return ssh.FingerprintSHA256(key)
}
