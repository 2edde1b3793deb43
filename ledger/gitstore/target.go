package gitstore

import (
	"context"
	"fmt"
	"net/url"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"

	"github.com/go-git/go-git/v5/plumbing"
)

// target is a place that several devices exchange logs through. It is never
// trusted: names, sizes and content are checked by whoever reads from it.
type target interface {
	// name is the folder or address, without secrets.
	name() string
	// id tells the target from others at the same place, as one stick from
	// another; "" if nothing but the place does.
	id() string
	// list returns what the target has.
	list(ctx context.Context) (*listing, error)
	// fetch makes the logs of those names readable. A log that could not be
	// brought, while others could, has its error in the result.
	fetch(ctx context.Context, w *wish) (map[string]fetched, error)
	// send writes objects first, and then moves the logs in their order. The
	// result has each log that was tried: nil if it was moved.
	send(ctx context.Context, p *parcel) (map[string]error, error)
	// begun reports whether it was made a target just now.
	begun() bool
	// show makes a plain copy show that log, and reports whether it does now.
	show(log string) bool
	close()
}

// listing is what a target says it has.
type listing struct {
	logs    map[string]plumbing.Hash // zero: it is there but what it names is not
	refused []Refusal                // names that are no log's
	shown   string                   // the log that a plain copy shows, "" if none
}

// wish is what is fetched from a target.
type wish struct {
	logs   []string
	limit  int64           // bytes that may come over a line
	single int64           // of them for one log, if they come one by one; 0: all
	haves  []plumbing.Hash // commits held here, so that what they hold need not come
	held   fetch           // reads what is held here; nil: nothing is
	came   func(n int64)   // is told how many bytes came so far
}

// fetched is one log that can be read, or why not.
type fetched struct {
	from fetch
	err  error
}

// parcel is what is sent to a target.
type parcel struct {
	from    *Store
	all     bool                   // every packed object, as the target has none
	objects map[plumbing.Hash]bool // else these
	made    []object               // and these, which are not held here
	moves   []parcelMove
}

type parcelMove struct {
	log string
	old plumbing.Hash // as listed
	new plumbing.Hash
	seq uint64
}

// NoExchangeError says that nothing could be exchanged with a target, and why.
type NoExchangeError struct {
	Target string // as typed, without secrets
	Why    string

	cause error
}

func (e *NoExchangeError) Error() string {
	return fmt.Sprintf("nothing could be exchanged with %q: %s", e.Target, e.Why)
}

func (e *NoExchangeError) Unwrap() error { return e.cause }

func noExchange(target string, cause error, format string, args ...any) error {
	return &NoExchangeError{Target: target, Why: fmt.Sprintf(format, args...), cause: cause}
}

var (
	scheme  = regexp.MustCompile(`^([A-Za-z][A-Za-z0-9+.-]+)://`)
	scpLike = regexp.MustCompile(`^(?:([^@/\\\s]+)@)?(\[[0-9A-Fa-f:.]+\]|[^:/\\\s@]{2,}):([^:].*|)$`)
)

// targetKind tells a folder from an address and cleans it. An address loses
// any password; a folder becomes absolute.
func targetKind(text string) (folder, address string, err error) {
	if m := scheme.FindStringSubmatch(text); m != nil {
		u, err := url.Parse(text)
		if err != nil {
			return "", "", noExchange(text, err, "the address cannot be read")
		}
		switch strings.ToLower(m[1]) {
		case "file":
			path := u.Path
			if runtime.GOOS == "windows" { // file:///C:/books
				path = strings.TrimPrefix(path, "/")
			}
			if u.Host != "" && u.Host != "localhost" || path == "" {
				return "", "", noExchange(text, nil, "file:// takes the path of a folder on this machine, as in file:///media/stick/book")
			}
			return filepath.FromSlash(path), "", nil
		case "http", "https", "ssh", "git":
			if u.Host == "" {
				return "", "", noExchange(text, nil, "the address names no machine")
			}
			return "", text, nil
		}
		return "", "", noExchange(text, nil, "%q is not a way to reach a book; use a folder, https://, ssh:// or git://", m[1])
	}
	if text == "" {
		return "", "", noExchange(text, nil, "no folder or address was given")
	}
	if m := scpLike.FindStringSubmatch(text); m != nil && !exists(text) {
		if m[3] == "" {
			return "", "", noExchange(text, nil, "the address names no folder on %s", m[2])
		}
		return "", text, nil
	}
	abs, err := filepath.Abs(text)
	if err != nil {
		return "", "", err
	}
	return abs, "", nil
}

// withoutSecrets removes a password from an address.
func withoutSecrets(address string) string {
	if !scheme.MatchString(address) {
		return address
	}
	u, err := url.Parse(address)
	if err != nil || u.User == nil {
		return address
	}
	if name := u.User.Username(); name != "" {
		u.User = url.User(name)
	} else {
		u.User = nil
	}
	return u.String()
}
