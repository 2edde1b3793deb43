package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/ledger"
	"shedbook/ledger/audit"
	"shedbook/ledger/gitstore"
)

type auditJSON struct {
	Format   int           `json:"format"`
	Book     string        `json:"book"` // its id
	Title    string        `json:"title"`
	Sound    bool          `json:"sound"` // no error
	Logs     int           `json:"logs"`
	Devices  int           `json:"devices"`
	Entries  int           `json:"entries"`
	Counts   int           `json:"counts"`
	Pending  int           `json:"pending"`
	Waiting  int           `json:"waiting"`
	Stopped  int           `json:"stopped"`
	First    string        `json:"first,omitempty"` // earliest and latest time of recording
	Last     string        `json:"last,omitempty"`
	Work     int           `json:"work"` // entries that say when work was done
	Late     int           `json:"late"` // of these, recorded more than a week after it
	Stamps   []stampOne    `json:"stamps"`
	Compared []string      `json:"compared"`         // printed stamps, as files
	Stock    string        `json:"stock,omitempty"`  // the folder for stock tools
	Mended   []mendedJSON  `json:"mended,omitempty"` // with --mend: what was done
	Kept     string        `json:"kept,omitempty"`   // with --mend: the folder in the book that holds what was set aside
	Findings []findingJSON `json:"findings"`
}

type findingJSON struct {
	Severity string `json:"severity"` // error, warning or note
	Code     string `json:"code"`
	Log      string `json:"log,omitempty"`
	Device   string `json:"device,omitempty"`
	Line     int    `json:"line,omitempty"`
	Seq      uint64 `json:"seq,omitempty"`
	Entry    string `json:"entry,omitempty"`
	Message  string `json:"message"`
}

type auditing struct {
	against  []string
	evidence string // a file to check, of which no book is needed
	history  bool
	stock    string // a folder to make
	mend     bool
}

func auditCommand() *command {
	var a auditing
	return &command{
		name: "audit", section: "sharing", brief: "verify the whole book anew",
		usage:    []string{"audit [--against STAMPFILE] [--stock DIR]", "audit --mend", "audit --evidence FILE [--against STAMPFILE] [--history] [--stock DIR]"},
		examples: []string{"audit", "audit --mend", "audit --against stamp.txt", "audit --evidence drill.evidence", "audit --stock for-stock-tools", "audit --evidence drill.evidence --stock for-ssh-keygen"},
		about: `Reads every entry of every log, trusts no cache and no earlier verdict, and checks each signature, each link of each chain, who may write what, dates, stamps and countersignatures. An error ` +
			`means that the book does not verify (exit 3); a warning, that somebody should look; a note is good to know. Each says what to do next where something can be done.

--mend puts right what the book's folder allows after a crash, a bad disk, a half copied folder or another program's hand: it writes logs anew from the entries that are held anywhere in the folder and whose signatures hold, says each thing that it does, and deletes nothing: what has no place goes into kept/ in the book's folder. Entries that are gone come back with shedbook sync, from a place that has them.

--against compares with a stamp on paper: type it into a file, or take the file that stamp printed, of this book or from another yard. Another entry at the same place is proof that somebody was shown another history.

--evidence checks the file that a seller wrote for you with shedbook export --evidence. No book is needed: the file proves by itself that nothing about the machine was changed or left out up to the stamp it names.

--stock also writes every entry, its signature and a short script into a new folder, with which ssh-keygen alone repeats the check. With --evidence it takes the evidence apart in the same way: for a buyer who would rather trust ssh-keygen than this program.`,
		flags: func(fs *pflag.FlagSet) {
			fs.StringArrayVar(&a.against, "against", nil, "compare with the stamp in this `file`; - reads it from the standard input")
			fs.StringVar(&a.evidence, "evidence", "", "check this `file` of evidence about one machine")
			fs.BoolVar(&a.history, "history", false, "with --evidence: list what it says of the machine")
			fs.BoolVar(&a.mend, "mend", false, "put right what the book's folder allows, then verify it")
			fs.StringVar(&a.stock, "stock", "", "write what stock tools can check into this new `folder`")
		},
		run: func(c *call) error {
			switch {
			case a.evidence != "" && len(c.args) == 1:
				return usage(fmt.Sprintf("shedbook export --evidence %s %s", a.evidence, c.args[0]), "audit --evidence checks one file; export --evidence MACHINE FILE writes it")
			case len(c.args) != 0:
				return usage("shedbook audit", "audit takes no arguments; --book names the book")
			case a.evidence != "" && a.mend:
				return usage("shedbook audit --mend", "--mend mends a book's folder; evidence is mended by whoever made it")
			case a.evidence != "":
				return c.verifyEvidence(a)
			case a.history:
				return usage("shedbook history", "--history belongs to --evidence")
			}
			return c.audit(a)
		},
	}
}

