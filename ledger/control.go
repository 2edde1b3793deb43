package ledger

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
)

// Kinds of control entries.
const (
	KindFound       = "found"
	KindRequest     = "request"
	KindAdmit       = "admit"
	KindStop        = "stop"
	KindStamp       = "stamp"
	KindCountersign = "countersign"
	KindFormat      = "format"
)

// Role is what a device's key may do. It is given once and for life.
type Role string

// The roles.
const (
	RoleOwner    Role = "owner"
	RoleWorker   Role = "worker"
	RoleRecovery Role = "recovery"
)

// Found makes a book: the founder's key, which signs it, and the recovery key,
// whose private half is on paper.
type Found struct {
	Title    string    `json:"title"`
	Key      PublicKey `json:"key"`
	Recovery PublicKey `json:"recovery"`
}

// Request is the first entry of any other log: a device asks to take part.
type Request struct {
	Key PublicKey `json:"key"`
}

// Admit takes a device's key into the book. An absent Person is a new one,
// whose id is that of this entry.
type Admit struct {
	Key    PublicKey `json:"key"`
	Role   Role      `json:"role"`
	Person ID        `json:"person,omitzero"`
}

// Reasons for a stop.
const (
	WhyLost   = "lost"   // the device is gone
	WhyTheft  = "theft"  // someone else has the key
	WhyLeft   = "left"   // the person left
	WhyCopied = "copied" // the log forked, innocently
)

// Stop ends a log: the entries that are ancestors of a named tip count, no
// others. Tips are sorted by (seq, id) and stand once; none means that nothing
// of the log counts.
type Stop struct {
	Writer Writer `json:"writer"`
	Tips   []Tip  `json:"tips"`
	Why    string `json:"why"`
}

// Tip is one last accepted entry of a stopped log.
type Tip struct {
	ID  ID     `json:"id"`
	Seq uint64 `json:"seq"`
}

// Compare orders tips by seq, then id.
func (t Tip) Compare(other Tip) int {
	return Ref{ID: t.ID, Seq: t.Seq}.Compare(Ref{ID: other.ID, Seq: other.Seq})
}

// Stamp states the last entries of every log its writer holds, sorted.
type Stamp struct {
	Tips []Ref `json:"tips"`
}

// Countersign stores another's SSH signature over the text of a stamp, in the
// namespace StampNamespace, armor and all.
type Countersign struct {
	Stamp ID     `json:"stamp"`
	Armor string `json:"armor"`
}

// Format allows entries of newer forms from here on.
type Format struct {
	V uint64 `json:"v"`
}

// ControlPrivate is the private part of found, request and admit: the person's
// name, the device's label and a note.
type ControlPrivate struct {
	Name   string `json:"name,omitempty"`
	Device string `json:"device,omitempty"`
	Note   string `json:"note,omitempty"`
}

// errUnknown marks a control entry that this version cannot judge.
var errUnknown = errors.New("newer shedbook needed")

// DecodeControl decodes the record of a control entry: *Found, *Request,
// *Admit, *Stop, *Stamp, *Countersign or *Format. An unknown kind or member, or
// a value out of place, is an error.
func DecodeControl(e *Entry) (any, error) {
	if e.Class() != Control {
		return nil, fmt.Errorf("a %s entry is no control entry", e.Class())
	}
	return decodeControl(e.Kind(), e.Record())
}

// DecodeControlPrivate decodes the private part of a control entry. It is empty
// where there is none, it is held back, or it is in a form of its own.
func DecodeControlPrivate(e *Entry) ControlPrivate {
	var p ControlPrivate
	if e.Private() == nil || strictDecode(e.Private(), &p) != nil {
		return ControlPrivate{}
	}
	return p
}

func decodeControl(kind string, record []byte) (any, error) {
	var out interface{ check() error }
	switch kind {
	case KindFound:
		out = new(Found)
	case KindRequest:
		out = new(Request)
	case KindAdmit:
		out = new(Admit)
	case KindStop:
		out = new(Stop)
	case KindStamp:
		out = new(Stamp)
	case KindCountersign:
		out = new(Countersign)
	case KindFormat:
		out = new(Format)
	default:
		return nil, fmt.Errorf("unknown kind of control entry %q: %w", kind, errUnknown)
	}
	if err := strictDecode(record, out); err != nil {
		return nil, fmt.Errorf("%s: %w: %w", kind, err, errUnknown)
	}
	if err := out.check(); err != nil {
		return nil, fmt.Errorf("%s: %w: %w", kind, err, errUnknown)
	}
	return out, nil
}

