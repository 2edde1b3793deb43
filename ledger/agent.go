package ledger

import (
	"bytes"
	"crypto/ed25519"
	"errors"
	"fmt"
	"io"

	"golang.org/x/crypto/ssh"
	"golang.org/x/crypto/ssh/agent"
)

// ErrNoAgentKey is what AgentSigner fails with where the agent does not hold
// the key.
var ErrNoAgentKey = errors.New("the ssh agent does not hold this key: add it with ssh-add")

type agentSigner struct {
	agent agent.ExtendedAgent
	pub   ed25519.PublicKey
	key   ssh.PublicKey
}

// AgentSigner signs through the ssh-agent at the other end of conn with the
// private key of pub, which never leaves the agent.
func AgentSigner(conn io.ReadWriter, pub ed25519.PublicKey) (Signer, error) {
	key, err := ssh.NewPublicKey(pub)
	if err != nil {
		return nil, fmt.Errorf("ask the ssh agent: %w", err)
	}
	// Without a Close to call, the client reads and writes in turn and leaves
	// no reader behind on the connection.
	client := agent.NewClient(struct{ io.ReadWriter }{conn})
	held, err := client.List()
	if err != nil {
		return nil, fmt.Errorf("ask the ssh agent: %w", err)
	}
	for _, k := range held {
		if bytes.Equal(k.Blob, key.Marshal()) {
			return &agentSigner{client, pub, key}, nil
		}
	}
	return nil, ErrNoAgentKey
}

func (s *agentSigner) Public() ed25519.PublicKey { return s.pub }

// Sign takes nothing on trust: type, length and the signature itself are checked.
func (s *agentSigner) Sign(message []byte) ([]byte, error) {
	signature, err := s.agent.Sign(s.key, message)
	if err != nil {
		return nil, fmt.Errorf("sign through the ssh agent: %w", err)
	}
	if signature.Format != keyType || len(signature.Blob) != ed25519.SignatureSize {
		return nil, fmt.Errorf("sign through the ssh agent: it answered with a signature of type %q and %d bytes, not %s and %d",
			signature.Format, len(signature.Blob), keyType, ed25519.SignatureSize)
	}
	if !ed25519.Verify(s.pub, message, signature.Blob) {
		return nil, errors.New("sign through the ssh agent: its signature does not hold")
	}
	return signature.Blob, nil
}
