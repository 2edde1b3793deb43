package gitstore

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/protocol/packp"
	"github.com/go-git/go-git/v5/plumbing/protocol/packp/capability"
	"github.com/go-git/go-git/v5/plumbing/protocol/packp/sideband"
	"github.com/go-git/go-git/v5/plumbing/transport"
)

// Bounds of what one fetch may bring over a line.
const (
	maxFetchBytes   = 4 << 30   // from devices that take part
	maxPendingFetch = 256 << 20 // from all others together
	maxPendingLog   = 64 << 20  // from one of them
)

// remoteTarget is a repository behind an address. go-git's transports carry
// what is said; what comes lies in quarantine until it is verified.
type remoteTarget struct {
	address string // without secrets
	dir     string // of the quarantine
	client  transport.Transport
	ep      *transport.Endpoint
	auth    transport.AuthMethod

	session transport.UploadPackSession // listed, not yet used to fetch
	listed  map[string]plumbing.Hash
	empty   bool
	strays  []*quarantine
	count   int
}

// openRemote opens an address; nothing is sent yet.
func openRemote(address, dir string, o SyncOptions) (target, error) {
	shown := withoutSecrets(address)
	ep, err := transport.NewEndpoint(address)
	if err != nil {
		return nil, noExchange(shown, err, "the address cannot be read")
	}
	t := &remoteTarget{address: shown, dir: dir, ep: ep}
	if t.client, t.auth, err = dialer(ep, o); err != nil {
		return nil, noExchange(shown, err, "%v", err)
	}
	if err := os.RemoveAll(dir); err != nil { // an interrupted exchange's
		return nil, err
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, err
	}
	return t, nil
}

func (t *remoteTarget) name() string     { return t.address }
func (t *remoteTarget) id() string       { return "" }
func (t *remoteTarget) begun() bool      { return false }
func (t *remoteTarget) show(string) bool { return false }

func (t *remoteTarget) close() {
	if t.session != nil {
		t.session.Close()
	}
	for _, q := range t.strays {
		q.close()
	}
	os.RemoveAll(t.dir)
}

func (t *remoteTarget) list(ctx context.Context) (*listing, error) {
	l := &listing{logs: map[string]plumbing.Hash{}}
	adv, err := t.greet(ctx)
	if errors.Is(err, transport.ErrEmptyRemoteRepository) {
		t.empty, t.listed = true, l.logs
		return l, nil
	}
	if err != nil {
		return nil, t.reason(ctx, err)
	}
	for full, hash := range adv.References {
		name, log := strings.CutPrefix(full, refPrefix)
		switch {
		case !log:
		case checkName(name) != nil:
			l.refused = append(l.refused, Refusal{Log: name, Why: whyNoName})
		default:
			l.logs[name] = hash
		}
	}
	for _, symref := range adv.Capabilities.Get(capability.SymRef) {
		if name, ok := strings.CutPrefix(symref, "HEAD:"+refPrefix); ok {
			l.shown = name
		}
	}
	t.listed = l.logs
	return l, nil
}

// greet opens a session for fetching and reads what the other side has.
func (t *remoteTarget) greet(ctx context.Context) (*packp.AdvRefs, error) {
	session, err := patiently(ctx, nil, func() (transport.UploadPackSession, error) {
		return t.client.NewUploadPackSession(t.ep, t.auth)
	})
	if err != nil {
		return nil, err
	}
	in := &live{session: session}
	adv, err := patiently(ctx, in, func() (*packp.AdvRefs, error) { return session.AdvertisedReferencesContext(ctx) })
	if err != nil {
		in.close()
		return nil, err
	}
	t.session = session
	return adv, nil
}

// fetch brings all the logs at once. If something in what comes is wrong, each
// is brought alone, so that one bad log does not keep the others.
func (t *remoteTarget) fetch(ctx context.Context, w *wish) (map[string]fetched, error) {
	all := map[string]fetched{}
	budget := w.limit
	q, err := t.bring(ctx, w.logs, w, budget)
	if err == nil {
		for _, name := range w.logs {
			all[name] = fetched{from: q.from(w.held)}
		}
		return all, nil
	}
	if lost := (*lineError)(nil); errors.As(err, &lost) || ctx.Err() != nil {
		return nil, t.reason(ctx, err)
	}
	if len(w.logs) == 1 {
		all[w.logs[0]] = fetched{err: err}
		return all, nil
	}
	for _, name := range w.logs {
		limit := budget
		if w.single > 0 {
			limit = min(limit, w.single)
		}
		if limit <= 0 {
			all[name] = fetched{err: &tooLargeError{w.limit}}
			continue
		}
		q, err := t.bring(ctx, []string{name}, w, limit)
		if lost := (*lineError)(nil); errors.As(err, &lost) || ctx.Err() != nil {
			return nil, t.reason(ctx, err)
		}
		if err != nil {
			if all[name] = (fetched{err: err}); errors.As(err, new(*tooLargeError)) {
				budget -= limit
			}
			continue
		}
		budget -= q.size()
		all[name] = fetched{from: q.from(w.held)}
	}
	return all, nil
}

// lineError is a failure of the connection, not of what came over it.
type lineError struct{ cause error }

func (e *lineError) Error() string { return e.cause.Error() }
func (e *lineError) Unwrap() error { return e.cause }

