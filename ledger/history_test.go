package ledger

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// history lets devices do as they please: record, sync, join, admit, stop each
// other, be copied, lose entries.
type history struct {
	*world
	devices []*device
	paper   *device
}

func newHistory(t *rapid.T, tb testing.TB) *history {
	w := newWorld(tb)
	w.random = rand.NewChaCha8([32]byte{byte(rapid.IntRange(0, 3).Draw(t, "keys"))})
	fay, paper := w.found("fay")
	h := &history{world: w, devices: []*device{fay}, paper: paper}
	// Most books get this far, so that there is something to quarrel about.
	ola, pim, ned := w.join("ola", fay), w.join("pim", fay), w.join("ned", fay)
	fay.quickPull(ola, pim, ned)
	fay.try(func(at Position) Draft { return admitDraft(ola, RoleOwner) })
	fay.try(func(at Position) Draft { return admitDraft(pim, RoleOwner) })
	ola.quickPull(fay)
	pim.quickPull(fay)
	h.devices = append(h.devices, ola, pim, ned)
	return h
}

func admitDraft(d *device, role Role) Draft {
	return Draft{Class: Control, Kind: KindAdmit, Record: Admit{Key: d.public(), Role: role}}
}

// quickPull is pull without checking signatures again: all of them were made
// a moment ago.
func (d *device) quickPull(others ...*device) {
	logs := d.logs()
	for _, o := range others {
		logs = append(logs, o.logs()...)
	}
	d.book = load1(d.t, trusted(logs))
}

func trusted(logs []Log) []Log {
	for i := range logs {
		if e, err := parseLine(logs[i].Lines[len(logs[i].Lines)-1], false); err == nil {
			logs[i].Checked = e.ID()
		}
	}
	return logs
}

// try signs the next entry unless the log has forked.
func (d *device) try(draft func(Position) Draft) {
	at, err := d.book.Next(d.writer())
	var forked *Forked
	if errors.As(err, &forked) {
		return
	}
	if err != nil {
		d.t.Fatal(err)
	}
	what := draft(at)
	if at.Seq == 1 { // its log was lost whole: it begins anew
		what = Draft{Class: Control, Kind: KindRequest, Record: Request{Key: d.public()}}
	}
	if err := d.book.Append(d.make(what, at)); err != nil {
		d.t.Fatal(err)
	}
}

func (h *history) step(t *rapid.T) {
	d := rapid.SampledFrom(h.devices).Draw(t, "device")
	other := rapid.SampledFrom(h.devices).Draw(t, "other")
	switch rapid.SampledFrom([]string{"note", "note", "pull", "pull", "pull", "admit", "stop", "stop", "join", "copy", "recover", "lose"}).Draw(t, "act") {
	case "note":
		d.try(func(Position) Draft { return Draft{Class: Work, Kind: "note", Machine: &h.machine} })
	case "pull":
		d.quickPull(other)
	case "admit":
		role := rapid.SampledFrom([]Role{RoleOwner, RoleWorker, RoleRecovery}).Draw(t, "role")
		d.try(func(Position) Draft { return admitDraft(other, role) })
	case "stop":
		s := stopOf(d.book, other.writer())
		if rapid.Bool().Draw(t, "earlier") {
			var held []*Entry
			for _, e := range d.book.Entries() {
				if e.Writer() == other.writer() {
					held = append(held, e)
				}
			}
			if len(held) > 0 {
				s = stopOf(d.book, other.writer(), rapid.SampledFrom(held).Draw(t, "tip"))
			}
		}
		d.try(func(Position) Draft { return Draft{Class: Control, Kind: KindStop, Record: s} })
	case "join":
		if len(h.devices) < 8 {
			h.devices = append(h.devices, h.join(fmt.Sprint("hand ", len(h.devices)), d))
		}
	case "copy":
		if len(h.devices) < 8 {
			h.devices = append(h.devices, d.copy())
		}
	case "recover":
		if h.paper.book == nil {
			h.paper.start(d)
			h.devices = append(h.devices, h.paper)
		}
	case "lose":
		e := rapid.SampledFrom(d.book.Entries()).Draw(t, "lost")
		if e.Kind() != KindFound {
			d.book = load1(d.t, trusted(without(d.book, e)))
		}
	}
}

// all is what everyone together holds.
func (h *history) all() *Book {
	var logs []Log
	for _, d := range h.devices {
		logs = append(logs, d.logs()...)
	}
	return load1(h.t, trusted(logs))
}

