package gitstore

import (
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"strings"

	"github.com/go-git/go-git/v5/plumbing/transport"
)

// reason says why nothing could be exchanged.
func (t *remoteTarget) reason(ctx context.Context, err error) error {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	return noExchange(t.address, err, "%s", plainReason(err))
}

func plainReason(err error) string {
	var host *HostKeyError
	var dns *net.DNSError
	text := err.Error()
	switch {
	case errors.As(err, &host):
		return host.Error()
	case errors.Is(err, transport.ErrRepositoryNotFound), strings.Contains(text, "repository not found"),
		strings.Contains(text, "does not appear to be a git repository"):
		return "there is no book at this address, or this device may not see it"
	case errors.Is(err, transport.ErrAuthenticationRequired):
		return "the other side wants to know who this is: give a token or a key"
	case errors.Is(err, transport.ErrAuthorizationFailed):
		return "the other side does not let this device in: the token or key may be wrong, out of date, or for something else"
	case strings.Contains(text, "unable to authenticate"):
		return "the other side does not let this device in: none of the keys that were offered is known there"
	case errors.As(err, &dns):
		return fmt.Sprintf("the machine %q is not known; is this device on the net?", dns.Name)
	case errors.Is(err, context.DeadlineExceeded), errors.Is(err, os.ErrDeadlineExceeded):
		return "the other side does not answer"
	}
	var op *net.OpError
	if errors.As(err, &op) {
		return fmt.Sprintf("the other side cannot be reached: %v", op.Err)
	}
	return "the other side broke off: " + strings.TrimSuffix(text, "\n")
}