// audit reads the book as it lies on the disk and says all that is wrong with it.
func (c *call) audit(a auditing) error {
	stamps, err := c.printedStamps(a.against)
	if err != nil {
		return err
	}
	dirs, err := c.bookDirs()
	if err != nil {
		return err
	}
	var m *gitstore.Mending
	if a.mend {
		if m, err = c.mend(dirs[0]); err != nil {
			return err
		}
	}
	b, err := c.openUntrusted(dirs[0])
	if err != nil {
		return err
	}
	if a.stock != "" && b.log != nil {
		if err := c.writeStock(a.stock, func(put func(string, []byte) error) error { return audit.Stock(b.log, put) }); err != nil {
			return err
		}
	}
	var findings []audit.Finding
	s := audit.Summary{Book: b.store.BookID()}
	if b.log != nil { // else no founding entry is held
		findings, s = audit.Examine(b.log, audit.Options{Now: c.now().UTC(), Stamps: stamps})
		findings = slices.DeleteFunc(findings, b.lost)
		findings = append(findings, b.missingPapers()...)
	}
	for i := range findings {
		findings[i] = withNext(findings[i])
	}
	findings = append(b.damageFindings(), findings...)
	slices.SortStableFunc(findings, func(f, g audit.Finding) int { return cmp.Compare(g.Severity, f.Severity) })
	s.Count(findings)
	if c.json {
		if err := c.printJSON(b.auditJSON(s, findings, a, m)); err != nil {
			return err
		}
	} else if err := c.paged(func() error {
		if m != nil {
			b.printMended(m)
		}
		b.printAudit(s, findings, a)
		return nil
	}); err != nil {
		return err
	}
	if !s.Sound() {
		return exitCode(exitUnsound)
	}
	return nil
}

// openUntrusted opens the book with nothing taken on trust, and looks at every file of its folder. Where the founding entry is not held, there is no log to look at.
func (c *call) openUntrusted(dir string) (*book, error) {
	store, err := gitstore.Open(dir)
	switch {
	case gitstore.IsDamage(err):
		store, err = gitstore.OpenDamaged(dir)
	case err == nil:
		for _, line := range store.Recovered() {
			c.say("%s\n", line)
		}
	}
	if err != nil {
		return nil, openError(dir, err)
	}
	logs, damages, err := store.Held()
	if err != nil {
		return nil, openError(dir, err)
	}
	for i := range logs {
		logs[i].Checked = ledger.ID{}
	}
	b := &book{c: c, store: store, local: store.Local(), damages: damages}
	if err := b.load(logs); err != nil && len(b.errors()) == 0 {
		return nil, err
	}
	return b, nil
}

// writeStock has a book or evidence taken apart into a new folder, for tools that know nothing of shedbook.
func (c *call) writeStock(folder string, takeApart func(put func(string, []byte) error) error) error {
	dir := c.path(folder)
	if entries, err := os.ReadDir(dir); err == nil && len(entries) > 0 {
		return failed("exists", "choose a new folder", "%s is there already and not empty", folder)
	}
	err := takeApart(func(name string, content []byte) error {
		path := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
			return err
		}
		return os.WriteFile(path, content, 0o666)
	})
	if err != nil {
		return failed("not-written", "make room or choose another folder; what is in "+folder+" is not whole", "take it apart for stock tools: %v", err)
	}
	return nil
}

// printedStamps reads the stamps to compare with.
func (c *call) printedStamps(files []string) ([]audit.StampText, error) {
	var out []audit.StampText
	for _, name := range files {
		text, err := c.readFileOrStdin(name)
		if errors.Is(err, fs.ErrNotExist) {
			return nil, failed("no-stamp", "type the lines of a stamp that you hold on paper into a file of that name, and name it; a buyer without one leaves --against out. Whoever keeps the book makes one: shedbook stamp > stamp.txt", "there is no file %s", name)
		}
		if err != nil {
			return nil, fmt.Errorf("read the stamp: %w", err)
		}
		s, err := audit.ParseStampText(text)
		if err != nil {
			return nil, failed("bad-stamp", "compare it with the paper: a letter may be mistyped", "%s: %v", name, err)
		}
		out = append(out, s)
	}
	return out, nil
}

func (b *book) auditJSON(s audit.Summary, findings []audit.Finding, a auditing, m *gitstore.Mending) auditJSON {
	out := auditJSON{Format: 1, Book: s.Book.String(), Title: s.Title, Sound: s.Sound(), Logs: s.Logs, Devices: s.Devices, Entries: s.Entries, Counts: s.Counts, Pending: s.Pending,
		Waiting: s.Waiting, Stopped: s.Stopped, Work: s.Work, Late: s.Late, Stamps: []stampOne{}, Compared: strs(a.against), Stock: a.stock, Findings: b.findingsJSON(findings)}
	if m != nil {
		out.Mended, out.Kept = b.mendedJSON(m), m.Kept
	}
	if !s.First.IsZero() {
		out.First, out.Last = s.First.UTC().Format("2006-01-02T15:04:05Z"), s.Last.UTC().Format("2006-01-02T15:04:05Z")
	}
	for _, x := range s.Stamps {
		out.Stamps = append(out.Stamps, b.stampOne(x))
	}
	return out
}

