package ledger

import (
	"bytes"
	"errors"
	"fmt"
	"strings"

	"github.com/hiddeco/sshsig"
	"golang.org/x/crypto/ssh"
)

// StampText returns the text that is printed for a stamp and that others
// countersign, byte for byte as FORMAT.md section "Stamps" fixes it.
func StampText(e *Entry) ([]byte, error) {
	record, err := DecodeControl(e)
	if err != nil {
		return nil, err
	}
	stamp, ok := record.(*Stamp)
	if !ok {
		return nil, fmt.Errorf("entry %s is a %s, not a stamp", e.id.Short(), e.kind)
	}
	var b bytes.Buffer
	fmt.Fprintf(&b, "shedbook stamp v1\nbook %s\nstamp %s\nat %s\n", e.Book(), e.id, e.head.At.Format(timeForm))
	for _, tip := range stamp.Tips {
		fmt.Fprintf(&b, "log %s %d %s\n", tip.Writer, tip.Seq, tip.ID)
	}
	return b.Bytes(), nil
}

// Countersigner is who countersigned a stamp: any SSH key.
type Countersigner struct {
	Type        string // "ssh-ed25519", "ssh-rsa", ...
	Fingerprint string // as ssh-keygen -l prints it
	Line        string // the public key as in a .pub file, without comment
}

// CheckCountersign verifies an SSH signature in the namespace StampNamespace
// over the text of a stamp, as ssh-keygen -Y sign makes it.
func CheckCountersign(stamp *Entry, armored string) (Countersigner, error) {
	text, err := StampText(stamp)
	if err != nil {
		return Countersigner{}, err
	}
	signature, err := sshsig.Unarmor([]byte(armored))
	if err != nil {
		return Countersigner{}, fmt.Errorf("not an SSH signature: %w", err)
	}
	if signature.Namespace != StampNamespace {
		return Countersigner{}, fmt.Errorf("the signature was made for %q, not for %q", signature.Namespace, StampNamespace)
	}
	if err := sshsig.Verify(bytes.NewReader(text), signature, signature.PublicKey, signature.HashAlgorithm, StampNamespace); err != nil {
		return Countersigner{}, errors.New("the signature is not over the text of this stamp")
	}
	return Countersigner{
		Type:        signature.PublicKey.Type(),
		Fingerprint: ssh.FingerprintSHA256(signature.PublicKey),
		Line:        strings.TrimSuffix(string(ssh.MarshalAuthorizedKey(signature.PublicKey)), "\n"),
	}, nil
}