// bring fetches logs into one quarantine.
func (t *remoteTarget) bring(ctx context.Context, logs []string, w *wish, limit int64) (*quarantine, error) {
	if t.session == nil {
		if _, err := t.greet(ctx); err != nil {
			return nil, &lineError{err}
		}
	}
	session := t.session
	t.session = nil
	in := &live{session: session}
	defer in.close()
	adv, err := session.AdvertisedReferencesContext(ctx)
	if err != nil {
		return nil, &lineError{err}
	}
	req := packp.NewUploadPackRequestFromCapabilities(adv.Capabilities)
	wants := map[plumbing.Hash]bool{}
	for _, name := range logs {
		if hash := t.listed[name]; !wants[hash] {
			wants[hash] = true
			req.Wants = append(req.Wants, hash)
		}
	}
	req.Haves = slices.Clone(w.haves)
	answer, err := patiently(ctx, in, func() (*packp.UploadPackResponse, error) { return session.UploadPack(ctx, req) })
	if err != nil {
		return nil, &lineError{err}
	}
	defer answer.Close()
	var pack io.Reader = answer
	switch {
	case req.Capabilities.Supports(capability.Sideband64k):
		pack = sideband.NewDemuxer(sideband.Sideband64k, answer)
	case req.Capabilities.Supports(capability.Sideband):
		pack = sideband.NewDemuxer(sideband.Sideband, answer)
	}
	t.count++
	path := filepath.Join(t.dir, fmt.Sprintf("fetch-%d.pack", t.count))
	q, err := readQuarantine(ctx, path, &told{Reader: pack, tell: w.came}, limit)
	if err != nil {
		os.Remove(path)
		if errors.Is(err, errCut) {
			return nil, &lineError{err}
		}
		return nil, err
	}
	t.strays = append(t.strays, q)
	return q, nil
}

func (t *remoteTarget) send(ctx context.Context, p *parcel) (map[string]error, error) {
	path := filepath.Join(t.dir, "parcel.pack")
	if err := p.write(path); err != nil {
		return nil, err
	}
	defer os.Remove(path)
	if t.session != nil { // some servers let one in only once
		t.session.Close()
		t.session = nil
	}
	session, err := patiently(ctx, nil, func() (transport.ReceivePackSession, error) {
		return t.client.NewReceivePackSession(t.ep, t.auth)
	})
	if err != nil {
		return nil, t.reason(ctx, err)
	}
	in := &live{session: session}
	defer in.close()
	adv, err := patiently(ctx, in, func() (*packp.AdvRefs, error) { return session.AdvertisedReferencesContext(ctx) })
	if err != nil && !errors.Is(err, transport.ErrEmptyRemoteRepository) {
		return nil, t.reason(ctx, err)
	}
	req := packp.NewReferenceUpdateRequest()
	if adv != nil {
		req = packp.NewReferenceUpdateRequestFromCapabilities(adv.Capabilities)
	}
	for _, m := range p.moves {
		req.Commands = append(req.Commands, &packp.Command{Name: plumbing.ReferenceName(refPrefix + m.log), Old: m.old, New: m.new})
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	req.Packfile = f
	status, err := patiently(ctx, in, func() (*packp.ReportStatus, error) { return session.ReceivePack(ctx, req) })
	// A server that is done before its input is closed makes closing it fail: what was sent is there all the same, or it is not.
	if status == nil && errors.Is(err, io.EOF) && ctx.Err() == nil && t.arrived(ctx, p) {
		return t.outcome(p, nil)
	}
	if status == nil && err != nil {
		return nil, t.reason(ctx, err)
	}
	return t.outcome(p, status)
}

// arrived looks whether the other side's logs stand where they were to be moved.
func (t *remoteTarget) arrived(ctx context.Context, p *parcel) bool {
	adv, err := t.greet(ctx)
	if err != nil {
		return false
	}
	for _, m := range p.moves {
		if adv.References[refPrefix+m.log] != m.new {
			return false
		}
	}
	return true
}

// outcome reads what the other side says became of each log.
func (t *remoteTarget) outcome(p *parcel, status *packp.ReportStatus) (map[string]error, error) {
	done := map[string]error{}
	for _, m := range p.moves {
		done[m.log] = nil
	}
	if status == nil { // it does not say
		return done, nil
	}
	if status.UnpackStatus != "ok" {
		return nil, noExchange(t.address, nil, "the other side could not keep what was sent: %s", status.UnpackStatus)
	}
	for _, s := range status.CommandStatuses {
		name, ok := strings.CutPrefix(s.ReferenceName.String(), refPrefix)
		if !ok || s.Status == "ok" {
			continue
		}
		why := "the other side refused it: " + s.Status
		if strings.Contains(s.Status, "fast") || strings.Contains(s.Status, "lock") || strings.Contains(s.Status, "fetch first") {
			why = "it was changed there meanwhile; sync again"
		}
		done[name] = errors.New(why)
	}
	return done, nil
}

// write writes what is sent as one pack.
func (p *parcel) write(path string) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	m := newMerger(p.from)
	defer m.close()
	m.extra = p.made
	err = p.load(m)
	if err == nil {
		err = m.copy(f)
	}
	return cmp.Or(err, f.Close())
}

// told tells how many bytes were read, now and then.
type told struct {
	io.Reader
	tell    func(n int64)
	n, last int64
}

func (r *told) Read(p []byte) (int, error) {
	n, err := r.Reader.Read(p)
	if r.n += int64(n); r.n-r.last >= 256<<10 {
		r.last = r.n
		r.tell(r.n)
	}
	return n, err
}

// from reads what came, and what is held where it was left out because of that.
func (q *quarantine) from(held fetch) fetch {
	return func(hash plumbing.Hash) (object, error) {
		o, err := q.get(hash)
		if errors.Is(err, errMissing) && held != nil {
			return held(hash)
		}
		return o, err
	}
}

func (q *quarantine) size() int64 {
	info, err := q.file.Stat()
	if err != nil {
		return 0
	}
	return info.Size()
}

// dialPatience is how long a machine may take to answer.
const dialPatience = 30 * time.Second
