package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/ledger"
	"shedbook/ledger/audit"
	"shedbook/rules"
	"shedbook/rules/record"
)

type evidenceJSON struct {
	Format   int           `json:"format"`
	File     string        `json:"file"`
	Machine  string        `json:"machine"`
	ID       string        `json:"id"` // of the entry that added the machine
	Book     string        `json:"book"`
	Title    string        `json:"title"`
	Digest   string        `json:"digest,omitempty"` // of what it proves
	Entries  int           `json:"entries"`          // all of the book
	Shown    int           `json:"shown"`
	About    int           `json:"about"` // of these, about the machine
	HeldBack int           `json:"held_back"`
	Bytes    int64         `json:"bytes"`
	Sound    *bool         `json:"sound,omitempty"` // where it was verified
	Stamps   []stampOne    `json:"stamps,omitempty"`
	Findings []findingJSON `json:"findings,omitempty"`
	Stock    string        `json:"stock,omitempty"`   // the folder for stock tools
	History  []historyJSON `json:"history,omitempty"` // with --history: what it shows, as history --json has it
	Visible  []string      `json:"visible"`
	Unproved []string      `json:"unproved"`
}

// writeEvidence makes the file that proves to a buyer what the book says of one machine.
func (c *call) writeEvidence(machine, file string, o audit.EvidenceOptions) error {
	dirs, err := c.bookDirs()
	if err != nil {
		return err
	}
	b, err := c.openUntrusted(dirs[0])
	if err != nil {
		return err
	}
	if wrong := b.errors(); len(b.damages) > 0 && len(wrong) > 0 {
		return &userError{code: exitUnsound, tag: "damaged", text: "no evidence is written from a damaged book: " + wrong[0], hint: mendHint}
	}
	st, err := b.state(c.today(), "")
	if err != nil {
		return err
	}
	m := st.Machine(machine)
	if m == nil {
		var names []string
		for _, m := range st.Machines {
			names = append(names, m.Name)
		}
		return failed("unknown-machine", "shedbook machine list", "there is no machine %q%s", machine, didYouMean(machine, names))
	}
	path := c.path(file)
	var info audit.EvidenceInfo
	err = writeNew(path, 0o644, func(w io.Writer) (err error) {
		info, err = audit.WriteEvidence(w, b.log, m.ID, o)
		return err
	})
	if errors.Is(err, fs.ErrExist) {
		return failed("exists", "choose another name", "%s is there already", file)
	}
	if err != nil {
		return failed("not-written", "make room or choose another folder", "nothing was written: %v", err)
	}
	id, _ := ledger.ParseID(string(m.ID))
	ev := &audit.Evidence{Book: b.log, Machine: id}
	if c.json {
		if err := c.printJSON(evidenceJSON{Format: 1, File: path, Machine: m.Name, ID: string(m.ID), Book: b.log.ID().String(), Title: b.log.Title(), Entries: info.Entries, Shown: info.Shown,
			About: info.Machine, HeldBack: info.HeldBack, Bytes: info.Bytes, Visible: ev.Visible(), Unproved: ev.Unproved()}); err != nil {
			return err
		}
		return b.soundness()
	}
	line := c.lines()
	line("", "wrote the evidence for %s: %s about it, and what proves the place of all %s of the book; %s", m.Name, entryCount(info.Machine), entryCount(info.Entries), kilobytes(info.Bytes))
	if info.HeldBack > 0 {
		line("  ", "held back: the private part of %s", entryCount(info.HeldBack))
	}
	c.printEvidenceLimits(ev)
	if s := audit.Summarize(b.log, nil); len(s.Stamps) == 0 || s.Stamps[len(s.Stamps)-1].After > 0 {
		c.say("\nbefore a sale: shedbook stamp, have it countersigned by somebody from outside, and write the evidence after that\n")
	}
	c.say("the buyer needs no book: shedbook audit --evidence %s\n", filepath.Base(file))
	return b.soundness()
}