// checkControl keeps Sign from writing what DecodeControl would not read.
func checkControl(kind string, record, private []byte) error {
	if _, err := decodeControl(kind, record); err != nil {
		return err
	}
	if private == nil {
		return nil
	}
	var whole struct {
		Record ControlPrivate `json:"record"`
		Salt   string         `json:"salt"`
	}
	if err := strictDecode(private, &whole); err != nil {
		return fmt.Errorf("private: %w", err)
	}
	return nil
}

// strictDecode decodes canonical JSON; unknown members are errors.
func strictDecode(b []byte, out any) error {
	dec := json.NewDecoder(bytes.NewReader(b))
	dec.DisallowUnknownFields()
	if err := dec.Decode(out); err != nil {
		return err
	}
	if _, err := dec.Token(); err != io.EOF {
		return errors.New("more than one value")
	}
	return nil
}

// lenientDecode decodes what this version knows of a record.
func lenientDecode(b []byte, out any) error { return json.Unmarshal(b, out) }

// ownKey returns the key that a log's first entry carries.
func ownKey(e *Entry) (PublicKey, error) {
	if e.head.Class == Control && (e.kind == KindFound || e.kind == KindRequest) {
		var record struct {
			Key PublicKey `json:"key"`
		}
		if err := lenientDecode(e.Record(), &record); err != nil {
			return PublicKey{}, fmt.Errorf("the key in the log's first entry: %w", err)
		}
		if !record.Key.IsZero() {
			return record.Key, nil
		}
	}
	return PublicKey{}, errors.New("the log's first entry has no key")
}

func (f *Found) check() error {
	switch {
	case f.Title == "":
		return errors.New("no title")
	case f.Key.IsZero():
		return errors.New("no key")
	case f.Recovery.IsZero():
		return errors.New("no recovery key")
	case f.Recovery == f.Key:
		return errors.New("the recovery key is the founder's own")
	}
	return nil
}

func (r *Request) check() error {
	if r.Key.IsZero() {
		return errors.New("no key")
	}
	return nil
}

func (a *Admit) check() error {
	if a.Key.IsZero() {
		return errors.New("no key")
	}
	switch a.Role {
	case RoleOwner, RoleWorker, RoleRecovery:
		return nil
	}
	return fmt.Errorf("unknown role %q", a.Role)
}

func (s *Stop) check() error {
	if s.Writer.IsZero() {
		return errors.New("no writer")
	}
	switch s.Why {
	case WhyLost, WhyTheft, WhyLeft, WhyCopied:
	default:
		return fmt.Errorf("unknown reason %q", s.Why)
	}
	for i, tip := range s.Tips {
		if tip.ID.IsZero() || tip.Seq < 1 || tip.Seq > MaxInteger {
			return errors.New("a tip without id or seq")
		}
		if i > 0 && s.Tips[i-1].Compare(tip) >= 0 {
			return errors.New("tips are not sorted by seq and id")
		}
	}
	return nil
}

func (s *Stamp) check() error {
	if len(s.Tips) == 0 {
		return errors.New("no tips")
	}
	for _, tip := range s.Tips {
		if tip.ID.IsZero() || tip.Writer.IsZero() || tip.Seq < 1 || tip.Seq > MaxInteger {
			return errors.New("a tip without id, writer or seq")
		}
	}
	if !slices.IsSortedFunc(s.Tips, Ref.Compare) {
		return errors.New("tips are not sorted by writer, seq and id")
	}
	return nil
}

func (c *Countersign) check() error {
	if c.Stamp.IsZero() || c.Armor == "" {
		return errors.New("no stamp or no signature")
	}
	return nil
}

func (f *Format) check() error {
	if f.V < 1 || f.V > MaxInteger {
		return errors.New("no version")
	}
	return nil
}

// internKind returns the kind as a string without a copy for the known ones:
// a book has few kinds and many entries.
func internKind(b []byte) string {
	if s, ok := knownKinds[string(b)]; ok {
		return s
	}
	return string(b)
}

var knownKinds = func() map[string]string {
	kinds := make(map[string]string)
	for _, kind := range []string{
		KindFound, KindRequest, KindAdmit, KindStop, KindStamp, KindCountersign, KindFormat,
		"farm", "yard", "person", "schedule", "season",
		"machine", "shelf", "stock", "move", "lend", "store", "sell", "hitch", "assume", "override", "counter", "adjust",
		"measure", "swap", "did", "fault", "repair", "note", "correct", "strike",
	} {
		kinds[kind] = kind
	}
	return kinds
}()