func (b *book) findingsJSON(findings []audit.Finding) []findingJSON {
	out := []findingJSON{}
	for _, f := range findings {
		j := findingJSON{Severity: f.Severity.String(), Code: f.Code, Log: f.Log, Line: f.Line, Seq: f.Seq, Message: f.Message}
		if !f.Writer.IsZero() {
			if j.Log == "" {
				j.Log = f.Writer.String()
			}
			j.Device = b.logName(f.Writer.String())
		}
		if !f.Entry.IsZero() {
			j.Entry = f.Entry.String()
		}
		out = append(out, j)
	}
	return out
}

// printAudit says what was looked at, what was found, and what it comes to.
func (b *book) printAudit(s audit.Summary, findings []audit.Finding, a auditing) {
	c := b.c
	line := func(format string, args ...any) {
		c.printf("%s\n", table.Wrap(table.Clean(fmt.Sprintf(format, args...)), c.columns(), "  "))
	}
	if b.log == nil {
		line("book %s: its founding entry is not in this folder, so that no entry can be judged", s.Book)
		b.printFindings(findings)
		c.printf("\n")
		line("the book does not verify%s", counted3(s))
		return
	}
	line("%s, book %s", s.Title, s.Book)
	rest := ""
	for _, x := range []struct {
		n    int
		what string
	}{{s.Pending, "pending"}, {s.Waiting, "waiting"}, {s.Stopped, "after a stop"}} {
		if x.n > 0 {
			rest += fmt.Sprintf(", %d %s", x.n, x.what)
		}
	}
	line("%s in %s, every signature checked; %s%s", entryCount(s.Entries), does(fmt.Sprint(s.Logs), s.Logs, "log", "logs"), does(fmt.Sprint(s.Counts), s.Counts, "counts", "count"), rest)
	if !s.First.IsZero() {
		line("recorded from %s to %s", s.First.UTC().Format("2006-01-02"), s.Last.UTC().Format("2006-01-02"))
	}
	if s.Late > 0 {
		line("%d of %s of work %s recorded more than a week after it was done", s.Late, entryCount(s.Work), does("", s.Late, "was", "were")[1:])
	}
	b.printStamps(s, line)
	for _, name := range a.against {
		line("compared with the stamp in %s", name)
	}
	if a.stock != "" {
		line("for stock tools: sh %s", filepath.Join(a.stock, "check.sh"))
	}
	b.printFindings(findings)
	c.printf("\n")
	if s.Sound() {
		line("the book verifies%s", counted3(s))
	} else {
		line("the book does not verify%s", counted3(s))
	}
}

// printStamps says up to when others could tell a change.
func (b *book) printStamps(s audit.Summary, line func(string, ...any)) {
	if len(s.Stamps) == 0 {
		line("no stamp yet: nobody outside can tell whether the end of a log was cut (shedbook stamp)")
		return
	}
	last := b.stampOne(s.Stamps[len(s.Stamps)-1])
	line("last stamp %s of %s, countersigned by %s; %s since", last.ID[:8], last.At[:10], signers(last), entryCount(last.After))
}

// counted3 is ": 1 error, 2 warnings", nothing where there is none.
func counted3(s audit.Summary) string {
	var out []string
	for _, x := range []struct {
		n    int
		what string
	}{{s.Errors, "error"}, {s.Warnings, "warning"}, {s.Notes, "note"}} {
		if x.n > 0 {
			out = append(out, countWords(x.n, x.what))
		}
	}
	if len(out) == 0 {
		return ""
	}
	return ": " + strings.Join(out, ", ")
}

// printFindings lists findings under their severity: where, by whom, what, and the code by which programs know it.
func (b *book) printFindings(findings []audit.Finding) {
	c := b.c
	last := ledger.Severity(0)
	for _, f := range findings {
		if f.Severity != last {
			last = f.Severity
			c.printf("\n%ss\n", f.Severity)
		}
		where := ""
		if !f.Writer.IsZero() {
			where = b.logName(f.Writer.String())
		}
		switch {
		case f.Seq > 0:
			where += fmt.Sprintf(", entry %d", f.Seq)
		case f.Line > 0:
			where += fmt.Sprintf(", line %d", f.Line)
		}
		if !f.Entry.IsZero() {
			where += " [" + f.Entry.Short() + "]"
		}
		if where = strings.TrimPrefix(where, ", "); where == "" && f.Log != "" {
			where = "log " + f.Log
		}
		if where != "" {
			where += ": "
		}
		c.printf("%s\n", table.Wrap("  "+table.Clean(fmt.Sprintf("%s%s (%s)", where, f.Message, f.Code)), c.columns(), "      "))
	}
}

// readFileOrStdin reads a small text.
func (c *call) readFileOrStdin(name string) ([]byte, error) {
	if name == "-" {
		return io.ReadAll(io.LimitReader(c.stdin, 1<<20))
	}
	return os.ReadFile(c.path(name))
}
