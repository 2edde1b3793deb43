package schedule

import (
	"regexp"
	"sort"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

var grammarKey = regexp.MustCompile("(?m)^\\| `([a-z_]+)` \\| ([^|]+)\\| ([^|]*)\\| ([^|]*)\\| ([^|]*)\\|$")

// grammarTables are the keys GRAMMAR.md documents, by the kind of table.
func grammarTables(t *testing.T) map[string][]string {
	t.Helper()
	out := map[string][]string{}
	for _, section := range strings.Split(Grammar, "\n### ")[1:] {
		section, _, _ = strings.Cut(section, "\n## ")
		name, body, _ := strings.Cut(section, "\n")
		for _, m := range grammarKey.FindAllStringSubmatch(body, -1) {
			out[name] = append(out[name], m[1])
		}
		sort.Strings(out[name])
	}
	return out
}

// GRAMMAR.md has every key that is read, and no other.
func TestGrammarHasEveryKey(t *testing.T) {
	read1 := map[string]map[string]bool{}
	texts := []string{Example()}
	for _, s := range Builtins() {
		texts = append(texts, s.Text)
	}
	for _, r := range hardRules {
		texts = append(texts, r.text)
	}
	for _, text := range texts {
		root, err := parseTree("t.toml", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		for kind, keys := range list(root, nil).grammar {
			if read1[kind] == nil {
				read1[kind] = map[string]bool{}
			}
			for _, k := range keys {
				read1[kind][k] = true
			}
		}
	}
	want := map[string][]string{}
	for kind, keys := range read1 {
		for k := range keys {
			want[kind] = append(want[kind], k)
		}
		sort.Strings(want[kind])
	}
	if diff := cmp.Diff(want, grammarTables(t)); diff != "" {
		t.Errorf("keys (-read +documented):\n%s", diff)
	}
}

func TestGrammarHasEveryCautionAndEvent(t *testing.T) {
	for _, c := range StandardCautions() {
		if !strings.Contains(Grammar, "| `"+c.Name+"` | "+c.Text+" |\n") {
			t.Errorf("GRAMMAR.md lacks caution %s or has other words for it", c.Name)
		}
	}
	for _, e := range eventNames {
		if !strings.Contains(Grammar, "`"+e+"`") {
			t.Errorf("GRAMMAR.md lacks the event %s", e)
		}
	}
	for _, w := range reserved {
		if !strings.Contains(Grammar, w) {
			t.Errorf("GRAMMAR.md lacks the reserved word %s", w)
		}
	}
}

// The example holds, uses most of the grammar, and fits with and without its options.
func TestExample(t *testing.T) {
	f := mustFit(t, Example())
	checkWhole(t, f)
	checkWhole(t, mustFit(t, Example(), option("conditioner", "no"), option("discs", "4")))
	for _, section := range []string{"counter", "option", "place", "group", "pair", "part", "setting", "reading", "job", "relation", "setup", "spec", "caution"} {
		if !strings.Contains(Example(), "\n["+section+".") {
			t.Errorf("the example shows no %s", section)
		}
	}
	knives, _ := f.Part("knives")
	if knives.Name != "knife" || knives.Edges != 2 || knives.Pack != 10 {
		t.Errorf("%+v", knives)
	}
}
