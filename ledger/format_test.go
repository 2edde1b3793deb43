package ledger

import (
	"bytes"
	"encoding/hex"
	"os"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/hiddeco/sshsig"
	"golang.org/x/crypto/ssh"
)

// block returns the fenced block of FORMAT.md that follows the comment
// <!-- name -->, without its fences.
func block(t *testing.T, name string) string {
	t.Helper()
	page, err := os.ReadFile("FORMAT.md")
	if err != nil {
		t.Fatal(err)
	}
	_, rest, found := strings.Cut(string(page), "<!-- "+name+" -->\n```")
	if !found {
		t.Fatalf("FORMAT.md has no block %q", name)
	}
	_, rest, _ = strings.Cut(rest, "\n")
	text, _, found := strings.Cut(rest, "```\n")
	if !found {
		t.Fatalf("FORMAT.md: block %q is not closed", name)
	}
	return text
}

func seedKey(t *testing.T, hexSeed string) *Key {
	t.Helper()
	seed, err := hex.DecodeString(hexSeed)
	if err != nil {
		t.Fatal(err)
	}
	key, err := KeyFromSeed(seed)
	if err != nil {
		t.Fatal(err)
	}
	return key
}

// The example of FORMAT.md verifies, and the recipe beside it gives the same
// bytes: the keys are those of RFC 8032 section 7.1 TEST 1 and TEST 2, the salts
// count up from 00 in the order in which they are drawn.
func TestFormatExample(t *testing.T) {
	founder := seedKey(t, rfc8032[0].secret)
	paper := seedKey(t, rfc8032[1].secret)
	line := block(t, "example")
	e, err := Verify([]byte(line), founder.Public())
	if err != nil {
		t.Fatal(err)
	}
	salts := make([]byte, 32)
	for i := range salts {
		salts[i] = byte(i)
	}
	made, err := Sign(Draft{
		Class: Control, Kind: KindFound,
		Record:  Found{Title: "Quillfeather Farm", Key: PublicKeyOf(founder.Public()), Recovery: PublicKeyOf(paper.Public())},
		Private: ControlPrivate{Name: "Fay Quillfeather", Device: "shed laptop"},
		At:      time.Date(2026, 3, 2, 7, 0, 0, 0, time.UTC),
	}, Position{}, founder, bytes.NewReader(salts))
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(line, string(made.Line())); diff != "" {
		t.Errorf("FORMAT.md (-) and Sign (+) differ:\n%s\n%s", diff, made.Line())
	}
	if got := block(t, "example signed bytes"); got != string(e.SignedBytes())+"\n" {
		t.Errorf("signed bytes in FORMAT.md:\n%s\nwant:\n%s", got, e.SignedBytes())
	}
	armored := e.Armor(founder.Public())
	if got := block(t, "example armor"); got != string(armored) {
		t.Errorf("armor in FORMAT.md:\n%s\nwant:\n%s", got, armored)
	}
	if got := block(t, "example id"); got != e.ID().String()+"\n" {
		t.Errorf("id in FORMAT.md %s want %s", got, e.ID())
	}
	// An outside reader of SSH signatures agrees.
	signature, err := sshsig.Unarmor(armored)
	if err != nil {
		t.Fatal(err)
	}
	pub, err := ssh.NewPublicKey(founder.Public())
	if err != nil {
		t.Fatal(err)
	}
	if err := sshsig.Verify(bytes.NewReader(e.SignedBytes()), signature, pub, sshsig.HashSHA512, EntryNamespace); err != nil {
		t.Error(err)
	}
	// A book of this one line loads and is sound.
	b := load1(t, []Log{{Name: e.Writer().String(), Lines: [][]byte{[]byte(line)}}})
	if err := b.Sound(); err != nil {
		t.Error(err)
	}
	if b.Title() != "Quillfeather Farm" || b.ID() != e.ID() {
		t.Errorf("book %q %s", b.Title(), b.ID())
	}
}

// The tag given in FORMAT.md is the one TagOf computes.
func TestFormatTag(t *testing.T) {
	var key MachineKey
	for i := range key {
		key[i] = byte(i)
	}
	w := WriterOf(seedKey(t, rfc8032[0].secret).Public())
	want := "machine key  " + string(base64Text(key[:])) + "\nwriter       " + w.String() + "\nseq          2\ntag          " + TagOf(key, w, 2).String() + "\n"
	if diff := cmp.Diff(want, block(t, "example tag")); diff != "" {
		t.Error(diff)
	}
}

// Every limit in the code stands in the table of FORMAT.md with its value.
func TestFormatLimits(t *testing.T) {
	page, err := os.ReadFile("FORMAT.md")
	if err != nil {
		t.Fatal(err)
	}
	_, section, _ := strings.Cut(string(page), "\n## Limits\n")
	section, _, _ = strings.Cut(section, "\n## ")
	rows := map[string]string{}
	for _, m := range regexp.MustCompile(`(?m)^\| ([^|]+?) \| ([^|]+?) \|`).FindAllStringSubmatch(section, -1) {
		rows[m[1]] = m[2]
	}
	for name, want := range map[string]int{
		"bytes of a line, its LF included":                                 MaxLine,
		"entries in `seen`":                                                MaxSeen,
		"objects and arrays inside each other":                             MaxNesting,
		"bytes of a member name":                                           MaxName,
		"bytes of a kind":                                                  MaxKind,
		"magnitude of an integer; `seq` and `depth`":                       MaxInteger,
		"bytes of a schedule's text":                                       MaxSchedule,
		"writers a book admits in its life, founder and recovery included": MaxWriters,
		"logs of writers nobody admitted":                                  MaxPendingLogs,
		"bytes of one such log":                                            MaxPendingBytes,
	} {
		text, ok := rows[name]
		if got := digits(text); !ok || got != want {
			t.Errorf("FORMAT.md, limit %q: %q, the code has %d", name, text, want)
		}
	}
}

func digits(s string) int {
	n := 0
	for _, c := range s {
		if c >= '0' && c <= '9' {
			n = n*10 + int(c-'0')
		}
	}
	return n
}

// Every kind that FORMAT.md describes in a row of its own is known, and no other.
func TestFormatKinds(t *testing.T) {
	page, err := os.ReadFile("FORMAT.md")
	if err != nil {
		t.Fatal(err)
	}
	listed := map[string]string{}
	for _, heading := range []string{"Control records", "Records"} {
		_, section, found := strings.Cut(string(page), "\n## "+heading+"\n")
		if !found {
			t.Fatalf("FORMAT.md has no section %q", heading)
		}
		section, _, _ = strings.Cut(section, "\n## ")
		for _, m := range regexp.MustCompile("(?m)^\\| `([a-z_0-9]+)` \\|").FindAllStringSubmatch(section, -1) {
			listed[m[1]] = m[1]
		}
	}
	if diff := cmp.Diff(knownKinds, listed); diff != "" {
		t.Errorf("kinds (-code +FORMAT.md):\n%s", diff)
	}
}
