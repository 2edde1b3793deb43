package ledger

import (
	"bytes"
	"fmt"
	"testing"

	"github.com/hiddeco/sshsig"
	"golang.org/x/crypto/ssh"
)

// A stamp's text is the one FORMAT.md section "Stamps" fixes; a countersignature
// by any SSH key over it is checked, and one over anything else is not.
func TestStamp(t *testing.T) {
	fay, ned, moe := farm(newWorld(t))
	ned.note("one")
	fay.pull(ned, moe)
	var tips []Ref
	for _, w := range fay.book.Writers() {
		tips = append(tips, fay.book.Tips(w)...)
	}
	e := fay.control(KindStamp, Stamp{tips})
	text, err := StampText(e)
	if err != nil {
		t.Fatal(err)
	}
	want := fmt.Sprintf("shedbook stamp v1\nbook %s\nstamp %s\nat %s\n", fay.book.ID(), e.ID(), e.At().Format("2006-01-02T15:04:05Z"))
	for _, tip := range tips {
		want += fmt.Sprintf("log %s %d %s\n", tip.Writer, tip.Seq, tip.ID)
	}
	if string(text) != want {
		t.Errorf("%s\nwant\n%s", text, want)
	}

	file, _ := ecdsaKey(t)
	dealer, err := ssh.ParsePrivateKey(file)
	if err != nil {
		t.Fatal(err)
	}
	sign := func(text []byte, namespace string) string {
		s, err := sshsig.Sign(bytes.NewReader(text), dealer, sshsig.HashSHA512, namespace)
		if err != nil {
			t.Fatal(err)
		}
		return string(sshsig.Armor(s))
	}
	good := sign(text, StampNamespace)
	who, err := CheckCountersign(e, good)
	if err != nil {
		t.Fatal(err)
	}
	if who.Type != "ecdsa-sha2-nistp256" || who.Fingerprint != ssh.FingerprintSHA256(dealer.PublicKey()) {
		t.Errorf("%+v", who)
	}
	fay.control(KindCountersign, Countersign{e.ID(), good})
	for name, c := range map[string]struct{ armored, want string }{
		"another text":      {sign(append(text, '\n'), StampNamespace), "the signature is not over the text of this stamp"},
		"another namespace": {sign(text, EntryNamespace), `the signature was made for "shedbook-entry-v1", not for "shedbook-stamp-v1"`},
	} {
		if _, err := CheckCountersign(e, c.armored); err == nil || err.Error() != c.want {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
	}
	if _, err := CheckCountersign(e, "hay"); err == nil {
		t.Error("hay passes as a signature")
	}
	if _, err := StampText(fay.book.Founding()); err == nil {
		t.Error("a founding entry passes as a stamp")
	}
}
