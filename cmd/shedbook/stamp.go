package main

import (
	"fmt"
	"os"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/ledger"
	"shedbook/ledger/audit"
)

const sellerAlone = "A stamp that only the seller has signed proves nothing against the seller: have somebody from outside sign it (shedbook countersign)."

type stampJSON struct {
	Format   int       `json:"format"`
	DryRun   bool      `json:"dry_run,omitempty"`
	Recorded bool      `json:"recorded"` // just now
	Stamp    stampOne  `json:"stamp"`
	Tips     []tipJSON `json:"tips"`
	Text     string    `json:"text,omitempty"` // exactly what is printed, compared and countersigned
}

type stampOne struct {
	ID           string       `json:"id,omitempty"`
	At           string       `json:"at"`
	By           string       `json:"by"`
	Logs         int          `json:"logs"`
	After        int          `json:"after"` // entries that count and are not in it
	Countersigns []signedJSON `json:"countersigns"`
}

type tipJSON struct {
	Log    string `json:"log"`
	Device string `json:"device"`
	Seq    uint64 `json:"seq"`
	ID     string `json:"id"`
}

type signedJSON struct {
	ID          string `json:"id"`
	Who         string `json:"who"`
	Key         string `json:"key"`
	Fingerprint string `json:"fingerprint"`
	OfTheBook   bool   `json:"of_the_book"` // a key of one of the book's own devices: it adds nothing
}

type stampsJSON struct {
	Format int        `json:"format"`
	Stamps []stampOne `json:"stamps"`
}

func stampCommand() *command {
	var list bool
	return &command{
		name: "stamp", section: "sharing", brief: "state the last entry of every log, to be printed and kept", writes: true,
		usage:    []string{"stamp", "stamp ENTRY", "stamp --list"},
		examples: []string{"stamp", "stamp > stamp.txt", "stamp --list", "stamp 15ebae70"},
		about: `Records a stamp and prints its text: one line for each log with its last entry. At the end of a season and before a sale, print it and give it to somebody who does not keep the book. Whoever holds ` +
			`the paper can later tell whether anything up to it was changed, left out or shown differently: audit --against.

With the id of an earlier stamp, prints that one again. ` + sellerAlone,
		flags: func(fs *pflag.FlagSet) { fs.BoolVar(&list, "list", false, "list the stamps of the book") },
		run: func(c *call) error {
			if list && len(c.args) > 0 || len(c.args) > 1 {
				return usage("shedbook stamp", "stamp takes nothing, or one earlier stamp")
			}
			switch {
			case list:
				return c.listStamps()
			case len(c.args) == 1:
				return c.oldStamp(c.args[0])
			}
			return c.write(func(w *writing) error { return w.stamp() })
		},
	}
}

// stamp records the last entries that count, of every device that takes part.
func (w *writing) stamp() error {
	if d, _ := w.judged.Device(w.writer); d.Pending {
		return failed("no-right", "an owner admits it first", "this device is not admitted yet: its stamp would count for nothing")
	}
	e, err := w.act(ledger.Draft{Kind: ledger.KindStamp, Record: ledger.Stamp{Tips: w.tips()}})
	if err != nil {
		return err
	}
	w.then(func() error { return w.printStamp(e, true) })
	return nil
}

// tips are the last entries that count of every log, sorted as a stamp lists them.
func (b *book) tips() []ledger.Ref {
	seen := map[ledger.ID]bool{}
	var out []ledger.Ref
	for _, d := range b.judged.Devices() {
		for _, t := range d.Tips {
			e := b.log.Entry(t.ID)
			for e != nil && b.judged.Status(e) != ledger.Counts {
				e = b.log.Entry(e.Prev())
			}
			if e != nil && !seen[e.ID()] {
				seen[e.ID()] = true
				out = append(out, e.Ref())
			}
		}
	}
	out = slices.DeleteFunc(out, func(r ledger.Ref) bool { // what another one of the same log continues says nothing more
		return slices.ContainsFunc(out, func(o ledger.Ref) bool { return o.Writer == r.Writer && o.Seq > r.Seq && b.continues(o, r) })
	})
	slices.SortFunc(out, ledger.Ref.Compare)
	return out
}

func (b *book) continues(later, earlier ledger.Ref) bool {
	e := b.log.Entry(later.ID)
	for e != nil && e.Seq() > earlier.Seq {
		e = b.log.Entry(e.Prev())
	}
	return e != nil && e.ID() == earlier.ID
}

