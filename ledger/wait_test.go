package ledger

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// without leaves out the given entries from a book's logs, as a store does that
// lost them: what was below them in a log moves up.
func without(b *Book, lost ...*Entry) []Log {
	var kept []*Entry
	for _, e := range b.Entries() {
		if !slices.ContainsFunc(lost, func(l *Entry) bool { return l.ID() == e.ID() }) {
			kept = append(kept, e)
		}
	}
	return logsOf(kept...)
}

// farm is the start of most cases here: a founder, two workers admitted, all
// of them up to date.
func farm(w *world) (fay, ned, moe *device) {
	fay, _ = w.found("fay")
	ned, moe = w.join("ned", fay), w.join("moe", fay)
	fay.pull(ned, moe)
	fay.admit(ned, RoleWorker)
	fay.admit(moe, RoleWorker)
	ned.pull(fay)
	moe.pull(fay)
	return fay, ned, moe
}

func statuses(b *Book, entries ...*Entry) []Status {
	var out []Status
	for _, e := range entries {
		out = append(out, b.Judge().Status(e))
	}
	return out
}

func wantStatuses(t *testing.T, b *Book, entries []*Entry, want ...Status) {
	t.Helper()
	if diff := cmp.Diff(want, statuses(b, entries...)); diff != "" {
		t.Errorf("status (-want +got):\n%s", diff)
	}
}

// An entry waits while anything in its causal past is missing, and so does what
// rests on it; when the missing entry comes, all of it counts.
func TestWaitingUntilTheRestComes(t *testing.T) {
	_, ned, moe := farm(newWorld(t))
	lost := ned.note("lost")
	next := ned.note("next")
	moe.pull(ned)
	cites := moe.note("cites next")
	chain := moe.note("rests on that")

	b := load1(t, without(moe.book, lost))
	wantStatuses(t, b, []*Entry{next, cites, chain}, Waiting, Waiting, Waiting)
	// What is missing is named once, with its log and place.
	f := b.Findings()
	want := []string{CodeMissingEntry, CodeOutOfOrder}
	if diff := cmp.Diff(want, codes(f)); diff != "" {
		t.Fatalf("%s\n%v", diff, f)
	}
	missing := f[slices.IndexFunc(f, func(f Finding) bool { return f.Code == CodeMissingEntry })]
	if missing.Entry != lost.ID() || missing.Seq != lost.Seq() || missing.Writer != ned.writer() {
		t.Errorf("missing entry is named as %+v", missing)
	}

	// The cut tail of a log that another log has seen is found as well.
	b = load1(t, without(moe.book, lost, next))
	wantStatuses(t, b, []*Entry{cites, chain}, Waiting, Waiting)
	if diff := cmp.Diff([]string{CodeMissingEntry}, codes(b.Findings())); diff != "" {
		t.Error(diff)
	}
	if err := b.Append(lost); err != nil {
		t.Fatal(err)
	}
	if err := b.Append(next); err != nil {
		t.Fatal(err)
	}
	if key, ok := b.Key(moe.writer()); !ok || !key.Equal(moe.key.Public()) {
		t.Error("moe's key is forgotten")
	}
	wantStatuses(t, b, []*Entry{lost, next, cites, chain}, Counts, Counts, Counts, Counts)
	if diff := cmp.Diff(describe(load1(t, moe.logs())), describe(load1(t, logsOf(b.Entries()...)))); diff != "" {
		t.Errorf("a book filled up differs from one loaded whole:\n%s", diff)
	}
}

// Waiting ends when a stop names the last entries that are available: they, and
// all that cites what was lost of that log, count.
func TestWaitingReleasedByAStop(t *testing.T) {
	fay, ned, moe := farm(newWorld(t))
	before := ned.note("before")
	lost := ned.note("lost")
	after := ned.note("after the gap")
	tail := ned.note("lost tail")
	moe.pull(ned)
	cites := moe.note("cites the lost tail")
	fay.pull(moe)
	fay.book = load1(t, without(fay.book, lost, tail))

	named := []*Entry{before, after, cites}
	wantStatuses(t, fay.book, named, Counts, Waiting, Waiting)
	if got := len(fay.book.Tips(ned.writer())); got != 2 {
		t.Fatalf("a log with a gap has %d last entries, want 2", got)
	}
	fay.stop(ned) // names both sides of the gap
	wantStatuses(t, fay.book, named, Counts, Counts, Counts)
	if f := fay.book.Judge().Findings(); len(f) != 0 {
		t.Error(f)
	}
	// From here on nothing waits: others cite, and are cited, as before.
	moe.book = load1(t, fay.logs())
	again := moe.note("again")
	fay.book = load1(t, moe.logs())
	if got := fay.note("and on"); !slices.Contains(got.Head().Seen, again.Ref()) {
		t.Errorf("the next entry does not cite moe's last: %v", got.Head().Seen)
	}
	// Even where the lost entries come back later: they are beyond the stop.
	b := load1(t, append(fay.logs(), ned.logs()...))
	wantStatuses(t, b, []*Entry{before, lost, after, tail, cites, again}, Counts, Counts, Counts, Stopped, Counts, Counts)
}

