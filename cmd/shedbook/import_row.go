package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/phone"
	"shedbook/cmd/shedbook/internal/phrase"
	"shedbook/rules/quantity"
)

// lineOf reads the row's words against its machine, and gives the digest by which the row is known again.
func (im *importing) lineOf(bk *bulk, row *importRow) (string, *line, error) {
	a := row.act
	if a.Kind == "" {
		if err := bk.kind(&a, row); err != nil {
			return "", nil, err
		}
	}
	v := importVerbs[a.Kind]
	if v == nil {
		var known []string
		for name := range importVerbs {
			known = append(known, name)
		}
		slices.Sort(known)
		return "", nil, usage("write one of "+commas(known)+", or say what it means: --means \""+a.Kind+"=did\"", "%q is nothing that is recorded%s", a.Kind, didYouMean(a.Kind, known))
	}
	flags := a.Flags
	if text := strings.TrimSpace(a.Text); !v.form.Text && text != "" { // nothing that the file says is lost
		at := slices.IndexFunc(flags, func(f string) bool { return strings.HasPrefix(f, "--note=") })
		flags = slices.Clone(flags)
		if at < 0 {
			flags = append(flags, "--note="+text)
		} else {
			flags[at] = "--note=" + textOf(text, strings.TrimPrefix(flags[at], "--note="))
		}
	}
	s, err := parseSaid(a.Kind, v.bind, flags)
	if err != nil {
		return "", nil, err
	}
	if s.done == "" {
		return "", nil, usage("", "the row has no date")
	}
	l, err := bk.begin(v, s, a)
	if err != nil {
		return "", nil, err
	}
	id, err := im.rowID(l, a)
	if err != nil || im.known[id] != "" {
		return id, l, err
	}
	if v.form.Text {
		if strings.TrimSpace(a.Text) == "" {
			return "", nil, usage("write what it was in the column words, or in the column note", "a %s in no words", a.Kind)
		}
		if a.Value != "" {
			return "", nil, usage("leave it empty there; what a counter showed goes into a column counter", "a %s has no value: %q", a.Kind, a.Value)
		}
		if err = l.words(a); err == nil && a.What != "" {
			err = l.partOf(a)
		}
	} else {
		words := typedWords(a)
		if a.What == "" { // the main counter's
			words = []string{a.Value}
		}
		err = l.read(words)
	}
	return id, l, err
}

// rowID is the digest of what a row says (ledger/FORMAT.md, "imported").
func (im *importing) rowID(l *line, a phone.Act) (string, error) {
	value := a.Value
	if q, err := quantity.Parse(value); err == nil && !strings.HasPrefix(value, "+") {
		value = q.String()
	}
	flags := []string{}
	for _, f := range a.Flags {
		if !strings.HasPrefix(f, "--done=") {
			flags = append(flags, f)
		}
	}
	slices.Sort(flags)
	places := append([]string{}, a.Places...)
	said := []any{"shedbook-row-v1", string(l.m.ID), a.Kind, string(l.done), a.What, value, a.Text, places, flags}
	plain, err := plainJSON(said)
	if err != nil {
		return "", err
	}
	im.seen[string(plain)]++
	whole := fmt.Appendf(plain[:len(plain)-1], ",%d]", im.seen[string(plain)])
	return digestOf(whole), nil
}

// plainJSON is canonical JSON (RFC 8785) of texts that hold no hidden characters, and of small whole numbers.
func plainJSON(v any) ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	err := enc.Encode(v)
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), err
}

// kind finds what a row is by what it speaks of.
func (b *bulk) kind(a *phone.Act, row *importRow) error {
	day := b.w.c.today()
	for _, f := range a.Flags {
		if d, ok := strings.CutPrefix(f, "--done="); ok && len(d) >= len("2006-01-02") {
			day = d[:len("2006-01-02")]
		}
	}
	st, err := b.state(a.Machine, day)
	if err != nil {
		return err
	}
	m, err := findMachine(st, strings.ToLower(a.Machine))
	if err != nil {
		return err
	}
	switch {
	case a.What != "" || a.Value != "":
	case a.Text != "":
		a.Kind = "note"
		return nil
	default:
		return usage("", "the row says nothing of %s", m.Name)
	}
	if m.Fitted == nil {
		return failed("no-schedule", "shedbook schedule use "+m.Kind, "the schedule %q of %s is not known, so what is said of it cannot be checked", m.Kind, m.Name)
	}
	if a.What == "" {
		a.Kind = "counter"
		a.What, err = countedOf(m, row)
		return err
	}
	words := vocabulary{m.Fitted}
	name := strings.Join(strings.Fields(strings.ToLower(a.What)), "-")
	_, kind, _ := words.Name(name)
	if a.Kind = kindsOfThings[kind]; a.Kind == "" {
		example := a.What
		if row.word != "" {
			example = row.word
		}
		near := didYouMean(name, words.Words())
		hint := fmt.Sprintf("say what it means: --means %q; MEANING is fault, repair, note, \"swap PART\", or the name of a job, reading, setting, part or counter", example+"=MEANING")
		return usage(hint, "%s has nothing called %q%s", m.Name, a.What, near)
	}
	if strings.HasPrefix(strings.ToLower(a.What), name) || kind != "setup" {
		a.What = name
	}
	if kind == "setup" && a.Value == "" {
		a.What, a.Value = "setup", name
	}
	return nil
}

// partOf names the part that a fault or repair is about.
func (l *line) partOf(a phone.Act) error {
	words := vocabulary{l.m.Fitted}
	name, kind, ok := words.Name(strings.Join(strings.Fields(strings.ToLower(a.What)), "-"))
	if !ok || kind != "part" {
		return usage("leave the column what empty, or name a part", "%s has no part %q%s", l.m.Name, a.What, didYouMean(strings.ToLower(a.What), words.Words("part")))
	}
	if len(l.ph.Clauses) == 0 {
		l.ph.Clauses = []phrase.Clause{{}}
	}
	l.ph.Clauses[0].Terms = []phrase.Term{{Name: name, Kind: phrase.Part}}
	return nil
}
