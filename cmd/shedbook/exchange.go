package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"maps"
	"net"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/keyring"
	"shedbook/ledger"
	"shedbook/ledger/gitstore"
)

// access is how this device proves who it is to another machine, as flags say it.
type access struct {
	identity  string // a private key file for ssh
	tokenFile string // a file with a token for https
	user      string
	hostKey   string // the fingerprint to expect of a machine not seen before
}

func (a *access) flags(fs *pflag.FlagSet) {
	fs.StringVar(&a.identity, "identity", "", "log in over ssh with this key `file` (else the ssh-agent's keys)")
	fs.StringVar(&a.tokenFile, "token-file", "", "log in over https with the token in this `file` (else SHEDBOOK_TOKEN)")
	fs.StringVar(&a.user, "user", "", "log in under this `name`, if not that of the address")
	fs.StringVar(&a.hostKey, "host-key", "", "take a machine not seen before if its `fingerprint` is this one (SHA256:...)")
}

// options are what an exchange with address needs. done frees what they hold.
func (a *access) options(c *call, address string) (o gitstore.SyncOptions, done func(), err error) {
	done = func() {}
	o = gitstore.SyncOptions{Now: c.now(), HostKey: c.hostKey(a.hostKey)}
	o.Auth.User = a.user
	o.Auth.Token = strings.TrimSpace(c.getenv("SHEDBOOK_TOKEN"))
	if a.tokenFile != "" {
		text, err := os.ReadFile(c.path(a.tokenFile))
		if err != nil {
			return o, done, failed("no-token", "name another file with --token-file", "read the token: %v", err)
		}
		if o.Auth.Token = strings.TrimSpace(string(text)); o.Auth.Token == "" {
			return o, done, failed("no-token", "name another file with --token-file", "%s holds no token", a.tokenFile)
		}
	}
	if a.identity != "" {
		if o.Auth.KeyFile, o.Auth.Passphrase, err = c.identity(c.path(a.identity)); err != nil {
			return o, done, err
		}
	}
	if sock := c.getenv("SSH_AUTH_SOCK"); sock != "" && !strings.HasPrefix(address, "http") && !strings.HasPrefix(address, "git://") {
		if conn, err := net.Dial("unix", sock); err == nil {
			o.Auth.Agent, done = conn, func() { conn.Close() }
		}
	}
	return o, done, nil
}

// identity reads a private key for logging in, and its passphrase where it has one.
func (c *call) identity(path string) (pem, passphrase []byte, err error) {
	pem, err = keyring.ReadFile(path, false)
	var loose *keyring.LooseError
	switch {
	case errors.As(err, &loose):
		return nil, nil, failed("loose-key", "chmod 600 "+path, "%v", err)
	case errors.Is(err, keyring.ErrNoKey):
		return nil, nil, failed("no-identity", "name another with --identity FILE", "there is no key file %s", path)
	case err != nil:
		return nil, nil, failed("no-identity", "name another with --identity FILE", "%v", err)
	}
	if bytes.Contains(pem, []byte("PRIVATE KEY")) {
		if locked, err := gitstore.Locked(pem); err == nil && locked {
			passphrase, err = c.passphrase("Passphrase of " + path + ":")
			return pem, passphrase, err
		}
		return pem, nil, nil
	}
	return nil, nil, failed("no-identity", "name the file without .pub", "%s is no private key", path)
}

// hostKey decides whether a machine reached by ssh is the right one: it is if it shows the key it showed before; a new one is asked about, once.
func (c *call) hostKey(expected string) func(host, fingerprint string) error {
	return func(host, fingerprint string) error {
		dir, err := c.configDir()
		if err != nil {
			return err
		}
		file := filepath.Join(dir, "machines")
		known, err := readMachines(file)
		if err != nil {
			return err
		}
		if before := known[host]; before == fingerprint {
			return nil
		} else if before != "" && expected != fingerprint {
			return fmt.Errorf("it showed %s before, so it is another machine, or somebody is in between; if its keeper says that the key was changed: --host-key %s", before, fingerprint)
		}
		switch {
		case expected == fingerprint:
		case expected != "":
			return fmt.Errorf("that is not the one given, %s", expected)
		case !c.asks:
			return fmt.Errorf("it was not seen before; compare with its keeper, then --host-key %s", fingerprint)
		default:
			answer, err := c.ask(fmt.Sprintf("The machine %s was not seen before. Its fingerprint is\n\n    %s\n\nCompare it with what its keeper says. Is it the right one? [y/N]", host, fingerprint))
			if err != nil || !yes(answer) {
				return errors.New("you did not take it for the right one")
			}
		}
		known[host] = fingerprint
		return writeMachines(file, known)
	}
}

// run exchanges with one target. Where the other side wants to know who this is and git has a credential helper, that is asked, as git would.
func (a *access) run(c *call, address string, exchange func(gitstore.SyncOptions) error) error {
	o, done, err := a.options(c, address)
	if err != nil {
		return err
	}
	defer done()
	p := newProgress(c)
	o.Progress = p.show
	known := o.HostKey
	o.HostKey = func(host, fingerprint string) error {
		p.clear() // a question gets a line of its own
		return known(host, fingerprint)
	}
	err = exchange(o)
	var none *gitstore.NoExchangeError
	if errors.As(err, &none) && none.WantsToKnow() && o.Auth.Token == "" {
		if user, secret, ok := c.helper("fill", address, "", ""); ok {
			o.Auth.User, o.Auth.Token = user, secret
			p.clear()
			err = exchange(o)
			verb := "approve"
			if errors.As(err, &none) && none.WantsToKnow() {
				verb = "reject"
			}
			c.helper(verb, address, user, secret)
		}
	}
	p.clear()
	return err
}

