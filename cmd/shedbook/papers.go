package main

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"unicode/utf8"

	"shedbook/cmd/shedbook/internal/photo"
	"shedbook/ledger"
	"shedbook/rules/record"
)

// maxPapers is how many papers one entry names at most.
const maxPapers = 20

// attached is a file made ready to be kept.
type attached struct {
	*photo.Paper
	paper record.Paper
	was   int64 // bytes of the file
}

// papers adds the files of --paper to what an entry names, and brings them along.
func (l *line) papers(p *record.Private) error {
	p.Papers = slices.Clone(p.Papers)
	for _, name := range l.s.papers {
		if strings.EqualFold(name, "none") {
			if l.old == nil {
				return usage("leave --paper out, or write --paper ./none for a file of that name", "--paper none takes papers off an entry that is corrected")
			}
			p.Papers = nil
			continue
		}
		a, err := l.c.attach(name)
		if err != nil {
			return err
		}
		if slices.ContainsFunc(p.Papers, func(q record.Paper) bool { return q.Digest == a.paper.Digest }) {
			continue
		}
		if len(p.Papers) == maxPapers {
			return usage("record a note with the others", "an entry has %d papers at most", maxPapers)
		}
		p.Papers = append(p.Papers, a.paper)
		l.w.bring(a)
		if words := a.words(); !slices.Contains(l.notes, words) {
			l.notes = append(l.notes, words)
		}
	}
	return nil
}

// bring keeps the bytes of a paper until the entry that names it is stored.
func (w *writing) bring(a *attached) {
	if w.brought == nil {
		w.brought = map[ledger.ID][]byte{}
	}
	w.brought[sha256.Sum256(a.Data)] = a.Data
}

// papers are those that the signed entries name.
func (w *writing) papers() [][]byte {
	var out [][]byte
	for _, e := range w.run {
		for _, d := range ledger.NamedPapers(e.Line()) {
			if data := w.brought[d]; data != nil {
				out = append(out, data)
			}
		}
	}
	return out
}

// attach reads a file for --paper, once in a run, however often its line is made.
func (c *call) attach(name string) (*attached, error) {
	if a := c.papers[name]; a != nil {
		return a, nil
	}
	const next = "--paper takes a JPEG or PNG photo or a PDF: shedbook help note"
	path := c.path(name)
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, failed("no-file", next, "--paper: there is no file %s", name)
	case err != nil:
		return nil, failed("no-file", next, "--paper: %v", err)
	case !info.Mode().IsRegular():
		return nil, failed("no-file", next, "--paper: %s is no file", name)
	case info.Size() > photo.MaxFile: // before it is read
		return nil, refusedPaper(name, photo.TooLong())
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, failed("no-file", next, "--paper: %v", err)
	}
	defer f.Close()
	p, err := photo.Read(f)
	if err != nil {
		return nil, refusedPaper(name, err)
	}
	a := attachedAs(filepath.Base(path), p, info.Size())
	if c.papers == nil {
		c.papers = map[string]*attached{}
	}
	c.papers[name] = a
	return a, nil
}

func attachedAs(name string, p *photo.Paper, was int64) *attached {
	return &attached{Paper: p, was: was, paper: record.Paper{Digest: fmt.Sprintf("%x", sha256.Sum256(p.Data)), Name: paperName(name, p.Type), Type: p.Type, Size: int64(len(p.Data))}}
}

func refusedPaper(name string, err error) error {
	var no *photo.Refused
	if errors.As(err, &no) {
		return failed("paper-refused", no.Next, "--paper %s: %s; nothing was recorded", name, no.Why)
	}
	return failed("no-file", "", "--paper: %v", err)
}

// paperName is the name under which a paper is told: that of its file, without what no entry may hold, and ending as what it is now.
func paperName(file, kind string) string {
	name := strings.Map(func(r rune) rune {
		if r == '\n' || r == '/' || r == '\\' || r == utf8.RuneError || hiddenRune(r) {
			return '-'
		}
		return r
	}, file)
	base := strings.TrimSpace(strings.TrimSuffix(name, filepath.Ext(name)))
	for len(base) > 80 {
		_, n := utf8.DecodeLastRuneInString(base)
		base = base[:len(base)-n]
	}
	if base == "" {
		base = "paper"
	}
	return base + map[string]string{photo.JPEG: ".jpg", photo.PDF: ".pdf"}[kind]
}

// words say what became of the file.
func (a *attached) words() string {
	if a.Type == photo.PDF {
		return fmt.Sprintf("%s, a PDF of %s, is kept as it is: whatever it says of names and places inside goes wherever this book goes", a.paper.Name, bytesWords(a.paper.Size))
	}
	return fmt.Sprintf("%s is kept as a photo of %d by %d pixels, %s (the file has %s): where, when and with what it was taken is not kept",
		a.paper.Name, a.Width, a.Height, bytesWords(a.paper.Size), bytesWords(a.was))
}

// bytesWords is "240 kB", "3.1 MB".
func bytesWords(n int64) string {
	switch {
	case n < 1000:
		return fmt.Sprintf("%d bytes", n)
	case n < 1_000_000:
		return fmt.Sprintf("%d kB", n/1000)
	}
	return fmt.Sprintf("%.1f MB", float64(n)/1e6)
}

// codeMissingPaper is the code of the finding about papers that are not in the folder.
const codeMissingPaper = "missing-paper"

// missingPapers warns of papers that entries name and that are not here, a line for each log: the entries stand, and whoever recorded them may have the papers.
func (b *book) missingPapers() []ledger.Finding {
	held, err := b.store.Papers()
	if err != nil {
		return []ledger.Finding{{Severity: ledger.Warning, Code: codeMissingPaper, Message: "whether photos and documents are missing cannot be told: " + err.Error()}}
	}
	type gap struct {
		papers map[ledger.ID]bool
		first  *ledger.Entry
	}
	gaps := map[ledger.Writer]*gap{}
	var order []ledger.Writer
	for _, e := range b.log.Entries() {
		for _, d := range ledger.NamedPapers(e.Line()) {
			if held[d] {
				continue
			}
			g := gaps[e.Writer()]
			if g == nil {
				g = &gap{map[ledger.ID]bool{}, e}
				gaps[e.Writer()] = g
				order = append(order, e.Writer())
			}
			g.papers[d] = true
		}
	}
	var out []ledger.Finding
	for _, w := range order {
		g := gaps[w]
		is := "are"
		if len(g.papers) == 1 {
			is = "is"
		}
		out = append(out, ledger.Finding{Severity: ledger.Warning, Code: codeMissingPaper, Writer: w, Log: w.String(), Entry: g.first.ID(), Seq: g.first.Seq(),
			Message: fmt.Sprintf("%s named by its entries, first by %s, %s not in this folder; the entries stand, and that device's own folder may have %s: sync there", countWords(len(g.papers), "paper"), g.first.ID().Short(), is,
				map[bool]string{true: "it", false: "them"}[len(g.papers) == 1])})
	}
	return out
}
