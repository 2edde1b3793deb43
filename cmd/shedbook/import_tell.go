package main

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/rules"
	"shedbook/rules/record"
)

// list tells the rows of one fate on the error output, the first of them.
func (im *importing) list(fate string) {
	const most = 20
	n := 0
	for _, x := range im.out {
		if x.Fate != fate {
			continue
		}
		if n++; n > most {
			continue
		}
		fmt.Fprintf(im.c.stderr, "%s\n", table.Wrap(fmt.Sprintf("%s:%d: %s", filepath.Base(im.name), x.Line, table.Clean(x.Why)), im.c.columns(), "    "))
	}
	if n > most {
		fmt.Fprintf(im.c.stderr, "and %d more: --dry-run shows what becomes of every row\n", n-most)
	}
}

// tell is the answer.
func (im *importing) tell() error {
	c := im.c
	skipped := 0
	if im.skipBad || c.dryRun {
		skipped = im.count[fateBad]
	}
	if !im.perhaps && (im.skipBad || c.dryRun) {
		skipped += im.count[fateAsked]
	}
	recorded := im.count[fateNew]
	if c.json {
		return c.printJSON(importedJSON{Format: 1, DryRun: c.dryRun, File: im.name, Digest: im.digest, Recorded: recorded, Already: im.count[fateAlready], Skipped: skipped,
			Left: im.count[fateLeft], Rows: append([]importedRowJSON{}, im.out...), Unused: im.unused, Next: im.next})
	}
	verb := "imported"
	if c.dryRun {
		verb = "would import"
		for _, x := range im.out {
			say := map[string]string{fateNew: x.Words, fateAlready: "in the book already [" + x.ID + "]", fateBad: "cannot be imported: " + x.Why, fateAsked: "may be a slip: " + x.Why, fateLeft: "left out: " + x.Why}[x.Fate]
			c.printf("%s\n", table.Wrap(fmt.Sprintf("line %d: %s", x.Line, table.Clean(say)), c.columns(), "    "))
			for _, n := range x.Notes {
				c.printf("  %s\n", table.Wrap(table.Clean(n), c.columns()-2, "    "))
			}
		}
	} else if im.skipBad {
		im.list(fateBad)
		if !im.perhaps {
			im.list(fateAsked)
		}
	}
	var of []string
	for _, name := range sortedKeys(im.machines) {
		of = append(of, fmt.Sprintf("%s %d", name, im.machines[name]))
	}
	words := fmt.Sprintf("%s: %s from %s", verb, entriesOf(recorded), table.Clean(im.name))
	if recorded > 0 {
		words += " (" + strings.Join(of, ", ") + ")"
	}
	for _, x := range []struct {
		n    int
		what string
	}{{im.count[fateAlready], "in the book already"}, {skipped, "not imported"}, {im.count[fateLeft], "left out"}} {
		if x.n > 0 {
			words += fmt.Sprintf("; %s %s", count(x.n, "row"), x.what)
		}
	}
	c.printf("%s\n", table.Wrap(words, c.columns(), "    "))
	im.sayUnused(c.stdout)
	switch {
	case c.dryRun && recorded > 0 && im.next == "" && (im.count[fateBad] == 0 || im.skipBad):
		again := im.again
		if im.skipBad {
			again += " --skip-bad"
		}
		c.say("  to import it: %s\n", again)
	case recorded > 0 && !c.dryRun:
		im.sayNotes()
		c.say("  to look: shedbook history MACHINE   to take one back: shedbook strike ID\n  what is due now: shedbook due\n")
	}
	return nil
}

// sayNotes tells what else comes of rows, or does not: each thing once.
func (im *importing) sayNotes() {
	first, more := map[string]int{}, map[string]int{}
	for _, x := range im.out {
		for _, n := range x.Notes {
			if x.Fate == fateNew && first[n] == 0 {
				first[n] = x.Line
			} else {
				more[n]++
			}
		}
	}
	texts := sortedKeys(first)
	slices.SortStableFunc(texts, func(a, b string) int { return first[a] - first[b] })
	const most = 10
	for i, n := range texts {
		if i == most {
			im.c.say("  and more of this kind\n")
			return
		}
		rows := fmt.Sprintf("line %d", first[n])
		if more[n] > 0 {
			rows += fmt.Sprintf(" and %d more", more[n])
		}
		im.c.say("  %s\n", table.Wrap(rows+": "+table.Clean(n), im.c.columns()-2, "    "))
	}
}

func sortedKeys[V any](m map[string]V) []string {
	var out []string
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}

func entriesOf(n int) string {
	if n == 1 {
		return "1 entry"
	}
	return fmt.Sprintf("%d entries", n)
}

// fileName is what the file is called, without its folder; "" where it was piped in, or is called something that no record holds.
func (im *importing) fileName() string {
	base := filepath.Base(im.name)
	if im.name == "-" || len(base) > 200 || base != table.Clean(base) || !utf8.ValidString(base) || !norm.NFC.IsNormalString(base) {
		return ""
	}
	return base
}

// importedFrom tells from which file an entry was taken over, "" where it was typed.
func importedFrom(p *record.Private) string {
	if p == nil || p.Imported == nil {
		return ""
	}
	if p.Imported.Name != "" {
		return fmt.Sprintf("imported from line %d of %s", p.Imported.Line, table.Clean(p.Imported.Name))
	}
	return fmt.Sprintf("imported from line %d of the file %s", p.Imported.Line, rules.ID(p.Imported.File).Short())
}