// verifyEvidence checks a file of evidence, which needs no book.
func (c *call) verifyEvidence(a auditing) error {
	stamps, err := c.printedStamps(a.against)
	if err != nil {
		return err
	}
	f, err := os.Open(c.path(a.evidence))
	if err != nil {
		return failed("no-evidence", "name the file that the seller gave you", "open the evidence: %v", err)
	}
	defer f.Close()
	size, err := f.Stat()
	if err != nil {
		return err
	}
	ev, err := audit.ReadEvidence(f)
	var wrong *audit.EvidenceError
	if errors.As(err, &wrong) {
		return &userError{code: exitUnsound, tag: wrong.Code, text: fmt.Sprintf("%s proves nothing: %v", a.evidence, err), hint: "ask the seller for it anew; if it stays so, believe nothing in it", err: err}
	}
	if err != nil {
		return fmt.Errorf("read the evidence: %w", err)
	}
	if a.stock != "" {
		if err := c.writeStock(a.stock, func(put func(string, []byte) error) error { return audit.StockEvidence(ev, put) }); err != nil {
			return err
		}
	}
	findings, s := audit.ExamineEvidence(ev, audit.Options{Now: c.now().UTC(), Stamps: stamps})
	b := &book{c: c, log: ev.Book, judged: ev.Book.Judge(), states: map[rules.Options]*rules.State{}}
	m := machineOf(ev)
	if c.json {
		info, sound := ev.Info(), s.Sound()
		out := evidenceJSON{Format: 1, File: c.path(a.evidence), Machine: m, ID: ev.Machine.String(), Book: ev.Book.ID().String(), Title: ev.Book.Title(), Digest: ev.Digest().String(), Entries: info.Entries,
			Shown: info.Shown, About: info.Machine, HeldBack: info.HeldBack, Bytes: size.Size(), Stock: a.stock, Sound: &sound, Stamps: []stampOne{}, Findings: b.findingsJSON(findings), Visible: ev.Visible(), Unproved: ev.Unproved()}
		for _, x := range s.Stamps {
			out.Stamps = append(out.Stamps, b.stampOne(x))
		}
		if a.history {
			lines, err := b.shownLines(ev)
			if err != nil {
				return err
			}
			out.History = c.historyJSON(lines)
		}
		if err := c.printJSON(out); err != nil {
			return err
		}
	} else if err := c.paged(func() error { return b.printEvidence(ev, s, findings, a, m) }); err != nil {
		return err
	}
	if !s.Sound() {
		return exitCode(exitUnsound)
	}
	return nil
}

// machineOf is the machine's name as the entry that added it gives it.
func machineOf(ev *audit.Evidence) string {
	e := ev.Book.Entry(ev.Machine)
	if e == nil || !e.HasBody() {
		return "a machine"
	}
	r, err := record.Decode(e.Kind(), e.Record())
	if m, ok := r.(*record.Machine); err == nil && ok {
		return m.Name
	}
	return "a " + e.Kind()
}

func (b *book) printEvidence(ev *audit.Evidence, s audit.Summary, findings []audit.Finding, a auditing, machine string) error {
	c := b.c
	info := ev.Info()
	line := c.lines()
	line("", "evidence for %s, of %s, book %s", machine, s.Title, s.Book)
	line("", "%s of the book, the place of each verified; %s about %s shown", entryCount(info.Entries), entryCount(info.Machine), machine)
	if info.HeldBack > 0 {
		line("", "the private part of %s is held back", entryCount(info.HeldBack))
	}
	b.printStamps(s, func(format string, args ...any) { line("", format, args...) })
	for _, name := range a.against {
		line("", "compared with the stamp in %s", name)
	}
	line("", "digest %s", ev.Digest())
	if a.stock != "" {
		line("", "for stock tools: sh %s", filepath.Join(a.stock, "check.sh"))
	}
	b.printFindings(findings)
	if a.history {
		c.printf("\n")
		if err := b.printShown(ev); err != nil {
			return err
		}
	}
	c.printEvidenceLimits(ev)
	c.printf("\n")
	verdict := fmt.Sprintf("whole: every entry labelled for %s is shown", machine)
	if !s.Sound() {
		verdict = "do not rely on it"
	}
	line("", "%s%s", verdict, counted3(s))
	if !a.history {
		c.say("what it says: shedbook audit --evidence %s --history\n", filepath.Base(a.evidence))
	}
	return nil
}

// printShown tells the machine's entries as history does, each with the day on which it was written: a buyer asks how soon that was.
func (b *book) printShown(ev *audit.Evidence) error {
	lines, err := b.shownLines(ev)
	if err != nil {
		return err
	}
	for i := range lines {
		l := &lines[i]
		l.marks = append(slices.Clone(l.marks), "(written "+l.written(b.c).Format("2006-01-02")+")")
	}
	b.c.printHistory(lines)
	return nil
}

// shownLines are the machine's entries in the evidence.
func (b *book) shownLines(ev *audit.Evidence) ([]historyLine, error) {
	st, err := b.state(b.c.today(), "")
	if err != nil {
		return nil, err
	}
	return b.history(st, historyFilter{machine: record.ID(ev.Machine.String()), all: true}), nil
}

// printEvidenceLimits says what anyone sees in the file and what no evidence can show.
func (c *call) printEvidenceLimits(ev *audit.Evidence) {
	line := c.lines()
	c.printf("\nwhoever has the file can see\n")
	for _, s := range ev.Visible() {
		line("  ", "%s", s)
	}
	c.printf("\nit cannot show\n")
	for _, s := range ev.Unproved() {
		line("  ", "%s", s)
	}
}

// lines prints wrapped and cleaned lines behind an indent.
func (c *call) lines() func(indent, format string, a ...any) {
	return func(indent, format string, a ...any) {
		c.printf("%s\n", table.Wrap(indent+table.Clean(fmt.Sprintf(format, a...)), c.columns(), indent+"    "))
	}
}

// aside is lines for what only tells that it went well: nothing with --quiet.
func (c *call) aside() func(indent, format string, a ...any) {
	if c.quiet {
		return func(string, string, ...any) {}
	}
	return c.lines()
}

func kilobytes(n int64) string {
	if n < 1<<20 {
		return fmt.Sprintf("%d kB", (n+999)/1000)
	}
	return strings.TrimSuffix(fmt.Sprintf("%.1f", float64(n)/1e6), ".0") + " MB"
}
