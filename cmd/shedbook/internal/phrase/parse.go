package phrase

import (
	"fmt"
	"slices"
	"strings"
)

// longestName is how many words a name may be typed in.
const longestName = 5

// Parse reads the words after verb and machine. Errors are *Error.
func Parse(v Vocabulary, f Form, machine string, args []string) (*Phrase, error) {
	p := &parser{v: v, form: f, machine: machine}
	if err := p.split(args); err != nil {
		return nil, err
	}
	if f.Text {
		return p.text()
	}
	return p.clauses()
}

// word is one word of the line.
type word struct {
	text   string // as typed, a comma at its end taken off
	low    string
	quoted bool // an argument of several words: in a line that ends with free words those
	comma  bool // a comma stood at its end
}

type parser struct {
	v       Vocabulary
	form    Form
	machine string
	words   []word
	i       int
	out     Phrase
	typed   []string // place words of the clause as typed
	noun    string   // last noun said in the list of places being read
}

func (p *parser) fail(word, hint, format string, a ...any) *Error {
	return &Error{Word: word, Hint: hint, Message: fmt.Sprintf(format, a...)}
}

// split takes arguments apart into words. "gauge shims=2" and "depth=5 1/4" stay whole.
func (p *parser) split(args []string) error {
	for _, a := range args {
		if strings.TrimSpace(a) == "" {
			return p.fail(a, "", "an empty word says nothing")
		}
		several := strings.ContainsAny(a, " \t\n")
		if p.form.Text || !several || strings.Contains(a, "=") {
			p.words = append(p.words, newWord(a, several))
			continue
		}
		for _, f := range strings.Fields(a) {
			p.words = append(p.words, newWord(f, false))
		}
	}
	return nil
}

func newWord(s string, quoted bool) word {
	w := word{text: strings.TrimSpace(s), quoted: quoted}
	if cut := strings.TrimRight(w.text, ","); cut != w.text && cut != "" && !quoted {
		w.text, w.comma = cut, true
	}
	w.low = strings.ToLower(w.text)
	return w
}

func (p *parser) more() bool { return p.i < len(p.words) }

func (p *parser) next() word {
	if p.more() {
		return p.words[p.i]
	}
	return word{}
}

// join skips "and" and single commas.
func (p *parser) join() bool {
	skipped := false
	for p.more() && (p.next().low == "and" || p.next().text == ",") {
		if p.named(p.next().low) {
			break
		}
		p.i++
		skipped = true
	}
	return skipped
}

// name finds the longest run of words from i on that names something. The last of them may carry "=value".
func (p *parser) name(i int) (name, kind string, n int, value string, equals bool) {
	joined := ""
	for k := 0; k < longestName && i+k < len(p.words); k++ {
		w := p.words[i+k]
		part, rest, eq := strings.Cut(w.text, "=")
		if joined != "" {
			joined += "-"
		}
		joined += strings.Join(strings.Fields(strings.ToLower(part)), "-")
		if got, what, ok := p.v.Name(joined); ok {
			name, kind, n, value, equals = got, what, k+1, rest, eq
		}
		if eq || w.comma || w.quoted && p.form.Text {
			break
		}
	}
	return name, kind, n, value, equals
}

// clauses reads a line without free words.
func (p *parser) clauses() (*Phrase, error) {
	var cur Clause
	end := func() {
		if len(cur.Places) > 0 || len(cur.But) > 0 || len(cur.Terms) > 0 {
			cur.Said = said(p.typed, cur.But)
			p.out.Clauses = append(p.out.Clauses, cur)
		}
		cur, p.typed = Clause{}, nil
	}
	for p.more() {
		if p.join() {
			continue
		}
		w := p.next()
		switch {
		case w.low == "but":
			if cur.But != nil {
				return nil, p.fail(w.text, "", "%q stands twice: name all that is left out in one list", "but")
			}
			p.i++
			p.noun = lastNoun(cur.Places)
			if cur.But = p.placeList(nil); len(cur.But) == 0 {
				return nil, p.missing(`"but" what? the places left out are missing`, p.next(), Noun, Group)
			}
		case slices.Contains(p.form.Flags, w.low):
			p.i++
			p.out.Flags = append(p.out.Flags, w.low)
		case w.low == "rest" && p.form.Many && len(cur.Terms) > 0 && !p.named("rest"):
			p.i++
			end()
			cur.Places, p.typed = []string{"rest"}, []string{w.text}
		case p.late(&cur):
			cur.Terms[0].Value = p.value("")
		case p.alone(&cur):
			t := Term{Value: p.value("")}
			if isRest(&cur) {
				before := p.out.Clauses[len(p.out.Clauses)-1].Terms
				if len(before) != 1 || before[0].Kind != Setting {
					return nil, p.fail(t.Value, "", "%q of what? not one setting is named before it", t.Value)
				}
				t.Name, t.Kind = before[0].Name, before[0].Kind
			}
			cur.Terms = append(cur.Terms, t)
		default:
			if e := p.numbers(&cur); e != nil {
				return nil, e
			}
			t, isTerm, err := p.term()
			if err != nil {
				return nil, err
			}
			if isTerm {
				cur.Terms = append(cur.Terms, t)
				continue
			}
			if p.form.Each && p.form.Partial { // a correction leaves the reading out: 4=6 39=5.125
				each, err := p.each()
				if err != nil {
					return nil, err
				}
				if each != nil {
					cur.Terms = append(cur.Terms, Term{Each: each})
					continue
				}
			}
			from := p.i
			p.noun = ""
			places := p.placeList(nil)
			if len(places) == 0 || p.form.Alone {
				p.i = from
				return nil, p.unknown(w)
			}
			if len(cur.Places) > 0 || len(cur.Terms) > 0 && p.form.Many && p.termFollows() {
				end()
			}
			if len(cur.Places) == 0 {
				p.noteSaid(from)
			}
			cur.Places = append(cur.Places, places...)
		}
	}
	end()
	return p.check()
}

