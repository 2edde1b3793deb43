package paper

import (
	"bytes"
	"fmt"
	"unicode"
	"unicode/utf8"
)

// Text is a run of words with the entries it rests on.
type Text struct {
	Words string
	Mark  Mark     // stands before the words
	From  []string // whole ids of entries, oldest first; the first ones are shown, short, and linked where the page lists them
}

// Say is words that rest on entries, or on none.
func Say(words string, from ...string) Text { return Text{Words: words, From: from} }

// Mark is a word in a box of its own shape, for what must be seen at once. The zero Mark is none.
type Mark struct {
	Kind MarkKind
	Word string // what stands in the box: "overdue", "do not run"
}

// MarkKind is how much a mark weighs.
type MarkKind string

const (
	Stop  MarkKind = "stop"  // do not run, refused, missing: white on a dark block
	Late  MarkKind = "late"  // past what was asked: thick border
	Watch MarkKind = "watch" // near, or not sure: dashed border
	Fine  MarkKind = "fine"  // as it should be: thin border
	Plain MarkKind = "plain" // a kind of thing, neither good nor bad
)

// ref is an entry as it is named in a page.
type ref struct {
	Short  string
	Listed bool
}

// refsShown is how many entries are named beside a text: the others are in the evidence, and a line must stay readable.
const refsShown = 2

type refs struct {
	Shown []ref
	More  int
}

func (p *Page) refs(from []string) refs {
	var r refs
	from = once(from)
	for i, id := range from {
		if i == refsShown && len(from) > refsShown+1 {
			r.More = len(from) - refsShown
			break
		}
		r.Shown = append(r.Shown, ref{short(id), p.listed[id]})
	}
	return r
}

// once leaves out an entry that stands there already.
func once(from []string) []string {
	seen := make(map[string]bool, len(from))
	var out []string
	for _, id := range from {
		if !seen[id] {
			seen[id] = true
			out = append(out, id)
		}
	}
	return out
}

// short is how an entry is named everywhere: its first eight digits. An id is hexadecimal; whatever else stands in its place is not shown.
func short(id string) string {
	if len(id) < 8 {
		return "unknown"
	}
	for i := range 8 {
		if c := id[i]; (c < '0' || c > '9') && (c < 'a' || c > 'f') {
			return "unknown"
		}
	}
	return id[:8]
}

// visible writes out the characters that show nothing themselves and change how others are shown: controls but the line's end, direction controls
// (Unicode Standard Annex #9), line and paragraph separators, what is not seen at all, and what is no character. Our own templates hold none of them.
func visible(text []byte) []byte {
	if !bytes.ContainsFunc(text, hidden) && utf8.Valid(text) {
		return text
	}
	var out bytes.Buffer
	for len(text) > 0 {
		r, n := utf8.DecodeRune(text)
		switch {
		case r == utf8.RuneError && n == 1:
			fmt.Fprintf(&out, `\x%02x`, text[0])
		case hidden(r):
			fmt.Fprintf(&out, `\u{%x}`, r)
		default:
			out.Write(text[:n])
		}
		text = text[n:]
	}
	return out.Bytes()
}

func hidden(r rune) bool {
	switch {
	case r == '\n', r == '\u200c', r == '\u200d': // the joiners are part of how some scripts and pictures are written
		return false
	case unicode.In(r, unicode.Cc, unicode.Cf, unicode.Zl, unicode.Zp):
		return true
	}
	return r >= '\ufff9' && r <= '\ufffb' || r >= 0xe0000 && r <= 0xe007f
}
