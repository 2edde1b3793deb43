package table

import (
	"strings"

	"github.com/clipperhouse/displaywidth"
)

// Width is how many terminal columns s takes.
func Width(s string) int { return displaywidth.String(s) }

// Wrap breaks text between words so that no line is wider than width; the second and later lines begin with indent. Blanks at the very beginning stay,
// other runs of blanks and line ends count as one space. A word wider than a line is broken where the line ends. There is no line end after the
// last line.
func Wrap(s string, width int, indent string) string {
	lead := s[:len(s)-len(strings.TrimLeft(s, " "))]
	return strings.Join(lines(s, width, lead, indent), "\n")
}

// lines wraps words: the first line begins with first, the others with rest.
func lines(s string, width int, first, rest string) []string {
	var out []string
	start, line, used := first, "", Width(first)
	flush := func() {
		out = append(out, strings.TrimRight(start+line, " "))
		start, line, used = rest, "", Width(rest)
	}
	for _, word := range strings.Fields(s) {
		w := Width(word)
		if line != "" {
			if used+1+w <= width {
				line += " " + word
				used += 1 + w
				continue
			}
			flush()
		}
		for used+w > width {
			head, tail := cut(word, max(1, width-used))
			if tail == "" {
				break
			}
			line = head
			flush()
			word, w = tail, Width(tail)
		}
		line, used = word, used+w
	}
	if line != "" || len(out) == 0 {
		flush()
	}
	return out
}

// height is how many lines text takes that is wrapped to a width, the second and later ones after so many blanks.
func height(s string, width int, rest string) int {
	if len(s) <= width && plain(s) {
		return 1
	}
	return len(lines(s, width, "", rest))
}

// cut splits a word after the characters that fit into room columns, at least one character.
func cut(word string, room int) (head, tail string) {
	at, used := 0, 0
	for g := displaywidth.StringGraphemes(word); g.Next(); {
		used += g.Width()
		if used > room && at > 0 {
			break
		}
		at += len(g.Value())
	}
	return word[:at], word[at:]
}

// Paragraphs wraps text whose paragraphs are separated by blank lines. A line that begins with a blank stands as it is.
func Paragraphs(text string, width int) string { return Indent(text, width, 0) }

// Indent is Paragraphs with by blanks before every line; width counts them.
func Indent(text string, width, by int) string {
	margin := strings.Repeat(" ", by)
	var out []string
	var words []string
	flush := func() {
		if len(words) > 0 {
			out = append(out, lines(strings.Join(words, " "), width, margin, margin)...)
			words = nil
		}
	}
	for line := range strings.Lines(strings.Trim(text, "\n")) {
		line = strings.TrimRight(line, " \n")
		switch {
		case line == "":
			flush()
			out = append(out, "")
		case line[0] == ' ':
			flush()
			out = append(out, margin+line)
		default:
			words = append(words, line)
		}
	}
	flush()
	return strings.Join(out, "\n")
}
