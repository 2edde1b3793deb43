package main

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/google/go-cmp/cmp"

	"shedbook/cmd/shedbook/internal/phone"
	"shedbook/ledger"
)

// typedRow is a row of a table and the line that a person types for it.
type typedRow struct {
	cells []string
	line  []string
}

// someRows are rows in no order of days: plain ones, which are made by the tally, and those that need the machine's history.
func someRows(dice *rand.Rand, n int) []typedRow {
	var out []typedRow
	acres := 100
	for i := range n {
		day := fmt.Sprintf("2025-%02d-%02d", 1+dice.IntN(12), 1+dice.IntN(28))
		place := fmt.Sprint(1 + dice.IntN(8))
		add := func(machine, place, what, value, note, act string, line ...string) {
			out = append(out, typedRow{[]string{machine, day, place, what, value, note, act}, append(line, "--done", day)})
		}
		switch dice.IntN(12) {
		case 0:
			add("drill", place, "disc-reach", "5 7/8 in", "", "", "measure", "drill", place, "disc-reach", "5 7/8 in")
		case 1:
			add("drill", "1-4", "grease", "", "dusty", "", "did", "drill", "1-4", "grease", "--note", "dusty")
		case 2:
			acres += dice.IntN(30)
			add("drill", "", "area", fmt.Sprint(acres), "", "", "counter", "drill", fmt.Sprintf("area=%d", acres))
		case 3:
			add("drill", "", "area", "+12", "", "", "counter", "drill", "area", "+12")
		case 4:
			add("drill", place, "depth", "5", "", "", "adjust", "drill", place, "depth=5")
		case 5:
			add("drill", place, "depth", "+1", "", "", "adjust", "drill", place, "depth", "+1")
		case 6:
			add("drill", place, "disc", "", "", "", "swap", "drill", place, "disc")
		case 7:
			add("drill", place, "", "", fmt.Sprintf("seal leaks %d", i), "fault", "fault", "drill", "opener/"+place, fmt.Sprintf("seal leaks %d", i))
		case 8:
			add("tractor", "", "", "", fmt.Sprintf("looked over %d", i), "", "note", "tractor", fmt.Sprintf("looked over %d", i))
		case 9:
			add("tractor", "", "", fmt.Sprint(acres*2), "", "counter", "counter", "tractor", fmt.Sprint(acres*2))
		case 10:
			add("drill", place, "", "", "put right", "repair", "repair", "drill", "opener/"+place, "put right")
		case 11:
			add("tractor", "", "oil-change", "", "", "", "did", "tractor", "oil-change", "--counter", fmt.Sprint(acres*2))
			out[len(out)-1].cells[4] = ""
			out[len(out)-1].cells = append(out[len(out)-1].cells, fmt.Sprint(acres*2))
		}
	}
	return out
}

func csvOf(rows []typedRow) string {
	var b strings.Builder
	b.WriteString("machine;date;place;what;value;note;act;counter\r\n")
	for _, r := range rows {
		cells := r.cells
		for len(cells) < 8 {
			cells = append(cells, "")
		}
		b.WriteString(strings.Join(cells, ";") + "\r\n")
	}
	return b.String()
}

var hexID = regexp.MustCompile(`[0-9a-f]{64}(/[a-z]+/[0-9]+( left| right)?)?|\[[0-9a-f]{8}\]|/[0-9a-f]{8}/`)

// everything is what the book says of its machines, its due list and its history, without ids.
func everything(b *testBook) string {
	all := b.must("show", "drill", "--json") + b.must("show", "tractor", "--json") + b.must("due", "--all", "--json") + b.must("machine", "list", "--json")
	parts := strings.Split(hexID.ReplaceAllString(all, "ID"), "{")
	for i := range parts {
		parts[i] = strings.TrimRight(parts[i], "]}, \n")
	}
	slices.Sort(parts) // lists are in the order of ids where nothing else tells their members apart
	return strings.Join(parts, "\n")
}

func importBook(t *testing.T) *testBook {
	b := newTestBook(t)
	b.must("machine", "add", "drill", "disc-drill", "--options", "openers=8", "--done", "2024-01-01")
	b.must("machine", "add", "tractor", "tractor", "--serial", "000001", "--done", "2024-01-01")
	return b
}

