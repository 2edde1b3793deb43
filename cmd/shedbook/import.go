package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/intake"
	"shedbook/cmd/shedbook/internal/phone"
	"shedbook/ledger"
	"shedbook/rules/record"
)

// importVerbs are what a row of a file may be: the work people do, not what makes a machine.
var importVerbs = map[string]*verb{"counter": counterVerb, "adjust": adjustVerb, "measure": measureVerb, "swap": swapVerb, "did": didVerb,
	"fault": faultVerb, "repair": repairVerb, "note": noteVerb}

// kindsOfThings are the verbs by what a word names on a machine.
var kindsOfThings = map[string]string{"job": "did", "reading": "measure", "setting": "adjust", "setup": "adjust", "part": "swap", "counter": "counter"}

// importRow is one row of a file on its way into the book: the words and flags of the line that a person would type for it.
type importRow struct {
	line int
	act  phone.Act // Kind "" where the thing spoken of says it
	err  error     // it cannot be read
	left string    // why it is left out although nothing is wrong with it

	word    string // of the file that says what was done
	acted   bool   // another column says what the row is
	heading string // of the column its value stands in
	next    string // what to type where it does not say what was done; "": say it in the row
}

// What becomes of a row.
const (
	fateNew     = "new"     // recorded, or would be
	fateAlready = "already" // in the book from an earlier import
	fateBad     = "bad"     // cannot be read or fits nothing
	fateAsked   = "asked"   // looks like a slip
	fateLeft    = "left"    // says nothing that the book counts
)

type importedRowJSON struct {
	Line  int      `json:"line"`
	Fate  string   `json:"fate"`
	ID    string   `json:"id,omitempty"`
	Words string   `json:"words,omitempty"`
	Why   string   `json:"why,omitempty"`
	Notes []string `json:"notes,omitempty"` // what else comes of it, or does not
}

type importedJSON struct {
	Format   int               `json:"format"`
	DryRun   bool              `json:"dry_run,omitempty"`
	File     string            `json:"file"`
	Digest   string            `json:"sha256"`
	Recorded int               `json:"recorded"`
	Already  int               `json:"already"`
	Skipped  int               `json:"skipped"`
	Left     int               `json:"left"`
	Rows     []importedRowJSON `json:"rows"`

	Unused []unusedColumnJSON `json:"unused,omitempty"`
	Next   string             `json:"next,omitempty"` // the line that uses those of them whose headings speak for themselves
}

// importing is one run of an import.
type importing struct {
	c        *call
	name     string // of the file, as typed
	digest   string
	skipBad  bool
	perhaps  bool // rows that look like slips are taken as they are
	rows     []*importRow
	out      []importedRowJSON
	count    map[string]int
	machines map[string]int
	known    map[string]string  // rows imported before: the short id
	seen     map[string]int     // how often this file said the same
	keep     func(*book) error  // remembers how the file was read
	again    string             // the line that imports it, with all that was said and remembered
	unused   []unusedColumnJSON // columns from which nothing is taken
	next     string             // the line that uses those whose headings speak for themselves
}

// rowsAtOnce is from how many rows on they are written the way books are made: in packs at once.
const rowsAtOnce = 200

// readImport reads the file named, "-" being what is piped in.
func (c *call) readImport(name string) ([]byte, error) {
	var b []byte
	var err error
	if name == "-" {
		b, err = io.ReadAll(io.LimitReader(c.stdin, intake.MostBytes+1))
	} else {
		var f *os.File
		if f, err = os.Open(c.path(name)); err == nil {
			b, err = io.ReadAll(io.LimitReader(f, intake.MostBytes+1))
			f.Close()
		}
	}
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, failed("no-file", "look at its name and folder, and say it again", "there is no file %s", name)
	case err != nil:
		return nil, failed("no-file", "name a file that can be read", "%s cannot be read: %v", name, err)
	}
	return b, nil
}

// badFile says why a file cannot be read, with its name and line.
func badFile(name string, err error, hint string) error {
	var ie *intake.Error
	if errors.As(err, &ie) && ie.Line > 0 {
		return failed("bad-file", hint, "%s:%d: %s; nothing was recorded", name, ie.Line, ie.Text)
	}
	return failed("bad-file", hint, "%s: %v; nothing was recorded", name, err)
}

func digestOf(b []byte) string {
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:])
}

// importAll records the rows of a file: all or none of them, but those left out with --skip-bad.
func (c *call) importAll(b *book, im *importing) error {
	im.c, im.perhaps = c, c.yes
	c.keepReading(b, im.keep)
	b.bulk = len(im.rows) > rowsAtOnce
	for {
		err := b.write(im.run)
		var d *doubt
		if !errors.As(err, &d) {
			return err
		}
		if err := c.confirm(d.question, d.tag); err != nil {
			return err
		}
		im.perhaps = true
	}
}

// keepReading keeps how a file is read, for the next time: also where nothing comes of it now. It is no entry, and nothing is lost where it cannot be kept.
func (c *call) keepReading(b *book, keep func(*book) error) {
	if keep == nil {
		return
	}
	if err := keep(b); err != nil {
		c.say("how the file is read could not be remembered: %v\n", err)
	}
}