// helper speaks to git's credential helper, where there is a git: fill asks for a name and secret, approve and reject tell it whether they worked.
func (c *call) helper(verb, address, user, secret string) (string, string, bool) {
	u, err := url.Parse(address)
	if err != nil || u.Scheme != "https" && !(u.Scheme == "http" && isLoopback(u.Hostname())) {
		return "", "", false
	}
	git, err := exec.LookPath("git")
	if err != nil {
		return "", "", false
	}
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	cmd := exec.CommandContext(ctx, git, "credential", verb)
	cmd.Env = append(os.Environ(), "GIT_ASKPASS=", "SSH_ASKPASS=")
	if !c.asks {
		cmd.Env = append(cmd.Env, "GIT_TERMINAL_PROMPT=0")
	}
	in := fmt.Sprintf("protocol=%s\nhost=%s\npath=%s\n", u.Scheme, u.Host, strings.TrimPrefix(u.Path, "/"))
	if user == "" && u.User != nil {
		user = u.User.Username()
	}
	if user != "" {
		in += "username=" + user + "\n"
	}
	if secret != "" {
		in += "password=" + secret + "\n"
	}
	cmd.Stdin = strings.NewReader(in + "\n")
	out, err := cmd.Output()
	if err != nil {
		return "", "", false
	}
	for line := range strings.Lines(string(out)) {
		switch name, value, _ := strings.Cut(strings.TrimSuffix(line, "\n"), "="); name {
		case "username":
			user = value
		case "password":
			secret = value
		}
	}
	return user, secret, secret != ""
}

func isLoopback(host string) bool {
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

// noExchange is the error of an exchange as a person reads it: exit 5 if nothing was exchanged. next is what to do where nothing better is known.
func noExchange(err error, next string) error {
	var none *gitstore.NoExchangeError
	var said *userError
	switch {
	case err == nil:
		return nil
	case errors.As(err, &said):
		return err
	case errors.As(err, &none):
		hint := next
		var key *gitstore.HostKeyError
		switch {
		case errors.As(err, &key):
			hint = "ask whoever keeps that machine for its fingerprint"
		case none.WantsToKnow():
			hint = "give a token with SHEDBOOK_TOKEN or --token-file, or a key with --identity FILE"
		}
		return &userError{code: exitNoExchange, tag: "no-exchange", text: err.Error(), hint: hint, err: err}
	}
	return &userError{code: exitFailed, tag: "sync", text: err.Error(), hint: "both sides are whole; say it again", err: err}
}

// progress shows what an exchange is at, on a terminal, once it has taken a second.
type progress struct {
	c     *call
	begun time.Time
	shown int // columns of the line that stands there
	last  time.Time
}

func newProgress(c *call) *progress { return &progress{c: c, begun: time.Now()} }

func (p *progress) show(what string, done, total int) {
	now := time.Now()
	if !p.c.asks || p.c.quiet || p.c.json || now.Sub(p.begun) < time.Second || now.Sub(p.last) < 100*time.Millisecond {
		return
	}
	line := what
	switch {
	case total > 0:
		line += fmt.Sprintf(": %d of %d", done, total)
	case done > 0:
		line += fmt.Sprintf(": %d", done)
	}
	p.last = now
	fmt.Fprintf(p.c.stderr, "\r%-*s", p.shown, line)
	p.shown = len(line)
}

func (p *progress) clear() {
	if p.shown > 0 {
		fmt.Fprintf(p.c.stderr, "\r%*s\r", p.shown, "")
		p.shown = 0
	}
}

// readMachines reads which key each machine showed: one "name:port fingerprint" a line.
func readMachines(file string) (map[string]string, error) {
	known := map[string]string{}
	text, err := os.ReadFile(file)
	if errors.Is(err, os.ErrNotExist) {
		return known, nil
	}
	if err != nil {
		return nil, fmt.Errorf("read the machines seen before: %w", err)
	}
	for line := range strings.Lines(string(text)) {
		if f := strings.Fields(line); len(f) == 2 {
			known[f[0]] = f[1]
		}
	}
	return known, nil
}

func writeMachines(file string, known map[string]string) error {
	if err := os.MkdirAll(filepath.Dir(file), 0o700); err != nil {
		return err
	}
	var b strings.Builder
	for _, host := range slices.Sorted(maps.Keys(known)) {
		fmt.Fprintf(&b, "%s %s\n", host, known[host])
	}
	if err := writeWhole(file, []byte(b.String()), 0o600); err != nil {
		return fmt.Errorf("remember the machine: %w", err)
	}
	return nil
}

// device is the device of a log, as the book knows it.
func (b *book) device(w ledger.Writer) ledger.Device {
	d, ok := b.judged.Device(w)
	if !ok {
		d.Writer = w
	}
	return d
}
