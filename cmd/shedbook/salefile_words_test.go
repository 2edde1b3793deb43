package main

import (
	"html"
	"math/big"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"shedbook/rules/quantity"
)

// saleWords is the demo drill's sale file as a reader hears it: drawings, mark-up and the list of contents left out, a line a paragraph.
func saleWords(t *testing.T, args ...string) string {
	t.Helper()
	b := demoBook(t)
	file := filepath.Join(t.TempDir(), "drill.html")
	b.must(append([]string{"salefile", "drill", "--out", file}, args...)...)
	page, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	text := regexp.MustCompile(`(?s)<(style|svg|nav).*?</(style|svg|nav)>`).ReplaceAllString(string(page), "")
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
		worst := regexp.MustCompile(`today likely [^(;]* at openers ([0-9, ]*\d)`).FindStringSubmatch(x.text)
		first := regexp.MustCompile(`The least left\s+(?:.*\|\s+)?opener (\d+) `).FindStringSubmatch(words)
		if worst == nil || first == nil {
			t.Fatalf("%s: the worst places are %v, of the table %v", x.name, worst, first)
		}
		equal := strings.Split(worst[1], ", ")
		if !slices.Contains(equal, first[1]) || !strings.Contains(words, "opener "+first[1]+" (least left)") {
			t.Errorf("%s: the worst places are %v, of the table %v, and of the card another", x.name, worst, first)
		}
		for _, n := range equal { // those that stand equal are all named, in the table too
			if !regexp.MustCompile(`\n\s*opener ` + n + ` \|\s*none, about `).MatchString(words) {
				t.Errorf("%s: opener %s is named as past its limit, and is not in the table", x.name, n)
			}
		}
	}
	wear := part(t, words, "\nWear left\n", "Last large jobs")
	for _, want := range []string{"All together, of 48: ", "within 500 ac more about ", "within 1000 ac more about ", "opener 9: ", "not measured since", "opener 41: tied up, since Tue 2026-09-29; when last measured ", "on 2026-09-06; counted in the sums as if in use", "41, rank 1"} {
		if !strings.Contains(wear, want) {
			t.Errorf("wear left does not say %q", want)
		}
	}
	if row := regexp.MustCompile(`41, rank 1[^\n]*`).FindString(wear); !regexp.MustCompile(`\d % \| 5 .*in \| 2026-09-06`).MatchString(row) || !strings.Contains(row, "out of use since Tue 2026-09-29") {
		t.Errorf("the numbers of opener 41 are %q", row)
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

// What a buyer asks of a record: what keeps coming back, why a part went, in which season a service was late and how often it is asked for, what a trip counter
// showed, whether anything is missing; and no word of the program where a person's would do.
func TestSaleFileAnswersABuyer(t *testing.T) {
	words := saleWords(t)
	for _, x := range []struct{ from, to, want string }{
		{"Repairs and faults put right", "How this record was kept", "opener 17: Torque of disc and packer hubs and scrapers: moved 4 times, in spring seeding 2024"},
		{"Repairs and faults put right", "How this record was kept", "part: hydraulic hose"},
		{"Parts replaced", "Repairs and faults put right", "good enough for the stony corner at the creek"},
		{"Late and missed, newest first", "What these counts leave out", "2026-09-22 | autumn seeding 2026 | missed"},
		{"Job by job", "Late and missed", "every 100 h"},
		{"What is wrong today", "Wear left", "(asked for after a new hub bearing, at 5 h)"},
		{"Last large jobs", "Use per year", "openers 1, 2, 20, 33, 34, 48 (6 put in)"},
		{"Last large jobs", "Use per year", "hose replaced"},
		{"Use per year", "Kept where", "1406 ac"},
		{"serial", "What is wrong today", "nothing in this record ties it to a plate"},
		{"On this page", "What is wrong today\n", "Is the record complete? "},
		{"Spot-check card", "Windscreen card", "(step; 1 is shallowest, 12 deepest; a step counts as 0.2 in)"},
		{"How to check this", "Words used here", "go build ./cmd/shedbook"},
	} {
		from := x.from
		if x.from == "On this page" {
			from = "record from" // the line stands before the list
		}
		if text := part(t, words, from, x.to); !strings.Contains(text, x.want) {
			t.Errorf("%s does not say %q", x.from, x.want)
		}
	}
	if text := part(t, words, "Last large jobs", "Use per year\n"); strings.Contains(text, "preset") {
		t.Errorf("a round of each season stands among the large jobs: %s", text)
	}
	for _, no := range []string{"disc-swap", ", used h", "starting line"} {
		if strings.Contains(words, no) {
			t.Errorf("the page says %q", no)
		}
	}
}

// What fresh readers missed: what a setting counts, which openers a range of overdue work is about, how ssh-keygen alone checks the evidence, which counts were
// read and which worked out, what of the readings a table leaves out, what asked for a job that is overdue, and what is still open beside what was missed.
func TestSaleSaysWhatAStrangerAsks(t *testing.T) {
	words := saleWords(t)
	for _, x := range []struct{ from, to, want string }{
		{"What is wrong today\n", "Wear left\n", "; less at openers 9, 30, the same at 45 others"},
		{"What is wrong today\n", "Wear left\n", "still open; the machine worked 227 ac since."}, // 6530 ac read on 2026-10-02 less 6303 ac of 2026-09-29
		{"What is wrong today\n", "Wear left\n", "comes back opener 17: "},
		{"grease, opener 30: since preset on", "\n", " or preset)"},
		{"scraper height, opener 9", "\n", "after disc swap"},
		{"measure the discs, openers 1-48 but 41", "\n", "; all of it last done 2026-05-15; since then alone: disc, edge to hub on 2026-09-06"},
		{"Parts replaced", "Repairs and faults put right", "Mon 2026-09-28: new at about 6282 ac"}, // between 6241 ac of the 26th and 6303 ac of the 29th
		{"Parts replaced", "Repairs and faults put right", "Mon 2026-01-12: new at 3985 ac"},       // before and after the winter the same was read
		{"Last large jobs", "Use per year", " | 2160 ac"},                                          // read on that day
		{"Use per year", "Kept where", "one reading a day, that with the most use, and each marked one; "},
		{"Use per year", "Kept where", "\n2026-09-26 | 6241 ac"}, // not 6163 ac of the same day
		{"Use per year", "Kept where", " with readings there are several without a time of day: their order is not known, and they are taken from the least up."},
		{"Use per year", "Kept where", "what it showed first in the book and what it moved since"},
		{"Torque of disc and packer hubs and scrapers, openers 9, 30", "\n", "not done before it came due again; 45 others still open, see What is wrong today"},
		{"How this record was kept", "Settings as they stand", "written with a reading of that same counter: 15; "},
		{"Settings as they stand", "How to check this", "(step; 1 is shallowest, 12 deepest; a step counts as 0.2 in)"},
		{"Settings as they stand", "How to check this", "2 shims"},
		{"How to check this", "What that proves", "compare the book's id, below, with one that others know: an exchange partner, a stamp, a countersigner"},
		{"How to check this", "What that proves", "about a minute for each thousand entries on a slow computer"},
		{"How to check this", "What that proves", "held backnothing: "},
		{"Would you rather trust ssh-keygen", "Have you a stamp", "--stock apart && sh apart/check.sh"}, // each command beside its step
		{"Does it say what this page says?", "Would you rather", ".evidence --history\n"},
		{"Words used here", "The entries that this page names", "comes back"},
		{"The entries that this page names", "show the", "of one day without a time of day the order is not known"},
	} {
		if text := part(t, words, x.from, x.to); !strings.Contains(text, x.want) {
			t.Errorf("%s does not say %q: %.600s", x.from, x.want, text)
		}
	}
	if strings.Contains(words, "fourth line") || strings.Contains(words, "last line but one") {
		t.Error("a command stands elsewhere than its step")
	}
	if held := saleWords(t, "--without-names"); strings.Contains(held, "held backnothing") || !strings.Contains(held, "held backthe private part") {
		t.Error("what is held back is not told")
	}
}

// A part measured past its limit is bad news of today, whether or not the work for it has a day.
func TestSaleFileNamesWhatIsPastItsLimit(t *testing.T) {
	b := newTestBook(t)
	b.must("machine", "add", "drill", "disc-drill", "--options", "openers=48", "--counter", "area=1600ac")
	b.must("assume", "drill", "good")
	b.must("measure", "drill", "6", "disc-reach", "4.9")
	out := filepath.Join(t.TempDir(), "sale.html")
	b.must("salefile", "drill", "--out", out)
	page, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	_, rest, _ := strings.Cut(string(page), "What is wrong today</h2>")
	first, _, _ := strings.Cut(rest, "</section>")
	if !strings.Contains(first, "past its limit") || !strings.Contains(first, "opener 6") {
		t.Errorf("what is wrong today does not name the disc: %.2000s", first)
	}
}
