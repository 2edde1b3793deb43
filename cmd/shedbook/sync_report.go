package main

import (
	"fmt"
	"strings"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/ledger"
	"shedbook/ledger/gitstore"
)

type syncedJSON struct {
	Format int         `json:"format"`
	Places []placeJSON `json:"places"`
	Failed []string    `json:"failed,omitempty"` // places that could not be reached
}

type placeJSON struct {
	Name     string        `json:"name"`
	Address  string        `json:"address"`
	Made     bool          `json:"made,omitempty"` // an empty folder was made ready
	Came     []movedJSON   `json:"came"`
	Sent     []movedJSON   `json:"sent"`
	Restored []movedJSON   `json:"restored"` // the place had lost them
	Pending  []movedJSON   `json:"pending"`
	Waiting  []movedJSON   `json:"waiting"`
	Refused  []refusedJSON `json:"refused"`
	Unsent   []refusedJSON `json:"unsent"`
	Forks    []forkJSON    `json:"forks"`
	Papers   []refusedJSON `json:"papers_refused,omitempty"` // their entries were taken all the same
}

type movedJSON struct {
	Log     string `json:"log"`
	Device  string `json:"device"`
	Entries uint64 `json:"entries"`
}

type refusedJSON struct {
	Log string `json:"log"`
	Why string `json:"why"`
}

type forkJSON struct {
	Log    string `json:"log"`
	Device string `json:"device"`
	At     uint64 `json:"at"` // number of the first entry in which the two ways differ
}

type placesJSON struct {
	Format int              `json:"format"`
	Places []knownPlaceJSON `json:"places"`
}

type knownPlaceJSON struct {
	Name    string `json:"name"`
	Address string `json:"address"`
	Last    string `json:"last,omitempty"` // when entries were last exchanged
}

// syncReport says what an exchange with one place did.
type syncReport struct {
	call    *call
	place   gitstore.Place
	report  *gitstore.SyncReport
	store   *gitstore.Store
	local   gitstore.Local
	book    *book // nil where nobody need be named: the book is not read for that
	own     ledger.Writer
	unsound bool
}

// gather reads the book where names are needed.
func (r *syncReport) gather() error {
	r.own, _ = ledger.ParseWriter(r.local.Writer)
	x := r.report
	if len(x.Came)+len(x.Restored)+len(x.Refused)+len(x.Papers)+len(x.Unsent)+len(x.Forks)+len(x.Pending)+len(x.Waiting) == 0 && (len(x.Sent) == 0 || !r.call.json) {
		return nil
	}
	b := &book{c: r.call, store: r.store, local: r.local}
	if x.Book != nil {
		b.hold(x.Book)
	} else {
		logs, err := r.store.Logs()
		if err != nil {
			return openError(r.store.Dir(), err)
		}
		if err := b.load(logs); err != nil {
			return err
		}
	}
	r.book = b
	r.unsound = r.book.soundness() != nil
	return nil
}

// device names a log's writer.
func (r *syncReport) device(w ledger.Writer) string {
	if r.book == nil {
		return "the device " + w.String()[:8]
	}
	if w == r.own && !w.IsZero() {
		return "this device"
	}
	return deviceName(r.book.device(w))
}

// entries counts what moved. A second way of a log is stored whole, but only what differs is new.
func (r *syncReport) entries(m gitstore.LogMove) uint64 {
	for _, f := range r.report.Forks {
		if f.Writer == m.Writer && m.From == 0 && m.To >= f.At {
			return m.To - f.At + 1
		}
	}
	return m.Entries()
}

// tally adds up moves by writer, in the order of logs.
func (r *syncReport) tally(moves []gitstore.LogMove) (writers []ledger.Writer, by map[ledger.Writer]uint64, all uint64) {
	by = map[ledger.Writer]uint64{}
	for _, m := range moves {
		if by[m.Writer] == 0 {
			writers = append(writers, m.Writer)
		}
		by[m.Writer] += r.entries(m)
		all += r.entries(m)
	}
	return writers, by, all
}

// print says it in plain words. named puts the place's name before what happened there.
func (r *syncReport) print(named bool) {
	c, x := r.call, r.report
	line := func(indent, format string, a ...any) {
		c.printf("%s\n", table.Wrap(indent+table.Clean(fmt.Sprintf(format, a...)), c.columns(), indent+"    "))
	}
	lead := ""
	if named {
		lead = r.place.Name + ": "
	}
	if x.Made {
		line("", "%smade %s ready to exchange through", lead, x.Target)
	}
	from, by, came := r.tally(x.Came)
	_, _, sent := r.tally(x.Sent)
	went := "none sent"
	if sent > 0 {
		went = fmt.Sprintf("%d sent", sent)
	}
	switch {
	case x.Idle():
		line("", "%snothing new on either side", lead)
	case came == 0:
		line("", "%snothing new, %s", lead, went)
	case len(from) == 1:
		line("", "%s%s from %s, %s", lead, newEntries(came), r.device(from[0]), went)
	default:
		line("", "%s%s, %s", lead, newEntries(came), went)
		for _, w := range from {
			line("  ", "%d from %s", by[w], r.device(w))
		}
	}
	if from, by, _ := r.tally(x.Restored); len(from) > 0 {
		for _, w := range from {
			line("  ", "put back: %s of %s, which the place had once and had lost", entryCount(int(by[w])), r.device(w))
		}
	}
	for _, p := range x.Unsent {
		line("  ", "not sent: %s: %s", r.logName(p.Log), p.Why)
	}
	r.printRefused(line)
	r.printPending(line)
	if from, by, _ := r.tally(x.Waiting); len(from) > 0 {
		for _, w := range from {
			line("  ", "%s of %s wait for others that have not come: kept, but not counted until these come", entryCount(int(by[w])), r.device(w))
		}
	}
	r.printForks()
	if x.Show != "" && x.Made || x.Show != "" && sent > 0 && r.firstTime() {
		line("  ", "a plain copy of that place shows nothing yet; whoever keeps it can run there, once:")
		c.printf("      git symbolic-ref HEAD %s\n", x.Show)
	}
}