// Law: what rows of a file come to is what the same lines come to when they are typed, one command after the other.
func TestLawImportIsTyping(t *testing.T) {
	rounds, n := 3, 25
	if os.Getenv("SHEDBOOK_TEST") == "full" {
		rounds, n = 10, 60
	}
	for seed := range rounds {
		dice := rand.New(rand.NewPCG(uint64(seed), 1))
		rows := someRows(dice, n)
		typed, imported := importBook(t), importBook(t)
		for _, r := range rows {
			typed.must(append(r.line, "--yes", "--quiet")...)
		}
		file := filepath.Join(t.TempDir(), "rows.csv")
		if err := os.WriteFile(file, []byte(csvOf(rows)), 0o666); err != nil {
			t.Fatal(err)
		}
		imported.must("import", "csv", file, "--yes")
		if diff := cmp.Diff(everything(typed), everything(imported)); diff != "" {
			t.Fatalf("seed %d (- typed, + imported): %s\n%s", seed, diff, csvOf(rows))
		}
	}
}

// Law: the questions asked of a file's rows are those asked of the lines typed. Each row that the table lets pass must be one that the command lets pass, given those before.
func TestLawImportAsksAsTyping(t *testing.T) {
	dice := rand.New(rand.NewPCG(7, 7))
	rows := someRows(dice, 40)
	typed, imported := importBook(t), importBook(t)
	var want []int
	for i, r := range rows {
		if _, _, code := typed.run(append(r.line, "--quiet")...); code != 0 {
			want = append(want, i+2)
		}
	}
	file := filepath.Join(t.TempDir(), "rows.csv")
	if err := os.WriteFile(file, []byte(csvOf(rows)), 0o666); err != nil {
		t.Fatal(err)
	}
	out := imported.must("import", "csv", file, "--skip-bad", "--json")
	var got []int
	for _, m := range regexp.MustCompile(`"line":([0-9]+),"fate":"(asked|bad)"`).FindAllStringSubmatch(out, -1) {
		var line int
		fmt.Sscan(m[1], &line)
		got = append(got, line)
	}
	if len(want) == 0 {
		t.Fatal("nothing was asked about: the test shows nothing")
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(- typed, + imported): %s\n%s", diff, csvOf(rows))
	}
	if diff := cmp.Diff(everything(typed), everything(imported)); diff != "" {
		t.Error(diff)
	}
}

