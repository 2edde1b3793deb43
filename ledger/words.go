package ledger

import (
	"crypto/sha256"
	_ "embed"
	"fmt"
	"strings"
	"unicode"
)

// wordFile is the list of 2,048 words in which fingerprints are said and the
// recovery key is written on paper: 11 bits a word. It is frozen, for a word
// that moved would change every fingerprint and make papers unreadable; a test
// pins its digest. Words have 3 to 7 letters; no two share their first four, and
// none becomes another by one letter changed, added or left out.
//
//go:embed words.txt
var wordFile string

const (
	bitsOfWord       = 11
	wordsOfPrint     = 6
	wordsOfRecovery  = 24
	wordsPrefix      = "shedbook-words-v1\n"
	checkPrefix      = "shedbook-recovery-v1\n"
	mostMistakesNear = 2 // letters by which a mistyped word may differ from the one suggested
)

var wordList = strings.Fields(wordFile)

var wordIndex = func() map[string]uint16 {
	index := make(map[string]uint16, len(wordList))
	for i, w := range wordList {
		index[w] = uint16(i)
	}
	return index
}()

// Words returns the six words by which two people compare a key on the phone:
// the first 66 bits of SHA-256 over "shedbook-words-v1", LF and the key. Whoever
// wants another key with the same words has about 2^66 of them to try.
func Words(pub PublicKey) []string {
	sum := sha256.Sum256(append([]byte(wordsPrefix), pub[:]...))
	return toWords(sum[:], wordsOfPrint)
}

// RecoveryText returns the key's 32-byte seed as it stands on paper: 24 words,
// six a line, LF after each line. The seed's 256 bits come first, then the first
// 8 bits of SHA-256 over "shedbook-recovery-v1", LF and the seed. It is secret.
func (k *Key) RecoveryText() string {
	seed := k.Seed()
	words := toWords(append(seed, recoveryCheck(seed)), wordsOfRecovery)
	var b strings.Builder
	for i, w := range words {
		b.WriteString(w)
		if i%6 == 5 {
			b.WriteByte('\n')
		} else {
			b.WriteByte(' ')
		}
	}
	return b.String()
}

// ParseRecoveryText reads 24 words, in capitals or not, with whatever between
// them that is no letter: spaces, lines, commas, the numbers of a list. The
// error names the word that is not in the list.
func ParseRecoveryText(text string) (*Key, error) {
	said := strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return !unicode.IsLetter(r) })
	for i, w := range said {
		if _, ok := wordIndex[w]; ok {
			continue
		}
		hint := "; look at it again on the paper"
		if near := nearWords(w); len(near) > 0 {
			hint = "; did you mean " + strings.Join(near, " or ") + "?"
		}
		return nil, fmt.Errorf("word %d, %q, is not in the list%s", i+1, w, hint)
	}
	if len(said) != wordsOfRecovery {
		return nil, fmt.Errorf("a recovery key has %d words, these are %d", wordsOfRecovery, len(said))
	}
	b := fromWords(said)
	if recoveryCheck(b[:32]) != b[32] {
		return nil, fmt.Errorf("all %d words are in the list, but they are not a recovery key: one was taken for another, or two stand in the wrong order; compare them with the paper one by one", wordsOfRecovery)
	}
	return KeyFromSeed(b[:32])
}

func recoveryCheck(seed []byte) byte {
	sum := sha256.Sum256(append([]byte(checkPrefix), seed...))
	return sum[0]
}

// toWords takes n times 11 bits of b, the most significant first.
func toWords(b []byte, n int) []string {
	words := make([]string, n)
	for i := range words {
		var v uint16
		for bit := i * bitsOfWord; bit < (i+1)*bitsOfWord; bit++ {
			v = v<<1 | uint16(b[bit/8]>>(7-bit%8)&1)
		}
		words[i] = wordList[v]
	}
	return words
}

// fromWords is the inverse of toWords; every word must be in the list.
func fromWords(words []string) []byte {
	b := make([]byte, (len(words)*bitsOfWord+7)/8)
	for i, w := range words {
		v := wordIndex[w]
		for j := range bitsOfWord {
			bit := i*bitsOfWord + j
			b[bit/8] |= byte(v>>(bitsOfWord-1-j)&1) << (7 - bit%8)
		}
	}
	return b
}

// nearWords returns the words of the list that are nearest to a mistyped one:
// the one that begins with its first four letters, else those that differ in
// the fewest letters, at most three.
func nearWords(typed string) []string {
	if len(typed) > 64 {
		return nil
	}
	if len(typed) >= 4 {
		for _, w := range wordList {
			if strings.HasPrefix(w, typed[:4]) {
				return []string{w}
			}
		}
	}
	best := mostMistakesNear
	var near []string
	for _, w := range wordList {
		switch d := lettersApart(typed, w); {
		case d < best:
			best, near = d, []string{w}
		case d == best && len(near) < 3:
			near = append(near, w)
		}
	}
	return near
}

// lettersApart is how many letters must be changed, added, left out or swapped
// with their neighbour to make b of a (optimal string alignment distance).
func lettersApart(a, b string) int {
	var before, above, row []int
	for j := range len(b) + 1 {
		above = append(above, j)
	}
	for i := range len(a) {
		row = append(make([]int, 0, len(b)+1), i+1)
		for j := range len(b) {
			d := above[j]
			if a[i] != b[j] {
				d++
			}
			d = min(d, above[j+1]+1, row[j]+1)
			if i > 0 && j > 0 && a[i] == b[j-1] && a[i-1] == b[j] {
				d = min(d, before[j-1]+1)
			}
			row = append(row, d)
		}
		before, above = above, row
	}
	return above[len(b)]
}
