package main

import (
	"crypto/ed25519"
	"errors"
	"fmt"
	"net"
	"os"

	"golang.org/x/term"

	"shedbook/ledger"
)

// agentSigner asks the ssh-agent named by SSH_AUTH_SOCK to sign. The connection lives as long as the process.
func (c *call) agentSigner(path string, pub ed25519.PublicKey) (ledger.Signer, error) {
	sock := c.getenv("SSH_AUTH_SOCK")
	if sock == "" {
		return nil, failed("no-agent", "start ssh-agent and add the key, or name the private key file with --key",
			"%s is a public key and no ssh-agent is running (SSH_AUTH_SOCK is not set)", path)
	}
	conn, err := net.Dial("unix", sock)
	if err != nil {
		return nil, failed("no-agent", "start ssh-agent and add the key, or name the private key file with --key", "the ssh-agent does not answer: %v", err)
	}
	s, err := ledger.AgentSigner(conn, pub)
	if errors.Is(err, ledger.ErrNoAgentKey) {
		return nil, failed("no-agent", "add it with ssh-add", "the ssh-agent does not hold the key of %s", path)
	}
	if err != nil {
		return nil, fmt.Errorf("ask the ssh-agent: %w", err)
	}
	return s, nil
}

// passphrase asks for one on a terminal, unseen; elsewhere SHEDBOOK_PASSPHRASE_FILE names a file that holds it.
func (c *call) passphrase(question string) ([]byte, error) {
	if name := c.getenv("SHEDBOOK_PASSPHRASE_FILE"); name != "" {
		b, err := os.ReadFile(c.path(name))
		if err != nil {
			return nil, fmt.Errorf("read the passphrase: %w", err)
		}
		for len(b) > 0 && (b[len(b)-1] == '\n' || b[len(b)-1] == '\r') {
			b = b[:len(b)-1]
		}
		return b, nil
	}
	f, ok := c.stdin.(*os.File)
	if !c.asks || !ok {
		return nil, failed("passphrase", "run it on a terminal, use ssh-agent, or set SHEDBOOK_PASSPHRASE_FILE", "the signing key has a passphrase and nobody can be asked for it")
	}
	fmt.Fprint(c.stderr, question+" ")
	b, err := term.ReadPassword(int(f.Fd()))
	fmt.Fprintln(c.stderr)
	return b, err
}
