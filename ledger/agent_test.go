package ledger

import (
	"errors"
	"net"
	"testing"

	"golang.org/x/crypto/ssh"
	"golang.org/x/crypto/ssh/agent"
)

// serve runs an agent and returns the other end of its connection.
func serve(t *testing.T, a agent.Agent) net.Conn {
	t.Helper()
	ours, theirs := net.Pipe()
	t.Cleanup(func() { ours.Close(); theirs.Close() })
	go agent.ServeAgent(a, theirs)
	return ours
}

// An entry signed through an agent is the one that the key itself signs.
func TestAgentSigner(t *testing.T) {
	fay, _ := newWorld(t).found("fay")
	ring := agent.NewKeyring()
	conn := serve(t, ring)
	if _, err := AgentSigner(conn, fay.key.Public()); !errors.Is(err, ErrNoAgentKey) {
		t.Fatalf("an empty agent: %v", err)
	}
	if err := ring.Add(agent.AddedKey{PrivateKey: fay.key.private}); err != nil {
		t.Fatal(err)
	}
	signer, err := AgentSigner(conn, fay.key.Public())
	if err != nil {
		t.Fatal(err)
	}
	at, err := fay.book.Next(fay.writer())
	if err != nil {
		t.Fatal(err)
	}
	e, err := Sign(Draft{Class: Work, Kind: "note", Machine: &fay.machine, At: fay.now}, at, signer, fay.random)
	if err != nil {
		t.Fatal(err)
	}
	if err := fay.book.Append(e); err != nil {
		t.Error(err)
	}
}

// forger answers every request with a signature of its own choice.
type forger struct {
	agent.Agent
	answer ssh.Signature
}

func (f *forger) Sign(ssh.PublicKey, []byte) (*ssh.Signature, error) { return &f.answer, nil }

// Nothing an agent answers is taken on trust.
func TestAgentAnswers(t *testing.T) {
	key := seedKey(t, rfc8032[0].secret)
	ring := agent.NewKeyring()
	if err := ring.Add(agent.AddedKey{PrivateKey: key.private}); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name   string
		answer ssh.Signature
		want   string
	}{
		{"another type", ssh.Signature{Format: "ssh-rsa", Blob: make([]byte, 64)},
			`sign through the ssh agent: it answered with a signature of type "ssh-rsa" and 64 bytes, not ssh-ed25519 and 64`},
		{"too short", ssh.Signature{Format: "ssh-ed25519", Blob: make([]byte, 63)},
			`sign through the ssh agent: it answered with a signature of type "ssh-ed25519" and 63 bytes, not ssh-ed25519 and 64`},
		{"wrong", ssh.Signature{Format: "ssh-ed25519", Blob: make([]byte, 64)},
			"sign through the ssh agent: its signature does not hold"},
	} {
		t.Run(c.name, func(t *testing.T) {
			signer, err := AgentSigner(serve(t, &forger{ring, c.answer}), key.Public())
			if err != nil {
				t.Fatal(err)
			}
			if _, err := signer.Sign([]byte("x")); err == nil || err.Error() != c.want {
				t.Errorf("%v, want %q", err, c.want)
			}
		})
	}
}