// mostRefused is how many logs refused for one reason are named.
const mostRefused = 5

// printRefused lists what was not taken; a place may hold any number of logs that somebody made up.
func (r *syncReport) printRefused(line func(indent, format string, a ...any)) {
	var reasons []string
	logs := map[string][]string{}
	for _, p := range r.report.Refused {
		if logs[p.Why] == nil {
			reasons = append(reasons, p.Why)
		}
		logs[p.Why] = append(logs[p.Why], p.Log)
	}
	for _, why := range reasons {
		all := logs[why]
		named := all[:min(len(all), mostRefused)]
		for _, log := range named {
			line("  ", "not taken: %s: %s", r.logName(log), why)
		}
		if n := len(all) - len(named); n > 0 {
			line("  ", "and %s not taken for the same reason: --json names each", countWords(n, "other log"))
		}
	}
	for i, p := range r.report.Papers {
		if i == mostRefused {
			line("  ", "and %s not taken: --json names each", countWords(len(r.report.Papers)-i, "other paper"))
			break
		}
		line("  ", "not taken: the paper %s of %s: %s; its entries were taken", p.Digest.Short(), r.logName(p.Log), p.Why)
	}
}

// printPending lists the devices nobody has admitted yet.
func (r *syncReport) printPending(line func(indent, format string, a ...any)) {
	from, by, _ := r.tally(r.report.Pending)
	for _, w := range from {
		d := r.book.device(w)
		if d.Stopped {
			continue
		}
		if w == r.own {
			line("  ", "this device is not admitted yet: what it recorded is kept, and counts once an owner admits it")
			continue
		}
		next := "an owner admits it"
		if own, ok := r.book.judged.Device(r.own); ok && leads(own) {
			next = "next: shedbook people admit " + quotedDevice(d)
		}
		line("  ", "%s asks to take part, %s so far; %s", r.device(w), entryCount(int(by[w])), next)
	}
}

// printForks explains logs that go on twice.
func (r *syncReport) printForks() {
	told := map[ledger.Writer]bool{}
	for _, f := range r.report.Forks {
		if !told[f.Writer] {
			told[f.Writer] = true
			r.call.printf("\n%s\n", table.Paragraphs(r.book.forkScreen(r.book.device(f.Writer)), min(r.call.columns(), 80)))
		}
	}
}

func (r *syncReport) firstTime() bool {
	for _, p := range r.local.Places {
		if p.Address == r.place.Address {
			return false
		}
	}
	return true
}

// logName says whose log a name stands for.
func (r *syncReport) logName(name string) string {
	if w, err := ledger.ParseWriter(name[:min(len(name), 32)]); err == nil && r.book != nil {
		if d, ok := r.book.judged.Device(w); ok {
			return "the log of " + strings.TrimPrefix(deviceName(d), "the device of ")
		}
	}
	return "a log called " + name
}

func newEntries(n uint64) string {
	if n == 1 {
		return "1 new entry"
	}
	return fmt.Sprintf("%d new entries", n)
}

func (r *syncReport) json() placeJSON {
	x := r.report
	moved := func(moves []gitstore.LogMove) []movedJSON {
		out := []movedJSON{}
		for _, m := range moves {
			out = append(out, movedJSON{m.Log, r.device(m.Writer), r.entries(m)})
		}
		return out
	}
	refused := func(all []gitstore.Refusal) []refusedJSON {
		out := []refusedJSON{}
		for _, f := range all {
			out = append(out, refusedJSON{f.Log, f.Why})
		}
		return out
	}
	out := placeJSON{Name: r.place.Name, Address: x.Target, Made: x.Made, Came: moved(x.Came), Sent: moved(x.Sent), Restored: moved(x.Restored),
		Pending: moved(x.Pending), Waiting: moved(x.Waiting), Refused: refused(x.Refused), Unsent: refused(x.Unsent), Forks: []forkJSON{}}
	for _, p := range x.Papers {
		out.Papers = append(out.Papers, refusedJSON{p.Log, "paper " + p.Digest.String() + ": " + p.Why})
	}
	for _, f := range x.Forks {
		out.Forks = append(out.Forks, forkJSON{f.Beside, r.device(f.Writer), f.At})
	}
	return out
}

// printPlaces lists where this book is exchanged.
func (c *call) printPlaces(places []knownPlaceJSON) {
	if len(places) == 0 {
		c.printf("no place yet\n")
		c.say("  next: shedbook sync /media/stick/alder, or an address such as farm@yardbox:books/alder\n")
		return
	}
	t := table.New("place", "address", "last exchanged (UTC)")
	for _, p := range places {
		t.Row(p.Name, p.Address, strings.TrimSuffix(strings.Replace(p.Last, "T", " ", 1), "Z"))
	}
	c.boldHeadings(t)
	c.printf("%s", t.Text(c.columns()))
}
