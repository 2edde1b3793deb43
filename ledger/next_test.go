package ledger

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func seenBy(d *device, e *Entry) []string {
	var out []string
	for _, ref := range e.Head().Seen {
		out = append(out, fmt.Sprintf("%s %d", d.names[ref.Writer], ref.Seq))
	}
	slices.Sort(out)
	return out
}

// An entry cites the last entries of the other logs that moved since its
// writer's previous one, and of admitted writers only.
func TestNextCitesWhatMoved(t *testing.T) {
	w := newWorld(t)
	fay, ned, moe := farm(w)
	want := func(d *device, e *Entry, refs ...string) {
		t.Helper()
		if diff := cmp.Diff(refs, seenBy(d, e)); diff != "" {
			t.Errorf("seen (-want +got):\n%s", diff)
		}
	}
	want(ned, ned.note("all new to ned"), "fay 3", "moe 1")
	want(ned, ned.note("nothing moved"))
	moe.note("a")
	moe.note("b")
	tia := w.join("tia", fay)
	ned.pull(moe, tia)
	want(ned, ned.note("moe moved by two; tia is not admitted"), "moe 3")
	fay.pull(ned, tia)
	fay.admit(tia, RoleWorker)
	ned.pull(fay)
	want(ned, ned.note("the admit is cited, and with it tia"), "fay 4", "tia 1")
	twin := moe.copy()
	moe.note("here")
	twin.note("there")
	ned.pull(moe, twin)
	want(ned, ned.note("moe forked"), "moe 4", "moe 4")
	want(ned, ned.note("nothing moved"))
	twin.note("on")
	ned.pull(twin)
	want(ned, ned.note("one of the chains moved"), "moe 5")
	// A device without a log starts with all it holds.
	if at, err := ned.book.Next(Writer{1}); err != nil || at.Seq != 1 || !at.Prev.IsZero() || len(at.Seen) != 5 || at.Depth < 5 {
		t.Errorf("first position %+v, %v", at, err)
	}
}

// What is waiting is not cited, and a log that lost its tail is not cited again.
func TestNextCitesNothingWaiting(t *testing.T) {
	fay, ned, moe := farm(newWorld(t))
	one, lost, three := ned.note("one"), ned.note("lost"), ned.note("three")
	moe.pull(ned)
	moe.note("cites three")
	moe.book = load1(t, without(moe.book, lost, three))
	if e := moe.note("ned's tail is gone"); len(e.Head().Seen) != 0 {
		t.Errorf("cites %v", seenBy(moe, e))
	}
	fay.pull(ned)
	fay.book = load1(t, without(fay.book, lost))
	if diff := cmp.Diff([]string{"moe 1", fmt.Sprint("ned ", one.Seq())}, seenBy(fay, fay.note("up to the gap"))); diff != "" {
		t.Error(diff)
	}
}

// A log with two last entries does not go on.
func TestNextForked(t *testing.T) {
	_, ned, _ := farm(newWorld(t))
	twin := ned.copy()
	ned.note("here")
	twin.note("there")
	ned.pull(twin)
	_, err := ned.book.Next(ned.writer())
	var forked *Forked
	if !errors.As(err, &forked) || len(forked.Tips) != 2 || forked.Writer != ned.writer() {
		t.Fatalf("%v", err)
	}
	want := fmt.Sprintf("log %s has 2 last entries: its key was used in two places, or a part of it is missing; usually innocent; go on with a new key on this machine and let an owner stop this one", ned.writer())
	if err.Error() != want {
		t.Errorf("%q want %q", err, want)
	}
}

// What Append refuses: it takes only what continues a held chain.
func TestAppendRefuses(t *testing.T) {
	w := newWorld(t)
	fay, ned, moe := farm(w)
	at, err := ned.book.Next(ned.writer())
	if err != nil {
		t.Fatal(err)
	}
	note := Draft{Class: Work, Kind: "note", Machine: &w.machine}
	a, b := ned.make(note, at), ned.make(note, at)
	if err := ned.book.Append(a); err != nil {
		t.Fatal(err)
	}
	if err := ned.book.Append(a); err != nil {
		t.Errorf("the same entry again: %v", err)
	}
	moe.pull(fay)
	m := moe.note("m")
	ned.pull(moe)
	cites := ned.note("cites m")
	other, _ := newWorld(t).found("fay")
	other.key = fay.key
	for _, c := range []struct {
		name string
		book *Book
		e    *Entry
		want string
	}{
		{"a fork", ned.book, b, "it does not continue the last entry"},
		{"a gap", moe.book, cites, "it does not continue the last entry"},
		{"a second beginning", ned.book, ned.make(Draft{Class: Control, Kind: KindRequest, Record: Request{Key: ned.public()}}, Position{Book: at.Book}), "the log has begun already"},
		{"another book", ned.book, ned.make(note, Position{Book: m.ID(), Seq: 9, Prev: a.ID(), Depth: 90}), "it belongs to another book, " + m.ID().Short()},
		{"cites what is not here", load1(t, without(ned.book, m, cites)), cites, fmt.Sprintf("it cites entry 2 of log %s, which is not here", moe.writer())},
	} {
		err := c.book.Append(c.e)
		if err == nil || !strings.HasSuffix(err.Error(), ": "+c.want) {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
}

// An entry cites at most 256 others; what does not fit is cited by the next.
func TestNextManyForks(t *testing.T) {
	w := newWorld(t)
	fay, ned, _ := farm(w)
	start, err := ned.book.Next(ned.writer())
	if err != nil {
		t.Fatal(err)
	}
	logs := ned.logs()
	for i := range 300 {
		e := ned.make(Draft{Class: Work, Kind: "note", Machine: &w.machine}, start)
		logs = append(logs, Log{Name: fmt.Sprintf("%s.%d", ned.writer(), i), Lines: [][]byte{e.Line()}})
	}
	fay.book = load1(t, append(logs, fay.logs()...))
	first, second := fay.note("first"), fay.note("second")
	if len(first.Head().Seen) != MaxSeen || len(second.Head().Seen) != 301-MaxSeen && len(second.Head().Seen) != 300-MaxSeen {
		t.Errorf("%d and %d entries cited", len(first.Head().Seen), len(second.Head().Seen))
	}
}