// late reports a value that stands behind reading and places: hub-play opener 12 loose.
func (p *parser) late(c *Clause) bool {
	if !p.form.Each || len(c.Terms) != 1 || c.Terms[0].Value != "" || c.Terms[0].Each != nil || len(c.Places) == 0 || p.i == 0 {
		return false
	}
	name, _, n, _, _ := p.name(p.i)
	return name == "" || n == 0
}

// isRest reports a clause of the rest of which nothing was said yet.
func isRest(c *Clause) bool { return len(c.Places) == 1 && c.Places[0] == "rest" && len(c.Terms) == 0 }

// named reports a word that the machine has a use for itself.
func (p *parser) named(word string) bool {
	_, _, ok := p.v.Name(word)
	return ok
}

// check holds what was read to the form.
func (p *parser) check() (*Phrase, error) {
	n := len(p.out.Clauses)
	if n > 1 && !p.form.Many {
		c := p.out.Clauses[1]
		return nil, p.fail(c.Said, "name all the places in one list", "%s: the places stand twice in one line", or(c.Said, "but"))
	}
	for i, c := range p.out.Clauses {
		if len(c.Terms) == 0 && !p.form.Partial && !(len(p.out.Flags) > 0 && n == 1) {
			if i > 0 {
				return nil, p.fail(c.Said, "", "%s: what of it? a place stands before what is said of it", c.Said)
			}
			return nil, p.missing(p.whatQuestion(), word{}, p.form.Kinds...)
		}
		if len(c.Terms) > 1 && !p.form.Many {
			if c.Terms[0].Name == "" || c.Terms[1].Name == "" {
				return nil, p.fail("", "say the values in one way", "two values are said in one line")
			}
			return nil, p.fail(c.Terms[1].Name, "say each in a line of its own", "%s and %s are two: a line of %s records one", c.Terms[0].Name, c.Terms[1].Name, p.form.Verb)
		}
	}
	if n == 0 && len(p.out.Flags) == 0 && !p.form.Partial {
		return nil, p.missing(p.whatQuestion(), word{}, p.form.Kinds...)
	}
	return &p.out, nil
}

func (p *parser) whatQuestion() string {
	switch p.form.Verb {
	case "adjust":
		return fmt.Sprintf("adjust what on %s? name a setting and its value", p.machine)
	case "measure":
		return fmt.Sprintf("measure what on %s? name a reading", p.machine)
	case "swap":
		return fmt.Sprintf("swap what on %s? name a part", p.machine)
	case "did":
		return fmt.Sprintf("did what on %s? name a job", p.machine)
	case "counter":
		return fmt.Sprintf("what does the counter of %s show? a value is missing", p.machine)
	}
	return fmt.Sprintf("what of %s? say good, or what stands how", p.machine)
}

func (p *parser) missing(message string, at word, kinds ...string) *Error {
	e := p.fail(at.text, "", "%s", message)
	e.Known = p.v.Words(kinds...)
	if at.text != "" {
		e.Message += fmt.Sprintf(" (found %q)", at.text)
	}
	return e
}