// An owner whose own log waits for what was lost can still write the stop that
// ends the waiting: it is judged as if it had its effect.
func TestStopReleasesItsOwnPast(t *testing.T) {
	fay, ned, moe := farm(newWorld(t))
	kept := ned.note("kept")
	lost := ned.note("lost")
	fay.pull(ned)
	cites := fay.note("cites what will be lost")
	admit := fay.admit(fay.world.join("tia", fay), RoleWorker)
	fay.book = load1(t, without(fay.book, lost))
	wantStatuses(t, fay.book, []*Entry{kept, cites, admit}, Counts, Waiting, Waiting)
	if d, known := fay.book.Judge().Device(admitOf(t, admit).Key.Writer()); known {
		t.Errorf("a waiting admit had effect: %+v", d)
	}

	stop := fay.stop(ned, kept)
	wantStatuses(t, fay.book, []*Entry{kept, cites, admit, stop}, Counts, Counts, Counts, Counts)
	d, _ := fay.book.Judge().Device(admitOf(t, admit).Key.Writer())
	if d.Pending || d.Role != RoleWorker {
		t.Errorf("the admit that waited has no effect: %+v", d)
	}
	_ = moe
}

func admitOf(t *testing.T, e *Entry) *Admit {
	t.Helper()
	record, err := DecodeControl(e)
	if err != nil {
		t.Fatal(err)
	}
	return record.(*Admit)
}

// A stop whose named tip is not here yet excludes nothing that may be its
// ancestor, and lets nothing count that may not be: both wait.
func TestStopNamesWhatIsNotHere(t *testing.T) {
	fay, ned, _ := farm(newWorld(t))
	one, two := ned.note("one"), ned.note("two")
	fay.pull(ned)
	stop := fay.stop(ned)
	b := load1(t, without(fay.book, two))
	wantStatuses(t, b, []*Entry{stop, one}, Waiting, Counts) // the stop waits itself
	if f := b.Judge().Findings(); len(f) != 0 {
		t.Error(f)
	}
	// A stop that never held the tip it names is in effect, and says so.
	fay, ned, _ = farm(newWorld(t))
	one, two = ned.note("one"), ned.note("two")
	stop = fay.control(KindStop, Stop{Writer: ned.writer(), Tips: []Tip{{two.ID(), 3}}, Why: WhyLost})
	wantStatuses(t, fay.book, []*Entry{stop}, Counts)
	b = load1(t, without(load1(t, append(fay.logs(), ned.logs()...)), two))
	wantStatuses(t, b, []*Entry{one}, Waiting)
	if diff := cmp.Diff([]string{CodeStopTipMissing}, codes(b.Judge().Findings())); diff != "" {
		t.Error(diff)
	}
	b = load1(t, append(fay.logs(), ned.logs()...))
	wantStatuses(t, b, []*Entry{one, two}, Counts, Counts)
}

// Where the chain of a named tip has a gap, what is before the gap may be its
// ancestor or not: it waits, while what is after the gap counts.
func TestStopNamesAcrossAGap(t *testing.T) {
	fay, ned, _ := farm(newWorld(t))
	one, lost, three := ned.note("one"), ned.note("lost"), ned.note("three")
	fay.pull(ned)
	twin := ned.copy()
	beyond := ned.note("beyond")
	fork := twin.note("fork")
	fay.stop(ned, three)
	b := load1(t, without(load1(t, slices.Concat(fay.logs(), ned.logs(), twin.logs())), lost))
	wantStatuses(t, b, []*Entry{one, three, beyond, fork}, Waiting, Counts, Stopped, Stopped)
	whole := load1(t, slices.Concat(fay.logs(), ned.logs(), twin.logs()))
	wantStatuses(t, whole, []*Entry{one, lost, three, beyond, fork}, Counts, Counts, Counts, Stopped, Stopped)
}

