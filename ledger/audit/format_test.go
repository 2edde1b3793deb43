package audit

import (
	"bytes"
	"encoding/hex"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shedbook/ledger"
	"shedbook/rules/record"
)

func formatPage(t *testing.T) string {
	t.Helper()
	page, err := os.ReadFile("../FORMAT.md")
	if err != nil {
		t.Fatal(err)
	}
	return string(page)
}

// counting gives bytes that count up.
type counting struct{ next byte }

func (c *counting) Read(b []byte) (int, error) {
	for i := range b {
		b[i] = c.next
		c.next++
	}
	return len(b), nil
}

// The evidence in FORMAT.md is what WriteEvidence makes of the book described
// there, and it verifies. The keys are those of RFC 8032 section 7.1 TEST 1 and
// TEST 2.
func TestFormatEvidence(t *testing.T) {
	seed := func(text string) *ledger.Key {
		b, _ := hex.DecodeString(text)
		key, err := ledger.KeyFromSeed(b)
		if err != nil {
			t.Fatal(err)
		}
		return key
	}
	founder := seed("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60")
	paper := seed("4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb")
	random := &counting{}
	w := &world{t: t, random: random, now: time.Date(2026, 3, 2, 6, 59, 0, 0, time.UTC)}
	d := &device{world: w, key: founder}
	d.book = w.load(logsOf(d.make(ledger.Draft{
		Class: ledger.Control, Kind: ledger.KindFound,
		Record:  ledger.Found{Title: "Quillfeather Farm", Key: d.public(), Recovery: ledger.PublicKeyOf(paper.Public())},
		Private: ledger.ControlPrivate{Name: "Fay Quillfeather", Device: "shed laptop"},
	}, ledger.Position{})))
	var machines [2]machine
	for i := range machines {
		machines[i].key, _ = ledger.NewMachineKey(random)
	}
	for i, name := range []string{"drill", "baler"} {
		text, _ := machines[i].key.MarshalText()
		machines[i].id = d.work(machines[i], "machine", record.Machine{
			Work: record.Work{Done: "2026-03-02"}, Key: string(text), Name: name, Schedule: []string{"disc-drill", "round-baler"}[i], Yard: rid(d.book.ID()),
		}).ID()
	}
	d.did(machines[0])
	file := evidenceOf(t, d.book, machines[0], EvidenceOptions{})
	got := strings.Join(unpack(t, file), "\n") + "\n"
	_, want, _ := strings.Cut(formatPage(t), "<!-- example evidence -->\n```json\n")
	want, _, _ = strings.Cut(want, "```")
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("FORMAT.md (-) and WriteEvidence (+) differ:\n%s\n%s", diff, got)
	}
	ev, err := ReadEvidence(bytes.NewReader(pack(strings.Split(strings.TrimSuffix(want, "\n"), "\n"))))
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]string{"warning: no stamp is in the evidence: nothing shows that the logs were not cut before it was made [no-stamp]"}, texts(VerifyEvidence(ev, Options{}))); diff != "" {
		t.Error(diff)
	}
}

// The limits of evidence in FORMAT.md are those of the code.
func TestFormatLimits(t *testing.T) {
	page := formatPage(t)
	for name, want := range map[string]int{"bytes of a line of evidence, its LF included": MaxEvidenceLine, "entries in evidence": MaxEvidenceEntries} {
		m := regexp.MustCompile(`(?m)^\| ` + name + ` \| (\d+) \|`).FindStringSubmatch(page)
		if m == nil || m[1] != strconv.Itoa(want) {
			t.Errorf("FORMAT.md, limit %q: %q, the code has %d", name, m, want)
		}
	}
}

// Every member that a line of evidence may have is described, and no other.
func TestFormatEvidenceMembers(t *testing.T) {
	_, section, _ := strings.Cut(formatPage(t), "\n## Evidence\n")
	section, _, _ = strings.Cut(section, "\n## ")
	var listed []string
	for _, m := range regexp.MustCompile("(?m)^\\| `([a-z]+)` \\|").FindAllStringSubmatch(section, -1) {
		listed = append(listed, m[1])
	}
	source, err := os.ReadFile("evidence_line.go")
	if err != nil {
		t.Fatal(err)
	}
	var read []string
	_, body, _ := strings.Cut(string(source), "\nfunc parseEvidenceLine(")
	for _, m := range regexp.MustCompile("\\((?:`[{,]\")([a-z]+)\":").FindAllStringSubmatch(body, -1) {
		read = append(read, m[1])
	}
	if diff := cmp.Diff(read, listed); diff != "" {
		t.Errorf("members read (-) and listed in FORMAT.md (+):\n%s", diff)
	}
}

// FORMAT.md lists thirty attacks; each names tests that exist, and TestAttacks makes just those that name it.
func TestFormatAttacks(t *testing.T) {
	_, section, _ := strings.Cut(formatPage(t), "\n## Attacks\n")
	section, _, _ = strings.Cut(section, "\n## ")
	have := testNames(t)
	made := map[int]bool{}
	for _, a := range attackTable {
		made[a.row] = true
	}
	rows := regexp.MustCompile(`(?m)^\| (\d+) \|.*\| ([^|]+) \|$`).FindAllStringSubmatch(section, -1)
	if len(rows) != 30 {
		t.Fatalf("%d attacks, want 30", len(rows))
	}
	for i, row := range rows {
		tests := strings.Split(row[2], ", ")
		if row[1] != strconv.Itoa(i+1) || len(tests) == 0 {
			t.Errorf("row %d reads %q", i+1, row[0])
		}
		here := false
		for _, name := range tests {
			if !have[name] {
				t.Errorf("attack %d: there is no test %q", i+1, name)
			}
			here = here || name == "TestAttacks"
		}
		if here != made[i+1] {
			t.Errorf("attack %d: the section says %v of TestAttacks, the table there says %v", i+1, here, made[i+1])
		}
	}
}

// testNames are the tests and scripts of the whole module.
func testNames(t *testing.T) map[string]bool {
	t.Helper()
	have := map[string]bool{}
	function := regexp.MustCompile(`(?m)^func ((?:Test|Fuzz)\w+)\(`)
	err := filepath.WalkDir(filepath.Join("..", ".."), func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && strings.HasPrefix(d.Name(), ".git"):
			return fs.SkipDir
		case strings.HasSuffix(path, ".txtar"):
			have[d.Name()] = true
		case strings.HasSuffix(path, "_test.go"):
			text, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			for _, m := range function.FindAllSubmatch(text, -1) {
				have[string(m[1])] = true
			}
		}
		return nil
	})
	if err != nil || len(have) < 100 {
		t.Fatalf("%d tests, %v", len(have), err)
	}
	return have
}
