package gitstore

import (
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"

	"github.com/go-git/go-git/v5/plumbing/transport"
	gitline "github.com/go-git/go-git/v5/plumbing/transport/git"
	httpline "github.com/go-git/go-git/v5/plumbing/transport/http"
	sshline "github.com/go-git/go-git/v5/plumbing/transport/ssh"
	"golang.org/x/crypto/ssh"
	"golang.org/x/crypto/ssh/agent"
)

// HostKeyError says that a machine reached by ssh was not taken for the right one.
type HostKeyError struct {
	Host        string
	Fingerprint string

	cause error
}

func (e *HostKeyError) Error() string {
	return fmt.Sprintf("the machine %s shows the key %s: %v", e.Host, e.Fingerprint, e.cause)
}

func (e *HostKeyError) Unwrap() error { return e.cause }

// dialer returns how an endpoint is reached, and as whom.
func dialer(ep *transport.Endpoint, o SyncOptions) (transport.Transport, transport.AuthMethod, error) {
	switch strings.ToLower(ep.Protocol) {
	case "http", "https":
		client := httpline.NewClient(&http.Client{Transport: bounded{http.DefaultTransport}})
		if o.Auth.Token == "" {
			return client, nil, nil
		}
		if ep.Protocol == "http" && !isLoopback(ep.Host) {
			return nil, nil, errors.New("a token is not sent over http://, where anyone on the way can read it; use https://")
		}
		return client, &httpline.BasicAuth{Username: userOf(ep, o), Password: o.Auth.Token}, nil
	case "ssh":
		auth, err := newSSHAuth(ep, o)
		return sshline.DefaultClient, auth, err
	case "git":
		return gitline.DefaultClient, nil, nil
	}
	return nil, nil, fmt.Errorf("%q is not a way to reach a book", ep.Protocol)
}

func userOf(ep *transport.Endpoint, o SyncOptions) string {
	for _, name := range []string{o.Auth.User, ep.User} {
		if name != "" {
			return name
		}
	}
	return "git"
}

func isLoopback(host string) bool {
	ip := net.ParseIP(strings.Trim(host, "[]"))
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

// maxGreeting bounds what a server may say it has: a line for each reference.
const maxGreeting = 16 << 20

// bounded cuts an endless list of references short.
type bounded struct{ http.RoundTripper }

func (b bounded) RoundTrip(req *http.Request) (*http.Response, error) {
	res, err := b.RoundTripper.RoundTrip(req)
	if err != nil {
		return nil, err
	}
	if strings.HasSuffix(req.URL.Path, "/info/refs") {
		res.Body = struct {
			io.Reader
			io.Closer
		}{io.LimitReader(res.Body, maxGreeting), res.Body}
	}
	return res, nil
}

// sshAuth is how ssh is spoken: with the key file given, then the agent's keys.
type sshAuth struct {
	user    string
	signers func() ([]ssh.Signer, error)
	check   func(host, fingerprint string) error
}

func newSSHAuth(ep *transport.Endpoint, o SyncOptions) (*sshAuth, error) {
	var own []ssh.Signer
	if len(o.Auth.KeyFile) > 0 {
		signer, err := parseSSHKey(o.Auth.KeyFile, o.Auth.Passphrase)
		if err != nil {
			return nil, err
		}
		own = append(own, signer)
	}
	a := &sshAuth{user: userOf(ep, o), check: o.HostKey}
	a.signers = func() ([]ssh.Signer, error) {
		all := own
		if o.Auth.Agent != nil {
			more, err := agent.NewClient(o.Auth.Agent).Signers()
			if err != nil && len(own) == 0 {
				return nil, fmt.Errorf("the key agent does not answer: %w", err)
			}
			all = append(all[:len(all):len(all)], more...)
		}
		return all, nil
	}
	return a, nil
}

// parseSSHKey reads a private key. The error is *ssh.PassphraseMissingError
// where it is locked and no passphrase was given.
func parseSSHKey(pem, passphrase []byte) (ssh.Signer, error) {
	if len(passphrase) > 0 {
		signer, err := ssh.ParsePrivateKeyWithPassphrase(pem, passphrase)
		if err != nil {
			return nil, fmt.Errorf("the key file cannot be opened: %w", err)
		}
		return signer, nil
	}
	signer, err := ssh.ParsePrivateKey(pem)
	if err != nil {
		return nil, fmt.Errorf("the key file cannot be opened: %w", err)
	}
	return signer, nil
}

// Name and String implement go-git's AuthMethod.
func (a *sshAuth) Name() string   { return "ssh-shedbook" }
func (a *sshAuth) String() string { return "user: " + a.user }

func (a *sshAuth) ClientConfig() (*ssh.ClientConfig, error) {
	return &ssh.ClientConfig{
		User:    a.user,
		Auth:    []ssh.AuthMethod{ssh.PublicKeysCallback(a.signers)},
		Timeout: dialPatience,
		HostKeyCallback: func(host string, _ net.Addr, key ssh.PublicKey) error {
			fingerprint := ssh.FingerprintSHA256(key)
			if a.check == nil {
				return &HostKeyError{host, fingerprint, errors.New("nobody was there to say that it is the right one")}
			}
			if err := a.check(host, fingerprint); err != nil {
				return &HostKeyError{host, fingerprint, err}
			}
			return nil
		},
	}, nil
}

// Locked reports whether a private key file needs a passphrase.
func Locked(pem []byte) (bool, error) {
	_, err := ssh.ParsePrivateKey(pem)
	var missing *ssh.PassphraseMissingError
	if errors.As(err, &missing) {
		return true, nil
	}
	return false, err
}

// WantsToKnow reports whether the other side wants to know who this is, or does
// not let in who it was told.
func (e *NoExchangeError) WantsToKnow() bool {
	return errors.Is(e.cause, transport.ErrAuthenticationRequired) || errors.Is(e.cause, transport.ErrAuthorizationFailed)
}