// unknown explains a word that fits nowhere.
func (p *parser) unknown(w word) *Error {
	if name, kind, _, _, _ := p.name(p.i); name != "" {
		return p.wrongKind(name, kind)
	}
	word, _, _ := strings.Cut(w.text, "=")
	e := &Error{Word: word, Unknown: true, Known: p.v.Words(append([]string{Noun, Group}, p.form.Kinds...)...)}
	if p.form.Verb == "counter" {
		e.Known = p.v.Words(Counter)
	}
	e.Message = fmt.Sprintf("%s has no %q", p.machine, word)
	if slices.Contains([]string{"except", "excepting", "without", "minus", "less", "not"}, w.low) && !p.form.Alone {
		e.Unknown, e.Known = false, nil
		e.Message = fmt.Sprintf("%q: what is left out stands behind %q", w.text, "but")
		e.Hint = "write but"
		if p.i+1 < len(p.words) {
			e.Hint += " " + p.words[p.i+1].text
		}
	}
	if p.form.Verb == Swap.Verb && slices.Contains([]string{"worn", "in-time", "with-set", "broken"}, w.low) {
		e.Unknown, e.Known = false, nil
		e.Message = fmt.Sprintf("%q: why it was swapped is said with --why", w.text)
		e.Hint = fmt.Sprintf("shedbook swap %s", p.machine)
		for i, x := range p.words {
			if i != p.i {
				e.Hint += " " + x.text
			}
		}
		e.Hint += " --why " + w.low
	}
	if w.low == "setup" {
		e.Message = fmt.Sprintf("%q takes the name of a set-up: setup=spring", "setup")
	}
	if isNumeric(w.text) && p.form.Values && len(p.out.Clauses) == 0 {
		e.Unknown, e.Known = false, nil
		e.Message = fmt.Sprintf("%q: places stand before what is said of them, its value after it", w.text)
		e.Hint = fmt.Sprintf("shedbook %s %s 12 READING 5 1/4", p.form.Verb, p.machine)
	}
	return e
}

// wrongKind says what a name is and which verb takes it.
func (p *parser) wrongKind(name, kind string) *Error {
	verb := map[string]string{Setting: "adjust", Reading: "measure", Part: "swap", Job: "did", Setup: "adjust", Counter: "counter"}[kind]
	e := p.fail(name, "", "%q is a %s of %s, and %s takes none", name, kindWord(kind), p.machine, p.form.Verb)
	if kind == Noun || kind == Group {
		e.Message = fmt.Sprintf("%q is a place of %s, and %s takes none", name, p.machine, p.form.Verb)
	}
	if verb != "" && verb != p.form.Verb {
		e.Hint = fmt.Sprintf("shedbook %s %s %s", verb, p.machine, name)
	}
	if p.form.Verb == Measure.Verb && (kind == Part || kind == Job) {
		p.instead(e, name)
	}
	return e
}

func kindWord(kind string) string {
	if kind == Setup {
		return "set-up"
	}
	return kind
}

func or(s, other string) string {
	if s == "" {
		return other
	}
	return s
}

// text reads [places [but]] [part] words.
func (p *parser) text() (*Phrase, error) {
	var c Clause
	from := p.i
	c.Places = p.placeList(p.beginsText)
	if len(c.Places) > 0 {
		p.noteSaid(from)
	}
	if p.next().low == "but" && len(c.Places) > 0 {
		back := p.i
		p.i++
		p.noun = lastNoun(c.Places)
		if c.But = p.placeList(p.beginsText); len(c.But) == 0 {
			p.i = back
		}
	}
	c.Said = said(p.typed, c.But)
	if p.more() && !p.next().quoted && slices.Contains(p.form.Kinds, Part) {
		if name, kind, n, _, eq := p.name(p.i); kind == Part && !eq && (p.i+n < len(p.words) || p.form.Partial) {
			c.Terms = []Term{{Name: name, Kind: kind}}
			p.i += n
		}
	}
	var words []string
	for _, w := range p.words[p.i:] {
		t := w.text
		if w.comma {
			t += ","
		}
		words = append(words, t)
	}
	p.out.Text = strings.Join(words, " ")
	if len(c.Places) > 0 || len(c.Terms) > 0 {
		p.out.Clauses = []Clause{c}
	}
	if p.out.Text == "" && !p.form.Partial {
		return nil, p.wordless(c.Said)
	}
	return &p.out, nil
}

// beginsText reports whether a word begins the free words although it could be a place: quoted ones, and "all" unless a list or quoted words follow.
func (p *parser) beginsText(w word) bool {
	if w.quoted {
		return true
	}
	if w.low != "all" {
		return false
	}
	if p.i+1 >= len(p.words) {
		return true
	}
	after := p.words[p.i+1]
	return !after.quoted && after.low != "but"
}
