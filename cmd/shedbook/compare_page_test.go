package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"html"
	"io"
	"regexp"
	"strings"
	"testing"

	"shedbook/rules"
)

var (
	refLink   = regexp.MustCompile(`<span class="refs">(.*?)</span>`)
	bareRef   = regexp.MustCompile(`(?:^| )([0-9a-f]{8})\b`)
	linkedRef = regexp.MustCompile(`<a href="#e([0-9a-f]{8})">`)
)

// The page of the demo book's drill says what --json says: as many lines in each section, who did it, and every entry it names is listed on it.
func TestComparePageSaysWhatIsCompared(t *testing.T) {
	b := demoBook(t)
	b.at("2026-10-02T19:00")
	for _, args := range [][]string{{"compare", "drill", "spring seeding 2025", "spring seeding 2026"}, {"compare", "drill", "2026-04-15", "2026-05-20"}, {"compare", "drill", "creek-drill", "--machines"}} {
		var said comparedJSON
		if err := json.Unmarshal([]byte(b.must(append(args, "--json")...)), &said); err != nil || len(said.Changes) < 8 {
			t.Fatalf("%v: %v, %d changes", args, err, len(said.Changes))
		}
		page := b.must(append(args, "--out", "-")...)
		checkPage(t, strings.Join(args, " "), page)
		lines := map[string]int{}
		for _, x := range said.Changes {
			lines[x.What]++
		}
		for _, part := range compareParts {
			_, rest, there := strings.Cut(page, `<section id="`+part.id+`"`)
			if there != (lines[part.what] > 0) {
				t.Errorf("%v: %d lines of %s, a section: %v", args, lines[part.what], part.what, there)
				continue
			}
			if !there {
				continue
			}
			body, _, _ := strings.Cut(rest, "</tbody>")
			if n := strings.Count(body, `<tr role="row">`) - 1; n != lines[part.what] {
				t.Errorf("%v: %d rows of %s, want %d", args, n, part.what, lines[part.what])
			}
			for _, x := range said.Changes {
				if x.What == part.what && x.To.By != "" && !strings.Contains(html.UnescapeString(body), x.To.By) {
					t.Errorf("%v: %s %s does not name %s", args, x.What, x.Name, x.To.By)
				}
			}
		}
		named := 0
		for _, refs := range refLink.FindAllStringSubmatch(page, -1) {
			if bare := bareRef.FindStringSubmatch(linkedRef.ReplaceAllString(refs[1], "<")); bare != nil {
				t.Errorf("%v: %s is named and not listed", args, bare[1])
			}
			for _, id := range linkedRef.FindAllStringSubmatch(refs[1], -1) {
				if named++; !strings.Contains(page, `id="e`+id[1]+`"`) {
					t.Errorf("%v: the link to %s leads nowhere", args, id[1])
				}
			}
		}
		if named < 20 {
			t.Errorf("%v: %d entries are named", args, named)
		}
	}
}

// A book of which a line was changed still gives a comparison: its first words say that it does not verify, and the command ends with 3.
func TestComparePageOfAnUnsoundBook(t *testing.T) {
	tb := newTestBook(t)
	tb.must("machine", "add", "drill", "disc-drill", "--options", "openers=8", "--done", "2026-01-01")
	tb.must("farm", "add", "Creekside")
	open, err := tb.call().open()
	if err != nil {
		t.Fatal(err)
	}
	logs, err := open.store.Logs()
	if err != nil {
		t.Fatal(err)
	}
	last := len(logs[0].Lines) - 1
	logs[0].Lines[last] = bytes.Replace(bytes.Clone(logs[0].Lines[last]), []byte("Creekside"), []byte("Brookside"), 1)
	c := &call{env: tb.env(io.Discard, io.Discard), common: &common{}, cmd: &command{}}
	b := &book{c: c, store: open.store, states: map[rules.Options]*rules.State{}}
	if err := b.load(logs); err != nil {
		t.Fatal(err)
	}
	st, err := b.now()
	if err != nil {
		t.Fatal(err)
	}
	side := sideOf{Side: rules.Side{State: st, Machine: st.Machine("drill"), To: st.On}, label: "today", words: "up to " + st.On}
	p, err := b.comparePage([2]sideOf{side, side}, nil)
	if err != nil {
		t.Fatal(err)
	}
	var page bytes.Buffer
	if err := p.Write(&page); err != nil {
		t.Fatal(err)
	}
	warned, short := strings.Index(page.String(), "does not verify"), strings.Index(page.String(), "In short")
	if warned < 0 || warned > short {
		t.Errorf("the warning at %d, the first section at %d", warned, short)
	}
	var code exitCode
	if err := b.soundness(); !errors.As(err, &code) || code != exitUnsound {
		t.Errorf("got %v, want exit 3", err)
	}
}
