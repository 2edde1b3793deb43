package paper

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

func written(t *testing.T, p *Page) string {
	t.Helper()
	var b bytes.Buffer
	if err := p.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// hostile is what a stranger may have put into a note: markup, a script, an address, a policy of its own, characters that turn the line around.
const hostile = "</style></title><script>alert(1)</script><img src=x onerror=alert(1)> \" ' --> \u202etxet\u202c \x1b[31m\x00\u2028 javascript:alert(1)"

// every is a page with each block in it, every text of it given.
func every(text string) *Page {
	say := Say(text, "2c908712"+strings.Repeat("0", 56))
	return &Page{Title: text, Kind: text, Running: text, Under: []Text{say}, Foot: []Text{say}, Sections: []Section{{ID: "one", Title: text, Note: text, Blocks: []Block{
		Para{say}, Facts{[]Fact{{Name: text, Values: []Text{say}}}}, List{Items: []Text{say}}, Notice{Title: text, Lines: []Text{{Words: text, Mark: Mark{Stop, text}, From: []string{text}}}, Grave: true},
		Steps{Items: []Step{{say, []string{text}}, {say, nil}}},
		Table{Caption: text, Columns: []Column{{Title: text}, {Title: text, Number: true}}, Rows: []Row{{[]Text{say, say}}}, Foot: text, Fold: text},
		Sources{Caption: text, Fold: text, Entries: []Source{{ID: text, Done: text, Written: text, Who: text, Says: text}}},
		SpotCard{[]SpotRow{{Where: text, What: text, Expected: say}, {What: text, Expected: say}}},
		Windscreen{Title: text, Facts: text, Counters: []string{text}, Wrong: []Text{say}, Left: []string{text}, Proof: text, Price: text, Contact: text, Day: text}, Windscreen{},
		Boxes{Caption: text, Write: []string{text}, Rows: []BoxRow{{Name: text}}}, Commands{[]string{text}}, Contents{[]Link{{"every", text}}}, PrintOnly{say}, Photo{text}, Pictures{[]Picture{{JPEG: []byte(text), Width: 1, Height: 1, About: text, Under: say}}}, Blanks{[]string{text}}, Ticks{text, []Text{say}}, Strip{text, []Block{Para{say}}},
		Task{Number: text, Title: text, Where: text, Why: say, Facts: []Fact{{Name: text, Values: []Text{say}}}, Care: []string{text}, Key: []string{text},
			Boxes: []Boxes{{Caption: text, Write: []string{text}, Rows: []BoxRow{{Name: text, Boxes: []Box{{Label: text, Last: text, Ticks: []string{text}}}}}}}},
	}}}}
}

// Each block that has a template is in every: a new one is added there, or nothing hostile is tried on it.
func TestEveryHasEachBlock(t *testing.T) {
	used := map[string]bool{}
	for _, b := range every("x").Sections[0].Blocks {
		used[b.template()] = true
	}
	files, err := filepath.Glob("*.go")
	if err != nil || len(files) == 0 {
		t.Fatal(err)
	}
	found := 0
	for _, f := range files {
		text, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range regexp.MustCompile(`(?m)^func \(.*\) template\(\) string +\{ return "([a-z]+)" \}`).FindAllSubmatch(text, -1) {
			if found++; !used[string(m[1])] && string(m[1]) != "figure" { // charts have a test of their own
				t.Errorf("no %s in every", m[1])
			}
		}
	}
	if found < 10 {
		t.Errorf("only %d blocks were found", found)
	}
}

func TestNothingHostileSurvives(t *testing.T) {
	page, plain := written(t, every(hostile)), written(t, every("plain"))
	tags := regexp.MustCompile(`<[/!a-z][^>]*>`)
	attributes := regexp.MustCompile(`data-of="[^"]*"`)
	bare := func(s string) []string { return tags.FindAllString(attributes.ReplaceAllString(s, ""), -1) }
	if a, b := bare(page), bare(plain); len(a) != len(b) {
		t.Errorf("hostile text makes %d tags, plain text %d", len(a), len(b))
	}
	if a, b := strings.Count(page, "<img"), strings.Count(plain, "<img"); a != b { // its own pictures
		t.Errorf("hostile text makes %d pictures, plain text %d", a, b)
	}
	for _, bad := range []string{"<script", "\x1b", "\x00", "\u202e", "\u202c", "\u2028"} {
		if strings.Contains(page, bad) {
			t.Errorf("%q is in the page", bad)
		}
	}
	if !strings.Contains(page, `\u{202e}txet`) {
		t.Error("a direction control is not shown")
	}
}

// The policy allows the page's style by its digest, so it must be that of the very text between the tags (CSP Level 3, 8.4).
func TestPolicyNamesTheStyle(t *testing.T) {
	page := written(t, every("plain"))
	text := regexp.MustCompile(`(?s)<style>(.*?)</style>`).FindStringSubmatch(page)[1]
	sum := sha256.Sum256([]byte(text))
	said := regexp.MustCompile(`style-src &#39;sha256-(.*?)&#39;`).FindStringSubmatch(page)
	if said == nil {
		t.Fatal("no digest in the policy")
	}
	if want := base64.StdEncoding.EncodeToString(sum[:]); strings.ReplaceAll(said[1], "&#43;", "+") != want {
		t.Errorf("policy has %s, the style is %s", said[1], want)
	}
	for _, no := range []string{" style=", "http://", "https://", "@import", "url("} {
		if strings.Contains(page, no) {
			t.Errorf("%q is in the page", no)
		}
	}
}

func TestListsAreLists(t *testing.T) {
	for numbered, want := range map[bool]string{false: `<ul class="lines">`, true: `<ol class="lines">`} {
		page := written(t, &Page{Title: "x", Sections: []Section{{Blocks: []Block{List{Items: []Text{Say("one")}, Numbered: numbered}}}}})
		if !strings.Contains(page, want+"\n<li>one</li>") {
			t.Errorf("numbered %v: no %s", numbered, want)
		}
	}
}

func TestSameBytes(t *testing.T) {
	if one, two := written(t, every("plain")), written(t, every("plain")); one != two {
		t.Error("two writings differ")
	}
}

func TestRefs(t *testing.T) {
	a, b, c, d := strings.Repeat("a", 64), strings.Repeat("b", 64), strings.Repeat("c", 64), strings.Repeat("d", 64)
	p := &Page{Title: "x", Sections: []Section{{Blocks: []Block{Para{Say("moved", a, b, c, d)}, Para{Say("three", a, b, c)}, Sources{Entries: []Source{{ID: a}}}}}}}
	page := written(t, p)
	for _, want := range []string{
		`moved <span class="refs"><a href="#eaaaaaaaa">aaaaaaaa</a> bbbbbbbb +2</span>`,
		`three <span class="refs"><a href="#eaaaaaaaa">aaaaaaaa</a> bbbbbbbb cccccccc</span>`,
		`id="eaaaaaaaa"`,
	} {
		if !strings.Contains(page, want) {
			t.Errorf("no %s", want)
		}
	}
}
