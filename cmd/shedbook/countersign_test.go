package main

import (
	"bytes"
	"crypto"
	"crypto/ecdsa"
	"crypto/ed25519"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/rsa"
	"crypto/sha256"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/hiddeco/sshsig"
	"github.com/rogpeppe/go-internal/testscript"
	"golang.org/x/crypto/ssh"
)

// signers are the keys that sshsign has made up, one for each type and name.
var signersMade struct {
	sync.Mutex
	keys map[string]ssh.Signer
}

// sshSign is the script command "sshsign TYPE NAME NAMESPACE FILE": it writes FILE.sig as stock ssh-keygen -Y sign does, with an ed25519, rsa or ecdsa key
// made up for that name, or, with type file, with the private key in the file NAME.
func sshSign(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 4 {
		ts.Fatalf("usage: sshsign TYPE NAME NAMESPACE FILE")
	}
	var signer ssh.Signer
	var err error
	if args[0] == "file" {
		signer, err = ssh.ParsePrivateKey([]byte(ts.ReadFile(args[1])))
	} else {
		signer, err = madeUpKey(args[0], args[1])
	}
	ts.Check(err)
	sig, err := sshsig.Sign(strings.NewReader(ts.ReadFile(args[3])), signer, sshsig.HashSHA512, args[2])
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[3]+".sig"), sshsig.Armor(sig), 0o644))
}

func madeUpKey(kind, name string) (ssh.Signer, error) {
	signersMade.Lock()
	defer signersMade.Unlock()
	if s := signersMade.keys[kind+" "+name]; s != nil {
		return s, nil
	}
	var key crypto.Signer
	var err error
	switch kind {
	case "rsa":
		key, err = rsa.GenerateKey(rand.Reader, 2048)
	case "ecdsa":
		key, err = ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	default:
		seed := sha256.Sum256([]byte(name))
		key = ed25519.NewKeyFromSeed(seed[:])
	}
	if err != nil {
		return nil, err
	}
	s, err := ssh.NewSignerFromSigner(key)
	if signersMade.keys == nil {
		signersMade.keys = map[string]ssh.Signer{}
	}
	signersMade.keys[kind+" "+name] = s
	return s, err
}

// TestStockCountersign has stock ssh-keygen sign a stamp, as somebody without a book would, and wants it taken; and has it check the signature back with -Y
// check-novalidate. The full tests insist on ssh-keygen; elsewhere sshsign stands for it.
func TestStockCountersign(t *testing.T) {
	keygen, err := exec.LookPath("ssh-keygen")
	if err != nil {
		if fullTests {
			t.Fatal("ssh-keygen is not installed")
		}
		return
	}
	b := newTestBook(t)
	dir := t.TempDir()
	stamp := filepath.Join(dir, "stamp.txt")
	if err := os.WriteFile(stamp, []byte(b.must("stamp")), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, kind := range []string{"ed25519", "rsa", "ecdsa"} {
		key := filepath.Join(dir, kind)
		for _, args := range [][]string{{"-q", "-t", kind, "-N", "", "-C", "", "-f", key}, {"-Y", "sign", "-f", key, "-n", "shedbook-stamp-v1", stamp}} {
			if out, err := exec.Command(keygen, args...).CombinedOutput(); err != nil {
				t.Fatalf("ssh-keygen %v: %v\n%s", args, err, out)
			}
		}
		if out := b.must("countersign", "--armor", stamp+".sig", "--who", "Pim "+kind); !strings.Contains(out, "is countersigned by Pim "+kind) {
			t.Errorf("%s: %s", kind, out)
		}
		again := exec.Command(keygen, "-Y", "check-novalidate", "-n", "shedbook-stamp-v1", "-s", stamp+".sig")
		text := b.must("stamp", stamp)
		again.Stdin = strings.NewReader(text)
		if out, err := again.CombinedOutput(); err != nil {
			t.Errorf("%s: the text printed again is not what was signed: %v\n%s", kind, err, out)
		}
		if err := os.Remove(stamp + ".sig"); err != nil {
			t.Fatal(err)
		}
	}
	b.vars["COLUMNS"] = "200"
	if list := b.must("stamp", "--list"); !strings.Contains(list, "Pim rsa") || bytes.Contains([]byte(list), []byte("nobody")) {
		t.Errorf("stamp --list does not name who signed:\n%s", list)
	}
}