// Whatever devices do, the same set of entries gives the same entries, order,
// findings and verdict, in whatever order and in whatever pieces the logs come;
// the order respects causality; and the verdict is that of the plain model.
func TestHistories(t *testing.T) {
	seen := make(map[string]int)
	rounds := 1
	if full() {
		rounds = 40
	}
	for range rounds {
		rapid.Check(t, func(rt *rapid.T) {
			h := newHistory(rt, t)
			for range rapid.IntRange(5, 30).Draw(rt, "steps") {
				h.step(rt)
			}
			b := h.all()
			entries := slices.Clone(b.Entries())
			for range rapid.IntRange(0, 2).Draw(rt, "lost") {
				i := rapid.IntRange(0, len(entries)-1).Draw(rt, "which")
				if entries[i].Kind() != KindFound {
					entries = slices.Delete(entries, i, i+1)
				}
			}
			logs := trusted(logsOf(entries...))
			b = load1(t, logs)
			if len(b.Entries()) != len(entries) {
				rt.Fatalf("%d entries of %d are held: %v", len(b.Entries()), len(entries), b.Findings())
			}
			want := describe(b)
			for _, order := range [][]int{rapid.Permutation(indexes(logs)).Draw(rt, "order")} {
				var other []Log
				for _, i := range order {
					other = append(other, logs[i])
				}
				if diff := cmp.Diff(want, describe(load1(t, other))); diff != "" {
					rt.Fatalf("in another order:\n%s", diff)
				}
			}
			checkCausality(rt, b)
			status := newModel(b, entries).judge()
			for _, e := range entries {
				got := b.Judge().Status(e)
				seen[got.String()]++
				if got != status[e.ID()] {
					rt.Fatalf("%s of %s, seq %d: %s, the model has %s\n%s", e.ID().Short(), h.names[e.Writer()], e.Seq(), got, status[e.ID()], want)
				}
			}
			for _, f := range append(b.Findings(), b.Judge().Findings()...) {
				seen[f.Code]++
			}
		})
	}
	// A test whose histories never quarrel would prove nothing.
	for _, what := range []string{"counts", "pending", "waiting", "stopped", CodeFork, CodeNoEffect, CodeAfterStop, CodeMissingEntry} {
		if seen[what] == 0 {
			t.Errorf("no history had %q: %v", what, seen)
		}
	}
}

func indexes(logs []Log) []int {
	out := make([]int, len(logs))
	for i := range out {
		out[i] = i
	}
	return out
}

func checkCausality(t *rapid.T, b *Book) {
	at := make(map[ID]int)
	for i, e := range b.Entries() {
		at[e.ID()] = i
	}
	for i, e := range b.Entries() {
		refs := e.Head().Seen
		if e.Seq() > 1 {
			refs = append(slices.Clone(refs), Ref{ID: e.Prev()})
		}
		known := e.At()
		for _, ref := range refs {
			j, held := at[ref.ID]
			if held && j >= i {
				t.Fatalf("%s stands before %s, which it cites", e.ID().Short(), ref.ID.Short())
			}
			if held && b.KnownAt(b.Entry(ref.ID)).After(known) {
				known = b.KnownAt(b.Entry(ref.ID))
			}
		}
		if !b.KnownAt(e).Equal(known) {
			t.Fatalf("%s known at %s, want %s", e.ID().Short(), b.KnownAt(e), known)
		}
	}
}

// A book that grew entry by entry is the book that is loaded at once.
func TestAppendIsLoad(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		h := newHistory(rt, t)
		for range rapid.IntRange(5, 25).Draw(rt, "steps") {
			h.step(rt)
		}
		all := h.all()
		grown := load1(t, logsOf(all.Founding()))
		var kept []*Entry
		for _, e := range all.Entries() {
			if err := grown.Append(e); err == nil {
				kept = append(kept, e)
			}
			if rapid.Bool().Draw(rt, "ask") { // asking in between changes nothing
				grown.Judge()
				grown.Entries()
				grown.Next(e.Writer())
			}
		}
		want := load1(t, trusted(logsOf(kept...)))
		if diff := cmp.Diff(describe(want), describe(grown)); diff != "" {
			rt.Fatalf("loaded (-) and grown (+) differ:\n%s", diff)
		}
		for _, w := range want.Writers() {
			p, errP := want.Next(w)
			q, errQ := grown.Next(w)
			if diff := cmp.Diff(p, q); diff != "" || (errP == nil) != (errQ == nil) {
				rt.Fatalf("next of %s: %v %v\n%s", w, errP, errQ, diff)
			}
		}
	})
}
