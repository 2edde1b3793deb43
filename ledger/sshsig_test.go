package ledger

import (
	"bytes"
	"encoding/hex"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/hiddeco/sshsig"
	"golang.org/x/crypto/ssh"
)

// The ed25519 case of openssh-portable, regress/unittests/sshsig/testdata:
// ed25519 (its seed), ed25519.pub, namespace, signed-data, ed25519.sig.
const (
	opensshSeed        = "e948a440d50296ea462241fb4645687e1f47cd7a4cd82c6e9cddbcec7a80a912"
	opensshPublic      = "8962cd220ddc3415efc54f36356fbf08e07fe3f91ea6cf60262edc138c763004"
	opensshNamespace   = "unittest"
	opensshMessage     = "This is a test, this is only a test"
	opensshFingerprint = "SHA256:ZxTZQ/K7JZpz0mHqWqdmYCUcq3MAtnu9TYA66TCBkxM"
	opensshToBeSigned  = "53534853494700000008756e6974746573740000000000000006736861353132000000402cbbbc660712c6de8cb05533ba26601ba1b031d27d77bc5e13b628448c3483d88727fc2c143ef5a385a5c9ecef1561236ea434a82ec5c06a639235103fe35deb"
	opensshSignature   = "8a142c6d4cee34415f964e53c35f87f5a2d2eed650934446f0a5b50ed3a60d862759edc3dd42a21b77dc25a0cd838bc15a9d63d602d188130e17e83060d7a00e"
	opensshArmor       = `-----BEGIN SSH SIGNATURE-----
U1NIU0lHAAAAAQAAADMAAAALc3NoLWVkMjU1MTkAAAAgiWLNIg3cNBXvxU82NW+/COB/4/
keps9gJi7cE4x2MAQAAAAIdW5pdHRlc3QAAAAAAAAABnNoYTUxMgAAAFMAAAALc3NoLWVk
MjU1MTkAAABAihQsbUzuNEFflk5Tw1+H9aLS7tZQk0RG8KW1DtOmDYYnWe3D3UKiG3fcJa
DNg4vBWp1j1gLRiBMOF+gwYNegDg==
-----END SSH SIGNATURE-----
`
)

// Our to-be-signed bytes, signature, armor and fingerprint are OpenSSH's, byte
// for byte.
func TestOpenSSHVector(t *testing.T) {
	key := seedKey(t, opensshSeed)
	if got := hex.EncodeToString(key.Public()); got != opensshPublic {
		t.Fatalf("public key %s want %s", got, opensshPublic)
	}
	message := toBeSigned(opensshNamespace, []byte(opensshMessage))
	if got := hex.EncodeToString(message); got != opensshToBeSigned {
		t.Errorf("to be signed %s want %s", got, opensshToBeSigned)
	}
	signature, err := key.Sign(message)
	if got := hex.EncodeToString(signature); err != nil || got != opensshSignature {
		t.Errorf("signature %s want %s (%v)", got, opensshSignature, err)
	}
	if got := string(armor(key.Public(), opensshNamespace, signature)); got != opensshArmor {
		t.Errorf("armor:\n%s\nwant:\n%s", got, opensshArmor)
	}
	if got := SSHFingerprint(key.Public()); got != opensshFingerprint {
		t.Errorf("fingerprint %s want %s", got, opensshFingerprint)
	}
}

// Every armor we write is read by an outside library and holds there, with the
// namespace and hash algorithm we promise, and for no other message or key.
func TestArmorOutside(t *testing.T) {
	fay, ned, _ := farm(newWorld(t))
	for _, e := range []*Entry{fay.book.Founding(), ned.note("greased, 812 ac")} {
		key, _ := ned.book.Key(e.Writer())
		signature, err := sshsig.Unarmor(e.Armor(key))
		if err != nil {
			t.Fatal(err)
		}
		if signature.Namespace != "shedbook-entry-v1" || signature.HashAlgorithm != sshsig.HashSHA512 || signature.Version != 1 {
			t.Errorf("%+v", signature)
		}
		verify := func(message []byte, pub []byte) error {
			sshKey, err := ssh.NewPublicKey(PublicKey(pub).Ed25519())
			if err != nil {
				t.Fatal(err)
			}
			return sshsig.Verify(bytes.NewReader(message), signature, sshKey, sshsig.HashSHA512, EntryNamespace)
		}
		if err := verify(e.SignedBytes(), key); err != nil {
			t.Error(err)
		}
		if verify(append(e.SignedBytes(), ' '), key) == nil {
			t.Error("holds for another message")
		}
		other := seedKey(t, opensshSeed).Public()
		if verify(e.SignedBytes(), other) == nil {
			t.Error("holds for another key")
		}
	}
}

// Stock ssh-keygen checks an entry and rebuilds its signature, and reads and
// writes our key files. It spawns programs, so it is among the large tests.
func TestStockOpenSSH(t *testing.T) {
	if !full() {
		return
	}
	fay, _ := newWorld(t).found("fay")
	e := fay.book.Founding()
	dir := t.TempDir()
	write := func(name string, b []byte) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, b, 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	run := func(stdin []byte, args ...string) string {
		cmd := exec.Command("ssh-keygen", args...)
		cmd.Stdin = bytes.NewReader(stdin)
		out, err := cmd.CombinedOutput()
		if err != nil {
			t.Errorf("ssh-keygen %s: %v: %s", strings.Join(args, " "), err, out)
		}
		return string(out)
	}
	line := string(FormatPublicKey(fay.key.Public(), "shed laptop"))
	allowed := write("allowed", []byte("fay "+line))
	sig := write("entry.sig", e.Armor(fay.key.Public()))
	out := run(e.SignedBytes(), "-Y", "verify", "-f", allowed, "-I", "fay", "-n", EntryNamespace, "-s", sig)
	if want := `Good "shedbook-entry-v1" signature for fay with ED25519 key ` + SSHFingerprint(fay.key.Public()); !strings.HasPrefix(out, want) {
		t.Errorf("%q want %q", out, want)
	}
	file, err := fay.key.Marshal("shed laptop", []byte("haymow"))
	if err != nil {
		t.Fatal(err)
	}
	path := write("key", file)
	if got := run(nil, "-y", "-P", "haymow", "-f", path); got != line {
		t.Errorf("ssh-keygen reads the public key as %q, want %q", got, line)
	}
	run(nil, "-p", "-P", "haymow", "-N", "", "-f", path)
	rewritten, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if back, err := ParseKey(rewritten, nil); err != nil || !bytes.Equal(back.Seed(), fay.key.Seed()) {
		t.Errorf("a key file rewritten by ssh-keygen: %v", err)
	}
	message := write("head.json", e.SignedBytes())
	run(nil, "-Y", "sign", "-f", path, "-n", EntryNamespace, message)
	theirs, err := os.ReadFile(message + ".sig")
	if err != nil || !bytes.Equal(theirs, e.Armor(fay.key.Public())) {
		t.Errorf("ssh-keygen signs:\n%s\nwe rebuild:\n%s", theirs, e.Armor(fay.key.Public()))
	}
}
