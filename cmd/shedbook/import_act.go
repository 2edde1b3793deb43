package main

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"shedbook/rules/record"
)

// actMeant reads what a word stands for where that says what was done, as in "fault", "repair hub" or "swap disc": the act, and of what, "" where it does
// not say.
func actMeant(meaning string) (act, thing string, ok bool) {
	act, thing, _ = strings.Cut(strings.ToLower(strings.TrimSpace(meaning)), " ")
	return act, strings.Join(strings.Fields(thing), "-"), importVerbs[act] != nil
}

// inWords are the acts whose entry is told in free words.
var inWords = []string{"fault", "repair", "note"}

// act finds what a row is from its column what, where a word of it means an act. said are the words of the row's other columns for it.
func (out *importRow) actOf(r *rowReader, said string) error {
	a := &out.act
	meaning, meant := r.lay.Means[strings.ToLower(out.word)]
	if !meant {
		meaning = out.word
	}
	act, thing, ok := actMeant(meaning)
	if !ok || !meant && (thing != "" || !slices.Contains(inWords, act)) {
		return nil
	}
	if a.Kind != "" && a.Kind != act {
		return usage("leave one of the columns act and what empty", "the row is a %s by one column and a %s by %q", a.Kind, act, out.word)
	}
	if thing == "" && !slices.Contains(inWords, act) && act != "counter" {
		return usage(fmt.Sprintf("say of what: --means %q", out.word+"="+act+" "+map[string]string{"swap": "PART", "did": "JOB", "measure": "READING", "adjust": "SETTING"}[act]), "%q means %s: of what?", out.word, act)
	}
	a.Kind, a.What = act, thing
	if slices.Contains(inWords, act) && meant && said == "" {
		a.Text = out.word // the notebook has no other words for it
	}
	return nil
}

// textOf is what a fault, repair or note says: the column words, and what stands in the column note.
func textOf(words, note string) string {
	switch {
	case words == "" || words == note:
		return note
	case note == "":
		return words
	}
	return words + "; " + note
}

var besides = regexp.MustCompile(`; if that is not so: .*$| \(a new one: [^)]*\)$`)

// whatElse tells what else comes of a row, or does not, in the words of an import: a job that names a part is not yet a new part, a new part is the job too,
// and a repair closes a fault.
func (l *line) whatElse(r record.Record, row *importRow) []string {
	switch x := r.(type) {
	case *record.Swap:
		if x.Act != record.SwapNew {
			return l.notes
		}
		say := fmt.Sprintf("a new %s: the use of the old one ends here", x.Part)
		for _, j := range l.m.Fitted.Jobs {
			if j.Swaps == x.Part {
				say += ", and the job " + j.Name + " is done with it"
			}
		}
		return append(slices.Clone(l.notes), say)
	case *record.Did:
		var out []string
		for _, n := range l.notes {
			plain := besides.ReplaceAllString(n, "")
			if job, ok := l.m.Fitted.Job(x.Job); ok && plain != n && job.Swaps != "" {
				next := fmt.Sprintf("--means %q", row.word+"=swap "+job.Swaps)
				if row.acted || row.word == "" {
					next = "act swap, what " + job.Swaps
				}
				plain += "; where it is a new one: " + next
			}
			out = append(out, plain)
		}
		return out
	}
	var out []string
	for _, n := range l.notes {
		plain := besides.ReplaceAllString(n, "")
		if plain != n { // it may be a fault of this very file, whose id is not yet one
			plain = idInText.ReplaceAllString(plain, "")
		}
		out = append(out, plain)
	}
	return out
}

var idInText = regexp.MustCompile(` \[[0-9a-f]{8}\]`)
