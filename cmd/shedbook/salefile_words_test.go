package main

import (
	"html"
	"math/big"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"shedbook/rules/quantity"
)

// saleWords is the demo drill's sale file as a reader hears it: drawings and marks-up left out, a line a paragraph.
func saleWords(t *testing.T, args ...string) string {
	t.Helper()
	b := demoBook(t)
	file := filepath.Join(t.TempDir(), "drill.html")
	b.must(append([]string{"salefile", "drill", "--out", file}, args...)...)
	page, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	text := regexp.MustCompile(`(?s)<(style|svg).*?</(style|svg)>`).ReplaceAllString(string(page), "")
	text = regexp.MustCompile(`</t[dh]>`).ReplaceAllString(text, " | ")
	return html.UnescapeString(regexp.MustCompile(`<[^>]*>`).ReplaceAllString(text, ""))
}

// part is the words from one text to the next that follows it.
func part(t *testing.T, words, from, to string) string {
	t.Helper()
	a := strings.Index(words, from)
	if a < 0 {
		t.Fatalf("the page does not say %q", from)
	}
	n := strings.Index(words[a+len(from):], to)
	if n < 0 {
		t.Fatalf("the page does not say %q after %q", to, from)
	}
	return words[a : a+len(from)+n]
}

// A buyer asks what a machine is worth today: what was measured a thousand acres ago comes after what is likely now, and parts that nobody measured or that are
// tied up are named, not left out.
func TestSaleFileSaysToday(t *testing.T) {
	words := saleWords(t)
	for _, x := range []struct{ name, text string }{{"wear", part(t, words, "\nWear left\n", "The least left")}, {"card", part(t, words, "Wear leftDisc", "\n")}} {
		today, then := strings.Index(x.text, "today likely"), strings.Index(strings.ToLower(x.text), "measured 2026-09-06")
		if x.name == "wear" {
			then = strings.Index(x.text, "Last measured Sun 2026-09-06, 1123 ac ago")
		}
		if today < 0 || then < today {
			t.Errorf("%s: today's at %d, the measured at %d: %s", x.name, today, then, x.text)
		}
		worst := regexp.MustCompile(`today likely [^(;]* at (opener \d+)`).FindStringSubmatch(x.text)
		first := regexp.MustCompile(`The least left\s+(?:.*\|\s+)?(opener \d+) `).FindStringSubmatch(words)
		if worst == nil || first == nil || worst[1] != first[1] || !strings.Contains(words, worst[1]+" (least left)") {
			t.Errorf("%s: the worst place is %v, of the table %v, and of the card another", x.name, worst, first)
		}
	}
	wear := part(t, words, "\nWear left\n", "Last large jobs")
	for _, want := range []string{"All together, of 47: ", "within 500 ac more about ", "within 1000 ac more about ", "opener 9: ", "not measured since", "opener 41: tied up, since Tue 2026-09-29", "41, rank 1"} {
		if !strings.Contains(wear, want) {
			t.Errorf("wear left does not say %q", want)
		}
	}
	if strings.Contains(wear, "-0 %") {
		t.Error("nothing is less than none by none")
	}
}

// Sixteenths of an inch by arithmetic: a tape's lines, and the nearest, next lower and next higher line beside them.
func TestOnTape(t *testing.T) {
	for _, x := range []struct{ size, down, near, up string }{
		{"5.4375 in", "5 7/16", "5 7/16", "5 7/16"},
		{"5.2 in", "5 3/16", "5 3/16", "5 1/4"},
		{"5.24 in", "5 3/16", "5 1/4", "5 1/4"},
		{"6 in", "6", "6", "6"},
		{"0.03 in", "0", "0", "1/16"},
		{"0.5 in", "1/2", "1/2", "1/2"},
		{"-0.07 in", "-1/8", "-1/16", "-1/16"},
	} {
		q := quantity.MustParse(x.size)
		if down, near, up := onTape(q, -1), onTape(q, 0), onTape(q, 1); down != x.down || near != x.near || up != x.up {
			t.Errorf("%s: %s, %s, %s; want %s, %s, %s", x.size, down, near, up, x.down, x.near, x.up)
		}
	}
	for n := int64(-40); n < 200; n++ { // every line is itself
		q, err := quantity.FromRat(big.NewRat(n, tapeStep), quantity.MustUnit("in"), 4)
		if err != nil {
			t.Fatal(err)
		}
		if text := onTape(q, 0); text != onTape(q, 1) || text != onTape(q, -1) || quantity.MustParse(text+" in").Rat().Cmp(q.Rat()) != 0 {
			t.Errorf("%s: %s", q, text)
		}
	}
}
