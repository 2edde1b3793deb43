package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/photo"
	"shedbook/cmd/shedbook/internal/table"
	"shedbook/ledger"
	"shedbook/ledger/gitstore"
	"shedbook/rules/record"
)

type papersJSON struct {
	Format int         `json:"format"`
	Papers []paperJSON `json:"papers"`
}

type paperJSON struct {
	Digest  string      `json:"digest"`
	Name    string      `json:"name"`
	Type    string      `json:"type"`
	Size    int64       `json:"size"`
	Held    bool        `json:"held"` // its bytes are in this folder
	Machine string      `json:"machine,omitempty"`
	Done    record.Done `json:"done,omitempty"`
	Entries []record.ID `json:"entries"` // those that name it, oldest first

	sentence string
}

func paperCommand() *command {
	var out string
	return &command{
		name: "paper", section: "read", brief: "list photos and documents, or get one back", reads: true,
		usage:    []string{"paper [MACHINE]", "paper DIGEST --out FILE"},
		examples: []string{"paper", "paper drill", "paper 3f9c01aa --out invoice.pdf"},
		about: "A paper is added with --paper FILE when something is recorded. The digits at the end of each line name it; four or more are enough. A paper that is not here comes from " +
			"another yard with the next entries of its device.",
		flags: func(fs *pflag.FlagSet) { fs.StringVar(&out, "out", "", "write the paper to this new `file`") },
		run: func(c *call) error {
			if len(c.args) > 1 || out != "" && len(c.args) != 1 {
				return usage("shedbook paper drill", "paper takes one machine, or the digits of one paper and --out FILE")
			}
			books, err := c.openAll()
			if err != nil {
				return err
			}
			if out != "" {
				return c.writePaper(books, c.args[0], out)
			}
			all := []paperJSON{}
			for _, b := range books {
				some, err := b.listPapers(c.args)
				if err != nil {
					return err
				}
				all = append(all, some...)
			}
			if c.json {
				err = c.printJSON(papersJSON{1, all})
			} else {
				err = c.paged(func() error { c.printPapers(all); return nil })
			}
			if err != nil {
				return err
			}
			return soundAll(books)
		},
	}
}

// listPapers are the papers that a book's entries name, each once, by the first entry that does.
func (b *book) listPapers(args []string) ([]paperJSON, error) {
	st, err := b.now()
	if err != nil {
		return nil, err
	}
	f := historyFilter{}
	if len(args) > 0 {
		m, err := findMachine(st, strings.ToLower(args[0]))
		if err != nil {
			return nil, err
		}
		f.machine = m.ID
	}
	held, err := b.store.Papers()
	if err != nil {
		return nil, failed("unreadable", mendHint, "the papers of this book cannot be listed: %v", err)
	}
	var out []paperJSON
	at := map[string]int{}
	for _, l := range b.history(st, f) {
		if l.private == nil {
			continue
		}
		for _, p := range l.private.Papers {
			i, known := at[p.Digest]
			if !known {
				i = len(out)
				at[p.Digest] = i
				id, err := ledger.ParseID(p.Digest)
				out = append(out, paperJSON{Digest: p.Digest, Name: p.Name, Type: p.Type, Size: p.Size, Held: err == nil && held[id], Machine: l.machine, Done: l.done, sentence: l.text(b.c)})
			}
			out[i].Entries = append(out[i].Entries, l.id)
		}
	}
	return out, nil
}

func (c *call) printPapers(all []paperJSON) {
	if len(all) == 0 {
		c.printf("no papers yet\n")
		c.say("  next: add a photo or an invoice to what you record, with --paper FILE\n")
		return
	}
	machines := map[string]bool{}
	for _, p := range all {
		machines[p.Machine] = true
	}
	t := table.New("done", "machine", "paper", "size", "of", "digits")
	t.Keep(0, 5)
	for _, p := range all {
		machine, size, of := "", bytesWords(p.Size), p.sentence
		if len(machines) > 1 {
			machine = p.Machine
		}
		if !p.Held {
			size = "not here"
		}
		if n := len(p.Entries); n > 1 {
			of = fmt.Sprintf("%s, and %d more", of, n-1)
		}
		t.Row(sinceDay(p.Done), machine, p.Name, size, of, p.Digest[:8])
	}
	c.boldHeadings(t)
	c.printf("%s", t.Text(c.columns()))
}

// writePaper writes one paper to a new file.
func (c *call) writePaper(books []*book, digits, out string) error {
	digits = strings.Trim(strings.ToLower(digits), "[]")
	if len(digits) < 4 || strings.Trim(digits, "0123456789abcdef") != "" {
		return usage("shedbook paper shows the digits", "%q are no digits of a paper: four or more of those at the end of its line", digits)
	}
	var found []paperJSON
	var from *book
	for _, b := range books {
		all, err := b.listPapers(nil)
		if err != nil {
			return err
		}
		for _, p := range all {
			if strings.HasPrefix(p.Digest, digits) && (len(found) == 0 || found[0].Digest != p.Digest || !found[0].Held) {
				if len(found) == 1 && found[0].Digest == p.Digest {
					found = nil
				}
				found, from = append(found, p), b
			}
		}
	}
	switch {
	case len(found) == 0:
		return failed("unknown-paper", "shedbook paper lists them", "there is no paper %s", digits)
	case len(found) > 1:
		return failed("several", "write more of the digits", "%s could be %s or %s", digits, found[0].Name, found[1].Name)
	}
	p := found[0]
	id, err := ledger.ParseID(p.Digest)
	if err != nil {
		return err
	}
	data, err := from.store.Paper(id)
	if errors.Is(err, gitstore.ErrNoPaper) {
		return failed("no-paper", "shedbook sync with a yard that has it; it comes with the next entries of the device that recorded it",
			"%s is not in this folder, only its digest is", p.Name)
	}
	if err != nil {
		return failed("unreadable", mendHint, "%v", err)
	}
	err = writeNew(c.path(out), 0o644, func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	})
	if errors.Is(err, fs.ErrExist) {
		return failed("exists", "name a new file", "%s is there already", out)
	}
	if err != nil {
		return failed("not-written", "make room or choose another place", "nothing was written: %v", err)
	}
	if c.json {
		return c.printJSON(papersJSON{1, []paperJSON{p}})
	}
	c.printf("%s written: %s, %s\n", out, p.Name, bytesWords(p.Size))
	if p.Type != photo.JPEG && p.Type != photo.PDF {
		c.say("  it says of itself that it is %s: open it only if you know from whom it is\n", table.Clean(p.Type))
	}
	return nil
}
