package ledger

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// The list is frozen: a changed word would change what people compared on the
// phone and make the papers in their drawers unreadable.
func TestWordListIsFrozen(t *testing.T) {
	sum := sha256.Sum256([]byte(wordFile))
	const want = "c59e2755023b56df1724dfcf623c354cc5d888e80a8305f0444949f3e863fd93"
	if got := hex.EncodeToString(sum[:]); got != want {
		t.Fatalf("the list of words has changed: %s, want %s", got, want)
	}
}

// What makes the words fit for the phone.
func TestWordList(t *testing.T) {
	if len(wordList) != 1<<bitsOfWord || wordFile != strings.Join(wordList, "\n")+"\n" {
		t.Fatalf("%d words, one a line", len(wordList))
	}
	if !slices.IsSorted(wordList) {
		t.Error("the words are not sorted")
	}
	four := make(map[string]string)
	for i, w := range wordList {
		if len(w) < 3 || len(w) > 7 || strings.Trim(w, "abcdefghijklmnopqrstuvwxyz") != "" {
			t.Errorf("%q has not 3 to 7 letters a-z", w)
		}
		start := w[:min(4, len(w))]
		if other, ok := four[start]; ok {
			t.Errorf("%s and %s share their first four letters", w, other)
		}
		four[start] = w
		for _, x := range wordList[:i] {
			if lettersApart(w, x) < 2 && !neighboursSwapped(w, x) {
				t.Errorf("%s and %s differ by one letter", w, x)
			}
		}
	}
}

// neighboursSwapped: that is two letters changed, which lettersApart counts as
// one mistake.
func neighboursSwapped(a, b string) bool {
	x, y := []byte(a), []byte(b)
	slices.Sort(x)
	slices.Sort(y)
	return bytes.Equal(x, y)
}

// The six words are taken from the digest's bits by long division here, by
// shifting in the code.
func TestWords(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var pub PublicKey
		copy(pub[:], rapid.SliceOfN(rapid.Byte(), 32, 32).Draw(rt, "key"))
		sum := sha256.Sum256(append([]byte("shedbook-words-v1\n"), pub[:]...))
		digits := ""
		for _, b := range sum {
			digits += fmt.Sprintf("%08b", b)
		}
		var want []string
		for i := range 6 {
			var v int
			fmt.Sscanf(digits[11*i:11*i+11], "%b", &v)
			want = append(want, wordList[v])
		}
		if got := Words(pub); !slices.Equal(got, want) {
			rt.Fatalf("%v, want %v", got, want)
		}
	})
}

// The words in FORMAT.md are those of its example's keys.
func TestFormatWords(t *testing.T) {
	founder, paper := seedKey(t, rfc8032[0].secret), seedKey(t, rfc8032[1].secret)
	if want, got := strings.Join(Words(PublicKeyOf(founder.Public())), " ")+"\n", block(t, "example words"); got != want {
		t.Errorf("words in FORMAT.md %s want %s", got, want)
	}
	if want, got := paper.RecoveryText(), block(t, "example recovery"); got != want {
		t.Errorf("recovery key in FORMAT.md:\n%swant\n%s", got, want)
	}
	page, err := os.ReadFile("FORMAT.md")
	if err != nil {
		t.Fatal(err)
	}
	if sum := ID(sha256.Sum256([]byte(wordFile))); !bytes.Contains(page, []byte("`"+sum.String()+"`")) {
		t.Errorf("FORMAT.md does not give the list's digest %s", sum)
	}
}

func TestRecoveryText(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		key, err := KeyFromSeed(rapid.SliceOfN(rapid.Byte(), 32, 32).Draw(rt, "seed"))
		if err != nil {
			rt.Fatal(err)
		}
		text := key.RecoveryText()
		if n := len(strings.Fields(text)); n != 24 || strings.Count(text, "\n") != 4 {
			rt.Fatalf("%d words in %q", n, text)
		}
		words := strings.Fields(text)
		for i := range words { // as people write it down
			words[i] = fmt.Sprintf("%d. %s", i+1, strings.ToUpper(words[i]))
		}
		for _, typed := range []string{text, strings.Join(words, ",\r\n ")} {
			got, err := ParseRecoveryText(typed)
			if err != nil || !bytes.Equal(got.Seed(), key.Seed()) {
				rt.Fatalf("%q: %v", typed, err)
			}
		}
	})
}

// A wrong word of the list, or two swapped, is found by the check bits in all
// but one of 256 cases: no more is promised, and no less.
func TestRecoveryTextChecks(t *testing.T) {
	key, _ := KeyFromSeed(bytes.Repeat([]byte{7}, 32))
	words := strings.Fields(key.RecoveryText())
	passed, tried := 0, 0
	for i := range words {
		for _, w := range wordList {
			if w == words[i] {
				continue
			}
			changed := slices.Clone(words)
			changed[i] = w
			tried++
			if _, err := ParseRecoveryText(strings.Join(changed, " ")); err == nil {
				passed++
			} else if !strings.HasPrefix(err.Error(), "all 24 words are in the list, but they are not a recovery key") {
				t.Fatal(err)
			}
		}
	}
	if passed == 0 || passed > tried/200 {
		t.Errorf("%d of %d wrong words passed, expected about %d", passed, tried, tried/256)
	}
}

func TestRecoveryTextMistakes(t *testing.T) {
	key, _ := KeyFromSeed(bytes.Repeat([]byte{7}, 32))
	words := strings.Fields(key.RecoveryText())
	with := func(i int, w string) string {
		changed := slices.Clone(words)
		changed[i] = w
		return strings.Join(changed, " ")
	}
	for _, c := range []struct{ text, want string }{
		{with(6, "barm"), `word 7, "barm", is not in the list; did you mean barn or farm?`},
		{with(0, "tractro"), `word 1, "tractro", is not in the list; did you mean track?`},
		{with(23, "qqqqqq"), `word 24, "qqqqqq", is not in the list; look at it again on the paper`},
		{strings.Join(words[:23], " "), "a recovery key has 24 words, these are 23"},
		{"", "a recovery key has 24 words, these are 0"},
		{strings.Join(append(slices.Clone(words), "barn"), " "), "a recovery key has 24 words, these are 25"},
	} {
		_, err := ParseRecoveryText(c.text)
		if err == nil || err.Error() != c.want {
			t.Errorf("%q: %v, want %s", c.text, err, c.want)
		}
	}
}

func TestLettersApart(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{{"", "", 0}, {"barn", "barn", 0}, {"barm", "barn", 1}, {"brn", "barn", 1}, {"brna", "barn", 2}, {"abrn", "barn", 1}, {"kitten", "sitting", 3}} {
		if got := lettersApart(c.a, c.b); got != c.want {
			t.Errorf("%s %s: %d, want %d", c.a, c.b, got, c.want)
		}
	}
}
