package main

import (
	"bytes"
	"cmp"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"unicode"

	"shedbook/cmd/shedbook/internal/paper"
	"shedbook/cmd/shedbook/internal/sentence"
	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// saleFile is a machine's record on its way to a buyer.
//
// st and all that is told of it come from the evidence, read back as a buyer reads it: other machines' work, held-back words and names are not there, so
// the page cannot tell them. whole and owner are the seller's book, asked only for whether it verifies and for what goes with the machine.
type saleFile struct {
	c     *call
	o     *saleOptions
	whole *book
	owner *rules.State
	sound bool
	proof *saleProof
	b     *book
	st    *rules.State
	m     *rules.Machine
	v     *wholeJSON
	lines map[record.ID]*historyLine // all that the evidence tells
	order []record.ID                // of lines, in order of effect
	wrong int                        // lines under what is wrong today
	left  []rules.Left
	kept  func() (*rules.Kept, error) // worked out meanwhile
	cites *citing                     // worked out when first asked for
}

// saleFile gathers all that the page is made from.
func (c *call) saleFile(o *saleOptions) (*saleFile, error) {
	b, err := c.open() // signatures were checked when entries came in, and digests pin them; those in the evidence are checked once more below
	if err != nil {
		return nil, err
	}
	return b.saleFile(o)
}

// saleFile gathers from an opened book.
func (b *book) saleFile(o *saleOptions) (s *saleFile, err error) {
	c := b.c
	s = &saleFile{c: c, o: o, whole: b, lines: map[record.ID]*historyLine{}}
	s.sound = len(b.errors()) == 0
	outline, ok, err := b.outline(rules.Options{On: b.on(), Known: c.known})
	if err != nil {
		return nil, err
	}
	if !ok {
		if outline, err = b.now(); err != nil {
			return nil, err
		}
	}
	m, err := findMachine(outline, strings.ToLower(o.machine))
	if err != nil {
		return nil, err
	}
	if o.out == "" {
		o.out = safeName("html", m.Name, "sale file")
	}
	if filepath.Ext(o.out) == ".evidence" {
		return nil, usage("end it in .html", "--out %s is the name that the evidence gets", o.out)
	}
	owner := inBackground(b.now) // b but for its log belongs to that until it is waited for
	if s.proof, err = writeProof(b.log, m.ID, o.evidence()); err == nil {
		verified := inBackground(func() (struct{}, error) { s.proof.verify(c.now().UTC()); return struct{}{}, nil })
		s.b = &book{c: c, log: s.proof.ev.Book, judged: s.proof.ev.Book.Judge(), states: map[rules.Options]*rules.State{}}
		s.st, err = s.b.now()
		_, _ = verified()
	}
	var ownerErr error
	if s.owner, ownerErr = owner(); ownerErr != nil || err != nil {
		return nil, cmp.Or(ownerErr, err)
	}
	if s.m = s.st.MachineByID(m.ID); s.m == nil {
		return nil, failed("unknown-machine", "shedbook audit", "the evidence does not show the entry that added %s", m.Name)
	}
	if o.withoutNames {
		s.number()
	}
	s.kept = inBackground(func() (*rules.Kept, error) { return rules.KeptOf(s.st, s.m), nil })
	l, err := lookAt(s.st, []string{s.m.Name})
	if err != nil {
		return nil, err
	}
	s.v, s.left = c.viewMachine(s.st, l), rules.LeftOf(s.st, s.m)
	for _, line := range s.b.history(s.st, historyFilter{all: true}) {
		s.lines[line.id] = &line
		s.order = append(s.order, line.id)
	}
	return s, nil
}

// number calls people hand 1, hand 2, as they come in the machine's record.
func (s *saleFile) number() {
	n := 0
	for _, e := range s.st.Effective {
		if e.Record == nil || record.MachineOf(e.Record) != s.m.ID && e.Entry.ID != s.m.ID {
			continue
		}
		who := []record.ID{e.Entry.Person}
		if w := record.Base(e.Record); w != nil {
			who = append(slices.Clone(w.By), who...)
		}
		for _, id := range who {
			if p := s.st.Person(string(id)); p != nil && p.Name == "" {
				n++
				p.Name = fmt.Sprint("hand ", n)
			}
		}
	}
}

// says are words that rest on entries.
func says(words string, from ...record.ID) paper.Text {
	t := paper.Text{Words: words}
	for _, id := range from {
		t.From = append(t.From, string(id))
	}
	return t
}

func marked(kind paper.MarkKind, word, words string, from ...record.ID) paper.Text {
	t := says(words, from...)
	t.Mark = paper.Mark{Kind: kind, Word: word}
	return t
}

// who did an entry, "" where that is not told.
func (s *saleFile) who(id record.ID) string {
	if l := s.lines[id]; l != nil {
		return l.who
	}
	return ""
}

// person is a person's name as the page has it.
func (s *saleFile) person(id record.ID) string {
	if name := personName(s.st, id); name != "" {
		return name
	}
	return "(name held back)"
}

// places names some positions.
func (s *saleFile) places(at record.Positions) string { return sentence.Places(s.m, at, "") }

// mainCounter is the counter meant when none is named; nil where the machine has none.
func (s *saleFile) mainCounter() *rules.Counter {
	if s.m.Fitted == nil {
		return nil
	}
	def := s.m.Fitted.MainCounter()
	if def == nil {
		return nil
	}
	return s.m.Counters[def.Name]
}

// useAt is "4407 ac", the main counter's use so far at a moment; "about 4407 ac" where nobody read it then and it moved between the readings before and after; ""
// where that is not known.
func (s *saleFile) useAt(d record.Done) string {
	k := s.mainCounter()
	if k == nil {
		return ""
	}
	q, read, ok := s.m.UseRead(k.Name, d)
	if !ok {
		return ""
	}
	return iff(!read, "about ") + s.amount(q)
}

// amount is an amount to read at a glance, in the book's units.
func (s *saleFile) amount(q quantity.Quantity) string { return rough(q, s.c.system).String() }

// title is what kind of machine it is.
func (s *saleFile) title() string { return sentence.Title(s.v.title, s.v.Kind) }

// page is the whole document.
func (s *saleFile) page() ([]byte, error) {
	p := &paper.Page{
		Title: capital(s.title()) + " \u201c" + s.m.Name + "\u201d", Kind: "sale file",
		Under:   []paper.Text{paper.Say(strings.TrimPrefix(s.m.Title+", ", ", ") + "as the book of " + s.v.Farm + " has it on " + weekday(record.Done(s.st.On)))},
		Running: fmt.Sprintf("%s, %s, sale file of %s, book %s, evidence %s", s.m.Name, s.title(), s.st.On, s.b.log.ID().Short(), s.proof.ev.Digest().Short()),
	}
	wrong, all := s.wrongToday()
	for _, section := range []paper.Section{
		s.unsound(), s.machine(), wrong, s.wearLeft(), s.bigJobs(), s.usePerYear(), s.where(), s.said(), s.signatures(),
		s.services(), s.replaced(), s.repaired(), s.honest(), s.settings(), s.check(), s.spotCheck(),
	} {
		if len(section.Blocks) > 0 {
			p.Sections = append(p.Sections, section)
		}
	}
	p.Sections = append(p.Sections, s.windscreen(all), s.words(), s.sources(p)) // the words fill the half sheet that the card leaves
	contents(p)
	p.Foot = []paper.Text{paper.Say(manualRules + " Local codes and licensed practice come before this page."),
		paper.Say("Made by shedbook from the evidence file named above, on " + s.c.now().Format("2006-01-02") + ".")}
	var out bytes.Buffer
	err := p.Write(&out)
	return out.Bytes(), err
}

// contents lists the sections under the first one that tells what the machine is.
func contents(p *paper.Page) {
	var all paper.Contents
	for _, x := range p.Sections {
		if x.Title != "" {
			all.Items = append(all.Items, paper.Link{ID: x.ID, Title: x.Title})
		}
	}
	for i := range p.Sections {
		if p.Sections[i].ID == "machine" {
			p.Sections[i].Blocks = append(p.Sections[i].Blocks, all)
		}
	}
}

// unsound is what must be read first where the book does not verify.
func (s *saleFile) unsound() paper.Section {
	if s.sound {
		return paper.Section{}
	}
	var lines []paper.Text
	wrong := s.whole.errors()
	for _, line := range wrong[:min(len(wrong), 5)] {
		lines = append(lines, paper.Say(line))
	}
	lines = append(lines, paper.Say("Rely on nothing below until the seller has put that right; what is below was made from what can still be read."))
	return paper.Section{ID: "unsound", Blocks: []paper.Block{paper.Notice{Grave: true, Title: "The book that this was made from does not verify", Lines: lines}}}
}

// capital makes the first letter a capital.
func capital(s string) string {
	if s == "" {
		return ""
	}
	r := []rune(s)
	return strings.ToUpper(string(r[:1])) + string(r[1:])
}

// cited are the entries that texts of the page name, each once: they are listed, so that a reader can follow them without the evidence.
func cited(p *paper.Page) map[string]bool {
	out := map[string]bool{}
	p.Cited(func(id string) { out[id] = true })
	return out
}

// sources lists what the figures rest on.
func (s *saleFile) sources(p *paper.Page) paper.Section {
	want := cited(p)
	var list []paper.Source
	for _, id := range s.order {
		if l := s.lines[id]; want[string(id)] {
			list = append(list, paper.Source{ID: string(id), Done: string(l.done.Date()), Written: l.written(s.c).Format("2006-01-02"), Who: l.who, Says: strings.Join(append([]string{l.text(s.c)}, l.marks...), " ")})
		}
	}
	return paper.Section{ID: "entries", Title: "The entries that this page names", Note: "In the order in which the work was done; of one day without a time of day the order is not known. They are named by the eight digits that stand beside the words they bear out. All others about the machine are in the evidence file: its --history lists them.",
		Blocks: []paper.Block{paper.Sources{Entries: list, Fold: fmt.Sprintf("show the %s", entryCount(len(list)))}}}
}

// namesFound are parts of people's names that stand in what the evidence shows or in the seller's own words, although names were to be left out. All else
// on the page is made from these or is our own.
func (s *saleFile) namesFound() []string {
	if !s.o.withoutNames {
		return nil
	}
	var out []string
	shown := append(s.shown(), strings.Join(append(slices.Clone(s.o.statements), s.o.price, s.o.contact), "\n")...)
	for _, p := range s.owner.People {
		for _, word := range strings.FieldsFunc(p.Name, func(r rune) bool { return !unicode.IsLetter(r) }) {
			if first := []rune(word); len(first) > 1 && unicode.IsUpper(first[0]) && !slices.Contains(out, word) && hasWord(shown, word) {
				out = append(out, word)
			}
		}
	}
	slices.Sort(out)
	return out
}

// shown is all that the evidence shows, entry by entry.
func (s *saleFile) shown() []byte {
	var b bytes.Buffer
	for _, e := range s.proof.ev.Book.Entries() {
		b.Write(e.Body())
		b.WriteByte('\n')
		b.Write(e.PrivatePart())
		b.WriteByte('\n')
	}
	return b.Bytes()
}

// hasWord reports a word that stands by itself.
func hasWord(text []byte, word string) bool {
	letter := func(c byte) bool {
		return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c >= 0x80
	}
	for from := 0; ; {
		i := bytes.Index(text[from:], []byte(word))
		if i < 0 {
			return false
		}
		i += from
		end := i + len(word)
		if (i == 0 || !letter(text[i-1])) && (end == len(text) || !letter(text[end])) {
			return true
		}
		from = i + 1
	}
}