// The depth of an entry is refused when it is wrong, and so is a citation of a
// writer whom nobody admitted: the entry is as if it had never come, with a
// finding, and what continues it waits.
func TestRefusedEntries(t *testing.T) {
	cases := []struct {
		name string
		at   func(w *world, fay, ned *device, at *Position)
		want string
	}{
		{"depth too great", func(w *world, fay, ned *device, at *Position) { at.Depth += 3 },
			"its depth is 6, but what it cites makes it 3"},
		{"depth not above what it cites", func(w *world, fay, ned *device, at *Position) { at.Depth = 2 },
			"its depth is 2, but it cites "},
		{"cites a writer nobody admitted", func(w *world, fay, ned *device, at *Position) {
			tia := w.join("tia", fay)
			ref := tia.book.Entry(tia.book.Tips(tia.writer())[0].ID)
			at.Seen, at.Depth = append(at.Seen, ref.Ref()), max(at.Depth, ref.Depth()+1)
			slices.SortFunc(at.Seen, Ref.Compare)
			ned.pull(tia)
		}, "which nobody it knows of has admitted"},
		{"cites an entry under another seq", func(w *world, fay, ned *device, at *Position) {
			tip := fay.book.Founding().Ref()
			tip.Seq = 2
			at.Seen = []Ref{tip}
		}, "it cites "},
		{"seq skips one", func(w *world, fay, ned *device, at *Position) { at.Seq++; at.Depth++ }, "it cites "},
		{"recorded before what it continues", func(w *world, fay, ned *device, at *Position) {
			at.PrevAt = at.PrevAt.AddDate(-1, 0, 0)
			w.now = w.now.AddDate(0, -1, 0)
		}, "it was recorded 2026-02-02T"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			w := newWorld(t)
			fay, _ := w.found("fay")
			ned := w.join("ned", fay)
			fay.pull(ned)
			fay.admit(ned, RoleWorker)
			ned.pull(fay)
			at, err := ned.book.Next(ned.writer())
			if err != nil {
				t.Fatal(err)
			}
			c.at(w, fay, ned, &at)
			bad := ned.make(Draft{Class: Work, Kind: "note", Machine: &w.machine}, at)
			follows := ned.make(Draft{Class: Work, Kind: "note", Machine: &w.machine},
				Position{Book: ned.book.ID(), Seq: bad.Seq() + 1, Prev: bad.ID(), Depth: bad.Depth() + 1, PrevAt: bad.At()})

			if err := ned.book.Append(bad); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("append: %v, want %q", err, c.want)
			}
			logs := ned.logs()
			i := slices.IndexFunc(logs, func(l Log) bool { return l.Name == ned.writer().String() })
			logs[i].Lines = append(logs[i].Lines, bad.Line(), follows.Line())
			b := load1(t, logs)
			if b.Entry(bad.ID()) != nil {
				t.Error("the entry is held")
			}
			wantStatuses(t, b, []*Entry{follows}, Waiting)
			f := b.Findings()
			if len(f) != 1 || f[0].Code != CodeRefused || f[0].Severity != Error || f[0].Log != logs[i].Name || f[0].Line != 2 || !strings.Contains(f[0].Message, c.want) {
				t.Errorf("findings: %v, want one that names line 2 and says %q", f, c.want)
			}
			if b.Sound() == nil {
				t.Error("the book passes as sound")
			}
			// Appended where something waits for it, it is refused as well.
			logs[i].Lines = slices.Delete(logs[i].Lines, 1, 2)
			b = load1(t, logs)
			before := describe(b)
			if err := b.Append(bad); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("append to what waits: %v, want %q", err, c.want)
			}
			if diff := cmp.Diff(before, describe(b)); diff != "" {
				t.Errorf("a refused entry changed the book:\n%s", diff)
			}
		})
	}
}

// Judging is by what is held, not by who tells: a junior owner's stop releases
// a senior's act that stops the junior. Nothing swings to and fro, and every
// device that holds the same ends with the same.
func TestReleaseThatUndoesItself(t *testing.T) {
	w := newWorld(t)
	fay, ned, _ := farm(w)
	ola := w.join("ola", fay)
	fay.pull(ola)
	fay.admit(ola, RoleOwner)
	ola.pull(fay)
	kept := ned.note("kept")
	lost := ned.note("lost")
	fay.pull(ned)
	against := fay.stop(ola) // cites what will be lost
	ola.pull(ned)
	ola.book = load1(t, without(ola.book, lost))
	release := ola.stop(ned, kept)
	b := load1(t, without(load1(t, append(fay.logs(), ola.logs()...)), lost))
	wantStatuses(t, b, []*Entry{against, release}, Counts, Stopped)
	logs := logsOf(b.Entries()...)
	slices.Reverse(logs)
	if diff := cmp.Diff(describe(load1(t, logsOf(b.Entries()...))), describe(load1(t, logs))); diff != "" {
		t.Error(diff)
	}
}
