package schedule

import (
	"flag"
	"os"
	"regexp"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

var (
	mutateValue = regexp.MustCompile(`= ?("[^"]*"|[0-9]+|true|\[[^\]=]*\])`)
	mutateWord  = regexp.MustCompile(`[a-z][a-z_-]+`)
	strange     = []string{`1`, `0`, `-3`, `"x"`, `""`, `true`, `false`, `[]`, `{}`, `[{}]`, `[1]`, `["x", "x"]`, `[[]]`, `2.5`, `1e3`, `nan`, `2026-01-01`, `"5 in"`, `"5 psi"`,
		`"250 h"`, `"12 mo"`, `"=openers"`, `"=discs"`, `"=disc-new"`, `"=boots"`, `"=no"`, `"90 %"`, `"grease"`, `"disc"`, `"opener"`, `"wheel"`, `"depth"`, `"disc-reach"`, `"a/left"`,
		`"1-4"`, `"1+2"`, `{ option = "boots", is = "no" }`, `{ any = [{ crop = "hay" }, { option = "boots", is = "no" }] }`, `{ setting = "depth", is = "1" }`}
	checksFull = os.Getenv("SHEDBOOK_TEST") == "full"
)

// Law: a built-in text with some of its values, words and lines changed either names its mistakes, each within the text, or makes a kind of which any
// machine fits or is refused with an error; nothing panics, and no reference dangles.
func TestMutatedTexts(t *testing.T) {
	var texts []string
	for _, s := range Builtins() {
		texts = append(texts, s.Text)
	}
	texts = append(texts, Example(), prelude)
	for _, r := range hardRules {
		texts = append(texts, r.text)
	}
	rapid.Check(t, func(t *rapid.T) {
		for range map[bool]int{false: 1, true: 50}[checksFull] {
			mutateOnce(t, rapid.SampledFrom(texts).Draw(t, "text"))
		}
	})
}

func mutateOnce(t *rapid.T, text string) {
	lines := strings.Split(text, "\n")
	for range rapid.IntRange(1, 3).Draw(t, "changes") {
		i := rapid.IntRange(0, len(lines)-1).Draw(t, "line")
		switch rapid.IntRange(0, 4).Draw(t, "change") {
		case 0:
			lines[i] = ""
		case 1:
			lines = append(lines, lines[i])
		case 2, 3:
			if at := mutateValue.FindAllStringSubmatchIndex(lines[i], -1); at != nil {
				m := at[rapid.IntRange(0, len(at)-1).Draw(t, "value")]
				lines[i] = lines[i][:m[2]] + rapid.SampledFrom(strange).Draw(t, "new") + lines[i][m[3]:]
			}
		case 4:
			if at := mutateWord.FindAllStringIndex(lines[i], -1); at != nil {
				m := at[rapid.IntRange(0, len(at)-1).Draw(t, "word")]
				other := mutateWord.FindString(lines[rapid.IntRange(0, len(lines)-1).Draw(t, "other")])
				lines[i] = lines[i][:m[0]] + other + lines[i][m[1]:]
			}
		}
	}
	changed := strings.Join(lines, "\n")
	s, err := Parse("m.toml", []byte(changed))
	if err != nil {
		for _, e := range err.(Errors) {
			if e.Line < 1 || e.Line > len(lines) || e.Column < 1 || e.Column > len(lines[e.Line-1])+1 {
				t.Fatalf("a mistake outside the text: %v", e)
			}
		}
		return
	}
	f, err := s.Fit(anyOptions(t, s), nil, nil)
	if err != nil {
		return
	}
	checkWhole(t, f)
}

// fewerChecks has a property test of every kind try a few machines of each in the plain run, unless a number was given.
func fewerChecks(t *testing.T) {
	given := checksFull
	flag.Visit(func(f *flag.Flag) { given = given || f.Name == "rapid.checks" })
	if given {
		return
	}
	count := flag.Lookup("rapid.checks").Value
	before := count.String()
	if err := count.Set("12"); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = count.Set(before) })
}
