package ledger

import (
	"bytes"
	"crypto/ed25519"
	"testing"

	"github.com/hiddeco/sshsig"
	"golang.org/x/crypto/ssh"
)

// FuzzCountersign changes the armor of a countersignature at will: whatever still passes was signed by who signed it, for nobody else's key is there.
func FuzzCountersign(f *testing.F) {
	w := newWorld(f)
	fay, _, _ := farm(w)
	var tips []Ref
	for _, writer := range fay.book.Writers() {
		tips = append(tips, fay.book.Tips(writer)...)
	}
	stamp := fay.control(KindStamp, Stamp{tips})
	text, err := StampText(stamp)
	if err != nil {
		f.Fatal(err)
	}
	dealer, err := ssh.NewSignerFromKey(ed25519.NewKeyFromSeed(bytes.Repeat([]byte{9}, ed25519.SeedSize))) // the same in every process that fuzzes
	if err != nil {
		f.Fatal(err)
	}
	for _, namespace := range []string{StampNamespace, EntryNamespace} {
		s, err := sshsig.Sign(bytes.NewReader(text), dealer, sshsig.HashSHA512, namespace)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(sshsig.Armor(s)))
	}
	f.Add("-----BEGIN SSH SIGNATURE-----\n-----END SSH SIGNATURE-----\n")
	f.Fuzz(func(t *testing.T, armored string) {
		who, err := CheckCountersign(stamp, armored)
		if err == nil && who.Fingerprint != ssh.FingerprintSHA256(dealer.PublicKey()) {
			t.Fatalf("%s passes, as signed by %+v", armored, who)
		}
	})
}