// run signs what the rows say, one after the other.
func (im *importing) run(w *writing) error {
	im.out, im.count, im.machines, im.seen = nil, map[string]int{}, map[string]int{}, map[string]int{}
	im.known = importedRows(w.log.Entries())
	bk := newBulk(w)
	for _, row := range im.rows {
		x := im.row(bk, row)
		x.Line = row.line
		im.out = append(im.out, x)
		im.count[x.Fate]++
	}
	refused := im.count[fateBad] > 0 && !im.skipBad
	skipped := im.count[fateBad]
	if !im.perhaps {
		skipped += im.count[fateAsked]
	}
	none := im.skipBad && skipped > 0 && skipped+im.count[fateLeft] == len(im.out) // there is nothing but what is skipped
	switch {
	case im.c.dryRun:
		w.then(im.tell)
		if refused || none {
			w.then(im.refusal)
		}
	case refused:
		im.list(fateBad)
		im.sayUnused(im.c.stderr)
		return im.refusal()
	case none:
		im.list(fateBad)
		im.list(fateAsked)
		im.sayUnused(im.c.stderr)
		return im.refusal()
	case im.count[fateAsked] > 0 && !im.perhaps && !im.skipBad:
		im.list(fateAsked)
		im.sayUnused(im.c.stderr)
		return &doubt{rowsOf(im.count[fateAsked], len(im.out)) + " of " + im.name + " may be slips", "doubtful"}
	default:
		w.then(im.tell)
	}
	return nil
}

func rowsOf(n, all int) string { return fmt.Sprintf("%d of %s", n, count(all, "row")) }

func (im *importing) refusal() error {
	n := im.count[fateBad]
	if im.skipBad && !im.perhaps {
		n += im.count[fateAsked]
	}
	next := im.next
	switch {
	case next != "":
	case im.skipBad:
		next = "put the rows right and say the same again"
		if im.count[fateAsked] > 0 && !im.perhaps {
			next += "; where what looks like a slip is right, add --yes"
		}
	default:
		next = "put those rows right and say the same again; or leave them out: " + im.again + " --skip-bad"
	}
	return failed("bad-rows", next, "%s: %s cannot be imported; nothing was recorded", im.name, rowsOf(n, len(im.out)))
}

// importedRows finds what earlier imports brought, by the digest of the row.
func importedRows(entries []*ledger.Entry) map[string]string {
	out := map[string]string{}
	for _, e := range entries {
		if !bytes.Contains(e.Private(), []byte(`"imported"`)) {
			continue
		}
		if p, err := record.DecodePrivate(e.Private()); err == nil && p.Imported != nil {
			out[p.Imported.Row] = e.ID().Short()
		}
	}
	return out
}

// row makes an entry of a row, as the command of its kind does.
func (im *importing) row(bk *bulk, row *importRow) importedRowJSON {
	if row.err != nil {
		return bad(row.err)
	}
	if row.left != "" {
		return importedRowJSON{Fate: fateLeft, Why: row.left}
	}
	id, l, err := im.lineOf(bk, row)
	if err != nil {
		return bad(err)
	}
	if short := im.known[id]; short != "" {
		return importedRowJSON{Fate: fateAlready, ID: short}
	}
	r, p, err := l.v.build(l)
	if err != nil {
		return bad(err)
	}
	l.common()
	l.doubled(r, p)
	if len(l.doubts) > 0 && !im.perhaps && (im.skipBad || im.c.dryRun) {
		return importedRowJSON{Fate: fateAsked, Why: l.doubts[0].question}
	}
	said := record.Private{}
	if p != nil {
		said = *p
	}
	said.Imported = &record.Imported{File: im.digest, Row: id, Line: row.line, Name: im.fileName()}
	for _, x := range l.also {
		if _, err := bk.w.addWork(x.m, x.r, x.p); err != nil {
			return bad(err)
		}
	}
	e, err := bk.w.addWork(l.m, r, &said)
	if err != nil {
		return bad(err)
	}
	unsure := slices.ContainsFunc(l.doubts, func(d *doubt) bool { return strings.HasPrefix(d.tag, "counter") })
	bk.follow(l, r, e.ID().Short(), unsure)
	out := importedRowJSON{Fate: fateNew, ID: e.ID().String(), Notes: l.whatElse(r, row)}
	if len(l.doubts) > 0 && !im.perhaps {
		out.Fate, out.Why = fateAsked, l.doubts[0].question
	}
	im.machines[l.m.Name]++
	if im.c.dryRun {
		out.ID = ""
	}
	if im.c.dryRun || im.c.json {
		out.Words = bk.w.sentence(l.st, l.m, r, p, bk.w.person(), im.c.system)
	}
	return out
}

func bad(err error) importedRowJSON {
	x := importedRowJSON{Fate: fateBad, Why: err.Error()}
	var ue *userError
	if errors.As(err, &ue) && ue.hint != "" {
		x.Why += " (" + ue.hint + ")"
	}
	return x
}
