package ledger

import (
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// What a line names stands in its private part and nowhere else, in the form of
// FORMAT.md.
func TestNamedPapers(t *testing.T) {
	a, b := strings.Repeat("ab", 32), strings.Repeat("cd", 32)
	for _, c := range []struct {
		line string
		want []string
	}{
		{`{"private":{"record":{"papers":[{"digest":"` + b + `","name":"x"},{"digest":"` + a + `"}]}}}`, []string{b, a}},
		{`{"private":{"record":{"papers":[{"digest":"` + strings.ToUpper(a) + `"},{"digest":"../` + a + `"}]}}}`, nil},
		{`{"body":{"record":{"papers":[{"digest":"` + a + `"}]}},"private":{"record":{}}}`, nil},
		{`{"private":{"record":{"papers":["` + a + `"]}}}`, nil},
		{`{"private":{"record":{"papers":[{"digest":"` + a + `"}]}}`, nil},
		{`{"private":{"record":{"text":"\"papers\":[{\"digest\":\"` + a + `\"}]"}}}`, nil},
	} {
		var got []string
		for _, id := range NamedPapers([]byte(c.line)) {
			got = append(got, id.String())
		}
		if diff := cmp.Diff(c.want, got); diff != "" {
			t.Errorf("%s:\n%s", c.line, diff)
		}
	}
}

// The limits on papers in FORMAT.md are those of the code.
func TestPaperLimits(t *testing.T) {
	page, err := os.ReadFile("FORMAT.md")
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]string{
		"bytes of a paper": strconv.Itoa(MaxPaper), "papers of a log": strconv.Itoa(MaxPapers),
		"bytes of papers of one log in one exchange; of a device nobody admitted": strconv.Itoa(MaxPaperBytes) + "; " + strconv.Itoa(MaxPendingPaperBytes),
	} {
		m := regexp.MustCompile(`(?m)^\| ` + name + ` \| ([0-9; ]+) \|`).FindSubmatch(page)
		if m == nil || string(m[1]) != want {
			t.Errorf("FORMAT.md, limit %q: %q, the code has %s", name, m, want)
		}
	}
}
