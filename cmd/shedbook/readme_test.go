package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

var (
	readmeShell = regexp.MustCompile("(?s)```\n(\\$ shedbook .*?)```\n")
	answerID    = regexp.MustCompile(`\[[0-9a-f]{8}\]`)
	citedID     = regexp.MustCompile(`(?:correct|strike)\s+([0-9a-f]{8})`)
)

// The lines that README shows are typed into the made-up family's book, one after the other, and print what README prints; "  ..." stands for the rest of an
// answer, and ids are others with every change of the story or of a built-in schedule. SHEDBOOK_TEST_UPDATE=1 writes README anew.
func TestReadmePrintsWhatTheProgramPrints(t *testing.T) {
	file := filepath.Join("..", "..", "README.md")
	raw, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	readme := string(raw)
	block := readmeShell.FindStringSubmatch(readme)
	if block == nil {
		t.Fatal("README shows no session")
	}
	b := demoBook(t)
	b.vars["COLUMNS"] = "80"
	b.at("2026-10-02T19:00")
	var now strings.Builder
	for n, shown := range strings.Split(block[1], "$ shedbook ") {
		if n == 0 {
			continue
		}
		command, answer, _ := strings.Cut(shown, "\n")
		got := b.must(shellWords(t, command)...) + "\n"
		if keep, _, cut := strings.Cut(answer, "  ...\n"); cut {
			lines := strings.SplitAfter(got, "\n")
			got = strings.Join(lines[:min(strings.Count(keep, "\n"), len(lines))], "") + "  ...\n\n"
		}
		now.WriteString("$ shedbook " + command + "\n" + got)
	}
	got := strings.TrimSuffix(now.String(), "\n")
	if os.Getenv("SHEDBOOK_TEST_UPDATE") != "" && unnamed(got) != unnamed(block[1]) {
		ids := answerID.FindAllString(got, -1)
		fresh := strings.Replace(readme, block[1], got, 1)
		for n, old := range answerID.FindAllString(block[1], -1) {
			if n < len(ids) {
				fresh = strings.ReplaceAll(fresh, strings.Trim(old, "[]"), strings.Trim(ids[n], "[]"))
			}
		}
		if err := os.WriteFile(file, []byte(fresh), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if unnamed(got) != unnamed(block[1]) {
		t.Errorf("README shows\n%s\nthe program prints\n%s", block[1], got)
	}
	cited := citedID.FindAllStringSubmatch(readme, -1)
	if len(cited) == 0 {
		t.Error("README corrects nothing")
	}
	for _, id := range cited {
		if !strings.Contains(block[1], "["+id[1]+"]") {
			t.Errorf("README corrects %s, which none of its answers carries", id[1])
		}
	}
}

// unnamed is a text without the ids of its entries.
func unnamed(text string) string { return answerID.ReplaceAllString(text, "[id]") }
