package main

import (
	"errors"
	"slices"

	"shedbook/cmd/shedbook/internal/phrase"
	"shedbook/rules/schedule"
)

// vocabulary lets the grammar look words up in a machine's schedule. The farm's own groups are groups, an assembly is swapped like a part.
type vocabulary struct{ f *schedule.Fitted }

func (v vocabulary) Name(word string) (name, kind string, ok bool) {
	n, ok := v.f.Lookup(word)
	return n.Word, kindOf(n.What), ok
}

func kindOf(what string) string {
	switch what {
	case "alias":
		return phrase.Group
	case "assembly":
		return phrase.Part
	}
	return what
}

func (v vocabulary) Place(noun, name string) bool {
	p, _, ok := v.f.Noun(noun)
	return ok && slices.Contains(p.Names, name)
}

func (v vocabulary) Words(kinds ...string) []string {
	var out []string
	for _, n := range v.f.Names() {
		if len(kinds) == 0 || slices.Contains(kinds, kindOf(n.What)) {
			out = append(out, n.Word)
		}
	}
	return out
}

func (v vocabulary) Measured(thing, value string) []string {
	job, _ := v.f.Job(thing)
	var out, fit []string
	for _, r := range v.f.Readings {
		if r.Computed != nil || r.Part != thing && (job == nil || !slices.Contains(job.Measures, r.Name)) {
			continue
		}
		out = append(out, r.Name)
		if x, err := r.ParseValue(value); err == nil && r.Plausible(x) {
			fit = append(fit, r.Name)
		}
	}
	if len(fit) > 0 {
		return fit
	}
	return out
}

// lineError makes a mistake in the line a person's error: unknown words are looked for nearby, missing ones are listed.
func lineError(machine string, err error) error {
	var pe *phrase.Error
	if !errors.As(err, &pe) {
		return err
	}
	hint := pe.Hint
	if pe.Unknown {
		near := didYouMean(pe.Word, pe.Known)
		if hint == "" {
			hint = "shedbook schedule show " + machine
		}
		return failed("unknown-word", hint, "%s%s", pe.Message, near)
	}
	if len(pe.Known) > 0 {
		const most = 12
		list := pe.Known[:min(len(pe.Known), most)]
		hint = "one of " + commas(list)
		if len(pe.Known) > most {
			hint += ", ... (shedbook schedule show " + machine + ")"
		}
	}
	return usage(hint, "%s", pe.Message)
}

func commas(words []string) string {
	out := ""
	for i, w := range words {
		if i > 0 {
			out += ", "
		}
		out += w
	}
	return out
}