// printStamp prints the text alone to stdout, so that it can be kept in a file as it is; what to do with it goes beside.
func (b *book) printStamp(e *ledger.Entry, recorded bool) error {
	c := b.c
	s, err := audit.StampOf(e)
	if err != nil {
		return err
	}
	if c.json {
		out := stampJSON{Format: 1, DryRun: c.dryRun, Recorded: recorded && !c.dryRun, Stamp: b.stampOne(b.stampedOf(e)), Tips: []tipJSON{}, Text: string(s.Text())}
		for _, t := range s.Tips {
			out.Tips = append(out.Tips, tipJSON{t.Writer.String(), deviceName(b.device(t.Writer)), t.Seq, t.ID.String()})
		}
		if c.dryRun {
			out.Text, out.Stamp.ID = "", ""
		}
		return c.printJSON(out)
	}
	if c.dryRun {
		c.printf("would stamp %s\n", does(fmt.Sprint(len(s.Tips)), len(s.Tips), "log", "logs"))
		return nil
	}
	c.printf("%s", s.Text())
	if recorded {
		c.say("\n%s\n", table.Paragraphs(fmt.Sprintf("recorded as %s. Print these lines and give them to somebody who does not keep the book: a neighbour, the dealer, the accountant.\n\n%s",
			e.ID().Short(), sellerAlone), min(c.columns(), 80)))
	}
	return nil
}

// stampedOf is a stamp with who signed it.
func (b *book) stampedOf(e *ledger.Entry) audit.Stamped {
	for _, s := range audit.Summarize(b.log, nil).Stamps {
		if s.Entry.ID() == e.ID() {
			return s
		}
	}
	s := audit.Stamped{Entry: e}
	s.Text, _ = audit.StampOf(e)
	return s
}

func (b *book) stampOne(s audit.Stamped) stampOne {
	out := stampOne{ID: s.Entry.ID().String(), At: s.Entry.At().Format("2006-01-02T15:04:05Z"), By: deviceName(b.device(s.Entry.Writer())), Logs: len(s.Text.Tips), After: s.After, Countersigns: []signedJSON{}}
	for _, x := range s.Countersigns {
		out.Countersigns = append(out.Countersigns, signedJSON{x.Entry.ID().String(), ledger.DecodeControlPrivate(x.Entry).Name, x.By.Line, x.By.Fingerprint, x.OfTheBook})
	}
	return out
}

func (c *call) listStamps() error {
	b, err := c.open()
	if err != nil {
		return err
	}
	out := stampsJSON{Format: 1, Stamps: []stampOne{}}
	for _, s := range audit.Summarize(b.log, nil).Stamps {
		out.Stamps = append(out.Stamps, b.stampOne(s))
	}
	if c.json {
		if err := c.printJSON(out); err != nil {
			return err
		}
		return b.soundness()
	}
	if len(out.Stamps) == 0 {
		c.printf("no stamp\n")
		return b.soundness()
	}
	t := table.New("stamp", "recorded (UTC)", "by", "entries since", "countersigned by")
	t.Keep(0, 1)
	t.Right(3)
	for _, s := range out.Stamps {
		t.Row(s.ID[:8], strings.Replace(s.At[:16], "T", " ", 1), s.By, table.Int(s.After), signers(s))
	}
	c.boldHeadings(t)
	c.printf("%s", t.Text(c.columns()))
	return b.soundness()
}

// signers names who countersigned a stamp.
func signers(s stampOne) string {
	var out []string
	for _, x := range s.Countersigns {
		who := table.Clean(x.Who)
		if who == "" {
			who = x.Fingerprint
		}
		if x.OfTheBook {
			who += " (of the book)"
		}
		out = append(out, who)
	}
	if len(out) == 0 {
		return "nobody"
	}
	return strings.Join(out, ", ")
}

// oldStamp prints an earlier stamp again.
func (c *call) oldStamp(text string) error {
	b, err := c.open()
	if err != nil {
		return err
	}
	e, err := b.findStamp(text)
	if err != nil {
		return err
	}
	if err := b.printStamp(e, false); err != nil {
		return err
	}
	return b.soundness()
}

// findStamp finds a stamp by the beginning of its id, or by a file with its text; "" is the last one.
func (b *book) findStamp(text string) (*ledger.Entry, error) {
	var all []*ledger.Entry
	for _, e := range b.log.Entries() {
		if e.Kind() == ledger.KindStamp && b.judged.Status(e) == ledger.Counts {
			all = append(all, e)
		}
	}
	if text == "" {
		if len(all) == 0 {
			return nil, failed("no-stamp", "shedbook stamp makes one", "the book has no stamp yet")
		}
		return all[len(all)-1], nil
	}
	prefix := strings.ToLower(strings.TrimSpace(text))
	if isFile(b.c.path(text)) {
		raw, err := os.ReadFile(b.c.path(text))
		if err != nil {
			return nil, fmt.Errorf("read the stamp: %w", err)
		}
		s, err := audit.ParseStampText(raw)
		if err != nil {
			return nil, failed("bad-stamp", "it must be the lines that shedbook stamp prints", "%s: %v", text, err)
		}
		if s.Book != b.log.ID() {
			return nil, failed("other-book", "", "%s is a stamp of another book, %s", text, s.Book.Short())
		}
		prefix = s.Stamp.String()
	}
	all = slices.DeleteFunc(all, func(e *ledger.Entry) bool { return len(prefix) < 4 || !strings.HasPrefix(e.ID().String(), prefix) })
	switch len(all) {
	case 1:
		return all[0], nil
	case 0:
		return nil, failed("no-stamp", "shedbook stamp --list", "the book has no stamp %q", text)
	}
	return nil, failed("ambiguous", "write more of it", "%d stamps begin with %s", len(all), prefix)
}
