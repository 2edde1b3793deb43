package schedule

import (
	"sort"
	"strconv"
	"strings"
)

// maxSuggestions is how many known words an error offers.
const maxSuggestions = 3

// Suggest gives the known words nearest to word, nearest first and then by the alphabet, at most three. The distance is the optimal string
// alignment form of Damerau-Levenshtein (F. J. Damerau, "A technique for computer detection and correction of spelling errors", Communications of
// the ACM 7 (1964) 171-176): one for a letter put in, left out, changed or exchanged with its neighbour. It may be 2 and, for short words, at most
// a third of the length and one more.
func Suggest(word string, known []string) []string {
	type near struct {
		word     string
		distance int
	}
	var found []near
	w := strings.ToLower(word)
	limit := min(2, len([]rune(w))/3+1)
	seen := map[string]bool{}
	for _, k := range known {
		if seen[k] || k == word {
			continue
		}
		seen[k] = true
		if d := distance(w, strings.ToLower(k)); d <= limit {
			found = append(found, near{k, d})
		}
	}
	sort.Slice(found, func(i, j int) bool {
		if found[i].distance != found[j].distance {
			return found[i].distance < found[j].distance
		}
		return found[i].word < found[j].word
	})
	var out []string
	for _, n := range found[:min(len(found), maxSuggestions)] {
		out = append(out, n.word)
	}
	return out
}

// distance is the optimal string alignment distance.
func distance(a, b string) int {
	x, y := []rune(a), []rune(b)
	if d := len(x) - len(y); d > 2 || d < -2 {
		return 3 // beyond any limit in use; no table needed
	}
	before, last, row := make([]int, len(y)+1), make([]int, len(y)+1), make([]int, len(y)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(x); i++ {
		row[0] = i
		for j := 1; j <= len(y); j++ {
			cost := 1
			if x[i-1] == y[j-1] {
				cost = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(y)]
}

// didYouMean is `did you mean "area"?`, or, where nothing is near, the known words, or "" where there are none.
func didYouMean(word string, known []string) string {
	if near := Suggest(word, known); len(near) > 0 {
		return "did you mean " + quoted(near, "or") + "?"
	}
	if len(known) == 0 {
		return ""
	}
	sorted := append([]string(nil), known...)
	sort.Strings(sorted)
	if len(sorted) > 12 {
		return "known are " + strings.Join(sorted[:12], ", ") + ", ..."
	}
	return "known are " + strings.Join(sorted, ", ")
}

// quoted joins words as people list them: "a", "b" or "c".
func quoted(words []string, last string) string {
	quotes := make([]string, len(words))
	for i, w := range words {
		quotes[i] = strconv.Quote(w)
	}
	return listed(quotes, last)
}

// listed joins words as people list them: a, b or c.
func listed(words []string, last string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " " + last + " " + words[len(words)-1]
}
