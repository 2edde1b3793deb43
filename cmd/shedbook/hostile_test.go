package main

import (
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// hostileTexts are what a stranger's device may write and the ledger lets through: it refuses control and direction characters (ledger/text.go), and nothing
// else. Markup, formulas, commands for a terminal without their first byte, lines that a calendar or a table would take for its own, what hides and joins.
var hostileTexts = []string{
	`</title></style><script>alert(1)</script><img src=x onerror=alert(1)>"'--><!--`,
	`=cmd|'/c calc'!A0`, "+1+1", "-2+3", "@SUM(A1)", "\uff1d1+1", "=1\nnext line",
	"x\nEND:VEVENT\nBEGIN:VEVENT\nUID:stolen", "a;b,c\\n:d", "[2J]0;title", "a,b\"c\"\n\"d", "{{.}} {{define \"page\"}} `x` ${y} %s %n",
	"zero\u200bwidth\u00ad\u2060\u2063\u180e\u206a", "z" + strings.Repeat("\u0301", 30), "\U0001f468\u200d\U0001f33e 播种机 " + strings.Repeat("宽", 20), strings.Repeat("unbroken", 10),
}

// hostileBook is the drill's spring with text wherever a person's words can stand, written below the commands, and how many places took it.
func hostileBook(t testing.TB, text string) (*testBook, int) {
	b, id := season2026(t)
	m, taken := id["drill"], 0
	add := func(minute string, r record.Record, p *record.Private) record.ID {
		e, err := b.try(minute, r, p)
		if err == nil {
			taken++
		}
		return e
	}
	line := strings.ReplaceAll(text, "\n", " ") // most words are of one line
	work := workOn(m, "2026-04-14", "")
	work.Field, work.Crop, work.Ground = line, line, line
	farm := add("2026-04-16T08:00", &record.Farm{Name: line}, nil)
	if farm == "" {
		farm = b.state().Farms[0].ID
	}
	if yard := add("2026-04-16T08:01", &record.Yard{Name: line, Farm: farm}, nil); yard != "" {
		b.yard = yard
	}
	add("2026-04-16T08:02", &record.Machine{Work: record.Work{Done: "2026-04-01"}, Name: "seeder", Schedule: "small-drill", Yard: b.yard, Title: line, Serial: line}, nil)
	if by := add("2026-04-16T08:03", &record.Person{}, &record.Private{Name: line}); by != "" {
		work.By = []record.ID{by}
	}
	shop := &record.Private{Text: text, Who: line, Costs: []record.Cost{{For: line, Amount: "12.50"}}}
	add("2026-04-16T08:04", &record.Season{Act: "open", Name: line, Work: "seeding", Done: "2026-04-02"}, nil)
	add("2026-04-16T08:05", &record.Fault{Work: work, Positions: placesOf(t, "opener/2"), Severity: "stop", Part: line, Said: line, Needs: []record.Need{{What: line, Count: 1}}}, shop)
	add("2026-04-16T08:06", &record.Fault{Work: workOn(m, "2026-04-14", ""), Positions: placesOf(t, "opener/3"), Severity: "winter"}, &record.Private{Text: text})
	add("2026-04-16T08:07", &record.Note{Work: work, Said: line}, shop)
	add("2026-04-16T08:08", &record.Repair{Work: work, Positions: placesOf(t, "opener/4"), Used: []record.Need{{What: line, Count: 2}}, Cause: line, Said: line}, shop)
	add("2026-04-16T08:09", &record.Did{Work: work, Job: "wheel-nuts", Positions: placesOf(t, "wheel/left"), Results: []record.Result{{Positions: placesOf(t, "wheel/left"), Word: line}}, Torque: quantity.MustParse("150 N.m"), Said: line}, shop)
	add("2026-04-16T08:10", &record.Swap{Work: work, Part: "disc", Positions: placesOf(t, "opener/6"), Act: record.SwapNew, Why: "worn", Serials: []string{line}, Said: line}, shop)
	add("2026-04-16T08:11", &record.Store{Work: workOn(m, "2026-04-15", ""), Act: "in", Slack: []string{line}}, shop)
	add("2026-04-16T08:12", &record.Lend{Work: workOn(m, "2026-04-16", ""), Act: "lent"}, shop)
	b.at("2026-04-16T20:00")
	return b, taken
}

// hostileReads are the forms that show words: reading commands, as text and as --json.
var hostileReads = []string{"show", "show drill --why", "show seeder", "due --all --why", "due", "history --all", "history drill opener/2", "machine list", "people list", "shelf list", "prepare --before 2027-01-01 --why", "cost drill --why", "cost --shops",
	"compare drill 2026-04-01 today --why", "spec drill", "wear drill disc --all --why", "life drill disc --why", "audit"}

// checkHostile holds every output to what it promises of a stranger's words.
func checkHostile(t *testing.T, b *testBook, reads []string) {
	t.Helper()
	out := func(args ...string) string {
		o, e, code := b.run(args...)
		if code != 0 && code != 3 {
			t.Errorf("%s: exit %d: %s", strings.Join(args, " "), code, e)
		}
		if bad := firstHidden(o + e); bad >= 0 {
			s := (o + e)[max(0, bad-40):]
			t.Errorf("%s: %.60q", strings.Join(args, " "), s)
		}
		return o
	}
	for _, line := range reads {
		args := strings.Fields(line)
		out(args...)
		var v map[string]any
		o, _, _ := b.run(append(args, "--json")...)
		if err := json.Unmarshal([]byte(o), &v); err != nil || strings.Count(o, "\n") != 1 || !utf8.ValidString(o) {
			t.Errorf("%s --json: no one line of JSON: %v: %.80q", line, err, o)
		}
	}
	for _, args := range [][]string{{"entries", "-"}, {"state", "-"}, {"due", "-"}, {"prepare", "-", "--before", "2027-01-01"}} {
		o, e, code := b.run(append([]string{"export", "--csv"}, args...)...)
		rows, err := csv.NewReader(strings.NewReader(o)).ReadAll()
		if err != nil || code != 0 || len(rows) < 2 {
			t.Fatalf("csv %s: exit %d, %v, %d rows: %s", args[0], code, err, len(rows), e)
		}
		for _, row := range rows {
			for _, cell := range row {
				if first, _ := utf8.DecodeRuneInString(cell); strings.ContainsRune("=+-@\t\r\uff1d\uff0b\uff0d\uff20", first) && cell != "" && !bareNumber.MatchString(cell) {
					t.Errorf("csv %s: a cell begins as a formula: %.60q", args[0], cell)
				}
				if bad := firstHidden(cell); bad >= 0 {
					t.Errorf("csv %s: %.60q", args[0], cell[bad:])
				}
			}
		}
	}
	dir := t.TempDir()
	for _, args := range [][]string{{"salefile", "drill"}, {"compare", "drill", "2026-04-01", "today"}, {"jobcard", "drill"}, {"jobcard", "drill", "--pocket"}, {"jobcard", "drill", "--wall", "--before", "2031-01-01"}} {
		file := filepath.Join(dir, args[0]+".html")
		out(append(args, "--out", file)...)
		page, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		checkPage(t, args[0], string(page))
	}
	var said calendarJSON
	if err := json.Unmarshal([]byte(b.must("calendar", "--json")), &said); err != nil || len(said.Days) == 0 {
		t.Fatalf("calendar --json: %v, %d days", err, len(said.Days))
	}
	events := 0
	for line := range strings.SplitSeq(strings.TrimSuffix(strings.ReplaceAll(b.must("calendar"), "\r\n ", ""), "\r\n"), "\r\n") {
		if !calendarLine.MatchString(line) || firstHidden(line) >= 0 || strings.Contains(line, "\n") {
			t.Errorf("calendar: a line of its own: %.60q", line)
		}
		if line == "BEGIN:VEVENT" {
			events++
		}
	}
	if events != len(said.Days) {
		t.Errorf("calendar: %d events, %d days in --json", events, len(said.Days))
	}
}

// checkPage: a page holds the elements of our templates and no others, none with a handler, a style or an address of its own.
func checkPage(t *testing.T, name, page string) {
	t.Helper()
	if bad := firstHidden(page); bad >= 0 {
		t.Errorf("%s: %.60q", name, page[bad:])
	}
	for _, tag := range pageTag.FindAllString(page, -1) {
		if !ownTag.MatchString(tag) || foreignAttribute.MatchString(quoted.ReplaceAllString(tag, `""`)) {
			t.Errorf("%s: a tag of a stranger: %.80q", name, tag)
		}
	}
	for tag, want := range map[string]int{"<style>": 1, "</style>": 1, "<script": 0, "<meta ": 6, "<!": 1} {
		if n := strings.Count(page, tag); n != want {
			t.Errorf("%s: %d times %s, want %d", name, n, tag, want)
		}
	}
}

var (
	pageTag          = regexp.MustCompile(`<[a-zA-Z/!?][^>]*>?`)
	ownTag           = regexp.MustCompile(`^(<!DOCTYPE html>|</?(html|head|meta|title|style|body|table|thead|tbody|tr|td|th|caption|header|main|nav|section|article|code|small|footer|figure|figcaption|h[1-6]|p|ul|ol|li|dl|dt|dd|div|span|strong|em|b|br|a|details|summary|pre|svg|desc|path|text|tspan|rect|line|circle|g|col|colgroup)[ />])`)
	quoted           = regexp.MustCompile(`"[^"]*"`)
	foreignAttribute = regexp.MustCompile(`(?i)\b(on[a-z]+|style|src|srcdoc|action|formaction|xlink:href|background)=`)
	bareNumber       = regexp.MustCompile(`^-?[0-9]+(\.[0-9]+)?$`)
	calendarLine     = regexp.MustCompile(`^(BEGIN:V(CALENDAR|EVENT)|END:V(CALENDAR|EVENT)|VERSION:2\.0|PRODID:.*|CALSCALE:GREGORIAN|METHOD:PUBLISH|X-WR-CALNAME:.*|UID:[^ ]*@[0-9a-f]{16}\.shedbook|DTSTAMP:[0-9]{8}T000000Z|DTSTART;VALUE=DATE:[0-9]{8}|(SUMMARY|DESCRIPTION|LOCATION|CATEGORIES):.*|PRIORITY:[15]|TRANSP:TRANSPARENT)$`)
)

// firstHidden is where the first character stands that a terminal obeys, that turns reading around or is not seen; -1: none.
func firstHidden(s string) int {
	return strings.IndexFunc(s, func(r rune) bool {
		return r != '\n' && r != '\u200c' && r != '\u200d' && (unicode.In(r, unicode.Cc, unicode.Cf, unicode.Zl, unicode.Zp) || r == utf8.RuneError)
	})
}

// Law: no words of a stranger become anything but words: not a command to the terminal, not a formula, not a line of a calendar, not a member of --json.
func TestHostileWordsEverywhere(t *testing.T) {
	texts := hostileTexts
	if !fullTests {
		texts = []string{strings.Join(hostileTexts[:1], ""), hostileTexts[6], hostileTexts[7], hostileTexts[12]}
	}
	for _, text := range texts {
		b, taken := hostileBook(t, text)
		if taken < 8 {
			t.Fatalf("%.40q: only %d entries took it: nothing is tried", text, taken)
		}
		if !strings.Contains(b.must("history", "--all", "--json"), `"text":`) {
			t.Fatalf("%.40q: no words in the history", text)
		}
		checkHostile(t, b, hostileReads)
	}
}

// FuzzHostileWords: whatever text an entry can hold.
func FuzzHostileWords(f *testing.F) {
	for _, text := range hostileTexts {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 2000 {
			return
		}
		b, _ := hostileBook(t, text)
		checkHostile(t, b, []string{"show drill --why", "due --all --why", "history --all", "prepare --before 2027-01-01", "cost --shops"})
	})
}