// Law: a file imported again adds nothing, whether it grew at its end, was saved with another separator and other line ends, or has its columns in another order.
func TestLawImportedOnce(t *testing.T) {
	b := importBook(t)
	rows := []typedRow{
		{cells: []string{"drill", "2025-04-01", "1-4", "grease", "", "", ""}},
		{cells: []string{"drill", "2025-04-01", "1-4", "grease", "", "", ""}}, // the same again is a row of its own
		{cells: []string{"drill", "2025-04-02", "3", "disc-reach", "5,875", "", ""}},
		{cells: []string{"tractor", "2025-04-03", "", "hours", "812", "", ""}},
	}
	file := filepath.Join(t.TempDir(), "rows.csv")
	write := func(text string) {
		t.Helper()
		if err := os.WriteFile(file, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	text := csvOf(rows)
	write(text)
	if out := b.must("import", "csv", file, "--yes", "--decimal", "comma"); !strings.HasPrefix(out, "imported: 4 entries") {
		t.Fatal(out)
	}
	before := b.must("history", "--json")
	grown := append(rows, typedRow{cells: []string{"tractor", "2025-04-04", "", "hours", "820", "", ""}})
	other := "what,date,machine,value,place\nhours,2025-04-03,tractor,812,\ngrease,2025-04-01,drill,,1-4\ndisc reach,2.4.2025,drill,5 7/8,3\ngrease,2025-04-01,drill,,1-4\n"
	for name, again := range map[string]string{"as it is": text, "other line ends": strings.ReplaceAll(text, "\r\n", "\n"), "a mark": "\ufeff" + text,
		"tabs": strings.ReplaceAll(text, ";", "\t"), "commas": strings.ReplaceAll(strings.ReplaceAll(text, "5,875", "5.875"), ";", ",")} {
		write(again)
		decimal := "comma"
		if name == "commas" {
			decimal = "point"
		}
		if out := b.must("import", "csv", file, "--decimal", decimal, "--json"); !strings.Contains(out, `"recorded":0,"already":4,`) {
			t.Errorf("%s: %s", name, out)
		}
	}
	if b.must("history", "--json") != before {
		t.Error("importing again has changed the history")
	}
	write(csvOf(grown))
	if out := b.must("import", "csv", file, "--decimal", "comma"); !strings.HasPrefix(out, "imported: 1 entry") {
		t.Errorf("a grown file: %s", out)
	}
	write(other)
	if out := b.must("import", "csv", file, "--json"); !strings.Contains(out, `"recorded":0,"already":4,`) {
		t.Errorf("another order: %s", out)
	}
}

// A table cut anywhere is imported by its whole rows or refused; an entry never comes of half a file.
func TestImportMutated(t *testing.T) {
	b := importBook(t)
	text := csvOf(someRows(rand.New(rand.NewPCG(3, 3)), 12))
	file := filepath.Join(t.TempDir(), "rows.csv")
	before := b.must("history", "--json")
	dice := rand.New(rand.NewPCG(1, 2))
	for range 60 {
		data := []byte(text)
		switch dice.IntN(3) {
		case 0:
			data = data[:dice.IntN(len(data))]
		case 1:
			data[dice.IntN(len(data))] ^= byte(1 << dice.IntN(8))
		case 2:
			at := dice.IntN(len(data))
			data = append(data[:at:at], append([]byte(`";`), data[at:]...)...)
		}
		if err := os.WriteFile(file, data, 0o666); err != nil {
			t.Fatal(err)
		}
		out, complaint, code := b.run("import", "csv", file, "--dry-run")
		if strings.Contains(out+complaint, "goroutine") || code != 0 && !strings.Contains(complaint, "shedbook: ") {
			t.Fatalf("exit %d of\n%s\n%s%s", code, data, out, complaint)
		}
	}
	if b.must("history", "--json") != before {
		t.Error("a dry run has recorded something")
	}
}

var (
	readmeTable  = regexp.MustCompile("(?s)```csv\n(.*?)```\n")
	readmeImport = regexp.MustCompile("(?s)```\n(\\$ shedbook import .*?)```\n")
)

// The table that README shows is imported into the made-up family's book by the lines it shows, and prints what it shows. SHEDBOOK_TEST_UPDATE=1 writes README anew.
func TestReadmeImports(t *testing.T) {
	file := filepath.Join("..", "..", "README.md")
	raw, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	table, session := readmeTable.FindStringSubmatch(string(raw)), readmeImport.FindStringSubmatch(string(raw))
	if table == nil || session == nil {
		t.Fatal("README imports nothing")
	}
	b := demoBook(t)
	b.vars["COLUMNS"] = "80"
	b.at("2026-10-02T19:00")
	if err := os.WriteFile(filepath.Join(b.dir, "notebook.csv"), []byte(table[1]), 0o666); err != nil {
		t.Fatal(err)
	}
	var now strings.Builder
	for line := range strings.Lines(session[1]) {
		if command, ok := strings.CutPrefix(strings.TrimSpace(line), "$ shedbook "); ok {
			now.WriteString("$ shedbook " + command + "\n" + b.must(shellWords(t, command)...))
		}
	}
	if os.Getenv("SHEDBOOK_TEST_UPDATE") != "" {
		if err := os.WriteFile(file, []byte(strings.Replace(string(raw), session[1], now.String(), 1)), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if diff := cmp.Diff(now.String(), session[1]); diff != "" {
		t.Errorf("(- printed, + README): %s", diff)
	}
}

// tiredSigner signs so many entries and then wrongly, as a broken agent could.
type tiredSigner struct {
	ledger.Signer
	left atomic.Int64
}

func (s *tiredSigner) Sign(message []byte) ([]byte, error) {
	if s.left.Add(-1) < 0 {
		message = append([]byte{0}, message...)
	}
	return s.Signer.Sign(message)
}

// Law: where one signature of a long file does not hold, be it the last, nothing of the file is in the book.
func TestImportSignsAllOrNothing(t *testing.T) {
	const n = rowsAtOnce + 50
	for _, good := range []int64{0, 7, n - 1} {
		b := importBook(t)
		before := b.must("history", "--json")
		c := b.call()
		opened, err := c.open()
		if err != nil {
			t.Fatal(err)
		}
		im := &importing{c: c, name: "rows.csv", digest: digestOf(nil)}
		for i := range n {
			im.rows = append(im.rows, &importRow{line: i + 2, act: phone.Act{Kind: "note", Machine: "tractor", Text: fmt.Sprint("looked over ", i), Flags: []string{"--done=2025-04-01"}}})
		}
		signer, ring, err := opened.signer()
		if err != nil {
			t.Fatal(err)
		}
		tired := &tiredSigner{Signer: signer}
		tired.left.Store(good)
		opened.bulk = true
		if err := opened.writeSigned(tired, ring, im.run); err == nil || !strings.Contains(err.Error(), "nothing was recorded") {
			t.Errorf("after %d good signatures: %v", good, err)
		}
		if b.must("history", "--json") != before {
			t.Errorf("after %d good signatures something of the file is in the book", good)
		}
		b.must("note", "tractor", "the book goes on")
		b.must("audit")
	}
}
